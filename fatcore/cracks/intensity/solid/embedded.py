"""Elliptical crack inside a body: exact in an infinite body, fitted in the middle of a plate."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ellipe

from fatcore.cracks.intensity.family import ANGLE, HALF_LENGTH, HALF_WIDTH, MEMBRANE, THICKNESS, Family, Values
from fatcore.cracks.intensity.limits import limit
from fatcore.cracks.intensity.solid import surface
from fatcore.cracks.intensity.solid.surface import shape_factor, width_factor
from fatcore.require import FloatArray
from fatcore.tables import load

SOURCES = ("newman-raju-1984", "irwin-1962")
TABLES = ("cracks/intensity_embedded",)
_DATA = load(TABLES[0])
_M2, _M3, _G = _DATA["plate"]["m2"], _DATA["plate"]["m3"], _DATA["plate"]["g"]

LIMITS = (
    limit(_DATA["limits"], "aspect_ratio", SOURCES[0], "range of the equations"),
    limit(_DATA["limits"], "relative_depth", SOURCES[0], "range of the equations"),
    limit(_DATA["limits"], "relative_width", SOURCES[0], "range of the equations"),
)


def infinite(
    depth_mm: ArrayLike,
    *,
    half_length_mm: ArrayLike,
    angle_deg: ArrayLike = 90.0,
    membrane_mpa: ArrayLike = 0.0,
) -> FloatArray:
    """Stress intensity factor of an ellipse in an infinite body, exact; fast, checks nothing.

    depth_mm, half_length_mm : semi-axes a and c [mm], either may be the longer
    angle_deg    : parametric angle [deg], 90 at the end of a, 0 at the end of c
    membrane_mpa : uniform stress [MPa]
    Returns      : K [MPa√mm], signed
    Source       : [irwin-1962]
    """
    a, c = np.asarray(depth_mm, dtype=np.float64), np.asarray(half_length_mm, dtype=np.float64)
    minor, ratio = np.minimum(a, c), np.minimum(a / c, c / a)
    sine2 = np.sin(np.deg2rad(angle_deg)) ** 2
    at_minor = np.where(a <= c, sine2, 1.0 - sine2)
    shape = (at_minor + ratio**2 * (1.0 - at_minor)) ** 0.25 / ellipe(1.0 - ratio**2)
    return np.asarray(np.asarray(membrane_mpa) * np.sqrt(np.pi * minor) * shape)


def boundary_factor(aspect_ratio: ArrayLike, relative_depth: ArrayLike, angle_deg: ArrayLike) -> FloatArray:
    """Boundary correction of the ellipse in the middle of a wide plate.

    aspect_ratio   : a/c [-]; relative_depth : a over half the thickness [-]
    angle_deg      : parametric angle [deg], 90 at the end of a (towards the faces), 0 at the end of c
    Returns        : F [-]: K = S * sqrt(pi * a / Q) * F
    Valid          : LIMITS
    Source         : [newman-raju-1984]
    >>> round(float(boundary_factor(0.5, 0.5, 0.0)), 4), round(float(boundary_factor(0.5, 0.5, 90.0)), 4)
    (0.7284, 1.058)
    """
    r, x = np.asarray(aspect_ratio, dtype=np.float64), np.asarray(relative_depth, dtype=np.float64)
    angle = np.deg2rad(angle_deg)
    sine2, cosine2 = np.sin(angle) ** 2, np.cos(angle) ** 2
    smaller = np.minimum(r, 1.0 / r)
    m1 = np.where(r <= 1.0, 1.0, np.sqrt(smaller))
    level = m1 + (_M2[0] / (_M2[1] + r**1.5) + _M3[0] / (_M3[1] + r**1.5) * x**2) * x**2
    g = 1.0 - x**4 * np.sqrt(_G[0] - _G[1] * x) / (1.0 + _G[2] * r) * np.abs(np.cos(angle))
    front = np.where(r <= 1.0, smaller**2 * cosine2 + sine2, smaller**2 * sine2 + cosine2)
    return np.asarray(level * g * front**0.25)


def stress_intensity(
    depth_mm: ArrayLike,
    *,
    half_length_mm: ArrayLike,
    thickness_mm: ArrayLike,
    half_width_mm: ArrayLike | None = None,
    angle_deg: ArrayLike = 90.0,
    membrane_mpa: ArrayLike = 0.0,
) -> FloatArray:
    """Stress intensity factor of an ellipse in the middle of a plate; fast, checks nothing.

    depth_mm     : half extent a through the thickness [mm]; half_length_mm : half length c [mm]
    thickness_mm : full plate thickness [mm]; half_width_mm : half plate width [mm], None is wide
    angle_deg    : 90 towards the faces, 0 at the ends [deg]; membrane_mpa : uniform stress [MPa]
    Returns      : K [MPa√mm], signed
    Source       : [newman-raju-1984]
    """
    depth, length = np.asarray(depth_mm, dtype=np.float64), np.asarray(half_length_mm, dtype=np.float64)
    ratio, relative = depth / length, 2.0 * depth / np.asarray(thickness_mm)
    factor = boundary_factor(ratio, relative, angle_deg)
    if half_width_mm is not None:
        factor = factor * width_factor(length, relative, half_width_mm)
    return np.asarray(factor * np.asarray(membrane_mpa) * np.sqrt(np.pi * depth / shape_factor(ratio)))


def _embedded(values: Values) -> dict[str, FloatArray]:
    ratios = surface.ellipse(values)
    return {**ratios, "relative_depth": 2.0 * ratios["relative_depth"]}


FAMILIES = (
    Family(
        name="embedded",
        title="elliptical crack in the middle of a plate",
        size="depth_mm",
        k=stress_intensity,
        parameters=(HALF_LENGTH, THICKNESS, HALF_WIDTH, ANGLE, MEMBRANE),
        ratios=_embedded,
        bounds=surface.ELLIPSE,
        limits=LIMITS,
        sources=SOURCES[:1],
        tables=(*TABLES, *surface.TABLES),
    ),
    Family(
        name="embedded-infinite",
        title="elliptical crack in an infinite body",
        size="depth_mm",
        k=infinite,
        parameters=(HALF_LENGTH, ANGLE, MEMBRANE),
        ratios=lambda values: {},  # noqa: ARG005
        sources=SOURCES[1:],
        tables=(),
    ),
)
