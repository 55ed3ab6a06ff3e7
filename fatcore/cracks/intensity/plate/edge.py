"""Crack from one edge of a plate: free ends, clamped ends, bending prevented, pure bending."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike

from fatcore.cracks.intensity.family import (
    BENDING,
    MEMBRANE,
    WHOLE_PLATE,
    WIDTH,
    Bound,
    Family,
    Parameter,
    Values,
    relative_depth,
)
from fatcore.cracks.intensity.limits import limit
from fatcore.cracks.intensity.plate import edge_factors as factors
from fatcore.cracks.intensity.plate._compliance import integrals
from fatcore.errors import UnknownError
from fatcore.findings import Finding, caution, note
from fatcore.require import FloatArray, positive, within
from fatcore.tables import load

SOURCES = (
    "tada-paris-irwin-2000",
    "edge-collocation",
    "edge-clamped-closed-form",
    "harris-1967",
    "bs-8571-2014",
)
TABLES = ("cracks/intensity_edge",)
FORMS = factors.FORMS
CLAMPED_FORMS = ("accurate", "handbook", "twelve-term")
_DATA = load(TABLES[0])
_RANGE = _DATA["limits"]

LIMITS = (
    limit(_RANGE, "polynomial_alpha", SOURCES[0], "0.5 % up to 0.6, then useless"),
    limit(_RANGE, "clamped_long_alpha", SOURCES[4], "agrees with the closed form up to 0.8"),
    limit(_RANGE, "clamped_long_length", SOURCES[4], "made for ends ten widths apart"),
    limit(_RANGE, "length_over_width", SOURCES[2], "the ligaments must act as beams"),
)


def tension_free(alpha: ArrayLike, form: str = "handbook") -> FloatArray:
    """Geometry factor of the edge crack under uniform remote stress, ends free.

    alpha   : crack depth over plate width a/W [-], 0 to below 1
    form    : handbook (closed, 0.6 %), accurate (0.1 %), polynomial (alpha <= 0.6)
    Returns : F [-]: K = S * sqrt(pi * a) * F
    Raises  : InputError outside 0 <= alpha < 1, UnknownError for another form
    Source  : [tada-paris-irwin-2000], accurate [edge-collocation]
    >>> round(float(tension_free(0.5)), 4), round(float(tension_free(0.5, "accurate")), 3)
    (2.8266, 2.824)
    """
    return factors.tension(_depth(alpha), form)


def bending(alpha: ArrayLike, form: str = "handbook") -> FloatArray:
    """Geometry factor of the edge crack in pure bending.

    alpha   : a/W [-], 0 to below 1
    form    : handbook (closed; up to 2.3 % low near 0.3), accurate (0.1 %), polynomial (alpha <= 0.6)
    Returns : F [-]: K = S_b * sqrt(pi * a) * F with the nominal edge stress S_b = 6 M / (B W^2)
    Raises  : InputError outside 0 <= alpha < 1, UnknownError for another form
    Source  : [tada-paris-irwin-2000], accurate [edge-collocation]
    >>> round(float(bending(0.5)), 4), round(float(bending(0.5, "accurate")), 3)
    (1.4752, 1.497)
    """
    return factors.bending(_depth(alpha), form)


def bending_prevented(alpha: ArrayLike) -> FloatArray:
    """Geometry factor of the edge crack whose every section is kept straight.

    alpha   : a/W [-], 0 to below 1
    Returns : F [-]: K = S * sqrt(pi * a) * F
    Raises  : InputError outside 0 <= alpha < 1
    Source  : [harris-1967]
    """
    return factors.prevented(_depth(alpha))


def clamped(alpha: ArrayLike, length_over_width: ArrayLike, form: str = "handbook") -> FloatArray:
    """Geometry factor of the edge crack between ends that move but do not rotate.

    alpha             : a/W [-], 0 to 0.999999
    length_over_width : free length over width H/W [-]
    form              : factors that it is built on, handbook or accurate
    Returns           : F [-]: K = P / (B W) * sqrt(pi * a) * F
    Valid             : LIMITS, length_over_width >= 2
    Raises            : InputError for a depth outside the range or a length that is not positive
    Source            : [edge-clamped-closed-form]
    >>> round(float(clamped(0.4, 4.0)), 4)
    1.5388
    """
    return _clamped(within("alpha", alpha, 0.0, 0.999999), positive("length_over_width", length_over_width), form)


def clamped_long(alpha: ArrayLike) -> FloatArray:
    """Geometry factor between clamped ends 10 W apart, polynomial of twelve terms (coefficients unconfirmed).

    alpha   : a/W [-]; Returns : F [-]; Valid : LIMITS; Raises : InputError outside 0 <= alpha < 1
    Source  : [bs-8571-2014]
    """
    return factors.polynomial(_depth(alpha), _DATA["clamped_long"]["polynomial"])


def stress_intensity(
    depth_mm: ArrayLike,
    *,
    width_mm: ArrayLike,
    membrane_mpa: ArrayLike = 0.0,
    bending_mpa: ArrayLike = 0.0,
    form: str = "accurate",
) -> FloatArray:
    """Stress intensity factor of an edge crack with free ends; fast, checks only the name of the form.

    depth_mm : crack depth a [mm]; width_mm : plate width W [mm]; form : as in tension_free
    membrane_mpa, bending_mpa : uniform stress and edge stress of bending in the uncracked plate [MPa]
    Returns  : K [MPa√mm], signed
    Source   : [edge-collocation], [tada-paris-irwin-2000]
    """
    depth, alpha = _sizes(depth_mm, width_mm)
    pull, bend = factors.tension(alpha, form), factors.bending(alpha, form)
    return np.asarray((pull * np.asarray(membrane_mpa) + bend * np.asarray(bending_mpa)) * np.sqrt(np.pi * depth))


def clamped_intensity(
    depth_mm: ArrayLike,
    *,
    width_mm: ArrayLike,
    free_length_mm: ArrayLike,
    membrane_mpa: ArrayLike = 0.0,
    form: str = "accurate",
) -> FloatArray:
    """Stress intensity factor of an edge crack between clamped ends; fast, checks only the name of the form.

    depth_mm, width_mm, free_length_mm : a, W, H [mm]; membrane_mpa : force over section [MPa]
    form    : accurate or handbook closed form; twelve-term for ends 10 W apart, whatever free_length_mm is
    Returns : K [MPa√mm], signed
    Source  : [edge-clamped-closed-form], [bs-8571-2014]
    """
    depth, alpha = _sizes(depth_mm, width_mm)
    if form == "twelve-term":
        factor = factors.polynomial(alpha, _DATA["clamped_long"]["polynomial"])
    elif form in CLAMPED_FORMS:
        factor = _clamped(alpha, np.asarray(free_length_mm, dtype=np.float64) / np.asarray(width_mm), form)
    else:
        raise UnknownError("form", form, CLAMPED_FORMS, "form")
    return np.asarray(factor * np.asarray(membrane_mpa) * np.sqrt(np.pi * depth))


def prevented_intensity(depth_mm: ArrayLike, *, width_mm: ArrayLike, membrane_mpa: ArrayLike = 0.0) -> FloatArray:
    """Stress intensity factor of an edge crack with bending prevented at every section; fast, checks nothing.

    depth_mm, width_mm : a, W [mm]; membrane_mpa : force over section [MPa]
    Returns  : K [MPa√mm], signed
    Source   : [harris-1967]
    """
    depth, alpha = _sizes(depth_mm, width_mm)
    return np.asarray(factors.prevented(alpha) * np.asarray(membrane_mpa) * np.sqrt(np.pi * depth))


def form_findings(form: str) -> tuple[Finding, ...]:
    """Says which form of the factors, and so of the compliance, an answer rests on."""
    if form == "accurate":
        message = "edge factors and crack compliance: fit of a boundary collocation, within 0.1 % at any depth"
        return (note("edge-factors-accurate", message, field="form", source=SOURCES[1]),)
    message = "edge factors and crack compliance: handbook forms; in bending up to 2.3 % low near a/W = 0.3"
    return (caution("edge-factors-handbook", message, field="form", source=SOURCES[0]),)


def _depth(alpha: ArrayLike) -> FloatArray:
    return within("alpha", alpha, 0.0, 1.0, open_high=True)


def _sizes(depth_mm: ArrayLike, width_mm: ArrayLike) -> tuple[FloatArray, FloatArray]:
    depth = np.asarray(depth_mm, dtype=np.float64)
    return depth, np.asarray(depth / np.asarray(width_mm, dtype=np.float64))


def _clamped(alpha: FloatArray, length: FloatArray, form: str) -> FloatArray:
    total = integrals(alpha, form)
    restraint = 6.0 * np.pi * total.coupling / (length + 6.0 * np.pi * total.bending)
    return np.asarray(factors.tension(alpha, form) - factors.bending(alpha, form) * restraint)


def _edge_free(values: Values) -> dict[str, FloatArray]:
    alpha = relative_depth(values)
    return {"alpha": alpha, **({"polynomial_alpha": alpha} if values["form"] == "polynomial" else {})}


def _edge_clamped(values: Values) -> dict[str, FloatArray]:
    alpha, length = relative_depth(values), np.asarray(values["free_length_mm"] / values["width_mm"])
    if values["form"] == "twelve-term":
        return {"alpha": alpha, "clamped_long_alpha": alpha, "clamped_long_length": length}
    return {"alpha": alpha, "length_over_width": length}


def _free_remarks(values: Values, ratios: Mapping[str, FloatArray]) -> tuple[Finding, ...]:  # noqa: ARG001
    if values["form"] != "handbook" or not np.any(values["bending_mpa"]):
        return ()
    text = "the closed handbook form in bending lies up to 2.3 % below computed factors near a/W = 0.3"
    return (caution("handbook-bending-low", text, field="form", source="edge-collocation"),)


def _clamped_remarks(values: Values, ratios: Mapping[str, FloatArray]) -> tuple[Finding, ...]:  # noqa: ARG001
    if values["form"] != "twelve-term":
        return ()
    text = "twelve recalled coefficients, not confirmed; the closed form is the arbiter"
    return (caution("unconfirmed-coefficients", text, field="form", source="bs-8571-2014"),)


FAMILIES = (
    Family(
        name="edge-free",
        title="crack from one edge of a plate, ends free to rotate",
        size="depth_mm",
        k=stress_intensity,
        parameters=(WIDTH, MEMBRANE, BENDING, Parameter("form", "choice", "accurate", FORMS)),
        ratios=_edge_free,
        bounds=WHOLE_PLATE,
        limits=LIMITS,
        sources=(),
        by_choice={
            "accurate": ("edge-collocation",),
            "handbook": SOURCES[:1],
            "polynomial": SOURCES[:1],
        },
        tables=TABLES,
        remarks=_free_remarks,
    ),
    Family(
        name="edge-clamped",
        title="crack from one edge of a plate between ends that do not rotate",
        size="depth_mm",
        k=clamped_intensity,
        parameters=(
            WIDTH,
            Parameter("free_length_mm", "length"),
            MEMBRANE,
            Parameter("form", "choice", "accurate", CLAMPED_FORMS),
        ),
        ratios=_edge_clamped,
        bounds=(Bound("alpha", 0.999999, message="the crack is as large as the plate"),),
        limits=LIMITS,
        sources=(),
        by_choice={
            "accurate": ("edge-clamped-closed-form", "edge-collocation"),
            "handbook": ("edge-clamped-closed-form", "tada-paris-irwin-2000"),
            "twelve-term": ("bs-8571-2014",),
        },
        tables=TABLES,
        remarks=_clamped_remarks,
    ),
    Family(
        name="edge-bending-prevented",
        title="crack from one edge of a plate, every section kept straight",
        size="depth_mm",
        k=prevented_intensity,
        parameters=(WIDTH, MEMBRANE),
        ratios=lambda values: {"alpha": relative_depth(values)},
        bounds=WHOLE_PLATE,
        sources=("harris-1967",),
        tables=TABLES,
    ),
)
