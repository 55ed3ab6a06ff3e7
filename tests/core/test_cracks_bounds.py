"""Bounds of growth laws, fracture, loading and inspection, each at its value and on both sides of it."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any, get_args

import numpy as np
import pytest

from fatcore.cracks.configurations import sharing
from fatcore.cracks.configurations.function_crack import _of_family
from fatcore.cracks.configurations.plates import SurfaceCrack
from fatcore.cracks.configurations.straight import CentreCrack
from fatcore.cracks.configurations.stress_field import Stress, path_findings
from fatcore.cracks.driving import law_findings, mixed_mode
from fatcore.cracks.driving.law import GrowthLaw, Stage, Threshold
from fatcore.cracks.driving.law_sets import named_threshold, threshold_names
from fatcore.cracks.driving.load_blocks import Retardation, block_loading
from fatcore.cracks.driving.load_ratio import LoadRatioEffect
from fatcore.cracks.fracture import assessment
from fatcore.cracks.fracture.assessment import Line, Strength, assess_fracture, assessment_line, collapse_limit
from fatcore.cracks.growth import _life_findings as growth_findings
from fatcore.cracks.growth.end_criteria import EndCriteria
from fatcore.cracks.growth.inspection import plan_inspections
from fatcore.cracks.growth.life import grow
from fatcore.cracks.intensity.families import FAMILIES
from fatcore.cracks.scatter import monte_carlo
from fatcore.cracks.scatter._inputs import spread_findings
from fatcore.cracks.scatter.random_variables import Distribution
from fatcore.errors import InputError, NotCoveredError

UP, DOWN = 1.0 + 1e-9, 1.0 - 1e-9
STEEL = Strength(yield_strength_mpa=400.0, ultimate_strength_mpa=600.0, toughness_mpa_sqrt_mm=2000.0)
SIDES = [DOWN, 1.0, UP]


def codes(found: Any) -> set[str]:
    return {each.code for each in found}


def own(**threshold: Any) -> GrowthLaw:
    return GrowthLaw(low=(Stage(coefficient=1e-12, exponent=3.0),), threshold=Threshold(**threshold))


@pytest.mark.parametrize(
    ("ratio", "expected"), [(0.4, 70.0), (0.5, 70.0), (0.5 + 1e-9, 150.0 - 0.5 * 80.0), (1.0, 80.0)]
)
def test_a_threshold_keeps_its_lower_value_up_to_the_load_ratio(ratio: float, expected: float) -> None:
    threshold = Threshold(
        intercept_mpa_sqrt_mm=150.0,
        drop=80.0,
        floor_mpa_sqrt_mm=80.0,
        below_load_ratio=0.5,
        below_mpa_sqrt_mm=70.0,
    )
    assert float(threshold.range_mpa_sqrt_mm(ratio)) == pytest.approx(expected, rel=1e-8)


@pytest.mark.parametrize("name", ["intercept_mpa_sqrt_mm", "floor_mpa_sqrt_mm", "below_mpa_sqrt_mm"])
def test_any_level_makes_a_threshold(name: str) -> None:
    assert Threshold().is_zero
    assert Threshold(**{name: 0.0}).is_zero
    assert not Threshold(**{name: 1e-6}).is_zero
    if name != "below_mpa_sqrt_mm":
        with pytest.raises(InputError):
            Threshold(**{name: -1e-6})


@pytest.mark.parametrize("name", ["coefficient", "exponent"])
@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_a_stage_has_positive_constants(name: str, bad: float) -> None:
    with pytest.raises(InputError) as caught:
        Stage(**{"coefficient": 1e-12, "exponent": 3.0, name: bad})
    assert caught.value.path == (name,)


def test_one_or_two_stages_and_the_high_ones_from_their_load_ratio_on() -> None:
    one, two, three = (Stage(coefficient=c, exponent=m) for c, m in ((1e-12, 3.0), (2e-12, 3.0), (1e-11, 2.0)))
    for stages in ((), (one, three, two)):
        with pytest.raises(InputError):
            GrowthLaw(low=stages)
    with pytest.raises(InputError):
        GrowthLaw(low=(one, two))
    law = GrowthLaw(low=(one,), high=(two,), high_from_load_ratio=0.5)
    for ratio, factor in ((0.5 - 1e-6, 1.0), (0.5, 2.0), (0.5 + 1e-6, 2.0)):
        rates = law.rate_mm_per_cycle([100.0, 100.0], [ratio, 0.0])
        assert rates == pytest.approx([factor * 1e-6, 1e-6])
        assert law.stages(ratio) == ((one,) if factor == 1.0 else (two,))


def test_a_crack_runs_where_the_divisor_is_used_up_and_only_if_it_grows() -> None:
    effect = LoadRatioEffect(kind="forman", toughness_mpa_sqrt_mm=100.0)
    law = GrowthLaw(
        low=(Stage(coefficient=1e-12, exponent=3.0),),
        effect=effect,
        threshold=Threshold(intercept_mpa_sqrt_mm=1.0),
    )
    below, at, beyond, none = law.rate_mm_per_cycle([99.0, 100.0, 101.0, 0.0], 0.0)
    assert 0.0 < below < math.inf
    assert (at, beyond, none) == (math.inf, math.inf, 0.0)


@pytest.mark.parametrize(
    ("exponent", "reported"), [(0.999, 1), (1.0, 0), (1.001, 0), (9.999, 0), (10.0, 0), (10.001, 1)]
)
def test_exponents_of_metals_are_one_to_ten(exponent: float, reported: int) -> None:
    law = GrowthLaw(low=(Stage(coefficient=1e-12, exponent=exponent),))
    assert len(list(law_findings._exponents(law))) == reported


@pytest.mark.parametrize(("value", "reported"), [(0.0, 0), (0.5, 1), (1.0 - 1e-6, 1), (1.0, 0), (1.0 + 1e-6, 0)])
def test_a_threshold_below_all_published_ones_is_doubted(value: float, reported: int) -> None:
    published = [
        float(named_threshold(name).range_mpa_sqrt_mm(ratio)) for name in threshold_names() for ratio in (0, 1)
    ]
    low, high = min(each for each in published if each > 0.0), max(published)
    assert len(list(law_findings._threshold(own(intercept_mpa_sqrt_mm=low * value)))) == reported
    if value > 0.9:
        above = own(intercept_mpa_sqrt_mm=high * (2.0 - value))
        assert len(list(law_findings._threshold(above))) == reported


def test_the_rate_of_own_constants_is_doubted_beyond_three_times_the_published_ones() -> None:
    (slowest, steel), fastest = law_findings._published_limits("steel"), law_findings._published_limits("aluminium")[1]
    assert slowest < steel < fastest
    for rate, found in (
        (slowest / 3.0 * 0.999, {"law-rate-implausible"}),
        (slowest / 3.0 * 1.001, {"law-rate"}),
        (steel * 3.0 * 0.999, {"law-rate"}),
        (steel * 3.0 * 1.001, {"law-rate", "law-rate-of-aluminium"}),
        (fastest * 3.0 * 0.999, {"law-rate", "law-rate-of-aluminium"}),
        (fastest * 3.0 * 1.001, {"law-rate-implausible"}),
    ):
        law = GrowthLaw(low=(Stage(coefficient=rate / 500.0**3, exponent=3.0),))
        assert codes(law_findings.size_doubts(law)) == found


@pytest.mark.parametrize("line", get_args(Line))
def test_the_assessment_line_at_zero_at_yield_and_at_its_end(line: Any) -> None:
    end = collapse_limit(STEEL)
    assert end == pytest.approx(1.25)  # mean of yield and tensile strength over yield
    start, at_end, beyond = assessment_line([0.0, end, end * UP], STEEL, line)
    assert start == pytest.approx(1.0, abs=1e-12)
    assert at_end > 0.0
    assert beyond == 0.0
    before, at_yield, after = assessment_line([DOWN, 1.0, UP], STEEL, line)
    if line == "plateau":
        assert at_yield == pytest.approx(after, rel=1e-6)
        assert at_yield < 0.9 * before
    else:
        assert at_yield == pytest.approx(before, rel=1e-6)
    with pytest.raises(InputError):
        assessment_line(-1e-9, STEEL, line)


@pytest.mark.parametrize("k_share", SIDES)
def test_a_state_on_the_line_is_acceptable(k_share: float) -> None:
    found = assess_fracture(2000.0 * k_share, 0.0, STEEL)
    assert found.acceptable.tolist() == [k_share <= 1.0]


def test_strengths_may_be_equal_and_not_fall() -> None:
    same = {"yield_strength_mpa": 400.0, "toughness_mpa_sqrt_mm": 2000.0}
    assert Strength(**same, ultimate_strength_mpa=400.0).ultimate_strength_mpa == 400.0
    with pytest.raises(InputError) as caught:
        Strength(**same, ultimate_strength_mpa=400.0 * DOWN)
    assert caught.value.path == ("ultimate_strength_mpa",)


@pytest.mark.parametrize(("secondary", "named"), [(None, 0), (0.0, 0), (1.0, 1)])
def test_the_source_of_secondary_stress_is_named_when_it_acts(secondary: float | None, named: int) -> None:
    found = assess_fracture(100.0, 100.0, STEEL, k_secondary_mpa_sqrt_mm=secondary)
    assert ("jcss-pmc-3" in found.sources) == bool(named)


def test_the_interaction_ends_at_four_and_above_its_load_ratio() -> None:
    """[jcss-pmc-3] chi = Ks Lr / Kp up to 4; none from Lr = 1.05."""
    assert math.isfinite(assessment.interaction_term(0.5, 1.0, 8.0))
    with pytest.raises(NotCoveredError):
        assessment.interaction_term(0.5, 1.0, 8.0 * UP)
    assert assessment.interaction_term([1.05, 1.2], 1.0, 8.0).tolist() == [0.0, 0.0]
    assert assessment.interaction_term(0.5, 0.0, 8.0) == 0.0


def test_a_block_may_stand_still_but_not_fall() -> None:
    assert block_loading([1.0], [1.0], [10.0]).maximum[0] == 1.0
    with pytest.raises(InputError) as caught:
        block_loading([1.0, 1.0], [0.0, UP], [10.0, 10.0])
    assert caught.value.path == ("maximum", 1)


def test_retardation_takes_an_exponent_from_nothing_and_a_ratio_above_one() -> None:
    assert Retardation(model="wheeler", yield_strength_mpa=400.0, exponent=0.0).exponent == 0.0
    general = {"model": "willenborg", "yield_strength_mpa": 400.0, "threshold_mpa_sqrt_mm": 0.0}
    assert Retardation(**general, shut_off_ratio=UP).shut_off_ratio == UP  # type: ignore[arg-type]
    for bad in ({"exponent": -1e-9}, {"shut_off_ratio": 1.0}, {"shut_off_ratio": DOWN}):
        with pytest.raises(InputError) as caught:
            Retardation(**general | {"model": "wheeler" if "exponent" in bad else "willenborg"} | bad)  # type: ignore[arg-type]
        assert caught.value.path == tuple(bad)


@pytest.mark.parametrize(("quantile", "count", "reported"), [(0.01, 1000, 0), (0.01, 999, 1), (0.99, 999, 1)])
def test_a_quantile_wants_ten_samples_beyond_it(quantile: float, count: int, reported: int) -> None:
    found = codes(monte_carlo._findings(np.array([0.5, quantile]), count, np.array([1.0])))
    assert ("few-samples-in-tail" in found) == bool(reported)
    assert "first-size-beyond-end" not in found
    assert "first-size-beyond-end" in codes(monte_carlo._findings(np.array([0.5]), 100, np.array([0.0, 1.0])))


@pytest.mark.parametrize("scale", SIDES)
def test_a_scattered_threshold_above_that_of_welds_is_doubted_as_welded(scale: float) -> None:
    columns = {"threshold_mpa_sqrt_mm": np.full(3, 63.0 * scale)}
    assert ("high-threshold" in codes(monte_carlo._constant_findings(columns, "as-welded"))) == (scale > 1.0)
    assert monte_carlo._constant_findings(columns, "stress-relieved") == []


@pytest.mark.parametrize("scale", SIDES)
def test_a_deep_crack_between_rigid_grips_is_doubted(scale: float) -> None:
    model = sharing.Sharing(length_mm=100.0, grips="rigid")
    section: Any = SimpleNamespace(width_mm=20.0)
    found = codes(sharing.sharing_findings(model, section, [0.1, 0.6 * scale]))
    assert ("rigid-grips-deep-crack" in found) == (scale > 1.0)


@pytest.mark.parametrize("opening", [-1.0, 0.0, 1.0])
def test_a_crack_is_open_when_its_mode_is_positive(opening: float) -> None:
    found = mixed_mode.find_direction(opening, 0.5)
    assert bool(found.open) == (opening > 0.0)
    assert ("crack-closed" in codes(found.findings)) == (opening <= 0.0)


@pytest.mark.parametrize(
    ("last", "code"),
    [(10.0 * DOWN, None), (10.0, None), (10.0 * UP, None), (9.9, "path-shorter"), (10.1, "path-beyond")],
)
def test_a_path_spans_the_wall_but_for_rounding(last: float, code: str | None) -> None:
    found = codes(path_findings(Stress(distance_mm=(0.0, last), stress_mpa=(100.0, 0.0)), 10.0, 5.0))
    assert found == ({f"{code}-than-wall" if code == "path-shorter" else f"{code}-wall"} if code else set())


@pytest.mark.parametrize(
    ("dist", "where"),
    [
        ((0.0, 10.0), None),
        ((0.0,), "distance_mm"),
        ((1.0, 10.0), "distance_mm"),
        ((0.0, 5.0, 5.0), "distance_mm"),
    ],
)
def test_a_path_starts_at_the_surface_and_goes_down(dist: tuple[float, ...], where: str | None) -> None:
    given = {"distance_mm": dist, "stress_mpa": (100.0,) * len(dist)}
    if where is None:
        assert Stress(**given).distance_mm == dist  # type: ignore[arg-type]
        return
    with pytest.raises(InputError) as caught:
        Stress(**given)  # type: ignore[arg-type]
    assert caught.value.path[0] == where


@pytest.mark.parametrize("raised", SIDES)
def test_a_raise_after_going_through_is_reported_when_there_is_one(raised: float) -> None:
    found = growth_findings._of_break_through(raised)
    assert ("through-crack-raised" in codes(found)) == (raised > 1.0)


HISTORY: dict[str, Any] = {
    "elapsed_cycles": [0.0, 1e5, 2e5],
    "crack_size_mm": [1.0, 2.0, 4.0],
    "detectable_mm": 2.0,
}


@pytest.mark.parametrize(
    ("changes", "where"),
    [
        ({}, None),
        ({"inspections": 1}, None),
        ({"inspections": 100}, None),
        ({"inspections": 0}, "inspections"),
        ({"inspections": 101}, "inspections"),
        ({"detectable_mm": 4.0 * DOWN}, None),
        ({"detectable_mm": 4.0}, "detectable_mm"),
        ({"elapsed_cycles": [0.0, 0.0, 2e5]}, None),
        ({"elapsed_cycles": [-1.0, 0.0, 2e5]}, "elapsed_cycles"),
        ({"elapsed_cycles": [0.0, 2e5, 1e5]}, "elapsed_cycles"),
        ({"elapsed_cycles": [0.0, 1e5, 1e5]}, "detectable_mm"),
        ({"crack_size_mm": [1.0, 1.0, 4.0]}, None),
        ({"crack_size_mm": [4.0, 4.0, 4.0]}, "crack_size_mm"),
        ({"elapsed_cycles": [0.0], "crack_size_mm": [1.0]}, "elapsed_cycles"),
    ],
)
def test_a_history_of_inspection_neither_falls_nor_stands_still(changes: dict[str, Any], where: str | None) -> None:
    given = {**HISTORY, "inspections": 2, **changes}
    if "elapsed_cycles" in changes and where == "detectable_mm":
        given["detectable_mm"] = 2.0
    if where is None:
        found = plan_inspections(**given)
        assert found.interval_cycles > 0.0
        return
    with pytest.raises(InputError) as caught:
        plan_inspections(**given)
    assert caught.value.path[0] == where


@pytest.mark.parametrize("name", FAMILIES)
def test_a_family_of_two_lengths_says_that_one_stays(name: str) -> None:
    """The second length of a surface, corner or embedded crack; the rest are sizes of the body."""
    two = ["surface", "surface-at-toe", "surface-at-detail", "embedded", "embedded-infinite"]
    two.append("tube-axial-surface")
    expected = {**dict.fromkeys(two, "half_length_mm"), "corner": "surface_length_mm"}.get(name)
    found = [each for each in _of_family(FAMILIES[name], np.array([1.0])) if each.code == "one-size-grows"]
    assert [f"alone: {expected} stays" in each.message for each in found] == [True] * (expected is not None)


@pytest.mark.parametrize("threshold", [0.0, 63.0])
def test_cycles_under_compression_are_not_left_out_by_a_threshold_that_is_none(threshold: float) -> None:
    """A cycle that never opens the crack does not grow it; only a threshold leaves out cycles that would."""
    found = codes(
        grow(
            crack=SurfaceCrack(depth_mm=0.5, half_length_mm=1.0, thickness_mm=10.0),
            stress=Stress(membrane_mpa=150.0),
            law=own(intercept_mpa_sqrt_mm=threshold),
            loading=block_loading([1.0, -1.0], [0.0, -2.0], [10.0, 10.0], transitions="in-entries"),
            condition="stress-relieved",
        ).findings
    )
    assert ("small-cycles-left-out" in found) == (threshold > 0.0)
    assert ("threshold-of-long-cracks" in found) == (threshold > 0.0)


@pytest.mark.parametrize(("yield_mpa", "reported"), [(100.0, True), (400.0, False)])
def test_a_crack_at_its_end_from_the_start_did_not_go_through(yield_mpa: float, reported: bool) -> None:
    """Half of the plate is left under 110 MPa: 220 MPa in the ligament."""
    found = codes(
        grow(
            crack=CentreCrack(half_length_mm=12.5, width_mm=50.0, thickness_mm=10.0),
            stress=Stress(membrane_mpa=110.0),
            law=own(),
            loading=block_loading([1.0], [0.0], [10.0]),
            end=EndCriteria(yield_strength_mpa=yield_mpa),
        ).findings
    )
    assert ("ended-at-start" in found) == reported
    assert "ended-at-break-through" not in found


@pytest.mark.parametrize(
    ("spread", "reported"),
    [
        ({"kind": "normal", "mean": 1.0, "variation": 0.3}, False),
        ({"kind": "normal", "mean": 1.0, "variation": 0.3 * UP}, True),
        ({"kind": "lognormal", "mean": 1.0, "variation": 0.5}, False),
        ({"kind": "fixed", "mean": 1.0}, False),
    ],
)
def test_a_wide_normal_variable_is_said_to_be_cut(spread: dict[str, Any], reported: bool) -> None:
    found = codes(spread_findings({"stress_factor": Distribution(**spread)}, Stress(membrane_mpa=100.0)))
    assert ("normal-variable-cut" in found) == reported


def reserve(k_mpa_sqrt_mm: float) -> float | None:
    return assess_fracture([k_mpa_sqrt_mm], [0.0], strength=STEEL).reserve_factor[0]


def test_a_load_that_no_factor_brings_onto_the_line_is_refused() -> None:
    assert reserve(1e-30) == pytest.approx(2000.0 / 1e-30)
    for tiny in (1e-58, 5e-324):
        with pytest.raises(InputError) as caught:
            reserve(tiny)
        assert caught.value.path == ("k_primary_mpa_sqrt_mm",)
