"""What a check says of a line: each finding on both sides of its bound, with the figures in its words."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from fatcore.check import growth_part
from fatcore.check.complete import check_lines
from fatcore.check.findings import choices
from fatcore.check.findings import lines as remarks
from fatcore.check.findings.absent_components import absent_findings
from fatcore.check.findings.entries import entries_deciding
from fatcore.check.findings.line_ends import ends_findings
from fatcore.check.findings.sizes import of_cases, of_sizes
from fatcore.check.findings.validity import find_touched_stations, leaves_open, mode_finding
from fatcore.check.findings.yardstick import joined
from fatcore.check.line import WeldLine
from fatcore.check.loading import Block, BlockLoading, HistoryLoading, LoadState
from fatcore.check.path_location import path_location_findings
from fatcore.check.several import LineSettings, _path_of
from fatcore.check.strength.combination import interaction_of, out_of_step
from fatcore.check.strength.joined import group_lines
from fatcore.check.strength.judged import Judged
from fatcore.check.strength.making import _lowered
from fatcore.check.strength.resistance import Resistance, Target
from fatcore.check.strength.strength import InteractionStrength
from fatcore.check.strength.suitability import document_findings
from fatcore.check.verdict import _NO_EXCUSE, damage_verdict
from fatcore.curves.biaxiality import BOUND_DECIDES, NEAR_BOUND
from fatcore.curves.limits.limits_of_use import RANGE_BEYOND_YIELD
from fatcore.curves.not_applied import missing_partial_factor
from fatcore.curves.standards import catalogue
from fatcore.errors import InputError
from fatcore.figures import against, figure
from fatcore.findings import Finding, outside
from fatcore.stress.notch.fields import sliding_limit_angle_deg
from fatcore.stress.peak.elements import BELOW_SCATTER
from fatcore.stress.peak.peak_weights import peak_weights
from tests.core.test_check_bounds import plain_line, state_of
from tests.core.test_check_small_rules import STRENGTH
from tests.core.test_check_stations_by_hand import pair, plain, through

OPENING, SHEAR = (catalogue.find_curve(f"peak-stress-{mode}") for mode in ("opening", "shear"))
BOTH = InteractionStrength(normal_curve=through(100.0, 3.0), shear_curve=through(80.0, 5.0), rule="damage-sum")


def codes(found: Any) -> list[str]:
    return [each.code for each in found]


def blocks(*ends: tuple[float, float, float], transitions: Any = "added") -> BlockLoading:
    """Blocks of one case: maximum, minimum, cycles."""
    made = [Block(factors={"pull": LoadState(maximum=top, minimum=low)}, cycles=number) for top, low, number in ends]
    return BlockLoading(blocks=tuple(made), transitions=transitions)


def seam(name: str = "seam", **cases: Any) -> WeldLine:
    given = {case: np.array(rows, dtype=float) for case, rows in cases.items()}
    size = len(next(iter(given.values())))
    return WeldLine(name=name, basis="nominal", position_mm=5.0 * np.arange(size), cases=given)


# --- sizes


@pytest.mark.parametrize(
    ("equivalent", "component", "small"), [(0.99, 0.99, True), (1.0, 0.5, False), (0.5, 1.0, False), (0.0, 0.0, False)]
)
def test_a_line_is_small_where_no_range_reaches_one(equivalent: float, component: float, small: bool) -> None:
    sizes = {
        "equivalent_mpa": np.array([0.1, 1.0]) * equivalent,
        "range_mpa": np.array([[0.0, 0.2], [1.0, 0.0]]) * component,
    }
    state = state_of([0.5, 0.5], **sizes)
    assert codes(of_sizes(state, plain())) == (["ranges-too-small"] if small else [])


@pytest.mark.parametrize(
    ("ranges", "name"),
    [
        ([0.99, 20.0], "normal"),
        ([20.0, 0.99], "shear"),
        ([20.0, 1.0], None),
        ([20.0, 19e-9], None),
        ([20.0, 20.0 * 1e-9], None),
        ([20.0, 21e-9], "shear"),
    ],
)
def test_a_small_component_beside_a_large_one_is_named(ranges: list[float], name: str | None) -> None:
    state = state_of([0.5, 0.5], equivalent_mpa=np.array([20.0, 1.0]), range_mpa=np.array([[0.0, 0.0], ranges]))
    found = of_sizes(state, BOTH)
    assert [each.message.split(" stress:")[0] for each in found] == ([name] if name else [])
    assert of_sizes(state, plain()) == ()


@pytest.mark.parametrize(("factor", "small"), [(1.24, True), (1.26, False)])
def test_a_load_case_is_small_where_its_largest_range_on_any_line_is(factor: float, small: bool) -> None:
    """0.4 MPa a unit on the second line, from 1 to -1 in all blocks: 0.8 MPa times the load factor."""
    lines = [
        seam("a", pull=[[0.1, 0.0]], side=[[9.0, 0.0]]),
        seam("b", pull=[[0.1, 0.2], [0.1, -0.4]], side=[[0.0, 0.0]] * 2),
    ]
    states = [(1.0, 0.5), (-1.0, -0.5)]
    by_blocks = BlockLoading(
        blocks=tuple(
            Block(factors={name: LoadState(maximum=one, minimum=other) for name in ("pull", "side")}, cycles=1.0)
            for one, other in states
        )
    )
    by_history = HistoryLoading(channels={name: np.array([0.0, 1.0, -1.0, 0.5]) for name in ("pull", "side")})
    for loading in (by_blocks, by_history):
        found = of_cases(lines, loading, factor)
        assert codes(found) == (["load-case-small"] if small else [])
        if small:
            assert "load case pull" in found[0].message
            assert "0.992" in found[0].message
    assert of_cases([seam(pull=[[0.1, 0.0]])], blocks((1.0, 0.0, 1.0)), 1.0) == ()  # the largest is of the line


# --- components that are left out


@pytest.mark.parametrize(
    ("angle_deg", "expected"),
    [
        (135.0, [("tearing", "mode-in-no-case")]),
        (sliding_limit_angle_deg(), [("tearing", "mode-in-no-case")]),
        (sliding_limit_angle_deg() - 1e-9, [("sliding", "mode-absent"), ("tearing", "mode-absent")]),
        (0.0, [("sliding", "mode-absent"), ("tearing", "mode-absent")]),
        (None, [("normal_mpa", "mode-absent")]),
    ],
)
def test_modes_that_count_at_the_angle_are_missed(angle_deg: float | None, expected: list[tuple[str, str]]) -> None:
    given = (
        {"pull": {"opening"}, "side": {"opening"}}
        if angle_deg is not None
        else {"pull": {"shear_mpa"}, "side": {"normal_mpa", "shear_mpa"}}
    )
    found = absent_findings(given, angle_deg)
    assert [(each.message.split(" ")[0], each.code) for each in found] == expected


def test_a_component_that_another_case_gives_is_missed_with_the_names_of_the_cases() -> None:
    found = absent_findings({"b": {"opening"}, "a": {"opening"}, "c": {"opening", "sliding", "tearing"}}, 135.0)
    assert codes(found) == ["mode-absent", "mode-absent"]
    assert found[0].message == "tearing is not given and counts zero in the load case a, b"
    assert found[1].message.startswith("sliding is not given")
    assert absent_findings({"a": {"opening", "tearing"}}, 135.0) == ()
    assert codes(absent_findings({"a": {"normal_mpa"}})) == []
    assert codes(absent_findings({"a": set()})) == ["mode-in-no-case"]


# --- choices


def test_cases_without_a_load_are_listed() -> None:
    lines = [seam("a", pull=[[1.0, 0.0]], b=[[1.0, 0.0]]), seam("b", pull=[[1.0, 0.0]], a=[[1.0, 0.0]])]
    found = choices.of_loading(blocks((1.0, 0.0, 1.0)), lines, Target())
    assert codes(found) == ["case-not-loaded"]
    assert found[0].message.endswith(": a, b")
    assert choices.of_loading(blocks((1.0, 0.0, 1.0)), [seam(pull=[[1.0, 0.0]])], Target()) == ()


@pytest.mark.parametrize(
    ("residue", "repeats", "told"),
    [("half", 1.0, False), ("half", 1.001, True), ("half", 0.5, False), ("closed", 3.0, False)],
)
def test_half_cycles_of_a_record_are_doubtful_beyond_one_pass(residue: Any, repeats: float, told: bool) -> None:
    loading = HistoryLoading(channels={"pull": np.array([0.0, 1.0])}, residue=residue)
    found = choices.of_loading(loading, [seam(pull=[[1.0, 0.0]])], Target(repeats=repeats))
    assert codes(found) == ["counting", *(["residue-of-one-pass"] if told else [])]
    assert (joined(loading, repeats) is not None) == told
    assert joined(blocks((1.0, 0.0, 1.0)), repeats) is None
    if told:
        assert joined(loading, repeats) == replace(loading, residue="closed")


def test_blocks_say_how_they_follow_each_other_and_what_they_do_not_name() -> None:
    one = Block(factors={"pull": LoadState(maximum=1.0, minimum=0.0)}, cycles=1.0)
    two = Block(factors={"side": LoadState(maximum=1.0, minimum=0.0)}, cycles=1.0)
    lines = [seam(pull=[[1.0, 0.0]], side=[[1.0, 0.0]])]
    found = choices.of_loading(BlockLoading(blocks=(one, two)), lines, Target())
    assert codes(found) == ["transitions-added", "case-absent-in-block"]
    assert found[1].message.endswith(": pull, side")
    found = choices.of_loading(BlockLoading(blocks=(one, one), transitions="in-entries"), lines[:1], Target())
    assert codes(found) == ["case-not-loaded", "block-transitions"]


@pytest.mark.parametrize(("repeats", "told"), [(1.0, []), (0.999, ["less-than-one-pass"]), (2.0, [])])
def test_less_than_one_pass_is_doubtful(repeats: float, told: list[str]) -> None:
    assert codes(choices.of_target(Target(repeats=repeats))) == told


def test_a_single_pass_of_several_entries_is_asked_about() -> None:
    single, several = blocks((1.0, 0.0, 5.0)), blocks((1.0, 0.0, 5.0), (2.0, 0.0, 5.0))
    history = HistoryLoading(channels={"pull": np.array([0.0, 1.0])})
    assert [codes(choices.of_passes(Target(), each, 10.0)) for each in (single, several, history)] == [
        [],
        [choices.ONE_PASS],
        [choices.ONE_PASS],
    ]
    assert (
        "a single repeat of the loading, 1,234,567 cycles" in choices.of_passes(Target(), several, 1234567.0)[0].message
    )
    assert choices.of_passes(Target(repeats=1.001), several, 10.0) == ()
    assert choices.of_passes(Target(repeats=0.999), history, 10.0) == ()


@pytest.mark.parametrize(("moved", "told"), [({}, False), ({"lower": 0.04}, True), ({"upper": 0.6}, True)])
def test_either_bound_of_the_rule_may_be_moved(moved: dict[str, float], told: bool) -> None:
    resistance = Resistance(rule="biaxiality", curve=OPENING, shear_curve=SHEAR, **moved)  # type: ignore[arg-type]
    assert codes(choices.of_rule(resistance, "peak-stress")) == (["bounds-moved"] if told else [])
    lowered = choices.of_rule(resistance, "peak-stress", lowered=True)
    assert codes(lowered) == ([choices.BOUNDS_LOWER] if told else [])
    assert choices.of_rule(resistance, "nominal", lowered=True) == ()


def test_curves_in_each_others_places_are_named() -> None:
    turned = Resistance(rule="biaxiality", curve=SHEAR, shear_curve=OPENING)
    assert codes(choices.of_rule(turned, "peak-stress")) == [choices.SHEAR_FOR_OPENING, "opening-curve-for-shear"]
    twice = Resistance(rule="biaxiality", curve=OPENING, shear_curve=OPENING)
    assert codes(choices.of_rule(twice, "peak-stress")) == ["opening-curve-for-shear"]
    for curve, more in ((OPENING, []), (SHEAR, [choices.SHEAR_FOR_OPENING])):
        fixed = Resistance(rule="fixed", curve=curve)
        assert codes(choices.of_rule(fixed, "peak-stress")) == ["biaxiality-not-used", *more]


# --- ends


@pytest.mark.parametrize(
    ("symmetric", "governing", "which"),
    [
        ((), 1, "first"),
        ((), 3, "last"),
        ((), 2, None),
        (("start",), 1, None),
        (("start",), 3, "last"),
        (("end",), 3, None),
    ],
)
def test_the_largest_stress_may_lie_beyond_an_end_that_is_one(
    symmetric: tuple[Any, ...], governing: int, which: str | None
) -> None:
    state = state_of([0.1, 0.5, 0.5, 0.5, 0.1], [False, True, True, True, False])
    found = ends_findings(plain_line(5, exclude_ends_mm=1.0, symmetric_ends=symmetric), state, governing)
    texts = [each.message for each in found if each.code == "governing-at-end"]
    assert [f"is the {which} judged one" in text for text in texts] == ([True] if which else [])


def test_the_worst_station_left_out_is_named_with_its_place() -> None:
    state = state_of([1.2, 1.4567, 0.5, 0.6, 0.4], [False, False, True, True, True])
    (left, over) = ends_findings(plain_line(5, exclude_ends_mm=7.0), state, 3)
    assert left.message.startswith("2 stations within 7 mm of the line ends")
    assert "utilisation 1.46 at 5 mm, and no exclude_ends_reason" in over.message
    reasoned = plain_line(5, exclude_ends_mm=7.0, exclude_ends_reason="judged by a solid model")
    (left, over) = ends_findings(reasoned, state, 3)
    assert left.message.endswith("; reason: judged by a solid model")
    assert over.code == "unjudged-over-limit-with-reason"


def test_stations_judged_are_counted_and_the_more_used_one_is_told() -> None:
    state = state_of([0.75, 0.5, 0.25, 0.7], [False, True, False, False])
    few, more = ends_findings(plain_line(4, exclude_ends_mm=1.0), state, 2)[1:]
    assert few.message == "only 1 of 4 stations are judged"
    assert "is used more (0.75) than the governing one (0.5)" in more.message


# --- lines


@pytest.mark.parametrize(
    ("severer", "code"),
    [
        ([0.5049, 0.4], None),
        ([0.5051, 0.4], NEAR_BOUND),
        ([0.505, 0.8], NEAR_BOUND),
        ([0.505, 1.0], NEAR_BOUND),
        ([0.505, 1.0 + 1e-8], BOUND_DECIDES),
        ([0.5, 0.4, 2.0], None),
    ],
)
def test_the_severer_curve_is_told_where_it_would_govern_by_a_hundredth(severer: list[float], code: str | None) -> None:
    """Two judged stations of 0.5 and 0.4, perhaps a third that is not judged."""
    used = [0.5, 0.4, 0.1][: len(severer)]
    state = state_of(used, [True, True, False][: len(severer)], severer_utilisation=np.array(severer))
    found = remarks._near_bound(state, pair(ratio_band=(0.87654, 1.1412)), 0.5)
    assert codes(found) == ([code] if code else [])
    if found:
        worst = int(np.argmax(severer))
        text = f"station {worst} has a utilisation of {against(severer[worst], 1.0)} in place of {figure(used[worst])}"
        assert text in found[0].message
        assert "0.877 to 1.14 times" in found[0].message
        assert "0.05 and 0.5" in found[0].message


@pytest.mark.parametrize(
    ("used", "severer", "governing", "code"),
    [
        (0.5, 0.5 * (1.0 + 1e-9), 0.4, None),  # the same but for rounding
        (0.4, 1.01 * 0.5, 0.5, None),
        (0.99, 1.0 + 1e-9, 1.0, None),
        (0.5, 1.0 + 1e-9, 0.5, NEAR_BOUND),
    ],
)
def test_what_rounding_may_make_of_the_severer_curve_is_not_told(
    used: float, severer: float, governing: float, code: str | None
) -> None:
    state = state_of([used], severer_utilisation=np.array([severer]))
    found = remarks._near_bound(state, pair(ratio_band=(0.8, 1.25)), governing)
    assert codes(found) == ([code] if code else [])


def test_the_share_of_the_shear_curve_is_told_in_per_cent() -> None:
    (found,) = remarks._divide(pair(), 0.25)
    assert "25 % of the damage comes from own" in found.message


@pytest.mark.parametrize(
    ("ratios", "judged", "told"),
    [([-1.5, 0.0], [True, True], True), ([-1.5, 0.0], [False, True], False), ([np.inf, 0.0], [True, True], True)],
)
def test_a_load_ratio_left_at_a_judged_station_is_told(ratios: list[float], judged: list[bool], told: bool) -> None:
    state = state_of([0.5, 0.5], judged, load_ratio=np.array(ratios), outside_ratio=np.array([True, False]))
    found = remarks._load_ratio(state)
    assert bool(found) == told
    assert all(np.isfinite(each.value) for each in found if each.value is not None)


def cycles_of(*cycles: tuple[float, float, float]) -> Judged:
    """Cycles of one station: range, biaxiality ratio, number."""
    ranges, ratio, count = np.array(cycles).T
    return Judged(
        equivalent_mpa=ranges[np.newaxis], ratio=ratio[np.newaxis], second_mpa=0.0 * ranges[np.newaxis], count=count
    )


@pytest.mark.parametrize(
    ("cycles", "parts"),
    [
        ([(100.0, 0.0, 1.0), (90.0, np.inf, 1e6), (10.0, 0.2, 1.0)], {"biaxiality-above"}),
        (
            [(100.0, 0.0, 1e3), (90.0, np.inf, 1e3), (10.0, 0.2, 1.0)],
            {"biaxiality-below", "biaxiality-above", "biaxiality-divided"},
        ),
        ([(40.0, np.inf, 1.0), (30.0, 0.0, 1e6)], {"biaxiality-above"}),
        ([(40.0, np.inf, 1.0), *5 * [(30.0, 0.0, 1e6)]], {"biaxiality-above"}),
        ([(30.0, np.inf, 1e6), (40.0, 0.0, 1.0)], {"biaxiality-below"}),
        ([(40.0, 0.05, 1.0)], {"biaxiality-between"}),
        ([(40.0, 0.5, 1.0)], {"biaxiality-between"}),
        ([(0.0, np.inf, 1.0)], set()),
    ],
)
def test_the_parts_of_the_rule_that_do_damage_are_told_or_that_of_the_largest_cycle(
    cycles: list[tuple[float, float, float]], parts: set[str]
) -> None:
    """Both curves have a cut-off of 50 MPa, below which nothing does damage."""
    assert set(codes(remarks._rule(STRENGTH, cycles_of(*cycles)))) == parts


def test_the_largest_partial_factor_that_is_missing_is_told() -> None:
    """The factor itself is that of the curve's document; what was applied of it is taken off."""
    curve = catalogue.find_curve("en-1993-1-9-2005-normal-71")
    whole = missing_partial_factor(curve, (), 1.0)
    assert whole is not None
    for applied, words in ((1.0, ""), (1.1, ", of which 1.1 was applied")):
        resistance, target = Resistance(rule="fixed", curve=curve), Target(resistance_factor=applied)
        (told,) = remarks._with_partial_factor(resistance, target, 0.5, 0.6)
        left = whole / applied
        assert f"with its largest, {figure(whole)}{words}, the utilisation is {figure(left * 0.6)}" in told.message
        assert told.severity == "caution"
        (decides,) = remarks._with_partial_factor(resistance, target, 0.9, 1.001 / left)
        assert decides.severity == "outside"
        (keeps,) = remarks._with_partial_factor(resistance, target, 0.9, 0.999 / left)
        assert keeps.severity == "caution"
        (over,) = remarks._with_partial_factor(resistance, target, 1.0 + 1e-9, 1.2)
        assert over.severity == "caution"
        (limit,) = remarks._with_partial_factor(resistance, target, 1.0, 1.2)
        assert limit.severity == "outside"
    (just,) = remarks._with_partial_factor(Resistance(rule="fixed", curve=curve), Target(), 0.9, 1.0 / whole)
    assert whole * (1.0 / whole) == 1.0
    assert just.severity == "caution"
    own = Resistance(rule="fixed", curve=through(100.0, 3.0))
    assert remarks._with_partial_factor(own, Target(), 0.9, 0.99) == []


