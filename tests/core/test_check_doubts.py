"""What a check must say or refuse to decide: unsuitable curves, mixed cycles, limits, exact limits, knees."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy.optimize import brentq

from fatcore.check.complete import CheckOutcome
from fatcore.check.line import Material, Mesh, Notch
from fatcore.check.loading import Block, BlockLoading, HistoryLoading, LoadState
from fatcore.check.strength.resistance import Resistance, Target
from fatcore.curves.corrections.partial_factors import partial_factor
from fatcore.curves.curve import Curve
from fatcore.curves.standards import catalogue
from fatcore.errors import InputError, UnknownError
from fatcore.stress.materials import control_radius_of
from fatcore.stress.peak.peak_weights import peak_weights
from tests.core.test_check_lines import PAIR, checked, constant, fixed, line, nominal


def codes(outcome: CheckOutcome) -> set[str]:
    return {finding.code for finding in outcome.findings}


def blocks(*entries: tuple[float, float, float]) -> BlockLoading:
    """Blocks of one case: max, min, cycles."""
    return BlockLoading(
        blocks=tuple(
            Block(factors={"pull": LoadState(maximum=top, minimum=bottom)}, cycles=cycles)
            for top, bottom, cycles in entries
        )
    )


def one(curve_id: str, **more: Any) -> Resistance:
    return Resistance(rule="fixed", curve=catalogue.find_curve(curve_id, **more))


PARTIAL_1 = partial_factor("en-1993-1-9-2005", "damage-tolerant", "low-consequence")


@pytest.mark.parametrize("category", [36, 40, 45, 50, 56, 63, 71, 80, 90, 100, 112, 125])
def test_exactly_at_the_limit_passes(category: int) -> None:
    """A category's own range at 2e6 cycles uses the limit up exactly; rounding must not decide."""
    resistance = replace(one(f"en-1993-1-9-2005-normal-{category}"), corrections=(PARTIAL_1,))
    outcome = checked(nominal(category, 0.0), constant(2e6, bump=(1.0, 0.0)), resistance=resistance)
    assert outcome.utilisation == 1.0
    assert outcome.verdict == "pass"
    above = checked(nominal(category * (1 + 1e-8), 0.0), constant(2e6, bump=(1.0, 0.0)), resistance=resistance)
    assert above.verdict == "fail"


def test_pure_shear_beside_normal_stress_has_no_allowable_normal_range() -> None:
    outcome = checked(nominal(0.0, 64.0), constant(2e6, bump=(1.0, 0.0)), resistance=fixed("damage-sum"))
    assert outcome.utilisation == pytest.approx(0.8, rel=1e-9)
    assert outcome.equivalent_stress_mpa == 0.0
    assert outcome.allowable_stress_mpa is None


def test_largest_normal_range_is_shown_though_another_cycle_has_more_shear() -> None:
    cases = {"a": [[55.0, 0.0]], "b": [[50.0, 60.0]]}
    end = line(cases, basis="nominal", notch=None, mesh=None)
    states = [{name: LoadState(maximum=1.0, minimum=0.0)} for name in cases]
    loading = BlockLoading(blocks=tuple(Block(factors=state, cycles=1e5) for state in states))
    assert checked(end, loading, resistance=fixed("damage-sum")).equivalent_stress_mpa == 55.0


def test_quadratic_form_says_what_damage_and_life_are() -> None:
    outcome = checked(nominal(56.0, 64.0), constant(2e6, bump=(1.0, 0.0)), resistance=fixed("quadratic-proportional"))
    assert outcome.damage < 1.0
    assert outcome.utilisation > 1.0
    assert outcome.verdict == "undecided"  # the document of these curves has another form
    assert "interaction-of-other-document" in codes(outcome)
    (told,) = [finding for finding in outcome.findings if finding.code == "interaction"]
    assert "decides by the utilisation alone" in told.message


