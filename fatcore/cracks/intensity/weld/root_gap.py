"""Unfused root gap of a load-carrying cruciform joint with fillet welds."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from fatcore.cracks.intensity.family import MEMBRANE, Bound, Family, Parameter, Values
from fatcore.cracks.intensity.limits import limit
from fatcore.cracks.intensity.plate.edge_factors import polynomial
from fatcore.require import FloatArray
from fatcore.tables import load

SOURCES = ("frank-fisher-1979",)
TABLES = ("cracks/intensity_root_gap",)
_DATA = load(TABLES[0])

LIMITS = (
    limit(_DATA["limits"], "leg_over_thickness", SOURCES[0], "range of the fit"),
    limit(_DATA["limits"], "gap_over_width", SOURCES[0], "range of the fit"),
)


def geometry_factor(gap_over_width: ArrayLike, leg_over_thickness: ArrayLike) -> FloatArray:
    """Geometry factor of the root gap.

    gap_over_width     : gap 2a over the width across both welds, plate thickness plus two legs [-]
    leg_over_thickness : weld leg over thickness of the loaded plate [-]
    Returns            : F [-]: K = S * sqrt(pi * a) * F, S the stress in the loaded plate
    Valid              : LIMITS
    Source             : [frank-fisher-1979]
    >>> round(float(geometry_factor(0.5, 0.5)), 4)
    0.9285
    """
    gap, leg = np.asarray(gap_over_width, dtype=np.float64), np.asarray(leg_over_thickness, dtype=np.float64)
    level = polynomial(leg, _DATA["a0"]) + polynomial(leg, _DATA["a1"]) * gap
    return np.asarray(level / (1.0 + 2.0 * leg) / np.sqrt(np.cos(0.5 * np.pi * gap)))


def stress_intensity(
    half_length_mm: ArrayLike, *, thickness_mm: ArrayLike, leg_mm: ArrayLike, membrane_mpa: ArrayLike = 0.0
) -> FloatArray:
    """Stress intensity factor at the ends of the root gap; fast, checks nothing.

    half_length_mm : half of the gap, a [mm]; thickness_mm : loaded plate [mm]; leg_mm : weld leg [mm]
    membrane_mpa   : nominal stress in the loaded plate [MPa]
    Returns        : K [MPa√mm], signed
    Source         : [frank-fisher-1979]
    """
    half, leg = np.asarray(half_length_mm, dtype=np.float64), np.asarray(leg_mm, dtype=np.float64)
    thickness = np.asarray(thickness_mm, dtype=np.float64)
    factor = geometry_factor(2.0 * half / (thickness + 2.0 * leg), leg / thickness)
    return np.asarray(factor * np.asarray(membrane_mpa) * np.sqrt(np.pi * half))


def _root(values: Values) -> dict[str, FloatArray]:
    across = values["thickness_mm"] + 2.0 * values["leg_mm"]
    return {
        "gap_over_width": np.asarray(2.0 * values["half_length_mm"] / across),
        "leg_over_thickness": np.asarray(values["leg_mm"] / values["thickness_mm"]),
    }


FAMILIES = (
    Family(
        name="root-gap",
        title="unfused root gap of a load-carrying cruciform joint with fillet welds",
        size="half_length_mm",
        k=stress_intensity,
        parameters=(Parameter("thickness_mm", "length"), Parameter("leg_mm", "length"), MEMBRANE),
        ratios=_root,
        bounds=(Bound("gap_over_width", 1.0, message="the gap is as wide as the welded section"),),
        limits=LIMITS,
        sources=SOURCES,
        tables=TABLES,
    ),
)
