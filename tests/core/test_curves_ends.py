"""Curves at the ends of what they take: the end itself, and the first value beyond it."""

from __future__ import annotations

import inspect
from typing import Any

import numpy as np
import pytest

from fatcore.curves.biaxiality import damage_per_cycle, evaluate, rule_findings
from fatcore.curves.corrections.correction import combine_corrections, own_factor
from fatcore.curves.corrections.mean_stress import effective_range, effective_range_mpa
from fatcore.curves.corrections.survival import (
    at_survival,
    convert_index,
    index_of_scatter,
    scatter_of_index,
    tolerance_deviations,
)
from fatcore.curves.corrections.thickness import thickness_factor
from fatcore.curves.curve import Curve
from fatcore.curves.limits.damage_limits import settle_damage_limit
from fatcore.curves.lookup import curve_life, curve_strength
from fatcore.curves.resistance import make_resistance
from fatcore.curves.standards.catalogue import find_curve
from fatcore.curves.user_defined import user_defined_curve as made_of
from fatcore.errors import InputError


def own_curve(**figures: Any) -> Curve:
    return made_of(**figures)


LINE: dict[str, Any] = {"range_mpa": [100.0], "life_cycles": [2e6], "slopes": [3.0, 5.0]}
BANDS = {
    "opening_curve": find_curve("peak-stress-opening"),
    "shear_curve": find_curve("peak-stress-shear"),
}


def test_knees_and_cut_off_must_rise() -> None:
    own_curve(**LINE, knee_cycles=[5e6], cut_off_cycles=5.001e6)
    three = LINE | {"slopes": [3.0, 4.0, 5.0]}
    own_curve(**three, knee_cycles=[5e6, 5.001e6])
    for curve, said in (
        (LINE | {"knee_cycles": [5e6], "cut_off_cycles": 5e6}, "beyond the last knee"),
        (three | {"knee_cycles": [5e6, 5e6]}, "knee lives must rise"),
    ):
        with pytest.raises(InputError, match=said):
            own_curve(**curve)


def test_a_curve_left_as_it_is_takes_one_factor_and_no_partial_factor() -> None:
    given = inspect.signature(make_resistance).parameters
    assert given["range_count"].default == 1
    assert given["resistance_factor"].default == 1.0


@pytest.mark.parametrize("lives", [[1e5, 1e5], [1e5, 9e4]])
def test_points_must_go_down_in_range_and_up_in_life(lives: list[float]) -> None:
    with pytest.raises(InputError):
        own_curve(range_mpa=[200.0, 100.0], life_cycles=lives)
    with pytest.raises(InputError):
        own_curve(range_mpa=[100.0, 100.0], life_cycles=[1e5, 2e5])


def test_a_line_without_scatter_is_a_line() -> None:
    assert scatter_of_index(1.0, 3.0) == 0.0
    assert index_of_scatter(0.0, 3.0) == 1.0
    for wrong in (0.999, np.inf):
        with pytest.raises(InputError):
            scatter_of_index(wrong, 3.0)
    for wrong in (-1e-3, np.inf):
        with pytest.raises(InputError):
            index_of_scatter(wrong, 3.0)
    with pytest.raises(InputError):
        scatter_of_index(1.5, 3.0, upper_survival=0.5)


def test_index_is_stated_between_two_deviations_by_default() -> None:
    """Two deviations stand for 97.7 % in these sources: s = m log10(T) / 4."""
    assert scatter_of_index(1.9, 3.0) == pytest.approx(3.0 * np.log10(1.9) / 4.0, rel=1e-12)
    assert index_of_scatter(0.2, 3.0) == pytest.approx(10.0 ** (0.8 / 3.0), rel=1e-12)
    assert convert_index(1.9, from_survival=0.977, to_survival=0.977) == pytest.approx(1.9, rel=1e-12)


def test_tolerance_needs_two_tests_and_a_confidence_inside() -> None:
    assert tolerance_deviations(2, 0.95, 0.75) > tolerance_deviations(3, 0.95, 0.75)
    for wrong in ((1, 0.95, 0.75), (10, 0.95, 0.0), (10, 0.95, 1.0), (10, 0.0, 0.75), (10, 1.0, 0.75)):
        with pytest.raises(InputError):
            tolerance_deviations(*wrong)