def test_quadratic_form_under_blocks_combines_equivalent_ranges() -> None:
    """Constant ranges of the same damage on slopes 3 and 5, over 71 and 80 MPa at the same cycles."""
    sizes, counts = np.array([100.0, 80.0]), np.array([2e5, 4e5])
    end = line({"pull": [[1.0, 0.9]]}, basis="nominal", notch=None, mesh=None)
    loading = blocks(*((size, 0.0, count) for size, count in zip(sizes, counts, strict=True)))
    outcome = checked(end, loading, resistance=fixed("quadratic-proportional"))
    normal = (np.sum(counts * sizes**3) / 2e6) ** (1 / 3) / 71.0
    shear = (np.sum(counts * (0.9 * sizes) ** 5) / 2e6) ** (1 / 5) / 80.0
    # both cycles lie above the knee at the factor that just passes, so the first slopes hold
    assert outcome.utilisation == pytest.approx(math.hypot(normal, shear), rel=1e-9)


@pytest.mark.parametrize(
    ("basis", "curve", "doubt"),
    [
        ("nominal", "en-1993-1-9-2005-normal-71", None),
        ("nominal", "peak-stress-opening", "outside"),
        ("nominal", "en-1993-1-9-2005-shear-100", "outside"),
        ("structural", "en-1993-1-9-2005-normal-71", "caution"),
        ("effective-notch", "en-1993-1-9-2005-normal-71", "outside"),
        ("peak-stress", "en-1993-1-9-2005-normal-71", "outside"),
        ("peak-stress", "peak-stress-opening", None),
    ],
)
def test_curves_of_another_stress(basis: str, curve: str, doubt: str | None) -> None:
    toe = line([20.0, 0.0, 0.0]) if basis == "peak-stress" else replace(nominal(20.0, 0.0), basis=basis)  # type: ignore[arg-type]
    case = "pull" if basis == "peak-stress" else "bump"
    outcome = checked(toe, constant(**{case: (1.0, 0.0)}), resistance=one(curve))
    codes = ("curve-of-other-stress", "nominal-curve-on-structural-stress")
    found = [f.severity for f in outcome.findings if f.code in codes]
    assert found == ([doubt] if doubt else [])
    assert (outcome.verdict == "undecided") == (doubt == "outside")


def test_own_curves_fit_any_stress() -> None:
    own = Resistance(
        rule="fixed",
        curve=Curve.from_point(
            id="own", source="peak-stress-review-2020", stress_kind="own", range_mpa=71.0, slopes=[3]
        ),
    )
    assert "curve-of-other-stress" not in codes(checked(line([20.0, 0, 0]), constant(pull=(1, 0)), resistance=own))


@pytest.mark.parametrize(
    ("name", "radius_mm", "verdict"),
    [("structural-steel", None, "pass"), ("plain steel", 0.28, "pass"), ("aluminium-alloy", None, "undecided")],
)
def test_steel_curves_decide_nothing_for_aluminium(name: str, radius_mm: float | None, verdict: str) -> None:
    material = Material(name=name, control_radius_mm=radius_mm)
    outcome = checked(line([20.0, 0, 0]), constant(pull=(1.0, 0.0)), material=material)
    assert outcome.verdict == verdict
    assert ("curve-of-other-material" in codes(outcome)) == (verdict == "undecided")


