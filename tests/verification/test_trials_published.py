"""Evaluation of tests against worked examples and open data: published figures, recalled, repeated by computation."""

from __future__ import annotations

import numpy as np
import pytest

from fatcore.trials import TrialSeries, evaluate_series
from fatcore.trials.growth.rate import growth_rates
from fatcore.trials.sn.bounds import bounds_at
from fatcore.trials.sn.factors import (
    band_factor,
    fisher,
    iiw_factor,
    iso_factor,
    prediction_factor,
    student,
    tolerance_factor,
)
from fatcore.trials.sn.fit import fit_line
from fatcore.trials.sn.likelihood import Distribution, maximum_likelihood

# ASTM E739-10, worked example: plastic strain amplitude and cycles (from memory)
STRAIN = np.array([0.01636, 0.01609, 0.00675, 0.00682, 0.00179, 0.00160, 0.00165, 0.00053, 0.00054])
CYCLES = np.array([168.0, 200.0, 1000.0, 1180.0, 4730.0, 8035.0, 5254.0, 28617.0, 32650.0])
EXAMPLE = TrialSeries(range_mpa=STRAIN, life_cycles=CYCLES)

# nickel superalloy, 26 specimens, 4 run-outs: W. Q. Meeker, L. A. Escobar, Statistical Methods for Reliability
# Data, Wiley (1998), Table C.12: pseudo-stress in ksi and kilocycles; C marks a run-out
SUPERALLOY = """80.3:211.629 80.6:200.027 80.8:57.923C 84.3:155.000 85.2:13.949 85.6:112.968C 85.8:152.680 86.4:156.725
86.7:138.114C 87.2:56.723 87.3:121.075 89.7:122.372C 91.3:112.002 99.8:43.331 100.1:12.076 100.5:13.181 113.0:18.067
114.8:21.300 116.4:15.616 118.0:13.030 118.4:8.489 118.6:12.434 120.4:9.750 142.5:11.865 144.5:6.705 145.9:5.733"""


def superalloy() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    pairs = [entry.split(":") for entry in SUPERALLOY.split()]
    stress = np.array([float(pair[0]) for pair in pairs])
    life = np.array([float(pair[1].rstrip("C")) for pair in pairs])
    return stress, life, np.array([not pair[1].endswith("C") for pair in pairs])


def test_line_of_the_worked_example_of_astm_e739() -> None:
    fit = fit_line(EXAMPLE)
    assert fit.log10_constant == pytest.approx(-0.24474, abs=5e-6)
    assert -fit.slope == pytest.approx(-1.45144, abs=5e-6)
    assert fit.sd_log10_cycles**2 == pytest.approx(0.011195, abs=5e-7)
    assert fit.sd_log10_cycles == pytest.approx(0.10581, abs=5e-6)


def test_intervals_of_the_worked_example_of_astm_e739() -> None:
    found = evaluate_series(EXAMPLE, rule="tolerance", survival_probability=0.95, confidence=0.95)
    assert found.log10_constant_low == pytest.approx(-0.6435, abs=5e-5)
    assert found.log10_constant_high == pytest.approx(0.1540, abs=5e-5)
    # the standard rounds t and s: 1.6054 printed, 1.6055 computed
    assert -found.slope_high == pytest.approx(-1.6054, abs=1.1e-4)
    assert -found.slope_low == pytest.approx(-1.2974, abs=5e-5)
    assert student(7, 0.95) == pytest.approx(2.3646, abs=5e-5)


def test_linearity_of_the_worked_example_of_astm_e739() -> None:
    # its levels are four groups of nearly equal strain; the line is through the strains themselves
    level = np.repeat([0, 1, 2, 3], [2, 2, 3, 2])
    fit = fit_line(EXAMPLE)
    y, line = EXAMPLE.log10_life, fit.location(EXAMPLE.log10_range)
    count = np.bincount(level)
    mean, on_line = np.bincount(level, y) / count, np.bincount(level, line) / count
    statistic = (count * (on_line - mean) ** 2).sum() / 2 / (((y - mean[level]) ** 2).sum() / 5)
    assert statistic == pytest.approx(3.62, abs=5e-3)
    assert fisher(2, 5, 0.95) == pytest.approx(5.79, abs=5e-3)


