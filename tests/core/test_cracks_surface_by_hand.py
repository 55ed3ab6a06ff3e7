"""The equations of surface, corner and embedded cracks as printed, written out for single fronts."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fatcore.cracks.intensity.solid import corner, embedded, surface


def shallow(r: float, x: float) -> tuple[float, float, float, float]:
    """[newman-raju-1981] a/c = r <= 1, a/t = x: tension and bending at the deepest and at the surface point."""
    level = 1.13 - 0.09 * r + (-0.54 + 0.89 / (0.2 + r)) * x**2
    level += (0.5 - 1.0 / (0.65 + r) + 14.0 * (1.0 - r) ** 24) * x**4
    level /= math.sqrt(1.0 + 1.464 * r**1.65)
    deep = 1.0 + (-1.22 - 0.12 * r) * x + (0.55 - 1.05 * r**0.75 + 0.47 * r**1.5) * x**2
    shore = level * math.sqrt(r) * (1.1 + 0.35 * x**2)
    return level, level * deep, shore, shore * (1.0 - 0.34 * x - 0.11 * r * x)


def deep(ratio: float, x: float) -> tuple[float, float, float, float]:
    """[newman-raju-1984] a/c > 1, with r = c/a."""
    r = 1.0 / ratio
    level = math.sqrt(r) * (1.0 + 0.04 * r) + 0.2 * r**4 * x**2 - 0.11 * r**4 * x**4
    level /= math.sqrt(1.0 + 1.464 * r**1.65)
    below = 1.0 + (-2.11 + 0.77 * r) * x + (0.55 - 0.72 * r**0.75 + 0.14 * r**1.5) * x**2
    at_shore = 1.0 + (-0.04 - 0.41 * r) * x + (0.55 - 1.93 * r**0.75 + 1.38 * r**1.5) * x**2
    shore = level * (1.1 + 0.35 * r * x**2)
    bottom = level * math.sqrt(r)
    return bottom, bottom * below, shore, shore * at_shore


FRONTS = [(0.05, 0.3), (0.2, 0.5), (0.6, 0.9), (1.0, 0.4), (1.005, 0.4), (1.5, 0.6), (2.0, 1.0)]


@pytest.mark.parametrize(("ratio", "x"), FRONTS)
def test_both_points_of_a_front_are_those_printed(ratio: float, x: float) -> None:
    expected = (shallow if ratio <= 1.0 else deep)(ratio, x)
    assert [float(each) for each in surface.front_factors(x * 10.0, x * 10.0 / ratio, 10.0)] == pytest.approx(expected)
    for angle, place in ((90.0, 0), (0.0, 2), (180.0, 2)):
        found = surface.geometry_factors(x * 10.0, x * 10.0 / ratio, 10.0, angle_deg=angle)
        assert (float(found.tension), float(found.bending)) == pytest.approx(expected[place : place + 2])


def test_fronts_of_both_kinds_side_by_side_are_those_of_each_alone() -> None:
    ratios, depths = np.array([each[0] for each in FRONTS]), np.array([each[1] for each in FRONTS])
    found = surface.front_factors(depths * 10.0, depths * 10.0 / ratios, np.array(10.0))
    each = [(shallow if ratio <= 1.0 else deep)(ratio, x) for ratio, x in FRONTS]
    np.testing.assert_allclose(np.array(found).T, each, rtol=1e-12)


@pytest.mark.parametrize(("ratio", "angle"), [(0.5, 30.0), (0.5, 150.0), (1.6, 30.0), (1.6, 60.0)])
def test_points_between_follow_the_printed_angle(ratio: float, angle: float) -> None:
    """f = (r^2 cos^2 + sin^2)^(1/4), deep (r^2 sin^2 + cos^2)^(1/4); g = 1 + (...) (1 - sin)^2; H between by sin^p."""
    x, sine = 0.4, math.sin(math.radians(angle))
    r = min(ratio, 1.0 / ratio)
    square, rest = sine**2, 1.0 - sine**2
    front = (r**2 * rest + square if ratio <= 1.0 else r**2 * square + rest) ** 0.25
    bottom, bottom_bending, shore, shore_bending = (shallow if ratio <= 1.0 else deep)(ratio, x)
    level = bottom if ratio <= 1.0 else bottom / math.sqrt(r)
    tension = level * front * (1.0 + (0.1 + 0.35 * x**2 * (1.0 if ratio <= 1.0 else r)) * (1.0 - sine) ** 2)
    h1, h2 = shore_bending / shore, bottom_bending / bottom
    bending = h1 + (h2 - h1) * sine ** (0.2 + r + 0.6 * x)
    found = surface.geometry_factors(4.0, 4.0 / ratio, 10.0, angle_deg=angle)
    assert float(found.tension) == pytest.approx(tension)
    assert float(found.bending) == pytest.approx(tension * bending)


def test_the_width_and_the_shape_of_a_surface_crack() -> None:
    """sqrt(sec(pi c / 2b sqrt(a/t))): c/b = 0.5, a/t = 0.25; Q = 1 + 1.464 (a/c)^1.65, turned round beyond 1."""
    assert float(surface.width_factor(5.0, 0.25, 10.0)) == pytest.approx(math.cos(math.pi / 8.0) ** -0.5)
    assert float(surface.width_factor(10.0, 1.0, 10.0)) == math.inf
    assert surface.shape_factor([0.5, 1.0, 2.0]).tolist() == pytest.approx(
        [1.0 + 1.464 * 0.5**1.65, 2.464, 1.0 + 1.464 * 0.5**1.65]
    )
    narrow = surface.front_factors(2.5, 5.0, 10.0, 10.0)
    factor = math.cos(math.pi / 8.0) ** -0.5
    assert [float(each) for each in narrow] == pytest.approx([factor * each for each in shallow(0.5, 0.25)])
    reference = surface.reference_factors(2.5, 5.0, 10.0, 10.0)
    pull, bend, shore, shore_bend = (factor * each for each in shallow(0.5, 0.25))
    # stress 1 - x / a is bending over twice the relative depth, and the rest tension
    linear = [(b - t * (1.0 - 2.0 * 0.25)) / (2.0 * 0.25) for t, b in ((pull, bend), (shore, shore_bend))]
    assert [float(each) for each in reference] == pytest.approx([pull, linear[0], shore, linear[1]])


@pytest.mark.parametrize(
    ("ratio", "x", "angle"), [(0.5, 0.4, 90.0), (0.5, 0.4, 0.0), (0.8, 0.6, 30.0), (1.5, 0.5, 60.0)]
)
def test_an_embedded_ellipse_is_the_printed_one(ratio: float, x: float, angle: float) -> None:
    """[newman-raju-1984] M1 + M2 x^2 + M3 x^4, x = 2a/t, with its angle."""
    turn, r = math.radians(angle), min(ratio, 1.0 / ratio)
    first = 1.0 if ratio <= 1.0 else math.sqrt(r)
    level = first + 0.05 / (0.11 + ratio**1.5) * x**2 + 0.29 / (0.23 + ratio**1.5) * x**4
    level *= 1.0 - x**4 * math.sqrt(2.6 - 2.0 * x) / (1.0 + 4.0 * ratio) * abs(math.cos(turn))
    sine, cosine = math.sin(turn) ** 2, math.cos(turn) ** 2
    front = r**2 * cosine + sine if ratio <= 1.0 else r**2 * sine + cosine
    expected = level * front**0.25
    assert float(embedded.boundary_factor(ratio, x, angle)) == pytest.approx(expected)
    depth = 0.5 * x * 10.0
    k = embedded.stress_intensity(
        depth, half_length_mm=depth / ratio, thickness_mm=10.0, angle_deg=angle, membrane_mpa=2.0
    )
    shape = 1.0 + 1.464 * r**1.65
    assert float(k) == pytest.approx(2.0 * expected * math.sqrt(math.pi * depth / shape))


@pytest.mark.parametrize(
    ("ratio", "x", "angle"), [(0.5, 0.4, 90.0), (0.5, 0.4, 0.0), (1.0, 0.6, 30.0), (1.5, 0.5, 60.0)]
)
def test_a_corner_crack_is_the_printed_one(ratio: float, x: float, angle: float) -> None:
    """[newman-raju-1984] with both sides of the corner."""
    turn, r = math.radians(angle), min(ratio, 1.0 / ratio)
    sine, cosine = math.sin(turn), math.cos(turn)
    if ratio <= 1.0:
        level = 1.08 - 0.03 * r + (-0.44 + 1.06 / (0.3 + r)) * x**2
        level += (-0.5 + 0.25 * r + 14.8 * (1.0 - r) ** 15) * x**4
        sides = (1.0 + (0.08 + 0.4 * x**2) * (1.0 - sine) ** 3) * (1.0 + (0.08 + 0.15 * x**2) * (1.0 - cosine) ** 3)
        front = r**2 * cosine**2 + sine**2
    else:
        level = math.sqrt(r) * (1.08 - 0.03 * r) + 0.375 * r**2 * x**2 - 0.25 * r**2 * x**4
        sides = 1.0 + (0.08 + 0.4 * (x * r) ** 2) * (1.0 - sine) ** 3
        sides *= 1.0 + (0.08 + 0.15 * (x * r) ** 2) * (1.0 - cosine) ** 3
        front = r**2 * sine**2 + cosine**2
    assert float(corner.boundary_factor(ratio, x, angle)) == pytest.approx(level * sides * front**0.25)
