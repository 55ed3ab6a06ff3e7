"""Semi-elliptical surface crack at a weld toe: the plain plate's intensity times the toe magnification."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager

import numpy as np
from numpy.typing import ArrayLike

from fatcore.cracks.intensity.family import (
    BENDING,
    HALF_LENGTH,
    HALF_WIDTH,
    MEMBRANE,
    THICKNESS,
    Family,
    Parameter,
    Values,
)
from fatcore.cracks.intensity.solid import surface
from fatcore.cracks.intensity.weld import toe
from fatcore.cracks.intensity.weld.toe_detail import DETAILS, detail_magnification, needs
from fatcore.errors import FatcoreError, InputError, UnknownError
from fatcore.figures import as_given
from fatcore.findings import Finding, Limit, caution, note
from fatcore.require import FloatArray
from fatcore.tables import load

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
    Returns      : K [MPa√mm], signed
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
    Returns      : K [MPa√mm], signed
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


_PLATE = (HALF_LENGTH, THICKNESS, HALF_WIDTH)
_DOUBTFUL_LENGTH = load(toe.TABLES[1])["longitudinal"]["doubtful_length"]  # over thickness


def _solid(name: str) -> Limit:
    """A limit of the solid form under a name of its own, since the plain plate has one of the same name."""
    low, high = next((item.low, item.high) for item in toe.LIMITS if item.name == name)
    return Limit(f"solid_{name}", low, high, toe.SOURCES[2], "range of the solid form")


def _toe(values: Values) -> dict[str, FloatArray]:
    ratios = surface.ellipse(values)
    if values["form"] == "plane":
        return ratios
    footprint = np.asarray(values["footprint_mm"] / values["thickness_mm"])
    return {
        **ratios,
        "solid_relative_depth": ratios["relative_depth"],
        "solid_aspect_ratio": ratios["aspect_ratio"],
        "solid_footprint_over_thickness": footprint,
    }


def _toe_remarks(values: Values, ratios: Mapping[str, FloatArray]) -> tuple[Finding, ...]:
    weld = toe.front_magnification(
        values["depth_mm"],
        values["half_length_mm"],
        values["thickness_mm"],
        values["footprint_mm"],
        values["form"],
    )
    first = 2 * POINTS.index(values["point"])
    found = [*surface.ellipse_remarks(values, ratios), _sharp(), *_floor(*weld[first : first + 2])]
    if values["form"] == "solid":
        text = "recalled coefficients, not confirmed, for membrane stress only; bending takes the plane form"
        found.append(caution("unconfirmed-coefficients", text, field="form", source=toe.SOURCES[2]))
    return tuple(found)


def _detail(values: Values) -> dict[str, FloatArray]:
    names = {name: values[name] for name in DETAIL_SHAPE}
    shape = detail_shape(values["thickness_mm"], values["toe_angle_deg"], names)
    ratios = {name: np.asarray(value) for name, value in shape.items()}
    if values["detail"] == "cruciform-fillet":
        ratios["fillet_height_over_thickness"] = ratios.pop("weld_height_over_thickness", np.asarray(0.5))
        ratios["fillet_leg_over_thickness"] = ratios.pop("weld_leg_over_thickness", np.asarray(0.5))
    return {**surface.ellipse(values), **ratios}


def _detail_remarks(values: Values, ratios: Mapping[str, FloatArray]) -> tuple[Finding, ...]:
    found = [*surface.ellipse_remarks(values, ratios), _sharp()]
    text = "recalled coefficients of this detail, not confirmed"
    found.append(caution("unconfirmed-coefficients", text, field="detail", source=toe.SOURCES[1]))
    length = ratios.get("attachment_length_over_thickness")
    if values["detail"] == "longitudinal" and length is not None and (length > _DOUBTFUL_LENGTH).any():
        text = (
            f"beyond {as_given(_DOUBTFUL_LENGTH)} thicknesses the square of the attachment length, "
            "doubtful in sign and size, matters"
        )
        found.append(caution("doubtful-length-term", text, field="attachment_length_mm", source=toe.SOURCES[1]))
    return tuple(found)


def _sharp() -> Finding:
    return note("sharp-toe", "the magnification holds for a sharp weld toe; a toe radius lowers it near the surface")


def _floor(*magnification: FloatArray) -> tuple[Finding, ...]:
    if not any((value <= 1.0).any() for value in magnification):
        return ()
    return (note("magnification-floor", "the toe magnification is held at 1, as its source asks"),)


_SOLID = tuple(_solid(item.name) for item in toe.LIMITS)
FAMILIES = (
    Family(
        name="surface-at-toe",
        title="semi-elliptical surface crack at the toe of an attachment weld",
        size="depth_mm",
        k=stress_intensity,
        parameters=(
            *_PLATE,
            Parameter("footprint_mm", "length"),
            Parameter("point", "choice", "deepest", POINTS),
            Parameter("form", "choice", "plane", toe.FORMS),
            MEMBRANE,
            BENDING,
        ),
        ratios=_toe,
        bounds=surface.ELLIPSE,
        limits=(*surface.LIMITS, *_SOLID),
        sources=(*surface.SOURCES, toe.SOURCES[0]),
        by_choice={"solid": toe.SOURCES[2:]},
        tables=(*surface.TABLES, toe.TABLES[0], toe.TABLES[2]),
        remarks=_toe_remarks,
    ),
    Family(
        name="surface-at-detail",
        title="deepest point of a surface crack at the weld toe of a structural detail",
        size="depth_mm",
        k=detail_intensity,
        parameters=(
            *_PLATE,
            Parameter("detail", "choice", choices=DETAILS),
            *(Parameter(name, "length", None) for name in DETAIL_SHAPE),
            Parameter("toe_angle_deg", "angle", None, high=90.0),
            MEMBRANE,
        ),
        ratios=_detail,
        bounds=surface.ELLIPSE,
        limits=(*surface.LIMITS, *toe.DETAIL_LIMITS),
        sources=(*surface.SOURCES, toe.SOURCES[1]),
        tables=(*surface.TABLES, toe.TABLES[1]),
        remarks=_detail_remarks,
    ),
)
