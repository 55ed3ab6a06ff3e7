"""Families of part-through and embedded cracks, and cracks in tubes."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from fatcore.cracks.intensity.family import Bound, Family, Parameter, Values
from fatcore.cracks.intensity.solid import corner, embedded, surface, tube
from fatcore.errors import NotCoveredError
from fatcore.findings import Finding
from fatcore.require import FloatArray

_HALF_LENGTH, _THICKNESS = Parameter("half_length_mm", "length"), Parameter("thickness_mm", "length")
_HALF_WIDTH = Parameter("half_width_mm", "length", None)
_ANGLE = Parameter("angle_deg", "angle", 90.0)
_MEMBRANE, _BENDING = Parameter("membrane_mpa", "load", 0.0), Parameter("bending_mpa", "load", 0.0)
_PRESSURE, _RADIUS = Parameter("pressure_mpa", "load"), Parameter("mean_radius_mm", "length")
ELLIPSE = (
    Bound("relative_depth", 1.0, inclusive=True, message="the crack is deeper than the body"),
    Bound("relative_width", 1.0, message="the crack is as long as the body is wide"),
)


def ellipse(values: Values) -> dict[str, FloatArray]:
    """Ratios of a semi-ellipse in a plate."""
    ratios = {
        "aspect_ratio": np.asarray(values["depth_mm"] / values["half_length_mm"]),
        "relative_depth": np.asarray(values["depth_mm"] / values["thickness_mm"]),
    }
    width = values.get("half_width_mm")
    return ratios if width is None else {**ratios, "relative_width": values["half_length_mm"] / width}


def ellipse_remarks(values: Values, ratios: Mapping[str, FloatArray]) -> tuple[Finding, ...]:  # noqa: ARG001
    """Remarks of the plain plate."""
    return surface.depth_findings(ratios["aspect_ratio"], ratios["relative_depth"])


def _corner(values: Values) -> dict[str, FloatArray]:
    ratios = {
        "aspect_ratio": np.asarray(values["depth_mm"] / values["surface_length_mm"]),
        "relative_depth": np.asarray(values["depth_mm"] / values["thickness_mm"]),
    }
    width = values["width_mm"]
    return ratios if width is None else {**ratios, "relative_width": np.asarray(values["surface_length_mm"] / width)}


def _embedded(values: Values) -> dict[str, FloatArray]:
    ratios = ellipse(values)
    return {**ratios, "relative_depth": 2.0 * ratios["relative_depth"]}


def _tube_surface(values: Values) -> dict[str, FloatArray]:
    ratios = ellipse(values)
    return {
        "relative_depth": ratios["relative_depth"],
        "axial_relative_depth": ratios["relative_depth"],
        "axial_aspect_ratio": ratios["aspect_ratio"],
        "axial_radius_over_thickness": np.asarray(values["inner_radius_mm"] / values["thickness_mm"]),
    }


def _around(values: Values) -> dict[str, FloatArray]:
    slender = np.asarray(values["mean_radius_mm"] / values["thickness_mm"])
    if (slender <= 2.0).any():
        raise NotCoveredError("the fit ends at a mean radius of twice the wall", "mean_radius_mm")
    return {"angle_over_pi": values["half_angle_deg"] / 180.0, "radius_over_thickness": slender}


def _along(values: Values) -> dict[str, FloatArray]:
    root = np.sqrt(values["mean_radius_mm"] * values["thickness_mm"])
    return {"shell_parameter": np.asarray(values["half_length_mm"] / root)}


SOLID = (
    Family(
        name="surface",
        title="semi-elliptical surface crack in a plate",
        size="depth_mm",
        k=surface.stress_intensity,
        parameters=(_HALF_LENGTH, _THICKNESS, _HALF_WIDTH, _ANGLE, _MEMBRANE, _BENDING),
        ratios=ellipse,
        bounds=ELLIPSE,
        limits=surface.LIMITS,
        sources=surface.SOURCES,
        tables=surface.TABLES,
        remarks=ellipse_remarks,
    ),
    Family(
        name="corner",
        title="quarter-elliptical crack at a corner of a plate",
        size="depth_mm",
        k=corner.stress_intensity,
        parameters=(
            Parameter("surface_length_mm", "length"),
            _THICKNESS,
            Parameter("width_mm", "length", None),
            Parameter("angle_deg", "angle", 90.0, high=90.0),
            _MEMBRANE,
        ),
        ratios=_corner,
        bounds=ELLIPSE,
        limits=corner.LIMITS,
        sources=corner.SOURCES,
        tables=(*corner.TABLES, *surface.TABLES),
    ),
    Family(
        name="embedded",
        title="elliptical crack in the middle of a plate",
        size="depth_mm",
        k=embedded.stress_intensity,
        parameters=(_HALF_LENGTH, _THICKNESS, _HALF_WIDTH, _ANGLE, _MEMBRANE),
        ratios=_embedded,
        bounds=ELLIPSE,
        limits=embedded.LIMITS,
        sources=embedded.SOURCES[:1],
        tables=(*embedded.TABLES, *surface.TABLES),
    ),
    Family(
        name="embedded-infinite",
        title="elliptical crack in an infinite body",
        size="depth_mm",
        k=embedded.infinite,
        parameters=(_HALF_LENGTH, _ANGLE, _MEMBRANE),
        ratios=lambda values: {},  # noqa: ARG005
        sources=embedded.SOURCES[1:],
        tables=(),
    ),
    Family(
        name="tube-axial-surface",
        title="axial semi-elliptical crack inside a tube under internal pressure",
        size="depth_mm",
        k=tube.axial_surface,
        parameters=(_HALF_LENGTH, _THICKNESS, Parameter("inner_radius_mm", "length"), _PRESSURE, _ANGLE),
        ratios=_tube_surface,
        bounds=ELLIPSE[:1],
        limits=tube.LIMITS,
        sources=(*tube.SOURCES[:1], *surface.SOURCES),
        tables=(*tube.TABLES, *surface.TABLES),
    ),
    Family(
        name="tube-axial-through",
        title="axial crack through the wall of a tube under internal pressure",
        size="half_length_mm",
        k=tube.axial_through,
        parameters=(_RADIUS, _THICKNESS, _PRESSURE),
        ratios=_along,
        limits=tube.LIMITS,
        sources=tube.SOURCES[2:],
        tables=tube.TABLES,
    ),
    Family(
        name="tube-circumferential",
        title="circumferential crack through the wall of a tube",
        size="half_angle_deg",
        k=tube.circumferential,
        parameters=(_RADIUS, _THICKNESS, _MEMBRANE, _BENDING),
        ratios=_around,
        bounds=(Bound("angle_over_pi", 1.0, message="the crack goes all the way round"),),
        limits=tube.LIMITS,
        sources=tube.SOURCES[1:2],
        tables=tube.TABLES,
        arc_radius="mean_radius_mm",
    ),
)
