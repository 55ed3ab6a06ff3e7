"""Cycles between the load states of different blocks, which no block holds.

Which end of a block comes first is not known. Up to MOST_ORDERED blocks, every order of the ends is tried and
the worst counts at each station; beyond, a bound over all orders takes its place: the states are paired by
rank, largest with smallest, and a mode that does not follow the governing one takes its whole span. No order
of the states makes more damage on a curve without cut-off, for damage then is a convex function of the range.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fatcore.require import FloatArray
from fatcore.spectrum.counting.history import IndexArray
from fatcore.spectrum.multiaxial.sequences import sequence_cycles

Ends = tuple[FloatArray, FloatArray]


class AddedCycles(NamedTuple):
    """Cycles that may come to those of the blocks at each station.

    low, high : lower and upper ends of each that some order adds, (s, d, m) [MPa]; both 0 where none is
    orders    : places (d) of those that each order adds together, (s, o, c)
    """

    low: FloatArray
    high: FloatArray
    orders: IndexArray


MOST_ORDERED = 4  # blocks in turn whose orders are all tried [own choice]
_IN_STEP = 1e-9  # relative: what rounding leaves between modes that follow each other


def cycles_between_blocks(
    unit_mpa: FloatArray, upper: FloatArray, lower: FloatArray, weights: FloatArray
) -> AddedCycles:
    """The added cycles at each station, for every order of the ends of blocks.

    A pass goes through the two states of every block in turn and begins again. Its closed rainflow cycles by
    the governing mode count once, less those between two states that are a block: that block holds them,
    unless another mode moves by more over the loop than in the block.

    unit_mpa     : stresses of the load cases, (s, m, k); weights: of the modes, (m,) or of each station (s, m)
    upper, lower : load factors of the cases at the ends of the blocks, (b, k)
    Returns      : any order of the ends may be the worst; the bound is the only one
    Source       : [astm-e1049], [toeline-mode-cycles]
    """
    once = in_turn(upper, lower)
    upper, lower = upper[once], lower[once]
    if len(upper) <= MOST_ORDERED:
        return _added(unit_mpa, _states(upper, lower), _orders(upper, lower), weights)
    low, high = _bound(_stresses(unit_mpa, upper), _stresses(unit_mpa, lower), weights)
    return AddedCycles(low, high, np.tile(np.arange(len(upper)), (len(low), 1, 1)))


def in_turn(upper: FloatArray, lower: FloatArray) -> NDArray[np.bool_]:
    """Blocks that the one before does not repeat: neighbours between the same states are one in a pass."""
    moved = np.ones(len(upper), dtype=np.bool_)
    moved[1:] = (np.diff(upper, axis=0) != 0.0).any(axis=1) | (np.diff(lower, axis=0) != 0.0).any(axis=1)
    return moved


def orders_of_states(upper: FloatArray, lower: FloatArray) -> list[FloatArray]:
    """The states of a pass in every order of the ends of blocks, (2 b, k) each."""
    return list(_states(upper, lower)[_orders(upper, lower)])


def _states(upper: FloatArray, lower: FloatArray) -> FloatArray:
    return np.stack([upper, lower], axis=1).reshape(-1, upper.shape[1])


def _orders(upper: FloatArray, lower: FloatArray) -> IndexArray:
    """Places of the states in every order of the ends of blocks, (o, 2 b)."""
    moving = (upper != lower).any(axis=1)
    first = np.array(list(product(*((0, 1) if moves else (0,) for moves in moving))))
    ends = np.stack([first, 1 - first], axis=2) + 2 * np.arange(len(upper))[:, np.newaxis]
    return ends.reshape(len(first), -1)


def _stresses(unit_mpa: FloatArray, states: FloatArray) -> FloatArray:
    return np.asarray(np.einsum("nmk,bk->nbm", unit_mpa, states))


def _added(unit_mpa: FloatArray, states: FloatArray, orders: IndexArray, weights: FloatArray) -> AddedCycles:
    kinds = np.unique(states, axis=0, return_inverse=True)[1].reshape(-1)
    ways = [tuple(order) for order in orders.tolist()]
    found = sequence_cycles(_stresses(unit_mpa, states), ways, tuple(kinds.tolist()), weights)
    more = _wider(found.maximum_mpa - found.minimum_mpa, found.own_mpa)
    kept = (more | ~found.held)[..., np.newaxis]
    low, high = (np.where(kept, each, 0.0) for each in (found.minimum_mpa, found.maximum_mpa))
    return AddedCycles(low, high, found.orders)


def _wider(range_mpa: FloatArray, own_mpa: FloatArray) -> NDArray[np.bool_]:
    """Where some mode has more range than a block of the same ends gives it, (s, c)."""
    scale = own_mpa.max(axis=-1, keepdims=True)
    return np.asarray((range_mpa > own_mpa + _IN_STEP * np.maximum(own_mpa, scale)).any(axis=-1))


def _bound(at_upper: FloatArray, at_lower: FloatArray, weights: FloatArray) -> Ends:
    """Tops by falling, bottoms by rising governing stress, paired by rank, less pairs that are a block."""
    states = np.concatenate([at_upper, at_lower], axis=1)
    size, mode = at_upper.shape[1], np.argmax(np.abs(weights) * np.ptp(states, axis=1), axis=1)
    rows = np.arange(len(states))
    level = states[rows, :, mode]
    order = np.argsort(level, axis=1, kind="stable")
    bottoms, tops = order[:, :size], order[:, : -size - 1 : -1]
    ends = [np.take_along_axis(states, places[..., np.newaxis], axis=1) for places in (bottoms, tops)]
    low, high = np.minimum(*ends), np.maximum(*ends)
    loose = ~_in_step(states, level, ends, rows, mode)
    low = np.where(loose, states.min(axis=1)[:, np.newaxis], low)
    high = np.where(loose, states.max(axis=1)[:, np.newaxis], high)
    added = ~_ranked_held(level, (low, high), np.abs(at_upper - at_lower), rows, mode)[..., np.newaxis]
    return np.where(added, low, 0.0), np.where(added, high, 0.0)


def _in_step(
    states: FloatArray,
    level: FloatArray,
    ends: Sequence[FloatArray],
    rows: NDArray[np.intp],
    mode: NDArray[np.intp],
) -> NDArray[np.bool_]:
    """Modes that follow the governing one on a straight line through all states, (s, 1, m)."""
    bottom, top = ends[0][:, :1], ends[1][:, :1]
    span = (top - bottom)[rows, 0, mode][:, np.newaxis]
    share = np.divide(level - level.min(axis=1, keepdims=True), span, out=np.zeros_like(level), where=span > 0)
    off = np.abs(states - bottom - share[..., np.newaxis] * (top - bottom)).max(axis=1, keepdims=True)
    return np.asarray(off <= _IN_STEP * np.ptp(states, axis=1, keepdims=True).max(axis=2, keepdims=True))


def _ranked_held(
    level: FloatArray, found: Ends, own_mpa: FloatArray, rows: NDArray[np.intp], mode: NDArray[np.intp]
) -> NDArray[np.bool_]:
    """Where the pair of a rank is the block of that rank, by falling top and rising bottom, (s, b)."""
    size = own_mpa.shape[1]
    first, second = level[:, :size], level[:, size:]
    low, high = np.minimum(first, second), np.maximum(first, second)
    order = np.lexsort((low, -high), axis=1)
    low, high = np.take_along_axis(low, order, axis=1), np.take_along_axis(high, order, axis=1)
    same = (low == found[0][rows, :, mode]) & (high == found[1][rows, :, mode])
    own = np.take_along_axis(own_mpa, order[..., np.newaxis], axis=1)
    return np.asarray(same & ~_wider(found[1] - found[0], own))