# --- which stations a finding touches


@pytest.mark.parametrize(
    ("used", "opens"), [([0.5, 0.6], True), ([0.4999, 0.6], False), ([0.5049, 0.6], True), ([0.0, 0.6], False)]
)
def test_a_doubtful_station_leaves_the_line_open_from_half_use(used: list[float], opens: bool) -> None:
    state = state_of(used, shares=np.array([[0.5, 0.5, 0.0], [1.0, 0.0, 0.0]]))
    finding = outside("x", "x", field="sliding")
    assert leaves_open([finding], state, 1) == opens
    assert leaves_open([finding], state, 0)
    assert not leaves_open([replace(finding, severity="caution")], state, 0)
    left_out = state_of(used, [False, True], shares=state.shares)
    assert not leaves_open([finding], left_out, 1)
    relieving = replace(finding, code=BELOW_SCATTER)
    assert leaves_open([relieving], state, 1)
    assert not leaves_open([relieving], left_out, 1)


@pytest.mark.parametrize(("share", "touched"), [(1e-6, False), (1.005e-6, True), (1e-3, True)])
def test_a_constant_that_relieves_touches_beyond_rounding(share: float, touched: bool) -> None:
    state = state_of([0.5], shares=np.array([[1.0 - share, share, 0.0]]))
    assert find_touched_stations([outside(BELOW_SCATTER, "x", field="sliding")], state).tolist() == [touched]


