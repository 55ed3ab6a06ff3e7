"""The bounds of a check, each at its value and on both sides of it."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any

import numpy as np
import pytest

from fatcore.check import growth_part
from fatcore.check.findings import lines as remarks
from fatcore.check.findings.choices import SHEAR_FOR_OPENING
from fatcore.check.findings.line_ends import UNJUDGED_OVER_LIMIT, ends_findings
from fatcore.check.findings.validity import find_touched_stations, mode_finding
from fatcore.check.line import MODES, WeldLine, select_judged_stations
from fatcore.check.loading import HistoryLoading
from fatcore.check.stations import SHARE_THAT_COUNTS, LineState
from fatcore.check.strength import combination
from fatcore.check.strength.judged import Judged
from fatcore.check.strength.resistance import Resistance, Target
from fatcore.check.strength.strength import PeakStrength
from fatcore.check.verdict import line_verdict
from fatcore.curves.biaxiality import default_bounds, rule_findings
from fatcore.curves.limits.limits_of_use import NOTICEABLE
from fatcore.curves.standards import catalogue
from fatcore.errors import InputError
from fatcore.findings import Finding, outside
from fatcore.spectrum.multiaxial.superposition import PROPORTIONAL_LIMIT
from fatcore.stress.mean_stress import LOAD_RATIO_LIMIT
from tests.core.test_check_lines import checked, constant, line

UP, DOWN = 1.0 + 1e-9, 1.0 - 1e-9


def state_of(utilisation: list[float], judged: list[bool] | None = None, **more: Any) -> LineState:
    """Stations of these utilisations, nothing else on them."""
    size = len(utilisation)
    plain = {each.name: np.zeros(size) for each in fields(LineState)}
    plain |= {"utilisation": np.array(utilisation), "shares": np.zeros((size, 3))}
    plain |= {"judged": np.array(judged or [True] * size), "outside_ratio": np.zeros(size, dtype=bool)}
    return LineState(**{**plain, **more})  # type: ignore[arg-type]


def plain_line(size: int, **more: Any) -> WeldLine:
    cases = {"pull": np.ones((size, 2))}
    return WeldLine(name="seam", basis="nominal", position_mm=5.0 * np.arange(size), cases=cases, **more)


def codes(found: list[Finding]) -> set[str]:
    return {each.code for each in found}


@pytest.mark.parametrize(
    ("size", "judged", "few"),
    [
        (4, 3, False),
        (4, 2, True),
        (5, 3, False),
        (12, 6, False),
        (12, 5, True),
        (13, 6, True),
        (13, 7, False),
    ],
)
def test_fewer_than_three_or_half_of_the_stations_are_few(size: int, judged: int, few: int) -> None:
    kept = [True] * judged + [False] * (size - judged)
    found = ends_findings(plain_line(size, exclude_ends_mm=1.0), state_of([0.5] * size, kept), 1)
    few_of_all = "most-not-judged" if judged < size / 2 else "few-judged"
    assert codes(found) & {"most-not-judged", "few-judged"} == ({few_of_all} if few else set())
    assert "ends-not-judged" in codes(found)


@pytest.mark.parametrize(
    ("left_out", "code"),
    [
        (0.5 * DOWN, None),
        (0.5, None),
        (0.5 * UP, "unjudged-used-more"),
        (1.0, "unjudged-used-more"),
        (UP, UNJUDGED_OVER_LIMIT),
    ],
)
def test_a_station_left_out_is_told_when_it_is_used_more_or_over_the_limit(left_out: float, code: str | None) -> None:
    state = state_of([left_out, 0.4, 0.5, 0.4], [False, True, True, True])
    found = codes(ends_findings(plain_line(4, exclude_ends_mm=1.0), state, 2))
    assert found - {"ends-not-judged"} == ({code} if code else set())


@pytest.mark.parametrize(
    ("size", "governing", "told"), [(1, 0, 0), (2, 0, 1), (2, 1, 1), (3, 1, 0), (3, 0, 1), (3, 2, 1)]
)
def test_the_first_or_last_of_several_stations_is_an_edge(size: int, governing: int, told: int) -> None:
    found = ends_findings(plain_line(size), state_of([0.5] * size), governing)
    assert codes(found) == ({"governing-at-end"} if told else set())


@pytest.mark.parametrize("left_out_mm", [0.0, 1e-9])
def test_a_loop_says_that_it_has_no_ends_only_when_some_are_left_out(left_out_mm: float) -> None:
    found = ends_findings(plain_line(4, closed=True, exclude_ends_mm=left_out_mm), state_of([0.5] * 4), 0)
    assert codes(found) == ({"loop-without-ends"} if left_out_mm else set())


@pytest.mark.parametrize(
    ("left_out_mm", "judged"), [(0.0, 5), (4.999, 3), (5.0, 3), (5.001, 1), (10.0, 1), (10.001, 0)]
)
def test_a_station_at_the_excluded_distance_is_judged(left_out_mm: float, judged: int) -> None:
    """Stations at 0, 5, 10, 15, 20 mm."""
    if judged:
        assert select_judged_stations(plain_line(5, exclude_ends_mm=left_out_mm)).sum() == judged
        return
    with pytest.raises(InputError):
        select_judged_stations(plain_line(5, exclude_ends_mm=left_out_mm))


@pytest.mark.parametrize("reason", [False, True])
@pytest.mark.parametrize("judged", [False, True])
@pytest.mark.parametrize("touched", [False, True])
@pytest.mark.parametrize("used", [DOWN, 1.0, UP])
def test_verdict_of_a_line_by_its_rule(reason: bool, judged: bool, touched: bool, used: float) -> None:
    """Two stations; the second is judged, free of doubt and half used, the first is one of each kind."""
    found = line_verdict(
        np.array([used, 0.5]),
        np.array([judged, True]),
        np.array([touched, False]),
        left_open=judged and touched,
        reasoned=reason,
    )
    over = used > 1.0
    if judged:
        expected = "undecided" if touched else ("fail" if over else "pass")
    else:
        expected = "undecided" if over and not reason else "pass"
    assert found == expected


@pytest.mark.parametrize(
    ("share", "used", "touched"),
    [(UP, DOWN, True), (1.0, DOWN, True), (UP, 1.0, True), (DOWN, DOWN, False), (UP, UP, False)],
)
def test_short_lives_are_doubtful_where_the_limit_is_kept_all_the_same(
    share: float, used: float, touched: bool
) -> None:
    finding = outside("x", "x", field="life_cycles")
    state = state_of([used], short_share=np.array([share * NOTICEABLE]))
    assert find_touched_stations([finding], state).tolist() == [touched]


def test_a_mode_touches_the_stations_where_more_than_the_share_counts() -> None:
    shares = np.zeros((3, 3))
    for mode, name in enumerate(MODES):
        shares[:, :] = 0.0
        shares[:, mode] = SHARE_THAT_COUNTS * np.array([DOWN, 1.0, UP])
        state = state_of([0.5] * 3, shares=shares)
        finding = outside("x", "x", field=name)
        assert find_touched_stations([finding], state).tolist() == [False, False, True]
        assert mode_finding(finding, state, 0).severity == "outside"
        assert "counts at 1 other" in mode_finding(finding, state, 1).message
        assert mode_finding(finding, state, 2).message == "x"
        little = state_of([0.5] * 3, [True, True, False], shares=shares)
        assert mode_finding(finding, little, 1).severity == "caution"


def test_a_shear_curve_for_opening_touches_up_to_the_upper_bound() -> None:
    state = state_of([0.5] * 3, ratio=default_bounds()[1] * np.array([DOWN, 1.0, UP]))
    finding = outside(SHEAR_FOR_OPENING, "x", field="curve")
    assert find_touched_stations([finding], state).tolist() == [True, True, False]


@pytest.mark.parametrize("share", [PROPORTIONAL_LIMIT * DOWN, PROPORTIONAL_LIMIT, PROPORTIONAL_LIMIT * UP])
def test_loading_is_proportional_up_to_the_limit(monkeypatch: pytest.MonkeyPatch, share: float) -> None:
    monkeypatch.setattr(combination, "out_of_step", lambda line, loading: share)
    curves = [catalogue.find_curve(f"iiw-2016-{name}") for name in ("normal-steel-71", "shear-steel-80")]
    loading = HistoryLoading(channels={"pull": [0.0, 1.0]})
    found, _ = combination.interaction_of(plain_line(2), loading, curves, None)
    apart = share > PROPORTIONAL_LIMIT
    for named, expected in (
        ("quadratic-proportional", {"loading-not-proportional"} if apart else set()),
        ("quadratic-non-proportional", set()),
        ("damage-sum", {"interaction-of-other-document"}),
    ):
        form, told = combination.interaction_of(plain_line(2), loading, curves, named)  # type: ignore[arg-type]
        assert (form, codes(list(told))) == (named, expected)
    assert found == ("quadratic-non-proportional" if apart else "quadratic-proportional")


@pytest.mark.parametrize("scale", [DOWN, 1.0, UP])
def test_shape_of_paths_and_shear_are_told_beyond_their_limits(scale: float) -> None:
    shape = codes(growth_part._findings(growth_part.SHAPE_LIMIT * scale, 0.0))
    shear = codes(growth_part._findings(0.0, growth_part.SHEAR_GOVERNS * scale))
    assert ("paths-of-several-shapes" in shape, "shear-governs-growth" in shape) == (scale > 1.0, False)
    assert ("paths-of-several-shapes" in shear, "shear-governs-growth" in shear) == (False, scale > 1.0)


@pytest.mark.parametrize("surface", [-2.0, -1e-9, 0.0, 1e-9, 2.0])
def test_the_shape_of_a_path_is_tension_at_the_surface_and_one_at_its_largest(surface: float) -> None:
    for states in ([1.0], [1.0, -2.0], [-2.0, 1.0]):
        stress = np.outer(states, [surface, 4.0, -8.0])
        shape, factors, ratio = growth_part._dominant(stress)
        assert np.abs(shape).max() == pytest.approx(1.0)
        assert shape[0] >= 0.0 or surface == 0.0
        assert np.outer(factors, shape) == pytest.approx(stress)
        assert ratio == pytest.approx(0.0, abs=1e-12)
    assert growth_part._dominant(np.array([[1.0, 0.0], [0.0, 0.25]]))[2] == pytest.approx(0.25)
    assert np.abs(growth_part._dominant(1e-9 * stress)[1]) == pytest.approx(1e-9 * np.abs(factors), rel=1e-9)
    with pytest.raises(InputError):
        growth_part._dominant(0.0 * stress)


PAIR = Resistance(
    rule="biaxiality",
    curve=catalogue.find_curve("peak-stress-opening"),
    shear_curve=catalogue.find_curve("peak-stress-shear"),
)


def pair_strength() -> PeakStrength:
    assert PAIR.shear_curve is not None
    return PeakStrength(
        weights=np.ones(3),
        opening_curve=PAIR.curve,
        shear_curve=PAIR.shear_curve,
        lower=PAIR.lower,
        upper=PAIR.upper,
        relieved=False,
    )


@pytest.mark.parametrize("share", [SHARE_THAT_COUNTS, 1.0 - SHARE_THAT_COUNTS])
@pytest.mark.parametrize("miss", [-1e-9, 0.0, 1e-9])
def test_damage_is_divided_where_both_curves_have_a_share_that_counts(share: float, miss: float) -> None:
    inside = miss > 0.0 if share < 0.5 else miss < 0.0
    assert bool(remarks._divide(pair_strength(), share + miss)) == inside


@pytest.mark.parametrize(
    ("ratio", "curves"),
    [
        (PAIR.lower * DOWN, (0,)),
        (PAIR.lower, (0, 1)),
        (PAIR.upper, (0, 1)),
        (PAIR.upper * UP, (1,)),
    ],
)
def test_a_ratio_on_a_bound_is_judged_by_both_curves(ratio: float, curves: tuple[int, ...]) -> None:
    """The damage is the larger one of both, by either curve looked up alone."""
    strength, size = pair_strength(), np.array([[120.0]])
    alone = [float(each.damage_per_cycle(120.0)) for each in strength.curves]
    judged = Judged(equivalent_mpa=size, ratio=np.full((1, 1), ratio), second_mpa=0.0 * size, count=np.array([3.0]))
    damage, index = strength.damage(judged)
    assert damage[0] == pytest.approx(3.0 * max(alone[each] for each in curves), rel=1e-12)
    assert index[0] == max(curves, key=lambda each: alone[each])
    used = strength.utilisation(judged, damage, damage.item())
    assert used == pytest.approx(1.0, rel=1e-9)


@pytest.mark.parametrize("miss", [-1e-9, 0.0, 1e-9])
def test_a_load_ratio_at_the_low_end_of_the_published_range_decides(miss: float) -> None:
    assert LOAD_RATIO_LIMIT.low is not None
    ends = constant(pull=(1.0, LOAD_RATIO_LIMIT.low + miss))
    outcome = checked(line([10.0, 0.0, 0.0]), ends, condition="stress-relieved", resistance=PAIR)
    found = {each.code for each in outcome.findings if each.field == "load_ratio"}
    assert bool(found) == (miss < 0.0)
    assert (outcome.verdict == "undecided") == (miss < 0.0)


@pytest.mark.parametrize("bound", [PAIR.lower, PAIR.upper])
@pytest.mark.parametrize(("share", "kept"), [(0.006, True), (0.004, False)])
def test_the_part_between_the_bounds_holds_both_and_is_told_from_a_hundredth_on(
    bound: float, share: float, kept: bool
) -> None:
    """One cycle on a bound and one between do their shares of the damage, one of pure shear the rest."""
    strength = pair_strength()
    stress, ratio = np.full((1, 3), 120.0), np.array([[bound, 0.5 * (PAIR.lower + PAIR.upper), 1e3]])
    none = np.zeros((1, 3))
    plain = Judged(equivalent_mpa=stress, ratio=ratio, second_mpa=none, count=np.ones(3))
    count = np.array([share, share, 1.0 - 2.0 * share]) / strength.parts(plain)[0][0]
    found = remarks._rule(strength, replace(plain, count=count))
    held = [0, 1, 2] if kept else [2]
    expected = rule_findings(
        stress[0][held],
        ratio[0][held],
        opening_curve=strength.opening_curve,
        shear_curve=strength.shear_curve,
        lower=PAIR.lower,
        upper=PAIR.upper,
    )
    told = [each for each in found if each.code != "biaxiality-divided"]
    assert [each.message for each in told] == [each.message for each in expected]


@pytest.mark.parametrize("repeats", [1.0, 8.0])
@pytest.mark.parametrize("limit", [1.0, 0.125])
@pytest.mark.parametrize("cycles", [1e5, 4e5])
def test_numbers_of_the_governing_point_belong_together(repeats: float, limit: float, cycles: float) -> None:
    """Damage of a pass from the curve looked up alone; the rest follows from it by hand."""
    ends = line([[60.0, 0.0, 0.0], [80.0, 0.0, 0.0], [10.0, 0.0, 0.0], [90.0, 0.0, 0.0]], exclude_ends_mm=1.0)
    target = Target(repeats=repeats, damage_limit=limit)
    outcome = checked(ends, constant(cycles, pull=(1.0, 0.0)), target, resistance=PAIR)
    once = cycles * float(PAIR.curve.damage_per_cycle(outcome.equivalent_stress_mpa))
    ninety = cycles * float(PAIR.curve.damage_per_cycle(outcome.equivalent_stress_mpa * 90.0 / 80.0))
    share = (repeats * once / limit) ** (1.0 / 3.0)  # one slope
    assert outcome.lines[0].governing_index == 1
    assert outcome.damage == pytest.approx(repeats * once)
    assert outcome.life_repeats == pytest.approx(limit / once)
    assert outcome.life_cycles == pytest.approx(cycles * limit / once)
    assert outcome.utilisation == pytest.approx(share, rel=1e-8)
    assert outcome.factor_to_limit == pytest.approx(1.0 / share, rel=1e-8)
    assert outcome.allowable_stress_mpa == pytest.approx(outcome.equivalent_stress_mpa / share, rel=1e-8)
    (found,) = outcome.lines
    assert found.largest_unjudged_utilisation == pytest.approx(share * 90.0 / 80.0, rel=1e-8)
    assert found.largest_unjudged_damage == pytest.approx(repeats * ninety)
    assert found.governing_utilisation == outcome.utilisation
    assert found.allowable_stress_mpa == outcome.allowable_stress_mpa


def test_lower_bound_may_not_lie_above_the_upper() -> None:
    with pytest.raises(InputError):
        replace(PAIR, lower=0.5, upper=0.4)
    assert replace(PAIR, lower=0.3, upper=0.4).upper == 0.4
