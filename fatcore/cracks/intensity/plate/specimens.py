"""Test specimens: compact, middle-cracked, three-point bend, eccentrically loaded."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from fatcore.cracks.intensity.family import (
    THICKNESS,
    WHOLE_PLATE,
    WIDTH,
    Family,
    Parameter,
    Values,
    relative_depth,
    relative_length,
)
from fatcore.cracks.intensity.limits import limit
from fatcore.cracks.intensity.plate.edge_factors import polynomial
from fatcore.require import FloatArray
from fatcore.tables import load

SOURCES = ("astm-e647", "astm-e399")
TABLES = ("cracks/intensity_specimens",)
_DATA = load(TABLES[0])

LIMITS = (
    limit(_DATA["limits"], "compact_alpha", SOURCES[0], "from a/W = 0.2"),
    limit(_DATA["limits"], "middle_alpha", SOURCES[0], "2a/W below 0.95"),
    limit(_DATA["limits"], "span_over_width", SOURCES[1], "span of four widths"),
)


def compact_factor(alpha: ArrayLike) -> FloatArray:
    """Geometry factor of the compact specimen.

    alpha   : crack length from the load line over width a/W [-]
    Returns : f [-]: K = P / (B sqrt(W)) * f
    Source  : [astm-e647]
    >>> round(float(compact_factor(0.5)), 4)
    9.6591
    """
    x = np.asarray(alpha, dtype=np.float64)
    return np.asarray((2.0 + x) / (1.0 - x) ** 1.5 * polynomial(x, _DATA["compact"]["polynomial"]))


def bend_factor(alpha: ArrayLike) -> FloatArray:
    """Geometry factor of the three-point bend specimen with a span of four widths.

    alpha   : a/W [-]; Returns : f [-]: K = P S / (B W^1.5) * f; Source : [astm-e399]
    >>> round(float(bend_factor(0.5)), 4)
    2.6625
    """
    x = np.asarray(alpha, dtype=np.float64)
    inner = _DATA["bend"]["lead"] - x * (1.0 - x) * polynomial(x, _DATA["bend"]["polynomial"])
    return np.asarray(3.0 * np.sqrt(x) * inner / (2.0 * (1.0 + 2.0 * x) * (1.0 - x) ** 1.5))


def eccentric_factor(alpha: ArrayLike) -> FloatArray:
    """Geometry factor of the eccentrically loaded single-edge specimen.

    alpha   : a/W [-]; Returns : F [-]: K = P / (B sqrt(W)) * F; Source : [astm-e647]
    >>> round(float(eccentric_factor(0.5)), 4)
    6.9338
    """
    x, data = np.asarray(alpha, dtype=np.float64), _DATA["eccentric"]
    shape = np.sqrt(x) * (data["lead"] + x) / (1.0 - x) ** 1.5
    return np.asarray(shape * polynomial(x, data["polynomial"]))


def compact(depth_mm: ArrayLike, *, width_mm: ArrayLike, thickness_mm: ArrayLike, force_n: ArrayLike) -> FloatArray:
    """Stress intensity factor of the compact specimen; fast, checks nothing.

    depth_mm : crack length a from the load line [mm]; width_mm, thickness_mm : W, B [mm]; force_n : P [N]
    Returns  : K [MPa√mm]; Source : [astm-e647]
    """
    return _per_root_width(compact_factor(_alpha(depth_mm, width_mm)), width_mm, thickness_mm, force_n)


def eccentric(depth_mm: ArrayLike, *, width_mm: ArrayLike, thickness_mm: ArrayLike, force_n: ArrayLike) -> FloatArray:
    """Stress intensity factor of the eccentrically loaded single-edge specimen; fast, checks nothing.

    depth_mm : crack length a [mm]; width_mm, thickness_mm : W, B [mm]; force_n : P [N]
    Returns  : K [MPa√mm]; Source : [astm-e647]
    """
    return _per_root_width(eccentric_factor(_alpha(depth_mm, width_mm)), width_mm, thickness_mm, force_n)


def bend(
    depth_mm: ArrayLike,
    *,
    width_mm: ArrayLike,
    thickness_mm: ArrayLike,
    force_n: ArrayLike,
    span_mm: ArrayLike | None = None,
) -> FloatArray:
    """Stress intensity factor of the three-point bend specimen; fast, checks nothing.

    depth_mm : crack length a [mm]; width_mm, thickness_mm : W, B [mm]; force_n : P [N]
    span_mm  : distance of the supports [mm], None is four widths
    Returns  : K [MPa√mm]; Source : [astm-e399]
    """
    width = np.asarray(width_mm, dtype=np.float64)
    span = 4.0 * width if span_mm is None else np.asarray(span_mm, dtype=np.float64)
    factor = bend_factor(_alpha(depth_mm, width)) * span / width
    return _per_root_width(factor, width, thickness_mm, force_n)


def middle(
    half_length_mm: ArrayLike, *, width_mm: ArrayLike, thickness_mm: ArrayLike, force_n: ArrayLike
) -> FloatArray:
    """Stress intensity factor of the middle-cracked tension specimen; fast, checks nothing.

    half_length_mm : half crack length a [mm]; width_mm, thickness_mm : W, B [mm]; force_n : P [N]
    Returns        : K [MPa√mm]; Source : [astm-e647]
    """
    angle = np.pi * np.asarray(half_length_mm, dtype=np.float64) / np.asarray(width_mm)
    per_area = np.asarray(force_n) / (np.asarray(thickness_mm) * np.asarray(width_mm, dtype=np.float64))
    return np.asarray(per_area * np.sqrt(angle * np.asarray(width_mm) / np.cos(angle)))


def _alpha(depth_mm: ArrayLike, width_mm: ArrayLike) -> FloatArray:
    return np.asarray(np.asarray(depth_mm, dtype=np.float64) / np.asarray(width_mm))


def _per_root_width(factor: FloatArray, width_mm: ArrayLike, thickness_mm: ArrayLike, force_n: ArrayLike) -> FloatArray:
    scale = np.asarray(thickness_mm) * np.sqrt(np.asarray(width_mm, dtype=np.float64))
    return np.asarray(factor * np.asarray(force_n) / scale)


_SPECIMEN = (WIDTH, THICKNESS, Parameter("force_n", "load"))


def _bend(values: Values) -> dict[str, FloatArray]:
    ratios = {"alpha": relative_depth(values)}
    span = values["span_mm"]
    return ratios if span is None else {**ratios, "span_over_width": np.asarray(span / values["width_mm"])}


FAMILIES = (
    Family(
        name="specimen-compact",
        title="compact tension specimen",
        size="depth_mm",
        k=compact,
        parameters=_SPECIMEN,
        ratios=lambda values: {"alpha": relative_depth(values), "compact_alpha": relative_depth(values)},
        bounds=WHOLE_PLATE,
        limits=LIMITS,
        sources=("astm-e647",),
        tables=TABLES,
    ),
    Family(
        name="specimen-middle",
        title="middle-cracked tension specimen",
        size="half_length_mm",
        k=middle,
        parameters=_SPECIMEN,
        ratios=lambda values: dict.fromkeys(("alpha", "middle_alpha"), relative_length(values, "half_length_mm")),
        bounds=WHOLE_PLATE,
        limits=LIMITS,
        sources=("astm-e647",),
        tables=TABLES,
    ),
    Family(
        name="specimen-bend",
        title="three-point bend specimen",
        size="depth_mm",
        k=bend,
        parameters=(*_SPECIMEN, Parameter("span_mm", "length", None)),
        ratios=_bend,
        bounds=WHOLE_PLATE,
        limits=LIMITS,
        sources=("astm-e399",),
        tables=TABLES,
    ),
    Family(
        name="specimen-eccentric",
        title="eccentrically loaded single-edge specimen",
        size="depth_mm",
        k=eccentric,
        parameters=_SPECIMEN,
        ratios=lambda values: {"alpha": relative_depth(values)},
        bounds=WHOLE_PLATE,
        limits=LIMITS,
        sources=("astm-e647",),
        tables=TABLES,
    ),
)
