"""Averaged strain energy density, its equivalent stress, the control radius."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad_vec

from fatcore.errors import InputError, NotCoveredError
from fatcore.stress.notch import energy
from fatcore.stress.notch import fields as notch
from fatcore.stress.peak.equivalent import equivalent_peak_stress
from fatcore.stress.peak.peak_weights import peak_weights

STEEL = {"youngs_modulus_mpa": 206000.0, "poisson_ratio": 0.3, "control_radius_mm": 0.28}


@pytest.mark.uncounted
@pytest.mark.parametrize("angle", [0.0, 90.0, 135.0])
def test_energy_equals_the_integral_of_the_field_over_the_sector(angle: float) -> None:
    gamma, radius, nu = float(notch.half_sector(angle)), 0.28, 0.3
    place, weight = np.polynomial.legendre.leggauss(40)  # smooth round the tip, singular only towards it
    theta = 0.5 * gamma * (1.0 + place)

    def on_arc(r: float) -> float:
        hoop, radial, shear = notch.field_opening(250.0, r, np.degrees(theta), angle)
        total = hoop + radial
        plane = (1 + nu) / (2 * 206000.0) * ((1 - nu) * total**2 - 2 * hoop * radial + 2 * shear**2)
        return float(0.5 * gamma * weight @ plane) * r

    integral = quad_vec(on_arc, 0.0, radius, epsrel=1e-9)[0] * 2.0
    found = energy.energy_from_intensities(250.0, opening_angle_deg=angle, **STEEL)
    assert float(found.energy_density_mj_m3) == pytest.approx(integral / (gamma * radius**2), rel=1e-5)


@given(st.floats(-300.0, 300.0), st.floats(-300.0, 300.0), st.floats(-300.0, 300.0), st.floats(0.2, 3.0))
def test_peak_stress_and_energy_give_one_equivalent_stress(a: float, b: float, c: float, size: float) -> None:
    weights = peak_weights(opening_angle_deg=0.0, element="quad4", element_size_mm=size)
    k = [energy.intensity_from_peak(p, w, size, 0.5) for p, w in zip((a, b, c), (1.38, 3.38, 1.93), strict=True)]
    found = energy.energy_from_intensities(*k, opening_angle_deg=0.0, **STEEL)
    expected = float(equivalent_peak_stress(weights.as_array(), [a, b, c]))
    assert float(found.equivalent_stress_mpa) == pytest.approx(expected, rel=1e-9, abs=1e-9)


def test_parts_add_up_and_arrays_are_taken() -> None:
    found = energy.energy_from_intensities([100.0, 200.0], 50.0, [0.0, 10.0], opening_angle_deg=0.0, **STEEL)
    assert found.sliding_mj_m3 is not None
    total = found.opening_mj_m3 + found.sliding_mj_m3 + found.tearing_mj_m3
    assert found.energy_density_mj_m3 == pytest.approx(total)
    assert found.energy_density_mj_m3.shape == (2,)


def test_sliding_is_left_out_at_a_toe_and_refused_when_given() -> None:
    found = energy.energy_from_intensities(100.0, 0.0, 30.0, opening_angle_deg=135.0, **STEEL)
    assert found.sliding_mj_m3 is None
    assert "sliding-not-singular" in [finding.code for finding in found.findings]
    with pytest.raises(InputError) as caught:
        energy.energy_from_intensities(100.0, 1.0, 30.0, opening_angle_deg=135.0, **STEEL)
    assert caught.value.path == ("k2_mpa_mm_lambda",)


def test_fits_are_named_and_know_one_ratio() -> None:
    found = energy.energy_from_intensities(100.0, opening_angle_deg=0.0, coefficients="published-fit", **STEEL)
    assert found.tables == ("stress/energy_coefficients",)
    exact = energy.energy_from_intensities(100.0, opening_angle_deg=0.0, **STEEL)
    assert float(found.energy_density_mj_m3 / exact.energy_density_mj_m3) == pytest.approx(0.133 / 0.13449, rel=1e-4)
    with pytest.raises(NotCoveredError):
        energy.energy_from_intensities(
            1.0, opening_angle_deg=0.0, coefficients="published-fit", **{**STEEL, "poisson_ratio": 0.2}
        )


@given(st.floats(0.0, 1e4), st.floats(1e3, 1e6), st.floats(0.0, 0.5))
def test_equivalent_stress_and_energy_are_inverse(stress: float, modulus: float, nu: float) -> None:
    there = energy.energy_from_equivalent_stress(stress, modulus, nu)
    assert float(energy.equivalent_stress_from_energy(there, modulus, nu)) == pytest.approx(stress, rel=1e-12)


def test_sector_of_uniform_energy() -> None:
    # half disc of a flat edge does not exist below 180 deg; a crack's disc has the area pi R0^2
    found = energy.energy_from_sector(2.0, opening_angle_deg=0.0, control_radius_mm=0.5, thickness_mm=4.0)
    assert float(found) == pytest.approx(2.0 / (np.pi * 0.25 * 4.0))
    with pytest.raises(InputError):
        energy.energy_from_sector(-1.0, opening_angle_deg=0.0, control_radius_mm=0.5, thickness_mm=4.0)


@given(st.floats(0.01, 2.0), st.floats(0.0, 140.0))
def test_control_radius_returns_the_radius_of_its_own_calibration(radius: float, angle: float) -> None:
    lam = float(notch.eigenvalue_opening(angle))
    found = energy.energy_from_intensities(
        200.0, opening_angle_deg=angle, youngs_modulus_mpa=1000.0, control_radius_mm=radius
    )
    plain = np.sqrt(2.0 * 1000.0 * found.energy_density_mj_m3)  # plane stress: no factor (1 - nu^2)
    back = energy.control_radius(200.0, plain, opening_angle_deg=angle)
    assert float(back) == pytest.approx(radius, rel=1e-10 / (1.0 - lam))


def test_control_radius_refuses() -> None:
    with pytest.raises(InputError):
        energy.control_radius(0.0, 155.0, opening_angle_deg=135.0)
    with pytest.raises(InputError):
        energy.control_radius(211.0, 155.0, opening_angle_deg=135.0, energy_coefficient=0.0)


@pytest.mark.parametrize("name", ["youngs_modulus_mpa", "control_radius_mm"])
def test_energy_refuses(name: str) -> None:
    with pytest.raises(InputError) as caught:
        energy.energy_from_intensities(1.0, opening_angle_deg=0.0, **{**STEEL, name: 0.0})
    assert caught.value.path == (name,)


@pytest.mark.parametrize(
    ("call", "name"),
    [
        (
            lambda: energy.energy_from_intensities(
                1e30, opening_angle_deg=0.0, **{**STEEL, "youngs_modulus_mpa": 5e-324}
            ),
            "youngs_modulus_mpa",
        ),
        (
            lambda: energy.energy_from_sector(1.0, opening_angle_deg=0.0, control_radius_mm=1e-300, thickness_mm=1.0),
            "control_radius_mm",
        ),
        (
            lambda: energy.energy_from_intensities(
                1e30, opening_angle_deg=0.0, **{**STEEL, "youngs_modulus_mpa": 1e30, "control_radius_mm": 1e-270}
            ),
            "control_radius_mm",
        ),
        (lambda: energy.energy_from_equivalent_stress(1.0, 5e-324), "youngs_modulus_mpa"),
        (
            lambda: energy.control_radius(1e30, 1e-30, opening_angle_deg=179.0),
            "intensity_range_mpa_mm_lambda",
        ),
    ],
)
def test_numbers_beyond_floating_point_are_refused(call: object, name: str) -> None:
    with pytest.raises(InputError) as caught:
        call()  # type: ignore[operator]
    assert caught.value.path == (name,)


def test_intensity_refuses_a_size_of_zero() -> None:
    with pytest.raises(InputError):
        energy.intensity_from_peak(1.0, 1.38, 0.0, 0.5)
