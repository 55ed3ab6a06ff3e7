"""Weld-toe magnification: floor, joins of the branches, forms, bad names."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fatcore.cracks.intensity.solid import surface
from fatcore.cracks.intensity.weld import at_toe, toe
from fatcore.cracks.intensity.weld._toe_solid import solid
from fatcore.cracks.intensity.weld.toe_detail import detail_magnification
from fatcore.errors import InputError, NotCoveredError, UnknownError

WELD = {"weld_height_over_thickness": 0.4, "weld_leg_over_thickness": 0.4}


@given(st.floats(1e-4, 1.0), st.floats(0.1, 10.0))
def test_plane_form_never_falls_below_one(depth: float, length: float) -> None:
    assert min(float(value) for value in toe.plane(depth, length)) >= 1.0


@given(st.floats(0.001, 0.9), st.floats(0.1, 1.0), st.floats(0.5, 5.0))
def test_solid_form_is_finite_and_floored(depth: float, ratio: float, length: float) -> None:
    deepest, surface_point = solid(depth, ratio, length)
    assert 1.0 <= deepest < 20.0
    assert 1.0 <= surface_point < 20.0


def test_solid_form_takes_no_longer_footprint_than_its_source() -> None:
    assert solid(0.02, 0.5, 9.0) == solid(0.02, 0.5, 2.75)


@pytest.mark.parametrize(("load", "ratio"), [(0, 0.9716), (1, 1.013)])
def test_plane_branches_do_not_join_exactly(load: int, ratio: float) -> None:
    """The jump at the border of the table is in the source: membrane L/B = 2, bending L/B = 0.25."""
    length, border = ((2.0, 0.05 * 2.0**0.55), (0.25, 0.03 * 0.25**0.55))[load]
    near, beyond = (toe.plane(border * (1.0 + step), length)[load] for step in (-1e-12, 1e-12))
    assert float(near / beyond) == pytest.approx(ratio, abs=5e-4)


def test_plane_form_of_a_long_attachment_knows_no_length() -> None:
    assert toe.plane(0.02, 2.5) == toe.plane(0.02, 25.0)


def test_front_magnification_multiplies_the_plate() -> None:
    weld = toe.front_magnification(1.0, 2.0, 10.0, 15.0)
    assert weld.deepest_tension == toe.plane(0.1, 1.5).membrane
    assert weld.surface_bending == toe.plane(0.015, 1.5).bending
    found = toe.front_magnification(1.0, 2.0, 10.0, 15.0, "solid")
    assert (found.deepest_tension, found.surface_tension) == solid(0.1, 0.5, 1.5)
    assert found.deepest_bending == weld.deepest_bending
    plate = surface.front_factors(1.0, 2.0, 10.0)
    size = {"half_length_mm": 2.0, "thickness_mm": 10.0, "footprint_mm": 15.0}
    k = at_toe.stress_intensity(1.0, **size, point="surface", membrane_mpa=10.0, bending_mpa=5.0)
    expected = 10.0 * plate.surface_tension * weld.surface_tension + 5.0 * plate.surface_bending * weld.surface_bending
    assert k == pytest.approx(float(expected) * np.sqrt(np.pi))


def test_detail_intensity() -> None:
    size = {"half_length_mm": 2.0, "thickness_mm": 10.0, "half_width_mm": 100.0, "membrane_mpa": 10.0}
    k = at_toe.detail_intensity(1.0, detail="transverse", weld_height_mm=4.0, weld_leg_mm=4.0, **size)
    plate = surface.stress_intensity(1.0, **size)
    assert k == pytest.approx(float(plate * detail_magnification("transverse", 0.1, **WELD)))
    longitudinal = at_toe.detail_intensity(
        1.0,
        detail="longitudinal",
        attachment_thickness_mm=10.0,
        attachment_length_mm=100.0,
        width_mm=40.0,
        toe_angle_deg=45.0,
        **size,
    )
    assert longitudinal / plate == pytest.approx(1.661, abs=5e-4)


def test_detail_floor_and_arrays() -> None:
    assert detail_magnification("transverse", [0.01, 0.9], **WELD)[1] == 1.0


def test_fillet_taller_than_half_the_plate_is_not_covered() -> None:
    with pytest.raises(NotCoveredError):
        detail_magnification("cruciform-fillet", 0.01, weld_height_over_thickness=0.6, weld_leg_over_thickness=0.4)


def test_bad_names() -> None:
    with pytest.raises(UnknownError):
        detail_magnification("other", 0.01)
    with pytest.raises(UnknownError):
        toe.front_magnification(1.0, 2.0, 10.0, 15.0, "other")
    with pytest.raises(UnknownError):
        at_toe.stress_intensity(1.0, half_length_mm=2.0, thickness_mm=10.0, footprint_mm=9.0, point="other")
    with pytest.raises(InputError) as caught:
        detail_magnification("longitudinal", 0.01, toe_angle_deg=45.0)
    assert caught.value.path == ("attachment_length_over_thickness",)
