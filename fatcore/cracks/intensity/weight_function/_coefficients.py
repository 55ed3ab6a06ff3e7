"""Coefficients M1, M2, M3 of the universal weight functions, by geometry."""

from __future__ import annotations

import numpy as np
from numpy.polynomial.polynomial import polyval

from fatcore.cracks.intensity.plate.edge_factors import bending, tension
from fatcore.cracks.intensity.solid._surface_terms import Number
from fatcore.cracks.intensity.solid.surface import ReferenceFactors
from fatcore.require import FloatArray
from fatcore.tables import load

_DATA = load("cracks/weight_functions")
_EDGE = _DATA["edge"]
_TRUST = 0.1  # below this relative depth the difference of two factors is too uncertain

Three = tuple[Number, Number, Number]


def half_plane() -> Three:
    """Edge of a half plane."""
    first, second, third = _DATA["half_plane"]["m"]
    return first, second, third


def centre() -> Three:
    """Centre crack in an infinite plate under symmetric stress."""
    first, second, third = _DATA["centre"]["m"]
    return first, second, third


def edge(alpha: FloatArray) -> Three:
    """Edge of a strip of finite width, published rational functions of a/W."""
    first, second, third = (
        np.asarray(polyval(alpha, _EDGE[f"n{j}"]) / polyval(alpha, _EDGE[f"d{j}"])) for j in (1, 2, 3)
    )
    return first, second, third


def edge_matched(alpha: FloatArray) -> Three:
    """Edge of a strip: exact for uniform stress and bending; eased into the half plane."""
    uniform = tension(alpha, "accurate")
    deep = np.maximum(alpha, _TRUST)
    pull = tension(deep, "accurate")
    ratio = (bending(deep, "accurate") / pull - 1.0 + 2.0 * deep) / (2.0 * deep)
    share = np.minimum(alpha / _TRUST, 1.0)
    return _from_tip(uniform, uniform * (share * ratio + (1.0 - share) * _half_plane_ratio()))


def _half_plane_ratio() -> float:
    """Linear over uniform reference of the half plane."""
    first, second, third = _DATA["half_plane"]["m"]
    linear = 2.0 / 3.0 + first / 2.0 + 2.0 * second / 5.0 + third / 3.0
    return float(linear / (2.0 + first + 2.0 * second / 3.0 + third / 2.0))


def deepest(reference: ReferenceFactors) -> Three:
    """Deepest point of a semi-ellipse, from its uniform and linear reference."""
    return _from_tip(reference.deepest_uniform, reference.deepest_linear)


def surface_point(reference: ReferenceFactors) -> Three:
    """Surface point of a semi-ellipse, from its uniform and linear reference."""
    uniform, linear = np.pi * reference.surface_uniform, np.pi * reference.surface_linear
    first = 3.0 * (5.0 * linear - 3.0 * uniform) - 8.0
    second = 15.0 * (2.0 * uniform - 3.0 * linear) + 15.0
    third = 3.0 * (10.0 * linear - 7.0 * uniform) - 8.0
    return first, second, third


def _from_tip(uniform: Number, linear: Number) -> Three:
    """M1, M3 that reproduce both references, with M2 = 3 (no slope of the weight at the mouth)."""
    first = np.sqrt(2.0) * np.pi * (2.0 * uniform - 3.0 * linear) - 4.8
    third = 3.0 * np.sqrt(2.0) * np.pi * (2.0 * linear - uniform) + 1.6
    return first, 3.0, third
