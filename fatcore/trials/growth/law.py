"""Laws through growth rates: one straight line, two that meet, and the threshold."""

from __future__ import annotations

import math
from typing import Annotated, NamedTuple

import numpy as np
from annotated_types import Ge, Lt
from scipy.special import fdtrc

from fatcore.curves.deviations import LARGEST_EXPONENT
from fatcore.errors import InputError
from fatcore.figures import figure
from fatcore.require import FloatArray
from fatcore.trials.sn.factors import student

LEAST_POINTS = 3
THRESHOLD_RATE, _DECADE = 1e-7, 10.0  # [mm/cycle] and the decade above it, whose rates are used [astm-e647]
REACHED = 2.0  # times that rate, to which the lowest one must come down [own choice]
UPPER = 2.0  # standard deviations at which an upper law would lie, were all of them known
_LARGEST_COEFFICIENT = 30.0  # of log10
_LARGEST_EXPONENT = 100.0  # of a law that a growth calculation takes
_ROUNDING = 1e-20  # of the variance, below which rates lie on a line but for rounding
_THRESHOLD_POINTS = 5
_KNEES = 202  # ranges tried as the knee, of which the ends leave a line no points of its own
_TWO_LINES_POINTS = 8
_SAME = 1e-6  # of log10: ranges that differ less are one
Confidence = Annotated[float, Ge(0.5), Lt(1.0)]


class LineThroughRates(NamedTuple):
    """Rate = coefficient range^exponent, in mm/cycle and MPa√mm.

    pivot_mpa_sqrt_mm : range at which coefficient and exponent do not depend on each other
    pivot_low, pivot_high : limits of the rate there; exponent_low, exponent_high: of the exponent
    """

    coefficient: float
    exponent: float
    exponent_low: float
    exponent_high: float
    sd_log10_rate: float
    rates_used: int
    pivot_mpa_sqrt_mm: float
    pivot_rate: float
    pivot_low: float
    pivot_high: float


class TwoLines(NamedTuple):
    """Two straight lines that meet at a range, and the scatter about them."""

    stage_coefficients: tuple[float, float]
    stage_exponents: tuple[float, float]
    knee_mpa_sqrt_mm: float
    sd_log10_rate: float
    chance: float


