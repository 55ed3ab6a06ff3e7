"""Utilisation in stress: the factor on all loads at which a damage sum just reaches what is allowed."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from fatcore.errors import NotConvergedError
from fatcore.require import FloatArray

Rows = NDArray[np.intp]
Damage = Callable[[FloatArray, Rows], FloatArray]

FAINTEST = 1e-250  # a share below it has lost its digits and counts as none
_MOST_DOUBLINGS = 1_000
MOST_STEPS = 200
MARGIN = 1e-9  # on the logarithm of a bound, so that rounding does not lose the root
TOLERANCE = 1e-13  # of the logarithm of the factor


def utilisations(
    damage: Damage,
    share: FloatArray,
    cycling: NDArray[np.bool_],
    flattest: FloatArray,
    steepest: FloatArray,
    allowed: float,
) -> FloatArray:
    """1 / factor on all ranges at which the damage of each station reaches the allowed, 0 without cycles.

    damage   : damage of some stations, (k,), at a factor each, (k,), and their places, (k,); rises with it
    share    : damage at factor 1 over the allowed, (n,)
    cycling  : whether any range is above 0, (n,), which tells no load from load below the cut-off
    flattest, steepest : smallest and largest slope that can count at a station, (n,); inf for a cut-off
    allowed  : damage of one pass that is allowed, > 0
    Returns  : (n,); closed form where one slope rules, else the root within the bounds of the slopes
    Raises   : NotConvergedError when no factor reaches it
    """
    found = np.zeros(cycling.shape)
    places = np.flatnonzero(cycling)
    low, high = bounds(share[places], flattest[places], steepest[places])
    plain = (flattest[places] == steepest[places]) & (share[places] > FAINTEST)
    found[places[plain]] = low[plain]
    rest = np.flatnonzero(~plain)
    if rest.size:
        found[places[rest]] = _solve(damage, share, places[rest], (low[rest], high[rest]), allowed)
    return found


def bounds(share: FloatArray, flattest: FloatArray, steepest: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Smallest and largest utilisation that a share (damage over allowed) can mean between two slopes.

    On a line of slope m the utilisation is share**(1/m); a cut-off lets damage change faster than any slope.
    """
    first, second = share ** (1.0 / flattest), share ** (1.0 / steepest)
    nothing = share <= FAINTEST
    low = np.where(nothing, 0.0, np.minimum(first, second))
    return low, np.where(nothing, 1.0, np.maximum(first, second))


def _solve(
    damage: Damage, share: FloatArray, places: Rows, between: tuple[FloatArray, FloatArray], allowed: float
) -> FloatArray:
    """From the damage at factor 1, which is known, to the bound on the other side of the root."""

    def excess(log_factor: FloatArray, rows: Rows) -> FloatArray:
        return _logarithm(damage(np.exp(log_factor), places[rows]) / allowed)

    known = _logarithm(share[places])
    low, high = between
    with np.errstate(divide="ignore"):
        end = np.where(known > 0.0, -np.log(high) - MARGIN, -np.log(low) + MARGIN)
    none = np.flatnonzero(~np.isfinite(end))
    if none.size:
        end[none] = np.log(_find_reaching_factors(damage, places[none], allowed))
    return np.exp(-_roots(excess, np.zeros(end.size), known, end))


def _logarithm(share: FloatArray) -> FloatArray:
    return np.log(share, out=np.full(share.shape, -1e3), where=share > 0.0)


def _find_reaching_factors(damage: Damage, places: Rows, allowed: float) -> FloatArray:
    """Factors above 1 that are too much, where the damage at 1 is nothing (all below the cut-off)."""
    factor = np.ones(places.size)
    short = np.arange(places.size)
    for _ in range(_MOST_DOUBLINGS):
        factor[short] *= 2.0
        short = short[damage(factor[short], places[short]) <= allowed]
        if not short.size:
            return factor
    raise NotConvergedError("no factor on the loads brings the damage to what is allowed")


def _roots(excess: Damage, start: FloatArray, at_start: FloatArray, end: FloatArray) -> FloatArray:
    """Where a rising function of each station passes 0 between start and end.

    Inverse quadratic interpolation where it is safe, else halving (Chandrupatla's rule), begun by a chord.
    """
    rows = np.arange(start.size)
    found = start.copy()
    new, old = end, start  # the bracket: the newest point, and one on the other side
    at_new, at_old = excess(new, rows), at_start
    step = np.clip(at_new / np.where(at_new != at_old, at_new - at_old, 1.0), 0.0, 1.0)
    for _ in range(MOST_STEPS):
        least = np.minimum(0.5, TOLERANCE / np.maximum(np.abs(old - new), TOLERANCE))
        point = new + np.clip(step, least, 1.0 - least) * (old - new)
        value = excess(point, rows)
        same = (value > 0.0) == (at_new > 0.0)
        last, at_last = np.where(same, new, old), np.where(same, at_new, at_old)
        old, at_old = np.where(same, old, new), np.where(same, at_old, at_new)
        new, at_new = point, value
        found[rows] = np.where(np.abs(at_new) < np.abs(at_old), new, old)
        # damage rises about in proportion to the factor or faster: no more is left to the root than of the excess
        left = (np.abs(old - new) > 2.0 * TOLERANCE) & (np.abs(value) > TOLERANCE)
        if not left.any():
            return found
        rows, new, old, last = rows[left], new[left], old[left], last[left]
        at_new, at_old, at_last = at_new[left], at_old[left], at_last[left]
        step = _step((new, old, last), (at_new, at_old, at_last))
    raise NotConvergedError("the utilisation did not settle")


def _step(points: tuple[FloatArray, ...], values: tuple[FloatArray, ...]) -> FloatArray:
    """Share of the way from the newest point to the one across: interpolated where safe, else half."""
    (a, b, c), (fa, fb, fc) = points, values
    with np.errstate(divide="ignore", invalid="ignore"):
        part, rise = (a - b) / (c - b), (fa - fb) / (fc - fb)
        smooth = (rise**2 < part) & ((1.0 - rise) ** 2 < 1.0 - part)
        curved = fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb)
    return np.where(smooth & np.isfinite(curved), curved, 0.5)