def test_band_of_the_worked_example_of_astm_e739() -> None:
    assert fisher(2, 7, 0.95) == pytest.approx(4.7374, abs=5e-5)
    found = bounds_at(fit_line(EXAMPLE), np.log10([0.01]), 0.95, 0.95)
    assert float(found.band_high[0] - found.median[0]) == pytest.approx(0.1522, abs=5e-5)
    assert 10.0 ** float(found.median[0]) == pytest.approx(455.14, abs=5e-3)
    assert band_factor(7, 0.95) == pytest.approx((2.0 * 4.7374) ** 0.5, abs=1e-4)


@pytest.mark.parametrize(
    ("strain", "prediction", "exact", "iso", "lives"),
    [
        (0.001, 2.0704, 3.2964, 3.4831, (3.89052, 3.76080, 3.74105)),
        (0.0005, 2.1894, 3.4925, 3.6832, (4.31486, 4.17697, 4.15680)),
    ],
)
def test_lower_limits_of_the_worked_example(
    strain: float, prediction: float, exact: float, iso: float, lives: tuple[float, ...]
) -> None:
    # derived independently from the same data
    fit = fit_line(EXAMPLE)
    x = np.log10([strain])
    leverage = float(fit.leverage(x)[0])
    factors = (
        prediction_factor(7, leverage, 0.95),
        tolerance_factor(7, leverage, 0.95, 0.95),
        iso_factor(7, leverage, 0.95, 0.95),
    )
    assert factors == pytest.approx((prediction, exact, iso), abs=5e-5)
    median = float(fit.location(x)[0])
    assert [median - factor * fit.sd_log10_cycles for factor in factors] == pytest.approx(lives, abs=1e-5)
    found = bounds_at(fit, x, 0.95, 0.95)
    assert [float(found.prediction[0]), float(found.tolerance[0])] == pytest.approx(lives[:2], abs=1e-5)


# Owen's tables of one-sided tolerance factors, as in the NIST e-Handbook (recalled, repeated by computation)
TOLERANCE = {
    3: {(0.9, 0.9): 4.2582, (0.9, 0.95): 6.1553, (0.95, 0.75): 3.1518, (0.95, 0.9): 5.3115, (0.99, 0.95): 10.5527},
    6: {(0.9, 0.9): 2.4937, (0.9, 0.95): 3.0063, (0.95, 0.75): 2.3356, (0.95, 0.95): 3.7077, (0.99, 0.9): 4.2425},
    10: {(0.9, 0.9): 2.0657, (0.95, 0.75): 2.1037, (0.95, 0.9): 2.5684, (0.95, 0.95): 2.9110, (0.99, 0.95): 3.9811},
    20: {(0.9, 0.9): 1.7652, (0.95, 0.75): 1.9320, (0.95, 0.95): 2.3960, (0.99, 0.9): 3.0515, (0.99, 0.95): 3.2952},
    50: {(0.9, 0.9): 1.5595, (0.95, 0.75): 1.8109, (0.95, 0.95): 2.0650, (0.99, 0.9): 2.7349, (0.99, 0.95): 2.8624},
}


@pytest.mark.parametrize("size", TOLERANCE)
def test_tolerance_factors_are_those_of_the_tables(size: int) -> None:
    for (survival, confidence), factor in TOLERANCE[size].items():
        assert tolerance_factor(size - 1, 1.0 / size, survival, confidence) == pytest.approx(factor, abs=5e-5)


def test_a_tolerance_factor_of_the_nist_handbook() -> None:
    # NIST e-Handbook 7.2.6.3: n = 43, 90 % with 99 % confidence
    assert tolerance_factor(42, 1.0 / 43.0, 0.90, 0.99) == pytest.approx(1.8740, abs=5e-5)


