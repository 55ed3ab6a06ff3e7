"""Weight functions against quadrature of the singular integrals, collocation, and their references."""

from __future__ import annotations

import mpmath
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from fatcore.cracks.intensity.plate import edge
from fatcore.cracks.intensity.solid import surface
from fatcore.cracks.intensity.weight_function import _coefficients as coefficients
from fatcore.cracks.intensity.weight_function import intensity as weight
from fatcore.cracks.intensity.weight_function.profiles import PathProfile, PolynomialProfile
from fatcore.errors import InputError, UnknownError
from tests.collocation import edge_factor

DIST = np.array([0.0, 0.3, 1.0, 2.0, 5.0])
STRESS = np.array([310.0, 190.0, 150.0, -20.0, 60.0])
M = {"half-plane": coefficients.half_plane(), "centre": coefficients.centre()}


def referee(stress: object, depth: float, m: tuple[float, float, float], mouth: bool) -> float:
    """The integral of stress times weight with the singularity substituted away (s^2 = distance from it)."""

    def integrand(s: float) -> float:
        near = s * s / depth
        place = s * s if mouth else depth - s * s
        series = 1.0 + m[0] * near**0.5 + m[1] * near + m[2] * near**1.5
        return 2.0 * float(stress(place)) * series  # type: ignore[operator]

    scale = 2.0 / np.sqrt(np.pi) if mouth else 2.0 / np.sqrt(2.0 * np.pi)
    kinks = sorted(np.sqrt(x if mouth else depth - x) for x in DIST if 0.0 < x < depth)
    return scale * float(quad(integrand, 0.0, np.sqrt(depth), points=kinks or None, epsrel=1e-13, limit=200)[0])


@pytest.mark.parametrize("depth", [0.05, 0.3, 0.77, 3.0, 5.0, 8.0])
@pytest.mark.parametrize("point", ["half-plane", "centre"])
def test_path_against_quadrature(depth: float, point: str) -> None:
    expected = referee(lambda x: np.interp(x, DIST, STRESS), depth, M[point], mouth=False)
    assert weight.path_intensity(DIST, STRESS, depth, point=point) == pytest.approx(expected, rel=1e-11)


@pytest.mark.parametrize("depth", [0.05, 0.3, 0.77, 3.0, 5.0])
def test_surface_point_against_quadrature(depth: float) -> None:
    m = coefficients.surface_point(surface.reference_factors(depth, 2.0 * depth, 10.0))
    expected = referee(lambda x: np.interp(x, DIST, STRESS), depth, m, mouth=True)
    found = weight.path_intensity(DIST, STRESS, depth, 2.0 * depth, 10.0, "surface")
    assert found == pytest.approx(expected, rel=1e-11)


@pytest.mark.parametrize("power", range(5))
@pytest.mark.parametrize("mouth", [False, True])
def test_polynomial_against_high_precision(power: int, mouth: bool) -> None:
    """Beta functions against mpmath quadrature in 30 digits."""
    profile = PolynomialProfile([0.0] * power + [2.0], 3.0)
    moments = (profile.mouth_moments if mouth else profile.tip_moments)(np.asarray(1.5))
    with mpmath.workdps(30):
        for exponent, found in zip((-0.5, 0.0, 0.5, 1.0), moments, strict=True):
            value = mpmath.quad(
                lambda u, p=exponent: 2 * ((u if mouth else 1 - u) / 2) ** power * u ** mpmath.mpf(p), [0, 1]
            )
            assert float(found) == pytest.approx(float(value), rel=1e-9)


