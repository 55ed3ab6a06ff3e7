"""Bounds of a fitted line at stress ranges: of the line itself, of one future test, of most of all specimens."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from fatcore.require import FloatArray
from fatcore.trials.sn.factors import band_factor, prediction_factor, student, tolerance_factor
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


def bounds_at(fit: SnFit, log10_range: FloatArray, survival_probability: float, confidence: float) -> LineBounds:
    """Bounds of a line; exact for least squares, from the curvature of the likelihood with run-outs.

    Source : [astm-e739-10], [tolerance-factor], [location-scale-likelihood]
    """
    median = fit.location(log10_range) + fit.quantile(0.5) * fit.sd_log10_cycles
    error = _error(fit, log10_range, 0.5)
    both = student(fit.degrees_of_freedom, confidence) * error
    whole = error * (
        student(fit.degrees_of_freedom, confidence)
        if fit.fixed_slope
        else band_factor(fit.degrees_of_freedom, confidence)
    )
    low = (
        _exact(fit, log10_range, survival_probability, confidence)
        if fit.covariance is None
        else _approximate(fit, log10_range, survival_probability, confidence)
    )
    return LineBounds(median, median - both, median + both, median - whole, median + whole, *low)


def _exact(fit: SnFit, x: FloatArray, survival: float, confidence: float) -> tuple[FloatArray, FloatArray]:
    freedom, scatter = fit.degrees_of_freedom, fit.sd_log10_cycles
    leverages, places = np.unique(fit.leverage(x), return_inverse=True)
    ahead = np.array([prediction_factor(freedom, float(h), survival) for h in leverages])[places]
    most = np.array([tolerance_factor(freedom, float(h), survival, confidence) for h in leverages])[places]
    return fit.location(x) - ahead * scatter, fit.location(x) - most * scatter


def _approximate(fit: SnFit, x: FloatArray, survival: float, confidence: float) -> tuple[FloatArray, FloatArray]:
    quantile = fit.location(x) + fit.quantile(1.0 - survival) * fit.sd_log10_cycles
    one_sided = student(fit.degrees_of_freedom, 2.0 * confidence - 1.0)
    tolerance = quantile - one_sided * _error(fit, x, 1.0 - survival)
    ahead = np.square(student(fit.degrees_of_freedom, 2.0 * survival - 1.0)) * (
        fit.sd_log10_cycles**2 + np.square(_error(fit, x, 0.5))
    )
    predicted = fit.location(x) + fit.quantile(0.5) * fit.sd_log10_cycles - np.sqrt(ahead)
    return np.minimum(predicted, quantile), tolerance


def _error(fit: SnFit, x: FloatArray, share_failed: float) -> FloatArray:
    """Standard error of the life at which a share has failed."""
    if fit.covariance is None:
        return fit.sd_log10_cycles * np.sqrt(fit.leverage(x))
    step = fit.quantile(share_failed) * fit.likelihood_scatter
    columns = [np.ones_like(x), *([] if fit.fixed_slope else [x - fit.mean_log10_range]), np.full_like(x, step)]
    weights = np.stack(columns, axis=-1)
    variance = np.einsum("np,pq,nq->n", weights, fit.covariance, weights)
    return np.asarray(np.sqrt(variance) * math.sqrt(fit.failures / fit.degrees_of_freedom))
