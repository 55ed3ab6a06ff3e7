"""Crack closure: the open part of a stress-intensity range."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from fatcore.errors import InputError, UnknownError
from fatcore.require import FloatArray, finite, within
from fatcore.tables import load

__all__ = ["linear_opening", "newman_closure", "newman_opening"]

LINEAR = ("elber", "schijve")


def linear_opening(name: str, load_ratio: ArrayLike) -> FloatArray:
    """Open share U of a range by a published polynomial in the load ratio.

    name       : elber (2024-T3, load ratio -0.1 to 0.7) or schijve
    load_ratio : smallest over largest stress intensity [-], scalar or array
    Returns    : open share of the range [-], same shape
    Raises     : UnknownError for another name
    Source     : [elber-1971], [schijve-closure]
    >>> float(linear_opening("elber", 0.0))
    0.5
    """
    if name not in LINEAR:
        raise UnknownError("opening function", name, LINEAR, "opening")
    coefficients = load("cracks/closure")[name]["coefficients"]
    return np.asarray(np.polynomial.polynomial.polyval(finite("load_ratio", load_ratio), coefficients))


def newman_closure(load_ratio: ArrayLike, constraint: float, stress_over_flow: float) -> FloatArray:
    """Opening level K_open / K_max of a growing crack.

    load_ratio       : smallest over largest stress intensity [-], -2 to below 1, scalar or array
    constraint       : 1 (plane stress) to 3 (plane strain) [-]
    stress_over_flow : largest stress over flow strength [-], 0 to below 1
    Returns          : opening level [-], same shape
    Raises           : InputError outside these ranges
    Source           : [newman-1984]
    """
    ratio = within("load_ratio", load_ratio, -2.0, 1.0, open_high=True)
    within("constraint", constraint, 1.0, 3.0)
    within("stress_over_flow", stress_over_flow, 0.0, 1.0, open_high=True)
    table = load("cracks/closure")["newman"]
    base = np.polynomial.polynomial.polyval(constraint, table["a0"])
    a0 = base * np.cos(np.pi * stress_over_flow / 2.0) ** (1.0 / constraint)
    a1 = np.polynomial.polynomial.polyval(constraint, table["a1"]) * stress_over_flow
    a3 = 2.0 * a0 + a1 - 1.0
    a2 = 1.0 - a0 - a1 - a3
    positive = np.maximum(ratio, a0 + ratio * (a1 + ratio * (a2 + ratio * a3)))
    return np.asarray(np.where(ratio >= 0.0, positive, a0 + a1 * ratio))


def newman_opening(load_ratio: ArrayLike, constraint: float, stress_over_flow: float) -> FloatArray:
    """Open share U = (1 - f) / (1 - R) of a range, from the opening level f of `newman_closure`.

    Arguments and errors as `newman_closure`.
    Source : [newman-1984]
    """
    ratio = finite("load_ratio", load_ratio)
    if (ratio >= 1.0).any():
        raise InputError("load_ratio must be less than 1", "load_ratio")
    return np.asarray((1.0 - newman_closure(ratio, constraint, stress_over_flow)) / (1.0 - ratio))
