"""Bare geometry factors of the edge crack, without guards, for everything that integrates over them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.polynomial.polynomial import polyval

from fatcore.errors import UnknownError
from fatcore.require import FloatArray
from fatcore.tables import load

FORMS = ("accurate", "handbook", "polynomial")

_DATA = load("cracks/intensity_edge")
_TENSION = tuple(_DATA["tension"]["closed"])
_BENDING = tuple(_DATA["bending"]["closed"])
_NUMERATOR, _RADICAND = _DATA["bending_prevented"]["numerator"], tuple(_DATA["bending_prevented"]["radicand"])


def tension(alpha: FloatArray, form: str) -> FloatArray:
    """Uniform remote stress, ends free to rotate."""
    if form == "accurate":
        return _accurate(alpha, "tension")
    if form == "polynomial":
        return polynomial(alpha, _DATA["tension"]["polynomial"])
    root, sine, cosine = _ligament(alpha, form)
    return np.asarray(root * (_TENSION[0] + _TENSION[1] * alpha + _TENSION[2] * (1.0 - sine) ** 3) / cosine)


def bending(alpha: FloatArray, form: str) -> FloatArray:
    """Pure bending."""
    if form == "accurate":
        return _accurate(alpha, "bending")
    if form == "polynomial":
        return polynomial(alpha, _DATA["bending"]["polynomial"])
    root, sine, cosine = _ligament(alpha, form)
    return np.asarray(root * (_BENDING[0] + _BENDING[1] * ((1.0 - sine) ** 2) ** 2) / cosine)


def prevented(alpha: FloatArray) -> FloatArray:
    """Bending prevented at every section."""
    return np.asarray(_NUMERATOR / np.sqrt(_RADICAND[0] + (_RADICAND[1] + _RADICAND[2] * alpha) * alpha))


def polynomial(alpha: FloatArray, coefficients: Sequence[float]) -> FloatArray:
    """Polynomial with coefficients in ascending order."""
    return np.asarray(polyval(alpha, np.asarray(coefficients)))


def _accurate(alpha: FloatArray, load: str) -> FloatArray:
    ligament = 1.0 - alpha
    return np.asarray(polynomial(alpha, _DATA["accurate"][load]) / (ligament * np.sqrt(ligament)))


def _ligament(alpha: FloatArray, form: str) -> tuple[FloatArray, FloatArray, FloatArray]:
    """sqrt(tan(x) / x), sin(x), cos(x) at x = pi alpha / 2; the first is 1 at alpha = 0."""
    if form != "handbook":
        raise UnknownError("form", form, FORMS, "form")
    angle = 0.5 * np.pi * alpha
    cosine = np.cos(angle)
    return np.sqrt(np.sinc(0.5 * alpha) / cosine), np.sin(angle), cosine
