"""Semi-elliptical surface crack: limits, symmetries, joins, speed-path equality, bad input."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import ellipe

from fatcore.cracks.intensity.solid import surface
from fatcore.errors import InputError

RATIOS = st.floats(0.05, 2.0)
DEPTHS = st.floats(1e-6, 0.99)


@given(RATIOS, DEPTHS)
def test_front_factors_equal_the_general_angle(ratio: float, relative: float) -> None:
    front = surface.front_factors(relative, relative / ratio, 1.0)
    general = surface.geometry_factors(relative, relative / ratio, 1.0, angle_deg=[90.0, 0.0])
    assert np.allclose(front[::2], general.tension, rtol=1e-13)
    assert np.allclose(front[1::2], general.bending, rtol=1e-12, atol=1e-14)


@given(RATIOS, DEPTHS, st.floats(0.0, 90.0))
def test_front_is_symmetric(ratio: float, relative: float, angle: float) -> None:
    left, right = (
        surface.geometry_factors(relative, relative / ratio, 1.0, angle_deg=a) for a in (angle, 180.0 - angle)
    )
    assert np.allclose(left, right, rtol=1e-10, atol=1e-12)


@given(st.floats(0.01, 100.0), RATIOS, DEPTHS)
def test_only_ratios_matter(scale: float, ratio: float, relative: float) -> None:
    one = surface.front_factors(relative, relative / ratio, 1.0, 5.0)
    other = surface.front_factors(relative * scale, relative * scale / ratio, scale, 5.0 * scale)
    assert np.allclose(one, other, rtol=1e-11)


def test_arrays_of_both_branches_equal_scalars() -> None:
    depth, length = np.array([0.3, 0.3, 0.3, 0.6]), np.array([0.2, 0.3, 1.5, 0.4])
    together = surface.front_factors(depth, length, 1.0, 4.0)
    apart = [surface.front_factors(float(a), float(c), 1.0, 4.0) for a, c in zip(depth, length, strict=True)]
    assert np.allclose(np.array(together), np.array(apart).T, rtol=1e-14)


def test_factors_broadcast() -> None:
    factors = surface.front_factors(np.array([[0.1], [0.2]]), np.array([0.1, 0.4, 0.5]), 1.0)
    assert factors.deepest_tension.shape == (2, 3)
    mixed = surface.geometry_factors([[0.1], [0.2]], [0.1, 0.4, 0.5], 1.0, angle_deg=[0.0, 30.0, 90.0])
    assert mixed.tension.shape == (2, 3)


@pytest.mark.parametrize("point", range(0, 4, 2))
def test_branches_join_at_the_semicircle_in_tension(point: int) -> None:
    below, above = (surface.front_factors(0.4, 0.4 / ratio, 1.0)[point] for ratio in (1.0 - 1e-9, 1.0 + 1e-9))
    assert below == pytest.approx(above, rel=0.002)  # the two fits of the source differ by 0.1 %


def test_vanishing_depth_is_the_half_space() -> None:
    """a/t -> 0: bending becomes tension; a/c -> 0 is the edge of a half plane (1.13 in the fit)."""
    tension, bending = surface.geometry_factors(1e-12, 1e-12 / 0.4, 1.0)
    assert bending == pytest.approx(float(tension), rel=1e-11)
    assert float(surface.geometry_factors(1e-12, 1.0, 1.0).tension) == pytest.approx(1.13, rel=1e-6)


def test_deepest_point_in_bending_closes() -> None:
    assert float(surface.geometry_factors(0.8, 0.8, 1.0).bending) < 0.0


@given(st.floats(0.001, 1.0))
def test_shape_factor_is_the_square_of_the_ellipse_integral(ratio: float) -> None:
    assert np.sqrt(surface.shape_factor(ratio)) == pytest.approx(ellipe(1.0 - ratio**2), rel=0.0007)


def test_shape_factor_of_a_deep_crack_mirrors() -> None:
    assert surface.shape_factor(2.0) == surface.shape_factor(0.5)


@pytest.mark.parametrize("relative", [0.0 + 1e-9, 0.2, 0.7])
def test_linear_reference_follows_from_tension_and_bending(relative: float) -> None:
    front = surface.front_factors(relative, relative / 0.5, 1.0)
    linear = surface.reference_factors(relative, relative / 0.5, 1.0)
    for uniform, bending, found in ((front[0], front[1], linear[1]), (front[2], front[3], linear[3])):
        assert bending == pytest.approx((1.0 - 2.0 * relative) * uniform + 2.0 * relative * found, rel=1e-12)


def test_width_factor() -> None:
    assert float(surface.width_factor(0.0, 0.5, 1.0)) == 1.0
    assert float(surface.width_factor(0.5, 0.64, 1.0)) == pytest.approx(np.cos(0.2 * np.pi) ** -0.5)
    assert np.isinf(surface.width_factor(1.0, 1.0, 1.0))


def test_stress_intensity_sums_both_stresses() -> None:
    shape = {"half_length_mm": 5.0, "thickness_mm": 10.0, "half_width_mm": 40.0}
    y = surface.geometry_factors(2.0, 5.0, 10.0, 40.0)
    both = surface.stress_intensity(2.0, **shape, membrane_mpa=100.0, bending_mpa=-30.0)
    assert both == pytest.approx((100.0 * y.tension - 30.0 * y.bending) * np.sqrt(2.0 * np.pi), rel=1e-14)


@pytest.mark.parametrize(
    ("aspect", "relative", "codes"),
    [
        (0.1, 0.8749, ["deep-crack"]),
        (0.1, 0.8751, ["slender-crack-too-deep", "deep-crack"]),
        (0.1999, 1.0, ["slender-crack-too-deep", "deep-crack"]),
        (0.2, 1.0, ["deep-crack"]),
        (0.5, 0.8, []),
        (0.5, 0.8001, ["deep-crack"]),
    ],
)
def test_depth_limits_at_and_beside_their_values(aspect: float, relative: float, codes: list[str]) -> None:
    """[newman-raju-1981] a/t below 1.25 (a/c + 0.6) for a/c below 0.2; compared up to a/t = 0.8."""
    assert [each.code for each in surface.depth_findings(aspect, relative)] == codes


def test_findings_of_depth() -> None:
    assert surface.depth_findings(0.5, 0.7) == ()
    assert [f.code for f in surface.depth_findings(0.05, 0.85)] == ["slender-crack-too-deep", "deep-crack"]
    assert [f.code for f in surface.depth_findings([0.5, 0.01], [0.1, 0.79])] == ["slender-crack-too-deep"]


@pytest.mark.parametrize(
    ("arguments", "field"),
    [
        ((0.0, 1.0, 1.0), "depth_mm"),
        ((-1.0, 1.0, 1.0), "depth_mm"),
        ((1.0, np.nan, 1.0), "half_length_mm"),
        ((1.0, 1.0, -5.0), "thickness_mm"),
        ((2.0, 1.0, 1.0), "depth_mm"),
        ((0.5, 1.0, 1.0, 1.0), "half_length_mm"),
        ((0.5, 1.0, 1.0, 0.0), "half_width_mm"),
        ((0.5, 1.0, 1.0, None, 181.0), "angle_deg"),
        ((0.5, 1.0, 1.0, None, -1.0), "angle_deg"),
    ],
)
def test_bad_input(arguments: tuple[float, ...], field: str) -> None:
    with pytest.raises(InputError) as caught:
        surface.geometry_factors(*arguments)
    assert caught.value.path == (field,)