def test_what_is_too_small_touches_where_the_limit_is_kept() -> None:
    state = state_of([0.2, 1.0, 1.0 + 1e-9])
    assert find_touched_stations([outside(RANGE_BEYOND_YIELD, "x", field="x")], state).tolist() == [True, True, False]
    assert find_touched_stations([outside("x", "x", field="x")], state).tolist() == [True] * 3
    assert find_touched_stations([], state).tolist() == [False] * 3
    ratio = state_of([0.5, 0.5], outside_ratio=np.array([False, True]))
    assert find_touched_stations([outside("x", "x", field="load_ratio")], ratio).tolist() == [False, True]


def test_a_finding_on_a_mode_says_what_the_mode_carries() -> None:
    finding = outside("x", "x", field="sliding")
    state = state_of([0.6, 0.25, 0.375, 0.9], [True, True, True, False], shares=np.zeros((4, 3)))
    state.shares[:, 1] = [0.0034, 0.2, 0.3, 0.4]
    told = mode_finding(finding, state, 0)
    assert told.count == 2
    text = "x (this mode carries 0.34 % at the governing station, but counts at 2 other judged stations"
    assert told.message == f"{text}, which use up to 37.5 % of what is allowed)"
    assert mode_finding(finding, state, 1).count == 2
    state.shares[1:, 1] = 0.0
    minor = mode_finding(finding, state, 0)
    assert (minor.code, minor.severity) == ("x-minor-mode", "caution")
    assert minor.message == "x (this mode carries 0.34 % at the governing station)"
    for other in (replace(finding, severity="note"), outside("x", "x", field="cases")):
        assert mode_finding(other, state, 0) == other


