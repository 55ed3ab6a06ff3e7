"""Utilisation in stress: the factor on all loads at which a damage sum just reaches what is allowed."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from scipy.optimize import brentq

from fatcore.curves.curve import Curve
from fatcore.errors import NotConvergedError
from fatcore.require import FloatArray

__all__ = ["bounds", "utilisation"]


def utilisation(
    damage: Callable[[float], float], ranges_mpa: FloatArray, curves: Sequence[Curve], allowed: float
) -> float:
    """1 / factor on all ranges at which `damage(factor)` reaches the allowed damage; 0 when nothing cycles.

    damage     : monotone function of the factor
    ranges_mpa : the ranges behind it, to tell no load from load below the cut-off
    allowed    : damage of one pass that is allowed, > 0
    Raises     : NotConvergedError when no factor reaches it
    """
    if not (ranges_mpa > 0.0).any():
        return 0.0
    smallest, largest = bounds(damage(1.0) / allowed, curves)
    lower = (1.0 - 1e-9) / largest
    upper = (1.0 + 1e-9) / smallest if smallest > 0.0 else _reaching(damage, allowed)
    return 1.0 / _root(damage, lower, upper, allowed)


def _reaching(damage: Callable[[float], float], allowed: float) -> float:
    """A factor above 1 that is too much, where the damage at 1 is nothing (all below the cut-off)."""
    for power in range(1, 1000):
        if damage(2.0**power) > allowed:
            return 2.0**power
    raise NotConvergedError("no factor on the loads brings the damage to what is allowed")


def _root(damage: Callable[[float], float], lower: float, upper: float, allowed: float) -> float:
    def excess(log_factor: float) -> float:
        value = damage(float(np.exp(log_factor)))
        return float(np.log(value / allowed)) if value > 0.0 else -1e3

    return float(np.exp(brentq(excess, np.log(lower), np.log(upper), xtol=1e-13, rtol=1e-14)))


def bounds(share: float, curves: Sequence[Curve]) -> tuple[float, float]:
    """Smallest and largest utilisation that a share (damage over allowed) can mean on these curves.

    On a line of slope m the utilisation is share**(1/m); a cut-off lets damage change faster than any slope.
    """
    slopes = [slope for curve in curves for slope in curve.slopes]
    steepest = np.inf if any(curve.cut_off_mpa is not None for curve in curves) else max(slopes)
    if share <= 0.0:
        return 0.0, 1.0
    pair = share ** (1.0 / min(slopes)), share ** (0.0 if steepest == np.inf else 1.0 / steepest)
    return min(pair), max(pair)
