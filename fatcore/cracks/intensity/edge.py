"""Crack from one edge of a plate: free ends, clamped ends, bending prevented, pure bending."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from fatcore.cracks.intensity._compliance import Integrals, integrals
from fatcore.cracks.intensity._edge_factors import (
    bending_closed,
    polynomial,
    prevented,
    tension_closed,
)
from fatcore.cracks.intensity._limits import limit
from fatcore.require import FloatArray, positive, within
from fatcore.tables import load

__all__ = [
    "LIMITS",
    "SOURCES",
    "TABLES",
    "Integrals",
    "bending",
    "bending_polynomial",
    "bending_prevented",
    "clamped",
    "clamped_long",
    "compliance_integrals",
    "stress_intensity",
    "tension_free",
    "tension_free_polynomial",
]

SOURCES = ("tada-paris-irwin-2000", "edge-clamped-closed-form", "harris-1967", "bs-8571-2014")
TABLES = ("cracks/intensity_edge",)
_DATA = load(TABLES[0])
_RANGE = _DATA["limits"]

LIMITS = (
    limit(_RANGE, "polynomial_alpha", SOURCES[0], "0.5 % up to 0.6, then useless"),
    limit(_RANGE, "clamped_long_alpha", SOURCES[3], "agrees with the closed form up to 0.8"),
    limit(_RANGE, "length_over_width", SOURCES[1], "the ligaments must act as beams"),
)


def tension_free(alpha: ArrayLike) -> FloatArray:
    """Geometry factor of the edge crack under uniform remote stress, ends free; 0.5 %.

    alpha   : crack depth over plate width a/W [-], 0 to below 1
    Returns : F [-]: K = S * sqrt(pi * a) * F
    Raises  : InputError outside 0 <= alpha < 1
    Source  : [tada-paris-irwin-2000]
    >>> round(float(tension_free(0.5)), 4)
    2.8266
    """
    return tension_closed(_depth(alpha))


def tension_free_polynomial(alpha: ArrayLike) -> FloatArray:
    """The same by the polynomial of fourth degree, 0.5 % for alpha <= 0.6.

    alpha   : a/W [-]; Returns : F [-]; Valid : LIMITS; Raises : InputError outside 0 <= alpha < 1
    Source  : [tada-paris-irwin-2000]
    """
    return polynomial(_depth(alpha), _DATA["tension"]["polynomial"])


def bending(alpha: ArrayLike) -> FloatArray:
    """Geometry factor of the edge crack in pure bending; 0.5 % for any depth.

    alpha   : a/W [-], 0 to below 1
    Returns : F [-]: K = S_b * sqrt(pi * a) * F with the nominal edge stress S_b = 6 M / (B W^2)
    Raises  : InputError outside 0 <= alpha < 1
    Source  : [tada-paris-irwin-2000]
    """
    return bending_closed(_depth(alpha))


def bending_polynomial(alpha: ArrayLike) -> FloatArray:
    """The same by the polynomial of fourth degree, 0.2 % for alpha <= 0.6.

    alpha   : a/W [-]; Returns : F [-]; Valid : LIMITS; Raises : InputError outside 0 <= alpha < 1
    Source  : [tada-paris-irwin-2000]
    """
    return polynomial(_depth(alpha), _DATA["bending"]["polynomial"])


def bending_prevented(alpha: ArrayLike) -> FloatArray:
    """Geometry factor of the edge crack whose every section is kept straight.

    alpha   : a/W [-], 0 to below 1
    Returns : F [-]: K = S * sqrt(pi * a) * F
    Raises  : InputError outside 0 <= alpha < 1
    Source  : [harris-1967]
    """
    return prevented(_depth(alpha))


def clamped(alpha: ArrayLike, length_over_width: ArrayLike) -> FloatArray:
    """Geometry factor of the edge crack between ends that move but do not rotate.

    alpha             : a/W [-], 0 to below 1
    length_over_width : free length over width H/W [-]
    Returns           : F [-]: K = P / (B W) * sqrt(pi * a) * F
    Valid             : LIMITS, length_over_width >= 2
    Raises            : InputError outside 0 <= alpha < 1 and for a length that is not positive
    Source            : [edge-clamped-closed-form]
    >>> round(float(clamped(0.4, 4.0)), 4)
    1.5388
    """
    return _clamped(_depth(alpha), positive("length_over_width", length_over_width))


def clamped_long(alpha: ArrayLike) -> FloatArray:
    """Geometry factor between clamped ends 10 W apart, polynomial of twelve terms (coefficients unconfirmed).

    alpha   : a/W [-]; Returns : F [-]; Valid : LIMITS; Raises : InputError outside 0 <= alpha < 1
    Source  : [bs-8571-2014]
    """
    return polynomial(_depth(alpha), _DATA["clamped_long"]["polynomial"])


def compliance_integrals(alpha: ArrayLike) -> Integrals:
    """Integrals of the squared factors that give the compliance of the crack (2 x 2).

    alpha   : a/W [-], 0 to 0.999999
    Returns : tension, coupling, bending [-]: I_xy = integral from 0 to alpha of s F_x F_y ds; relative
              error below 1e-10
    Raises  : InputError outside the range
    Source  : [edge-clamped-closed-form]
    """
    return integrals(within("alpha", alpha, 0.0, 0.999999))


def stress_intensity(
    depth_mm: ArrayLike,
    *,
    width_mm: ArrayLike,
    membrane_mpa: ArrayLike = 0.0,
    bending_mpa: ArrayLike = 0.0,
) -> FloatArray:
    """Stress intensity factor of an edge crack with free ends; fast, checks nothing.

    depth_mm : crack depth a [mm]; width_mm : plate width W [mm]
    membrane_mpa, bending_mpa : uniform stress and edge stress of bending in the uncracked plate [MPa]
    Returns  : K [MPa*sqrt(mm)], signed
    Source   : [tada-paris-irwin-2000]
    """
    depth = np.asarray(depth_mm, dtype=np.float64)
    alpha = depth / np.asarray(width_mm, dtype=np.float64)
    stress = tension_closed(alpha) * np.asarray(membrane_mpa) + bending_closed(alpha) * np.asarray(
        bending_mpa
    )
    return np.asarray(stress * np.sqrt(np.pi * depth))


def _depth(alpha: ArrayLike) -> FloatArray:
    return within("alpha", alpha, 0.0, 1.0, open_high=True)


def _clamped(alpha: FloatArray, length: FloatArray) -> FloatArray:
    total = integrals(alpha)
    restraint = 6.0 * np.pi * total.coupling / (length + 6.0 * np.pi * total.bending)
    return np.asarray(tension_closed(alpha) - bending_closed(alpha) * restraint)
