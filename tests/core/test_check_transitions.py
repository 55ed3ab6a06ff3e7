"""Cycles between the blocks of a check against the cycles of the whole sequence, counted as a history."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fatcore.check.complete import CheckOutcome, check_lines
from fatcore.check.loading import Block, BlockLoading, HistoryLoading, Loading, LoadState
from fatcore.check.strength.resistance import Target
from fatcore.cracks.driving.transitions import Transitions
from fatcore.errors import UnknownError
from tests.core.test_check_lines import PAIR, line

FACTORS = st.integers(-8, 8).map(lambda number: number / 4.0)
ENDS = st.tuples(FACTORS, FACTORS).filter(lambda ends: ends[0] != ends[1])
few = settings(max_examples=20, deadline=None, derandomize=True)


def blocks(ends: list[tuple[float, float]], cycles: list[int], transitions: Transitions) -> BlockLoading:
    return BlockLoading(
        blocks=tuple(
            Block(factors={"pull": LoadState(maximum=one[0], minimum=one[1])}, cycles=float(n))
            for one, n in zip(ends, cycles, strict=True)
        ),
        transitions=transitions,
    )


def checked(loading: Loading, peaks: Any = ((90.0, 0.0, 10.0),), **changed: Any) -> CheckOutcome:
    return check_lines([line(peaks)], loading, changed.pop("resistance", PAIR), Target(), **changed)


def codes(outcome: CheckOutcome) -> set[str]:
    return {finding.code for finding in outcome.findings}


def test_two_small_blocks_far_apart_hold_one_large_cycle_a_pass() -> None:
    """1.0 to 0.9 and -1.0 to -1.1: the range of 2.1 is 21 times theirs."""
    apart = [(1.0, 0.9), (-1.0, -1.1)]
    alone = checked(blocks(apart, [1, 1], "in-entries"))
    added = checked(blocks(apart, [1, 1], "added"))
    assert added.equivalent_stress_mpa == pytest.approx(21.0 * alone.equivalent_stress_mpa, rel=1e-9)
    # 21 cubed, over the two cycles that were counted
    assert added.damage == pytest.approx((21.0**3 + 2.0) / 2.0 * alone.damage, rel=1e-9)
    assert "block-transitions" in codes(alone)
    assert "transitions-added" in codes(added)


@few
@given(st.lists(st.tuples(ENDS, st.integers(2, 4)), min_size=2, max_size=4))
def test_blocks_never_do_less_than_the_sequence_they_stand_for(
    given_blocks: list[tuple[tuple[float, float], int]],
) -> None:
    """Each block written out as its cycles, one after the other, and counted as a history that repeats."""
    ends, cycles = [one for one, _ in given_blocks], [n for _, n in given_blocks]
    written = np.concatenate([np.tile(one, n) for one, n in given_blocks])
    sequence = checked(HistoryLoading(channels={"pull": written}))
    assert checked(blocks(ends, cycles, "added")).damage >= sequence.damage * (1.0 - 1e-9)


@few
@given(st.lists(ENDS, min_size=1, max_size=4), st.integers(2, 9))
def test_a_block_split_in_two_changes_nothing(ends: list[tuple[float, float]], cycles: int) -> None:
    whole = checked(blocks(ends, [cycles] * len(ends), "added"))
    split = checked(blocks([ends[0], *ends], [1, cycles - 1, *[cycles] * (len(ends) - 1)], "added"))
    assert split.damage == pytest.approx(whole.damage, rel=1e-9)
    assert split.life_cycles == pytest.approx(whole.life_cycles, rel=1e-9)


@few
@given(st.lists(ENDS, min_size=2, max_size=4))
def test_added_cycles_only_add(ends: list[tuple[float, float]]) -> None:
    counts = [3] * len(ends)
    assert checked(blocks(ends, counts, "added")).damage >= checked(blocks(ends, counts, "in-entries")).damage


def test_blocks_that_share_an_extreme_are_exact() -> None:
    """All from zero: the sequence closes each block's own cycle, nothing is added."""
    ends = [(1.0, 0.0), (0.6, 0.0), (0.8, 0.0)]
    exact, added = (checked(blocks(ends, [5, 7, 9], how)) for how in ("in-entries", "added"))
    assert added.damage == exact.damage


def test_each_station_counts_by_its_own_stress() -> None:
    """Two cases in turn: where both act the sum of both is reached, where one acts its own block is exact."""
    loading = BlockLoading(
        blocks=(
            Block(factors={"pull": LoadState(maximum=1.0, minimum=0.0)}, cycles=1.0),
            Block(factors={"push": LoadState(maximum=0.0, minimum=-1.0)}, cycles=1.0),
        )
    )
    cases = {"pull": [[80.0, 0, 0], [80.0, 0, 0]], "push": [[60.0, 0, 0], [0, 0, 0]]}
    outcome = check_lines([line(cases)], loading, PAIR, Target())
    first, second = outcome.lines[0].equivalent_stress_mpa
    assert first == pytest.approx(second * 140.0 / 80.0, rel=1e-9)


def test_lives_count_the_cycles_given() -> None:
    """Four cycles a pass are given, whatever is added to them."""
    outcome = checked(blocks([(1.0, 0.9), (-1.0, -1.1)], [2, 2], "added"))
    assert outcome.life_cycles is not None
    assert outcome.life_repeats is not None
    assert outcome.life_cycles == pytest.approx(4.0 * outcome.life_repeats, rel=1e-12)


def test_another_word_is_refused() -> None:
    with pytest.raises(UnknownError):
        blocks([(1.0, 0.0)], [1], "none")  # type: ignore[arg-type]
