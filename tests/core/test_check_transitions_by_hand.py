"""Cycles between blocks, one by one, for states of small whole numbers that can be paired by hand."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from fatcore.check.transitions import cycles_between_blocks, in_turn, orders_of_states
from fatcore.require import FloatArray

Pairs = list[tuple[float, float]]
ONE = np.ones(1)


def columns(*blocks: tuple[float, float]) -> tuple[FloatArray, FloatArray]:
    ends = np.array(blocks, dtype=float)
    return ends[:, :1], ends[:, 1:]


def between(
    unit_mpa: FloatArray, upper: FloatArray, lower: FloatArray, weights: FloatArray
) -> list[tuple[FloatArray, FloatArray]]:
    """Low and high ends (c, m) of the added cycles of one station, for each order."""
    found = cycles_between_blocks(unit_mpa, upper, lower, weights)
    return [(found.low[0, order], found.high[0, order]) for order in found.orders[0]]


def added(*blocks: tuple[float, float], unit_mpa: float = 1.0) -> list[Pairs]:
    """The added cycles (low, high) of one mode under one case, sorted, for each order of the ends."""
    orders = between(np.full((1, 1, 1), unit_mpa), *columns(*blocks), ONE)
    return [sorted(pair for pair in zip(low[:, 0], high[:, 0], strict=True) if any(pair)) for low, high in orders]


def test_two_small_blocks_far_apart_add_the_cycle_over_both() -> None:
    assert added((1.0, 0.9), (-1.0, -1.1)) == [[(-1.1, 1.0)]] * 4
    assert added((1.0, 0.9), (-1.0, -1.1), unit_mpa=-2.0) == [[(-2.0, 2.2)]] * 4


def test_blocks_that_overlap_add_the_inner_and_the_outer_pair_in_two_of_four_orders() -> None:
    """2 to 0 and 3 to 1: 2-0-3-1 and 0-2-1-3 close 1 to 2 and 0 to 3, the other two orders 0 to 3 alone."""
    found = added((2.0, 0.0), (3.0, 1.0))
    assert found == [[(0.0, 3.0), (1.0, 2.0)], [(0.0, 3.0)], [(0.0, 3.0)], [(0.0, 3.0), (1.0, 2.0)]]


@pytest.mark.parametrize("blocks", [[(1.0, 0.0), (0.6, 0.0)], [(1.0, -1.0), (0.5, 0.25)], [(1.0, 0.0)]])
def test_what_a_block_holds_is_not_added(blocks: Pairs) -> None:
    assert all(pairs == [] for pairs in added(*blocks))


def test_a_block_holds_one_cycle_of_its_kind_a_pass() -> None:
    """1-0, 1-0.5, 0: the way goes twice from 0 to 1, and one block holds it; two blocks hold both."""
    first = added((1.0, 0.0), (1.0, 0.5), (0.0, 0.0))[0]
    assert first == [(0.0, 1.0)]
    assert added((1.0, 0.0), (0.4, 0.4), (1.0, 0.0))[0] == []


@pytest.mark.parametrize(
    ("blocks", "kept"),
    [
        ([(1.0, 0.0), (1.0, 0.0), (2.0, 0.0)], [True, False, True]),
        ([(1.0, 0.0), (2.0, 0.0), (1.0, 0.0)], [True, True, True]),
        ([(1.0, 0.0), (1.0, 0.5)], [True, True]),
        ([(1.0, 0.0), (0.0, 1.0)], [True, True]),
    ],
)
def test_neighbours_between_the_same_states_are_one(blocks: Pairs, kept: list[bool]) -> None:
    assert in_turn(*columns(*blocks)).tolist() == kept


def test_two_cases_make_two_blocks_differ() -> None:
    upper, lower = np.array([[1.0, 0.0], [1.0, 0.5]]), np.array([[0.0, 0.0], [0.0, 0.0]])
    assert in_turn(upper, lower).tolist() == [True, True]
    assert in_turn(lower, upper).tolist() == [True, True]


def test_a_block_that_does_not_move_has_one_order() -> None:
    orders = orders_of_states(*columns((2.0, 1.0), (3.0, 3.0)))
    assert [order[:, 0].tolist() for order in orders] == [[2.0, 1.0, 3.0, 3.0], [1.0, 2.0, 3.0, 3.0]]


@pytest.mark.parametrize(
    ("blocks", "orders"),
    [
        ([(4.0, 0.0), (3.0, 0.0), (2.0, 0.0), (1.0, 0.0)], 16),
        ([(4.0, 0.0), (3.0, 0.0), (2.0, 2.0), (1.0, 0.0)], 8),
        ([(4.0, 0.0), (4.0, 0.0), (3.0, 0.0), (2.0, 0.0), (1.0, 0.0)], 16),
        ([(5.0, 0.0), (4.0, 0.0), (3.0, 0.0), (2.0, 0.0), (1.0, 0.0)], 1),
    ],
)
def test_four_blocks_are_tried_in_every_order_and_five_are_bounded(blocks: Pairs, orders: int) -> None:
    assert len(added(*blocks)) == orders


def test_a_mode_that_moves_more_over_the_loop_than_in_the_block_makes_its_cycle_count() -> None:
    """The first mode goes 1-0-0.5 and back to 1; the second is at 0, 0, 1: no block moves it."""
    upper, lower = np.array([[1.0, 0.0], [0.5, 1.0]]), np.array([[0.0, 0.0], [0.5, 1.0]])
    held = [[0.0, 0.0], [0.0, 0.0]]
    for second, cycle in (
        (0.3, [[0.0, 0.0], [1.0, 0.3]]),
        (2e-9, [[0.0, 0.0], [1.0, 2e-9]]),
        (5e-10, held),
        (0.0, held),
    ):
        low, high = between(np.array([[[1.0, 0.0], [0.0, second]]]), upper, lower, np.ones(2))[0]
        assert [low.min(axis=0).tolist(), high.max(axis=0).tolist()] == cycle
        assert np.count_nonzero((high - low).any(axis=1)) == (0 if cycle == held else 1)


# --- the bound over all orders of five blocks


def bound(
    states: Sequence[tuple[tuple[float, ...], tuple[float, ...]]], weights: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Each mode is a load case of its own; (b, m) low and high."""
    upper, lower = (np.array([ends[place] for ends in states], dtype=float) for place in (0, 1))
    ((low, high),) = between(np.eye(weights.size)[np.newaxis], upper, lower, weights)
    return low, high


