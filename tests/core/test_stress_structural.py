"""Structural stress read-out and split through the thickness."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from fatcore.errors import InputError, UnknownError
from fatcore.stress.structural import hot_spot
from fatcore.stress.structural.linearise import linearise_path, linearise_polynomial

EXACT = {
    "linear-fine": (Fraction(5, 3), Fraction(-2, 3)),
    "linear-coarse": (Fraction(3, 2), Fraction(-1, 2)),
    "quadratic": (Fraction(63, 25), Fraction(-56, 25), Fraction(18, 25)),
    "fixed-fine": (3, -3, 1),
    "fixed-coarse": (Fraction(3, 2), Fraction(-1, 2)),
}
COEFFICIENT = st.floats(-200.0, 200.0)


@pytest.mark.parametrize("rule", EXACT)
def test_weights_are_exact(rule: str) -> None:
    weights = hot_spot.extrapolation_weights(hot_spot.reference_points_mm(rule, 7.3))
    assert weights == pytest.approx([float(share) for share in EXACT[rule]], rel=1e-13)
    assert weights.sum() == pytest.approx(1.0, abs=1e-13)


def test_every_rule_is_checked() -> None:
    assert set(hot_spot.rule_names()) == set(EXACT)


@pytest.mark.parametrize("rule", EXACT)
@given(c=st.tuples(COEFFICIENT, COEFFICIENT, COEFFICIENT), thickness=st.floats(2.0, 60.0))
def test_polynomial_of_the_rule_is_taken_to_the_toe_exactly(
    rule: str, c: tuple[float, float, float], thickness: float
) -> None:
    points = hot_spot.reference_points_mm(rule, thickness)
    degree = len(points) - 1
    stress = np.polynomial.Polynomial(c[: degree + 1])(points / thickness)
    assert float(hot_spot.hot_spot_stress(stress, rule)) == pytest.approx(c[0], abs=1e-9 * (1 + np.abs(stress).max()))


def test_many_stations_at_once() -> None:
    stress = np.arange(12.0).reshape(2, 2, 3)
    found = hot_spot.hot_spot_stress(stress, "quadratic")
    assert found.shape == (2, 2)
    assert found[1, 1] == float(hot_spot.hot_spot_stress(stress[1, 1], "quadratic"))


def test_path_on_its_reference_points_needs_no_reading_between() -> None:
    found = hot_spot.hot_spot_from_path([0.0, 4.0, 10.0, 20.0], [300.0, 140.0, 110.0, 100.0], 10.0, "linear-fine")
    assert found.hot_spot_stress_mpa == pytest.approx((5 * 140 - 2 * 110) / 3)
    assert [finding.code for finding in found.findings] == ["read-out-weights"]


def test_path_between_points_says_so() -> None:
    found = hot_spot.hot_spot_from_path([3.0, 5.0, 10.0], [150.0, 130.0, 110.0], 10.0, "linear-fine")
    assert found.reference_stress_mpa.tolist() == [140.0, 110.0]
    assert [finding.code for finding in found.findings] == ["read-out-weights", "read-between-points"]


@given(st.tuples(COEFFICIENT, COEFFICIENT, COEFFICIENT))
def test_least_squares_returns_a_polynomial_of_its_degree(c: tuple[float, float, float]) -> None:
    x = np.linspace(0.0, 30.0, 40)
    stress = np.polynomial.Polynomial(c)(x / 10.0)
    found = hot_spot.hot_spot_least_squares(x, stress, 10.0, degree=2)
    assert found.hot_spot_stress_mpa == pytest.approx(c[0], abs=1e-8)
    assert found.reference_distance_mm.min() >= 4.0
    assert found.reference_distance_mm.max() <= 15.0


def test_least_squares_equals_a_fit_by_numpy_and_is_marked() -> None:
    x, rng = np.linspace(0.0, 30.0, 61), np.random.default_rng(3)
    stress = 100.0 - 3.0 * x + rng.normal(size=61)
    used = (x >= 4.0) & (x <= 10.0)
    found = hot_spot.hot_spot_least_squares(x, stress, 10.0, window_low=0.4, window_high=1.0)
    assert found.hot_spot_stress_mpa == pytest.approx(np.polynomial.Polynomial.fit(x[used], stress[used], 1)(0.0))
    assert [(f.code, f.severity) for f in found.findings] == [("least-squares-window", "caution")]


@pytest.mark.parametrize(
    ("changes", "name"),
    [
        ({"distance_mm": [0.0, 5.0]}, "stress_mpa"),
        ({"distance_mm": [0.0, 5.0, 4.0]}, "distance_mm"),
        ({"distance_mm": [-1.0, 5.0, 15.0]}, "distance_mm"),
        ({"distance_mm": [5.0, 6.0, 15.0]}, "distance_mm"),
        ({"distance_mm": [0.0, 5.0, 9.0]}, "distance_mm"),
        ({"thickness_mm": 0.0}, "thickness_mm"),
        ({"rule": "cubic"}, "rule"),
        ({"distance_mm": []}, "distance_mm"),
        ({"stress_mpa": [1.0, np.nan, 2.0]}, "stress_mpa"),
    ],
)
def test_path_refuses(changes: dict[str, object], name: str) -> None:
    base = {
        "distance_mm": [0.0, 5.0, 15.0],
        "stress_mpa": [3.0, 2.0, 1.0],
        "thickness_mm": 10.0,
        "rule": "quadratic",
    }
    with pytest.raises(InputError) as caught:
        hot_spot.hot_spot_from_path(**{**base, **changes})  # type: ignore[arg-type]
    assert caught.value.path == (name,)


@pytest.mark.parametrize(
    ("changes", "name"),
    [
        ({"degree": 3}, "degree"),
        ({"window_low": 2.0}, "window_low"),
        ({"window_low": 0.41, "window_high": 0.42}, "distance_mm"),
    ],
)
def test_least_squares_refuses(changes: dict[str, float], name: str) -> None:
    with pytest.raises(InputError) as caught:
        hot_spot.hot_spot_least_squares([4.0, 10.0, 15.0], [3.0, 2.0, 1.0], 10.0, **changes)  # type: ignore[arg-type]
    assert caught.value.path == (name,)


def test_references_of_many_stations_with_their_distances() -> None:
    found = hot_spot.hot_spot_from_references([[140.0, 110.0], [100.0, 100.0]], "linear-fine", 10.0)
    assert found.hot_spot_stress_mpa == pytest.approx([160.0, 100.0])
    assert found.reference_distance_mm.tolist() == [4.0, 10.0]
    fixed = hot_spot.hot_spot_from_references([150.0, 130.0, 118.0], "fixed-fine")
    assert float(fixed.hot_spot_stress_mpa) == 178.0
    with pytest.raises(InputError) as caught:
        hot_spot.hot_spot_from_references([140.0, 110.0], "linear-fine")
    assert caught.value.path == ("thickness_mm",)


def test_read_out_refuses() -> None:
    with pytest.raises(InputError):
        hot_spot.hot_spot_stress([1.0, 2.0, 3.0], "linear-fine")
    with pytest.raises(InputError):
        hot_spot.extrapolation_weights([4.0, 4.0])
    with pytest.raises(UnknownError):
        hot_spot.reference_points_mm("cubic", 10.0)


# through the thickness


@given(st.lists(COEFFICIENT, min_size=1, max_size=6))
def test_polynomial_parts_equal_numerical_integration(c: list[float]) -> None:
    stress = np.polynomial.Polynomial(c)
    found = linearise_polynomial(c)
    membrane = quad(stress, 0.0, 1.0)[0]
    bending = quad(lambda u: 6.0 * stress(u) * (0.5 - u), 0.0, 1.0)[0]
    assert float(found.membrane_mpa) == pytest.approx(membrane, abs=1e-9)
    assert float(found.bending_mpa) == pytest.approx(bending, abs=1e-9)
    assert float(found.structural_mpa + found.peak_mpa) == pytest.approx(c[0], abs=1e-9)
    assert float(found.membrane_mpa - found.bending_mpa + found.peak_far_mpa) == pytest.approx(sum(c), abs=1e-9)


def test_many_polynomials_at_once() -> None:
    found = linearise_polynomial([[100.0, 0.0], [100.0, -200.0]])
    assert found.membrane_mpa.tolist() == [100.0, 0.0]
    assert found.bending_mpa == pytest.approx([0.0, 100.0])


@given(COEFFICIENT, COEFFICIENT, st.lists(st.floats(0.05, 1.0), min_size=1, max_size=9))
def test_linear_distribution_has_no_peak_at_any_points(top: float, slope: float, steps: list[float]) -> None:
    depth = np.concatenate([[0.0], np.cumsum(steps)])
    found = linearise_path(depth, top + slope * depth)
    assert [float(found.peak_mpa), float(found.peak_far_mpa)] == pytest.approx([0.0, 0.0], abs=1e-8)
    assert float(found.structural_mpa) == pytest.approx(top, abs=1e-8)
    assert found.thickness_mm == pytest.approx(depth[-1])


def test_points_approach_the_polynomial_with_the_square_of_their_distance() -> None:
    c = [100.0, -350.0, 500.0, -200.0]
    exact = linearise_polynomial(c)
    errors = []
    for count in (21, 41, 81):
        u = np.linspace(0.0, 1.0, count)
        found = linearise_path(12.0 * u, np.polynomial.Polynomial(c)(u))
        errors.append(abs(float(found.bending_mpa - exact.bending_mpa)))
    assert np.log2(np.divide(errors[:-1], errors[1:])) == pytest.approx([2.0, 2.0], abs=0.02)


def test_turned_path_turns_the_bending() -> None:
    depth = np.array([0.0, 1.0, 3.0, 4.0])
    stress = np.array([[9.0, 5.0, 2.0, 1.0], [1.0, 1.0, 1.0, 1.0]])
    there, back = linearise_path(depth, stress), linearise_path((4.0 - depth)[::-1], stress[:, ::-1])
    assert back.membrane_mpa == pytest.approx(there.membrane_mpa)
    assert back.bending_mpa == pytest.approx(-there.bending_mpa)
    assert back.peak_mpa == pytest.approx(there.peak_far_mpa)
    assert [finding.code for finding in there.findings] == ["few-points"]


@pytest.mark.parametrize(
    ("depth", "stress", "name"),
    [
        ([0.0], [1.0], "distance_mm"),
        ([0.0, 1.0], [1.0], "stress_mpa"),
        ([0.0, 1.0], 1.0, "stress_mpa"),
        ([0.0, 1.0, 1.0], [1.0, 1.0, 1.0], "distance_mm"),
        ([0.5, 1.0], [1.0, 1.0], "distance_mm"),
        ([0.0, 1.0], [1.0, np.inf], "stress_mpa"),
    ],
)
def test_paths_that_are_none_are_refused(depth: list[float], stress: object, name: str) -> None:
    with pytest.raises(InputError) as caught:
        linearise_path(depth, stress)  # type: ignore[arg-type]
    assert caught.value.path == (name,)


def test_plain_trapezoids_err_on_a_linear_distribution_as_their_order_says() -> None:
    depth = np.linspace(0.0, 8.0, 20)
    found = linearise_path(depth, 100.0 - 25.0 * depth, "trapezoid")
    assert float(found.bending_mpa) == pytest.approx(100.0 * (1.0 + 2.0 / 19.0**2))
    with pytest.raises(InputError):
        linearise_path(depth, depth, "simpson")


def test_polynomial_needs_a_coefficient() -> None:
    with pytest.raises(InputError):
        linearise_polynomial([])
