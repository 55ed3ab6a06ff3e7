"""Semi-elliptical surface crack in a plate under tension and bending, at any angle of its front."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from fatcore.cracks.intensity.family import (
    ANGLE,
    BENDING,
    HALF_LENGTH,
    HALF_WIDTH,
    MEMBRANE,
    THICKNESS,
    Bound,
    Family,
    Values,
)
from fatcore.cracks.intensity.limits import limit
from fatcore.cracks.intensity.solid._surface_terms import SHALLOW, SHAPE, Number, Terms
from fatcore.cracks.intensity.solid._surface_terms import terms as front_terms
from fatcore.errors import InputError
from fatcore.findings import Finding, caution, outside
from fatcore.require import FloatArray, finite, positive
from fatcore.tables import load

SOURCES = ("newman-raju-1981", "newman-raju-1984")
TABLES = ("cracks/intensity_surface",)
_RANGE = load(TABLES[0])["limits"]

LIMITS = (
    limit(_RANGE, "aspect_ratio", SOURCES[1], "range of the equations"),
    limit(_RANGE, "relative_depth", SOURCES[0], "range of the equations"),
    limit(_RANGE, "relative_width", SOURCES[0], "range of the equations"),
)


class PlateFactors(NamedTuple):
    """Geometry factors of one front point: K = (tension * S_t + bending * S_b) * sqrt(pi * depth)."""

    tension: FloatArray
    bending: FloatArray


class FrontFactors(NamedTuple):
    """Geometry factors of the deepest and the surface point: K = (t * S_t + b * S_b) * sqrt(pi * depth)."""

    deepest_tension: Number
    deepest_bending: Number
    surface_tension: Number
    surface_bending: Number


class ReferenceFactors(NamedTuple):
    """Geometry factors on sqrt(pi * depth) under stress 1 and stress 1 - x / depth, x from the surface."""

    deepest_uniform: Number
    deepest_linear: Number
    surface_uniform: Number
    surface_linear: Number


def shape_factor(aspect_ratio: ArrayLike) -> FloatArray:
    """Square of the ellipse integral in the fit of the source, Q.

    aspect_ratio : depth over half length a/c [-]
    Returns      : Q [-], same shape
    Source       : [newman-raju-1981]
    >>> round(float(shape_factor(1.0)), 3)
    2.464
    """
    ratio = np.asarray(aspect_ratio, dtype=np.float64)
    return np.asarray(1.0 + SHAPE[0] * np.where(ratio <= 1.0, ratio, 1.0 / np.maximum(ratio, 1.0)) ** SHAPE[1])


def width_factor(half_length_mm: ArrayLike, relative_depth: ArrayLike, half_width_mm: ArrayLike) -> FloatArray:
    """Finite-width factor of the plate, sqrt(sec(...)); infinite where the crack takes the whole width.

    half_length_mm : half surface length c [mm]; half_width_mm : half plate width b [mm]
    relative_depth : depth over thickness a/t [-]
    Returns        : factor [-], >= 1
    Source         : [newman-raju-1981]
    """
    reach = np.asarray(half_length_mm, dtype=np.float64) / np.asarray(half_width_mm, dtype=np.float64)
    angle = 0.5 * np.pi * reach * np.sqrt(relative_depth)
    with np.errstate(divide="ignore"):
        return np.asarray(np.where(angle < 0.5 * np.pi, np.abs(np.cos(angle)), 0.0) ** -0.5)


def front_factors(
    depth_mm: Number, half_length_mm: Number, thickness_mm: Number, half_width_mm: Number | None = None
) -> FrontFactors:
    """Geometry factors of the deepest and the surface point in one pass; fast, checks nothing.

    depth_mm, half_length_mm, thickness_mm, half_width_mm : a, c, t, b [mm], floats or arrays that broadcast
    Returns : factors [-] on sqrt(pi * depth)
    Valid   : LIMITS
    Source  : [newman-raju-1981], a/c > 1 [newman-raju-1984]
    """
    ratio, relative = depth_mm / half_length_mm, depth_mm / thickness_mm
    terms = front_terms(ratio, relative)
    deepest, surface = _uniform(terms, half_length_mm, relative, half_width_mm)
    return FrontFactors(
        deepest,
        deepest * (1.0 + terms.h2_rate * relative),
        surface,
        surface * (1.0 + terms.h1_rate * relative),
    )


def reference_factors(
    depth_mm: Number, half_length_mm: Number, thickness_mm: Number, half_width_mm: Number | None = None
) -> ReferenceFactors:
    """Geometry factors for the two reference stresses of weight functions; fast, checks nothing.

    depth_mm, half_length_mm, thickness_mm, half_width_mm : a, c, t, b [mm], floats or arrays that broadcast
    Returns : factors [-] on sqrt(pi * depth) at both points; the linear ones follow from tension and bending
              without the difference that vanishes with the depth
    Valid   : LIMITS
    Source  : [newman-raju-1981], a/c > 1 [newman-raju-1984]
    """
    ratio, relative = depth_mm / half_length_mm, depth_mm / thickness_mm
    terms = front_terms(ratio, relative)
    deepest, surface = _uniform(terms, half_length_mm, relative, half_width_mm)
    return ReferenceFactors(
        deepest, deepest * (1.0 + 0.5 * terms.h2_rate), surface, surface * (1.0 + 0.5 * terms.h1_rate)
    )


def geometry_factors(
    depth_mm: ArrayLike,
    half_length_mm: ArrayLike,
    thickness_mm: ArrayLike,
    half_width_mm: ArrayLike | None = None,
    angle_deg: ArrayLike = 90.0,
) -> PlateFactors:
    """Geometry factors for tension and bending at one angle of the crack front.

    depth_mm, half_length_mm : crack depth a and half surface length c [mm]
    thickness_mm             : plate thickness t [mm]; half_width_mm : half plate width b [mm], None is wide
    angle_deg                : parametric angle [deg], 0 and 180 surface, 90 deepest point
    Returns                  : tension, bending [-]: K = (tension * S_t + bending * S_b) * sqrt(pi * a)
    Valid                    : LIMITS
    Raises                   : InputError for a length that is not positive, a crack larger than the plate,
                               an angle outside 0 to 180
    Source                   : [newman-raju-1981], a/c > 1 [newman-raju-1984]
    >>> y = geometry_factors(2.0, 10.0, 10.0)
    >>> round(float(y.tension), 4), round(float(y.bending), 4)
    (1.1221, 0.8554)
    """
    depth, length = positive("depth_mm", depth_mm), positive("half_length_mm", half_length_mm)
    thickness = positive("thickness_mm", thickness_mm)
    width = None if half_width_mm is None else positive("half_width_mm", half_width_mm)
    _inside_plate(depth, length, thickness, width)
    angle = finite("angle_deg", angle_deg)
    if ((angle < 0.0) | (angle > 180.0)).any():
        raise InputError("angle_deg must lie in [0, 180]", "angle_deg")
    return _at_angle(depth, length, thickness, width, angle)


def stress_intensity(
    depth_mm: Number,
    *,
    half_length_mm: Number,
    thickness_mm: Number,
    half_width_mm: Number | None = None,
    angle_deg: Number = 90.0,
    membrane_mpa: Number = 0.0,
    bending_mpa: Number = 0.0,
) -> FloatArray:
    """Stress intensity factor at one angle of the front, signed; fast, checks nothing.

    depth_mm ... half_width_mm : a, c, t, b [mm]; angle_deg : 0 surface, 90 deepest point [deg]
    membrane_mpa, bending_mpa  : stress of the uncracked plate at the cracked surface [MPa]
    Returns                    : K [MPa√mm], negative where the crack closes
    Valid                      : LIMITS
    Source                     : [newman-raju-1981], a/c > 1 [newman-raju-1984]
    """
    depth, length = np.asarray(depth_mm, dtype=np.float64), np.asarray(half_length_mm, dtype=np.float64)
    thickness, angle = np.asarray(thickness_mm, dtype=np.float64), np.asarray(angle_deg, dtype=np.float64)
    width = None if half_width_mm is None else np.asarray(half_width_mm, dtype=np.float64)
    tension, bending = _at_angle(depth, length, thickness, width, angle)
    return np.asarray((tension * membrane_mpa + bending * bending_mpa) * np.sqrt(np.pi * depth))


def depth_findings(aspect_ratio: ArrayLike, relative_depth: ArrayLike) -> tuple[Finding, ...]:
    """Findings that no interval describes: the depth limit of slender cracks, and less sure great depths."""
    ratio, relative = np.broadcast_arrays(np.asarray(aspect_ratio), np.asarray(relative_depth))
    factor, offset, below = _RANGE["slender"]
    found: list[Finding] = []
    if (relative >= factor * (ratio + offset))[ratio < below].any():
        found.append(
            outside(
                "slender-crack-too-deep",
                "a slender crack (a/c < 0.2) is deeper than the equations cover: a/t < 1.25 (a/c + 0.6)",
                field="relative_depth",
                source=SOURCES[0],
            )
        )
    if (relative > _RANGE["accurate_depth"]).any():
        found.append(
            caution(
                "deep-crack",
                "beyond a/t = 0.8 the authors give no comparison with finite elements",
                field="relative_depth",
                source=SOURCES[0],
            )
        )
    return tuple(found)


def _inside_plate(depth: FloatArray, length: FloatArray, thickness: FloatArray, width: FloatArray | None) -> None:
    if (depth > thickness).any():
        raise InputError("the crack is deeper than the plate is thick", "depth_mm")
    if width is not None and (length >= width).any():
        raise InputError("the crack is as long as the plate is wide", "half_length_mm")


def _at_angle(
    depth: FloatArray, length: FloatArray, thickness: FloatArray, width: FloatArray | None, angle: FloatArray
) -> PlateFactors:
    ratio, relative = depth / length, depth / thickness
    terms = front_terms(ratio, relative)
    sine = np.sin(np.deg2rad(np.minimum(angle, 180.0 - angle)))  # exactly 0 at both ends
    sine2 = sine * sine
    smaller = np.minimum(ratio, 1.0 / ratio) ** 2
    weight = np.where(ratio <= 1.0, smaller * (1.0 - sine2) + sine2, smaller * sine2 + (1.0 - sine2))
    level = terms.level * weight**0.25 * (1.0 + terms.g_slope * (1.0 - sine) ** 2)
    if width is not None:
        level = level * width_factor(length, relative, width)
    power = SHALLOW["p"][0] + SHALLOW["p"][1] * np.sqrt(smaller) + SHALLOW["p"][2] * relative
    bending = 1.0 + relative * (terms.h1_rate + (terms.h2_rate - terms.h1_rate) * sine**power)
    return PlateFactors(np.asarray(level), np.asarray(level * bending))


def _uniform(
    terms: Terms, half_length_mm: Number, relative: Number, half_width_mm: Number | None
) -> tuple[Number, Number]:
    """Tension factors of the deepest and the surface point."""
    level = terms.level
    if half_width_mm is not None:
        level = level * width_factor(half_length_mm, relative, half_width_mm)
    return level * terms.deepest, level * terms.surface * (1.0 + terms.g_slope)


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
    return depth_findings(ratios["aspect_ratio"], ratios["relative_depth"])


FAMILIES = (
    Family(
        name="surface",
        title="semi-elliptical surface crack in a plate",
        size="depth_mm",
        k=stress_intensity,
        parameters=(HALF_LENGTH, THICKNESS, HALF_WIDTH, ANGLE, MEMBRANE, BENDING),
        ratios=ellipse,
        bounds=ELLIPSE,
        limits=LIMITS,
        sources=SOURCES,
        tables=TABLES,
        remarks=ellipse_remarks,
    ),
)
