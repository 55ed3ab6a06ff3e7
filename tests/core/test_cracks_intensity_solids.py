"""Centre, double edge, corner, embedded, specimen and tube cracks: limits and relations between them."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import ellipe

from fatcore.cracks.intensity.plate import centre, double_edge, specimens
from fatcore.cracks.intensity.solid import corner, embedded, surface, tube
from fatcore.cracks.intensity.weld import root_gap
from fatcore.errors import InputError, UnknownError

UNIT = np.sqrt(np.pi)


def test_centre_limits() -> None:
    assert float(centre.tada(0.0)) == float(centre.feddersen(0.0)) == 1.0
    assert centre.stress_intensity(1.0, membrane_mpa=1.0) == pytest.approx(UNIT)
    for form, function in (("tada", centre.tada), ("feddersen", centre.feddersen)):
        k = centre.stress_intensity(2.0, width_mm=8.0, membrane_mpa=-3.0, form=form)
        assert k == pytest.approx(-3.0 * float(function(0.5)) * np.sqrt(2.0 * np.pi))


def test_centre_near_separation() -> None:
    """The last ligament: 1 - 0.025 + 0.06 times the secant, sqrt(2 / pi) / sqrt(1 - alpha)."""
    alpha = 1.0 - 1e-8
    assert float(centre.tada(alpha)) * np.sqrt(1.0 - alpha) == pytest.approx(1.035 * np.sqrt(2.0 / np.pi), rel=1e-6)


@pytest.mark.parametrize("bad", [-0.1, 1.0])
def test_centre_bad_input(bad: float) -> None:
    for function in (centre.tada, centre.feddersen, double_edge.geometry_factor):
        with pytest.raises(InputError):
            function(bad)


def test_unknown_forms() -> None:
    with pytest.raises(UnknownError):
        centre.stress_intensity(1.0, form="x")  # type: ignore[arg-type]
    with pytest.raises(UnknownError):
        double_edge.geometry_factor(0.1, "x")  # type: ignore[arg-type]


def test_double_edge_limits() -> None:
    """Shallow 1.122; deep 2 / pi / sqrt(1 - alpha), the exact ligament between two half planes."""
    shallow = [float(double_edge.geometry_factor(0.0, form)) for form in ("cosine", "rational")]
    assert shallow == pytest.approx([1.122, 1.122], rel=1e-14)
    alpha = 1.0 - 1e-6
    for form, limit in (("cosine", 2.0 / np.pi), ("rational", 0.637)):
        assert float(double_edge.geometry_factor(alpha, form)) * 1e-3 == pytest.approx(limit, rel=1e-4)
    assert float(double_edge.geometry_factor(0.5, "cubic")) == pytest.approx(1.1635, abs=5e-5)
    k = double_edge.stress_intensity(1.0, width_mm=4.0, membrane_mpa=2.0)
    assert k == pytest.approx(2.0 * UNIT * float(double_edge.geometry_factor(0.5)))


@given(st.floats(0.05, 1.0), st.floats(0.0, 90.0))
def test_infinite_ellipse_does_not_know_its_axes_names(ratio: float, angle: float) -> None:
    one = embedded.infinite(ratio, half_length_mm=1.0, angle_deg=angle, membrane_mpa=1.0)
    other = embedded.infinite(1.0, half_length_mm=ratio, angle_deg=90.0 - angle, membrane_mpa=1.0)
    assert one == pytest.approx(float(other), rel=1e-9)


def test_embedded_plate_reaches_the_infinite_body() -> None:
    size = {"half_length_mm": 2.0, "angle_deg": np.array([0.0, 45.0, 90.0]), "membrane_mpa": 1.0}
    thick = embedded.stress_intensity(1.0, thickness_mm=1e6, half_width_mm=1e9, **size)
    assert np.allclose(thick, embedded.infinite(1.0, **size), rtol=0.0007)
    long = embedded.stress_intensity(2.0, half_length_mm=1.0, thickness_mm=1e6, angle_deg=[0.0, 90.0], membrane_mpa=1.0)
    exact = embedded.infinite(2.0, half_length_mm=1.0, angle_deg=[0.0, 90.0], membrane_mpa=1.0)
    assert np.allclose(long, exact, rtol=0.0007)


def test_penny() -> None:
    """2 S sqrt(a / pi) all round, exact (Sneddon)."""
    k = embedded.infinite(3.0, half_length_mm=3.0, angle_deg=[0.0, 30.0, 90.0], membrane_mpa=1.0)
    assert np.allclose(k, 2.0 * np.sqrt(3.0 / np.pi), rtol=1e-14)
    assert ellipe(0.0) == pytest.approx(np.pi / 2.0)


@given(st.floats(0.2, 5.0), st.floats(0.0, 90.0), st.floats(1e-6, 0.2))
def test_corner_mirrors_in_a_quarter_space(ratio: float, angle: float, relative: float) -> None:
    """Without a back wall the two sides of the corner are alike; the fits keep that to 1 %."""
    small = 1e-9
    one = corner.stress_intensity(
        small, surface_length_mm=small / ratio, thickness_mm=1.0, angle_deg=angle, membrane_mpa=1.0
    )
    two = corner.stress_intensity(
        small / ratio, surface_length_mm=small, thickness_mm=1.0, angle_deg=90.0 - angle, membrane_mpa=1.0
    )
    assert one == pytest.approx(float(two), rel=0.01)


def test_corner_width() -> None:
    size = {"surface_length_mm": 2.0, "thickness_mm": 4.0, "membrane_mpa": 1.0}
    wide = corner.stress_intensity(1.0, width_mm=1e9, **size)
    assert wide == pytest.approx(float(corner.stress_intensity(1.0, **size)), rel=1e-8)
    share = 0.25 * np.sqrt(0.25)
    factor = 1.0 - 0.2 * share + 9.4 * share**2 - 19.4 * share**3 + 27.1 * share**4
    assert corner.stress_intensity(1.0, width_mm=8.0, **size) == pytest.approx(float(wide) * factor, rel=1e-7)


def test_compact_and_bend_specimens_scale() -> None:
    one = specimens.compact(20.0, width_mm=50.0, thickness_mm=10.0, force_n=1e4)
    assert one == pytest.approx(1e4 / (10.0 * np.sqrt(50.0)) * float(specimens.compact_factor(0.4)))
    bend = specimens.bend(20.0, width_mm=50.0, thickness_mm=10.0, force_n=1e4)
    assert bend == pytest.approx(
        float(specimens.bend(20.0, width_mm=50.0, thickness_mm=10.0, force_n=1e4, span_mm=200))
    )
    assert bend == pytest.approx(1e4 * 200.0 / (10.0 * 50.0**1.5) * float(specimens.bend_factor(0.4)))
    eccentric = specimens.eccentric(20.0, width_mm=50.0, thickness_mm=10.0, force_n=1e4)
    assert eccentric == pytest.approx(1e4 / (10.0 * np.sqrt(50.0)) * float(specimens.eccentric_factor(0.4)))


def test_middle_specimen_is_the_centre_crack() -> None:
    k = specimens.middle(10.0, width_mm=50.0, thickness_mm=4.0, force_n=2e4)
    assert k == pytest.approx(float(centre.stress_intensity(10.0, width_mm=50.0, membrane_mpa=100.0, form="feddersen")))


def test_deep_bend_specimen_is_the_pure_moment() -> None:
    """The ligament sees the moment alone: 3.975 M / (B b^1.5), M = P S / 4."""
    factor = float(specimens.bend_factor(1.0 - 1e-6)) * 1e-6**1.5
    assert factor == pytest.approx(3.975 / 4.0, rel=0.003)


def test_thick_tube_crack_tends_to_the_plate() -> None:
    """A very thin wall: hoop stress p R / t on the plate of the same thickness, up to the factor 0.97."""
    size = {"half_length_mm": 2.0, "thickness_mm": 10.0}
    k = tube.axial_surface(1.0, inner_radius_mm=1e7, pressure_mpa=1e-4, **size)
    plate = surface.stress_intensity(1.0, membrane_mpa=100.0, **size)
    assert k == pytest.approx(0.97 * float(plate), rel=1e-5)


def test_tube_through_cracks() -> None:
    k = tube.circumferential(18.0, mean_radius_mm=100.0, thickness_mm=10.0, membrane_mpa=50.0, bending_mpa=10.0)
    tension, bending = tube.circumferential_factors(0.1, 10.0)
    assert k == pytest.approx(float(50.0 * tension + 10.0 * bending) * np.sqrt(np.pi * 100.0 * 0.1 * np.pi))
    at_ten, thin = tube.circumferential_factors(0.1, [10.0, 10.0 + 1e-9]).tension
    assert at_ten == pytest.approx(thin, rel=1e-6)
    axial = tube.axial_through(20.0, mean_radius_mm=100.0, thickness_mm=4.0, pressure_mpa=2.0)
    assert axial == pytest.approx(50.0 * 1.5 * np.sqrt(np.pi * 20.0))


def test_root_gap_intensity() -> None:
    k = root_gap.stress_intensity(5.0, thickness_mm=10.0, leg_mm=5.0, membrane_mpa=80.0)
    assert k == pytest.approx(80.0 * float(root_gap.geometry_factor(0.5, 0.5)) * np.sqrt(5.0 * np.pi))
