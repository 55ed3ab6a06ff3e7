"""Other definitions of a cycle at a station: square paths of two modes, whose damage is known by each of them."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from fatcore.check.findings import cycle_definitions
from fatcore.check.findings.cycle_definitions import compare_cycle_definitions, deciding_definitions
from fatcore.check.line import WeldLine
from fatcore.check.loading import Block, BlockLoading, HistoryLoading, Loading, LoadState
from fatcore.check.strength.strength import InteractionStrength, PlainStrength, Strength
from fatcore.findings import Finding
from tests.core.test_check_stations_by_hand import pair, through

PLAIN = PlainStrength(weights=np.ones(3), curve=through(100.0, 3.0))
ONCE = 1.0 / 2e6  # damage of one cycle of 100 MPa
SQUARE = ([0.0, 1.0, 1.0, 0.0], [0.0, 0.0, 1.0, 1.0])


def line(name: str = "toe", *scales: float) -> WeldLine:
    """Stations of 100 MPa times a scale, opening under one case, tearing under the other."""
    size = np.array(scales or (1.0,))
    opening, tearing = (np.outer(size, [100.0 * (mode == at) for at in range(3)]) for mode in (0, 2))
    return WeldLine(name=name, position_mm=5.0 * np.arange(size.size), cases={"pull": opening, "twist": tearing})


def history(pull: list[float], twist: list[float], **more: Any) -> HistoryLoading:
    return HistoryLoading(channels={"pull": np.array(pull), "twist": np.array(twist)}, **more)


def decided(
    loading: Loading, allowed: float, share: float = 0.5, strength: Strength = PLAIN, **more: Any
) -> tuple[dict[int, Finding], tuple[Finding, ...]]:
    return deciding_definitions([line()], loading, [strength], {0: np.array([share])}, allowed=allowed, **more)


def used(loading: Loading, **more: Any) -> float:
    """What the worst of the other definitions uses of a hundredth of the damage of one cycle."""
    (found,) = decided(loading, 0.01 * ONCE, **more)[0].values()
    assert found.code == "cycle-definitions-decide"
    assert found.severity == "outside"
    assert found.line == "toe"
    return float(found.message.split(" use ")[1].split(" ")[0].replace(",", ""))


def test_the_path_counts_the_way_and_the_governing_mode_the_diagonal() -> None:
    """Governing: one cycle of both modes, the third power of the root of 2. Path: half cycles of two sides each."""
    assert used(history(*SQUARE, definition="independent")) == pytest.approx(800.0)
    assert used(history(*SQUARE, definition="path")) == pytest.approx(282.8, rel=2e-3)


@pytest.mark.parametrize(("margin", "found"), [(0.999, True), (1.001, False)])
def test_a_definition_that_uses_more_than_is_allowed_decides(margin: float, found: bool) -> None:
    loading = history(*SQUARE, definition="independent")
    assert bool(decided(loading, margin * 8.0 * ONCE)[0]) == found


def test_the_load_factor_acts_on_the_other_definitions() -> None:
    loading, allowed = history(*SQUARE, definition="independent"), 8.0 * 1.02**3 * ONCE
    assert not decided(loading, allowed)[0]
    assert not decided(loading, allowed, load_factor=1.01)[0]
    assert decided(loading, allowed, load_factor=1.03)[0]


@pytest.mark.parametrize(("share", "found"), [(0.00999, False), (0.01, True), (0.01005, True)])
def test_a_station_is_compared_from_a_hundredth_of_what_is_allowed(share: float, found: bool) -> None:
    assert bool(decided(history(*SQUARE, definition="independent"), 0.01 * ONCE, share)[0]) == found


@pytest.mark.parametrize(("part", "found"), [(0.999e-3, False), (1.005e-3, True), (0.1, True)])
def test_modes_are_out_of_phase_from_a_thousandth(part: float, found: bool) -> None:
    """One mode goes up and down, then the other by this part: the singular values are in that ratio."""
    loading = history([1.0, -1.0, 0.0, 0.0], [0.0, 0.0, part, -part], definition="independent")
    assert bool(decided(loading, 1e-3 * ONCE)[0]) == found
    shifted = history([6.0, 4.0, 5.0, 5.0], [8.0, 8.0, 8.0 + part, 8.0 - part], definition="independent")
    assert bool(decided(shifted, 1e-3 * ONCE)[0]) == found


def test_one_case_or_one_component_has_one_definition() -> None:
    alone = HistoryLoading(channels={"pull": np.array([0.0, 1.0, 0.0])}, definition="independent")
    assert decided(alone, 1e-3 * ONCE) == ({}, ())
    assert compare_cycle_definitions(line(), alone, PLAIN, 0, PLAIN.curve).findings == ()
    nominal = WeldLine(
        name="toe",
        basis="nominal",
        position_mm=np.zeros(1),
        cases={"pull": np.array([[100.0, 0.0]]), "twist": np.array([[0.0, 100.0]])},
    )
    both = InteractionStrength(normal_curve=through(100.0, 3.0), shear_curve=through(100.0, 5.0), rule="damage-sum")
    assert compare_cycle_definitions(nominal, history(*SQUARE), both, 0, both.normal_curve).findings == ()
    blocks = BlockLoading(
        blocks=(
            Block(
                factors={name: LoadState(maximum=1.0, minimum=0.0) for name in ("pull", "twist")},
                cycles=1.0,
            ),
        )
    )
    assert compare_cycle_definitions(line(), blocks, PLAIN, 0, PLAIN.curve).findings == ()


def test_definitions_are_compared_at_the_station_with_the_load_factor() -> None:
    loading = history(*SQUARE)
    plain, doubled, weak, strong = (
        {f.message for f in compare_cycle_definitions(one, loading, PLAIN, at, PLAIN.curve, **more).findings}
        for one, at, more in (
            (line("toe", 1.0, 2.0), 0, {}),
            (line("toe", 1.0, 2.0), 0, {"load_factor": 2.0}),
            (line("toe", 1.0, 2.0), 0, {"load_factor": 1.0}),
            (line("toe", 1.0, 2.0), 1, {}),
        )
    )
    assert plain == weak
    assert doubled == strong
    assert plain


# --- work


def test_the_most_used_stations_are_compared_first(monkeypatch: pytest.MonkeyPatch) -> None:
    """Four samples, forward and by the path, are 4 times 401: work for three stations of five."""
    loading = history(*SQUARE, definition="independent")
    lines = [line("one", 1.0, 1.0), line("two", 1.0, 1.0, 1.0)]
    shares = {0: np.array([0.3, 0.31]), 1: np.array([0.2, 0.4, 0.5])}

    def names(work: int) -> tuple[set[str | None], list[str]]:
        monkeypatch.setattr(cycle_definitions, "MOST_WORK", work)
        found, left = deciding_definitions(lines, loading, [PLAIN] * 2, shares, allowed=0.01 * ONCE)
        return {each.line for each in found.values()}, [each.message for each in left]

    assert names(5 * 4 * 401) == ({"one", "two"}, [])
    for work, compared, found in ((3 * 1604, 3, {"one", "two"}), (3 * 1604 - 1, 2, {"two"}), (1, 1, {"two"})):
        lines_found, (message,) = names(work)
        assert lines_found == found
        assert f"compared at {compared} of 5 stations" in message
        assert "that use 1 % or more of what is allowed" in message


def test_six_million_samples_are_the_work_of_a_comparison(monkeypatch: pytest.MonkeyPatch) -> None:
    """Samples that are too many for the path count once: 2000 of them at 3000 stations, and no more."""
    seen: list[int] = []
    monkeypatch.setattr(cycle_definitions, "MAX_PATH_POINTS", 3)
    monkeypatch.setattr(cycle_definitions, "_find_deciding", lambda *given: seen.append(1) or [])
    loading = history(500 * SQUARE[0], 500 * SQUARE[1], definition="independent")
    many = line("toe", *[1.0] * 3_001)
    deciding_definitions([many], loading, [PLAIN], {0: np.full(3_001, 0.5)}, allowed=ONCE)
    assert len(seen) == 3_000


def test_the_orders_of_four_blocks_are_sixteen_and_those_of_five_are_two(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each order has two states a block, and counts 401 times up to the samples that a path may have."""
    many = line("toe", 1.0, 1.0)
    for number, points, orders, samples, each in ((4, 8, 16, 8, 401), (4, 7, 16, 8, 1), (5, 10, 2, 10, 401)):
        monkeypatch.setattr(cycle_definitions, "MAX_PATH_POINTS", points)
        moves = [(1.0 + place, "pull" if place % 2 else "twist") for place in range(number)]
        blocks = tuple(Block(factors={name: LoadState(maximum=top, minimum=0.0)}, cycles=5.0) for top, name in moves)
        for spare, left in ((0, ()), (1, ("definitions-not-compared",))):
            monkeypatch.setattr(cycle_definitions, "MOST_WORK", 2 * orders * samples * each - spare)
            _, told = deciding_definitions(
                [many], BlockLoading(blocks=blocks), [PLAIN], {0: np.full(2, 0.5)}, allowed=1e3
            )
            assert tuple(finding.code for finding in told) == left