@pytest.mark.parametrize(
    ("tests", "computed", "printed"),
    [(10, 2.713, 2.7), (15, 2.450, 2.4), (20, 2.314, 2.3), (25, 2.229, 2.2), (30, 2.168, 2.15), (100, 1.911, 1.9)],
)
def test_factors_of_the_iiw(tests: int, computed: float, printed: float) -> None:
    assert iiw_factor(tests) == pytest.approx(computed, abs=5e-4)
    assert iiw_factor(tests) == pytest.approx(printed, abs=0.051)  # the table is printed in steps of 0.05 and 0.1


@pytest.mark.parametrize(
    ("powers", "distribution", "coefficients", "scatter", "likelihood"),
    [
        (2, "smallest-extreme-value", (217.6111, -85.5224, 8.4827), 0.37474, -93.3819),
        (1, "smallest-extreme-value", (31.432, -5.960), 0.45239, -97.1548),
        (1, "normal", (31.1835, -5.9611), 0.68092, -100.6653),
    ],
)
def test_likelihood_of_the_superalloy(
    powers: int, distribution: Distribution, coefficients: tuple[float, ...], scatter: float, likelihood: float
) -> None:
    # the quadratic one is printed as 217.61, -85.52, 8.48 and 0.375 (from memory); the rest derived
    stress, life, failed = superalloy()
    x, y = np.log(stress), np.log(life)
    design = np.stack([x**power for power in range(powers + 1)], axis=1)
    found = maximum_likelihood(y[np.newaxis], design, failed[np.newaxis], distribution)
    assert found.location[0] == pytest.approx(coefficients, rel=2e-5)
    assert float(found.scale[0]) == pytest.approx(scatter, abs=5e-6)
    # of the times themselves: less the logarithms of the failures
    assert float(found.value[0]) - y[failed].sum() == pytest.approx(likelihood, abs=5e-5)


def test_the_superalloy_as_a_series() -> None:
    stress, life, failed = superalloy()
    fit = fit_line(TrialSeries(range_mpa=stress, life_cycles=1e3 * life, run_out=~failed))
    assert fit.log10_constant == pytest.approx(16.54282, abs=5e-6)
    assert fit.slope == pytest.approx(5.96112, abs=5e-6)
    assert fit.likelihood_scatter == pytest.approx(0.29572, abs=5e-6)
    only = fit_line(TrialSeries(range_mpa=stress[failed], life_cycles=1e3 * life[failed]))
    assert (only.log10_constant, only.slope) == pytest.approx((15.47811, 5.45558), abs=5e-6)
    assert only.sd_log10_cycles == pytest.approx(0.29438, abs=5e-6)


# path 1 of the alloy-A crack growth data, inches every 1e4 cycles: Technometrics 35 (1993) 161 (open data)
ALLOY = np.array([0.90, 0.95, 1.00, 1.05, 1.12, 1.19, 1.27, 1.35, 1.48, 1.64])


def test_seven_point_rates_of_alloy_a() -> None:
    found = growth_rates(ALLOY, 1e4 * np.arange(10.0), "seven-point")
    assert found.cycles.tolist() == [3e4, 4e4, 5e4, 6e4]
    assert found.size_mm == pytest.approx([1.05476, 1.11857, 1.18619, 1.26429], abs=5e-6)
    assert found.rate_mm_per_cycle == pytest.approx([6.10714e-6, 6.71428e-6, 7.82142e-6, 9.46428e-6], rel=2e-6)


def test_secant_rates_of_alloy_a() -> None:
    found = growth_rates(ALLOY, 1e4 * np.arange(10.0), "secant")
    assert found.rate_mm_per_cycle * 1e6 == pytest.approx([5.0, 5.0, 5.0, 7.0, 7.0, 8.0, 8.0, 13.0, 16.0])
    assert found.size_mm[0] == pytest.approx(0.925)
