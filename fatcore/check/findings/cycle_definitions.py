"""How much the definition of a cycle matters where load channels move the stress modes out of phase."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fatcore.check.line import WeldLine, case_matrix
from fatcore.check.loading import BATCH_VALUES, CycleBatch, HistoryLoading, Loading, own_cycles, station_batch
from fatcore.check.stations import SAME, harm_of
from fatcore.check.strength.joined import Group, group_lines
from fatcore.check.strength.strength import PeakStrength, Strength
from fatcore.check.transitions import MOST_ORDERED, in_turn, orders_of_states
from fatcore.curves.curve import Curve
from fatcore.figures import against, as_given
from fatcore.findings import Finding, caution, outside
from fatcore.outcome import Outcome, evidence
from fatcore.require import FloatArray
from fatcore.spectrum.counting.count import Residue
from fatcore.spectrum.multiaxial.definitions import compare_definitions
from fatcore.spectrum.multiaxial.modes import Definition, mode_cycles
from fatcore.spectrum.multiaxial.path import MAX_PATH_POINTS, PathTooLongError
from fatcore.spectrum.multiaxial.superposition import superpose

_LEAST_SHARE = 0.01  # of what is allowed: no other definition makes a hundred times the damage [own choice]
_IN_PHASE = 1e-3  # second over first singular value of the modes up to which they are in phase [own choice]
MOST_WORK = 6_000_000  # samples counted for the comparison, those of a path weighted [own choice]
_PATH_WORK = 400  # forward and backward, the path count takes as long as so many times the samples of the others


class StationUse(NamedTuple):
    """A station to compare: line, station, share of what is allowed by the definition asked."""

    line: int
    station: int
    share: float


def compare_cycle_definitions(
    line: WeldLine,
    loading: Loading,
    strength: Strength,
    station: int,
    curve: Curve,
    *,
    load_factor: float = 1.0,
) -> Outcome:
    """Damage of one station by every definition of a cycle; empty where there is one definition only.

    Several channels can move the modes out of step; with one channel, or one component, cycles are cycles.
    Returns : cautions where the definitions differ
    """
    if not isinstance(loading, HistoryLoading) or len(loading.channels) < 2 or strength.weights.size < 3:
        return Outcome()
    unit = load_factor * case_matrix(line, loading.names())[station]
    history = superpose(unit, _sequences(loading)[0])
    return Outcome(**evidence(compare_definitions(history, strength.weights, curve, residue=loading.residue)))


def deciding_definitions(
    lines: Sequence[WeldLine],
    loading: Loading,
    strengths: Sequence[Strength],
    used_share: Mapping[int, FloatArray],
    *,
    allowed: float,
    load_factor: float = 1.0,
) -> tuple[dict[int, Finding], tuple[Finding, ...]]:
    """Lines that pass by the definition asked, and by another would not, at any judged station.

    used_share : of the lines that pass, damage over what is allowed at each station, 0 where it is not judged
    allowed    : damage of one pass
    Returns : an `outside` finding for each such line, and a caution where some stations were not compared
    """
    sequences = _sequences(loading)
    if not sequences:
        return {}, ()
    units = {place: load_factor * case_matrix(lines[place], loading.names()) for place in used_share}
    stations = [
        use
        for group in group_lines(units, dict(enumerate(strengths)), together=True)
        for use in _find_doubtful(group, sequences, used_share, _asked(loading), allowed)
    ]
    stations.sort(key=lambda use: (use.line, use.station))
    stations.sort(key=lambda use: -use.share)
    each = sum(_work(sequence.shape[1]) for sequence in sequences)
    compared = stations[: max(1, int(MOST_WORK // each))]
    found: dict[int, Finding] = {}
    for use in compared:
        if use.line not in found:
            unit, strength = units[use.line][use.station], strengths[use.line]
            for finding in _find_deciding(unit, loading, sequences, strength, use, allowed):
                found[use.line] = replace(finding, line=lines[use.line].name)
    return found, _not_compared(len(compared), len(stations))


def _sequences(loading: Loading) -> list[FloatArray]:
    """Load factors of one pass, (cases, samples), in each order that it may mean; none of one case."""
    if len(loading.names()) < 2:
        return []
    if isinstance(loading, HistoryLoading):
        return [np.stack([np.asarray(values, dtype=np.float64) for values in loading.channels.values()])]
    if not loading.joined:
        return []
    upper, lower = loading.states()
    once = in_turn(upper, lower)
    upper, lower = upper[once], lower[once]
    if len(upper) <= MOST_ORDERED:
        return [states.T for states in orders_of_states(upper, lower)]
    both = (np.stack(ends, axis=1) for ends in ((upper, lower), (lower, upper)))
    return [ends.reshape(-1, ends.shape[-1]).T for ends in both]


def _work(samples: int) -> int:
    return samples * (1 + (_PATH_WORK if samples <= MAX_PATH_POINTS else 0))


def _find_doubtful(
    group: Group,
    sequences: Sequence[FloatArray],
    used_share: Mapping[int, FloatArray],
    asked: Definition,
    allowed: float,
) -> list[StationUse]:
    """Stations that use a share worth comparing, out of phase, where another definition may decide."""
    share = np.concatenate([used_share[place] for place in group.parts])
    places = np.flatnonzero(share >= _LEAST_SHARE)
    if asked == "governing":  # its nested cycles may count one way of another mode more than once
        places = places[_may_decide(group, places, sequences, share[places], allowed)]
    if not places.size:
        return []
    places = places[_are_out_of_phase(group, places, np.concatenate(sequences, axis=1))]
    starts = np.array([part.start for part in group.parts.values()])
    lines = np.searchsorted(starts, places, side="right") - 1
    names = list(group.parts)
    return [
        StationUse(names[line], int(place - starts[line]), float(share[place]))
        for line, place in zip(lines.tolist(), places, strict=True)
    ]


def _are_out_of_phase(group: Group, places: NDArray[np.intp], loads: FloatArray) -> NDArray[np.bool_]:
    """Where modes do not follow each other, by the singular values of their centred histories."""
    centred = loads - loads.mean(axis=1, keepdims=True)
    weighted = group.weighted_mpa(places)
    size = np.linalg.svd(weighted @ (centred @ centred.T) @ np.swapaxes(weighted, 1, 2), compute_uv=False)
    return np.asarray(size[:, 1] > _IN_PHASE**2 * size[:, 0])


def _asked(loading: Loading) -> Definition:
    return loading.definition if isinstance(loading, HistoryLoading) else "governing"


def _may_decide(
    group: Group,
    places: NDArray[np.intp],
    sequences: Sequence[FloatArray],
    used_share: FloatArray,
    allowed: float,
) -> NDArray[np.bool_]:
    """Where independent modes or the path could use up what is allowed, by the most that a sequence can do.

    Beside it stand, under blocks, cycles that the definition asked has counted as well.
    """
    strength = group.strength
    bounded = isinstance(strength, PeakStrength) and not strength.relieved
    if not bounded or not all(map(_grows_in_proportion, strength.curves)):
        return np.ones(len(places), dtype=np.bool_)
    weighted = group.weighted_mpa(places)
    size = max(1, BATCH_VALUES // (weighted.shape[1] * sum(sequence.shape[1] for sequence in sequences)))
    parts = (weighted[start : start + size] for start in range(0, len(weighted), size))
    most = [_most_damage(part, sequences, strength.curves) for part in parts]
    return np.asarray(np.concatenate([np.empty(0), *most]) / allowed + used_share > 1.0)


@lru_cache(maxsize=1_000)
def _grows_in_proportion(curve: Curve) -> bool:
    """Whether twice the range does at least twice the damage, anywhere on the curve."""
    knees = np.array(curve.knees_mpa)
    below, above = curve.damage_per_cycle(knees * (1.0 - 1e-9)), curve.damage_per_cycle(knees * (1.0 + 1e-9))
    return min(curve.slopes) >= 1.0 and bool((below <= above).all())


def _most_damage(weighted: FloatArray, sequences: Sequence[FloatArray], curves: Sequence[Curve]) -> FloatArray:
    """Upper bound of the damage of any sequence by independent modes and by the path, as-welded, (s,).

    Half cycles share the closed way of the stress among them, and damage grows at least in proportion to the
    range: one half cycle of the whole way does most. The cycles of one mode go as far back as forth.
    """
    steps = np.diff(sequences, axis=2, append=np.stack(sequences)[..., :1])
    moved = weighted[:, np.newaxis] @ steps
    together, apart = np.sqrt(np.square(moved).sum(axis=2)).sum(axis=-1), np.abs(moved).sum(axis=-1)
    ranges = np.concatenate([together[..., np.newaxis], 0.5 * apart], axis=-1)
    damage = np.max([curve.damage_per_cycle(ranges) for curve in curves], axis=0)
    return np.asarray(np.maximum(0.5 * damage[..., 0], damage[..., 1:].sum(axis=-1)).max(axis=1))


def _find_deciding(
    unit: FloatArray,
    loading: Loading,
    sequences: Sequence[FloatArray],
    strength: Strength,
    use: StationUse,
    allowed: float,
) -> list[Finding]:
    asked = _asked(loading)
    harm, most = harm_of(strength, allowed), ("", 0.0)
    for sequence in sequences:
        history = superpose(unit, sequence)
        for name in _others(asked):
            batch = _cycles(unit, history, loading, strength, name)
            most = max(most, (name, float(harm.of_all(batch)[0])) if batch else most, key=lambda pair: pair[1])
    if most[1] <= 1.0 + SAME:
        return []
    text = (
        f"cycles by {most[0]!r} use {against(most[1], 1.0)} of what is allowed at station {use.station}, those by"
        f" {asked!r} {against(use.share, 1.0)}: no verdict by either"
    )
    return [outside("cycle-definitions-decide", text, field="definition", source="toeline-mode-cycles")]


def _others(asked: Definition) -> list[Definition]:
    """Every definition that may be asked for but this one."""
    names: tuple[Definition, ...] = ("governing", "independent", "path")
    return [name for name in names if name != asked]


def _cycles(
    unit: FloatArray, history: FloatArray, loading: Loading, strength: Strength, name: Definition
) -> CycleBatch | None:
    """Cycles by a definition, under blocks with those of each block but the one in the sequence."""
    residue: Residue = loading.residue if isinstance(loading, HistoryLoading) else "closed"
    try:
        batch = station_batch(0, mode_cycles(history, strength.weights, residue=residue, definition=name))
    except PathTooLongError:
        return None
    if isinstance(loading, HistoryLoading):
        return batch
    own = own_cycles(unit[np.newaxis], loading, [0])
    left = np.maximum(own.count - in_turn(*loading.states()), 0.0)
    return CycleBatch(
        stations=np.zeros(1, dtype=np.intp),
        range_mpa=np.concatenate([own.range_mpa, batch.range_mpa], axis=1),
        minimum_mpa=np.concatenate([own.minimum_mpa, batch.minimum_mpa], axis=1),
        maximum_mpa=np.concatenate([own.maximum_mpa, batch.maximum_mpa], axis=1),
        count=np.concatenate([left, batch.count]),
        cycles=own.cycles,
    )


def _not_compared(compared: int, stations: int) -> tuple[Finding, ...]:
    if compared == stations:
        return ()
    text = (
        f"definitions of a cycle were compared at {compared} of {stations} stations whose modes are out of"
        f" phase and that use {as_given(100 * _LEAST_SHARE)} % or more of what is allowed, the most used first"
    )
    return (caution("definitions-not-compared", text, field="definition", source="toeline-mode-cycles"),)
