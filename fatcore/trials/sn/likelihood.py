"""Lines by maximum likelihood where tests were stopped without failure, for many samples at once.

A line y = X b with scatter s has z = (y - X b)/s. In the variables g = b/s and t = 1/s the logarithm of the
likelihood is concave for both distributions here, so that Newton's steps lead to the only maximum there is.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import log_ndtr

from fatcore.errors import InputError
from fatcore.require import FloatArray

Distribution = Literal["normal", "smallest-extreme-value"]
_STEPS, _HALVINGS, _TOLERANCE = 60, 30, 1e-10
_LEAST_SCATTER = 1e-6  # of log10 life: tests that lie on a line as exactly as this have no scatter to be found
_HALF_LOG_TWO_PI = 0.5 * np.log(2.0 * np.pi)


class _Terms(NamedTuple):
    """Logarithm of the likelihood of each test but for the scale, and its derivatives by z."""

    value: FloatArray
    first: FloatArray
    second: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class Likelihood:
    """The maximum of each sample.

    location    : coefficients of the line (b, p); scale: its scatter (b,)
    value       : logarithm of the likelihood of y, natural (b,)
    covariance  : of location and logarithm of the scale, from the curvature at the maximum (b, p+1, p+1)
    """

    location: FloatArray
    scale: FloatArray
    value: FloatArray
    covariance: FloatArray


def maximum_likelihood(
    y: FloatArray, design: FloatArray, failed: NDArray[np.bool_], distribution: Distribution
) -> Likelihood:
    """The line of greatest likelihood through samples of which some were stopped.

    y, failed : logarithms of lives and which are failures, (b, n); design: columns of the line (n, p) or (b, n, p)
    Raises    : InputError where no maximum exists: no scatter, or failures that do not settle the line
    Source    : [location-scale-likelihood]
    """
    columns = np.broadcast_to(design, (*y.shape, design.shape[-1]))
    middle = _mean(y, failed)
    centred = y - middle[:, np.newaxis]  # the line holds a constant, which takes the shift
    factors = np.concatenate([-columns, centred[..., np.newaxis]], axis=-1)
    theta = _start(centred, columns)
    value = _value(theta, factors, failed, distribution)
    for _ in range(_STEPS):
        gradient, curvature = _derivatives(theta, factors, failed, distribution)
        step = _solve(-curvature, gradient)
        gain = np.einsum("bp,bp->b", gradient, step)
        if (gain < _TOLERANCE).all():
            # a last step squares what is left, so that machines agree
            theta = theta + step
            break
        theta, value = _climb(theta, value, step, factors, failed, distribution)
    else:
        raise InputError(_UNSETTLED, "life_cycles")
    value = _value(theta, factors, failed, distribution)
    _, curvature = _derivatives(theta, factors, failed, distribution)
    return _of_maximum(theta, value, curvature, middle)


_UNSETTLED = "the failures do not settle a line: they need two stress ranges and scatter, or a fixed slope"


def _mean(y: FloatArray, failed: NDArray[np.bool_]) -> FloatArray:
    return np.asarray(np.where(failed, y, 0.0).sum(axis=1) / np.maximum(failed.sum(axis=1), 1))


def _start(y: FloatArray, columns: FloatArray) -> FloatArray:
    """Flat line at the mean of the failures, with the scatter of all tests about it."""
    spread = np.sqrt(np.maximum(np.square(y).mean(axis=1), _LEAST_SCATTER**2))
    return np.concatenate([np.zeros((len(y), columns.shape[-1])), 1.0 / spread[:, np.newaxis]], axis=1)


def _terms(z: FloatArray, failed: NDArray[np.bool_], distribution: Distribution) -> _Terms:
    if distribution == "normal":
        survival = log_ndtr(-z)
        hazard = np.exp(-0.5 * z * z - _HALF_LOG_TWO_PI - survival)
        value = np.where(failed, -0.5 * z * z - _HALF_LOG_TWO_PI, survival)
        return _Terms(value, np.where(failed, -z, -hazard), np.where(failed, -1.0, hazard * (z - hazard)))
    grown = np.exp(np.minimum(z, 500.0))
    return _Terms(np.where(failed, z - grown, -grown), np.where(failed, 1.0 - grown, -grown), -grown)


def _value(theta: FloatArray, factors: FloatArray, failed: NDArray[np.bool_], distribution: Distribution) -> FloatArray:
    z = np.einsum("bnp,bp->bn", factors, theta)
    scale = theta[:, -1]
    found = _terms(z, failed, distribution).value.sum(axis=1) + failed.sum(axis=1) * np.log(np.maximum(scale, 1e-300))
    return np.where(scale > 0.0, found, -np.inf)


def _derivatives(
    theta: FloatArray, factors: FloatArray, failed: NDArray[np.bool_], distribution: Distribution
) -> tuple[FloatArray, FloatArray]:
    terms = _terms(np.einsum("bnp,bp->bn", factors, theta), failed, distribution)
    gradient = np.einsum("bn,bnp->bp", terms.first, factors)
    curvature = np.einsum("bn,bnp,bnq->bpq", terms.second, factors, factors)
    count, scale = failed.sum(axis=1), theta[:, -1]
    gradient[:, -1] += count / scale
    curvature[:, -1, -1] -= count / np.square(scale)
    return gradient, curvature


def _solve(matrix: FloatArray, right: FloatArray) -> FloatArray:
    try:
        return np.asarray(np.linalg.solve(matrix, right[..., np.newaxis])[..., 0])
    except np.linalg.LinAlgError as error:
        raise InputError(_UNSETTLED, "life_cycles") from error


def _climb(
    theta: FloatArray,
    value: FloatArray,
    step: FloatArray,
    factors: FloatArray,
    failed: NDArray[np.bool_],
    distribution: Distribution,
) -> tuple[FloatArray, FloatArray]:
    """Newton's step, halved where it would lower the likelihood."""
    share = np.ones(len(theta))
    for _ in range(_HALVINGS):
        ahead = theta + share[:, np.newaxis] * step
        reached = _value(ahead, factors, failed, distribution)
        lower = ~(reached >= value - 1e-12 * np.abs(value))
        if not lower.any():
            return ahead, reached
        share = np.where(lower, 0.5 * share, share)
    raise InputError(_UNSETTLED, "life_cycles")


def _of_maximum(theta: FloatArray, value: FloatArray, curvature: FloatArray, middle: FloatArray) -> Likelihood:
    scale = 1.0 / theta[:, -1]
    if (scale < _LEAST_SCATTER).any():
        raise InputError("the tests lie on one line without scatter: nothing can be said of the scatter", "life_cycles")
    location = theta[:, :-1] * scale[:, np.newaxis]
    # location and log scale by the variables of the search
    size = theta.shape[1]
    turn = np.zeros((len(theta), size, size))
    turn[:, range(size - 1), range(size - 1)] = scale[:, np.newaxis]
    turn[:, :-1, -1] = -location * scale[:, np.newaxis]
    turn[:, -1, -1] = -scale
    inverse = np.linalg.inv(-curvature)
    covariance = turn @ inverse @ np.swapaxes(turn, 1, 2)
    location = location.copy()
    location[:, 0] += middle
    return Likelihood(location, scale, value, covariance)
