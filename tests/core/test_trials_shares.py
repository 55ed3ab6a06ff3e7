"""A share of specimens and a number of deviations: which of the two an evaluation of tests takes, and that it says so.

Documents call the line two standard deviations below the mean 97.7 %; the quantile of 0.977 is 1.9954.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from scipy import stats

from fatcore.curves.corrections.survival import at_survival
from fatcore.curves.curve import Curve
from fatcore.curves.resistance import make_resistance
from fatcore.curves.standards.catalogue import find_curve
from fatcore.curves.user_defined import user_defined_curve
from fatcore.findings import Finding
from fatcore.trials import TrialSeries, evaluate_staircase
from fatcore.trials.position.explanation import explain_by_sharing
from fatcore.trials.position.position import position_of
from fatcore.trials.sn.line import SnOutcome, evaluate_series
from fatcore.trials.strength import likely_limit, likely_strength

LEVELS = np.repeat([260.0, 210.0, 170.0, 140.0, 115.0], 2)
LIVES = np.array([88e3, 121e3, 166e3, 231e3, 340e3, 455e3, 520e3, 910e3, 1.15e6, 1.48e6])
NAMED = 0.977
EXACT = float(stats.norm.ppf(NAMED))
DNV = "dnv-rp-c203-2016-d-air"


def series() -> TrialSeries:
    return TrialSeries(name="hanger", range_mpa=LEVELS, life_cycles=LIVES)


def evaluated(survival: float = NAMED, **other: Any) -> SnOutcome:
    asked: dict[str, Any] = {"rule": "tolerance", "confidence": 0.95}
    return evaluate_series(series(), survival_probability=survival, **{**asked, **other})


def said(found: Any, code: str) -> list[Finding]:
    return [each for each in found.findings if each.code == code]


def exact_factor(survival: float, freedom: int, leverage: float, confidence: float) -> float:
    root = math.sqrt(leverage)
    return float(stats.nct.ppf(confidence, freedom, stats.norm.ppf(survival) / root)) * root


@pytest.mark.parametrize("survival", [0.95, 0.975, NAMED, 0.9772, 0.999])
def test_the_tolerance_line_of_a_series_holds_the_exact_share(survival: float) -> None:
    found = evaluated(survival, fixed_slope=3.0)
    (line,) = (each for each in found.characteristic if each.rule == "tolerance")
    assert line.factor == pytest.approx(exact_factor(survival, 9, 0.1, 0.95), rel=1e-9)
    deep = np.log10(found.life_median_cycles / found.life_tolerance_cycles) / found.sd_log10_cycles
    assert deep == pytest.approx(line.factor, rel=1e-9)


@pytest.mark.parametrize("survival", [0.95, NAMED, 0.9772])
def test_prediction_by_factor_and_by_bound_are_one(survival: float) -> None:
    found = evaluated(survival, fixed_slope=3.0)
    (line,) = (each for each in found.characteristic if each.rule == "prediction")
    assert line.factor == pytest.approx(stats.t.ppf(survival, 9) * math.sqrt(1.1), rel=1e-9)
    deep = np.log10(found.life_median_cycles / found.life_prediction_cycles) / found.sd_log10_cycles
    assert deep == pytest.approx(line.factor, rel=1e-9)


@pytest.mark.parametrize(
    ("survival", "told"), [(0.95, False), (0.9769, False), (NAMED, True), (0.9772, True), (0.97725, False)]
)
def test_a_series_says_that_it_takes_the_share_and_not_the_line_of_that_name(survival: float, told: bool) -> None:
    found = said(evaluated(survival), "survival-exact-share")
    assert bool(found) == told
    if survival == NAMED:
        assert "1.995" in found[0].message
        assert "0.97725" in found[0].message


def test_a_share_of_extreme_values_has_no_line_of_that_name() -> None:
    assert not said(evaluated(distribution="smallest-extreme-value"), "survival-exact-share")


def test_a_staircase_holds_the_exact_share_and_says_so() -> None:
    level = np.array([200.0, 210.0, 200.0, 190.0, 200.0, 210.0, 220.0, 210.0, 200.0, 190.0, 180.0, 190.0])
    broke = np.array([0, 1, 1, 0, 0, 0, 1, 1, 1, 1, 0, 0], dtype=np.bool_)
    found = evaluate_staircase(level, broke, 10.0, survival_probability=NAMED, confidence=0.9)
    factor = exact_factor(NAMED, 11, 1.0 / 12.0, 0.9)
    assert found.counted_limit_mpa == pytest.approx(found.mean_mpa - factor * found.sd_mpa)
    strength = likely_strength(level, broke)
    assert strength is not None
    shallow, wanted, deep = (likely_limit(level, strength, share, 0.9) for share in (0.9769, NAMED, 0.9771))
    assert deep is not None
    assert wanted is not None
    assert shallow is not None
    assert deep < wanted < shallow
    assert wanted == pytest.approx(0.5 * (deep + shallow), rel=1e-5)  # no step at the name
    assert said(found, "survival-exact-share")
    other = evaluate_staircase(level, broke, 10.0, survival_probability=0.95, confidence=0.9)
    assert not said(other, "survival-exact-share")


def test_beside_a_curve_of_a_document_the_name_is_two_deviations_and_is_said() -> None:
    curve = find_curve(DNV)
    found = position_of(series(), curve)
    assert found.deviations_above_mean == pytest.approx(np.log10(found.life_factor) / curve.scatter() - 2.0)
    (note,) = said(found, "survival-two-deviations")
    assert "1.995" in note.message
    assert not said(found, "survival-exact-share")


def test_beside_a_fitted_curve_the_share_is_exact_and_is_said() -> None:
    curve = evaluated().design_curve
    found = position_of(series(), curve)
    assert found.deviations_above_mean == pytest.approx(np.log10(found.life_factor) / curve.scatter() - EXACT)
    assert said(found, "survival-exact-share")
    assert not said(found, "survival-two-deviations")
    explained = explain_by_sharing(found, curve, np.ones(10, dtype=np.bool_), 1.0)
    shown = 10.0 ** (float(np.log10(found.life_factor).mean()) - EXACT * curve.scatter())
    assert explained.tests_life_factor == pytest.approx(shown)


def test_beside_a_fitted_curve_of_extreme_values_there_is_no_name_to_tell_apart() -> None:
    curve = evaluated(distribution="smallest-extreme-value").design_curve
    codes = {each.code for each in position_of(series(), curve).findings}
    assert not codes & {"survival-two-deviations", "survival-exact-share"}


@pytest.mark.parametrize("survival", [None, 0.5, 0.95])
def test_beside_a_curve_of_another_survival_nothing_is_to_be_said(survival: float | None) -> None:
    curve = user_defined_curve(range_mpa=[90.0], life_cycles=[2e6], slopes=[3.0], survival_probability=survival)
    codes = {each.code for each in position_of(series(), curve).findings}
    assert not codes & {"survival-two-deviations", "survival-exact-share"}


def shift(curve: Curve, survival: float) -> float:
    """Standard deviations by which a curve moves down."""
    found = at_survival(curve, survival)
    return (curve.log10_constants[0] - found.curve.log10_constants[0]) / curve.scatter()


@pytest.mark.parametrize("rule", ["tolerance", "iso-12107", "prediction"])
@pytest.mark.parametrize("survival", [0.5, 0.9, 0.95, 0.9769, 0.9771, 0.98, 0.999])
def test_a_fitted_curve_starts_from_its_exact_share_which_is_never_milder(rule: Any, survival: float) -> None:
    curve = evaluated(rule=rule).design_curve
    exact = stats.norm.ppf(survival) - EXACT
    down = shift(curve, survival)
    assert down >= exact - 1e-9  # no nearer to the mean than the share asked for
    named = max(float(stats.norm.ppf(survival)), 2.0 if survival >= NAMED else 0.0)
    assert down == pytest.approx(named - EXACT)
    assert down >= (named - 2.0) - 1e-9  # nor than with a start two deviations below
    assert f"from {EXACT:.4g}"[:10] in said(at_survival(curve, survival), "survival-moved")[0].message


@pytest.mark.parametrize("asked", [None, NAMED])
def test_a_fitted_curve_taken_as_given_says_that_its_share_is_exact(asked: float | None) -> None:
    (told,) = said(make_resistance(evaluated().design_curve, survival_probability=asked), "survival-as-given")
    assert "exact share" in told.message
    assert "1.995" in told.message
    for other in (evaluated(0.95), evaluated(distribution="smallest-extreme-value")):
        (plain,) = said(make_resistance(other.design_curve), "survival-as-given")
        assert "exact share" not in plain.message


@pytest.mark.parametrize(("survival", "told"), [(NAMED, True), (0.99, False)])
def test_a_curve_moved_with_a_sample_size_says_how_the_name_is_read(survival: float, told: bool) -> None:
    found = at_survival(evaluated(0.95).design_curve, survival, sample_size=10)
    (moved,) = said(found, "survival-moved")
    assert ("the share read as two deviations" in moved.message) == told
    exact = exact_factor(survival, 9, 0.1, 0.75)
    assert found.deviations_to >= exact - 1e-9


def test_a_fitted_curve_at_its_own_share_is_not_moved() -> None:
    curve = evaluated().design_curve
    found = at_survival(curve, NAMED)
    assert found.curve is curve
    assert found.deviations_from == found.deviations_to == pytest.approx(EXACT)


@pytest.mark.parametrize("survival", [0.5, 0.9, 0.95, 0.976])
def test_a_fitted_curve_moved_to_the_name_reaches_two_deviations(survival: float) -> None:
    curve = evaluated(survival).design_curve
    assert shift(curve, NAMED) == pytest.approx(2.0 - stats.norm.ppf(survival))
    back = curve.at_survival(NAMED).at_survival(survival)
    assert back.log10_constants[0] <= curve.log10_constants[0] + 1e-12


def test_a_fitted_curve_loses_nothing_between_survivals_in_order() -> None:
    curve = evaluated().design_curve
    shares = (0.5, 0.95, 0.9769, NAMED, 0.9771, 0.97725, 0.98)
    constants = [at_survival(curve, share).curve.log10_constants[0] for share in shares]
    assert constants == sorted(constants, reverse=True)


@pytest.mark.parametrize("start", [0.9, NAMED])
def test_a_curve_of_extreme_values_knows_shares_only(start: float) -> None:
    curve = evaluated(start, distribution="smallest-extreme-value").design_curve
    law = stats.gumbel_l(scale=math.sqrt(6.0) / math.pi)
    assert shift(curve, NAMED) == pytest.approx(law.ppf(1.0 - start) - law.ppf(1.0 - NAMED), abs=1e-12)
