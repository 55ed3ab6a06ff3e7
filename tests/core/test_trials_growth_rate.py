"""Rates and laws of cracked specimens: against numpy.polyfit, brute search of a knee, laws that are known."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import optimize, stats

from fatcore.errors import InputError
from fatcore.trials.growth.law import line_through, threshold_of, two_lines
from fatcore.trials.growth.rate import growth_rates

COUNT = np.array([0.0, 900.0, 2100.0, 3000.0, 4300.0, 5000.0, 6200.0, 7000.0, 8100.0, 9000.0, 9500.0])
SIZE = 10.0 + 1e-4 * COUNT + 2e-8 * COUNT**2 + 0.01 * np.sin(COUNT)


def test_seven_point_rates_are_slopes_of_parabolas_of_numpy() -> None:
    found = growth_rates(SIZE, COUNT, "seven-point")
    assert len(found.rate_mm_per_cycle) == len(COUNT) - 6
    for place, rate in enumerate(found.rate_mm_per_cycle):
        window = slice(place, place + 7)
        middle = COUNT[place + 3]
        b = np.polyfit(COUNT[window] - middle, SIZE[window], 2)
        assert rate == pytest.approx(b[1], rel=1e-9)
        assert found.size_mm[place] == pytest.approx(b[2], rel=1e-12)
    assert found.cycles.tolist() == COUNT[3:-3].tolist()
    assert found.reading.tolist() == [3.0, 4.0, 5.0, 6.0, 7.0]


def test_a_parabola_through_readings_is_met_exactly() -> None:
    size = 10.0 + 1e-4 * COUNT + 2e-8 * COUNT**2
    found = growth_rates(size, COUNT, "seven-point")
    assert found.rate_mm_per_cycle == pytest.approx(1e-4 + 4e-8 * found.cycles, rel=1e-10)
    assert found.size_mm == pytest.approx(size[3:-3], rel=1e-13)


def test_secants_stand_at_the_mean_size() -> None:
    found = growth_rates(SIZE, COUNT, "secant")
    assert found.rate_mm_per_cycle == pytest.approx(np.diff(SIZE) / np.diff(COUNT))
    assert found.size_mm == pytest.approx(0.5 * (SIZE[1:] + SIZE[:-1]))
    assert found.cycles == pytest.approx(0.5 * (COUNT[1:] + COUNT[:-1]))
    assert found.reading.tolist() == [place + 0.5 for place in range(10)]


@pytest.mark.parametrize(
    ("size", "count", "reduction", "path"),
    [
        (SIZE[:1], COUNT[:1], "secant", ("size_mm",)),
        (SIZE[:6], COUNT[:6], "seven-point", ("size_mm",)),
        (SIZE, COUNT[:-1], "secant", ("cycles",)),
        (SIZE, COUNT - 10.0, "secant", ("cycles", 0)),
        (SIZE, np.where(COUNT == 3000.0, 2100.0, COUNT), "secant", ("cycles", 3)),
        (SIZE, np.where(COUNT == 3000.0, np.nan, COUNT), "secant", ("cycles",)),
        (np.where(COUNT == 3000.0, np.nan, SIZE), COUNT, "secant", ("size_mm",)),
        (SIZE - 10.0, COUNT, "secant", ("size_mm",)),
        (SIZE[::-1], COUNT, "secant", ("size_mm",)),
        (np.linspace(1.0, 2.0, 20_001), np.arange(20_001.0), "secant", ("size_mm",)),
        (SIZE, COUNT, "guess", ("reduction",)),
    ],
)
def test_bad_readings_are_refused_by_name(
    size: np.ndarray, count: np.ndarray, reduction: str, path: tuple[str | int, ...]
) -> None:
    with pytest.raises(InputError) as caught:
        growth_rates(size, count, reduction)  # type: ignore[arg-type]
    assert caught.value.path[: len(path)] == path


@settings(max_examples=20, deadline=None)
@given(st.floats(0.01, 100.0), st.floats(0.01, 100.0), st.sampled_from(["secant", "seven-point"]))
def test_units_scale_sizes_and_rates(by_size: float, by_count: float, reduction: str) -> None:
    plain = growth_rates(SIZE, COUNT, reduction)  # type: ignore[arg-type]
    scaled = growth_rates(SIZE * by_size, COUNT * by_count, reduction)  # type: ignore[arg-type]
    assert scaled.size_mm == pytest.approx(plain.size_mm * by_size)
    assert scaled.rate_mm_per_cycle == pytest.approx(plain.rate_mm_per_cycle * by_size / by_count, rel=1e-8)


def scattered(seed: int, points: int = 30, scatter: float = 0.1) -> tuple[np.ndarray, np.ndarray]:
    delta_k = np.geomspace(300.0, 1200.0, points)
    draws = np.random.default_rng(seed).standard_normal(points)
    return delta_k, 5.21e-13 * delta_k**3 * 10.0 ** (scatter * draws)


def test_a_line_through_rates_is_linear_regression_with_its_limits() -> None:
    delta_k, rate = scattered(1)
    found = line_through(delta_k, rate, 0.9)
    reference = stats.linregress(np.log10(delta_k), np.log10(rate))
    quantile = stats.t.ppf(0.95, 28)
    left = np.log10(rate) - reference.intercept - reference.slope * np.log10(delta_k)
    scatter = math.sqrt(float(left @ left) / 28.0)
    assert found.exponent == pytest.approx(reference.slope)
    assert found.coefficient == pytest.approx(10.0**reference.intercept)
    assert found.sd_log10_rate == pytest.approx(scatter)
    assert found.exponent_high - found.exponent == pytest.approx(quantile * reference.stderr)
    assert found.exponent - found.exponent_low == pytest.approx(quantile * reference.stderr)
    assert found.pivot_rate == pytest.approx(found.coefficient * found.pivot_mpa_sqrt_mm**found.exponent)
    assert math.log10(found.pivot_high / found.pivot_rate) == pytest.approx(quantile * scatter / math.sqrt(30.0))
    assert math.log10(found.pivot_rate / found.pivot_low) == pytest.approx(quantile * scatter / math.sqrt(30.0))


def test_rates_that_share_readings_widen_the_limits() -> None:
    delta_k, rate = scattered(1, 70)
    plain, shared = line_through(delta_k, rate, 0.9), line_through(delta_k, rate, 0.9, overlap=7)
    reach = stats.t.ppf(0.95, 8) * math.sqrt(7.0) / stats.t.ppf(0.95, 68)
    assert shared.exponent == plain.exponent
    assert (shared.exponent_high - shared.exponent) / (plain.exponent_high - plain.exponent) == pytest.approx(reach)


def test_the_limits_of_the_exponent_hold_as_often_as_they_say() -> None:
    held = 0
    for seed in range(300):
        found = line_through(*scattered(seed), 0.9)
        held += found.exponent_low < 3.0 < found.exponent_high
    assert stats.binom.ppf(1e-4, 300, 0.9) <= held <= stats.binom.ppf(1.0 - 1e-4, 300, 0.9)


@pytest.mark.parametrize(
    ("delta_k", "rate", "words"),
    [
        ([300.0, 400.0], [1e-5, 2e-5], "needs 3"),
        ([300.0, 300.0, 300.0], [1e-5, 2e-5, 3e-5], "does not change"),
        ([300.0, 400.0, 500.0], [3e-5, 2e-5, 1e-5], "do not rise"),
        ([300.0, 300.5, 301.0], [1e-6, 1e-5, 1e-4], "hardly changes"),
        ([1e-4, 2e-4, 3e-4], [1e-9, 1e12, 1e13], "no growth calculation"),
    ],
)
def test_rates_without_a_law_are_refused(delta_k: list[float], rate: list[float], words: str) -> None:
    with pytest.raises(InputError, match=words) as caught:
        line_through(np.array(delta_k), np.array(rate), 0.9)
    assert caught.value.path == ("size_mm",)


def bent(seed: int, scatter: float = 0.03) -> tuple[np.ndarray, np.ndarray]:
    delta_k = np.geomspace(200.0, 1500.0, 60)
    low, high = 1e-18 * delta_k**5.0, 1e-18 * 500.0**2.5 * delta_k**2.5
    draws = np.random.default_rng(seed).standard_normal(60)
    return delta_k, np.where(delta_k < 500.0, low, high) * 10.0 ** (scatter * draws)


def test_two_lines_recover_a_knee() -> None:
    found = two_lines(*bent(1))
    assert found is not None
    assert found.knee_mpa_sqrt_mm == pytest.approx(500.0, rel=0.05)
    assert found.stage_exponents == pytest.approx((5.0, 2.5), abs=0.15)
    assert found.chance < 1e-6
    low, high = (c * 500.0**m for c, m in zip(found.stage_coefficients, found.stage_exponents, strict=True))
    assert low == pytest.approx(1e-18 * 500.0**5.0, rel=0.1)
    assert high == pytest.approx(low, rel=0.2)


def test_two_lines_leave_as_little_as_a_search_over_the_knee() -> None:
    delta_k, rate = bent(1)
    found = two_lines(delta_k, rate)
    assert found is not None
    x, y = np.log10(delta_k), np.log10(rate)

    def left(knee: float) -> float:
        design = np.column_stack([np.ones_like(x), x, np.maximum(x - knee, 0.0)])
        return float(np.square(y - design @ np.linalg.lstsq(design, y, rcond=None)[0]).sum())

    best = optimize.minimize_scalar(left, bounds=(2.5, 3.0), method="bounded")
    assert found.sd_log10_rate == pytest.approx(math.sqrt(best.fun / 56.0), rel=1e-3)
    assert math.log10(found.knee_mpa_sqrt_mm) == pytest.approx(best.x, abs=0.01)
    one = float(np.square(y - np.polyval(np.polyfit(x, y, 1), x)).sum())
    squares = 56.0 * found.sd_log10_rate**2
    assert found.chance == pytest.approx(stats.f.sf((one - squares) / 2.0 / (squares / 56.0), 2, 56), rel=1e-6)


def test_one_line_seldom_looks_like_two() -> None:
    # the knee is searched for, so that the probability is somewhat too small: at most three times as often
    chances = [found.chance for seed in range(200) if (found := two_lines(*scattered(seed, 40))) is not None]
    assert sum(chance < 0.05 for chance in chances) <= 30


def test_two_lines_are_not_sought_where_none_can_be() -> None:
    delta_k, rate = scattered(1)
    assert two_lines(delta_k[:7], rate[:7]) is None
    assert two_lines(delta_k, 5.21e-13 * delta_k**3) is None  # on one line but for rounding
    falls = np.where(delta_k < 600.0, rate, rate[::-1])
    assert two_lines(delta_k, falls) is None
    most_alike = np.concatenate([[200.0], np.full(10, 400.0), [800.0]])
    assert two_lines(most_alike, 1e-13 * most_alike**3) is None


def test_a_threshold_is_the_range_at_the_rate_that_defines_it() -> None:
    rate = np.geomspace(1e-7, 1e-6, 8)
    delta_k = 150.0 * (rate / 1e-7) ** 0.1
    assert threshold_of(delta_k, rate) == pytest.approx(150.0)
    draws = 10.0 ** (0.01 * np.random.default_rng(2).standard_normal(8))
    slope, constant = np.polyfit(np.log10(rate), np.log10(delta_k * draws), 1)
    assert threshold_of(delta_k * draws, rate) == pytest.approx(10.0 ** (constant - 7.0 * slope))
    # rates outside the decade do not count
    more = np.append(rate, 5e-6)
    assert threshold_of(np.append(delta_k, 900.0), more) == pytest.approx(150.0)


@pytest.mark.parametrize(
    ("rate", "words"), [(np.geomspace(1e-7, 1e-6, 4), "needs 5"), (np.full(6, 2e-7), "one rate"), (None, "do not fall")]
)
def test_rates_without_a_threshold_are_refused(rate: np.ndarray | None, words: str) -> None:
    given_rate = np.geomspace(1e-7, 1e-6, 6) if rate is None else rate
    delta_k = np.linspace(200.0, 150.0, len(given_rate))
    with pytest.raises(InputError, match=words) as caught:
        threshold_of(delta_k, given_rate)
    assert caught.value.path == ("size_mm",)