# --- entries that are no complete count


def entries(allowed: float, *ends: tuple[float, float, float], judged: bool = True, **more: Any) -> list[Finding]:
    loading = blocks(*ends, transitions="in-entries")
    found = entries_deciding(
        [seam(pull=[[100.0, 0.0]])],
        loading,
        [plain()],
        {0: np.array([0.123456])},
        {0: np.array([judged])},
        allowed=allowed / 2e6,
        **more,
    )
    return list(found.values())


APART = ((1.0, 0.9, 1.0), (-1.0, -1.1, 1.0))  # from 1 to -1.1: 9.261 cycles' damage of 100 MPa, and 0.002 of their own


@pytest.mark.parametrize(("allowed", "told"), [(9.2629, True), (9.2631, False)])
def test_entries_without_their_largest_cycle_decide_where_it_uses_up_what_is_allowed(
    allowed: float, told: bool
) -> None:
    assert codes(entries(allowed, *APART)) == (["entries-without-largest-cycle"] if told else [])
    assert not entries(allowed, *APART, judged=False)
    assert not entries(allowed, *APART, load_factor=0.99)
    assert entries(allowed, *APART, load_factor=1.01)


def test_the_use_with_and_without_the_cycles_between_is_told() -> None:
    (found,) = entries(5.0, *APART)
    assert "less than 0.5 of a cycle" in found.message
    assert "of station 0" in found.message
    assert found.message.endswith("1.85 of what is allowed is used, without 0.123")
    assert found.line == "seam"


