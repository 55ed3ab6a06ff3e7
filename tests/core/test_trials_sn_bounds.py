"""Bounds of lines: factors against double integration and scipy.stats, and how often simulated bounds hold."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import integrate, stats

from fatcore.errors import InputError
from fatcore.trials.sn.bounds import bounds_at, powers_of_ten
from fatcore.trials.sn.factors import (
    band_factor,
    iiw_factor,
    iso_factor,
    prediction_factor,
    student,
    tolerance_factor,
)
from fatcore.trials.sn.fit import fit_line, standard_quantile
from fatcore.trials.sn.likelihood import Distribution
from fatcore.trials.sn.resampling import resample_band
from fatcore.trials.sn.series import TrialSeries

RANGES = np.repeat([100.0, 140.0, 200.0, 280.0], 3)
AT = np.log10([100.0, 200.0, 280.0])
SAMPLES = 250
DEVIATION = {"normal": 1.0, "smallest-extreme-value": math.pi / math.sqrt(6.0)}


def sampled(
    seed: int, *, distribution: Distribution = "normal", stop: float = np.inf, ranges: np.ndarray = RANGES
) -> TrialSeries:
    rng = np.random.default_rng(seed)
    normal = distribution == "normal"
    z = rng.standard_normal(len(ranges)) if normal else np.log(rng.standard_exponential(len(ranges)))
    life = 10.0 ** (12.3 - 3.0 * np.log10(ranges) + 0.2 * z / DEVIATION[distribution])
    return TrialSeries(range_mpa=ranges, life_cycles=np.minimum(life, stop), run_out=life >= stop)


@pytest.mark.parametrize(("size", "survival", "confidence"), [(3, 0.95, 0.95), (6, 0.9, 0.9), (20, 0.99, 0.75)])
def test_the_tolerance_factor_is_that_of_a_double_integral(size: int, survival: float, confidence: float) -> None:
    # probability that mean - k s lies below the quantile, over the distributions of mean and deviation
    factor = tolerance_factor(size - 1, 1.0 / size, survival, confidence)
    deviations = stats.norm.ppf(survival)

    def given_scatter(ratio: float) -> float:
        return float(
            stats.norm.cdf((factor * ratio - deviations) * math.sqrt(size)) * stats.chi.pdf(ratio * root, size - 1)
        )

    root = math.sqrt(size - 1.0)
    total, _ = integrate.quad(given_scatter, 0.0, 12.0, limit=200)
    assert total * root == pytest.approx(confidence, abs=1e-7)


def test_the_tolerance_factor_of_a_point_of_a_line_is_that_of_a_double_integral() -> None:
    freedom, leverage = 7, 0.33539
    factor = tolerance_factor(freedom, leverage, 0.95, 0.95)
    deviations, root = stats.norm.ppf(0.95), math.sqrt(freedom)

    def density(ratio: float) -> float:
        below = stats.norm.cdf((factor * ratio - deviations) / math.sqrt(leverage))
        return float(below * stats.chi.pdf(ratio * root, freedom) * root)

    assert integrate.quad(density, 0.0, 12.0, limit=200)[0] == pytest.approx(0.95, abs=1e-7)


def test_factors_are_those_of_the_distributions_of_scipy() -> None:
    assert prediction_factor(7, 0.2, 0.95) == pytest.approx(stats.t.ppf(0.95, 7) * math.sqrt(1.2), rel=1e-12)
    assert student(9, 0.9) == pytest.approx(stats.t.ppf(0.95, 9), rel=1e-12)
    assert band_factor(9, 0.9) == pytest.approx(math.sqrt(2.0 * stats.f.ppf(0.9, 2, 9)), rel=1e-12)
    sample = stats.nct.ppf(0.9, 9, stats.norm.ppf(0.95) * math.sqrt(10.0)) / math.sqrt(10.0)
    assert iso_factor(9, 0.3, 0.95, 0.9) == pytest.approx(sample * math.sqrt(1.3), rel=1e-10)
    of_mean = stats.t.ppf(0.875, 19) / math.sqrt(20.0)
    of_scatter = stats.norm.ppf(0.95) * math.sqrt(19.0 / stats.chi2.ppf(0.125, 19))
    assert iiw_factor(20) == pytest.approx(of_mean + of_scatter, rel=1e-12)


@pytest.mark.parametrize(("freedom", "above_at_the_ends"), [(1, True), (8, True), (20, False), (100, False)])
def test_the_form_of_iso_lies_above_the_exact_factor_in_the_middle_only(freedom: int, above_at_the_ends: bool) -> None:
    middle, ends = 1.0 / (freedom + 2.0), 4.0 / (freedom + 2.0)
    assert iso_factor(freedom, middle, 0.95, 0.95) > tolerance_factor(freedom, middle, 0.95, 0.95)
    above = iso_factor(freedom, ends, 0.95, 0.95) > tolerance_factor(freedom, ends, 0.95, 0.95)
    assert above == above_at_the_ends


@pytest.mark.parametrize("slope", [None, 3.0])
def test_bounds_without_run_outs_are_the_exact_ones(slope: float | None) -> None:
    fit = fit_line(sampled(1), slope)
    found = bounds_at(fit, AT, 0.95, 0.9)
    scatter, freedom, leverage = fit.sd_log10_cycles, fit.degrees_of_freedom, fit.leverage(AT)
    both = student(freedom, 0.9) * scatter * np.sqrt(leverage)
    whole = both if slope else band_factor(freedom, 0.9) * scatter * np.sqrt(leverage)
    assert found.median == pytest.approx(fit.location(AT))
    assert found.median - found.low == pytest.approx(both)
    assert found.high - found.median == pytest.approx(both)
    assert found.median - found.band_low == pytest.approx(whole)
    assert found.band_high - found.median == pytest.approx(whole)
    for place, one in enumerate(leverage):
        ahead, most = prediction_factor(freedom, one, 0.95), tolerance_factor(freedom, one, 0.95, 0.9)
        assert found.median[place] - found.prediction[place] == pytest.approx(ahead * scatter)
        assert found.median[place] - found.tolerance[place] == pytest.approx(most * scatter)


def test_the_prediction_of_the_median_specimen_is_the_line() -> None:
    for stop in (np.inf, 10**6.1):
        fit = fit_line(sampled(1, stop=stop))
        found = bounds_at(fit, AT, 0.5, 0.5)
        assert found.prediction == pytest.approx(found.median, abs=0.02)
        assert found.tolerance == pytest.approx(found.median, abs=0.02)


def held(
    distribution: Distribution, stop: float, ranges: np.ndarray = RANGES, slope: float | None = None
) -> dict[str, float]:
    """Share of simulated series whose bounds hold: median at 90 % both sides, band, 95/90, one test ahead at 95 %."""
    line = 12.3 - 3.0 * AT
    median = line + 0.2 * standard_quantile(distribution, 0.5)
    kept = line + 0.2 * standard_quantile(distribution, 0.05)
    law = stats.norm if distribution == "normal" else stats.gumbel_l
    shares = np.zeros(5)
    for seed in range(SAMPLES):
        fit = fit_line(sampled(seed, distribution=distribution, stop=stop, ranges=ranges), slope, distribution)
        found = bounds_at(fit, AT, 0.95, 0.9)
        inside = (found.band_low < median) & (median < found.band_high)
        ahead = law.sf((found.prediction - line) / 0.2, scale=1.0 / DEVIATION[distribution])
        shares += [
            float((found.low < median)[1]),
            float((found.high > median)[1]),
            float(inside.all()),
            float((found.tolerance < kept)[1]),
            float(ahead[1]),
        ]
    return dict(zip(("low", "high", "band", "tolerance", "prediction"), shares / SAMPLES, strict=True))


def at_least(share: float) -> float:
    """Share that so many trials keep but once in ten thousand, where each succeeds with the probability."""
    return float(stats.binom.ppf(1e-4, SAMPLES, share)) / SAMPLES


@pytest.mark.parametrize("slope", [None, 3.0])
def test_exact_bounds_hold_as_often_as_they_say(slope: float | None) -> None:
    shares = held("normal", np.inf, slope=slope)
    for name, share in (("low", 0.95), ("high", 0.95), ("tolerance", 0.9)):
        assert at_least(share) <= shares[name] <= stats.binom.ppf(1.0 - 1e-4, SAMPLES, share) / SAMPLES
    assert shares["band"] >= at_least(0.9)
    assert shares["prediction"] == pytest.approx(0.95, abs=0.015)


@pytest.mark.parametrize(
    ("distribution", "stop"),
    [("normal", 10**6.0), ("smallest-extreme-value", np.inf), ("smallest-extreme-value", 10**6.1)],
)
def test_lower_bounds_by_likelihood_hold_at_least_as_often_as_they_say(distribution: Distribution, stop: float) -> None:
    shares = held(distribution, stop)
    assert shares["low"] >= at_least(0.95)
    assert shares["tolerance"] >= at_least(0.9)
    assert shares["prediction"] >= 0.94


@pytest.mark.parametrize(("slope", "most"), [(None, 0.04), (3.0, 0.02)])
def test_the_resampled_band_repeats_the_exact_one(slope: float | None, most: float) -> None:
    given = sampled(1)
    fit = fit_line(given, slope)
    exact = bounds_at(fit, AT, 0.95, 0.9)
    drawn = resample_band(given, fit, AT, survival_probability=0.95, confidence=0.9, resamples=8000, seed=7)
    assert drawn.samples == 8000
    assert drawn.low == pytest.approx(exact.low, abs=0.25 * most)
    assert drawn.high == pytest.approx(exact.high, abs=0.25 * most)
    assert drawn.lower_limit == pytest.approx(exact.tolerance, abs=most)


@pytest.mark.parametrize("distribution", ["normal", "smallest-extreme-value"])
@pytest.mark.parametrize("slope", [None, 3.0])
def test_the_resampled_band_lies_near_the_one_by_likelihood(distribution: Distribution, slope: float | None) -> None:
    ranges = np.repeat(RANGES, 2)
    given = sampled(5, distribution=distribution, stop=10**6.1, ranges=ranges)
    fit = fit_line(given, slope, distribution)
    near = bounds_at(fit, AT, 0.95, 0.9)
    drawn = resample_band(given, fit, AT, survival_probability=0.95, confidence=0.9, resamples=1000, seed=7)
    scatter = fit.sd_log10_cycles
    assert drawn.low == pytest.approx(near.low, abs=0.25 * scatter)
    assert drawn.high == pytest.approx(near.high, abs=0.25 * scatter)
    assert drawn.lower_limit == pytest.approx(near.tolerance, abs=0.35 * scatter)


def test_the_same_seed_draws_the_same_band_and_another_seed_another() -> None:
    given = sampled(1)
    fit = fit_line(given)
    bands = [
        resample_band(given, fit, AT, survival_probability=0.95, confidence=0.9, resamples=200, seed=seed)
        for seed in (1, 1, 2)
    ]
    assert bands[0].low.tolist() == bands[1].low.tolist()
    assert bands[0].low.tolist() != bands[2].low.tolist()


@pytest.mark.parametrize("slope", [None, 3.0])
def test_resampling_refuses_where_samples_seldom_settle_a_line(
    slope: float | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("fatcore.trials.sn.resampling._AT_ONCE", 1)
    ranges = np.array([100.0, 100.0, 100.0, 100.0, 110.0, 120.0, 130.0, 140.0])
    life = 10.0 ** (12.3 - 3.0 * np.log10(ranges) + 0.2 * np.array([3, 3, 3, 3, 3, -1.2, -0.2, -1.4]))
    stop = float(np.sort(life)[1 if slope else 2]) * 1.001
    given = TrialSeries(range_mpa=ranges, life_cycles=np.minimum(life, stop), run_out=life > stop)
    with pytest.raises(InputError, match="too few failures"):
        resample_band(
            given, fit_line(given, slope), AT, survival_probability=0.9, confidence=0.9, resamples=500, seed=1
        )


def test_bounds_beyond_the_range_of_numbers_are_refused() -> None:
    with pytest.raises(InputError, match="range of numbers") as caught:
        powers_of_ten(np.array([2.0, 301.0]), "range_mpa")
    assert caught.value.path == ("range_mpa",)