# --- the bound by which most stations need no comparison


@pytest.mark.parametrize(
    ("pull", "twist", "strength", "most"),
    [
        (*SQUARE, pair(100.0, 1e6), 32.0),  # half a cycle of the whole way, four sides: 0.5 times 4 to the third
        (*SQUARE, pair(1e6, 100.0), 512.0),  # to the fifth on the shear curve
        ([0.0, 3.0, 0.0], [0.0, 0.0, 4.0], pair(100.0, 1e6), 0.5 * 12.0**3),  # sides of 3, 5 and 4
        ([0.0, 3.0, 0.0], [0.0, 0.0, 2.0], pair(100.0, 1e6, weights=np.array([1.0, 1.0, 2.0])), 0.5 * 12.0**3),
        # in proportion to the range, one cycle of each mode is more than half a cycle of the way
        ([0.0, 1.0, 0.5], [0.0, 1.0, 0.6], replace(pair(100.0, 1e9), opening_curve=through(100.0, 1.0)), 2.0),
    ],
)
def test_half_a_cycle_of_the_whole_way_or_each_mode_by_itself_bounds_every_definition(
    monkeypatch: pytest.MonkeyPatch, pull: list[float], twist: list[float], strength: Strength, most: float
) -> None:
    """With a use of a half, what is allowed must exceed twice the bound for nothing to be compared."""
    seen: list[float] = []
    monkeypatch.setattr(cycle_definitions, "_find_deciding", lambda *given: seen.append(1.0) or [])
    for margin, compared in ((0.999, True), (1.001, False)):
        seen.clear()
        decided(history(pull, twist), margin * 2.0 * most * ONCE, 0.5, strength)
        assert bool(seen) == compared


