"""Random stress and long-term distributions against quadrature and a seeded simulation."""

from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

from fatcore.curves.curve import Curve
from fatcore.curves.standards import catalogue
from fatcore.errors import InputError, NotConvergedError, NotCoveredError, UnknownError
from fatcore.spectrum.counting.count import rainflow
from fatcore.spectrum.damage.long_term import (
    allowable_largest_range,
    long_term_damage,
    range_exceeded_once,
    weibull_scale,
)
from fatcore.spectrum.damage.shapes import (
    crane_class,
    equivalent_ratio,
    exceedances,
    mean_power,
    step_spectrum,
)
from fatcore.spectrum.damage.weibull import expected_damage, segment_moment, share_beyond
from fatcore.spectrum.random import damage as random
from fatcore.spectrum.random.density import bandwidth, crossing_rate, spectral_moment
from fatcore.verification.spectrum.damage import class_d_damage
from fatcore.verification.spectrum.random import FLAT, amplitude_curve

CLASS_D = catalogue.find_curve("dnv-rp-c203-2016-d-air")
EN_71 = catalogue.find_curve("en-1993-1-9-2005-normal-71")
LINE = amplitude_curve(3)


@pytest.mark.parametrize("curve", [CLASS_D, EN_71, LINE], ids=lambda c: c.id)
@pytest.mark.parametrize("shape", [0.7, 1.0, 2.0])
@pytest.mark.parametrize("scale", [3.0, 20.0, 90.0])
def test_weibull_damage_is_the_integral(curve: Curve, shape: float, scale: float) -> None:
    def integrand(probability_scale: float) -> float:  # over u = (range / scale)^shape, density exp(-u)
        return float(curve.damage_per_cycle(scale * probability_scale ** (1.0 / shape))) * np.exp(-probability_scale)

    ends = [*curve.knees_mpa, *([curve.cut_off_mpa] if curve.cut_off_mpa else [])]
    marks = sorted((end / scale) ** shape for end in ends)
    marks = [0.0, *[mark for mark in marks if mark < 700.0], 700.0]
    parts = [
        quad(integrand, a, b, epsabs=0.0, epsrel=1e-10, limit=500, points=[min(a + 20.0, b)])[0]
        for a, b in zip(marks, marks[1:], strict=False)  # noqa: RUF007
    ]
    assert float(expected_damage(curve, scale, shape)) == pytest.approx(sum(parts), rel=1e-8)


@pytest.mark.parametrize("curve", [CLASS_D, EN_71, LINE], ids=lambda c: c.id)
@pytest.mark.parametrize("level", [0.0, 10.0, 40.0, 60.0, 300.0])
def test_the_share_beyond_a_range_is_that_of_the_integral(curve: Curve, level: float) -> None:
    scale, shape = 20.0, 0.8
    top = 700.0 ** (1.0 / shape) * scale  # exp(-700) of the ranges lie above
    density_scale = shape / scale

    def integrand(range_mpa: float) -> float:
        u = range_mpa / scale
        return float(curve.damage_per_cycle(range_mpa)) * density_scale * u ** (shape - 1.0) * np.exp(-(u**shape))

    ends = {*curve.knees_mpa, curve.cut_off_mpa or 0.0, level, 1e-9, 200.0, 1000.0, 5000.0, top}
    marks = sorted(end for end in ends if end > 0.0)
    parts = {low: quad(integrand, low, high, epsabs=0.0, epsrel=1e-10, limit=500)[0] for low, high in pairwise(marks)}
    expected = sum(part for low, part in parts.items() if low >= level) / sum(parts.values())
    assert share_beyond(curve, scale, shape, level) == pytest.approx(expected, rel=1e-7)


