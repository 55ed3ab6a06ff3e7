"""What all points of the front of a semi-elliptical surface crack share, by branch of the equations.

Plain operators only: the kernels take floats (fast in integration loops) and arrays alike.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fatcore.require import FloatArray
from fatcore.tables import load

_DATA = load("cracks/intensity_surface")
SHALLOW, _DEEP, SHAPE = _DATA["shallow"], _DATA["deep"], _DATA["shape"]["q"]

# the branches differ a little at a/c = 1: the last bit of a semicircle must not choose between them
SEMICIRCLE = 1.0 + 1e-9

Number = float | FloatArray


class Terms(NamedTuple):
    """Shared by the front points: M / sqrt(Q), (H1 - 1) / x, (H2 - 1) / x, f at both, g - 1 at phi = 0."""

    level: Number
    h1_rate: Number
    h2_rate: Number
    deepest: Number
    surface: Number
    g_slope: Number


def terms(ratio: Number, relative: Number) -> Terms:
    """Terms of the branch that the aspect ratio asks for; arrays of both kinds are split and joined again."""
    if isinstance(ratio, float):
        return _shallow(ratio, relative) if ratio <= SEMICIRCLE else _deep(1.0 / ratio, relative)
    if (ratio <= SEMICIRCLE).all():
        return _shallow(ratio, relative)
    ratio, relative = np.broadcast_arrays(ratio, relative)
    shallow: NDArray[np.bool_] = ratio <= SEMICIRCLE
    low = _shallow(ratio[shallow], relative[shallow])
    high = _deep(1.0 / ratio[~shallow], relative[~shallow])
    return Terms(*(_join(shallow, a, b) for a, b in zip(low, high, strict=True)))


def _join(mask: NDArray[np.bool_], low: Number, high: Number) -> FloatArray:
    both = np.empty(mask.shape)
    both[mask], both[~mask] = low, high
    return both


def _shallow(r: Number, x: Number) -> Terms:
    """Branch a/c <= 1; r = a/c, x = a/t."""
    c = SHALLOW
    x2, root = x * x, r**0.5
    r075, r15 = root * root**0.5, r * root
    far8 = (1.0 - r) ** 2  # a power of 24: nothing near a semicircle
    far8 = far8 * far8
    far8 = far8 * far8
    m3 = c["m3"][0] + c["m3"][1] / (c["m3"][2] + r) + c["m3"][3] * (far8 * far8 * far8)
    m2 = c["m2"][0] + c["m2"][1] / (c["m2"][2] + r)
    level = (c["m1"][0] + c["m1"][1] * r + (m2 + m3 * x2) * x2) / (1.0 + SHAPE[0] * r ** SHAPE[1]) ** 0.5
    h1 = c["h1"][0] + c["h1"][1] * r
    h2 = c["g1"][0] + c["g1"][1] * r + (c["g2"][0] + c["g2"][1] * r075 + c["g2"][2] * r15) * x
    return Terms(level, h1, h2, 1.0, root, c["g"][0] + c["g"][1] * x2)


def _deep(r: Number, x: Number) -> Terms:
    """Branch a/c > 1; r = c/a, x = a/t."""
    c = _DEEP
    x2, root = x * x, r**0.5
    r075, r15, r4 = root * root**0.5, r * root, (r * r) * (r * r)
    m1 = root * (c["m1"][0] + c["m1"][1] * r)
    level = (m1 + (c["m2"] + c["m3"] * x2) * r4 * x2) / (1.0 + SHAPE[0] * r ** SHAPE[1]) ** 0.5
    line, square = c["h1_linear"], c["h1_square"]
    h1 = line[0] + line[1] * r + (square[0] + square[1] * r075 + square[2] * r15) * x
    h2 = c["g1"][0] + c["g1"][1] * r + (c["g2"][0] + c["g2"][1] * r075 + c["g2"][2] * r15) * x
    return Terms(level, h1, h2, root, 1.0, c["g"][0] + c["g"][1] * r * x2)
