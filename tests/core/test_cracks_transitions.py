"""Cycles between the entries of a block: against a full rainflow count, order, exactness, adding them."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fatcore.cracks.driving.load_blocks import block_loading
from fatcore.cracks.driving.transitions import transition_cycles
from fatcore.errors import InputError, UnknownError
from fatcore.spectrum.counting.count import rainflow

LEVEL = st.integers(-6, 6).map(float)
ENTRIES = st.lists(st.tuples(LEVEL, LEVEL, st.integers(1, 4)), min_size=1, max_size=8)


def prepared(entries: list[tuple[float, float, int]]) -> tuple[list[float], list[float], list[int]]:
    high = [max(a, b) for a, b, _ in entries]
    low = [min(a, b) for a, b, _ in entries]
    return high, low, [n for _, _, n in entries]


@given(entries=ENTRIES)
def test_added_cycles_are_never_fewer_than_those_of_the_whole_sequence(
    entries: list[tuple[float, float, int]],
) -> None:
    """Referee: the closed rainflow count of the written-out block, either end first."""
    high, low, count = prepared(entries)
    extra = transition_cycles(high, low)
    ours = Counter[float]()
    for top, bottom, n in (*zip(high, low, count, strict=True), *zip(*extra, strict=True)):
        ours[top - bottom] += n
    for first, second in ((high, low), (low, high)):
        written = [end for a, b, n in zip(first, second, count, strict=True) for end in (a, b) * n]
        if len(set(written)) < 2:
            continue
        whole = rainflow(written, "closed")
        for exponent in (3.0, 8.0):
            damage = float(np.sum(whole.count * whole.range_mpa**exponent))
            assert sum(n * r**exponent for r, n in ours.items()) >= damage * (1.0 - 1e-12)
        assert max(ours) == whole.range_mpa.max()


@given(entries=ENTRIES)
def test_turned_round_the_cycles_turn_round(entries: list[tuple[float, float, int]]) -> None:
    high, low, _ = prepared(entries)
    one, other = transition_cycles(high, low), transition_cycles([-x for x in low], [-x for x in high])
    assert sorted(zip(one.maximum, one.minimum, strict=True)) == sorted(
        zip(-other.minimum, -other.maximum, strict=True)
    )


@pytest.mark.parametrize(
    ("high", "low"),
    [([1.0], [0.0]), ([1.0, 1.0], [0.0, 0.5]), ([1.0, 0.5, 0.8], [0.0, 0.0, 0.0]), ([2.0, 2.0], [2.0, 2.0])],
)
def test_entries_that_share_an_extreme_are_exact(high: list[float], low: list[float]) -> None:
    assert transition_cycles(high, low).cycles.size == 0


def test_every_alternation_counts() -> None:
    found = transition_cycles([1.0, -1.0] * 3, [0.9, -1.1] * 3)
    assert found.cycles.tolist() == [3.0]
    assert (found.maximum - found.minimum).tolist() == [2.1]


def test_blocks_add_them_behind_and_count_the_cycles_given() -> None:
    mix = block_loading([1.0, -1.0], [0.9, -1.1], [10.0, 20.0])
    assert mix.maximum.tolist() == [1.0, -1.0, 1.0]
    assert mix.minimum.tolist() == [0.9, -1.1, -1.1]
    assert mix.count.tolist() == [10.0, 20.0, 1.0]
    assert mix.cycles_per_block == 30.0
    plain = block_loading([1.0, -1.0], [0.9, -1.1], [10.0, 20.0], transitions="in-entries")
    assert plain.count.tolist() == [10.0, 20.0]
    with pytest.raises(UnknownError, match="transitions"):
        block_loading([1.0], [0.0], [1.0], transitions="perhaps")  # type: ignore[arg-type]
    with pytest.raises(InputError):
        transition_cycles([1.0], [0.0, 0.5])