def test_states_of_five_blocks_are_paired_by_rank() -> None:
    (pairs,) = added((5.0, 4.0), (3.0, 2.0), (1.0, 0.0), (-1.0, -2.0), (-3.0, -4.0))
    assert pairs == [(-4.0, 5.0), (-3.0, 4.0), (-2.0, 3.0), (-1.0, 2.0), (0.0, 1.0)]


def test_blocks_within_each_other_are_their_own_pairs() -> None:
    assert added((1.0, -1.0), (4.0, -4.0), (-3.0, 3.0), (5.0, -5.0), (2.0, -2.0)) == [[]]
    assert added((2.0, 1.0), (4.0, -4.0), (-3.0, 3.0), (5.0, -5.0), (-1.0, -2.0)) == [[(-2.0, 2.0), (-1.0, 1.0)]]
    # of two blocks to one height the deeper one is the first
    assert added((5.0, -4.0), (5.0, -5.0), (3.0, -3.0), (2.0, -2.0), (1.0, -1.0)) == [[]]


LADDER = [(5.0, 4.0), (3.0, 2.0), (1.0, 0.0), (-1.0, -2.0), (-3.0, -4.0)]


@pytest.mark.parametrize("slope", [0.5, -0.5])
def test_a_mode_in_step_keeps_to_the_pairs(slope: float) -> None:
    low, high = bound([((top, slope * top + 7.0), (end, slope * end + 7.0)) for top, end in LADDER], np.ones(2))
    assert (high - low).tolist() == [[span, 0.5 * span] for span in (9.0, 7.0, 5.0, 3.0, 1.0)]
    assert (high + low)[:, 1].tolist() == [slope * 1.0 + 14.0] * 5


def test_a_mode_beside_one_that_rests_keeps_to_its_pairs_but_for_rounding() -> None:
    states = [((top / 3.0 + 0.1, 0.0), (end / 3.0 + 0.1, 0.0)) for top, end in LADDER]
    low, high = bound(states, np.ones(2))
    np.testing.assert_allclose((high - low)[:, 0], np.array([9.0, 7.0, 5.0, 3.0, 1.0]) / 3.0, rtol=1e-12)
    assert not (high - low)[:, 1].any()


def test_a_mode_out_of_step_takes_its_whole_span_in_every_cycle() -> None:
    loose = [((top, 0.0), (end, 0.0)) for top, end in LADDER[:4]] + [((-3.0, 0.25), (-4.0, -0.5))]
    low, high = bound(loose, np.ones(2))
    assert high[:, 0].tolist() == [5.0, 4.0, 3.0, 2.0, 1.0]
    assert low[:, 0].tolist() == [-4.0, -3.0, -2.0, -1.0, 0.0]
    assert high[:, 1].tolist() == [0.25] * 5
    assert low[:, 1].tolist() == [-0.5] * 5


def test_blocks_within_each_other_count_where_another_mode_leaves_them() -> None:
    nested = [((float(top), 0.0), (float(-top), 0.0)) for top in (5, 4, 3, 2)]
    still = bound([*nested, ((1.0, 0.0), (-1.0, 0.0))], np.ones(2))
    assert not np.any(still)
    low, high = bound([*nested, ((1.0, 0.5), (-1.0, 0.0))], np.ones(2))
    assert high.tolist() == [[5.0, 0.5], [4.0, 0.5], [3.0, 0.5], [2.0, 0.5], [0.0, 0.0]]  # the last block holds its own
    assert low[:, 0].tolist() == [-5.0, -4.0, -3.0, -2.0, 0.0]


def test_the_mode_of_the_largest_weighted_span_governs_the_ranks() -> None:
    """Spans of 9 and of 4 MPa: by weights of 1 and 3, of either sign, the second one governs."""
    second = (0.0, 4.0, 1.0, 3.0, 2.0)
    states = [((top, level), (end, level)) for (top, end), level in zip(LADDER, second, strict=True)]
    for weights in ([1.0, 3.0], [1.0, -3.0]):
        low, high = bound(states, np.array(weights))
        assert (high - low)[:, 1].tolist() == [4.0, 4.0, 2.0, 2.0, 0.0]
        assert (high - low)[:, 0].tolist() == [9.0] * 5
    low, high = bound(states, np.array([1.0, 0.5]))
    assert (high - low)[:, 0].tolist() == [9.0, 7.0, 5.0, 3.0, 1.0]
    assert (high - low)[:, 1].tolist() == [4.0] * 5