def test_the_most_used_judged_station_is_named() -> None:
    loading = blocks(*APART, transitions="in-entries")
    lines, share = [seam(pull=[[90.0, 0.0], [100.0, 0.0], [95.0, 0.0]])], {0: np.array([0.1, 0.2, 0.3])}
    for judged, named in (([True, True, True], "1 of"), ([True, False, True], "2 of"), ([True, False, False], "0 of")):
        (found,) = entries_deciding(lines, loading, [plain()], share, {0: np.array(judged)}, allowed=1.0 / 2e6).values()
        assert f"of station {named.split()[0]}, as in a count" in found.message


@pytest.mark.parametrize(
    ("entry", "whole"),
    [
        ((1.0, -1.0, 0.5), True),
        ((1.0, -1.0, 0.499), False),
        ((1.0, -0.9, 0.5), True),  # 0.95 of the whole range of 2
        ((1.0, -0.89, 0.5), False),
        ((1.0, -0.905, 0.5), True),
    ],
)
def test_half_a_cycle_of_nearly_the_whole_range_makes_a_count(entry: tuple[float, float, float], whole: bool) -> None:
    found = entries(1e-3, entry, (0.0, -1.0, 1.0))
    assert bool(found) == (not whole)


def test_blocks_that_are_joined_or_alone_are_no_count() -> None:
    lines, share, judged = [seam(pull=[[100.0, 0.0]])], {0: np.zeros(1)}, {0: np.ones(1, dtype=bool)}
    for loading in (blocks(*APART), blocks(APART[0], transitions="in-entries")):
        assert entries_deciding(lines, loading, [plain()], share, judged, allowed=1e-9) == {}