@pytest.mark.parametrize(
    ("margin", "share", "compared"), [(0.999, 0.5, True), (1.001, 0.5, False), (0.5, 0.001, False)]
)
def test_a_station_is_compared_where_bound_and_use_together_exceed_one(
    monkeypatch: pytest.MonkeyPatch, margin: float, share: float, compared: bool
) -> None:
    """A way of 4 bounds at 32 cycles, which with a use of a half exceed one below an allowed damage of 64.

    Opposite sides as blocks may also be joined by both diagonals: half of the third power of that way is 56.3.
    """
    seen: list[float] = []
    monkeypatch.setattr(cycle_definitions, "_find_deciding", lambda *given: seen.append(1.0) or [])
    for loading, bound in ((history(*SQUARE), 32.0), (BlockLoading(blocks=_sides()), 0.5 * (2.0 + 8.0**0.5) ** 3)):
        seen.clear()
        decided(loading, margin * 2.0 * bound * ONCE, share, pair(100.0, 1e6))
        assert bool(seen) == compared
        decided(loading, 1e9, share, pair(100.0, 1e6, relieved=True))
        assert bool(seen) == (share >= 0.01)  # no bound holds in a relieved joint
    seen.clear()
    decided(history(*SQUARE, definition="independent"), 1e9, share, pair(100.0, 1e6))
    assert bool(seen) == (share >= 0.01)  # the bound is that of modes on their own and of the path


@pytest.mark.parametrize(
    ("slopes", "bounded"),
    [((0.999,), False), ((1.0,), True), ((1.005,), True), ((3.0, 0.9), False), ((3.0, 1.5), True)],
)
@pytest.mark.parametrize("shear", [False, True])
def test_a_curve_flatter_than_one_has_no_bound(
    monkeypatch: pytest.MonkeyPatch, slopes: tuple[float, ...], bounded: bool, shear: bool
) -> None:
    seen: list[float] = []
    monkeypatch.setattr(cycle_definitions, "_find_deciding", lambda *given: seen.append(1.0) or [])
    flat = {
        ("shear_curve" if shear else "opening_curve"): through(1e6, *slopes, knee_cycles=(1e7,) * (len(slopes) - 1))
    }
    decided(history(*SQUARE), 1e9, 0.5, replace(pair(100.0, 1e6), **flat))
    assert bool(seen) == (not bounded)


def test_stations_are_bounded_one_by_one_where_their_samples_fill_a_batch(monkeypatch: pytest.MonkeyPatch) -> None:
    loading, shares = history(*SQUARE), {0: np.full(3, 0.5)}
    three, strength = line("toe", 1.0, 0.5, 1.0), pair(100.0, 1e6)
    for size in (cycle_definitions.BATCH_VALUES, 1, 24):
        monkeypatch.setattr(cycle_definitions, "BATCH_VALUES", size)
        seen: list[int] = []
        monkeypatch.setattr(cycle_definitions, "_find_deciding", lambda *given, to=seen: to.append(1) or [])
        deciding_definitions([three], loading, [strength], shares, allowed=63.9 * ONCE)
        assert len(seen) == 2


def _sides() -> tuple[Block, Block]:
    """Two opposite sides of the square as blocks."""
    move, low, high = (LoadState(maximum=top, minimum=end) for top, end in ((0.0, 1.0), (0.0, 0.0), (1.0, 1.0)))
    one, other = ({"pull": move, "twist": at} for at in (low, high))
    return Block(factors=one, cycles=1.0), Block(factors=other, cycles=1.0)


# --- blocks


def test_under_blocks_all_cycles_but_those_of_the_sequence_stand_beside_it() -> None:
    """A thousand of the one mode, ten of the other: less one each, and the sequence by the path."""
    blocks = tuple(
        Block(factors={name: LoadState(maximum=1.0, minimum=0.0)}, cycles=number)
        for name, number in (("pull", 1000.0), ("twist", 10.0))
    )
    joined = BlockLoading(blocks=blocks)
    # 1 0 - 0 0 - 0 1 - 0 0: a way of 4, so that half cycles of 2 do 8 cycles' damage
    assert used(joined) == pytest.approx(100.0 * (999.0 + 9.0 + 8.0), rel=5e-3)
    assert decided(BlockLoading(blocks=blocks, transitions="in-entries"), 0.01 * ONCE) == ({}, ())