@pytest.mark.parametrize("ratio", [0.05, 0.5])
def test_a_ratio_on_a_bound_asks_both_bands(ratio: float) -> None:
    stress = np.array([100.0, 2000.0])  # the bands cross between
    both = np.maximum(*(BANDS[name].damage_per_cycle(stress) for name in ("opening_curve", "shear_curve")))
    found = evaluate(stress, ratio, lower=0.05, upper=0.5, **BANDS)
    np.testing.assert_allclose(found.damage_per_cycle, both, rtol=1e-12)
    (finding,) = rule_findings(stress, ratio, lower=0.05, upper=0.5, **BANDS)
    assert "on or between" in finding.message
    for beside, name in ((0.05 - 1e-9, "opening_curve"), (0.5 + 1e-9, "shear_curve")):
        found = evaluate(stress, beside, lower=0.05, upper=0.5, **BANDS)
        np.testing.assert_allclose(found.damage_per_cycle, BANDS[name].damage_per_cycle(stress), rtol=1e-12)
        assert set(found.curve_choice.tolist()) == {0 if name == "opening_curve" else 1}
        (finding,) = rule_findings(stress, beside, lower=0.05, upper=0.5, **BANDS)
        assert "on or between" not in finding.message
        assert ("below" in finding.message) == (name == "opening_curve")
        assert ("above" in finding.message) == (name == "shear_curve")


def test_bounds_of_the_ratio_may_be_zero_and_may_be_equal() -> None:
    damage_per_cycle(100.0, 0.0, lower=0.0, upper=0.0, **BANDS)
    damage_per_cycle(100.0, np.inf, lower=0.0, upper=0.0, **BANDS)
    for lower, upper in ((-1e-9, 0.5), (0.5, 0.499), (0.0, np.inf), (np.inf, np.inf)):
        with pytest.raises(InputError):
            damage_per_cycle(100.0, 0.1, lower=lower, upper=upper, **BANDS)
    with pytest.raises(InputError):
        damage_per_cycle(100.0, -1e-9, lower=0.0, upper=0.5, **BANDS)


def test_equal_damage_of_both_bands_is_told_as_the_opening_one() -> None:
    one = BANDS["opening_curve"]
    found = evaluate(100.0, 0.1, opening_curve=one, shear_curve=one, lower=0.0, upper=0.5)
    assert found.curve_choice.tolist() == 0


def test_cut_off_life_is_on_the_line_and_a_longer_one_is_not() -> None:
    curve = own_curve(**LINE, knee_cycles=[5e6], cut_off_cycles=1e8)
    found = curve_strength(curve, [9.9e7, curve.cut_off_cycles(), 1.01e8])
    assert found.on_cutoff.tolist() == [False, False, True]
    cut_off = curve.cut_off_mpa
    assert cut_off is not None
    assert curve_life(curve, stress_range_mpa=[cut_off, cut_off * (1.0 - 1e-9), 0.0]).below_cutoff.tolist() == [
        False,
        True,
        True,
    ]


def test_thickness_without_exponent_and_at_the_reference_changes_nothing() -> None:
    assert thickness_factor(80.0, 25.0, 0.0) == 1.0
    assert thickness_factor([25.0, 10.0], 25.0, 0.25).tolist() == [1.0, 1.0]
    assert thickness_factor(25.1, 25.0, 0.25) < 1.0
    for wrong in (-1e-9, np.inf):
        with pytest.raises(InputError):
            thickness_factor(25.0, 25.0, wrong)


def test_a_cycle_without_range_has_the_factor_one() -> None:
    assert effective_range_mpa(-30.0, -30.0) == 0.0
    assert effective_range([-30.0, 10.0], [-30.0, -10.0]).strength_factor.tolist() == [1.0, 1.25]
    with pytest.raises(InputError):
        effective_range_mpa(-30.0, -29.999)


@pytest.mark.parametrize("limit", [0.5, 0.49])
def test_a_limit_up_to_that_of_the_document_is_no_doubt(limit: float) -> None:
    curve = (find_curve("iiw-2016-normal-steel-80"),)
    settled = settle_damage_limit(curve, "variable", damage_limit=limit)
    assert [each.severity for each in settled.findings] == ["note"]
    larger = settle_damage_limit(curve, "variable", damage_limit=0.51)
    assert [each.severity for each in larger.findings] == ["caution"]


def test_own_factors_beyond_the_numbers_are_refused() -> None:
    for factor in (1e26, 1e-26):
        several = [own_factor(name, factor, reason="test") for name in "abcd"]
        assert combine_corrections(*several[:3]).strength_factor == pytest.approx(factor**3)
        with pytest.raises(InputError):
            combine_corrections(*several)


def test_deviation_of_an_own_curve_may_be_zero_but_moves_nothing() -> None:
    curve = own_curve(**LINE, knee_cycles=[5e6], survival_probability=0.5, sd_log10_cycles=0.0)
    assert at_survival(curve, 0.5).curve is curve
    for probability in (0.4, 0.9):
        with pytest.raises(InputError) as caught:
            at_survival(curve, probability)
        assert caught.value.path == ("survival_probability",)
    with pytest.raises(InputError):
        own_curve(**LINE, knee_cycles=[5e6], sd_log10_cycles=-1e-9)