def test_a_material_without_radius_has_the_published_one_of_its_name() -> None:
    given = {name: control_radius_of(name) for name in ("structural-steel", "aluminium-alloy")}
    assert given["aluminium-alloy"] != given["structural-steel"]
    for name, radius in given.items():
        left, stated = Material(name=name), Material(name=name, control_radius_mm=radius)
        assert left.with_radius() == stated == stated.with_radius()
        both = [checked(line([20.0, 0, 0]), constant(pull=(1.0, 0.0)), material=each) for each in (left, stated)]
        assert both[0].equivalent_stress_mpa == both[1].equivalent_stress_mpa
    with pytest.raises(UnknownError, match="unknown material 'plain name'"):
        checked(line([20.0, 0, 0]), constant(pull=(1.0, 0.0)), material=Material(name="plain name"))


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: Material(poisson_ratio=0.51), "poisson_ratio"),
        (lambda: Material(control_radius_mm=0.0), "control_radius_mm"),
        (lambda: Notch(kind="edge", opening_angle_deg=0.0), "kind"),  # type: ignore[arg-type]
        (lambda: Notch(kind="toe", opening_angle_deg=180.0), "opening_angle_deg"),
        (lambda: Notch(kind="toe", opening_angle_deg=135.0, notch_size_mm=0.0), "notch_size_mm"),
        (lambda: Mesh(element="quad5", element_size_mm=1.0), "element"),  # type: ignore[arg-type]
        (lambda: Mesh(element="quad4", element_size_mm=0.0), "element_size_mm"),
        (lambda: LoadState(maximum=math.inf, minimum=0.0), "maximum"),
        (lambda: Block(factors={}, cycles=1.0), "factors"),
        (lambda: BlockLoading(blocks=()), "blocks"),
        (lambda: HistoryLoading(channels={}), "channels"),
        (lambda: HistoryLoading(channels={"pull": np.ones(2)}, residue="open"), "residue"),  # type: ignore[arg-type]
        (lambda: Target(survival_probability=1.0), "survival_probability"),
        (lambda: Target(sample_size=1), "sample_size"),
        (lambda: Target(damage_limit=0.0), "damage_limit"),
        (lambda: Target(damage_limit_rule=""), "damage_limit_rule"),
        (lambda: Target(design_fatigue_factor=0.5), "design_fatigue_factor"),
        (lambda: replace(PAIR, lower=0.6), "lower"),
        (lambda: replace(PAIR, yield_strength_mpa=0.0), "yield_strength_mpa"),
        (lambda: line([20.0, 0, 0], name=""), "name"),
        (lambda: line([20.0, 0, 0], exclude_ends_mm=-1.0), "exclude_ends_mm"),
        (lambda: line([20.0, 0, 0], node_id=(-1,)), "node_id"),
        (lambda: line([20.0, 0, 0], basis="measured"), "basis"),
        (lambda: checked([], constant(pull=(1.0, 0.0))), "lines"),
        (lambda: checked(line([20.0, 0, 0]), constant(pull=(1.0, 0.0)), condition="relieved"), "condition"),
    ],
)
def test_parts_of_a_check_keep_their_bounds(make: Callable[[], object], field: str) -> None:
    with pytest.raises(InputError) as caught:
        make()
    assert caught.value.path == (field,)


def test_survival_of_a_curve_taken_as_given_is_stated() -> None:
    resistance = one("en-1993-1-9-2005-normal-71")
    outcome = checked(nominal(50.0, 0.0), constant(bump=(1.0, 0.0)), resistance=resistance)
    (told,) = [f.message for f in outcome.findings if f.code == "survival-as-given"]
    assert "0.95" in told
    assert "75 % confidence" in told
    moved = checked(
        nominal(50.0, 0.0),
        constant(bump=(1.0, 0.0)),
        Target(survival_probability=0.977),
        resistance=resistance,
    )
    assert "survival-as-given" not in codes(moved)
    assert moved.utilisation > outcome.utilisation


def test_smaller_damage_sum_of_the_document_is_told_under_variable_amplitude() -> None:
    """[iiw-2016] permits 0.5 where amplitudes vary."""
    resistance = one("iiw-2016-normal-steel-90")
    end = line({"pull": [[60.0, 0.0]]}, basis="nominal", notch=None, mesh=None)
    varied = blocks((1.0, 0.0, 1e5), (0.5, 0.0, 1e5))
    for loading, target, limit, severity in (
        (constant(pull=(1.0, 0.0)), Target(), 1.0, "note"),
        (varied, Target(), 0.5, "note"),
        (varied, Target(damage_limit=0.5), 0.5, "note"),
        (varied, Target(damage_limit=1.0), 1.0, "caution"),
    ):
        outcome = checked(end, loading, target, resistance=resistance)
        assert outcome.damage_limit == limit
        assert [f.severity for f in outcome.findings if f.field == "damage_limit"] == [severity]


