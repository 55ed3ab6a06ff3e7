"""Edge cracks against boundary collocation, quadrature in high precision, and their limits."""

from __future__ import annotations

import mpmath
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fatcore.cracks.intensity.plate import edge
from fatcore.cracks.intensity.plate._compliance import integrals
from fatcore.errors import InputError, UnknownError
from tests.collocation import edge_factor


@pytest.mark.parametrize("alpha", [0.3, 0.5, 0.7])
def test_accurate_factors_meet_boundary_collocation(alpha: float) -> None:
    tension, bending = edge_factor(alpha, 1.0), edge_factor(alpha, 1.0, -2.0)
    assert float(edge.tension_free(alpha, "accurate")) == pytest.approx(tension, rel=1e-3)
    assert float(edge.bending(alpha, "accurate")) == pytest.approx(bending, rel=1e-3)
    assert float(edge.tension_free(alpha)) == pytest.approx(tension, rel=0.006)


@pytest.mark.parametrize("alpha", [0.3, 0.5])
def test_polynomial_in_bending_keeps_its_word(alpha: float) -> None:
    assert float(edge.bending(alpha, "polynomial")) == pytest.approx(edge_factor(alpha, 1.0, -2.0), rel=0.0025)


def test_handbook_form_in_bending_is_low() -> None:
    """The closed form states 0.5 %; collocation shows 2.3 % at a/W = 0.3, on the unsafe side."""
    computed = edge_factor(0.3, 1.0, -2.0)
    assert float(edge.bending(0.3)) / computed - 1.0 == pytest.approx(-0.023, abs=0.001)


def test_accurate_limits() -> None:
    """Shallow: edge of a half plane, 1.1215; deep: the exact ligament under moment, 3.975 M / b^1.5."""
    shallow = [float(f(0.0, "accurate")) for f in (edge.tension_free, edge.bending)]
    assert shallow == pytest.approx([1.1215, 1.1215], abs=5e-5)
    scale = 3.975 / (6.0 * np.sqrt(np.pi)) * 1e-6**-1.5
    assert float(edge.bending(1.0 - 1e-6, "accurate")) == pytest.approx(scale, rel=1e-3)
    assert float(edge.tension_free(1.0 - 1e-6, "accurate")) == pytest.approx(3.0 * scale, rel=1e-3)


def test_handbook_limits() -> None:
    at_zero = [float(f(0.0)) for f in (edge.tension_free, edge.bending, edge.bending_prevented)]
    assert at_zero == pytest.approx([1.122, 1.122, 5.0 / np.sqrt(20.0)], rel=1e-14)
    assert float(edge.clamped(0.0, 4.0)) == pytest.approx(1.122, rel=1e-14)


def test_polynomial_fails_beyond_its_range() -> None:
    assert round(float(edge.tension_free(0.8, "polynomial")), 2) == 9.02
    assert round(float(edge.tension_free(0.8)), 2) == 11.99


def test_clamped_lies_between_prevented_and_free() -> None:
    alpha = np.linspace(0.1, 0.8, 15)
    clamped = edge.clamped(alpha, 4.0)
    assert (clamped < edge.tension_free(alpha)).all()
    assert (clamped > edge.bending_prevented(alpha)).all()
    assert np.allclose(edge.clamped(alpha, 1e9), edge.tension_free(alpha), rtol=1e-6)


def test_twelve_terms_agree_with_the_closed_form() -> None:
    alpha = np.linspace(0.05, 0.8, 16)
    assert np.abs(edge.clamped_long(alpha) / edge.clamped(alpha, 10.0) - 1.0).max() < 0.03
    assert np.abs(edge.clamped_long(alpha) / edge.clamped(alpha, 10.0, "accurate") - 1.0).max() < 0.03


@pytest.mark.parametrize("form", ["handbook", "accurate", "polynomial"])
def test_derivative_of_the_compliance_is_the_intensity(form: str) -> None:
    alpha, step = np.linspace(0.01, 0.9, 23), 1e-4
    ahead, behind = (integrals(alpha + s, form) for s in (step, -step))
    far, near = (integrals(alpha + s, form) for s in (2.0 * step, -2.0 * step))
    pull, bend = edge.tension_free(alpha, form), edge.bending(alpha, form)
    for index, product in enumerate((pull**2, pull * bend, bend**2)):
        slope = (8.0 * (ahead[index] - behind[index]) - (far[index] - near[index])) / (12.0 * step)
        assert np.abs(slope / (alpha * product) - 1.0).max() < 1e-8


