"""Exponents, fields and energy coefficients of sharp notches against independent referees."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from itertools import pairwise

import mpmath
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from fatcore.errors import InputError, NotCoveredError
from fatcore.stress.notch import energy_coefficients
from fatcore.stress.notch import fields as notch
from fatcore.stress.notch.constants import notch_constants
from fatcore.stress.peak.peak_weights import peak_weights
from fatcore.stress.weld_lines.geometry import notch_bisector

ANGLES = [0.0, 10.0, 30.0, 60.0, 90.0, 101.0, 102.5, 102.6, 104.0, 120.0, 135.0, 150.0, 170.0, 179.0]
FIELDS = {"opening": notch.field_opening, "sliding": notch.field_sliding}
ENERGIES = {
    "opening": energy_coefficients.energy_coefficient_opening,
    "sliding": energy_coefficients.energy_coefficient_sliding,
}


def referee_root(angle: float, sign: int) -> float:
    """Root of sin(2 gamma x) + sign x sin(2 gamma) other than 0 and 1, in 40 digits."""
    with mpmath.workdps(40):
        gamma = mpmath.pi - mpmath.radians(angle) / 2

        def function(x: mpmath.mpf) -> mpmath.mpf:
            # 1 is a root of the antisymmetric equation always
            value = mpmath.sin(2 * gamma * x) + sign * x * mpmath.sin(2 * gamma)
            return value if sign > 0 else value / (x - 1)

        grid = [mpmath.mpf("0.45") + mpmath.mpf(i) / 997 for i in range(1600)]
        for low, high in pairwise(grid):
            if function(low) * function(high) < 0:
                return float(mpmath.findroot(function, (low, high), solver="anderson", tol=1e-60))
    raise AssertionError("no root")


@pytest.mark.parametrize("angle", ANGLES)
def test_exponents_agree_with_forty_digit_roots(angle: float) -> None:
    assert float(notch.eigenvalue_opening(angle)) == pytest.approx(referee_root(angle, 1), abs=1e-13)
    assert float(notch.eigenvalue_sliding(angle)) == pytest.approx(referee_root(angle, -1), abs=1e-11)


def test_tearing_exponent_is_the_published_fraction() -> None:
    angles = np.linspace(0.0, 179.0, 50)
    assert notch.eigenvalue_tearing(angles) == pytest.approx(180.0 / (360.0 - angles), rel=1e-14)


def test_crack_has_square_root_singularity_in_all_modes() -> None:
    crack = notch_constants(0.0)
    assert crack.eigenvalues.as_array() == pytest.approx([0.5, 0.5, 0.5], abs=1e-15)
    assert (crack.auxiliary_opening, crack.auxiliary_sliding) == pytest.approx((1.0, 1.0), abs=1e-14)


def test_limit_angle_is_where_tan_equals_its_argument() -> None:
    with mpmath.workdps(30):
        root = mpmath.findroot(lambda x: mpmath.sin(x) - x * mpmath.cos(x), 4.5)
        expected = float(360 - mpmath.degrees(root))
    assert notch.sliding_limit_angle_deg() == pytest.approx(expected, abs=1e-12)
    assert float(notch.eigenvalue_sliding(expected)) == pytest.approx(1.0, abs=2e-8)


def test_sliding_exponent_passes_one_at_the_limit_angle() -> None:
    limit = notch.sliding_limit_angle_deg()
    assert float(notch.eigenvalue_sliding(limit - 1e-3)) < 1.0 < float(notch.eigenvalue_sliding(limit + 1e-3))
    assert notch_constants(limit - 1e-6).sliding_singular
    assert not notch_constants(limit).sliding_singular


def test_flat_surface_is_the_limit_of_no_singularity() -> None:
    nearly_flat = 179.999
    assert float(notch.eigenvalue_opening(nearly_flat)) == pytest.approx(1.0, abs=2e-5)
    assert float(notch.eigenvalue_sliding(nearly_flat)) == pytest.approx(2.0, abs=4e-5)
    assert float(notch.eigenvalue_tearing(nearly_flat)) == pytest.approx(1.0, abs=1e-5)


@given(st.lists(st.floats(0.0, 179.9), min_size=2, max_size=8))
def test_arrays_give_what_scalars_give_and_opening_is_the_strongest(angles: list[float]) -> None:
    together = notch.eigenvalue_opening(angles)
    assert together.tolist() == [float(notch.eigenvalue_opening(angle)) for angle in angles]
    assert (together <= notch.eigenvalue_tearing(angles) + 1e-15).all()
    assert (notch.eigenvalue_tearing(angles) <= notch.eigenvalue_sliding(angles) + 1e-15).all()


@pytest.mark.parametrize("mode", ["opening", "sliding"])
@pytest.mark.parametrize("angle", [*ANGLES, "limit"])
def test_faces_carry_no_traction(mode: str, angle: float | str) -> None:
    opening = notch.sliding_limit_angle_deg() if angle == "limit" else float(angle)
    face = np.degrees(notch.half_sector(opening))
    # chi grows without bound towards a flat surface, and rounding with it; at the limit angle two roots meet
    allowed = 1e-7 if angle == "limit" else 3e-13 * max(1.0, float(notch.auxiliary_opening(opening)))
    for theta in (-face, face):
        found = FIELDS[mode](1.0, 1.0, theta, opening)
        assert [float(found.hoop_mpa), float(found.shear_mpa)] == pytest.approx([0.0, 0.0], abs=allowed)


@pytest.mark.parametrize("angle", ANGLES)
def test_tearing_field_leaves_the_faces_free(angle: float) -> None:
    face = np.degrees(notch.half_sector(angle))
    assert float(notch.field_tearing(1.0, 1.0, face, angle).hoop_shear_mpa) == pytest.approx(0.0, abs=1e-15)


@pytest.mark.parametrize("angle", ANGLES)
def test_intensities_are_what_the_definition_reads_on_the_bisector(angle: float) -> None:
    for radius in (1e-3, 0.5):
        root = np.sqrt(2.0 * np.pi)
        lam = notch.eigenvalues(angle)
        assert lam.sliding is not None
        hoop = notch.field_opening(7.0, radius, 0.0, angle).hoop_mpa
        shear = notch.field_sliding(7.0, radius, 0.0, angle).shear_mpa
        tearing = notch.field_tearing(7.0, radius, 0.0, angle).hoop_shear_mpa
        assert float(hoop) * root * radius ** (1 - lam.opening) == pytest.approx(7.0, rel=1e-12)
        assert float(shear) * root * radius ** (1 - lam.sliding) == pytest.approx(7.0, rel=1e-12)
        assert float(tearing) * root * radius ** (1 - lam.tearing) == pytest.approx(7.0, rel=1e-12)


@pytest.mark.parametrize("mode", ["opening", "sliding"])
@pytest.mark.parametrize("angle", [0.0, 60.0, 102.0, 135.0])
def test_fields_are_in_equilibrium(mode: str, angle: float) -> None:
    step, radius, theta = 1e-4, 1.0, np.radians(37.0)

    def at(r: float, t: float) -> np.ndarray:
        return np.array([float(part) for part in FIELDS[mode](1.0, r, np.degrees(t), angle)])

    by_radius = (at(radius + step, theta) - at(radius - step, theta)) / (2 * step)
    by_theta = (at(radius, theta + step) - at(radius, theta - step)) / (2 * step)
    hoop, radial, shear = at(radius, theta)
    assert by_radius[1] + by_theta[2] / radius + (radial - hoop) / radius == pytest.approx(0.0, abs=1e-7)
    assert by_radius[2] + by_theta[0] / radius + 2 * shear / radius == pytest.approx(0.0, abs=1e-7)


def test_crack_fields_are_the_textbook_ones() -> None:
    theta = np.linspace(-179.0, 179.0, 25)
    t = np.radians(theta)
    root = np.sqrt(2.0 * np.pi * 0.4)
    first, second = notch.field_opening(3.0, 0.4, theta, 0.0), notch.field_sliding(3.0, 0.4, theta, 0.0)
    assert first.hoop_mpa == pytest.approx(3.0 / root * np.cos(t / 2) ** 3, abs=1e-12)
    assert first.shear_mpa == pytest.approx(3.0 / root * np.sin(t / 2) * np.cos(t / 2) ** 2, abs=1e-12)
    assert first.radial_mpa == pytest.approx(3.0 / root * np.cos(t / 2) * (1 + np.sin(t / 2) ** 2), abs=1e-12)
    assert second.hoop_mpa == pytest.approx(-9.0 / root * np.sin(t / 2) * np.cos(t / 2) ** 2, abs=1e-12)
    assert second.shear_mpa == pytest.approx(3.0 / root * np.cos(t / 2) * (1 - 3 * np.sin(t / 2) ** 2), abs=1e-12)


def referee_energy(mode: str, angle: float, nu: float) -> float:
    """Mean energy of the sector times E, integrated numerically over the fields."""
    gamma = float(notch.half_sector(angle))

    def density(theta: float) -> float:
        hoop, radial, shear = (float(part) for part in FIELDS[mode](1.0, 1.0, np.degrees(theta), angle))
        axial = nu * (hoop + radial)
        mixed = hoop * radial + hoop * axial + radial * axial
        return hoop**2 + radial**2 + axial**2 - 2 * nu * mixed + 2 * (1 + nu) * shear**2

    integral = quad(density, -gamma, gamma, epsabs=1e-13, epsrel=1e-12)[0]
    lam = getattr(notch.eigenvalues(angle), mode)
    return integral / (4.0 * lam * gamma)


@pytest.mark.parametrize("nu", [0.0, 0.3, 0.49])
@pytest.mark.parametrize("angle", [0.0, 30.0, 90.0, 102.4, 102.546, 103.0, 135.0, 150.0, 175.0])
@pytest.mark.parametrize("mode", ["opening", "sliding"])
def test_closed_form_energy_equals_numerical_integration(mode: str, angle: float, nu: float) -> None:
    assert float(ENERGIES[mode](angle, nu)) == pytest.approx(referee_energy(mode, angle, nu), rel=1e-9)


def test_tearing_energy_equals_numerical_integration() -> None:
    gamma, lam = float(notch.half_sector(135.0)), 0.8
    integral = quad(lambda _: 2 * 1.3 / (2 * np.pi), -gamma, gamma)[0]
    assert float(energy_coefficients.energy_coefficient_tearing(135.0)) == pytest.approx(integral / (4 * lam * gamma))


@pytest.mark.parametrize("nu", [0.0, 0.2, 0.3, 0.5])
def test_crack_energies_have_their_closed_forms(nu: float) -> None:
    found = energy_coefficients.energy_coefficients(0.0, nu).as_array()
    closed = np.array([(5 - 8 * nu) / 8, (9 - 8 * nu) / 8, 1.0]) * (1 + nu) / np.pi
    assert found == pytest.approx(closed, rel=1e-12)


def test_sliding_energy_is_smooth_across_the_limit_angle() -> None:
    limit = notch.sliding_limit_angle_deg()
    below, at_limit, above = (
        float(energy_coefficients.energy_coefficient_sliding(limit + step)) for step in (-1e-4, 0.0, 1e-4)
    )
    assert at_limit == pytest.approx((below + above) / 2, rel=1e-7)


def test_energy_broadcasts_over_angles_and_ratios() -> None:
    found = energy_coefficients.energy_coefficient_opening(np.array([[0.0], [135.0]]), np.array([0.2, 0.3]))
    assert found.shape == (2, 2)
    assert found[1, 1] == float(energy_coefficients.energy_coefficient_opening(135.0, 0.3))


def test_published_fit_stays_within_its_stated_error() -> None:
    angles = np.linspace(0.0, 150.0, 151)
    exact = energy_coefficients.energy_coefficient_opening(angles)
    assert np.abs(energy_coefficients.fit_coefficient_opening(angles) / exact - 1.0).max() < 0.014
    shear = angles[angles < notch.sliding_limit_angle_deg()]
    exact = energy_coefficients.energy_coefficient_sliding(shear)
    assert np.abs(energy_coefficients.fit_coefficient_sliding(shear) / exact - 1.0).max() < 0.014


def test_published_choice_is_rounded_as_printed_and_says_so() -> None:
    found = notch_constants(135.0, coefficients="published-fit")
    assert (found.energy_coefficients.opening, found.energy_coefficients.tearing) == (0.118, 0.259)
    assert [finding.code for finding in found.findings] == ["published-fit-coefficients"]
    assert "energy-coefficient-fits" in found.sources
    assert found.tables == ("stress/energy_coefficients",)


def test_published_fit_beyond_its_angles_is_outside() -> None:
    found = notch_constants(160.0, coefficients="published-fit")
    outside = [finding for finding in found.findings if finding.severity == "outside"]
    assert [finding.value for finding in outside] == [160.0]
    assert not [f for f in notch_constants(160.0).findings if f.severity == "outside"]


def test_published_fit_knows_one_poisson_ratio() -> None:
    with pytest.raises(NotCoveredError) as caught:
        notch_constants(135.0, 0.29, "published-fit")
    assert caught.value.path == ("poisson_ratio",)


@pytest.mark.parametrize("angle", [-1e-9, 180.0, 200.0, np.nan, np.inf])
def test_angles_that_are_no_notch_are_refused(angle: float) -> None:
    with pytest.raises(InputError) as caught:
        notch_constants(angle)
    assert caught.value.path == ("opening_angle_deg",)


@pytest.mark.parametrize("nu", [-0.1, 0.51, np.nan])
def test_poisson_ratios_out_of_range_are_refused(nu: float) -> None:
    with pytest.raises(InputError):
        energy_coefficients.energy_coefficient_sliding(0.0, nu)


def test_another_choice_of_coefficients_is_refused() -> None:
    with pytest.raises(InputError):
        energy_coefficients.energy_coefficients(0.0, 0.3, "guess")


def test_field_needs_a_radius() -> None:
    with pytest.raises(InputError):
        notch.field_opening(1.0, 0.0, 0.0, 135.0)


@pytest.mark.parametrize(
    "call",
    [
        notch.half_sector,
        notch.eigenvalue_opening,
        notch.eigenvalue_sliding,
        notch.eigenvalue_tearing,
        energy_coefficients.energy_coefficient_opening,
        energy_coefficients.energy_coefficient_sliding,
        energy_coefficients.energy_coefficient_tearing,
        energy_coefficients.fit_coefficient_opening,
        energy_coefficients.fit_coefficient_sliding,
        notch_constants,
        partial(peak_weights, element="tet10", element_size_mm=1.0, notch_size_mm=5.0),
        partial(notch_bisector, tangent=[[1.0, 0.0, 0.0]], plate_normal=[0.0, 0.0, 1.0], side=[[0.0, 1.0, 0.0]]),
    ],
)
def test_faces_in_one_plane_are_no_notch(call: Callable[..., object]) -> None:
    call(opening_angle_deg=100.0)
    with pytest.raises(InputError, match="opening_angle_deg"):
        call(opening_angle_deg=180.0)
