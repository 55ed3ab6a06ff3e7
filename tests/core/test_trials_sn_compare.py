"""Two series beside each other: against nested least-squares models and the two-sample tests of scipy."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import optimize, stats

from fatcore.errors import InputError
from fatcore.trials import TrialSeries, compare_series, series_from_loads
from fatcore.trials.sn.compare import SeriesComparison

FIRST = np.repeat([100.0, 140.0, 200.0], 3)
SECOND = np.repeat([120.0, 180.0, 260.0, 300.0], 2)


def series(seed: int, ranges: np.ndarray, *, constant: float = 12.3, slope: float = 3.0, scatter: float = 0.2) -> Any:
    draws = np.random.default_rng(seed).standard_normal(len(ranges))
    return TrialSeries(range_mpa=ranges, life_cycles=10.0 ** (constant - slope * np.log10(ranges) + scatter * draws))


def compared(first: TrialSeries, second: TrialSeries, **other: Any) -> SeriesComparison:
    return compare_series(first, second, **{"confidence": 0.95, **other})


def left_squares(columns: list[np.ndarray], y: np.ndarray) -> float:
    """Squares left by a linear model."""
    design = np.column_stack(columns)
    return float(np.square(y - design @ np.linalg.lstsq(design, y, rcond=None)[0]).sum())


def models(first: TrialSeries, second: TrialSeries) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    x = np.concatenate([first.log10_range, second.log10_range])
    y = np.concatenate([first.log10_life, second.log10_life])
    group = np.repeat([0.0, 1.0], [len(first.log10_range), len(second.log10_range)])
    return x, y, group


def test_t_squared_of_slopes_and_level_is_the_f_of_nested_models() -> None:
    first, second = series(1, FIRST), series(2, SECOND, constant=12.6, slope=3.4)
    found = compared(first, second)
    x, y, group = models(first, second)
    one = np.ones_like(x)
    whole = left_squares([one, x, group, group * x], y)
    parallel = left_squares([one, x, group], y)
    single = left_squares([one, x], y)
    freedom = len(x) - 4
    assert found.slope_difference is not None
    assert found.slope_difference.test_statistic**2 == pytest.approx((parallel - whole) / (whole / freedom))
    assert found.level.test_statistic**2 == pytest.approx((single - parallel) / (parallel / (freedom + 1)))
    statistic = (single - whole) / 2.0 / (whole / freedom)
    assert found.one_line.test_statistic == pytest.approx(statistic)
    assert found.one_line.chance == pytest.approx(stats.f.sf(statistic, 2, freedom))
    assert (found.one_line.degrees_of_freedom, found.one_line.second_degrees_of_freedom) == (2, freedom)
    for test, free in ((found.slope_difference, freedom), (found.level, freedom + 1)):
        assert test.degrees_of_freedom == free
        assert test.chance == pytest.approx(2.0 * stats.t.sf(abs(test.test_statistic), free))
        assert test.differ == (test.chance < 0.05)


def test_the_shift_is_that_of_the_parallel_lines_with_its_interval() -> None:
    first, second = series(1, FIRST), series(2, SECOND, constant=12.6)
    found = compared(first, second)
    x, y, group = models(first, second)
    design = np.column_stack([np.ones_like(x), -x, group])
    b = np.linalg.lstsq(design, y, rcond=None)[0]
    left = y - design @ b
    free = len(x) - 3
    error = np.sqrt(np.linalg.inv(design.T @ design)[2, 2] * (left @ left) / free)
    reach = stats.t.ppf(0.975, free) * error
    assert found.common_slope == pytest.approx(b[1])
    limits = [found.life_factor, found.life_factor_low, found.life_factor_high]
    assert np.log10(limits) == pytest.approx([b[2], b[2] - reach, b[2] + reach])
    assert found.range_factor == pytest.approx(found.life_factor ** (1.0 / b[1]))


def test_a_fixed_slope_leaves_the_two_sample_t_of_the_constants() -> None:
    first, second = series(1, FIRST), series(2, SECOND, constant=12.6)
    found = compared(first, second, fixed_slope=3.0)
    constants = [each.log10_life + 3.0 * each.log10_range for each in (first, second)]
    reference = stats.ttest_ind(constants[1], constants[0])
    assert found.slope_difference is None
    assert found.common_slope == 3.0
    assert found.level.test_statistic == pytest.approx(reference.statistic)
    assert found.level.chance == pytest.approx(reference.pvalue)
    assert found.one_line.test_statistic == pytest.approx(reference.statistic**2)
    assert found.one_line.chance == pytest.approx(reference.pvalue)


def test_a_series_of_doubled_lives_has_the_same_slope_to_the_last_digits() -> None:
    first = series(1, FIRST)
    second = TrialSeries(range_mpa=FIRST, life_cycles=2.0 * np.asarray(first.life_cycles))
    found = compared(first, second)
    assert found.slope_difference is not None
    assert found.slope_difference.test_statistic == pytest.approx(0.0, abs=1e-11)
    assert found.life_factor == pytest.approx(2.0, rel=1e-12)
    itself = compared(first, first)
    assert itself.level.test_statistic == pytest.approx(0.0, abs=1e-11)
    assert itself.one_line.test_statistic == pytest.approx(0.0, abs=1e-11)


def test_means_at_one_level_are_the_ordinary_two_sample_test() -> None:
    first, second = series(1, np.full(6, 150.0)), series(2, np.full(8, 150.0), constant=12.7)
    found = compared(first, second, fixed_slope=5.0)
    reference = stats.ttest_ind(second.log10_life, first.log10_life)
    assert found.level.test_statistic == pytest.approx(reference.statistic)


@pytest.mark.parametrize("scatters", [(0.1, 0.4), (0.4, 0.1), (0.2, 0.21)])
def test_the_ratio_of_variances_is_the_f_of_both_sides(scatters: tuple[float, float]) -> None:
    first, second = series(1, FIRST, scatter=scatters[0]), series(2, SECOND, scatter=scatters[1])
    found = compared(first, second)
    variances = []
    for each in (first, second):
        squares = left_squares([np.ones_like(each.log10_range), each.log10_range], each.log10_life)
        variances.append(squares / (len(each.log10_life) - 2))
    ratio = variances[0] / variances[1]
    law = stats.f(len(FIRST) - 2, len(SECOND) - 2)
    assert found.variance.chance == pytest.approx(2.0 * min(law.sf(ratio), law.cdf(ratio)))
    assert found.variance.test_statistic == pytest.approx(max(ratio, 1.0 / ratio))


def test_series_of_one_law_differ_as_seldom_as_the_confidence_says() -> None:
    names = ("variance", "slope_difference", "level", "one_line")
    count = dict.fromkeys(names, 0)
    for seed in range(120):
        found = compared(series(seed, FIRST), series(1000 + seed, SECOND))
        for name in names:
            count[name] += getattr(found, name).differ
    for name in names:
        assert count[name] <= stats.binom.ppf(1.0 - 1e-4, 120, 0.05), name


def test_what_is_doubtful_is_said() -> None:
    def codes(found: SeriesComparison) -> set[str]:
        return {each.code for each in found.findings}

    plain = codes(compared(series(1, FIRST), series(2, SECOND)))
    assert plain == {"common-variance"}
    assert "variances-differ" in codes(compared(series(1, FIRST, scatter=0.02), series(2, SECOND, scatter=0.5)))
    assert "slopes-differ" in codes(compared(series(1, FIRST, slope=3.0), series(2, SECOND, slope=6.0)))
    assert "ranges-apart" in codes(compared(series(1, FIRST), series(2, SECOND * 3.0)))
    loads = series_from_loads(FIRST, 2.0, series(1, FIRST).life_cycles, origin="beam theory")
    assert "ranges-derived" in codes(compared(loads, series(2, SECOND)))


def stopped(given: TrialSeries, stop: float) -> TrialSeries:
    lives = np.asarray(given.life_cycles)
    return TrialSeries(range_mpa=given.range_mpa, life_cycles=np.minimum(lives, stop), run_out=lives >= stop)


def test_one_run_out_beyond_all_failures_changes_little() -> None:
    first, second = series(1, np.repeat(FIRST, 6)), series(2, np.repeat(SECOND, 6), constant=12.6)
    longest = float(np.max(second.life_cycles))
    plain, found = compared(first, second), compared(first, stopped(second, longest))
    for name in ("slope_difference", "level", "one_line", "variance"):
        one, two = getattr(plain, name), getattr(found, name)
        assert two.test_statistic == pytest.approx(one.test_statistic, rel=0.15, abs=0.1), name
    assert found.level.degrees_of_freedom == plain.level.degrees_of_freedom - 1
    assert found.life_factor == pytest.approx(plain.life_factor, rel=0.03)
    assert "approximate" in next(each.message for each in found.findings if each.code == "common-variance")


def test_with_run_outs_the_statistic_is_the_ratio_of_likelihoods() -> None:
    first, second = stopped(series(1, FIRST), 6e5), stopped(series(2, SECOND, constant=12.6), 8e5)
    found = compared(first, second, fixed_slope=3.0)
    lives = [each.log10_life + 3.0 * each.log10_range for each in (first, second)]
    failed = [each.failed for each in (first, second)]

    def negative(theta: np.ndarray, *, shifted: bool) -> float:
        total, means = 0.0, (theta[0], theta[0] + (theta[2] if shifted else 0.0))
        for y, broke, mean in zip(lives, failed, means, strict=True):
            law = stats.norm(mean, np.exp(theta[1]))
            total -= float(np.where(broke, law.logpdf(y), law.logsf(y)).sum())
        return total

    options = {"xatol": 1e-9, "fatol": 1e-12, "maxiter": 4000}
    one = optimize.minimize(lambda t: negative(t, shifted=False), [12.3, -1.6], method="Nelder-Mead", options=options)
    two = optimize.minimize(
        lambda t: negative(t, shifted=True), [12.3, -1.6, 0.2], method="Nelder-Mead", options=options
    )
    failures = int(sum(each.sum() for each in failed))
    statistic = np.expm1(2.0 * (one.fun - two.fun) / failures) * (failures - 2)
    assert found.one_line.test_statistic == pytest.approx(statistic, rel=1e-5)
    assert found.level.test_statistic == pytest.approx(np.sqrt(statistic), rel=1e-5)
    assert found.life_factor == pytest.approx(10.0 ** two.x[2], rel=1e-4)


def test_series_of_one_law_with_run_outs_differ_about_as_seldom_as_the_confidence_says() -> None:
    names = ("variance", "slope_difference", "level", "one_line")
    count = dict.fromkeys(names, 0)
    first, second = np.repeat(FIRST, 2), np.repeat(SECOND, 2)
    for seed in range(80):
        found = compared(stopped(series(seed, first), 1.2e6), stopped(series(1000 + seed, second), 8e5))
        for name in names:
            count[name] += getattr(found, name).differ
    for name in names:
        assert count[name] <= stats.binom.ppf(1.0 - 1e-3, 80, 0.06), name


def test_errors_name_the_series() -> None:
    with pytest.raises(InputError, match="needs 3") as caught:
        compared(series(1, FIRST), series(2, SECOND[[0, 7]]))
    assert caught.value.path == ("second", "life_cycles")


def test_two_large_series_are_compared_and_far_ones_refused() -> None:
    large = np.repeat(FIRST, 800)
    assert compared(series(1, large), series(2, large)).one_line.degrees_of_freedom == 2
    with pytest.raises(InputError, match="range of numbers") as caught:
        compared(series(1, FIRST * 1e-2), series(2, FIRST * 1e2), fixed_slope=100.0)
    assert caught.value.path == ("second", "range_mpa")


@settings(max_examples=20, deadline=None)
@given(st.floats(0.1, 10.0), st.floats(0.1, 10.0))
def test_units_leave_the_comparison_alone_and_swapping_turns_it_round(by_range: float, by_life: float) -> None:
    first, second = series(1, FIRST), series(2, SECOND, constant=12.6)
    plain = compared(first, second)
    scaled = compared(
        *(
            TrialSeries(range_mpa=each.range_mpa * by_range, life_cycles=each.life_cycles * by_life)
            for each in (first, second)
        )
    )
    turned = compared(second, first)
    assert scaled.life_factor == pytest.approx(plain.life_factor, rel=1e-8)
    assert scaled.one_line.test_statistic == pytest.approx(plain.one_line.test_statistic, rel=1e-6)
    assert turned.life_factor == pytest.approx(1.0 / plain.life_factor)
    assert turned.life_factor_low == pytest.approx(1.0 / plain.life_factor_high)
    assert turned.variance.chance == pytest.approx(plain.variance.chance)
