"""Quantiles of lives with their bounds, and rank correlations; inf is an infinite life."""

from __future__ import annotations

import numpy as np
from scipy.special import ndtri

from fatcore.require import FloatArray


def quantile_at(ordered: FloatArray, q: float) -> float | None:
    """Quantile by linear interpolation between order statistics; None beyond the finite lives."""
    position = q * (ordered.size - 1)
    low, high = ordered[int(np.floor(position))], ordered[int(np.ceil(position))]
    if not np.isfinite(high):
        return None
    return float(low + (high - low) * (position - np.floor(position)))


def quantile_bounds(ordered: FloatArray, q: float) -> tuple[float | None, float | None]:
    """Order statistics that enclose the quantile with 95 % confidence (normal form of the binomial count)."""
    spread = float(ndtri(0.975)) * np.sqrt(q * (1.0 - q) / ordered.size)
    return quantile_at(ordered, max(q - spread, 0.0)), quantile_at(ordered, min(q + spread, 1.0))


def convergence(ordered: FloatArray) -> float | None:
    low, high = quantile_bounds(ordered, 0.5)
    middle = quantile_at(ordered, 0.5)
    return None if low is None or high is None or not middle else (high - low) / (2.0 * middle)


def rank_correlation(column: FloatArray, found: FloatArray) -> float:
    """Correlation of ranks; infinite lives share the highest rank. 0 for a variable that does not vary."""
    first, second = _ranks(column), _ranks(found)
    first, second = first - first.mean(), second - second.mean()
    norm = np.sqrt((first @ first) * (second @ second))
    return float(first @ second / norm) if norm > 0.0 else 0.0


def _ranks(values: FloatArray) -> FloatArray:
    """Ranks with the mean rank for equal values."""
    _, inverse, counts = np.unique(values, return_inverse=True, return_counts=True)
    last = np.cumsum(counts)
    return np.asarray((last - 0.5 * (counts - 1))[inverse])