def test_cycles_of_several_parts_of_the_rule_are_each_told() -> None:
    """A large sheared cycle, and many opening ones that do the damage: the curve named is theirs."""
    peaks = {"pull": [[100.0, 0.0, 0.0]], "turn": [[0.0, 0.0, 100.0]]}
    loading = BlockLoading(
        blocks=(
            Block(factors={"turn": LoadState(maximum=1.0, minimum=0.0)}, cycles=1e5),
            Block(factors={"pull": LoadState(maximum=1.0, minimum=0.0)}, cycles=2e6),
        ),
        transitions="in-entries",
    )
    outcome = checked(line(peaks), loading)
    weights = peak_weights(opening_angle_deg=135.0, element="quad4", element_size_mm=1.0, notch_size_mm=5.0)
    sheared = 1e5 / 2e6 * (weights.tearing * 100.0 / 257.0) ** 5
    opened = (weights.opening * 100.0 / 156.0) ** 3
    assert outcome.damage == pytest.approx(sheared + opened, rel=1e-9)
    assert outcome.equivalent_stress_mpa == pytest.approx(weights.tearing * 100.0)
    assert outcome.curve == "peak-stress-opening"
    assert {"biaxiality-below", "biaxiality-above", "biaxiality-divided"} <= codes(outcome)
    (told,) = [f.message for f in outcome.findings if f.code == "biaxiality-divided"]
    assert f"{100 * sheared / (sheared + opened):.3g} %" in told


def test_cycles_that_do_no_damage_that_counts_are_not_told() -> None:
    peaks = {"pull": [[100.0, 0.0, 0.0]], "turn": [[0.0, 0.0, 10.0]]}
    loading = BlockLoading(
        blocks=(
            Block(factors={"turn": LoadState(maximum=1.0, minimum=0.0)}, cycles=1e3),
            Block(factors={"pull": LoadState(maximum=1.0, minimum=0.0)}, cycles=2e6),
        )
    )
    assert not {"biaxiality-above", "biaxiality-divided"} & codes(checked(line(peaks), loading))


def test_nothing_that_cycles_names_the_opening_curve_and_no_rule() -> None:
    outcome = checked(line([100.0, 0.0, 0.0]), constant(pull=(1.0, 1.0)))
    assert outcome.curve == "peak-stress-opening"
    assert not {"biaxiality-below", "biaxiality-between", "biaxiality-above"} & codes(outcome)
    assert "nothing-cycles" in codes(outcome)


@pytest.mark.parametrize(("cycles", "verdict"), [(2e7, "undecided"), (1.0, "pass")])
def test_damaging_cycles_in_compression_leave_a_relieved_joint_undecided(cycles: float, verdict: str) -> None:
    """The largest cycle lies inside the published load ratios; the compressive ones count by their damage."""
    loading = blocks((1.0, 0.0, 1e4), (-0.1, -0.9, cycles))
    outcome = checked(line([50.0, 0.0, 0.0]), loading, condition="stress-relieved")
    assert outcome.verdict == verdict
    assert ("load-ratio-outside" in codes(outcome)) == (verdict == "undecided")


def test_load_ratio_of_each_mode_and_cycle() -> None:
    """Energy of both modes by hand: opening at R = -1 (0.5), tearing at R = 0.5 (3)."""
    peaks = {"pull": [[100.0, 0.0, 0.0]], "turn": [[0.0, 0.0, 60.0]]}
    outcome = checked(line(peaks), constant(pull=(1.0, -1.0), turn=(2.0, 1.0)), condition="stress-relieved")
    weights = peak_weights(opening_angle_deg=135.0, element="quad4", element_size_mm=1.0, notch_size_mm=5.0)
    opening = 0.5 * (weights.opening * 200.0) ** 2
    tearing = 3.0 * (weights.tearing * 60.0) ** 2
    assert outcome.equivalent_stress_mpa == pytest.approx(math.sqrt(opening + tearing), rel=1e-12)
    assert outcome.biaxiality_ratio == pytest.approx(tearing / opening, rel=1e-12)
    swapped = checked(line(peaks), constant(pull=(-1.0, 1.0), turn=(1.0, 2.0)), condition="stress-relieved")
    assert swapped.equivalent_stress_mpa == outcome.equivalent_stress_mpa