def test_the_range_exceeded_once_turns_the_scale_back() -> None:
    for cycles in (3.0, 1e4, 1e9):
        scale = weibull_scale(300.0, cycles, 0.7)
        assert range_exceeded_once(scale, cycles, 0.7) == pytest.approx(300.0, rel=1e-12)
    assert range_exceeded_once(40.0, 0.5, 0.7) == range_exceeded_once(40.0, np.e, 0.7) == 40.0
    for name in ("scale_mpa", "cycles", "shape_exponent"):
        given = {"scale_mpa": 1.0, "cycles": 10.0, "shape_exponent": 1.0, name: 0.0}
        with pytest.raises(InputError) as caught:
            range_exceeded_once(**given)
        assert caught.value.path == (name,)


def test_a_distribution_of_stress_is_put_on_no_energy_curve() -> None:
    with pytest.raises(NotCoveredError, match="takes the energy density range"):
        expected_damage(catalogue.find_curve("energy-density"), 20.0, 1.0)


def test_segment_moments_add_up() -> None:
    whole = segment_moment(4.0, 10.0, 1.3, 0.0, np.inf)
    cuts = [0.0, 3.0, 11.0, 40.0, np.inf]
    parts = [segment_moment(4.0, 10.0, 1.3, a, b) for a, b in zip(cuts, cuts[1:], strict=False)]  # noqa: RUF007
    assert sum(parts) == pytest.approx(whole, rel=1e-14)
    far = segment_moment(3.0, 1.0, 1.0, 50.0, 60.0)
    assert far == pytest.approx(quad(lambda x: x**3 * np.exp(-x), 50.0, 60.0, epsabs=0.0)[0], rel=1e-10)


def test_allowable_range_of_the_printed_constants() -> None:
    found = brentq(lambda s: class_d_damage(s / np.log(1e8), 1.0, 1e8) - 1.0, 100.0, 900.0)
    assert round(found, 1) == 271.4  # independent computation for class D in air, shape 1


def test_long_term_outcome() -> None:
    found = long_term_damage(200.0, 1e8, 1.0, CLASS_D, damage_limit=0.5)
    assert found.allowable_range_mpa == pytest.approx(allowable_largest_range(1e8, 1.0, CLASS_D, damage_limit=0.5))
    again = long_term_damage(found.allowable_range_mpa, 1e8, 1.0, CLASS_D)
    assert again.damage == pytest.approx(0.5, rel=1e-9)
    assert found.life_repeats == pytest.approx(0.5 / found.damage)
    half = long_term_damage(200.0, 1e8, 1.0, CLASS_D, cycles=5e7)
    assert half.damage == pytest.approx(0.5 * found.damage)
    assert long_term_damage(0.01, 1e8, 1.0, EN_71).life_repeats is None


@pytest.mark.parametrize(
    ("largest", "cycles", "shape", "name"),
    [
        (0.0, 1e8, 1.0, "largest_range_mpa"),
        (100.0, 1.0, 1.0, "reference_cycles"),
        (100.0, 1e8, 0.0, "shape_exponent"),
        (100.0, 1e8, 0.099, "shape_exponent"),
    ],
)
def test_bad_long_term(largest: float, cycles: float, shape: float, name: str) -> None:
    with pytest.raises(InputError) as caught:
        long_term_damage(largest, cycles, shape, LINE)
    assert caught.value.path == (name,)


def test_a_damage_beyond_all_numbers_is_refused() -> None:
    with pytest.raises(InputError, match="beyond all numbers") as caught:
        long_term_damage(1e30, 1e8, 1.0, amplitude_curve(20))
    assert caught.value.path == ("shape_exponent",)


def test_no_allowable_range() -> None:
    with pytest.raises(NotConvergedError):
        allowable_largest_range(1e8, 1.0, LINE, damage_limit=1e-30)


def test_weibull_scale() -> None:
    assert weibull_scale(100.0, np.e, 2.0) == pytest.approx(100.0)


