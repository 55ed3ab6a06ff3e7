"""The evaluation of a series as a whole: what it gives, what it says, what it refuses."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from fatcore.curves.corrections.survival import scatter_of_index
from fatcore.curves.user_defined import user_defined_curve
from fatcore.errors import InputError, NotCoveredError
from fatcore.trials import TrialSeries, evaluate_series, position_of, series_from_loads
from fatcore.trials.sn.characteristic import range_at
from fatcore.trials.sn.factors import iiw_factor, tolerance_factor
from fatcore.trials.sn.fit import fit_line
from fatcore.trials.sn.line import SnOutcome
from fatcore.trials.sn.linearity import straightness

RANGES = np.repeat([100.0, 140.0, 200.0, 280.0], 3)
ASKED: dict[str, Any] = {"rule": "tolerance", "survival_probability": 0.95, "confidence": 0.9}


def series(seed: int = 1, *, ranges: np.ndarray = RANGES, stop: float = np.inf, scatter: float = 0.2) -> TrialSeries:
    draws = np.random.default_rng(seed).standard_normal(len(ranges))
    life = 10.0 ** (12.3 - 3.0 * np.log10(ranges) + scatter * draws)
    return TrialSeries(range_mpa=ranges, life_cycles=np.minimum(life, stop), run_out=life >= stop)


def codes(found: Any) -> set[str]:
    return {each.code for each in found.findings}


def evaluated(given: TrialSeries, **other: Any) -> SnOutcome:
    return evaluate_series(given, **{**ASKED, **other})


def test_intervals_of_slope_and_constant_are_those_of_linear_regression() -> None:
    given_series = series()
    found = evaluated(given_series)
    line = stats.linregress(given_series.log10_range, given_series.log10_life)
    quantile = stats.t.ppf(0.95, 10)
    assert found.slope_high - found.slope == pytest.approx(quantile * line.stderr)
    assert found.slope - found.slope_low == pytest.approx(quantile * line.stderr)
    assert found.log10_constant_high - found.log10_constant == pytest.approx(quantile * line.intercept_stderr)
    assert found.log10_constant - found.log10_constant_low == pytest.approx(quantile * line.intercept_stderr)


def test_a_given_slope_has_no_interval() -> None:
    for stop in (np.inf, 10**6.1):
        found = evaluated(series(stop=stop), fixed_slope=3.0)
        assert found.slope_low == found.slope == found.slope_high == 3.0
        assert found.log10_constant_low < found.log10_constant < found.log10_constant_high


def test_intervals_with_run_outs_tend_to_those_without() -> None:
    # one run-out among 120 tests changes little
    ranges = np.repeat(RANGES, 10)
    given_series = series(2, ranges=ranges)
    longest = int(np.argmax(given_series.life_cycles))
    stopped = TrialSeries(
        range_mpa=ranges, life_cycles=given_series.life_cycles, run_out=np.arange(len(ranges)) == longest
    )
    one, two = evaluated(given_series), evaluated(stopped)
    for name in ("slope", "slope_low", "slope_high", "log10_constant", "log10_constant_low", "sd_log10_cycles"):
        assert getattr(two, name) == pytest.approx(getattr(one, name), rel=0.02)
    assert (two.run_outs, two.tests, two.method) == (1, 120, "maximum-likelihood")


def test_scatter_indices_are_ratios_of_lives_and_ranges() -> None:
    found = evaluated(series())
    z = stats.norm.ppf(0.9)
    assert found.scatter.life_10_90 == pytest.approx(10.0 ** (2.0 * z * found.sd_log10_cycles))
    far = stats.norm.ppf(0.977)
    assert found.scatter.life_2_98 == pytest.approx(10.0 ** (2.0 * far * found.sd_log10_cycles))
    assert found.scatter.life_two_deviations == pytest.approx(10.0 ** (4.0 * found.sd_log10_cycles))
    assert found.scatter.range_10_90 == pytest.approx(found.scatter.life_10_90 ** (1.0 / found.slope))
    assert found.scatter.range_2_98 == pytest.approx(found.scatter.life_2_98 ** (1.0 / found.slope))
    assert found.scatter.range_two_deviations == pytest.approx(found.scatter.life_two_deviations ** (1.0 / found.slope))


@pytest.mark.parametrize("distribution", ["normal", "smallest-extreme-value"])
def test_the_index_of_two_deviations_gives_a_curve_the_scatter_of_the_tests(distribution: Any) -> None:
    found = evaluated(series(), distribution=distribution)
    again = scatter_of_index(found.scatter.range_two_deviations, found.slope)
    assert again == pytest.approx(found.sd_log10_cycles, rel=1e-12)


def test_scatter_indices_of_extreme_values_are_those_of_their_distribution() -> None:
    found = evaluated(series(), distribution="smallest-extreme-value")
    scale = found.sd_log10_cycles * math.sqrt(6.0) / math.pi
    apart = stats.gumbel_l.ppf(0.9, scale=scale) - stats.gumbel_l.ppf(0.1, scale=scale)
    assert found.scatter.life_10_90 == pytest.approx(10.0**apart)
    half = found.log10_constant + stats.gumbel_l.ppf(0.5, scale=scale)
    assert found.range_at_two_million_mpa == pytest.approx(range_at(half, found.slope))


@pytest.mark.parametrize("slope", [None, 3.0])
def test_linearity_is_the_f_of_the_nested_models(slope: float | None) -> None:
    given_series = series()
    found = evaluated(given_series, fixed_slope=slope).linearity
    assert found is not None
    y, level = given_series.log10_life, np.repeat(range(4), 3)
    own = sum(float(np.square(y[level == k] - y[level == k].mean()).sum()) for k in range(4))
    x = given_series.log10_range
    shifted = y + (slope or 0.0) * x
    line = np.polyval(np.polyfit(x, shifted, 0 if slope else 1), x)
    whole = float(np.square(shifted - line).sum())
    between = 3 if slope else 2
    statistic = (whole - own) / between / (own / 8)
    assert (found.levels, found.degrees_of_freedom, found.second_degrees_of_freedom) == (4, between, 8)
    assert found.test_statistic == pytest.approx(statistic)
    assert found.chance == pytest.approx(stats.f.sf(statistic, between, 8))
    assert found.linear == (found.chance >= 0.05)


def test_a_knee_is_no_straight_line() -> None:
    ranges = np.repeat([60.0, 100.0, 170.0, 280.0], 4)
    life = (
        10.0 ** (12.3 - 3.0 * np.log10(ranges)) * np.where(ranges < 80.0, 6.0, 1.0) * np.tile([0.9, 1.1, 1.2, 0.8], 4)
    )
    found = evaluated(TrialSeries(range_mpa=ranges, life_cycles=life))
    assert "line-not-straight" in codes(found)
    assert found.replication_pct == pytest.approx(75.0)


@pytest.mark.parametrize(
    "ranges", [RANGES[:6], np.repeat([100.0, 200.0], 3), np.array([100.0, 100.5, 150.0, 150.9, 100.9])]
)
def test_linearity_is_not_tested_below_three_levels(ranges: np.ndarray) -> None:
    found = evaluated(series(ranges=ranges))
    assert found.linearity is None
    assert "linearity-not-tested" in codes(found)


@pytest.mark.parametrize("bend", [0.0, 0.3])
@pytest.mark.parametrize("slope", [None, 3.0])
def test_without_replicates_a_quadratic_and_a_cubic_term_are_tested(slope: float | None, bend: float) -> None:
    # F of the nested models by sums of squares of numpy's polynomials; the smaller probability of two counts twice
    plain = series(ranges=np.geomspace(100.0, 280.0, 12))
    across = np.linspace(-1.0, 1.0, 12)
    given_series = TrialSeries(
        range_mpa=plain.range_mpa, life_cycles=np.asarray(plain.life_cycles) * 10.0 ** (bend * across**2)
    )
    found = evaluated(given_series, fixed_slope=slope).linearity
    assert found is not None
    x, y = given_series.log10_range, given_series.log10_life
    squares = [float(np.square(y - np.polyval(np.polyfit(x, y, k), x)).sum()) for k in (1, 2, 3)]
    statistics = [(squares[k] - squares[k + 1]) / (squares[k + 1] / (9 - k)) for k in (0, 1)]
    chances = [float(stats.f.sf(statistic, 1, 9 - k)) for k, statistic in enumerate(statistics)]
    least = int(np.argmin(chances))
    assert found.tested_by == ("quadratic", "cubic")[least]
    assert (found.levels, found.degrees_of_freedom, found.second_degrees_of_freedom) == (12, 1, 9 - least)
    assert found.test_statistic == pytest.approx(statistics[least])
    assert found.chance == pytest.approx(min(2.0 * chances[least], 1.0))


def test_a_series_that_turns_one_way_and_back_is_not_straight() -> None:
    """An S of 0.1 decades about the line of 15 tests, which no quadratic term shows."""
    ranges, across = np.geomspace(100.0, 300.0, 15), np.linspace(-1.0, 1.0, 15)
    noise = np.random.default_rng(15).normal(0.0, 0.02, 15)
    life = 10.0 ** (13.2 - 3.0 * np.log10(ranges) + 0.15 * np.sin(np.pi * across) + noise)
    found = evaluated(TrialSeries(range_mpa=ranges, life_cycles=life))
    assert found.linearity is not None
    assert found.linearity.tested_by == "cubic"
    assert "line-not-straight" in codes(found)
    # one range that repeats does not take the place of the terms
    again = TrialSeries(range_mpa=np.append(ranges, ranges[7]), life_cycles=np.append(life, 1.1 * life[7]))
    assert evaluated(again).linearity.tested_by == "cubic"  # type: ignore[union-attr]
    assert "line-not-straight" in codes(evaluated(again))


def test_few_failures_bear_a_quadratic_term_only() -> None:
    found = evaluated(series(ranges=np.array([100.0, 150.0, 220.0, 280.0]))).linearity
    assert found is not None
    assert (found.tested_by, found.second_degrees_of_freedom) == ("quadratic", 1)


@pytest.mark.uncounted
@pytest.mark.parametrize("tests", [5, 12])
def test_straight_series_are_called_curved_no_more_often_than_the_significance_says(tests: int) -> None:
    drawn, ranges, curved = np.random.default_rng(9), np.geomspace(100.0, 300.0, tests), 0
    for _ in range(1000):
        life = 10.0 ** (13.2 - 3.0 * np.log10(ranges) + drawn.normal(0.0, 0.2, tests))
        drawn_series = TrialSeries(range_mpa=ranges, life_cycles=life)
        found = straightness(drawn_series, fit_line(drawn_series), np.arange(tests, dtype=np.float64), 0.05)
        curved += found is not None and not found.linear
    assert stats.binom.cdf(20, 1000, 0.05) < 1e-5
    assert 20 < curved <= stats.binom.ppf(0.999, 1000, 0.05)


def test_a_knee_is_seen_where_measured_ranges_differ_a_little_or_specimens_ran_out() -> None:
    levels = np.repeat([60.0, 100.0, 170.0, 280.0], 4)
    life = (
        10.0 ** (12.3 - 3.0 * np.log10(levels)) * np.where(levels < 80.0, 6.0, 1.0) * np.tile([0.9, 1.1, 1.2, 0.8], 4)
    )
    near = levels * np.tile([1.0, 1.003, 1.008, 0.999], 4)
    found = evaluated(TrialSeries(range_mpa=near, life_cycles=life))
    assert found.linearity is not None
    assert (found.linearity.tested_by, found.linearity.levels) == ("lack-of-fit", 4)
    assert "line-not-straight" in codes(found)
    apart = levels * np.tile([1.0, 1.05, 1.1, 1.15], 4)
    stopped = np.arange(16) < 1
    found = evaluated(TrialSeries(range_mpa=apart, life_cycles=life, run_out=stopped), rule="tolerance")
    assert found.linearity is not None
    assert found.linearity.tested_by == "quadratic"
    assert "line-not-straight" in codes(found)


def test_failures_that_settle_no_curve_leave_it_untested(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> None:
        raise InputError("no maximum")

    given_series = series(ranges=np.geomspace(100.0, 280.0, 12))
    monkeypatch.setattr("fatcore.trials.sn.linearity.maximum_likelihood", refuse)
    assert evaluated(given_series).linearity is None


def test_a_departure_counts_below_the_significance_whatever_the_confidence() -> None:
    given_series = series(4, ranges=np.geomspace(100.0, 280.0, 12))
    found = evaluated(given_series).linearity
    assert found is not None
    for confidence in (0.75, 0.99):
        for significance in (0.9 * found.chance, min(1.1 * found.chance, 0.499)):
            again = evaluated(given_series, confidence=confidence, significance=significance).linearity
            assert again is not None
            assert again.linear == (found.chance >= significance)


def test_replicates_that_agree_to_the_cycle_leave_linearity_untested() -> None:
    found = evaluated(TrialSeries(range_mpa=[100.0, 200.0, 200.0, 400.0], life_cycles=[2e6, 2e5, 2e5, 5e4]))
    assert found.linearity is None


def test_every_rule_keeps_its_own_line() -> None:
    given_series = series()
    found = evaluated(given_series)
    lines = {line.rule: line for line in found.characteristic}
    assert list(lines) == ["tolerance", "iso-12107", "iiw", "prediction"]
    x = given_series.log10_range
    leverage = float((1.0 / 12.0 + (x - x.mean()) ** 2 / np.square(x - x.mean()).sum()).max())
    exact = tolerance_factor(10, leverage, 0.95, 0.9)
    assert lines["tolerance"].factor == pytest.approx(exact)
    assert lines["tolerance"].log10_constant == pytest.approx(found.log10_constant - exact * found.sd_log10_cycles)
    assert (lines["iiw"].survival_probability, lines["iiw"].confidence) == (0.95, 0.75)
    assert lines["iiw"].factor == pytest.approx(iiw_factor(12))
    assert lines["prediction"].confidence is None
    assert lines["iso-12107"].factor > exact
    for line in found.characteristic:
        expected = 10.0 ** ((line.log10_constant - math.log10(2e6)) / found.slope)
        assert line.range_at_two_million_mpa == pytest.approx(expected)


@pytest.mark.parametrize("rule", ["tolerance", "iso-12107", "iiw", "prediction"])
def test_the_design_curve_is_the_line_of_the_rule_that_was_asked_for(rule: str) -> None:
    found = evaluated(series(), rule=rule, stress_kind="notch stress")
    line = next(each for each in found.characteristic if each.rule == rule)
    curve = found.design_curve
    assert float(curve.range_mpa(2e6)) == pytest.approx(line.range_at_two_million_mpa)
    assert (curve.survival_probability, curve.sd_log10_cycles) == (line.survival_probability, line.sd_log10_cycles)
    assert curve.stress_kind == "notch stress"
    assert (f"{100 * (line.confidence or 0):g} % confidence" in curve.title) == (line.confidence is not None)


def test_the_approximate_factor_is_told_where_it_is_below_the_exact_one() -> None:
    long = series(ranges=np.repeat([100.0, 280.0, 150.0], [30, 30, 1]))
    assert "factor-below-exact" not in codes(evaluated(long))
    ends = series(ranges=np.concatenate([[60.0], np.repeat([140.0, 150.0], 20), [400.0]]))
    found = evaluated(ends, rule="iso-12107")
    assert "factor-below-exact" in codes(found)
    assert "factor-below-exact" not in codes(evaluated(series(), rule="iso-12107"))


def test_few_tests_take_the_larger_of_measured_and_assumed_scatter() -> None:
    short, wide = np.repeat([200.0, 280.0, 400.0], 2), np.repeat([60.0, 80.0, 120.0], 2)
    for ranges, assumed in ((short * 2.0, 0.178), (wide, 0.25)):
        found = evaluated(series(3, ranges=ranges, scatter=0.1), rule="iiw")
        line = next(each for each in found.characteristic if each.rule == "iiw")
        assert line.sd_log10_cycles == assumed > found.sd_log10_cycles
        assert {"scatter-assumed", "slope-by-few-tests"} <= codes(found)
    fixed = evaluated(series(3, ranges=wide, scatter=0.6), rule="iiw", fixed_slope=3.0)
    line = next(each for each in fixed.characteristic if each.rule == "iiw")
    assert line.sd_log10_cycles == fixed.sd_log10_cycles > 0.25
    assert "slope-by-few-tests" not in codes(fixed)


def test_run_outs_leave_the_limit_by_likelihood_alone() -> None:
    given_series = series(stop=10**6.1)
    found = evaluated(given_series)
    assert [line.rule for line in found.characteristic] == ["tolerance"]
    assert "limit-by-likelihood" in codes(found)
    assert found.linearity is not None
    assert found.linearity.tested_by == "quadratic"
    # the line lies on or below the limit at every range tested
    at = evaluated(given_series, range_mpa=np.unique(given_series.range_mpa))
    below = at.design_curve.life_cycles(at.range_mpa)
    assert (below <= at.life_tolerance_cycles * (1.0 + 1e-9)).all()
    with pytest.raises(InputError, match="take tolerance") as caught:
        evaluated(given_series, rule="iiw")
    assert caught.value.path == ("rule",)


def test_bounds_stand_by_default_between_the_failures() -> None:
    found = evaluated(series(stop=10**6.1))
    assert len(found.range_mpa) == 25
    assert "bounds-extrapolated" not in codes(found)
    one = evaluated(series(ranges=np.full(6, 150.0)), fixed_slope=3.0)
    assert one.range_mpa.tolist() == pytest.approx([150.0])
    far = evaluated(series(), range_mpa=np.array([50.0, 150.0]))
    assert "bounds-extrapolated" in codes(far)


def test_bounds_keep_their_order() -> None:
    for stop in (np.inf, 10**6.1):
        found = evaluated(series(stop=stop))
        assert (found.life_tolerance_cycles < found.life_low_cycles).all()
        assert (found.life_band_low_cycles <= found.life_low_cycles).all()
        assert (found.life_low_cycles < found.life_median_cycles).all()
        assert (found.life_median_cycles < found.life_high_cycles).all()
        assert (found.life_high_cycles <= found.life_band_high_cycles).all()


def test_resampling_takes_samples_and_seed_or_neither() -> None:
    found = evaluated(series(), resamples=400, seed=3)
    assert found.life_resampled_low_cycles is not None
    assert found.life_resampled_high_cycles is not None
    assert found.life_resampled_cycles is not None
    assert found.life_resampled_low_cycles == pytest.approx(found.life_low_cycles, rel=0.1)
    assert found.life_resampled_high_cycles == pytest.approx(found.life_high_cycles, rel=0.1)
    assert found.life_resampled_cycles == pytest.approx(found.life_tolerance_cycles, rel=0.3)
    assert "parametric-resampling" in found.sources
    assert evaluated(series()).life_resampled_cycles is None
    for other, missing in (({"resamples": 400}, "seed"), ({"seed": 3}, "resamples")):
        with pytest.raises(InputError, match=f"{missing} is missing") as caught:
            evaluated(series(), **other)
        assert caught.value.path == (missing,)


def test_what_is_doubtful_is_said() -> None:
    assert "line-slope-unusual" in codes(evaluated(series(), fixed_slope=9.0))
    assert "scatter-unusual" in codes(evaluated(series(scatter=0.01)))
    assert "few-failures" in codes(evaluated(series(ranges=RANGES[::3])))
    assert "few-failures" not in codes(evaluated(series()))
    assert "reference-life-extrapolated" in codes(evaluated(series(ranges=RANGES * 2.0)))
    loads = series_from_loads(RANGES / 40.0, 40.0, series().life_cycles, origin="strain gauges")
    assert "ranges-derived" in codes(evaluated(loads))


@pytest.mark.parametrize(
    ("other", "path"),
    [
        ({"survival_probability": 0.4}, ("survival_probability",)),
        ({"survival_probability": float("nan")}, ("survival_probability",)),
        ({"confidence": 1.0}, ("confidence",)),
        ({"rule": "guess"}, ("rule",)),
        ({"fixed_slope": -3.0}, ("fixed_slope",)),
        ({"fixed_slope": 1e6}, ("fixed_slope",)),
        ({"range_mpa": np.array([100.0, np.nan])}, ("range_mpa",)),
        ({"range_mpa": np.array([1e-30, 100.0]), "fixed_slope": 20.0}, ("range_mpa",)),
        ({"resamples": 5, "seed": 1}, ("resamples",)),
        ({"distribution": "uniform"}, ("distribution",)),
    ],
)
def test_bad_questions_are_refused_by_name(other: dict[str, Any], path: tuple[str, ...]) -> None:
    with pytest.raises(InputError) as caught:
        evaluated(series(), **other)
    assert caught.value.path == path


def test_errors_of_the_series_name_it() -> None:
    two = TrialSeries(range_mpa=[100.0, 200.0], life_cycles=[1e6, 1e5])
    with pytest.raises(InputError, match="needs 3") as caught:
        evaluated(two)
    assert caught.value.path == ("series", "life_cycles")
    named = TrialSeries(name="x" * 150, range_mpa=RANGES, life_cycles=series().life_cycles)
    with pytest.raises(InputError) as caught:
        evaluated(named)
    assert caught.value.path == ("series", "name")


def test_a_line_that_hardly_falls_has_no_range_at_two_million_cycles() -> None:
    flat = TrialSeries(range_mpa=[100.0, 1e20, 1e30, 1e25], life_cycles=[1e5, 0.9e5, 0.7e5, 0.9e5])
    with pytest.raises(InputError, match="range of numbers") as caught:
        evaluated(flat)
    assert caught.value.path[0] == "series"


def test_position_beside_a_curve_counts_deviations_and_failures_below() -> None:
    curve = user_defined_curve(
        name="drawn", range_mpa=[90.0], life_cycles=[2e6], slopes=[3.0], survival_probability=0.977, sd_log10_cycles=0.2
    )
    given_series = TrialSeries(
        range_mpa=[180.0, 180.0, 90.0], life_cycles=[1e6, 2e5, 1e6], run_out=[False, False, True]
    )
    found = position_of(given_series, curve)
    assert found.design_life_cycles == pytest.approx([2.5e5, 2.5e5, 2e6])
    assert found.life_factor == pytest.approx([4.0, 0.8, 0.5])
    assert found.range_factor == pytest.approx(np.array([4.0, 0.8, 0.5]) ** (1.0 / 3.0))
    assert found.deviations_above_mean == pytest.approx(np.log10([4.0, 0.8, 0.5]) / 0.2 - 2.0)
    assert found.below.tolist() == [False, True, True]
    assert found.share_below == pytest.approx(2.0 / 3.0)
    assert found.least_life_factor == pytest.approx(0.8)
    assert "tests-below-curve" in codes(found)


def test_position_below_the_cut_off_and_without_a_survival_is_not_known() -> None:
    curve = user_defined_curve(range_mpa=[90.0], life_cycles=[2e6], slopes=[3.0], cut_off_cycles=1e7)
    given_series = TrialSeries(range_mpa=[40.0, 100.0], life_cycles=[5e6, 9e6], run_out=[False, False])
    found = position_of(given_series, curve)
    assert found.design_life_cycles[0] == np.inf
    assert found.life_factor[0] == 0.0
    assert np.isinf(found.deviations_above_mean).all()
    assert {"failed-below-cut-off", "tests-below-curve"} <= codes(found)


def test_position_refuses_a_curve_of_energy() -> None:
    curve = user_defined_curve(range_mpa=[90.0], life_cycles=[2e6], slopes=[3.0])
    with pytest.raises(NotCoveredError):
        position_of(series(), replace(curve, quantity="energy density range"))


@settings(max_examples=20, deadline=None)
@given(st.floats(0.01, 100.0), st.permutations(range(12)))
def test_units_of_range_move_ranges_only(by: float, order: list[int]) -> None:
    one = series()
    two = TrialSeries(range_mpa=np.asarray(one.range_mpa)[order] * by, life_cycles=np.asarray(one.life_cycles)[order])
    first, second = evaluated(one), evaluated(two)
    assert second.range_mpa == pytest.approx(first.range_mpa * by)
    assert second.life_tolerance_cycles == pytest.approx(first.life_tolerance_cycles, rel=1e-7)
    assert second.range_at_two_million_mpa == pytest.approx(first.range_at_two_million_mpa * by)
    assert second.scatter.range_2_98 == pytest.approx(first.scatter.range_2_98)
    assert second.linearity is not None
    assert first.linearity is not None
    assert second.linearity.test_statistic == pytest.approx(first.linearity.test_statistic)
