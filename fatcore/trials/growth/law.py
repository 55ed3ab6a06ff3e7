"""Laws through growth rates: one straight line, two that meet, and the threshold."""

from __future__ import annotations

import math
from typing import Annotated, NamedTuple

import numpy as np
from annotated_types import Ge, Lt
from scipy.special import fdtrc

from fatcore.errors import InputError
from fatcore.require import FloatArray
from fatcore.trials.sn.factors import student

LEAST_POINTS = 3
_THRESHOLD_RATE, _DECADE = 1e-7, 10.0  # [mm/cycle] and the decade above it, whose rates are used [astm-e647]
_THRESHOLD_POINTS = 5
_KNEES = 200  # ranges tried as the knee
Confidence = Annotated[float, Ge(0.5), Lt(1.0)]


class LineThroughRates(NamedTuple):
    """log10 rate = log10_coefficient + exponent log10 range, in mm/cycle and MPa*sqrt(mm).

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
    if np.ptp(x) < 1e-6:
        raise InputError("the range of stress intensity does not change: no law follows from one range", "size_mm")
    exponent = float((x - middle) @ (y - y.mean())) / spread
    if exponent <= 0.0:
        raise InputError("the rates do not rise with the range of stress intensity: no law of growth", "size_mm")
    scatter = math.sqrt(float(np.square(y - y.mean() - exponent * (x - middle)).sum()) / (len(x) - 2))
    reach = student(max(len(x) // overlap - 2, 1), confidence) * scatter * math.sqrt(overlap)
    centre = float(y.mean())
    return LineThroughRates(
        coefficient=10.0 ** (centre - exponent * middle),
        exponent=exponent,
        exponent_low=exponent - reach / math.sqrt(spread),
        exponent_high=exponent + reach / math.sqrt(spread),
        sd_log10_rate=scatter,
        rates_used=len(x),
        pivot_mpa_sqrt_mm=10.0**middle,
        pivot_rate=10.0**centre,
        pivot_low=10.0 ** (centre - reach / math.sqrt(len(x))),
        pivot_high=10.0 ** (centre + reach / math.sqrt(len(x))),
    )


def two_lines(delta_k: FloatArray, rate: FloatArray, overlap: int = 1) -> TwoLines | None:
    """Two lines that meet, at the knee of least squares; None for fewer than eight rates, or
    where one of them would fall.

    overlap : as in `line_through`
    """
    x, y = np.log10(delta_k), np.log10(rate)
    if len(x) < 8:
        return None
    ordered = np.sort(x)
    knees = np.linspace(ordered[2], ordered[-3], _KNEES)
    columns = np.stack(
        [np.ones((_KNEES, len(x))), np.broadcast_to(x, (_KNEES, len(x))), np.maximum(x - knees[:, None], 0)], -1
    )
    normal = np.einsum("kip,kiq->kpq", columns, columns)
    usable = np.linalg.cond(normal) < 1e12
    if not usable.any():
        return None
    b = np.linalg.solve(normal[usable], np.einsum("kip,i->kp", columns[usable], y)[..., None])[..., 0]
    squares = np.square(y - np.einsum("kip,kp->ki", columns[usable], b)).sum(axis=1)
    best = int(np.argmin(squares))
    (first, low, more), knee = b[best], float(knees[usable][best])
    high = low + more
    if low <= 0.0 or high <= 0.0:
        return None
    one = float(np.square(y - np.polyval(np.polyfit(x, y, 1), x)).sum())
    free = len(x) - 4
    least = max(float(squares[best]), 1e-300)
    gain = max((one - least) / 2.0 / (least / free), 0.0)
    return TwoLines(
        stage_coefficients=(float(10.0**first), float(10.0 ** (first - more * knee))),
        stage_exponents=(float(low), float(high)),
        knee_mpa_sqrt_mm=float(10.0**knee),
        sd_log10_rate=math.sqrt(least / free),
        chance=float(fdtrc(2, max(len(x) // overlap - 4, 1), gain * max(len(x) // overlap - 4, 1) / free)),
    )


def threshold_of(delta_k: FloatArray, rate: FloatArray) -> float:
    """The range at 1e-7 mm/cycle, by a line of log range on log rate through the rates of the decade above it.

    Raises :  InputError for fewer than five rates there
    Source : [astm-e647]
    """
    used = (rate >= _THRESHOLD_RATE) & (rate <= _DECADE * _THRESHOLD_RATE)
    if int(used.sum()) < _THRESHOLD_POINTS:
        raise InputError(
            f"{int(used.sum())} rate(s) between 1e-7 and 1e-6 mm/cycle: a threshold needs {_THRESHOLD_POINTS}",
            "size_mm",
        )
    x, y = np.log10(rate[used]), np.log10(delta_k[used])
    slope, constant = np.polyfit(x, y, 1)
    return float(10.0 ** (constant + slope * math.log10(_THRESHOLD_RATE)))
