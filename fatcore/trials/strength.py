"""Mean and scatter of a strength by the likelihood of failures and survivals at levels, and its lower limit."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import log_ndtr

from fatcore.curves.deviations import exact_deviations
from fatcore.require import FloatArray
from fatcore.trials.sn.factors import depth_factor

_FLAT = 1e-9  # of the rise of failures over the levels, below which they do not rise
_STEPS, _SETTLED = 100, 1e-12
# over the number of tests, by which the depth grows: the scatter of greatest likelihood is too small in a staircase. By
# simulation of 12 to 100 tests with steps from a third of a deviation to one, where the limit then holds as often as it
# says within 2 points of 100, and more often with larger steps [own choice]
_WIDER = 10.0
_DEEPEST = 1e6  # deviations below the mean, beyond which the tests say nothing of the limit
_HALF_LOG_TWO_PI = 0.5 * math.log(2.0 * math.pi)


class LikelyStrength(NamedTuple):
    """Mean and deviation of greatest likelihood [MPa]."""

    mean: float
    sd: float


def likely_strength(level: FloatArray, failed: NDArray[np.bool_]) -> LikelyStrength | None:
    """Mean and deviation of greatest likelihood; None where failures and survivals do not overlap.

    Source : [location-scale-likelihood]
    """
    if level[failed].min() >= level[~failed].max():
        return None
    middle, scale = float(level.mean()), float(np.ptp(level))
    x = np.column_stack([np.ones_like(level), (level - middle) / scale])
    sign = np.where(failed, 1.0, -1.0)
    theta, value = np.zeros(2), float(log_ndtr(np.zeros(len(x))).sum())
    for _ in range(_STEPS):
        z = sign * (x @ theta)
        ratio = np.exp(-0.5 * z * z - _HALF_LOG_TWO_PI - log_ndtr(z))
        gradient = x.T @ (sign * ratio)
        curvature = (x * (ratio * (z + ratio))[:, np.newaxis]).T @ x
        step = np.linalg.solve(curvature, gradient)
        # the logarithm of the likelihood is concave, so that shorter steps rise to its only maximum
        while float(log_ndtr(sign * (x @ (theta + step))).sum()) < value - _SETTLED * abs(value):
            step = 0.5 * step
        theta = theta + step
        value = float(log_ndtr(sign * (x @ theta)).sum())
        if float(np.abs(step).max()) < _SETTLED * (1.0 + float(np.abs(theta).max())):
            break
    if theta[1] <= _FLAT:
        return None
    return LikelyStrength(middle - scale * float(theta[0] / theta[1]), scale / float(theta[1]))


def likely_limit(
    level: FloatArray, strength: LikelyStrength, survival_probability: float, confidence: float
) -> float | None:
    """Lower limit by the noncentral t, with leverage and degrees of freedom of the information in the tests.

    The depth is (1 + 10/tests) times that of the information. Taken at the strength whose estimate does not depend
    on that of the scatter, as for lines with run-outs; None where the tests say nothing of the scatter.
    Source : [location-scale-likelihood], [tolerance-factor]
    """
    z = (level - strength.mean) / strength.sd
    weight = np.exp(-z * z - 2.0 * _HALF_LOG_TWO_PI - log_ndtr(z) - log_ndtr(-z))
    by = np.column_stack([np.ones_like(z), z])
    (of_mean, shared), (_, of_scatter) = np.linalg.inv((by * weight[:, np.newaxis]).T @ by)
    place = -shared / of_scatter
    leverage = np.asarray(of_mean - shared * shared / of_scatter)
    depth = place + exact_deviations(survival_probability)
    factor = float(depth_factor(0.5 / of_scatter, leverage, depth, confidence))
    if not abs(factor) < _DEEPEST:
        return None
    return float(strength.mean + (place - factor) * strength.sd * (1.0 + _WIDER / len(level)))