# --- normal and shear stress in step


def test_stresses_out_of_step_by_the_ratio_of_their_singular_values() -> None:
    """Normal stress up and down, then shear by a quarter of it; in the second line both at once."""
    channels = {"pull": np.array([1.0, -1.0, 0.0, 0.0]), "side": np.array([0.0, 0.0, 1.0, -1.0])}
    apart = seam(pull=[[40.0, 0.0], [40.0, 0.0]], side=[[0.0, 4.0], [0.0, 10.0]])
    assert out_of_step(apart, HistoryLoading(channels=channels)) == pytest.approx(0.25)
    together = seam(pull=[[40.0, 10.0]], side=[[8.0, 2.0]])
    assert out_of_step(together, HistoryLoading(channels=channels)) == pytest.approx(0.0, abs=1e-7)
    still = seam(pull=[[0.0, 0.0]], side=[[0.0, 0.0]])
    assert out_of_step(still, HistoryLoading(channels=channels)) == 0.0
    move = LoadState(maximum=1.0, minimum=-1.0)
    by_blocks = BlockLoading(
        blocks=(Block(factors={"pull": move}, cycles=1.0), Block(factors={"side": move}, cycles=1.0))
    )
    assert out_of_step(apart, by_blocks) == pytest.approx(0.25)


