"""Magnification of the stress intensity by a weld toe: K with the weld over K in the plain plate.

Three forms: plane (two-dimensional solutions, membrane and bending), detail (power law by structural detail,
membrane), solid (semi-ellipse at a T-butt toe, membrane). All hold for a sharp toe; none falls below 1.
"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from fatcore.cracks.intensity.limits import limit
from fatcore.cracks.intensity.weld._toe_solid import solid
from fatcore.errors import UnknownError
from fatcore.require import FloatArray
from fatcore.tables import load

SOURCES = ("jcss-pmc-3", "toe-detail-1993", "toe-solid-2000")
TABLES = ("cracks/intensity_toe_plane", "cracks/intensity_toe_detail", "cracks/intensity_toe_solid")
_PLANE, _DETAIL, _SOLID = (load(name) for name in TABLES)
FORMS = ("plane", "solid")

LIMITS = (
    limit(_SOLID["limits"], "relative_depth", SOURCES[2], "range of the solid form"),
    limit(_SOLID["limits"], "aspect_ratio", SOURCES[2], "range of the solid form"),
    limit(_SOLID["limits"], "footprint_over_thickness", SOURCES[2], "range of the solid form"),
)
DETAIL_LIMITS = tuple(
    limit(_DETAIL["limits"], name, SOURCES[1], "range of the detail form") for name in _DETAIL["limits"]
)


class Magnification(NamedTuple):
    """Magnification of the membrane and of the bending part."""

    membrane: FloatArray
    bending: FloatArray


class FrontMagnification(NamedTuple):
    """Magnification at the deepest and the surface point, in the order of surface.FrontFactors."""

    deepest_tension: FloatArray
    deepest_bending: FloatArray
    surface_tension: FloatArray
    surface_bending: FloatArray


def surface_point_depth_mm() -> float:
    """The depth at which the source takes the plane form for the surface point [mm]."""
    return float(_PLANE["surface_point_depth_mm"])


def plane(relative_depth: ArrayLike, footprint_over_thickness: ArrayLike) -> Magnification:
    """Toe magnification of the two-dimensional solutions, toe angle 45 deg, at least 1.

    relative_depth           : crack depth over plate thickness a/B [-]
    footprint_over_thickness : length of the attachment with its welds on the plate over thickness L/B [-]
    Returns                  : membrane, bending [-]; the branches of the source do not join exactly (3 %)
    Source                   : [jcss-pmc-3] annex A.2
    >>> [round(float(m), 3) for m in plane(0.01, 1.0)]
    [2.126, 1.876]
    """
    x = np.asarray(relative_depth, dtype=np.float64)
    length = np.asarray(footprint_over_thickness, dtype=np.float64)
    return Magnification(_power_law("membrane", x, length), _power_law("bending", x, length))


def front_magnification(
    depth_mm: ArrayLike,
    half_length_mm: ArrayLike,
    thickness_mm: ArrayLike,
    footprint_mm: ArrayLike,
    form: str = "plane",
) -> FrontMagnification:
    """Toe magnification at both front points of a semi-ellipse; fast.

    depth_mm, half_length_mm, thickness_mm : a, c, B [mm]
    footprint_mm : length of the attachment with its welds on the plate [mm]
    form         : plane (at the surface point its value at a depth of 0.15 mm), or solid for membrane and
                   plane for bending
    Returns      : factors [-] on surface.front_factors
    Source       : [jcss-pmc-3] annex A.2, [toe-solid-2000]
    """
    if form not in FORMS:
        raise UnknownError("form", form, FORMS, "form")
    depth, thickness = np.asarray(depth_mm, dtype=np.float64), np.asarray(thickness_mm, dtype=np.float64)
    length = np.asarray(footprint_mm, dtype=np.float64) / thickness
    deep, shore = plane(depth / thickness, length), plane(surface_point_depth_mm() / thickness, length)
    if form == "plane":
        return FrontMagnification(*deep, *shore)
    deepest, surface = solid(depth / thickness, depth / np.asarray(half_length_mm), length)
    return FrontMagnification(deepest, deep.bending, surface, shore.bending)


def front_discontinuities(
    depth_mm: ArrayLike,
    half_length_mm: ArrayLike,
    thickness_mm: ArrayLike,
    footprint_mm: ArrayLike,
    form: str = "plane",
) -> FloatArray:
    """Functions that change sign where front_magnification has a kink or jumps, stacked row by row.

    As front_magnification. The branches of the source meet with a jump; the floor makes kinks.
    """
    depth, thickness = np.asarray(depth_mm, dtype=np.float64), np.asarray(thickness_mm, dtype=np.float64)
    x, length = depth / thickness, np.asarray(footprint_mm, dtype=np.float64) / thickness
    loads = ("bending",) if form == "solid" else ("membrane", "bending")
    rows = [row for load in loads for row in _discontinuities(load, x, length)]
    if form == "solid":
        free = solid(x, depth / np.asarray(half_length_mm), length, floor=-np.inf)
        rows += [free.deepest - _SOLID["floor"], free.surface - _SOLID["floor"], x - 1.0]
    return np.stack(np.broadcast_arrays(*rows))


class _Branches(NamedTuple):
    """Two power laws by footprint: border of the depth, logarithm of the level, and power of each."""

    border: FloatArray
    near_log: FloatArray
    near_power: FloatArray
    far_log: FloatArray
    far_power: FloatArray


def _branches(load: str, length: FloatArray) -> _Branches:
    return _one_footprint(load, float(length)) if length.ndim == 0 else _by_footprint(load, length)


@lru_cache(maxsize=64)
def _one_footprint(load: str, length: float) -> _Branches:
    """One plate comes again and again while its crack grows."""
    return _by_footprint(load, np.array(length))


def _by_footprint(load: str, length: FloatArray) -> _Branches:
    data = _PLANE[load]
    short = length <= data["short"]
    near, far, long_near, long_far = data["near"], data["far"], data["long_near"], data["long_far"]
    return _Branches(
        np.where(short, data["border"][0] * length ** data["border"][1], data["long_border"]),
        np.log(np.where(short, near[0] * length ** near[1], long_near[0])),
        np.where(short, near[2], long_near[1]),
        np.log(np.where(short, far[0], long_far[0])),
        np.where(short, far[1] * length ** far[2], long_far[1]),
    )


def _discontinuities(load: str, x: FloatArray, length: FloatArray) -> tuple[FloatArray, FloatArray]:
    """At the border of the branches and where the far branch meets the floor."""
    branch = _branches(load, length)
    return np.log(x / branch.border), branch.far_log + branch.far_power * np.log(x) - np.log(_PLANE["floor"])


def _power_law(load: str, x: FloatArray, length: FloatArray) -> FloatArray:
    branch, log_x = _branches(load, length), np.log(x)
    near = branch.near_log + branch.near_power * log_x
    far = branch.far_log + branch.far_power * log_x
    return np.asarray(np.maximum(np.exp(np.where(x <= branch.border, near, far)), _PLANE["floor"]))
