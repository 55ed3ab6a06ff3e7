"""Lines through series of tests: against least squares of numpy, brute search of the likelihood, simulated series."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import optimize, stats

from fatcore.errors import InputError
from fatcore.trials.sn import likelihood
from fatcore.trials.sn.fit import SnFit, fit_line, standard_quantile
from fatcore.trials.sn.likelihood import Distribution, maximum_likelihood
from fatcore.trials.sn.series import TrialSeries, series_from_loads

RANGES = np.repeat([100.0, 140.0, 200.0, 280.0], 3)
SEV_DEVIATION = math.pi / math.sqrt(6.0)


def series(seed: int = 1, *, stop: float = np.inf, ranges: np.ndarray = RANGES, slope: float = 3.0) -> TrialSeries:
    """Normal scatter of 0.2 about log10 N = 12.3 - slope log10 S; stopped at a life."""
    draws = np.random.default_rng(seed).standard_normal(len(ranges))
    life = 10.0 ** (12.3 - slope * np.log10(ranges) + 0.2 * draws)
    return TrialSeries(range_mpa=ranges, life_cycles=np.minimum(life, stop), run_out=life >= stop)


def negative_likelihood(given: TrialSeries, distribution: Distribution, slope: float | None) -> optimize.OptimizeResult:
    """The maximum by a search without derivatives."""
    x, y, failed = given.log10_range - 2.2, given.log10_life - 5.5, given.failed
    law = stats.norm if distribution == "normal" else stats.gumbel_l

    def value(theta: np.ndarray) -> float:
        a, b, log_scale = theta if slope is None else (theta[0], slope, theta[1])
        line = a - b * x
        scale = math.exp(log_scale)
        found = np.where(failed, law.logpdf(y, line, scale), law.logsf(y, line, scale))
        return -float(found.sum())

    start = [0.0, 3.0, -1.5] if slope is None else [0.0, -1.5]
    options = {"xatol": 1e-9, "fatol": 1e-11, "maxiter": 4000, "maxfev": 4000}
    return optimize.minimize(value, start, method="Nelder-Mead", options=options)


def test_least_squares_are_those_of_numpy() -> None:
    found, given_series = fit_line(series()), series()
    slope, constant = np.polyfit(given_series.log10_range, given_series.log10_life, 1)
    left = given_series.log10_life - constant - slope * given_series.log10_range
    assert (found.slope, found.log10_constant) == pytest.approx((-slope, constant), rel=1e-12)
    assert found.sd_log10_cycles == pytest.approx(math.sqrt((left @ left) / 10.0), rel=1e-12)
    assert found.likelihood_scatter == pytest.approx(math.sqrt((left @ left) / 12.0), rel=1e-12)
    assert found.log_likelihood == pytest.approx(stats.norm.logpdf(left, scale=found.likelihood_scatter).sum())
    assert (found.degrees_of_freedom, found.failures, found.method) == (10, 12, "least-squares")


def test_a_fixed_slope_leaves_the_mean_of_the_constants() -> None:
    found, given_series = fit_line(series(), 3.0), series()
    constants = given_series.log10_life + 3.0 * given_series.log10_range
    assert found.log10_constant == pytest.approx(constants.mean(), rel=1e-13)
    assert found.sd_log10_cycles == pytest.approx(constants.std(ddof=1), rel=1e-12)
    assert found.degrees_of_freedom == 11


@pytest.mark.parametrize("slope", [None, 3.0])
@pytest.mark.parametrize("distribution", ["normal", "smallest-extreme-value"])
def test_the_likelihood_has_the_maximum_that_a_search_finds(slope: float | None, distribution: Distribution) -> None:
    given_series = series(3, stop=10**5.9)
    assert 2 <= (~given_series.failed).sum() <= 6
    found = fit_line(given_series, slope, distribution)
    best = negative_likelihood(given_series, distribution, slope)
    constant, exponent = best.x[0], slope or best.x[1]
    assert found.log_likelihood == pytest.approx(-best.fun, abs=1e-8)
    assert found.slope == pytest.approx(exponent, abs=1e-4)
    assert found.log10_constant == pytest.approx(constant + 5.5 + exponent * 2.2, abs=3e-4)
    deviation = 1.0 if distribution == "normal" else SEV_DEVIATION
    assert found.likelihood_scatter == pytest.approx(math.exp(best.x[-1]) * deviation, rel=1e-4)
    freedom = found.failures - (2 if slope is None else 1)
    assert found.degrees_of_freedom == freedom
    ratio = found.sd_log10_cycles / found.likelihood_scatter
    assert ratio == pytest.approx(math.sqrt(found.failures / freedom))


def test_the_covariance_is_the_inverse_curvature_of_the_likelihood() -> None:
    given_series = series(3, stop=10**5.9)
    found = fit_line(given_series)
    assert found.covariance is not None
    x = given_series.log10_range - found.mean_log10_range

    def value(theta: np.ndarray) -> float:
        scale = math.exp(theta[2])
        line = theta[0] + theta[1] * x
        y = given_series.log10_life
        ahead = np.where(given_series.failed, stats.norm.logpdf(y, line, scale), stats.norm.logsf(y, line, scale))
        return float(ahead.sum())

    centre = found.location(np.array(found.mean_log10_range))
    top = np.array([float(centre), -found.slope, math.log(found.likelihood_scatter)])
    step, curvature = 1e-4, np.empty((3, 3))
    for i in range(3):
        for j in range(3):
            one, two = np.eye(3)[i] * step, np.eye(3)[j] * step
            parts = value(top + one + two) - value(top + one - two) - value(top - one + two) + value(top - one - two)
            curvature[i, j] = parts / (4.0 * step * step)
    assert found.covariance == pytest.approx(np.linalg.inv(-curvature), rel=1e-3, abs=1e-6)


@pytest.mark.parametrize("slope", [None, 3.0])
def test_without_run_outs_the_likelihood_gives_least_squares(slope: float | None) -> None:
    given_series = series()
    squares = fit_line(given_series, slope)
    x = given_series.log10_range - squares.mean_log10_range
    design = np.ones((12, 1)) if slope else np.column_stack([np.ones(12), x])
    y = given_series.log10_life + (slope or 0.0) * x
    found = maximum_likelihood(y[np.newaxis], design, np.ones((1, 12), dtype=bool), "normal")
    assert float(found.scale[0]) == pytest.approx(squares.likelihood_scatter, rel=1e-9)
    assert float(found.location[0, 0]) == pytest.approx(float(squares.location(np.array(squares.mean_log10_range))))
    assert float(found.value[0]) == pytest.approx(squares.log_likelihood, rel=1e-9)
    # s of greatest likelihood divides by n: s = s_ls sqrt((n - 2)/n)
    assert float(found.scale[0]) == pytest.approx(
        squares.sd_log10_cycles * math.sqrt(squares.degrees_of_freedom / 12.0), rel=1e-9
    )


@pytest.mark.parametrize("share", [0.001, 0.1, 0.5, 0.9])
def test_quantiles_are_those_of_the_distributions(share: float) -> None:
    assert standard_quantile("normal", share) == pytest.approx(stats.norm.ppf(share), abs=1e-12)
    extreme = stats.gumbel_l.ppf(share, scale=1.0 / SEV_DEVIATION)
    assert stats.gumbel_l.std(scale=1.0 / SEV_DEVIATION) == pytest.approx(1.0)
    assert standard_quantile("smallest-extreme-value", share) == pytest.approx(extreme, rel=1e-12)


@pytest.mark.parametrize("share", [0.95, 0.975, 0.977, 0.9772, 0.97725, 0.999])
def test_a_share_is_exact_also_where_documents_mean_a_line_by_it(share: float) -> None:
    assert standard_quantile("normal", 1.0 - share) == pytest.approx(-stats.norm.ppf(share), rel=1e-12)
    assert standard_quantile("normal", share) == pytest.approx(stats.norm.ppf(share), rel=1e-12)


def test_many_series_recover_slope_constant_and_scatter() -> None:
    # 400 series of 12 tests: the mean of each estimate lies within four of its standard errors
    fits = [fit_line(series(seed)) for seed in range(400)]
    for name, true in (("slope", 3.0), ("log10_constant", 12.3)):
        values = np.array([getattr(fit, name) for fit in fits])
        assert abs(values.mean() - true) < 4.0 * values.std(ddof=1) / 20.0
    variances = np.array([fit.sd_log10_cycles**2 for fit in fits])
    assert abs(variances.mean() - 0.04) < 4.0 * variances.std(ddof=1) / 20.0


def test_leaving_out_run_outs_would_make_the_line_flatter_than_the_likelihood_does() -> None:
    given_series = series(3, stop=10**5.9, ranges=np.repeat([120.0, 170.0, 240.0], 8))
    kept = given_series.failed
    only = TrialSeries(
        range_mpa=np.asarray(given_series.range_mpa)[kept], life_cycles=np.asarray(given_series.life_cycles)[kept]
    )
    assert fit_line(only).slope < fit_line(given_series).slope


@settings(max_examples=30, deadline=None)
@given(st.floats(1e-3, 1e3), st.floats(1e-3, 1e3), st.permutations(range(12)), st.booleans())
def test_scaling_of_ranges_and_cycles_moves_the_constant_and_the_order_of_tests_nothing(
    by_range: float, by_life: float, order: list[int], stopped: bool
) -> None:
    one = series(3, stop=10**5.9 if stopped else np.inf)
    two = TrialSeries(
        range_mpa=np.asarray(one.range_mpa)[order] * by_range,
        life_cycles=np.asarray(one.life_cycles)[order] * by_life,
        run_out=(~one.failed)[order],
    )
    first, second = fit_line(one), fit_line(two)
    assert second.slope == pytest.approx(first.slope, rel=1e-8)
    assert second.sd_log10_cycles == pytest.approx(first.sd_log10_cycles, rel=1e-8)
    moved = first.log10_constant + math.log10(by_life) + first.slope * math.log10(by_range)
    assert second.log10_constant == pytest.approx(moved, abs=1e-7)


def test_loads_times_a_factor_are_the_ranges_and_keep_where_it_comes_from() -> None:
    made = series_from_loads(
        [1.0, 2.0, 3.0], 40.0, [1e6, 1e5, 4e4], origin="finite elements of the bracket", run_out=[True, False, False]
    )
    assert made.range_mpa == pytest.approx([40.0, 80.0, 120.0])
    assert "40 MPa per unit load: finite elements of the bracket" in made.origin
    assert made.failed.tolist() == [False, True, True]


BAD: list[tuple[dict[str, object], float | None, tuple[str, ...], str]] = [
    ({"range_mpa": [100.0, 200.0], "life_cycles": [1e6, 1e5]}, None, ("life_cycles",), "needs 3"),
    ({"range_mpa": [100.0], "life_cycles": [1e6]}, 3.0, ("life_cycles",), "needs 2"),
    ({"range_mpa": [100.0] * 4, "life_cycles": [1e6, 2e6, 3e6, 4e6]}, None, ("range_mpa",), "one stress range"),
    ({"range_mpa": [100.0, 101.0, 102.0], "life_cycles": [1e5, 1e6, 1e7]}, None, ("life_cycles",), "do not fall"),
    ({"range_mpa": [100.0, 100.1, 100.0], "life_cycles": [1e9, 1e5, 2e9]}, None, ("range_mpa",), "hardly differ"),
    ({"range_mpa": [100.0, 200.0, 400.0], "life_cycles": [64e4, 8e4, 1e4]}, None, ("life_cycles",), "without scatter"),
]


@pytest.mark.parametrize(("columns", "slope", "path", "words"), BAD)
def test_series_that_settle_no_line_are_refused(
    columns: dict[str, object], slope: float | None, path: tuple[str, ...], words: str
) -> None:
    with pytest.raises(InputError, match=words) as caught:
        fit_line(TrialSeries(**columns), slope)  # type: ignore[arg-type]
    assert caught.value.path == path


def test_failures_on_one_line_below_run_outs_have_no_scatter() -> None:
    ranges, lives = [100.0, 200.0, 400.0, 50.0], [64e4, 8e4, 1e4, 1e6]
    with pytest.raises(InputError, match="scatter") as caught:
        fit_line(TrialSeries(range_mpa=ranges, life_cycles=lives, run_out=[False, False, False, True]))
    assert caught.value.path == ("life_cycles",)


@pytest.mark.parametrize(
    ("columns", "path"),
    [
        ({"range_mpa": [100.0, float("nan")], "life_cycles": [1e5, 1e6]}, ("range_mpa",)),
        ({"range_mpa": [100.0, 90.0], "life_cycles": [1e5, -1e6]}, ("life_cycles",)),
        ({"range_mpa": [100.0, 90.0], "life_cycles": [1e5, float("inf")]}, ("life_cycles",)),
        ({"range_mpa": [100.0, 90.0], "life_cycles": [1e5]}, ("life_cycles",)),
        ({"range_mpa": [], "life_cycles": []}, ("range_mpa",)),
        ({"range_mpa": [100.0], "life_cycles": [1e5], "run_out": [False, True]}, ("run_out",)),
        ({"range_mpa": [100.0, 90.0], "life_cycles": [1e5, 1e6], "run_out": [True, True]}, ("run_out",)),
        ({"range_mpa": np.full(10_001, 80.0), "life_cycles": np.full(10_001, 1e5)}, ("range_mpa",)),
        ({"name": "", "range_mpa": [100.0], "life_cycles": [1e5]}, ("name",)),
    ],
)
def test_bad_columns_are_refused_by_name(columns: dict[str, object], path: tuple[str, ...]) -> None:
    with pytest.raises(InputError) as caught:
        TrialSeries(**columns)  # type: ignore[arg-type]
    assert caught.value.path[:1] == path


def test_a_likelihood_without_a_line_to_find_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    y, design = np.array([[5.0, 6.0, 5.5]]), np.ones((3, 2))  # two columns that are one
    with pytest.raises(InputError, match="do not settle"):
        maximum_likelihood(y, design, np.ones((1, 3), dtype=bool), "normal")
    monkeypatch.setattr("fatcore.trials.sn.likelihood._STEPS", 1)
    with pytest.raises(InputError, match="do not settle"):
        fit_line(series(3, stop=10**5.9))


def test_steps_that_overshoot_are_halved_until_the_likelihood_rises(monkeypatch: pytest.MonkeyPatch) -> None:
    plain, solve = fit_line(series(3, stop=10**5.9)), likelihood._solve
    monkeypatch.setattr(likelihood, "_solve", lambda matrix, right: 3.0 * solve(matrix, right))
    monkeypatch.setattr(likelihood, "_STEPS", 200)
    found = fit_line(series(3, stop=10**5.9))
    assert found.log_likelihood == pytest.approx(plain.log_likelihood, abs=1e-8)
    assert found.slope == pytest.approx(plain.slope, abs=1e-4)
    monkeypatch.setattr(likelihood, "_HALVINGS", 0)
    with pytest.raises(InputError, match="do not settle"):
        fit_line(series(3, stop=10**5.9))


def test_a_fit_states_its_leverage() -> None:
    free, fixed = fit_line(series()), fit_line(series(), 3.0)
    at = np.array([free.mean_log10_range, 2.6])
    assert free.leverage(at)[0] == pytest.approx(1.0 / 12.0)
    assert free.leverage(at)[1] == pytest.approx(1.0 / 12.0 + (2.6 - free.mean_log10_range) ** 2 / free.spread)
    assert fixed.leverage(at) == pytest.approx([1.0 / 12.0] * 2)
    assert isinstance(free, SnFit)
