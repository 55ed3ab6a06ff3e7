"""Expected damage of Weibull distributed ranges on curves of any number of slopes, closed form.

Shape 2 is the Rayleigh distribution of a narrow-band process, shape_exponent 1 the exponential one.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from fatcore import require
from fatcore.curves.curve import Curve
from fatcore.require import FloatArray


def segment_moment(
    slope: ArrayLike, scale_mpa: ArrayLike, shape_exponent: ArrayLike, low_mpa: ArrayLike, high_mpa: ArrayLike
) -> FloatArray:
    """Part of the mean of range**slope that comes from the ranges between two limits [MPa**slope].

    slope     : power [-]; scale_mpa, shape_exponent: of P(range > s) = exp(-(s/scale)**shape_exponent)
    low_mpa   : lower limit [MPa], 0 takes all; high_mpa: upper limit [MPa], inf takes all
    Returns   : scale**m * Gamma(1 + m/h) * (share of the incomplete gamma function between the limits)
    Raises    : InputError when slope, scale or shape are not positive
    Source    : [weibull-range-distribution]
    """
    with np.errstate(over="ignore", under="ignore"):
        return np.asarray(np.exp(_log_moment(slope, scale_mpa, shape_exponent, low_mpa, high_mpa)))


def _log_moment(
    slope: ArrayLike, scale_mpa: ArrayLike, shape_exponent: ArrayLike, low_mpa: ArrayLike, high_mpa: ArrayLike
) -> FloatArray:
    """Logarithm of `segment_moment`: large factors meet before they overflow; -inf where it is 0."""
    m = require.positive("slope", slope)
    q = require.positive("scale_mpa", scale_mpa)
    h = require.positive("shape_exponent", shape_exponent)
    order = 1.0 + m / h
    with np.errstate(over="ignore", under="ignore", divide="ignore"):
        start, end = (np.asarray(low_mpa) / q) ** h, (np.asarray(high_mpa) / q) ** h
        upper = special.gammaincc(order, start) - special.gammaincc(order, end)
        lower = special.gammainc(order, end) - special.gammainc(order, start)
        share = np.where(start > order, upper, lower)  # the smaller numbers keep their digits
        return np.asarray(m * np.log(q) + special.gammaln(order) + np.log(np.maximum(share, 0.0)))


def expected_damage(curve: Curve, scale_mpa: ArrayLike, shape_exponent: ArrayLike) -> FloatArray:
    """Mean damage of one cycle whose range follows a Weibull distribution [-]; inf beyond all numbers.

    curve     : any number of slopes, with or without a cut-off
    scale_mpa : scale of the distribution [MPa]; shape_exponent: its shape [-]; arrays broadcast
    Raises    : InputError when scale or shape are not positive
    Source    : [weibull-range-distribution]
    """
    with np.errstate(over="ignore", under="ignore"):
        return np.asarray(np.exp(log_expected_damage(curve, scale_mpa, shape_exponent)))


def share_beyond(curve: Curve, scale_mpa: float, shape_exponent: float, range_mpa: float) -> float:
    """Share of the expected damage that ranges above one do [-]; the curve must give some damage.

    Arguments and errors as in `expected_damage`; range_mpa: [MPa], >= 0
    Source : [weibull-range-distribution]
    """
    whole = log_expected_damage(curve, scale_mpa, shape_exponent)
    above = log_expected_damage(curve, scale_mpa, shape_exponent, low_mpa=range_mpa)
    return float(np.exp(np.minimum(above - whole, 0.0)))


def log_expected_damage(
    curve: Curve, scale_mpa: ArrayLike, shape_exponent: ArrayLike, *, low_mpa: float = 0.0
) -> FloatArray:
    """Natural logarithm of `expected_damage`, finite where that leaves the numbers; -inf for none.

    low_mpa   : only ranges above it count [MPa], 0 takes all; else arguments and errors as in
                `expected_damage`, and NotCoveredError on an energy curve
    Source    : [weibull-range-distribution]
    """
    curve.guard_quantity("stress range")
    ends = np.maximum((np.inf, *curve.knees_mpa, curve.cut_off_mpa or 0.0), low_mpa)
    parts = [
        _log_moment(slope, scale_mpa, shape_exponent, low, high) - constant * math.log(10.0)
        for slope, constant, (high, low) in zip(curve.slopes, curve.log10_constants, pairwise(ends), strict=True)
    ]
    return np.asarray(special.logsumexp(np.stack(parts), axis=0))