def reference_integrals(alpha: float) -> list[float]:
    """The three integrals by high-precision quadrature of the printed formulas."""
    with mpmath.workdps(30):

        def both(s: mpmath.mpf) -> tuple[mpmath.mpf, mpmath.mpf]:
            x = mpmath.pi * s / 2
            root = mpmath.sqrt(mpmath.tan(x) / x) if s else mpmath.mpf(1)
            pull = mpmath.mpf("0.752") + mpmath.mpf("2.02") * s + mpmath.mpf("0.37") * (1 - mpmath.sin(x)) ** 3
            bend = mpmath.mpf("0.923") + mpmath.mpf("0.199") * (1 - mpmath.sin(x)) ** 4
            return root * pull / mpmath.cos(x), root * bend / mpmath.cos(x)

        ends = [1 - (1 - mpmath.mpf(alpha)) ** (mpmath.mpf(k) / 6) for k in range(7)]
        pairs = ((0, 0), (0, 1), (1, 1))
        return [float(mpmath.quad(lambda s, i=i, j=j: s * both(s)[i] * both(s)[j], ends)) for i, j in pairs]


@pytest.mark.uncounted
@pytest.mark.parametrize("alpha", [1e-6, 1e-3, 0.0013, 0.1, 0.4567, 0.8, 0.99, 0.9999])
def test_integrals_against_quadrature(alpha: float) -> None:
    found = [float(value) for value in integrals(np.array(alpha), "handbook")]
    assert found == pytest.approx(reference_integrals(alpha), rel=1e-10)


def test_integrals_start_at_zero_and_keep_shape() -> None:
    assert [float(value) for value in integrals(np.array(0.0), "handbook")] == [0.0, 0.0, 0.0]
    assert integrals(np.array([[0.1, 0.2], [0.3, 0.4]]), "handbook").coupling.shape == (2, 2)


@given(st.floats(0.001, 0.98), st.floats(2.0, 100.0))
def test_longer_free_length_raises_the_factor(alpha: float, length: float) -> None:
    assert edge.clamped(alpha, 2.0 * length) >= edge.clamped(alpha, length)


def test_intensities_follow_the_factors() -> None:
    scale = 100.0 * np.sqrt(np.pi * 4.0)
    free = edge.stress_intensity(4.0, width_mm=10.0, membrane_mpa=100.0, bending_mpa=20.0, form="handbook")
    assert free == pytest.approx(scale * float(edge.tension_free(0.4) + 0.2 * edge.bending(0.4)))
    clamped = edge.clamped_intensity(4.0, width_mm=10.0, free_length_mm=40.0, membrane_mpa=100.0, form="handbook")
    assert clamped == pytest.approx(scale * float(edge.clamped(0.4, 4.0)))
    twelve = edge.clamped_intensity(4.0, width_mm=10.0, free_length_mm=99.0, membrane_mpa=100.0, form="twelve-term")
    assert twelve == pytest.approx(scale * float(edge.clamped_long(0.4)))
    straight = edge.prevented_intensity(4.0, width_mm=10.0, membrane_mpa=100.0)
    assert straight == pytest.approx(scale * float(edge.bending_prevented(0.4)))


@pytest.mark.parametrize("bad", [-0.1, 1.0, 2.0, np.nan])
def test_depth_outside_the_plate(bad: float) -> None:
    for function in (edge.tension_free, edge.bending, edge.bending_prevented):
        with pytest.raises(InputError) as caught:
            function(bad)
        assert caught.value.path == ("alpha",)


def test_bad_names_and_lengths() -> None:
    with pytest.raises(UnknownError):
        edge.tension_free(0.1, "other")
    with pytest.raises(UnknownError):
        edge.clamped_intensity(1.0, width_mm=10.0, free_length_mm=40.0, form="polynomial")
    with pytest.raises(InputError) as caught:
        edge.clamped(0.1, 0.0)
    assert caught.value.path == ("length_over_width",)