def test_conditions_are_told() -> None:
    loading = constant(pull=(1.0, 0.0), bump=(1.0, 0.0))
    toe = line({"pull": [[50.0, 0, 0]], "bump": [[0.0, 0, 0]]})
    assert "as-welded" in codes(checked(toe, loading))
    assert "mean-stress" in codes(checked(toe, loading, condition="stress-relieved"))
    plain = checked(
        nominal(50.0, 0.0),
        constant(bump=(1.0, 0.0)),
        resistance=one("en-1993-1-9-2005-normal-71"),
        condition="stress-relieved",
    )
    assert "mean-stress-not-used" in codes(plain)


def test_a_loop_has_no_ends_and_says_so() -> None:
    loop = line([[50.0, 0, 0]] * 4, closed=True, exclude_ends_mm=6.0)
    assert "loop-without-ends" in codes(checked(loop, constant(pull=(1.0, 0.0))))


def bent_damage(ranges: np.ndarray, counts: np.ndarray, category: float, factor: float) -> float:
    """EN 1993-1-9 normal stress by hand: slope 3 to 5e6, slope 5 to the cut-off at 1e8."""
    knee = category * (2.0 / 5.0) ** (1 / 3) / factor
    cut_off = knee * 0.05**0.2
    total = 0.0
    for size, count in zip(ranges, counts, strict=True):
        if size >= knee:
            total += count / (5e6 * (knee / size) ** 3)
        elif size >= cut_off:
            total += count / (5e6 * (knee / size) ** 5)
    return total


@pytest.mark.parametrize("survival", [None, 0.977])
@pytest.mark.parametrize("resistance_factor", [1.0, 1.35])
@pytest.mark.parametrize("load_factor", [1.0, 1.1])
def test_knee_and_cut_off_with_all_factors_against_arithmetic_by_hand(
    survival: float | None, resistance_factor: float, load_factor: float
) -> None:
    """Damage, utilisation by an independent root, allowable range; knees keep their lives."""
    ranges, counts, repeats = np.array([70.0, 45.0, 20.0, 9.0]), np.array([1e3, 2e4, 3e5, 9e6]), 7.0
    outcome = checked(
        line({"pull": [[1.0, 0.0]]}, basis="nominal", notch=None, mesh=None),
        blocks(*((size, 0.0, count) for size, count in zip(ranges, counts, strict=True))),
        Target(
            repeats=repeats,
            survival_probability=survival,
            resistance_factor=resistance_factor,
            load_factor=load_factor,
            damage_limit=0.5,
        ),
        resistance=one("en-1993-1-9-2005-normal-71"),
    )
    moved = 1.0 if survival is None else 10 ** ((1.6448536269514722 - 2.0) * 0.2 / 3.0)
    weaker = resistance_factor / moved

    def damage(factor: float) -> float:
        return repeats * bent_damage(factor * load_factor * ranges, counts, 71.0, weaker)

    assert outcome.damage == pytest.approx(damage(1.0), rel=1e-9)
    factor = brentq(lambda log: damage(math.exp(log)) - 0.5, math.log(0.05), math.log(20.0), xtol=1e-14)
    assert 1.0 / outcome.utilisation == pytest.approx(math.exp(factor), rel=1e-9)
    assert outcome.allowable_stress_mpa == pytest.approx(70.0 * load_factor / outcome.utilisation, rel=1e-12)
    assert outcome.life_cycles == pytest.approx(counts.sum() * repeats * 0.5 / outcome.damage, rel=1e-12)


def test_bounds_of_the_rule_belong_to_the_middle() -> None:
    """At a ratio equal to a bound both curves are looked at."""
    weights = peak_weights(opening_angle_deg=135.0, element="quad4", element_size_mm=1.0, notch_size_mm=5.0)
    ratio = (weights.tearing * 60.0 / (weights.opening * 100.0)) ** 2
    toe = line([100.0, 0.0, 60.0])
    ratio = checked(toe, constant(pull=(1.0, 0.0))).biaxiality_ratio or ratio
    for lower, upper in ((ratio, ratio * 2), (ratio / 2, ratio)):
        resistance = replace(PAIR, lower=lower, upper=upper)
        assert "biaxiality-between" in codes(checked(toe, constant(pull=(1.0, 0.0)), resistance=resistance))
