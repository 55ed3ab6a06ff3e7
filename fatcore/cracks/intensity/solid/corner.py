"""Quarter-elliptical crack at a corner of a plate under uniform stress."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from fatcore.cracks.intensity.family import MEMBRANE, THICKNESS, Family, Parameter, Values
from fatcore.cracks.intensity.limits import limit
from fatcore.cracks.intensity.plate.edge_factors import polynomial
from fatcore.cracks.intensity.solid import surface
from fatcore.cracks.intensity.solid.surface import shape_factor
from fatcore.require import FloatArray
from fatcore.tables import load

SOURCES = ("newman-raju-1984",)
TABLES = ("cracks/intensity_corner",)
_DATA = load(TABLES[0])
_SHALLOW, _DEEP, _FRONT = _DATA["shallow"], _DATA["deep"], _DATA["front"]

LIMITS = (
    limit(_DATA["limits"], "aspect_ratio", SOURCES[0], "range of the equations"),
    limit(_DATA["limits"], "relative_depth", SOURCES[0], "range of the equations"),
    limit(_DATA["limits"], "relative_width", SOURCES[0], "range of the equations"),
)


def boundary_factor(aspect_ratio: ArrayLike, relative_depth: ArrayLike, angle_deg: ArrayLike) -> FloatArray:
    """Boundary correction of the corner crack in a wide plate.

    aspect_ratio   : depth over length a/c [-]; relative_depth : depth over thickness a/t [-]
    angle_deg      : parametric angle [deg], 0 on the wide face, 90 on the narrow side
    Returns        : F [-]: K = S * sqrt(pi * a / Q) * F
    Valid          : LIMITS
    Source         : [newman-raju-1984]
    >>> round(float(boundary_factor(0.2, 0.2, 90.0)), 4)
    1.2395
    """
    r, x, angle = np.broadcast_arrays(
        *(np.asarray(v, dtype=np.float64) for v in (aspect_ratio, relative_depth, np.deg2rad(angle_deg)))
    )
    shallow, smaller = r <= 1.0, np.minimum(r, 1.0 / r)
    level = np.where(shallow, _shallow_level(smaller, x), _deep_level(smaller, x))
    reach = np.where(shallow, x, x * smaller)  # a/t, on the long side c/t
    sine, cosine = np.sin(angle), np.cos(angle)
    g1 = 1.0 + (_FRONT["g1"][0] + _FRONT["g1"][1] * reach**2) * (1.0 - sine) ** 3
    g2 = 1.0 + (_FRONT["g2"][0] + _FRONT["g2"][1] * reach**2) * (1.0 - cosine) ** 3
    long, short = np.where(shallow, sine, cosine), np.where(shallow, cosine, sine)
    return np.asarray(level * g1 * g2 * (long**2 + (smaller * short) ** 2) ** 0.25)


def stress_intensity(
    depth_mm: ArrayLike,
    *,
    surface_length_mm: ArrayLike,
    thickness_mm: ArrayLike,
    width_mm: ArrayLike | None = None,
    angle_deg: ArrayLike = 90.0,
    membrane_mpa: ArrayLike = 0.0,
) -> FloatArray:
    """Stress intensity factor of a corner crack at one angle of its front; fast, checks nothing.

    depth_mm, surface_length_mm : extent a through the thickness and c along the width [mm]
    thickness_mm, width_mm : plate [mm], width None is wide; angle_deg : 0 on the wide face, 90 at the side
    membrane_mpa        : uniform stress [MPa]
    Returns             : K [MPa√mm], signed
    Source              : [newman-raju-1984]
    """
    depth, length = np.asarray(depth_mm, dtype=np.float64), np.asarray(surface_length_mm, dtype=np.float64)
    ratio, relative = depth / length, depth / np.asarray(thickness_mm)
    factor = boundary_factor(ratio, relative, angle_deg)
    if width_mm is not None:
        reach = length / np.asarray(width_mm) * np.sqrt(relative)
        factor = factor * polynomial(reach, _DATA["width"]["polynomial"])
    return np.asarray(factor * np.asarray(membrane_mpa) * np.sqrt(np.pi * depth / shape_factor(ratio)))


def _shallow_level(r: FloatArray, x: FloatArray) -> FloatArray:
    c = _SHALLOW
    m3 = c["m3"][0] + c["m3"][1] * r + c["m3"][2] * (1.0 - r) ** c["m3"][3]
    m2 = c["m2"][0] + c["m2"][1] / (c["m2"][2] + r)
    return np.asarray(c["m1"][0] + c["m1"][1] * r + (m2 + m3 * x**2) * x**2)


def _deep_level(r: FloatArray, x: FloatArray) -> FloatArray:
    c = _DEEP
    m1 = np.sqrt(r) * (c["m1"][0] + c["m1"][1] * r)
    return np.asarray(m1 + (c["m2"] + c["m3"] * x**2) * r**2 * x**2)


def _corner(values: Values) -> dict[str, FloatArray]:
    ratios = {
        "aspect_ratio": np.asarray(values["depth_mm"] / values["surface_length_mm"]),
        "relative_depth": np.asarray(values["depth_mm"] / values["thickness_mm"]),
    }
    width = values["width_mm"]
    return ratios if width is None else {**ratios, "relative_width": np.asarray(values["surface_length_mm"] / width)}


FAMILIES = (
    Family(
        name="corner",
        title="quarter-elliptical crack at a corner of a plate",
        size="depth_mm",
        k=stress_intensity,
        parameters=(
            Parameter("surface_length_mm", "length"),
            THICKNESS,
            Parameter("width_mm", "length", None),
            Parameter("angle_deg", "angle", 90.0, high=90.0),
            MEMBRANE,
        ),
        ratios=_corner,
        bounds=surface.ELLIPSE,
        limits=LIMITS,
        sources=SOURCES,
        tables=(*TABLES, *surface.TABLES),
    ),
)
