"""Stress intensity under any stress across the crack by universal weight functions.

The stress is split so that every integral has a closed form, the square-root singularity included: a
piecewise linear stress is its value at the mouth plus one ramp per change of slope.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from fatcore.cracks.intensity.limits import limit
from fatcore.cracks.intensity.solid import surface
from fatcore.cracks.intensity.weight_function import _coefficients as coefficients
from fatcore.cracks.intensity.weight_function.profiles import PathProfile, PolynomialProfile
from fatcore.cracks.intensity.wide_plate import wide_plate
from fatcore.errors import InputError, NotCoveredError, UnknownError
from fatcore.findings import Finding, Limit, caution, outside_limits
from fatcore.outcome import Outcome, evidence
from fatcore.require import FloatArray, positive
from fatcore.tables import load

SOURCES = ("weight-universal-1991", "weight-surface-1991", "weight-edge-1992")
TABLES = ("cracks/weight_functions",)
POINTS = ("deepest", "surface", "edge", "edge-published", "half-plane", "centre")
LIMITS = (limit(load(TABLES[0])["limits"], "edge_alpha", SOURCES[2], "compared with handbook factors up to 0.8"),)

_ELLIPSE = ("deepest", "surface")
_STRIP = ("edge", "edge-published")
_USED = {
    **dict.fromkeys(_ELLIPSE, ("half_length_mm", "thickness_mm", "half_width_mm")),
    **dict.fromkeys(_STRIP, ("thickness_mm",)),
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WeightOutcome(Outcome):
    """Stress intensity by weight function, signed, one per crack size, at one point of the front."""

    point: str
    k_mpa_sqrt_mm: FloatArray


def path_intensity(
    distance_mm: ArrayLike,
    stress_mpa: ArrayLike,
    depth_mm: ArrayLike,
    half_length_mm: ArrayLike | None = None,
    thickness_mm: ArrayLike | None = None,
    point: str = "deepest",
    half_width_mm: ArrayLike | None = None,
) -> FloatArray:
    """Stress intensity under a stress given at points; the crack sizes are not checked.

    distance_mm, stress_mpa : path from the mouth and stress normal to the crack [mm], [MPa]
    depth_mm, half_length_mm, thickness_mm, half_width_mm : a, c, t, b [mm], arrays that broadcast; an edge
                          crack takes the width of the plate as thickness_mm
    point               : one of POINTS; edge is matched to accurate tension and bending factors,
                          edge-published takes the recalled coefficients of its source
    Returns             : K [MPa√mm], signed; beyond the end of the path the stress keeps its last value
    Raises              : InputError for a path that does not start at 0 or ascend, UnknownError for the point
    Source              : [weight-universal-1991], ellipse [weight-surface-1991], strip [edge-collocation]
    """
    return profile_intensity(
        PathProfile(distance_mm, stress_mpa), depth_mm, half_length_mm, thickness_mm, point, half_width_mm
    )


def profile_intensity(
    profile: PathProfile | PolynomialProfile,
    depth_mm: ArrayLike,
    half_length_mm: ArrayLike | None = None,
    thickness_mm: ArrayLike | None = None,
    point: str = "deepest",
    half_width_mm: ArrayLike | None = None,
) -> FloatArray:
    """The same for a profile that is made once and used for many cracks; the crack sizes are not checked.

    profile : stress as PathProfile or PolynomialProfile; the other arguments as in path_intensity
    Returns : K [MPa√mm], signed
    Source  : as path_intensity
    >>> even = PolynomialProfile([1.0], 1.0)
    >>> round(float(profile_intensity(even, 1.0, point="half-plane")) / 3.141592653589793**0.5, 4)
    1.1226
    """
    if point not in POINTS:
        raise UnknownError("point", point, POINTS, "point")
    depth = np.asarray(depth_mm, dtype=np.float64)
    three = _coefficients(point, depth, half_length_mm, thickness_mm, half_width_mm)
    mouth = point == "surface"
    moments = profile.mouth_moments(depth) if mouth else profile.tip_moments(depth)
    total = moments[0] + three[0] * moments[1] + three[1] * moments[2] + three[2] * moments[3]
    return np.asarray((2.0 if mouth else np.sqrt(2.0)) * np.sqrt(depth / np.pi) * total)


def stress_intensity(
    profile: PathProfile | PolynomialProfile,
    depth_mm: ArrayLike,
    half_length_mm: ArrayLike | None = None,
    thickness_mm: ArrayLike | None = None,
    point: str = "deepest",
    half_width_mm: ArrayLike | None = None,
) -> WeightOutcome:
    """Stress intensity by weight function, with limits and cautions.

    profile : stress as PathProfile or PolynomialProfile
    depth_mm, half_length_mm, thickness_mm, half_width_mm : a, c, t, b [mm]; the edge takes W as thickness_mm
    point   : one of POINTS
    Returns : WeightOutcome
    Valid   : surface.LIMITS for the semi-ellipse, LIMITS for the strip, the reach of the path
    Raises  : InputError for a missing or negative length or a crack larger than the plate
    Source  : as path_intensity
    """
    if point not in POINTS:
        raise UnknownError("point", point, POINTS, "point")
    depth = positive("depth_mm", depth_mm)
    with np.errstate(all="ignore"):  # impossible proportions show as a value that is not finite
        lengths = _lengths(point, depth, half_length_mm, thickness_mm, half_width_mm)
        k = profile_intensity(profile, depth, *lengths[:2], point, lengths[2])
    if not np.isfinite(k).all():
        raise NotCoveredError("the weight function has no finite value for such proportions", "depth_mm")
    findings = (*_reach(profile, depth), *_findings(point, depth, *lengths))
    return WeightOutcome(
        point=point,
        k_mpa_sqrt_mm=k,
        **evidence(findings=findings, sources=_sources(point), tables=_tables(point)),
    )


def _coefficients(
    point: str,
    depth: FloatArray,
    half_length_mm: ArrayLike | None,
    thickness_mm: ArrayLike | None,
    half_width_mm: ArrayLike | None,
) -> coefficients.Three:
    if point == "half-plane":
        return coefficients.half_plane()
    if point == "centre":
        return coefficients.centre()
    thickness = np.asarray(thickness_mm, dtype=np.float64)
    if point in _STRIP:
        alpha = np.asarray(depth / thickness)
        return coefficients.edge_matched(alpha) if point == "edge" else coefficients.edge(alpha)
    width = None if half_width_mm is None else np.asarray(half_width_mm, dtype=np.float64)
    length = np.asarray(half_length_mm, dtype=np.float64)
    reference = surface.reference_factors(depth, length, thickness, width)
    return coefficients.deepest(reference) if point == "deepest" else coefficients.surface_point(reference)


def _lengths(
    point: str,
    depth: FloatArray,
    half_length_mm: ArrayLike | None,
    thickness_mm: ArrayLike | None,
    half_width_mm: ArrayLike | None,
) -> tuple[FloatArray | None, FloatArray | None, FloatArray | None]:
    """The lengths that the geometry needs, checked; InputError for those that it has no use for."""
    given = {"half_length_mm": half_length_mm, "thickness_mm": thickness_mm, "half_width_mm": half_width_mm}
    used = _USED.get(point, ())
    for name, value in given.items():
        if value is not None and name not in used:
            taken = " and ".join(used) or "no length besides the depth: its body has no end"
            raise InputError(f"is not used: {point} takes {taken}", name)
    if point in ("half-plane", "centre"):
        return None, None, None
    thickness = positive("thickness_mm", _as_profile("thickness_mm", thickness_mm))
    _fits(depth, thickness_mm=thickness)
    if (depth > thickness).any() or (point in _STRIP and (depth >= thickness).any()):
        raise InputError("the crack is deeper than the plate is thick", "depth_mm")
    if point in _STRIP:
        return None, thickness, None
    length = positive("half_length_mm", _as_profile("half_length_mm", half_length_mm))
    width = None if half_width_mm is None else positive("half_width_mm", half_width_mm)
    _fits(depth, thickness_mm=thickness, half_length_mm=length, half_width_mm=width)
    if width is not None and (length >= width).any():
        raise InputError("the crack is as long as the plate is wide", "half_length_mm")
    return length, thickness, width


def _fits(depth: FloatArray, **lengths: FloatArray | None) -> None:
    """InputError naming the first length whose entries do not fit the crack depths."""
    shape = depth.shape
    for name, value in lengths.items():
        try:
            shape = np.broadcast_shapes(shape, () if value is None else value.shape)
        except ValueError:
            raise InputError(f"{name} has a length that does not fit the others", name) from None


def _as_profile(name: str, value: ArrayLike | None) -> ArrayLike:
    if value is None:
        raise InputError(f"{name} is needed for this geometry", name)
    return value


def _reach(profile: PathProfile | PolynomialProfile, depth: FloatArray) -> tuple[Finding, ...]:
    if np.isinf(profile.reach_mm):
        return ()
    end = Limit("depth_mm", None, profile.reach_mm, SOURCES[0], "end of the stress path, held constant beyond")
    return outside_limits((end,), depth_mm=depth)


def _findings(
    point: str,
    depth: FloatArray,
    length: FloatArray | None,
    thickness: FloatArray | None,
    width: FloatArray | None,
) -> tuple[Finding, ...]:
    if thickness is None:
        return (wide_plate("point"),) if point == "centre" else ()
    relative = depth / thickness
    if length is None:
        return (*outside_limits(LIMITS, edge_alpha=relative), *_edge_caution(point))
    ratio = depth / length
    reach = {} if width is None else {"relative_width": length / width}
    limits = outside_limits(surface.LIMITS, aspect_ratio=ratio, relative_depth=relative, **reach)
    wide = () if width is not None else (wide_plate("half_width_mm"),)
    return (*limits, *wide, *surface.depth_findings(ratio, relative))


def _edge_caution(point: str) -> tuple[Finding, ...]:
    if point == "edge":
        return ()
    text = "coefficients of the finite-width edge are recalled, not confirmed; up to 3 % above accurate factors"
    return (caution("unconfirmed-coefficients", text, source=SOURCES[2]),)


def _sources(point: str) -> tuple[str, ...]:
    if point in _ELLIPSE:
        return (SOURCES[0], SOURCES[1], *surface.SOURCES)
    if point == "edge":
        return (SOURCES[0], "edge-collocation")
    return (SOURCES[0], SOURCES[2]) if point == "edge-published" else (SOURCES[0],)


def _tables(point: str) -> tuple[str, ...]:
    return (*TABLES, *surface.TABLES) if point in _ELLIPSE else TABLES
