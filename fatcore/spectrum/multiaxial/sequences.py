"""Cycles of many stations that go through the same few load states, counted by the governing mode."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fatcore.require import FloatArray
from fatcore.spectrum.counting.count import count_turning_points
from fatcore.spectrum.counting.cycles import from_indices
from fatcore.spectrum.counting.history import IndexArray, find_turning_points
from fatcore.spectrum.multiaxial._extremes import loop_ends

Order = tuple[int, ...]

MOST_STATES = 15  # of a sequence: their order of size is told by one whole number
_KNOWN = 20_000  # orders of size whose cycles are kept; eight states have no more than some hundred thousand
_KNOWN_PLANS = 2_000


class SequenceCycles(NamedTuple):
    """Closed cycles of stations, each that some order of the states makes, and none at all as the last (d).

    orders   : places (d) of the cycles that each order makes, (s, o, c); those it lacks are the last
    held     : whether a block holds the cycle, one of its kind a pass, or it is none (s, d)
    own_mpa  : how far the two reversals are apart in every mode, (s, d, m) [MPa]
    minimum_mpa, maximum_mpa : of every mode over the loop of each cycle, (s, d, m) [MPa]
    """

    orders: IndexArray
    held: NDArray[np.bool_]
    own_mpa: FloatArray
    minimum_mpa: FloatArray
    maximum_mpa: FloatArray


class _Plan(NamedTuple):
    """Cycles of states of one order of size.

    cycles : (5 + states, d) whether a block holds it, the states where it starts and turns, between which it
             comes back to its start, and those that it passes
    orders : places of the cycles of each order, (o, c), -1 for none
    """

    cycles: IndexArray
    orders: IndexArray


def sequence_cycles(
    states_mpa: FloatArray, orders: Sequence[Order], kinds: Order, weights: FloatArray
) -> SequenceCycles:
    """Cycles of one pass through the states and back to the first, as `mode_cycles` counts `governing`.

    The order of size of the governing stresses alone says which states close a cycle: each is counted once.

    states_mpa : (stations, states, modes) [MPa], up to MOST_STATES; each two neighbours are the ends of a block
    orders     : in which the states follow each other; kinds: one number for states that are the same
    weights    : of the modes [-], (m,) or of each station (s, m)
    Source     : [astm-e1049], [toeline-mode-cycles]
    """
    size = states_mpa.shape[1]
    rows = np.arange(len(states_mpa))
    governing = states_mpa[rows, :, np.argmax(np.abs(weights) * np.ptp(states_mpa, axis=1), axis=1)]
    ranks = (governing[:, :, np.newaxis] > governing[:, np.newaxis, :]).sum(axis=2)
    side = np.sign(np.abs(governing.max(axis=1)) - np.abs(governing.min(axis=1))).astype(np.int64)
    code = ranks @ size ** np.arange(size, dtype=np.int64) * 3 + side
    _, one, kind = np.unique(code, return_index=True, return_inverse=True)
    plans = [_plan(tuple(ranks[k].tolist()), int(side[k]), tuple(orders), kinds) for k in one]
    cycles, order = _stacked(plans)
    held, places = cycles[0].take(kind, axis=0) > 0, cycles[1:].take(kind, axis=1) + size * rows[:, np.newaxis]
    own, low, high = _extremes(states_mpa.reshape(-1, states_mpa.shape[2]), governing.reshape(-1), places)
    return SequenceCycles(order[kind], held, own, low, high)


def _stacked(plans: Sequence[_Plan]) -> tuple[IndexArray, IndexArray]:
    """Cycles and orders of all plans as arrays, (5 + states, p, d) and (p, o, c), with no cycle as the last."""
    most, wide = max(plan.cycles.shape[1] for plan in plans), len(plans[0].cycles)
    cycles = np.zeros((wide, len(plans), most + 1), dtype=np.int64)
    cycles[0] = 1
    for place, plan in enumerate(plans):
        cycles[:, place, : plan.cycles.shape[1]] = plan.cycles
    return cycles, np.stack([plan.orders for plan in plans])


@lru_cache(maxsize=_KNOWN_PLANS)
def _plan(ranks: Order, side: int, orders: tuple[Order, ...], kinds: Order) -> _Plan:
    """The cycles of every order of states of given ranks.

    side : 1 where the largest stress is farther from zero than the smallest, -1 where it is nearer, else 0
    """
    size, known = len(ranks), dict[Order, int]()
    places = np.full((len(orders), size // 2), -1, dtype=np.int64)
    for row, order in zip(places, orders, strict=True):
        for column, cycle in enumerate(_cycles(ranks, side, order, kinds)):
            row[column] = known.setdefault(cycle, len(known))
    return _Plan(np.array(list(known), dtype=np.int64).reshape(len(known), size + 5).T, places)


def _cycles(ranks: Order, side: int, order: Order, kinds: Order) -> Iterator[Order]:
    """The cycles of one order, begun at the stress farthest from zero."""
    levels = [ranks[state] for state in order]
    high, low = levels.index(max(levels)), levels.index(min(levels))
    first = min(high, low) if side == 0 else (high if side > 0 else low)
    visited = [*order[first:], *order[:first], order[first]]
    left = [_pair(kinds, place, place + 1) for place in range(0, len(kinds), 2)]
    for start, end, last in _loops(tuple(ranks[state] for state in visited[:-1])):
        pair = _pair(kinds, visited[start], visited[end])
        held = pair in left
        if held:
            left.remove(pair)
        path = sorted(set(visited[start:last]))
        path += [visited[last]] * (len(kinds) - len(path))
        yield (held, visited[start], visited[end], visited[last], visited[last + 1], *path)


def _pair(kinds: Order, one: int, other: int) -> tuple[int, int]:
    """Two states in either order."""
    return min(kinds[one], kinds[other]), max(kinds[one], kinds[other])


@lru_cache(maxsize=_KNOWN)
def _loops(ranks: Order) -> tuple[tuple[int, int, int], ...]:
    """Places where each cycle of a closed sequence of levels starts, turns, and where its loop ends."""
    levels = np.array([*ranks, ranks[0]], dtype=np.float64)
    points = find_turning_points(levels)
    cycles = from_indices(levels, *count_turning_points(levels, points, "closed"))
    last, _ = loop_ends(levels, points, cycles)
    return tuple(zip(cycles.start_index.tolist(), cycles.end_index.tolist(), last.tolist(), strict=True))


def _extremes(
    states: FloatArray, governing: FloatArray, places: IndexArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Span of the reversals of every mode, and its extremes from a state to where the governing stress comes back."""
    start, end, before, behind, *path = places
    step = governing[behind] - governing[before]
    share = np.divide(governing[start] - governing[before], step, out=np.zeros_like(step), where=step != 0.0)
    inside = states.take(before, axis=0)
    back = inside + share[..., np.newaxis] * (states.take(behind, axis=0) - inside)
    low, high = np.minimum(inside, back), np.maximum(inside, back)
    for place in path:
        inside = states.take(place, axis=0)
        np.minimum(low, inside, out=low)
        np.maximum(high, inside, out=high)
    return np.abs(states.take(start, axis=0) - states.take(end, axis=0)), low, high
