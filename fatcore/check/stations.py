"""Every station of a line: equivalent range, biaxiality, damage; and the station that governs."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fatcore.check.line import WeldLine, case_matrix, select_judged_stations
from fatcore.check.loading import BlockLoading, CycleBatch, Harm, Loading, batches
from fatcore.check.strength.joined import Group, group_lines
from fatcore.check.strength.judged import Judged
from fatcore.check.strength.strength import InteractionStrength, PeakStrength, Strength, load_ratio
from fatcore.check.strength.untested import untested_in
from fatcore.curves.limits.limits_of_use import SHORTEST_LIFE, shortest_lived_range
from fatcore.outcome import names_of
from fatcore.require import FloatArray
from fatcore.stress.mean_stress import LOAD_RATIO_LIMIT

Progress = Callable[[int], None]

COMPONENTS = ("normal", "shear")  # on every basis but that of peak stresses
SAME = 1e-9  # relative: what two processors may differ by; a utilisation nearer to 1 is 1
SHARE_THAT_COUNTS = 0.01  # of the squared equivalent: a mode below it does not make a point doubtful


@dataclass(slots=True, kw_only=True)
class LineState:
    """Results at the stations of one line for one pass of the loading, (n,) each.

    equivalent_mpa : largest equivalent range; ratio: its biaxiality ratio (inf without opening)
    damage         : of one pass; curve_index: the deciding curve; cycles: counted cycles of one pass
    utilisation    : 1 / (factor on all loads at which the damage reaches the allowed), 0 when nothing cycles
    shares         : part of each component in the squared equivalent, (n, m), of the largest cycle or, where
                     that is more, on average over the cycles; by the published weights
    outside_ratio  : in a relieved joint, whether cycles count whose opening load ratio leaves the published
                     range; load_ratio: of the largest of them
    range_mpa      : largest range of each component, (n, m), counted or not
    extreme_mpa    : largest size of the normal or the shear stress with its mean, 0 on the peak-stress basis
    severer_utilisation : with both curves wherever the scatter of the constants may bring a ratio
    short_share, short_life : share of the allowed damage by cycles whose own life is too short for the curve, and
                     the shortest such life; 0 and inf without any
    below_share, beyond_share : of the damage, that no test behind a fitted curve had, see `curves.limits.beyond_tests`
    lowered        : whether moved bounds of the biaxiality rule leave less damage than the default ones
    """

    equivalent_mpa: FloatArray
    ratio: FloatArray
    damage: FloatArray
    curve_index: NDArray[np.int8]
    cycles: FloatArray
    shares: FloatArray
    utilisation: FloatArray
    load_ratio: FloatArray
    range_mpa: FloatArray
    extreme_mpa: FloatArray
    outside_ratio: NDArray[np.bool_]
    judged: NDArray[np.bool_]
    severer_utilisation: FloatArray
    lowered: NDArray[np.bool_]
    short_share: FloatArray
    short_life: FloatArray
    below_share: FloatArray
    beyond_share: FloatArray

    def of(self, stations: slice) -> LineState:
        """The same of some stations."""
        return LineState(**{name: getattr(self, name)[stations] for name in names_of(LineState)})


@dataclass(frozen=True, slots=True, kw_only=True)
class Governing:
    """Judged station with the largest utilisation of a line, and its cycles."""

    index: int
    utilisation: float
    cycles: Judged


def assess(
    lines: Mapping[int, WeldLine],
    loading: Loading,
    strengths: Mapping[int, Strength],
    *,
    allowed: float,
    damage_limit: float,
    load_factor: float = 1.0,
    progress: Progress | None = None,
) -> dict[int, tuple[LineState, Governing]]:
    """Equivalent range, ratio, damage of one pass and utilisation of every station, and the governing ones.

    lines, strengths : by the place of each line; lines of one kind go through blocks together, histories are
                       counted station by station
    allowed  : damage of one pass that is allowed; damage_limit: of all passes
    progress : called with the number of stations that were just finished
    """
    units = {place: load_factor * case_matrix(line, loading.names()) for place, line in lines.items()}
    found: dict[int, tuple[LineState, Governing]] = {}
    for group in group_lines(units, strengths, together=isinstance(loading, BlockLoading)):
        judged = np.concatenate([select_judged_stations(lines[place]) for place in group.parts])
        state, best = _empty_state(judged, group.strength), dict[int, Governing]()
        for batch in batches(group.unit_mpa, loading, group.strength.weights, harm_of(group.strength, allowed)):
            cycles = group.strength.judge(batch)
            _enter(state, batch, cycles, group.strength, allowed, damage_limit)
            rows = dict(_lines_of(batch, group))
            for place, own in rows.items():
                _govern(state, batch.stations[own], cycles.of(own), best, place, group.parts[place].start)
            if progress is not None:
                progress(len(batch.stations))
        found |= {place: (state.of(part), best[place]) for place, part in group.parts.items()}
    return found


def _lines_of(batch: CycleBatch, group: Group) -> Iterator[tuple[int, slice]]:
    """The lines that a batch of neighbouring stations touches, and their rows in it."""
    first, last = int(batch.stations[0]), int(batch.stations[-1])
    for place, part in group.parts.items():
        if part.start <= last and part.stop > first:
            yield place, slice(max(part.start - first, 0), min(part.stop, last + 1) - first)


def harm_of(strength: Strength, allowed: float) -> Harm:
    """What tells the worse of two sets of cycles at a station: the share of the allowed damage of one pass
    that they use, or the utilisation of a quadratic form, which decides in its place.
    """

    def share(batch: CycleBatch) -> FloatArray:
        return strength.damage(strength.judge(batch))[0] / allowed

    def utilisation(batch: CycleBatch) -> FloatArray:
        judged = strength.judge(batch)
        return strength.utilisation(judged, strength.damage(judged)[0], allowed)

    if isinstance(strength, InteractionStrength) and strength.rule != "damage-sum":
        return Harm(of_all=utilisation, of_each=None)
    return Harm(of_all=share, of_each=lambda batch: strength.damage_per_cycle(strength.judge(batch)))


def _empty_state(judged: NDArray[np.bool_], strength: Strength) -> LineState:
    size, modes = judged.size, strength.weights.shape[-1]
    return LineState(
        equivalent_mpa=np.zeros(size),
        ratio=np.zeros(size),
        damage=np.zeros(size),
        curve_index=np.zeros(size, dtype=np.int8),
        cycles=np.zeros(size),
        utilisation=np.zeros(size),
        shares=np.zeros((size, modes)),
        load_ratio=np.zeros(size),
        range_mpa=np.zeros((size, modes)),
        extreme_mpa=np.zeros(size),
        outside_ratio=np.zeros(size, dtype=np.bool_),
        judged=judged,
        severer_utilisation=np.zeros(size),
        lowered=np.zeros(size, dtype=np.bool_),
        short_share=np.zeros(size),
        short_life=np.full(size, np.inf),
        below_share=np.zeros(size),
        beyond_share=np.zeros(size),
    )


def _enter(
    state: LineState, batch: CycleBatch, judged: Judged, strength: Strength, allowed: float, damage_limit: float
) -> None:
    where = batch.stations
    state.damage[where], state.curve_index[where] = strength.damage(judged)
    _enter_utilisation(state, where, judged, strength, allowed)
    state.cycles[where] = batch.cycles
    largest = judged.equivalent_mpa.argmax(axis=-1)
    rows = np.arange(where.size)
    state.equivalent_mpa[where] = judged.equivalent_mpa[rows, largest]
    state.ratio[where] = judged.ratio[rows, largest]
    state.shares[where] = _shares(batch, judged, strength)
    state.range_mpa[where] = batch.range_mpa.max(axis=1)
    if strength.weights.shape[-1] == len(COMPONENTS):
        state.extreme_mpa[where] = np.maximum(batch.maximum_mpa, -batch.minimum_mpa).max(axis=(1, 2))
    _enter_short(state, where, judged, strength, allowed, damage_limit)
    state.below_share[where], state.beyond_share[where] = untested_in(strength, judged)
    if getattr(strength, "relieved", False):
        _enter_load_ratio(state, batch, judged, strength)


def _enter_utilisation(
    state: LineState, where: NDArray[np.intp], judged: Judged, strength: Strength, allowed: float
) -> None:
    """As the cycles are judged and, in one go, where other bounds of the ratio give a cycle more damage."""
    damage = state.damage[where]
    severer, gain = judged, np.zeros_like(damage)
    if isinstance(strength, PeakStrength):
        by_default = replace(judged, ratio=strength.by_default_bounds(judged.ratio))
        state.lowered[where] = _gain(by_default, judged, strength) > SAME * damage
        severer = replace(judged, ratio=strength.within_scatter(judged.ratio, where))
        gain = _gain(severer, judged, strength)
    rows = np.flatnonzero(gain > SAME * damage)
    every = judged.followed_by(severer.of(rows)) if rows.size else judged
    used = strength.utilisation(every, np.append(damage, damage[rows] + gain[rows]), allowed)
    own, more = np.split(used, [damage.size])
    state.utilisation[where] = state.severer_utilisation[where] = np.where(np.abs(own - 1.0) <= SAME, 1.0, own)
    state.severer_utilisation[where[rows]] = np.maximum(more, state.utilisation[where[rows]])


def _enter_short(
    state: LineState, where: NDArray[np.intp], judged: Judged, strength: Strength, allowed: float, damage_limit: float
) -> None:
    """Cycles that alone reach the limit before the shortest life that curves hold for, at each station."""
    largest = max(float(state.equivalent_mpa[where].max()), float(judged.second_mpa.max()))
    if largest <= min(shortest_lived_range(curve, damage_limit) for curve in strength.curves):
        return
    each = strength.damage_per_cycle(judged)
    short = each * SHORTEST_LIFE > damage_limit * (1.0 + SAME)
    state.short_share[where] = np.where(short, each * judged.count, 0.0).sum(axis=-1) / allowed
    worst = np.where(short, each, 0.0).max(axis=-1)
    np.divide(damage_limit, worst, out=worst, where=worst > 0.0)
    state.short_life[where] = np.where(worst > 0.0, worst, np.inf)


def _gain(other: Judged, judged: Judged, strength: PeakStrength) -> FloatArray:
    """Damage that other ratios add at each station, by the cycles that have one."""
    rows, cycles = np.nonzero(other.ratio != judged.ratio)
    if not rows.size:
        return np.zeros(len(judged.ratio))
    crossed = (
        replace(
            each,
            equivalent_mpa=each.equivalent_mpa[rows, cycles],
            ratio=each.ratio[rows, cycles],
            count=each.count[cycles],
        )
        for each in (other, judged)
    )
    more, as_judged = (strength.parts(each)[0] for each in crossed)
    return np.asarray(np.bincount(rows, more - as_judged, minlength=len(judged.ratio)), dtype=np.float64)


def _enter_load_ratio(state: LineState, batch: CycleBatch, judged: Judged, strength: Strength) -> None:
    """Where cycles whose opening mode counts leave the published load ratios and do damage that counts."""
    where, rows = batch.stations, np.arange(len(batch.stations))
    low, high = LOAD_RATIO_LIMIT.low, LOAD_RATIO_LIMIT.high
    assert low is not None
    assert high is not None
    ratio = load_ratio(batch)[..., 0]
    beyond = ((ratio < low) | (ratio > high)) & (_cycle_shares(batch, strength)[..., 0] > SHARE_THAT_COUNTS)
    left = replace(judged, equivalent_mpa=np.where(beyond, judged.equivalent_mpa, 0.0))
    worst = np.where(beyond.any(axis=-1), left.equivalent_mpa.argmax(axis=-1), 0)
    largest = beyond[rows, judged.equivalent_mpa.argmax(axis=-1)]
    damaging = strength.damage(left)[0] > SHARE_THAT_COUNTS * state.damage[where]
    state.outside_ratio[where] = largest | damaging
    state.load_ratio[where] = ratio[rows, worst]


def _cycle_shares(batch: CycleBatch, strength: Strength) -> FloatArray:
    """Part of each component in the squared equivalent of each cycle, (s, c, m)."""
    published = getattr(strength, "published_weights", None)  # own ones would let a mode carry less
    weights = batch.at_stations(strength.weights if published is None else published)
    squares = (weights * batch.range_mpa) ** 2
    total = squares.sum(axis=-1, keepdims=True)
    return np.asarray(np.divide(squares, total, out=np.zeros_like(squares), where=total > 0.0))


def _shares(batch: CycleBatch, judged: Judged, strength: Strength) -> FloatArray:
    """What each component carries at a station, (s, m): in the largest cycle, or on average by third powers.

    Many smaller cycles of another mode than the largest may do the damage: the larger of both counts.
    """
    each = _cycle_shares(batch, strength)
    largest = judged.equivalent_mpa.argmax(axis=-1)
    peak = judged.equivalent_mpa.max(axis=-1, keepdims=True)
    relative = np.divide(judged.equivalent_mpa, peak, out=np.zeros_like(judged.equivalent_mpa), where=peak > 0)
    weight = judged.count * relative * relative * relative
    total = weight.sum(axis=-1)[:, np.newaxis]
    mean = np.einsum("sc,scm->sm", weight, each)
    mean = np.divide(mean, total, out=np.zeros_like(mean), where=total > 0.0)
    return np.asarray(np.maximum(mean, each[np.arange(largest.size), largest]))


def _govern(
    state: LineState, stations: NDArray[np.intp], judged: Judged, best: dict[int, Governing], place: int, start: int
) -> None:
    """Keeps for a line the judged station that is used most; start: where its stations begin."""
    inside = np.flatnonzero(state.judged[stations])
    if not inside.size:
        return
    position = int(inside[first_largest(state.utilisation[stations[inside]])])
    station = int(stations[position])
    value = float(state.utilisation[station])
    if place not in best or value > best[place].utilisation * (1.0 + SAME):
        best[place] = Governing(index=station - start, utilisation=value, cycles=judged.of([position]))


def first_largest(values: FloatArray) -> int:
    """Place of the first value that is the largest but for rounding, so that equal stations stay in order."""
    return int(np.argmax(values >= values.max() * (1.0 - SAME)))
