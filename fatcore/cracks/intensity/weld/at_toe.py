"""Semi-elliptical surface crack at a weld toe: the plain plate's intensity times the toe magnification."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import numpy as np
from numpy.typing import ArrayLike

from fatcore.cracks.intensity.solid import surface
from fatcore.cracks.intensity.weld import toe
from fatcore.cracks.intensity.weld.toe_detail import DETAILS, detail_magnification, needs
from fatcore.errors import FatcoreError, InputError, UnknownError
from fatcore.require import FloatArray

POINTS = ("deepest", "surface")
# dimension of the joint -> ratio that the detail form takes
DETAIL_SHAPE = {
    "weld_height_mm": "weld_height_over_thickness",
    "weld_leg_mm": "weld_leg_over_thickness",
    "attachment_thickness_mm": "attachment_over_thickness",
    "attachment_length_mm": "attachment_length_over_thickness",
    "width_mm": "width_over_thickness",
}


def stress_intensity(
    depth_mm: ArrayLike,
    *,
    half_length_mm: ArrayLike,
    thickness_mm: ArrayLike,
    footprint_mm: ArrayLike,
    half_width_mm: ArrayLike | None = None,
    point: str = "deepest",
    form: str = "plane",
    membrane_mpa: ArrayLike = 0.0,
    bending_mpa: ArrayLike = 0.0,
) -> FloatArray:
    """Stress intensity factor of a toe crack at its deepest or surface point; fast, checks only the names.

    depth_mm, half_length_mm, thickness_mm, half_width_mm : a, c, t, b [mm]
    footprint_mm : length of the attachment with its welds on the plate [mm]
    point        : deepest or surface; form : magnification, plane or solid (bending always plane)
    membrane_mpa, bending_mpa : stress of the plate without the notch of the toe [MPa]
    Returns      : K [MPa*sqrt(mm)], signed
    Source       : [newman-raju-1981], [jcss-pmc-3] annex A.2, [toe-solid-2000]
    """
    if point not in POINTS:
        raise UnknownError("point", point, POINTS, "point")
    depth, length, thickness, width = _arrays(depth_mm, half_length_mm, thickness_mm, half_width_mm)
    plate = surface.front_factors(depth, length, thickness, width)
    weld = toe.front_magnification(depth, length, thickness, footprint_mm, form)
    first = 2 * POINTS.index(point)
    tension, bending = plate[first] * weld[first], plate[first + 1] * weld[first + 1]
    stress = tension * np.asarray(membrane_mpa) + bending * np.asarray(bending_mpa)
    return np.asarray(stress * np.sqrt(np.pi * depth))


def detail_intensity(
    depth_mm: ArrayLike,
    *,
    half_length_mm: ArrayLike,
    thickness_mm: ArrayLike,
    detail: str,
    half_width_mm: ArrayLike | None = None,
    membrane_mpa: ArrayLike = 0.0,
    toe_angle_deg: ArrayLike | None = None,
    **dimensions: ArrayLike | None,
) -> FloatArray:
    """Stress intensity factor at the deepest point of a toe crack at a structural detail, membrane stress.

    depth_mm, half_length_mm, thickness_mm, half_width_mm : a, c, t, b [mm]
    detail       : one of toe.DETAILS; membrane_mpa : stress of the plate [MPa]
    toe_angle_deg, dimensions : what the detail needs, DETAIL_SHAPE [deg], [mm]
    Returns      : K [MPa*sqrt(mm)], signed
    Source       : [newman-raju-1981], [toe-detail-1993]
    """
    depth, length, thickness, width = _arrays(depth_mm, half_length_mm, thickness_mm, half_width_mm)
    plate = surface.front_factors(depth, length, thickness, width).deepest_tension
    _guard_dimensions(detail, toe_angle_deg, dimensions)
    shape = detail_shape(thickness, toe_angle_deg, dimensions)
    with _by_dimension():
        weld = detail_magnification(detail, depth / thickness, **shape)
    return np.asarray(plate * weld * np.asarray(membrane_mpa) * np.sqrt(np.pi * depth))


def _guard_dimensions(detail: str, toe_angle_deg: ArrayLike | None, dimensions: dict[str, ArrayLike | None]) -> None:
    """InputError that names the dimensions of the joint, not the ratios of the formula."""
    known = {**dimensions, "toe_angle_deg": toe_angle_deg}
    needed = needs(detail) if detail in DETAILS else set()
    missing = sorted(name for name in map(_name_errors, needed) if known.get(name) is None)
    if missing:
        raise InputError(f"detail {detail!r} needs {', '.join(missing)}", missing[0])


def _name_errors(ratio: str) -> str:
    """The dimension of the joint that a ratio of the formula comes from."""
    return {value: name for name, value in DETAIL_SHAPE.items()}.get(ratio, ratio)


@contextmanager
def _by_dimension() -> Iterator[None]:
    try:
        yield
    except FatcoreError as error:
        error.path = tuple(_name_errors(str(step)) for step in error.path)
        raise


def detail_shape(
    thickness_mm: FloatArray, toe_angle_deg: ArrayLike | None, dimensions: dict[str, ArrayLike | None]
) -> dict[str, ArrayLike]:
    """The ratios of the given dimensions to the plate thickness, and the toe angle."""
    shape: dict[str, ArrayLike] = {
        DETAIL_SHAPE[name]: np.asarray(value, dtype=np.float64) / thickness_mm
        for name, value in dimensions.items()
        if value is not None
    }
    return shape if toe_angle_deg is None else {**shape, "toe_angle_deg": toe_angle_deg}


def _arrays(
    depth_mm: ArrayLike, half_length_mm: ArrayLike, thickness_mm: ArrayLike, half_width_mm: ArrayLike | None
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray | None]:
    depth, length = np.asarray(depth_mm, dtype=np.float64), np.asarray(half_length_mm, dtype=np.float64)
    width = None if half_width_mm is None else np.asarray(half_width_mm, dtype=np.float64)
    return depth, length, np.asarray(thickness_mm, dtype=np.float64), width
