"""Ends of geometry factors and of paths, and where single findings come from."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from fatcore.cracks.intensity.families import FAMILIES
from fatcore.cracks.intensity.plate import centre, double_edge, edge
from fatcore.cracks.intensity.solid import surface
from fatcore.cracks.intensity.weight_function import intensity as weight
from fatcore.cracks.intensity.weight_function.profiles import PathProfile, PolynomialProfile
from fatcore.cracks.intensity.weld import at_toe, toe
from fatcore.errors import InputError

PLATE: dict[str, Any] = {"half_length_mm": 5.0, "thickness_mm": 10.0}
LONG: dict[str, Any] = {
    "detail": "longitudinal",
    "attachment_thickness_mm": 10.0,
    "attachment_length_mm": 300.0,
    "width_mm": 40.0,
    "weld_height_mm": 6.0,
    "weld_leg_mm": 6.0,
}


def source(findings: Any, code: str) -> str | None:
    (found,) = (each for each in findings if each.code == code)
    return found.source  # type: ignore[no-any-return]


@pytest.mark.parametrize("factor", [centre.tada, centre.feddersen, double_edge.geometry_factor, edge.tension_free])
def test_factors_are_one_or_more_from_no_crack_to_the_whole_plate(factor: Any) -> None:
    assert 1.0 <= float(factor(0.0)) < 1.13
    assert float(factor(0.999)) > 1.0
    for bad in (-1e-9, 1.0, 1.005):
        with pytest.raises(InputError) as caught:
            factor(bad)
        assert caught.value.path == ("alpha",)


def test_clamped_ends_hold_up_to_a_millionth_of_the_width() -> None:
    given = {"width_mm": 20.0, "free_length_mm": 80.0}
    assert np.isfinite(edge.clamped(0.0, 4.0))
    assert np.isfinite(edge.clamped(0.999999, 4.0))
    FAMILIES["edge-clamped"].intensity(20.0 * (1.0 - 2e-6), **given)
    with pytest.raises(InputError):
        edge.clamped(1.0 - 1e-7, 4.0)
    with pytest.raises(InputError):
        FAMILIES["edge-clamped"].intensity(20.0 * (1.0 - 1e-7), **given)


def test_points_and_lengths_of_a_stress_may_be_small() -> None:
    assert PathProfile([0.0, 0.005], [1.0, 2.0]).reach_mm == 0.005
    assert float(PolynomialProfile([1.0, 2.0], 0.005).stress(0.005)) == 3.0


def test_findings_name_where_they_come_from() -> None:
    assert source(edge.form_findings("accurate"), "edge-factors-accurate") == "edge-collocation"
    assert source(edge.form_findings("handbook"), "edge-factors-handbook") == "tada-paris-irwin-2000"
    found = surface.depth_findings(0.1, 0.9)
    assert source(found, "deep-crack") == source(found, "slender-crack-too-deep") == "newman-raju-1981"
    even = PolynomialProfile([1.0], 1.0)
    published = weight.stress_intensity(even, 1.0, None, 10.0, "edge-published").findings
    assert source(published, "unconfirmed-coefficients") == "weight-edge-1992"
    left = weight.stress_intensity(PathProfile([0.0, 1.0], [1.0, 1.0]), 2.0, None, 10.0, "edge").findings
    assert source(left, "depth-mm-outside") == "weight-universal-1991"
    solid = FAMILIES["surface-at-toe"].intensity(1.0, **PLATE, footprint_mm=15.0, form="solid").findings
    assert source(solid, "unconfirmed-coefficients") == "toe-solid-2000"
    detail = FAMILIES["surface-at-detail"].intensity(1.0, **PLATE, **LONG, toe_angle_deg=45.0).findings
    for code in ("unconfirmed-coefficients", "doubtful-length-term"):
        assert source(detail, code) == "toe-detail-1993"


def test_a_toe_turns_by_a_right_angle_at_most() -> None:
    FAMILIES["surface-at-detail"].intensity(1.0, **PLATE, **LONG, toe_angle_deg=90.0)
    with pytest.raises(InputError) as caught:
        FAMILIES["surface-at-detail"].intensity(1.0, **PLATE, **LONG, toe_angle_deg=90.5)
    assert caught.value.path == ("toe_angle_deg",)


def test_the_solid_form_of_a_toe_has_a_kink_where_the_plate_ends() -> None:
    rows = toe.front_discontinuities([9.0, 10.0, 11.0], 20.0, 10.0, 15.0, "solid")
    assert rows[-1].tolist() == pytest.approx([-0.1, 0.0, 0.1])


@pytest.mark.parametrize(("point", "first"), [("deepest", 0), ("surface", 2)])
def test_a_toe_magnifies_both_stresses_at_each_point(point: str, first: int) -> None:
    plate, weld = surface.front_factors(1.0, 5.0, 10.0), toe.front_magnification(1.0, 5.0, 10.0, 15.0)
    tension, bending = (float(plate[first + i] * weld[first + i]) for i in (0, 1))
    given: dict[str, Any] = PLATE | {"footprint_mm": 15.0, "point": point}
    both = at_toe.stress_intensity(1.0, **given, membrane_mpa=3.0, bending_mpa=2.0)
    assert float(both) == pytest.approx((3.0 * tension + 2.0 * bending) * np.sqrt(np.pi), rel=1e-12)