# --- place of a depth path


@pytest.mark.parametrize(
    ("basis", "span", "code"),
    [
        ("nominal", 1.0, None),
        ("nominal", -1.0, "path-not-of-station"),
        ("peak-stress", -1.0, "path-not-of-station"),
        ("nominal", 0.1, "path-not-of-station"),
        ("nominal", 100.0, "path-perhaps-not-of-station"),
        ("peak-stress", 100.0, "path-perhaps-not-of-station"),
    ],
)
def test_a_path_cycles_as_the_station_opens(basis: str, span: float, code: str | None) -> None:
    opening = np.array([0.0, 80.0, 20.0])
    found = path_location_findings(span * opening, opening, basis)
    assert codes(found) == ([code] if code else [])
    if found:
        assert f"cycles by {figure(80.0 * abs(span))} MPa" in found[0].message
        assert "by 80 MPa" in found[0].message
        assert (" against it" in found[0].message) == (span < 0.0)


@pytest.mark.parametrize(
    ("basis", "surface", "code"),
    [
        ("peak-stress", 48.0, None),  # 0.6 of the 80 MPa of the station
        ("peak-stress", 47.9, "path-perhaps-not-of-station"),
        ("peak-stress", 36.0, "path-perhaps-not-of-station"),  # three quarters of that
        ("peak-stress", 35.9, "path-not-of-station"),
        ("peak-stress", 104.0, None),
        ("peak-stress", 104.2, "path-perhaps-not-of-station"),
        ("nominal", 61.6, None),  # 80 over 1.3 is 61.5
        ("nominal", 61.2, "path-perhaps-not-of-station"),
        ("nominal", 46.2, "path-perhaps-not-of-station"),
        ("nominal", 46.1, "path-not-of-station"),
        ("nominal", 399.0, None),
        ("nominal", 401.0, "path-perhaps-not-of-station"),
    ],
)
def test_the_surface_of_a_path_lies_within_a_band_of_the_station(basis: str, surface: float, code: str | None) -> None:
    opening = np.array([0.0, 80.0])
    found = path_location_findings(surface / 80.0 * opening, opening, basis)
    assert codes(found) == ([code] if code else [])


def test_a_path_that_is_neither_with_nor_against_the_station_is_not_against_it() -> None:
    assert path_location_findings(np.array([40.0, -40.0, 0.0]), np.array([80.0, 80.0, 0.0]), "nominal") == []


def test_one_block_has_none_to_join() -> None:
    assert not blocks((1.0, 0.0, 1.0)).joined
    assert blocks((1.0, 0.0, 1.0), (2.0, 0.0, 1.0)).joined
    assert not blocks((1.0, 0.0, 1.0), (2.0, 0.0, 1.0), transitions="in-entries").joined


def test_a_reason_needs_a_length_that_is_left_out() -> None:
    with pytest.raises(InputError, match="no exclude_ends_mm"):
        plain_line(4, exclude_ends_reason="judged by a solid model")
    assert plain_line(4, exclude_ends_mm=1e-3, exclude_ends_reason="judged by a solid model").name == "seam"


