"""Bare geometry factors of the edge crack, without guards, for everything that integrates over them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.polynomial.polynomial import polyval

from fatcore.require import FloatArray
from fatcore.tables import load

__all__ = ["bending_closed", "polynomial", "prevented", "tension_closed"]

_DATA = load("cracks/intensity_edge")
_TENSION = tuple(_DATA["tension"]["closed"])
_BENDING = tuple(_DATA["bending"]["closed"])
_NUMERATOR, _RADICAND = _DATA["bending_prevented"]["numerator"], tuple(_DATA["bending_prevented"]["radicand"])


def tension_closed(alpha: FloatArray) -> FloatArray:
    """Uniform remote stress, ends free to rotate."""
    root, sine, cosine = _ligament(alpha)
    return np.asarray(root * (_TENSION[0] + _TENSION[1] * alpha + _TENSION[2] * (1.0 - sine) ** 3) / cosine)


def bending_closed(alpha: FloatArray) -> FloatArray:
    """Pure bending."""
    root, sine, cosine = _ligament(alpha)
    return np.asarray(root * (_BENDING[0] + _BENDING[1] * ((1.0 - sine) ** 2) ** 2) / cosine)


def prevented(alpha: FloatArray) -> FloatArray:
    """Bending prevented at every section."""
    return np.asarray(_NUMERATOR / np.sqrt(_RADICAND[0] + (_RADICAND[1] + _RADICAND[2] * alpha) * alpha))


def polynomial(alpha: FloatArray, coefficients: Sequence[float]) -> FloatArray:
    """Polynomial with coefficients in ascending order."""
    return np.asarray(polyval(alpha, np.asarray(coefficients)))


def _ligament(alpha: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """sqrt(tan(x) / x), sin(x), cos(x) at x = pi alpha / 2; the first is 1 at alpha = 0."""
    angle = 0.5 * np.pi * alpha
    cosine = np.cos(angle)
    return np.sqrt(np.sinc(0.5 * alpha) / cosine), np.sin(angle), cosine