def simulated(slope: float, seconds: float = 1000.0, runs: int = 12) -> tuple[float, float]:
    """Mean and standard error of the rainflow damage rate of a flat density, random phases and amplitudes."""
    rng = np.random.default_rng(20240801)
    size = int(seconds * 256)
    frequency = np.fft.rfftfreq(size, 1.0 / 256.0)
    inside = (frequency >= 1.0) & (frequency <= 10.0)
    rates = []
    for _ in range(runs):
        parts = rng.normal(size=(2, inside.sum())) * np.sqrt(100.0 / seconds)
        spectrum = np.zeros(frequency.size, dtype=np.complex128)
        spectrum[inside] = (parts[0] + 1j * parts[1]) * size / 2.0
        cycles = rainflow(np.fft.irfft(spectrum, size))
        rates.append(float(cycles.count @ (0.5 * cycles.range_mpa) ** slope) / 1e12 / seconds)
    return float(np.mean(rates)), float(np.std(rates, ddof=1) / np.sqrt(runs))


@pytest.mark.parametrize(("slope", "stated", "error"), [(3, 5.5895e-7, 0.011e-7), (5, 2.4114e-3, 0.0087e-3)])
def test_simulation_and_the_position_of_the_formulas(slope: int, stated: float, error: float) -> None:
    mean, own_error = simulated(slope)
    assert mean == pytest.approx(stated, abs=4.0 * float(np.hypot(own_error, error)))
    measures, curve = bandwidth(*FLAT), amplitude_curve(slope)
    assert random.narrow_band(measures, curve) > mean  # the safe one
    for method in (random.wirsching_light, random.dirlik, random.tovo_benasciutti):
        rate = method(measures, curve)
        assert rate is not None
        assert 0.85 * mean < rate < mean


def test_dirlik_is_the_integral_of_its_distribution() -> None:
    measures, curve = bandwidth(*FLAT), amplitude_curve(4)
    t = random.dirlik_terms(measures)
    assert t is not None

    def density(z: float) -> float:
        return (
            t.D1 / t.Q * np.exp(-z / t.Q)
            + t.D2 * z / t.R**2 * np.exp(-(z**2) / (2.0 * t.R**2))
            + t.D3 * z * np.exp(-(z**2) / 2.0)
        )

    mean = quad(lambda z: z**4 * density(z), 0.0, 40.0, epsrel=1e-10)[0]
    expected = measures.peak_rate_per_s * measures.rms_mpa**4 * mean / 1e12
    assert random.dirlik(measures, curve) == pytest.approx(expected, rel=1e-9)
    assert quad(density, 0.0, 40.0)[0] == pytest.approx(1.0)


def test_narrow_band_has_no_broad_band_formula() -> None:
    one_line = bandwidth([10.0, 10.0 + 1e-7], [1e9, 1e9])
    assert random.dirlik(one_line, LINE) is None
    assert random.tovo_benasciutti(one_line, LINE) is None
    assert random.tovo_benasciutti_share(one_line) is None
    found = random.random_damage([10.0, 10.0 + 1e-7], [1e9, 1e9], LINE, 10.0)
    assert found.damage.dirlik is None
    assert found.equivalent_range_mpa.dirlik is None
    assert "band-too-narrow" in {finding.code for finding in found.findings}


def test_random_damage_on_a_curve_with_knees() -> None:
    found = random.random_damage([1.0, 10.0], [100.0, 100.0], CLASS_D, 3600.0)
    assert found.damage_rate_per_s.wirsching_light is None
    assert "single-slope-only" in {finding.code for finding in found.findings}
    narrow = found.damage.narrow_band
    assert narrow is not None
    crossings = found.bandwidth.crossing_rate_per_s * 3600.0
    assert narrow == pytest.approx(crossings * float(expected_damage(CLASS_D, 2 * 2**0.5 * 30.0, 2.0)))
    rate = found.damage_rate_per_s.tovo_benasciutti
    assert rate is not None
    assert 0.0 < rate < narrow / 3600.0


def test_single_slope_curve_with_knees_far_away_gives_the_single_slope_value() -> None:
    far = Curve(id="own", source="own-curve", log10_constants=(12.0, 6.0), slopes=(3.0, 5.0), knees_mpa=(1e-3,))
    near = Curve(id="own", source="own-curve", log10_constants=(12.0,), slopes=(3.0,))
    measures = bandwidth(*FLAT)
    for method in (random.narrow_band, random.dirlik, random.tovo_benasciutti):
        assert method(measures, far) == pytest.approx(method(measures, near), rel=1e-9)


