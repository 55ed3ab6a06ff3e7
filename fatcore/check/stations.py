"""Every station of a line: equivalent range, biaxiality, damage; and the station that governs."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fatcore.check.line import WeldLine, case_matrix, judged_stations
from fatcore.check.loading import CycleBatch, Loading, batches
from fatcore.check.strength import Judged, Strength, load_ratio
from fatcore.require import FloatArray
from fatcore.stress.mean_stress import LOAD_RATIO_LIMIT

__all__ = [
    "SHARE_THAT_COUNTS",
    "Governing",
    "LineState",
    "Progress",
    "assess",
    "govern",
    "outside_load_ratio",
]

Progress = Callable[[int], None]

SHARE_THAT_COUNTS = 0.01  # of the squared equivalent: a mode below it does not make a point doubtful


@dataclass(slots=True, kw_only=True)
class LineState:
    """Results at the stations of one line for one pass of the loading, (n,) each.

    equivalent_mpa : largest equivalent range; ratio: its biaxiality ratio (inf without opening)
    damage         : of one pass; curve_index: the deciding curve; cycles: counted cycles of one pass
    shares         : part of each component in the squared equivalent, (n, m)
    load_ratio     : of the opening peak in the largest cycle
    """

    equivalent_mpa: FloatArray
    ratio: FloatArray
    damage: FloatArray
    curve_index: NDArray[np.int8]
    cycles: FloatArray
    shares: FloatArray
    load_ratio: FloatArray
    judged: NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class Governing:
    """Station with the largest utilisation of a line."""

    index: int
    utilisation: float


def assess(
    line: WeldLine,
    loading: Loading,
    strength: Strength,
    load_factor: float = 1.0,
    progress: Progress | None = None,
) -> LineState:
    """Equivalent range, biaxiality ratio and damage of one pass at every station.

    progress : told the number of stations that were just finished
    """
    size, parts = len(line.position_mm), strength.weights.size
    state = LineState(
        equivalent_mpa=np.zeros(size),
        ratio=np.zeros(size),
        damage=np.zeros(size),
        curve_index=np.zeros(size, dtype=np.int8),
        cycles=np.zeros(size),
        shares=np.zeros((size, parts)),
        load_ratio=np.zeros(size),
        judged=judged_stations(line),
    )
    for batch in _line_batches(line, loading, strength, load_factor):
        _enter(state, batch, strength)
        if progress is not None:
            progress(len(batch.stations))
    return state


def _line_batches(
    line: WeldLine,
    loading: Loading,
    strength: Strength,
    load_factor: float,
    stations: list[int] | None = None,
) -> Iterator[CycleBatch]:
    unit = load_factor * case_matrix(line, loading.names())
    return batches(unit, loading, strength.weights, stations)


def _enter(state: LineState, batch: CycleBatch, strength: Strength) -> None:
    where = np.asarray(batch.stations)
    judged = strength.judge(batch)
    state.damage[where], state.curve_index[where] = strength.damage(judged)
    state.cycles[where] = batch.count.sum()
    height = np.maximum(judged.equivalent_mpa, judged.second_mpa)
    largest = height.argmax(axis=-1)
    rows = np.arange(where.size)
    state.equivalent_mpa[where] = judged.equivalent_mpa[rows, largest]
    state.ratio[where] = judged.ratio[rows, largest]
    state.load_ratio[where] = load_ratio(batch)[rows, largest, 0]
    squares = (strength.weights * batch.range_mpa[rows, largest]) ** 2
    total = squares.sum(axis=-1, keepdims=True)
    state.shares[where] = np.divide(squares, total, out=np.zeros_like(squares), where=total > 0.0)


def outside_load_ratio(state: LineState) -> NDArray[np.bool_]:
    """Where the load ratio of an opening mode that counts leaves the published range of the coefficient."""
    low, high = LOAD_RATIO_LIMIT.low, LOAD_RATIO_LIMIT.high
    assert low is not None
    assert high is not None
    beyond: NDArray[np.bool_] = (state.load_ratio < low) | (state.load_ratio > high)
    counts: NDArray[np.bool_] = state.shares[:, 0] > SHARE_THAT_COUNTS
    return beyond & counts


def govern(
    line: WeldLine,
    loading: Loading,
    strength: Strength,
    state: LineState,
    allowed: float,
    load_factor: float = 1.0,
) -> Governing:
    """The judged station with the largest utilisation.

    allowed : damage of one pass that is allowed
    Stations are visited in order of damage; the search ends where no utilisation can exceed the best so far.
    """
    candidates = np.flatnonzero(state.judged)
    order = candidates[np.argsort(-state.damage[candidates], kind="stable")]
    best = Governing(index=int(order[np.argmax(state.equivalent_mpa[order])]), utilisation=0.0)
    for station in order.tolist():
        highest = strength.highest(float(state.damage[station]) / allowed)
        if best.utilisation > 0.0 and highest <= best.utilisation:
            break
        (batch,) = _line_batches(line, loading, strength, load_factor, [station])
        best = _better(strength, strength.judge(batch), station, allowed, best)
    return best


def _better(strength: Strength, judged: Judged, station: int, allowed: float, best: Governing) -> Governing:
    if best.utilisation > 0.0 and _stays_below(strength, judged, best.utilisation, allowed):
        return best
    value = strength.utilisation(judged, allowed)
    return Governing(index=station, utilisation=value) if value > best.utilisation else best


def _stays_below(strength: Strength, judged: Judged, utilisation: float, allowed: float) -> bool:
    # one look at the damage spares a root finding; the quadratic interaction is not told by the damage
    if np.isinf(strength.highest(1.0)):
        return False
    return float(strength.damage(judged, 1.0 / utilisation)[0][0]) <= allowed
