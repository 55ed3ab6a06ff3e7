"""Cycles of several stress modes at one point: three definitions for load that is not proportional.

governing   : cycles are counted on the governing mode, the one whose weighted range over the block is
              largest (the first of equal ones). For each cycle every other mode takes its whole span over
              the closed loop: from the first reversal to the moment when the governing mode has come back to
              its stress there, inner loops included, with the other modes interpolated linearly at that
              moment; for half a cycle, between its two reversals. Nothing inside a cycle is missed.
independent : every mode is counted on its own over the same block, and the counts are paired by rank, largest
              with largest, whatever the phase. Beside them stand the cycles of `governing`, ranked by their
              weighted range, and each mode takes the larger of its two ranges and the higher of its two upper
              stresses. No rank has a smaller range in any mode than the governing cycle of that rank: with a
              damage that does not fall when a range or an upper stress grows, it is never less than that of
              `governing`, nor than that of pairing alone. It is no bound for `path`.
path        : path-dependent count in the space of weighted modes, see `path`.
With proportional load all three give the same.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from fatcore import require
from fatcore.bounds import guarded
from fatcore.errors import InputError
from fatcore.outcome import Outcome
from fatcore.require import FloatArray
from fatcore.spectrum.counting.count import Residue, count_turning_points, rainflow
from fatcore.spectrum.counting.cycles import Cycles, from_indices
from fatcore.spectrum.counting.history import IndexArray, close_at_largest, find_turning_points
from fatcore.spectrum.multiaxial._extremes import loop_ends, loop_extremes
from fatcore.spectrum.multiaxial.path import PathCycles, path_cycles

Definition = Literal["governing", "independent", "path"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ModeCycles(Outcome):
    """Cycles with the range of every mode.

    range_mpa, minimum_mpa, maximum_mpa : (n, modes) [MPa]; in the path definition the range is that between
                                          the two points, times the path length over the distance
    count                               : (n) 1, 0.5 or a share of it where counts are paired by rank
    start_index, end_index              : (n) samples of the two reversals (of the governing mode)
    governing_mode                      : its number; definition, residue: the rules used
    """

    range_mpa: FloatArray
    minimum_mpa: FloatArray
    maximum_mpa: FloatArray
    count: FloatArray
    start_index: IndexArray
    end_index: IndexArray
    governing_mode: int
    definition: Definition
    residue: Residue


def governing_mode(history_mpa: FloatArray, weights: FloatArray) -> int:
    """Number of the mode with the largest weighted range over the block, the first of equal ones."""
    return int(np.argmax(np.abs(weights) * np.ptp(history_mpa, axis=1)))


@guarded
def mode_cycles(
    history_mpa: ArrayLike,
    weights: ArrayLike,
    *,
    residue: Residue = "closed",
    definition: Definition = "governing",
) -> ModeCycles:
    """Cycles with the range of every mode, by one of the definitions of this module.

    history_mpa : (modes, samples) signed stress of each mode [MPa]
    weights     : (modes) factor of each mode in the equivalent stress [-]; 0 leaves a mode out of the choice
    Returns     : cycles; an empty set when nothing moves
    Raises      : InputError for a wrong shape, no mode of weight, values not finite
    """
    values = require.finite("history_mpa", np.atleast_2d(np.asarray(history_mpa, dtype=np.float64)))
    factors = require.finite("weights", weights)
    if values.ndim != 2 or values.shape[1] == 0:
        raise InputError("history_mpa must be modes x samples, with at least one sample", "history_mpa")
    if factors.shape != (values.shape[0],) or not factors.any():
        raise InputError("weights must hold one number per mode, not all zero", "weights")
    counts = {"governing": _governing, "independent": _independent, "path": _path}
    return counts[definition](np.ascontiguousarray(values), factors, residue)


def _governing(values: FloatArray, weights: FloatArray, residue: Residue) -> ModeCycles:
    governing = governing_mode(values, weights)
    size, shift = values.shape[1], 0
    if residue == "closed":
        shift = close_at_largest(values[governing])[1]
        values = np.concatenate((values[:, shift:], values[:, : shift + 1]), axis=1)
    points = find_turning_points(values[governing])
    whole, left = count_turning_points(values[governing], points, residue)
    cycles = from_indices(values[governing], whole, left)
    low, high = _spans(values, points, cycles, governing)
    return ModeCycles(
        range_mpa=high - low,
        minimum_mpa=low,
        maximum_mpa=high,
        count=cycles.count,
        start_index=(cycles.start_index + shift) % size,
        end_index=(cycles.end_index + shift) % size,
        governing_mode=governing,
        definition="governing",
        residue=residue,
        sources=("astm-e1049", "toeline-mode-cycles"),
    )


def _spans(values: FloatArray, points: IndexArray, cycles: Cycles, governing: int) -> tuple[FloatArray, FloatArray]:
    """Lowest and highest stress of every mode over the loop of every cycle, (n, modes) each."""
    low, high = np.empty((len(values), cycles.count.size)), np.empty((len(values), cycles.count.size))
    last, share = loop_ends(values[governing], points, cycles)
    for mode, column in enumerate(values):
        if mode == governing:
            low[mode], high[mode] = cycles.minimum_mpa, cycles.maximum_mpa
        else:
            low[mode], high[mode] = loop_extremes(column, cycles, last, share)
    return low.T, high.T


def _independent(values: FloatArray, weights: FloatArray, residue: Residue) -> ModeCycles:
    together = _governing(values, weights, residue)
    counted = [_by_range(rainflow(column, residue)) for column in values]
    largest_first = np.argsort(-np.square(together.range_mpa * weights).sum(axis=1), kind="stable")
    sums = [np.cumsum(cycles.count) for cycles in counted]
    joint = np.cumsum(together.count[largest_first])
    edges = np.unique(np.concatenate([*sums, joint]))
    middle = edges - 0.5 * np.diff(edges, prepend=0.0)
    rank = np.searchsorted(joint, middle)
    ranges = _with_nothing_behind(together.range_mpa[largest_first], 0.0)[rank]
    upper = _with_nothing_behind(together.maximum_mpa[largest_first], -np.inf)[rank]
    for mode, (cycles, total) in enumerate(zip(counted, sums, strict=True)):
        rank = np.searchsorted(total, middle)
        alone = _with_nothing_behind(cycles.range_mpa, 0.0)[rank]
        ranges[:, mode] = np.maximum(ranges[:, mode], alone)
        top = _with_nothing_behind(cycles.maximum_mpa, -np.inf)[rank]
        upper[:, mode] = np.maximum(upper[:, mode], top)
    upper = np.where(np.isinf(upper), values.mean(axis=1), upper)
    start, end = _indices_at(counted[together.governing_mode], middle)
    return ModeCycles(
        range_mpa=ranges,
        minimum_mpa=upper - ranges,
        maximum_mpa=upper,
        count=np.diff(edges, prepend=0.0),
        start_index=start,
        end_index=end,
        governing_mode=together.governing_mode,
        definition="independent",
        residue=residue,
        sources=("astm-e1049", "toeline-mode-cycles"),
    )


def _with_nothing_behind(column: FloatArray, nothing: float) -> FloatArray:
    """The column or table with one more row, for ranks that have no cycle."""
    return np.concatenate((column, np.full((1, *column.shape[1:]), nothing)))


def _indices_at(cycles: Cycles, middle: FloatArray) -> tuple[IndexArray, IndexArray]:
    """Reversals of the governing mode's cycle of each rank; the smallest one's when it has no cycle left."""
    if cycles.count.size == 0:
        none = np.zeros(middle.size, dtype=np.int64)
        return none, none
    rank = np.minimum(np.searchsorted(np.cumsum(cycles.count), middle), cycles.count.size - 1)
    return cycles.start_index[rank], cycles.end_index[rank]


def _by_range(cycles: Cycles) -> Cycles:
    """The cycles sorted by falling range; equal ones keep their order."""
    order = np.argsort(-cycles.range_mpa, kind="stable")
    return Cycles(
        count=cycles.count[order],
        start_index=cycles.start_index[order],
        end_index=cycles.end_index[order],
        closing_index=cycles.closing_index[order],
        start_mpa=cycles.start_mpa[order],
        end_mpa=cycles.end_mpa[order],
    )


def _path(values: FloatArray, weights: FloatArray, residue: Residue) -> ModeCycles:
    found = _severer_direction(values, weights, repeating=residue == "closed")
    low, high = np.minimum(found.start_mpa, found.end_mpa), np.maximum(found.start_mpa, found.end_mpa)
    return ModeCycles(
        range_mpa=(high - low) * found.length_ratio[:, None],
        minimum_mpa=low,
        maximum_mpa=high,
        count=np.full(found.length_ratio.size, 0.5),
        start_index=found.start_index,
        end_index=found.end_index,
        governing_mode=governing_mode(values, weights),
        definition="path",
        residue=residue,
        sources=("asme-viii-2", "path-dependent-2010"),
    )


def _severer_direction(values: FloatArray, weights: FloatArray, *, repeating: bool) -> PathCycles:
    """The path counted forward or backward in time, which may differ: the one of the larger third powers."""
    forward = path_cycles(values, weights, repeating=repeating)
    backward = path_cycles(np.ascontiguousarray(values[:, ::-1]), weights, repeating=repeating)
    if _third_powers(backward, weights) <= (1.0 + 1e-9) * _third_powers(forward, weights):
        return forward
    last = values.shape[1] - 1
    return replace(backward, start_index=last - backward.start_index, end_index=last - backward.end_index)


def _third_powers(found: PathCycles, weights: FloatArray) -> float:
    span = np.linalg.norm(weights * (found.end_mpa - found.start_mpa), axis=1)
    return float(((span * found.length_ratio) ** 3).sum())
