"""Weld-toe magnification at a semi-elliptical crack under membrane stress: the fit in three dimensions."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from fatcore.cracks.intensity.plate.edge_factors import polynomial
from fatcore.require import FloatArray
from fatcore.tables import load

_DATA = load("cracks/intensity_toe_solid")
_DEEP, _SURFACE = _DATA["deepest"], _DATA["surface"]


class SolidMagnification(NamedTuple):
    """Magnification of the membrane part at the deepest and at the surface point."""

    deepest: FloatArray
    surface: FloatArray


def solid(
    relative_depth: ArrayLike,
    aspect_ratio: ArrayLike,
    footprint_over_thickness: ArrayLike,
    floor: float | None = None,
) -> SolidMagnification:
    """Toe magnification of a semi-ellipse under membrane stress, T-butt 45 deg (coefficients unconfirmed).

    relative_depth           : a/B [-]; aspect_ratio : a/c [-]
    footprint_over_thickness : L/B [-]; the source takes 2.75 for anything longer
    floor                    : smallest value [-], None is the 1 of the source
    Returns                  : deepest, surface [-]
    Valid                    : toe.LIMITS
    Source                   : [toe-solid-2000]
    >>> [round(float(m), 3) for m in solid(0.02, 0.5, 1.0)]
    [1.526, 3.329]
    """
    x, r = np.asarray(relative_depth, dtype=np.float64), np.asarray(aspect_ratio, dtype=np.float64)
    length = np.minimum(np.asarray(footprint_over_thickness, dtype=np.float64), _DATA["longest_footprint"])
    least = _DATA["floor"] if floor is None else floor
    return SolidMagnification(np.maximum(_deepest(x, r, length), least), np.maximum(_surface(x, r, length), least))


def _deepest(x: FloatArray, r: FloatArray, length: FloatArray) -> FloatArray:
    c = _DEEP
    g1, g3, g4 = (polynomial(r, c[name]) for name in ("g1", "g3", "g4"))
    g5, g6, g7, g8 = (polynomial(length, c[name]) for name in ("g5", "g6", "g7", "g8"))
    g2 = c["g2"][0] * r ** c["g2"][1]
    f1 = c["f1"][0] * x ** (g1 + (g2 * x) ** g3) + c["f1"][1] * np.exp(x ** c["f1"][2]) + g4
    f2 = c["f2"][0] * _left(x) ** c["f2"][1] + c["f2"][2] * x ** (c["f2"][3] * x)
    f3 = c["f3"][0] * x**g5 + c["f3"][1] * x ** c["f3"][2] + (g6 * x + g7) * x + g8
    return np.asarray(f1 + f2 + f3)


def _surface(x: FloatArray, r: FloatArray, length: FloatArray) -> FloatArray:
    c, q = _SURFACE, 1.0 / r
    g1, g5 = (polynomial(q, c[name]) for name in ("g1", "g5"))
    g2, g3, g4, g6, g7, g8, g11, g12 = (
        polynomial(length, c[name]) for name in ("g2", "g3", "g4", "g6", "g7", "g8", "g11", "g12")
    )
    g9, g10, g13 = (polynomial(r, c[name]) for name in ("g9", "g10", "g13"))
    f1 = g1 * x ** ((g2 * q + g3) * q + g4) + g5 * _left(x) ** ((g6 * q + g7) * q + g8)
    f2 = polynomial(r, c["f2"][:3]) + c["f2"][3] * x**g9 + c["f2"][4] * _left(x) ** g10
    return np.asarray(f1 * f2 * (g11 * x ** c["f3"] + g12 * np.exp(x**g13)))


def _left(x: FloatArray) -> FloatArray:
    """Ligament over thickness; 0 beyond the thickness, where an integration looks ahead."""
    return np.maximum(1.0 - x, 0.0)
