"""Bounds of a fitted line at stress ranges: of the line itself, of one future test, of most of all specimens."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from fatcore.curves.deviations import LARGEST_EXPONENT, exact_deviations
from fatcore.errors import InputError
from fatcore.require import FloatArray
from fatcore.trials.sn.factors import band_factor, depth_factor, student
from fatcore.trials.sn.fit import SnFit


class LineBounds(NamedTuple):
    """log10 of life at each range.

    median            : half have failed
    low, high         : confidence of the median at each range, both sides; band_low, band_high: of the line as a whole
    prediction        : one future test lies above with the survival probability
    tolerance         : the share of all specimens lies above, with the confidence
    """

    median: FloatArray
    low: FloatArray
    high: FloatArray
    band_low: FloatArray
    band_high: FloatArray
    prediction: FloatArray
    tolerance: FloatArray


class _Anchor(NamedTuple):
    """The life at each range whose estimate does not depend on that of the scatter.

    place    : standard deviations from the location; 0 of least squares
    life     : log10 of it; leverage: its variance over that of a test
    freedom  : degrees of freedom of the scatter
    """

    place: FloatArray
    life: FloatArray
    leverage: FloatArray
    freedom: float


def bounds_at(fit: SnFit, log10_range: FloatArray, survival_probability: float, confidence: float) -> LineBounds:
    """Bounds of a line by the noncentral t: exact for least squares.

    With run-outs or another distribution the leverage and the degrees of freedom are those of the curvature of the
    likelihood, taken at the life whose estimate does not depend on that of the scatter; then they are approximate.
    Source : [astm-e739-10], [tolerance-factor], [location-scale-likelihood]
    """
    anchor = _anchor(fit, log10_range)
    half, low = fit.quantile(0.5), fit.quantile(1.0 - survival_probability)

    def limit(quantile: float, sure: float, width: float = 0.0) -> FloatArray:
        factors = depth_factor(anchor.freedom, anchor.leverage, anchor.place - quantile, sure, width)
        return np.asarray(anchor.life - factors * fit.sd_log10_cycles)

    median = np.asarray(fit.location(log10_range) + half * fit.sd_log10_cycles)
    below, above = limit(half, 0.5 + 0.5 * confidence), limit(half, 0.5 - 0.5 * confidence)
    wider = 1.0 if fit.fixed_slope else _band_over_point(fit.degrees_of_freedom, confidence)
    # one test scatters as a normal one that has the same lower quantile
    away = exact_deviations(survival_probability)
    width = (half - low) / away if away > 0.0 else 1.0
    return LineBounds(
        median,
        below,
        above,
        median - wider * (median - below),
        median + wider * (above - median),
        limit(half, survival_probability, width),
        limit(low, confidence),
    )


def powers_of_ten(exponent: FloatArray, *path: str) -> FloatArray:
    """10**exponent; InputError naming the input where the figures leave what a double holds."""
    if not (np.abs(exponent) < LARGEST_EXPONENT).all():
        raise InputError("the bounds there leave the range of numbers: too few tests for so far away", *path)
    return np.asarray(10.0**exponent)


def _band_over_point(freedom: int, confidence: float) -> float:
    return band_factor(freedom, confidence) / student(freedom, confidence)


def _anchor(fit: SnFit, x: FloatArray) -> _Anchor:
    if fit.covariance is None:
        return _Anchor(np.zeros_like(x), fit.location(x), fit.leverage(x), fit.degrees_of_freedom)
    # in units of the scatter of greatest likelihood, whose logarithm the covariance is of
    line = np.stack([np.ones_like(x), *([] if fit.fixed_slope else [x - fit.mean_log10_range])], axis=-1)
    covariance, scatter = fit.covariance, fit.likelihood_scatter
    of_line = np.einsum("np,pq,nq->n", line, covariance[:-1, :-1], line) / scatter**2
    shared, of_scatter = line @ covariance[:-1, -1] / scatter, float(covariance[-1, -1])
    place = -shared / of_scatter
    return _Anchor(
        place,
        fit.location(x) + place * scatter,
        of_line - np.square(shared) / of_scatter,
        0.5 / of_scatter * fit.degrees_of_freedom / fit.failures,
    )