def line_through(delta_k: FloatArray, rate: FloatArray, confidence: float, overlap: int = 1) -> LineThroughRates:
    """The straight line of least squares of log rate on log range.

    overlap : rates that share readings, so that limits count only every so many of them [own choice]
    Raises : InputError for fewer than three rates, ranges that do not differ, rates that do not rise
    Source : [astm-e739-10]
    """
    if len(rate) < LEAST_POINTS:
        raise InputError(f"{len(rate)} usable rate(s): a law needs {LEAST_POINTS}", "size_mm")
    x, y = np.log10(delta_k), np.log10(rate)
    middle = float(x.mean())
    spread = float(np.square(x - middle).sum())
    if np.ptp(x) < _SAME:
        raise InputError("the range of stress intensity does not change: no law follows from one range", "size_mm")
    exponent = float((x - middle) @ (y - y.mean())) / spread
    if exponent <= 0.0:
        raise InputError("the rates do not rise with the range of stress intensity: no law of growth", "size_mm")
    if exponent > _LARGEST_EXPONENT:
        raise InputError(f"an exponent of {figure(exponent)}: the range of stress intensity hardly changes", "size_mm")
    scatter = math.sqrt(float(np.square(y - y.mean() - exponent * (x - middle)).sum()) / (len(x) - 2))
    reach = student(max(len(x) // overlap - 2, 1), confidence) * scatter * math.sqrt(overlap)
    centre = float(y.mean())
    return LineThroughRates(
        coefficient=coefficient_of(centre - exponent * middle),
        exponent=exponent,
        exponent_low=exponent - reach / math.sqrt(spread),
        exponent_high=exponent + reach / math.sqrt(spread),
        sd_log10_rate=scatter,
        rates_used=len(x),
        pivot_mpa_sqrt_mm=10.0**middle,
        pivot_rate=10.0**centre,
        pivot_low=coefficient_of(centre - reach / math.sqrt(len(x))),
        pivot_high=coefficient_of(centre + reach / math.sqrt(len(x))),
    )


def coefficient_of(exponent: float) -> float:
    """10**exponent; InputError where no growth calculation takes it as a coefficient."""
    if not -LARGEST_EXPONENT < exponent < _LARGEST_COEFFICIENT:
        raise InputError(f"a coefficient of 1e{figure(exponent)}: no growth calculation takes it; units?", "size_mm")
    return float(10.0**exponent)


def two_lines(delta_k: FloatArray, rate: FloatArray, overlap: int = 1) -> TwoLines | None:
    """Two lines that meet, at the knee of least squares; None for fewer than eight rates, or
    where one of them would fall.

    overlap : as in `line_through`
    """
    x, y = np.log10(delta_k), np.log10(rate)
    if len(x) < _TWO_LINES_POINTS:
        return None
    ordered = np.sort(x)
    if ordered[-3] - ordered[2] < _SAME:
        return None
    knees = np.linspace(ordered[2], ordered[-3], _KNEES)[1:-1]
    b, squares = _broken_lines(x, y, knees)
    best = int(np.argmin(squares))
    (first, low, more), knee = b[best], float(knees[best])
    high = low + more
    if min(low, high) <= 0.0 or max(low, high) > _LARGEST_EXPONENT:
        return None
    one = float(np.square(y - np.polyval(np.polyfit(x, y, 1), x)).sum())
    if one <= _ROUNDING * float(np.square(y - y.mean()).sum()):
        return None
    columns = np.stack([np.ones_like(x), x, np.maximum(x - knee, 0.0)], axis=-1)
    least = float(np.square(y - columns @ b[best]).sum())
    free, counted = len(x) - 4, max(len(x) // overlap - 4, 1)
    gain = max(one - least, 0.0) / 2.0 / max(least, _ROUNDING * one)
    return TwoLines(
        stage_coefficients=(coefficient_of(float(first)), coefficient_of(float(first - more * knee))),
        stage_exponents=(float(low), float(high)),
        knee_mpa_sqrt_mm=float(10.0**knee),
        sd_log10_rate=math.sqrt(least / free),
        chance=float(fdtrc(2, counted, gain * counted)),
    )


def _broken_lines(x: FloatArray, y: FloatArray, knees: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Least squares of 1, x and max(x - knee, 0) for every knee, and the squares that are left.

    Sums over the points above each knee are differences of running sums, so that long tests stay quick.
    """
    order, middle = np.argsort(x), float(x.mean())
    at, level = x[order] - middle, y[order] - float(y.mean())
    above = np.searchsorted(at, knees - middle, side="right")

    def over(values: FloatArray) -> FloatArray:
        return np.asarray(np.concatenate([np.cumsum(values[::-1])[::-1], [0.0]])[above])

    knee = knees - middle
    count, one, two = over(np.ones_like(at)), over(at), over(at * at)
    hinge, hinge_x = one - knee * count, two - knee * one
    hinge_hinge, hinge_y = two - 2.0 * knee * one + knee * knee * count, over(at * level) - knee * over(level)
    size, all_two, all_y = np.full_like(knee, len(at)), np.full_like(knee, at @ at), np.full_like(knee, at @ level)
    none = np.zeros_like(knee)
    normal = np.stack([size, none, hinge, none, all_two, hinge_x, hinge, hinge_x, hinge_hinge], -1).reshape(-1, 3, 3)
    right = np.stack([none, all_y, hinge_y], axis=-1)
    b = np.linalg.solve(normal, right[..., np.newaxis])[..., 0]
    squares = float(level @ level) - np.einsum("kp,kp->k", b, right)
    b[:, 0] += float(y.mean()) - b[:, 1] * middle
    return np.asarray(b), np.asarray(squares)


def threshold_of(delta_k: FloatArray, rate: FloatArray) -> float:
    """The range at 1e-7 mm/cycle, by a line of log range on log rate through the rates of the decade above it.

    Raises : InputError for fewer than five rates there, rates that do not fall with the range
    Source : [astm-e647]
    """
    used = (rate >= THRESHOLD_RATE) & (rate <= _DECADE * THRESHOLD_RATE)
    if int(used.sum()) < _THRESHOLD_POINTS:
        raise InputError(
            f"{int(used.sum())} rate(s) between 1e-7 and 1e-6 mm/cycle: a threshold needs {_THRESHOLD_POINTS}",
            "size_mm",
        )
    x, y = np.log10(rate[used]), np.log10(delta_k[used])
    if np.ptp(x) < _SAME:
        raise InputError("the rates do not fall with the range: no threshold follows from one rate", "size_mm")
    slope, constant = np.polyfit(x, y, 1)
    if slope <= 0.0:
        raise InputError("the rates do not fall with the range of stress intensity: no threshold", "size_mm")
    return float(10.0 ** (constant + slope * math.log10(THRESHOLD_RATE)))
