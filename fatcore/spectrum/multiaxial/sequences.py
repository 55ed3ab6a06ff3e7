"""Cycles of many stations that go through the same few load states, counted by the governing mode."""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fatcore.require import FloatArray
from fatcore.spectrum.counting.count import count_turning_points
from fatcore.spectrum.counting.cycles import from_indices
from fatcore.spectrum.counting.history import IndexArray, find_turning_points
from fatcore.spectrum.multiaxial._extremes import loop_ends

_Loops = tuple[tuple[int, int, int], ...]

MOST_STATES = 15  # of a sequence: their order of size is told by one whole number
_KNOWN = 20_000  # orders of size whose cycles are kept; eight states have no more than some hundred thousand


class SequenceCycles(NamedTuple):
    """Closed cycles of stations, for each order in which they go through the states.

    exists                 : (s, o, c), false where an order makes fewer cycles at a station
    start_index, end_index : states of the two reversals (s, o, c)
    minimum_mpa, maximum_mpa : of every mode over the loop of each cycle, (s, o, c, m) [MPa]
    """

    exists: NDArray[np.bool_]
    start_index: IndexArray
    end_index: IndexArray
    minimum_mpa: FloatArray
    maximum_mpa: FloatArray


def sequence_cycles(states_mpa: FloatArray, orders: IndexArray, weights: FloatArray) -> SequenceCycles:
    """Cycles of one pass through the states and back to the first, as `mode_cycles` counts `governing`.

    The order of size of the governing stresses alone says which states close a cycle: each order is counted once.

    states_mpa : (stations, states, modes) [MPa], up to MOST_STATES states; orders: in which they follow each
                 other, (o, states); weights: of the modes [-], (m,) or of each station (s, m)
    Source     : [astm-e1049], [toeline-mode-cycles]
    """
    size, count = states_mpa.shape[1], len(orders)
    mode = np.argmax(np.abs(weights) * np.ptp(states_mpa, axis=1), axis=1)
    governing = np.take_along_axis(states_mpa, mode[:, np.newaxis, np.newaxis], axis=2)[..., 0]
    ranks = (governing[:, :, np.newaxis] > governing[:, np.newaxis, :]).sum(axis=2)
    first = _largest_samples(governing[:, orders].reshape(-1, size))
    turn = (first[:, np.newaxis] + np.arange(size + 1)) % size
    rows = np.arange(len(states_mpa)).repeat(count)[:, np.newaxis]
    visited = orders[np.tile(np.arange(count), len(states_mpa))[:, np.newaxis], turn] + size * rows
    exists, (start, end, last) = _loops_in_turn(ranks.reshape(-1)[visited[:, :-1]])
    low, high = _extremes(states_mpa.reshape(-1, states_mpa.shape[2]), governing.reshape(-1), visited, start, last)
    shape = len(states_mpa), count, start.shape[1]
    return SequenceCycles(
        exists=exists.reshape(shape),
        start_index=(_take(visited, start) - size * rows).reshape(shape),
        end_index=(_take(visited, end) - size * rows).reshape(shape),
        minimum_mpa=low.reshape(*shape, low.shape[2]),
        maximum_mpa=high.reshape(*shape, high.shape[2]),
    )


def _largest_samples(values: FloatArray) -> IndexArray:
    """Of each row the first sample with the largest absolute value, as `largest_sample` finds it."""
    high, low = values.argmax(axis=1), values.argmin(axis=1)
    top, bottom = np.abs(values.max(axis=1)), np.abs(values.min(axis=1))
    return np.asarray(np.where(top == bottom, np.minimum(high, low), np.where(top > bottom, high, low)))


def _loops_in_turn(ranks: NDArray[np.intp]) -> tuple[NDArray[np.bool_], list[IndexArray]]:
    """Which cycles a row of ranks makes, (rows, c), and where each starts, turns and ends, (rows, c) each."""
    code = ranks @ ranks.shape[1] ** np.arange(ranks.shape[1], dtype=np.int64)
    _, one, kind = np.unique(code, return_index=True, return_inverse=True)
    loops = [_loops(tuple(row)) for row in ranks[one].tolist()]
    most = max(map(len, loops))
    table = np.array([[*each, *[(0, 0, 0)] * (most - len(each))] for each in loops], dtype=np.int64)
    exists = np.arange(most) < np.array([len(each) for each in loops])[:, np.newaxis]
    return exists[kind], list(np.moveaxis(table.reshape(len(loops), most, 3)[kind], 2, 0))


@lru_cache(maxsize=_KNOWN)
def _loops(ranks: tuple[int, ...]) -> _Loops:
    """Places where each cycle of a closed sequence of levels starts, turns, and where its loop ends."""
    levels = np.array([*ranks, ranks[0]], dtype=np.float64)
    points = find_turning_points(levels)
    cycles = from_indices(levels, *count_turning_points(levels, points, "closed"))
    last, _ = loop_ends(levels, points, cycles)
    return tuple(zip(cycles.start_index.tolist(), cycles.end_index.tolist(), last.tolist(), strict=True))


def _extremes(
    states: FloatArray, governing: FloatArray, visited: IndexArray, start: IndexArray, last: IndexArray
) -> tuple[FloatArray, FloatArray]:
    """Extremes of every mode from a state to where the governing stress has come back to it, (rows, c, m) each."""
    first, before, behind = (_take(visited, place) for place in (start, last, last + 1))
    step = governing[behind] - governing[before]
    share = np.divide(governing[first] - governing[before], step, out=np.zeros_like(step), where=step != 0.0)
    inside = states[before]
    back = inside + share[..., np.newaxis] * (states[behind] - inside)
    low, high = np.minimum(inside, back), np.maximum(inside, back)
    for k in range(int((last - start).max(initial=0))):
        inside = states[_take(visited, np.minimum(start + k, last))]
        np.minimum(low, inside, out=low)
        np.maximum(high, inside, out=high)
    return low, high


def _take(visited: IndexArray, place: IndexArray) -> IndexArray:
    return np.take_along_axis(visited, place, axis=1)
