"""Every station of a line: equivalent range, biaxiality, damage; and the station that governs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fatcore.check.line import WeldLine, case_matrix, judged_stations
from fatcore.check.loading import CycleBatch, Loading, batches
from fatcore.check.strength import Judged, Strength, load_ratio
from fatcore.require import FloatArray
from fatcore.stress.mean_stress import LOAD_RATIO_LIMIT

__all__ = [
    "SAME",
    "SHARE_THAT_COUNTS",
    "Governing",
    "LineState",
    "Progress",
    "assess",
]

Progress = Callable[[int], None]

SAME = 1e-9  # relative: what two processors may differ by; a utilisation nearer to 1 is 1
SHARE_THAT_COUNTS = 0.01  # of the squared equivalent: a mode below it does not make a point doubtful


@dataclass(slots=True, kw_only=True)
class LineState:
    """Results at the stations of one line for one pass of the loading, (n,) each.

    equivalent_mpa : largest equivalent range; ratio: its biaxiality ratio (inf without opening)
    damage         : of one pass; curve_index: the deciding curve; cycles: counted cycles of one pass
    shares         : part of each component in the squared equivalent, (n, m)
    outside_ratio  : in a relieved joint, whether cycles count whose opening load ratio leaves the published
                     range; load_ratio: of the largest of them
    """

    equivalent_mpa: FloatArray
    ratio: FloatArray
    damage: FloatArray
    curve_index: NDArray[np.int8]
    cycles: FloatArray
    shares: FloatArray
    load_ratio: FloatArray
    outside_ratio: NDArray[np.bool_]
    judged: NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class Governing:
    """Station with the largest utilisation of a line, and its cycles."""

    index: int
    utilisation: float
    cycles: Judged


def assess(
    line: WeldLine,
    loading: Loading,
    strength: Strength,
    *,
    allowed: float,
    load_factor: float = 1.0,
    progress: Progress | None = None,
) -> tuple[LineState, Governing]:
    """Equivalent range, biaxiality ratio and damage of one pass at every station, and the governing station.

    allowed  : damage of one pass that is allowed
    progress : told the number of stations that were just finished
    """
    state = _empty_state(line, strength)
    best: Governing | None = None
    unit = load_factor * case_matrix(line, loading.names())
    for batch in batches(unit, loading, strength.weights):
        judged = strength.judge(batch)
        _enter(state, batch, judged, strength)
        best = _govern(state, batch, judged, strength, allowed, best)
        if progress is not None:
            progress(len(batch.stations))
    assert best is not None  # at least one station is judged
    return state, best


def _empty_state(line: WeldLine, strength: Strength) -> LineState:
    size = len(line.position_mm)
    return LineState(
        equivalent_mpa=np.zeros(size),
        ratio=np.zeros(size),
        damage=np.zeros(size),
        curve_index=np.zeros(size, dtype=np.int8),
        cycles=np.zeros(size),
        shares=np.zeros((size, strength.weights.size)),
        load_ratio=np.zeros(size),
        outside_ratio=np.zeros(size, dtype=np.bool_),
        judged=judged_stations(line),
    )


def _enter(state: LineState, batch: CycleBatch, judged: Judged, strength: Strength) -> None:
    where = np.asarray(batch.stations)
    state.damage[where], state.curve_index[where] = strength.damage(judged)
    state.cycles[where] = batch.count.sum()
    largest = judged.equivalent_mpa.argmax(axis=-1)
    rows = np.arange(where.size)
    state.equivalent_mpa[where] = judged.equivalent_mpa[rows, largest]
    state.ratio[where] = judged.ratio[rows, largest]
    squares = (strength.weights * batch.range_mpa[rows, largest]) ** 2
    total = squares.sum(axis=-1, keepdims=True)
    state.shares[where] = np.divide(squares, total, out=np.zeros_like(squares), where=total > 0.0)
    if getattr(strength, "relieved", False):
        _enter_load_ratio(state, batch, judged, strength)


def _enter_load_ratio(state: LineState, batch: CycleBatch, judged: Judged, strength: Strength) -> None:
    """Where cycles whose opening mode counts leave the published load ratios and do damage that counts."""
    where, rows = np.asarray(batch.stations), np.arange(len(batch.stations))
    low, high = LOAD_RATIO_LIMIT.low, LOAD_RATIO_LIMIT.high
    assert low is not None
    assert high is not None
    ratio = load_ratio(batch)[..., 0]
    beyond = ((ratio < low) | (ratio > high)) & (_opening_share(batch, strength) > SHARE_THAT_COUNTS)
    left = replace(judged, equivalent_mpa=np.where(beyond, judged.equivalent_mpa, 0.0))
    worst = np.where(beyond.any(axis=-1), left.equivalent_mpa.argmax(axis=-1), 0)
    largest = beyond[rows, judged.equivalent_mpa.argmax(axis=-1)]
    damaging = strength.damage(left)[0] > SHARE_THAT_COUNTS * state.damage[where]
    state.outside_ratio[where] = largest | damaging
    state.load_ratio[where] = ratio[rows, worst]


def _opening_share(batch: CycleBatch, strength: Strength) -> FloatArray:
    squares = (strength.weights * batch.range_mpa) ** 2
    total = squares.sum(axis=-1)
    return np.asarray(np.divide(squares[..., 0], total, out=np.zeros_like(total), where=total > 0.0))


def _govern(
    state: LineState,
    batch: CycleBatch,
    judged: Judged,
    strength: Strength,
    allowed: float,
    best: Governing | None,
) -> Governing | None:
    """The better of the best so far and the judged stations of a batch, which are visited by falling damage.

    The visit ends where no utilisation can exceed the best; a station is left unsolved when its damage at the
    best factor so far stays below the allowed.
    """
    stations = np.asarray(batch.stations)
    inside = np.flatnonzero(state.judged[stations])
    for position in inside[np.argsort(-state.damage[stations[inside]], kind="stable")].tolist():
        station = int(stations[position])
        share = float(state.damage[station]) / allowed
        if best is not None and best.utilisation > 0.0 and strength.highest(share) <= best.utilisation:
            break
        best = _better(strength, judged.of(position), station, allowed, best)
    return best


def _better(
    strength: Strength, judged: Judged, station: int, allowed: float, best: Governing | None
) -> Governing:
    if best is not None and _stays_below(strength, judged, best.utilisation, allowed):
        return best
    value = strength.utilisation(judged, allowed)
    value = 1.0 if abs(value - 1.0) <= SAME else value
    if best is not None and value <= best.utilisation:
        return best
    return Governing(index=station, utilisation=value, cycles=judged)


def _stays_below(strength: Strength, judged: Judged, utilisation: float, allowed: float) -> bool:
    # one look at the damage spares a root finding; the quadratic interaction is not told by the damage
    if utilisation == 0.0 or np.isinf(strength.highest(1.0)):
        return False
    return float(strength.damage(judged, 1.0 / utilisation)[0][0]) <= allowed