@given(st.floats(0.05, 2.0), st.floats(0.001, 0.99), st.floats(-200.0, 200.0), st.floats(-200.0, 200.0))
def test_linear_stress_gives_back_the_surface_crack(ratio: float, depth: float, tension: float, bending: float) -> None:
    """Membrane plus bending as a path: the reference solutions return exactly, at both points."""
    path = ([0.0, 1.0], [tension + bending, tension - bending])
    front = surface.front_factors(depth, depth / ratio, 1.0)
    scale = np.sqrt(np.pi * depth)
    for point, pull, bend in (("deepest", front[0], front[1]), ("surface", front[2], front[3])):
        found = weight.path_intensity(*path, depth, depth / ratio, 1.0, point)
        assert found / scale == pytest.approx(pull * tension + bend * bending, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("alpha", [0.1, 0.3, 0.6, 0.8])
def test_matched_edge_gives_back_tension_and_bending(alpha: float) -> None:
    scale = np.sqrt(np.pi * alpha)
    even, bent = (PolynomialProfile(c, 1.0) for c in ([1.0], [1.0, -2.0]))
    tension, bending = (weight.profile_intensity(p, alpha, None, 1.0, "edge") / scale for p in (even, bent))
    assert tension == pytest.approx(float(edge.tension_free(alpha, "accurate")), rel=1e-12)
    assert bending == pytest.approx(float(edge.bending(alpha, "accurate")), rel=1e-10)


def test_matched_edge_at_small_depth_is_the_half_plane() -> None:
    profile = PolynomialProfile([0.0, 1.0], 1e-6)
    strip, plane = (weight.profile_intensity(profile, 1e-6, None, 1.0, p) for p in ("edge", "half-plane"))
    assert strip == pytest.approx(float(plane), rel=0.005)


@pytest.mark.parametrize("alpha", [0.3, 0.5, 0.7])
@pytest.mark.parametrize(("point", "within"), [("edge", 0.01), ("edge-published", 0.035)])
@pytest.mark.parametrize("powers", [(0.0, 0.0, 1.0), (0.0, 0.0, 0.0, 1.0), (1.0, -3.0, 3.0, -1.0)])
def test_curved_stress_against_collocation(alpha: float, point: str, within: float, powers: tuple[float, ...]) -> None:
    """Squares and cubes of the distance, from the edge and from the far side: not part of the references."""
    found = weight.profile_intensity(PolynomialProfile(powers, 1.0), alpha, None, 1.0, point)
    assert float(found) / np.sqrt(np.pi * alpha) == pytest.approx(edge_factor(alpha, *powers), rel=within)


def test_centre_polynomial_odd_powers_use_the_distance() -> None:
    """Symmetric stress |x| / a on a centre crack: exact 2 / pi."""
    k = weight.profile_intensity(PolynomialProfile([0.0, 1.0], 1.0), 1.0, point="centre")
    assert k / np.sqrt(np.pi) == pytest.approx(2.0 / np.pi, rel=0.001)


@given(st.floats(0.1, 10.0), st.floats(-5.0, 5.0))
def test_intensity_is_linear_in_stress(depth: float, factor: float) -> None:
    one = weight.path_intensity(DIST, STRESS, depth, 2.0 * depth, 20.0)
    other = weight.path_intensity(DIST, factor * STRESS, depth, 2.0 * depth, 20.0)
    assert other == pytest.approx(factor * float(one), rel=1e-9, abs=1e-9)


def test_extra_points_on_a_line_change_nothing() -> None:
    fine = np.union1d(DIST, np.linspace(0.0, 5.0, 301))
    one, two = (
        weight.path_intensity(x, np.interp(x, DIST, STRESS), [0.2, 1.7, 4.0], [0.5, 3.0, 9.0], 10.0)
        for x in (DIST, fine)
    )
    assert np.allclose(one, two, rtol=1e-10)


def test_many_cracks_keep_shape_and_pass_in_parts(monkeypatch: pytest.MonkeyPatch) -> None:
    depth = np.linspace(0.1, 4.0, 60).reshape(3, 20)
    whole = weight.path_intensity(DIST, STRESS, depth, 2.0 * depth, 10.0)
    monkeypatch.setattr("fatcore.cracks.intensity.weight_function.profiles._CHUNK", 35)
    # how a sum is split over vector units differs between processors in its last bits
    parts = weight.path_intensity(DIST, STRESS, depth, 2.0 * depth, 10.0)
    np.testing.assert_allclose(parts, whole, rtol=1e-13)
    assert whole.shape == (3, 20)


def test_outcome_of_an_ellipse() -> None:
    path = PathProfile(DIST, STRESS)
    outcome = weight.stress_intensity(path, [1.0, 6.0], [4.0, 9.0], 7.0, "deepest", 90.0)
    assert [f.code for f in outcome.findings] == ["depth-mm-outside", "deep-crack"]
    assert outcome.k_mpa_sqrt_mm[0] == weight.path_intensity(DIST, STRESS, 1.0, 4.0, 7.0, half_width_mm=90.0)
    assert "weight-surface-1991" in outcome.sources


def test_outcomes_of_other_points() -> None:
    profile = PolynomialProfile([100.0], 1.0)
    matched = weight.stress_intensity(profile, 2.0, None, 10.0, "edge")
    assert matched.findings == ()
    published = weight.stress_intensity(profile, 9.0, None, 10.0, "edge-published")
    assert [f.code for f in published.findings] == ["edge-alpha-outside", "unconfirmed-coefficients"]
    plain = weight.stress_intensity(profile, 2.0, point="half-plane")
    assert (plain.point, plain.sources, plain.findings) == ("half-plane", ("weight-universal-1991",), ())


def test_profiles_tell_their_stress_and_reach() -> None:
    assert PathProfile(DIST, STRESS).stress([0.0, 1.5, 9.0]).tolist() == [310.0, 65.0, 60.0]
    assert PathProfile([0.0], [7.0]).reach_mm == 0.0
    assert float(PolynomialProfile([1.0, 2.0], 4.0).stress(2.0)) == 2.0


@pytest.mark.parametrize(
    ("dist", "stress", "path"),
    [
        ([0.1, 1.0], [1.0, 1.0], ("distance_mm", 0)),
        ([0.0, 1.0, 1.0], [1.0, 1.0, 1.0], ("distance_mm", 2)),
        ([0.0, 1.0], [1.0], ("stress_mpa",)),
        ([], [], ("distance_mm",)),
        ([0.0, np.inf], [1.0, 1.0], ("distance_mm",)),
    ],
)
def test_bad_paths(dist: list[float], stress: list[float], path: tuple[object, ...]) -> None:
    with pytest.raises(InputError) as caught:
        PathProfile(dist, stress)
    assert caught.value.path == path


@pytest.mark.parametrize(
    ("arguments", "field"),
    [
        ((0.0, 1.0, 1.0, "deepest"), "depth_mm"),
        ((1.0, None, 1.0, "deepest"), "half_length_mm"),
        ((1.0, 1.0, None, "deepest"), "thickness_mm"),
        ((2.0, 1.0, 1.0, "surface"), "depth_mm"),
        ((1.0, None, 1.0, "edge"), "depth_mm"),
        ((0.5, 2.0, 1.0, "deepest", 2.0), "half_length_mm"),
        ((0.5, 2.0, 1.0, "other"), "point"),
    ],
)
def test_bad_cracks(arguments: tuple[object, ...], field: str) -> None:
    with pytest.raises(InputError) as caught:
        weight.stress_intensity(PolynomialProfile([1.0], 1.0), *arguments)  # type: ignore[arg-type]
    assert caught.value.path == (field,)


def test_bad_point_and_polynomial() -> None:
    with pytest.raises(UnknownError):
        weight.path_intensity(DIST, STRESS, 1.0, point="other")
    with pytest.raises(InputError):
        PolynomialProfile([1.0], 0.0)
    with pytest.raises(InputError):
        PolynomialProfile([], 1.0)