def test_a_path_of_an_error_is_of_the_line_among_all() -> None:
    used = LineSettings(
        resistance=Resistance(rule="fixed", curve=through(100.0, 3.0)), curves_path=("lines", 7, "curves")
    )
    assert _path_of(("lines", 1, "cases"), [4, 7], used) == ("lines", 7, "cases")
    assert _path_of(("lines",), [4, 7], used) == ("lines",)
    assert _path_of(("curves", "curve"), [4, 7], used) == ("lines", 7, "curves", "curve")
    assert _path_of(("target",), [4, 7], used) == ("target",)


def test_what_of_the_target_does_not_act_on_growth_is_named() -> None:
    assert growth_part._factors_left_out(Target(repeats=3.0, load_factor=1.5, damage_limit=0.5)) == []
    for given, name in (
        ({"survival_probability": 0.9}, "survival probability of"),
        ({"resistance_factor": 1.2}, "resistance factor of"),
        ({"design_fatigue_factor": 2.0}, "design fatigue factor of"),
    ):
        (found,) = growth_part._factors_left_out(Target(**given))  # type: ignore[arg-type]
        assert found.message.startswith(name)


# --- curves and weights that judge together


def test_documents_of_two_curves_are_mixed_where_they_differ() -> None:
    iiw = [catalogue.find_curve(f"iiw-2016-{name}") for name in ("normal-steel-71", "shear-steel-80")]
    en = catalogue.find_curve("en-1993-1-9-2005-normal-71")
    assert document_findings(iiw) == ()
    assert document_findings([en, through(100.0, 3.0)]) == ()
    assert codes(document_findings([en, iiw[1]])) == ["documents-mixed"]


def test_a_form_is_that_of_every_document_of_the_curves() -> None:
    curves = [catalogue.find_curve(name) for name in ("en-1993-1-9-2005-normal-71", "iiw-2016-shear-steel-80")]
    for form in ("damage-sum", "quadratic-non-proportional"):
        _, found = interaction_of(plain_line(2), None, curves, form)  # type: ignore[arg-type]
        assert codes(found) == ["interaction-of-other-document"]


def test_shear_stress_at_one_station_of_one_case_needs_its_curve() -> None:
    line = seam(pull=[[1.0, 0.0], [1.0, 5.0]], side=[[1.0, 0.0], [1.0, 0.0]])
    with pytest.raises(InputError, match="name a shear curve"):
        check_lines([line], blocks((1.0, 0.0, 1.0)), Resistance(rule="fixed", curve=through(100.0, 3.0)), Target())


@pytest.mark.parametrize(("upper", "taken"), [(0.3, True), (0.299, False)])
def test_the_bounds_of_the_rule_may_be_one(upper: float, taken: bool) -> None:
    if taken:
        assert Resistance(rule="biaxiality", curve=OPENING, shear_curve=SHEAR, lower=0.3, upper=upper).upper == 0.3
        return
    with pytest.raises(InputError, match="lower must lie"):
        Resistance(rule="biaxiality", curve=OPENING, shear_curve=SHEAR, lower=0.3, upper=upper)


def test_every_overload_at_once_excuses_none() -> None:
    found = [outside(code, "x", field="x") for code in sorted(_NO_EXCUSE)]
    assert damage_verdict(1.1, 1.0, found) == "fail"


@pytest.mark.parametrize(
    ("given", "own", "told"),
    [
        (0.031, 0.0, True),
        (0.0299, 0.0, False),
        (0.1, 0.1, False),
        (0.1, 0.09, True),
        (0.1, 0.02, True),
        (-0.5, 0.0, False),
    ],
)
def test_reliefs_together_may_be_three_per_cent_or_what_a_constant_of_ones_own_takes(
    given: float, own: float, told: bool
) -> None:
    """Shares that are taken off the opening weight; the tearing one stays, the sliding one is none."""
    usual = peak_weights(opening_angle_deg=135.0, element="quad4", element_size_mm=1.0, notch_size_mm=5.0)
    weights = [replace(usual, opening=usual.opening * (1.0 - share)) for share in (given, own)]
    found = _lowered(weights[0], usual, weights[1])
    assert codes(found) == (["weights-lowered"] if told else [])
    if told:
        assert f"by {figure(100.0 * given)} % against the published ones, more than 3 %" in found[0].message


def test_lines_of_one_kind_go_together_unless_they_are_to_be_apart() -> None:
    units = {place: np.ones((2, 2, 1)) for place in (3, 5)}
    strengths = dict.fromkeys(units, plain())
    assert [sorted(group.parts) for group in group_lines(units, strengths, together=True)] == [[3, 5]]
    assert [sorted(group.parts) for group in group_lines(units, strengths, together=False)] == [[3], [5]]
