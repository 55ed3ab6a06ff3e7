"""Use of a curve that was fitted to tests: moving it, and what an answer says beyond its tests."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from scipy import stats

from fatcore.curves.corrections.survival import at_survival
from fatcore.curves.curve import Curve
from fatcore.curves.limits.beyond_tests import extended, sum_findings, untested_findings, untested_shares
from fatcore.curves.limits.limits_of_use import fitted_curve_findings
from fatcore.curves.lookup import curve_life
from fatcore.curves.standards.catalogue import find_curve, remarks
from fatcore.curves.tested import LivesTested
from fatcore.curves.user_defined import user_defined_curve
from fatcore.errors import InputError, NotCoveredError
from fatcore.trials.sn.line import evaluate_series
from fatcore.trials.sn.series import TrialSeries

OTHER = find_curve("iiw-2016-normal-steel-71")
LEVELS = np.repeat([260.0, 210.0, 170.0, 140.0, 115.0], 2)
LIVES = np.array([88e3, 121e3, 166e3, 231e3, 340e3, 455e3, 520e3, 910e3, 1.15e6, 1.48e6])


def fitted(**other: Any) -> Curve:
    series = TrialSeries(name="hanger", range_mpa=LEVELS, life_cycles=LIVES)
    asked: dict[str, Any] = {"rule": "tolerance", "survival_probability": 0.9, "confidence": 0.75}
    return evaluate_series(series, **{**asked, **other}).design_curve


def codes(found: Any) -> set[str]:
    return {each.code for each in found}


def test_a_fitted_curve_carries_its_tests() -> None:
    curve = fitted()
    assert curve.tested == LivesTested(
        tests=10, lowest_range_mpa=115.0, highest_range_mpa=260.0, longest_life_cycles=1.48e6, confidence=0.75
    )
    assert "10 tests failed at 115 to 260 MPa" in remarks(curve)[0].message
    assert fitted(rule="prediction").tested.confidence is None  # type: ignore[union-attr]


@pytest.mark.parametrize("probability", [0.5, 0.95, 0.999])
def test_a_curve_of_extreme_values_moves_by_its_own_distribution(probability: float) -> None:
    curve = fitted(distribution="smallest-extreme-value")
    moved = curve.at_survival(probability)
    law = stats.gumbel_l(scale=curve.scatter() * math.sqrt(6.0) / math.pi)
    step = law.ppf(1.0 - probability) - law.ppf(0.1)
    assert moved.log10_constants[0] - curve.log10_constants[0] == pytest.approx(step)
    found = at_survival(curve, probability)
    assert found.curve.log10_constants == moved.log10_constants
    assert found.deviations_from - found.deviations_to == pytest.approx(step / curve.scatter())


def test_a_sample_size_is_for_normal_scatter() -> None:
    with pytest.raises(NotCoveredError, match="extreme values"):
        at_survival(fitted(distribution="smallest-extreme-value"), 0.99, sample_size=10)
    assert at_survival(fitted(), 0.99, sample_size=10).deviations_to > at_survival(fitted(), 0.99).deviations_to


def test_a_moved_curve_says_that_its_confidence_is_lost() -> None:
    assert "confidence-lost" in codes(at_survival(fitted(), 0.977).findings)
    assert "confidence-lost" not in codes(at_survival(fitted(), 0.9).findings)
    assert "confidence-lost" not in codes(at_survival(fitted(rule="prediction"), 0.977).findings)


@pytest.mark.parametrize(
    ("range_mpa", "code"),
    [
        (260.1, "fitted-curve-outside-ranges"),
        (260.0, ""),
        (115.0, ""),
        (114.0, "fitted-curve-below-ranges"),
        (30.0, "fitted-curve-outside-ranges"),
        (0.0, ""),
    ],
)
def test_ranges_that_no_test_had_are_said(range_mpa: float, code: str) -> None:
    curve = fitted()
    wanted = {code} if code else set()
    assert codes(fitted_curve_findings(curve, range_mpa)) == wanted
    kinds = {"fitted-curve-outside-ranges", "fitted-curve-below-ranges"}
    assert codes(curve_life(curve, stress_range_mpa=[range_mpa]).findings) & kinds == wanted
    relieved = curve_life(curve, stress_range_mpa=[range_mpa], yield_strength_mpa=355.0)
    assert codes(relieved.findings) & kinds == wanted


def test_small_ranges_may_be_left_out_and_infinite_lives_are_said() -> None:
    assert fitted_curve_findings(fitted(), 30.0, below=False) == ()
    curve = user_defined_curve(
        log10_constants=(12.0,), slopes=(3.0,), cut_off_cycles=1e7, tested=fitted().tested, survival_probability=0.9
    )
    (said,) = fitted_curve_findings(curve, 20.0)
    assert "infinite length" in said.message


def test_limits_in_the_wrong_order_are_refused() -> None:
    with pytest.raises(InputError, match="lies above"):
        LivesTested(tests=3, lowest_range_mpa=2.0, highest_range_mpa=1.0, longest_life_cycles=1e5)


def shares(curve: Curve, ranges: list[float], counts: list[float]) -> tuple[float, float]:
    found = untested_shares(True, lambda on: float((np.array(counts) * on(curve).damage_per_cycle(ranges)).sum()))
    return float(found.below_share[0]), float(found.beyond_share[0])


def test_the_share_of_the_damage_that_no_test_had() -> None:
    """By hand: of 1 cycle of 116, 100 and 30 MPa each, where 30 MPa alone lasts ten times the longest life tested."""
    curve = fitted()
    each = 1.0 / curve.life_cycles([116.0, 100.0, 30.0])
    below, beyond = shares(curve, [116.0, 100.0, 30.0], [1.0, 1.0, 1.0])
    assert below == pytest.approx(each[1:].sum() / each.sum())
    assert beyond == pytest.approx(each[2] / each.sum())
    assert shares(curve, [115.0, 260.0], [1.0, 1.0]) == (0.0, 0.0)
    assert shares(curve, [0.0], [1.0]) == (0.0, 0.0)


@pytest.mark.parametrize("form", [{"cut_off_cycles": 5e6}, {"slopes": (3.0, 22.0), "knee_cycles": (2e6,)}])
def test_a_knee_or_cut_off_below_the_tests_hides_nothing(form: dict[str, Any]) -> None:
    """What no test had counts on the line of the tests, whatever else was put below them."""
    one = {"range_mpa": (115.0,), "life_cycles": (1e6,), "survival_probability": 0.9, "tested": fitted().tested}
    straight = user_defined_curve(slopes=(3.0,), **one)  # type: ignore[arg-type]
    bent = user_defined_curve(**{"slopes": (3.0,), **one, **form})
    ranges, counts = [116.0, 30.0], [1e3, 1e7]
    assert extended(bent).life_cycles(30.0) >= straight.life_cycles(30.0) * (1.0 - 1e-9)
    assert shares(bent, ranges, counts)[1] > 0.9
    assert extended(straight) == straight
    assert extended(OTHER) == OTHER


def test_a_step_is_no_slope_of_a_fitted_curve() -> None:
    curve = user_defined_curve(
        log10_constants=(12.0, 12.2), slopes=(3.0, 3.5), knee_cycles=(1e6,), step_at_knee=True,
        survival_probability=0.9, tested=fitted().tested,
    )  # fmt: skip
    assert curve.joints
    assert min(extended(curve).slopes[-1:]) >= 3.0


@pytest.mark.parametrize(
    ("below", "beyond", "code"),
    [
        (0.001, 0.0, ""),
        (0.0011, 0.0, "leaves-tests"),
        (1.0, 0.1, "leaves-tests"),
        (1.0, 0.0, ""),
        (0.2, 0.11, "extrapolated"),
    ],
)
def test_what_is_said_of_damage_beyond_the_tests(below: float, beyond: float, code: str) -> None:
    assert codes(untested_findings((fitted(), OTHER), below, beyond)) == ({f"fitted-curve-{code}"} if code else set())


def test_a_sum_on_a_curve_without_tests_says_nothing() -> None:
    assert sum_findings(OTHER, lambda on: on.damage_per_cycle([1.0])) == []
