"""Spectral density of a stationary random stress: moments, bandwidth, crossing rates."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from fatcore import require
from fatcore.bounds import NonNegativeColumn, guarded
from fatcore.errors import InputError
from fatcore.outcome import Outcome
from fatcore.require import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Bandwidth(Outcome):
    """Measures of a one-sided spectral density.

    moments                 : of order 0, 1, 2 and 4 [MPa^2 * Hz^k]
    rms_mpa                 : standard deviation of the stress [MPa]
    crossing_rate_per_s     : upward crossings of the mean [1/s]; peak_rate_per_s: peaks [1/s]
    irregularity_first      : lambda_1 / sqrt(lambda_0 lambda_2) [-]
    irregularity            : crossings over peaks, lambda_2 / sqrt(lambda_0 lambda_4) [-], 1: narrow band
    spectral_width          : sqrt(1 - irregularity^2) [-], 0: narrow band
    """

    moments: tuple[float, float, float, float]
    rms_mpa: float
    crossing_rate_per_s: float
    peak_rate_per_s: float
    irregularity_first: float
    irregularity: float
    spectral_width: float


@guarded
def spectral_moment(frequency_hz: NonNegativeColumn, density_mpa2_per_hz: NonNegativeColumn, order: float) -> float:
    """Moment of a one-sided spectral density that is linear between its points, exact up to order 4.

    frequency_hz : rising, at least two; nothing lies outside them
    Returns      : integral of f^order * G [MPa^2 * Hz^order]
    Raises       : InputError for unequal lengths, unordered frequencies
    Source       : [random-vibration-moments]
    """
    return _moment(*_columns(frequency_hz, density_mpa2_per_hz), order)


def _moment(frequency: FloatArray, density: FloatArray, order: float) -> float:
    nodes, weights = np.polynomial.legendre.leggauss(3)
    half = 0.5 * np.diff(frequency)[:, None]
    middle = 0.5 * (frequency[1:] + frequency[:-1])[:, None]
    share = 0.5 * (1.0 + nodes)
    level = density[:-1, None] * (1.0 - share) + density[1:, None] * share
    return float((half * weights * level * (middle + half * nodes) ** order).sum())


@guarded
def bandwidth(frequency_hz: NonNegativeColumn, density_mpa2_per_hz: NonNegativeColumn) -> Bandwidth:
    """Moments, bandwidth measures and rates of a one-sided spectral density.

    Raises : as `spectral_moment`, and InputError when the density is zero everywhere
    Source : [random-vibration-moments]
    """
    columns = _columns(frequency_hz, density_mpa2_per_hz)
    m0, m1, m2, m4 = (_moment(*columns, order) for order in (0, 1, 2, 4))
    if not (m0 > 0.0 and m2 > 0.0 and np.isfinite(m4) and m4 > 0.0):
        raise InputError("density_mpa2_per_hz must not be zero everywhere", "density_mpa2_per_hz")
    irregularity = min(m2 / (np.sqrt(m0) * np.sqrt(m4)), 1.0)
    return Bandwidth(
        moments=(m0, m1, m2, m4),
        rms_mpa=float(np.sqrt(m0)),
        crossing_rate_per_s=float(np.sqrt(m2 / m0)),
        peak_rate_per_s=float(np.sqrt(m4 / m2)),
        irregularity_first=float(min(m1 / (np.sqrt(m0) * np.sqrt(m2)), 1.0)),
        irregularity=float(irregularity),
        spectral_width=float(np.sqrt(1.0 - irregularity**2)),
        sources=("random-vibration-moments",),
    )


def crossing_rate(measures: Bandwidth, level_mpa: ArrayLike) -> FloatArray:
    """Expected upward crossings of levels, measured from the mean, by a Gaussian stress [1/s].

    level_mpa : levels above or below the mean [MPa]
    Source    : [random-vibration-moments]
    """
    level = require.finite("level_mpa", level_mpa)
    with np.errstate(over="ignore", under="ignore"):
        return np.asarray(measures.crossing_rate_per_s * np.exp(-0.5 * (level / measures.rms_mpa) ** 2))


def _columns(frequency_hz: ArrayLike, density_mpa2_per_hz: ArrayLike) -> tuple[FloatArray, FloatArray]:
    if require.one_length(frequency_hz=frequency_hz, density_mpa2_per_hz=density_mpa2_per_hz) < 2:
        raise InputError("a density needs at least two frequencies", "frequency_hz")
    frequency = np.asarray(frequency_hz, dtype=np.float64)
    if (np.diff(frequency) <= 0.0).any():
        raise InputError("frequency_hz must rise from entry to entry", "frequency_hz")
    return frequency, np.asarray(density_mpa2_per_hz, dtype=np.float64)
