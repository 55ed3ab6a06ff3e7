"""Cracks in tubes: axial surface crack under pressure, circumferential and axial through cracks."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from fatcore.cracks.intensity.family import (
    ANGLE,
    BENDING,
    HALF_LENGTH,
    MEMBRANE,
    THICKNESS,
    Bound,
    Family,
    Parameter,
    Values,
)
from fatcore.cracks.intensity.limits import limit
from fatcore.cracks.intensity.solid import surface
from fatcore.errors import NotCoveredError
from fatcore.require import FloatArray
from fatcore.tables import load

SOURCES = ("newman-raju-1982", "zahoor-np-6301", "tada-paris-irwin-2000")
TABLES = ("cracks/intensity_tube",)
_DATA = load(TABLES[0])
_RANGE, _AROUND = _DATA["limits"], _DATA["circumferential"]

LIMITS = (
    limit(_RANGE, "axial_aspect_ratio", SOURCES[0], "range of the equation"),
    limit(_RANGE, "axial_relative_depth", SOURCES[0], "range of the equation"),
    limit(_RANGE, "axial_radius_over_thickness", SOURCES[0], "tubes of the reference solutions"),
    limit(_RANGE, "angle_over_pi", SOURCES[1], "range of the fit"),
    limit(_RANGE, "radius_over_thickness", SOURCES[1], "range of the fit"),
    limit(_RANGE, "shell_parameter", SOURCES[2], "range of the fit"),
)


def axial_surface_factor(
    aspect_ratio: ArrayLike, relative_depth: ArrayLike, radius_over_thickness: ArrayLike, angle_deg: ArrayLike
) -> FloatArray:
    """Boundary correction of an axial semi-ellipse inside a tube under internal pressure.

    aspect_ratio          : a/c [-]; relative_depth : a/t [-]
    radius_over_thickness : inner radius over wall thickness [-]; angle_deg : 0 surface, 90 deepest [deg]
    Returns               : F [-]: K = (p R / t) * sqrt(pi * a / Q) * F
    Valid                 : LIMITS
    Source                : [newman-raju-1982]
    >>> round(float(axial_surface_factor(0.4, 0.5, 10.0, 90.0)), 4)
    1.4103
    """
    r, x = np.asarray(aspect_ratio, dtype=np.float64), np.asarray(relative_depth, dtype=np.float64)
    inner = np.asarray(radius_over_thickness, dtype=np.float64)
    square, hole = (inner + 1.0) ** 2, inner**2
    curved = (square + hole) / (square - hole) + 1.0 - _DATA["axial_surface"]["curvature"] * np.sqrt(x)
    plate = surface.geometry_factors(x, x / r, 1.0, angle_deg=angle_deg).tension * np.sqrt(surface.shape_factor(r))
    return np.asarray(_DATA["axial_surface"]["level"] * plate * curved / inner)


def circumferential_factors(angle_over_pi: ArrayLike, radius_over_thickness: ArrayLike) -> surface.PlateFactors:
    """Geometry factors of a circumferential through crack for tension and bending of the tube.

    angle_over_pi         : half angle of the crack over pi [-]
    radius_over_thickness : mean radius over wall thickness [-]
    Returns               : tension, bending [-]: K = S * sqrt(pi * R * theta) * F
    Valid                 : LIMITS
    Source                : [zahoor-np-6301]
    >>> [round(float(f), 4) for f in circumferential_factors(0.1, 10.0)]
    [1.1696, 1.1455]
    """
    x, slender = (
        np.asarray(angle_over_pi, dtype=np.float64),
        np.asarray(radius_over_thickness, dtype=np.float64),
    )
    thick, thin = (_AROUND[name][0] * slender + _AROUND[name][1] for name in ("thick", "thin"))
    scale = np.where(slender <= 10.0, thick, thin) ** 0.25
    low, high = (x**power for power in _AROUND["powers"])
    tension, bending = (
        1.0 + scale * (_AROUND[name][0] * low + _AROUND[name][1] * high) for name in ("membrane", "bending")
    )
    return surface.PlateFactors(np.asarray(tension), np.asarray(bending))


def axial_through_factor(shell_parameter: ArrayLike) -> FloatArray:
    """Geometry factor of an axial through crack in a tube under internal pressure.

    shell_parameter : half length over the root of mean radius times thickness [-]
    Returns         : F [-]: K = (p R / t) * sqrt(pi * a) * F
    Valid           : LIMITS
    Source          : [tada-paris-irwin-2000]
    >>> float(axial_through_factor(1.0))
    1.5
    """
    length = np.asarray(shell_parameter, dtype=np.float64)
    short, long = _DATA["axial_through"]["short"], _DATA["axial_through"]["long"]
    return np.asarray(np.where(length <= 1.0, np.sqrt(1.0 + short * length**2), long[0] + long[1] * length))


def axial_surface(
    depth_mm: ArrayLike,
    *,
    half_length_mm: ArrayLike,
    thickness_mm: ArrayLike,
    inner_radius_mm: ArrayLike,
    pressure_mpa: ArrayLike,
    angle_deg: ArrayLike = 90.0,
) -> FloatArray:
    """Stress intensity factor of an axial semi-ellipse on the inside, pressure also in the crack.

    depth_mm, half_length_mm : a, c [mm]; thickness_mm : wall [mm]; inner_radius_mm : inner radius [mm]
    pressure_mpa : internal pressure [MPa]; angle_deg : 0 surface, 90 deepest point [deg]
    Returns      : K [MPa√mm]
    Source       : [newman-raju-1982]
    """
    depth, wall = np.asarray(depth_mm, dtype=np.float64), np.asarray(thickness_mm, dtype=np.float64)
    ratio, slender = depth / np.asarray(half_length_mm), np.asarray(inner_radius_mm) / wall
    factor = axial_surface_factor(ratio, depth / wall, slender, angle_deg)
    hoop = np.asarray(pressure_mpa) * slender
    return np.asarray(factor * hoop * np.sqrt(np.pi * depth / surface.shape_factor(ratio)))


def circumferential(
    half_angle_deg: ArrayLike,
    *,
    mean_radius_mm: ArrayLike,
    thickness_mm: ArrayLike,
    membrane_mpa: ArrayLike = 0.0,
    bending_mpa: ArrayLike = 0.0,
) -> FloatArray:
    """Stress intensity factor of a circumferential through crack; fast, checks nothing.

    half_angle_deg : half angle of the crack [deg]; mean_radius_mm, thickness_mm : R, t [mm]
    membrane_mpa, bending_mpa : axial stress from force, largest axial stress from bending of the tube [MPa]
    Returns        : K [MPa√mm], signed
    Source         : [zahoor-np-6301]
    """
    theta = np.deg2rad(half_angle_deg)
    radius = np.asarray(mean_radius_mm, dtype=np.float64)
    tension, bending = circumferential_factors(theta / np.pi, radius / np.asarray(thickness_mm))
    stress = tension * np.asarray(membrane_mpa) + bending * np.asarray(bending_mpa)
    return np.asarray(stress * np.sqrt(np.pi * radius * theta))


def axial_through(
    half_length_mm: ArrayLike, *, mean_radius_mm: ArrayLike, thickness_mm: ArrayLike, pressure_mpa: ArrayLike
) -> FloatArray:
    """Stress intensity factor of an axial through crack under internal pressure; fast, checks nothing.

    half_length_mm : a [mm]; mean_radius_mm, thickness_mm : R, t [mm]; pressure_mpa : p [MPa]
    Returns        : K [MPa√mm]
    Source         : [tada-paris-irwin-2000]
    """
    half, radius = np.asarray(half_length_mm, dtype=np.float64), np.asarray(mean_radius_mm, dtype=np.float64)
    factor = axial_through_factor(half / np.sqrt(radius * np.asarray(thickness_mm)))
    hoop = np.asarray(pressure_mpa) * radius / np.asarray(thickness_mm)
    return np.asarray(factor * hoop * np.sqrt(np.pi * half))


_PRESSURE, _RADIUS = Parameter("pressure_mpa", "load"), Parameter("mean_radius_mm", "length")


def _tube_surface(values: Values) -> dict[str, FloatArray]:
    ratios = surface.ellipse(values)
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


FAMILIES = (
    Family(
        name="tube-axial-surface",
        title="axial semi-elliptical crack inside a tube under internal pressure",
        size="depth_mm",
        k=axial_surface,
        parameters=(HALF_LENGTH, THICKNESS, Parameter("inner_radius_mm", "length"), _PRESSURE, ANGLE),
        ratios=_tube_surface,
        bounds=surface.ELLIPSE[:1],
        limits=LIMITS,
        sources=(*SOURCES[:1], *surface.SOURCES),
        tables=(*TABLES, *surface.TABLES),
    ),
    Family(
        name="tube-axial-through",
        title="axial crack through the wall of a tube under internal pressure",
        size="half_length_mm",
        k=axial_through,
        parameters=(_RADIUS, THICKNESS, _PRESSURE),
        ratios=_along,
        limits=LIMITS,
        sources=SOURCES[2:],
        tables=TABLES,
    ),
    Family(
        name="tube-circumferential",
        title="circumferential crack through the wall of a tube",
        size="half_angle_deg",
        k=circumferential,
        parameters=(_RADIUS, THICKNESS, MEMBRANE, BENDING),
        ratios=_around,
        bounds=(Bound("angle_over_pi", 1.0, message="the crack goes all the way round"),),
        limits=LIMITS,
        sources=SOURCES[1:2],
        tables=TABLES,
        arc_radius="mean_radius_mm",
    ),
)