def test_moments_are_exact_for_a_linear_density() -> None:
    for order in (0, 1, 2, 4):
        exact = quad(lambda f, k=order: f**k * (3.0 + 2.0 * f), 0.0, 5.0)[0]
        assert spectral_moment([0.0, 5.0], [3.0, 13.0], order) == pytest.approx(exact, rel=1e-12)


def test_crossing_rate_falls_with_the_level() -> None:
    measures = bandwidth(*FLAT)
    rates = crossing_rate(measures, [0.0, 30.0, -30.0])
    assert rates.tolist() == pytest.approx(
        [measures.crossing_rate_per_s, *[measures.crossing_rate_per_s * np.exp(-0.5)] * 2]
    )


@pytest.mark.parametrize(
    ("frequency", "density", "name"),
    [
        ([1.0], [1.0], "frequency_hz"),
        ([1.0, 2.0], [1.0], "density_mpa2_per_hz"),
        ([2.0, 1.0], [1.0, 1.0], "frequency_hz"),
        ([-1.0, 1.0], [1.0, 1.0], "frequency_hz"),
        ([0.0, 1.0], [1.0, -1.0], "density_mpa2_per_hz"),
        ([0.0, 1.0], [0.0, 0.0], "density_mpa2_per_hz"),
        ([0.0, np.nan], [1.0, 1.0], "frequency_hz"),
    ],
)
def test_bad_density(frequency: list[float], density: list[float], name: str) -> None:
    with pytest.raises(InputError) as caught:
        bandwidth(frequency, density)
    assert caught.value.path == (name,)


def test_bad_duration() -> None:
    with pytest.raises(InputError):
        random.random_damage([1.0, 2.0], [1.0, 1.0], LINE, 0.0)


@pytest.mark.parametrize(("slope", "cycles", "shape"), [(3.0, 1e6, 2.0), (5.0, 1e8, 1.0), (3.0, 1e7, 0.8)])
def test_equivalent_ratio_is_the_root_of_the_mean_power(slope: float, cycles: float, shape: float) -> None:
    found = equivalent_ratio(slope, cycles, shape)
    assert found.equivalent_ratio == pytest.approx(float(mean_power(slope, cycles, shape)) ** (1 / slope))
    assert not [f for f in found.findings if cycles >= 1e6 and shape == 2.0]


@pytest.mark.parametrize("shape", [0.1, 0.1015625, 0.5])
def test_equivalent_ratio_beyond_the_largest_range_is_outside(shape: float) -> None:
    found = equivalent_ratio(18.0, 2.0, shape)
    assert np.isfinite(found.equivalent_ratio)
    assert [finding.severity for finding in found.findings] == ["outside"]


def test_standard_spectrum_follows_its_mean_power() -> None:
    ratios = np.linspace(0.0, 1.0, 200_001)
    counts = -np.diff(exceedances(ratios, 1e6, 2.0))
    middle = 0.5 * (ratios[1:] + ratios[:-1])
    numeric = float((counts * middle**3).sum() / 1e6)
    assert numeric == pytest.approx(float(mean_power(3.0, 1e6, 2.0)), rel=7e-3)
    steps = step_spectrum(200.0, 1e6, 2.0)
    assert steps.range_mpa[0] == 200.0
    assert steps.count.sum() == pytest.approx(steps.cumulative_count[-1])


def test_crane_classes() -> None:
    assert crane_class("Q0", "U0").history_class == "S02"
    assert crane_class("Q5", "U9").history_class == "S9"
    with pytest.raises(UnknownError):
        crane_class("Q9", "U0")  # type: ignore[arg-type]
    with pytest.raises(UnknownError):
        crane_class("Q0", "U10")  # type: ignore[arg-type]
    with pytest.raises(InputError):
        exceedances([1.2], 1e6, 2.0)
