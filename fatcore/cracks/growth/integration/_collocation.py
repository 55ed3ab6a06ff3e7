"""Gauss-Legendre collocation on a step: nodes, integration by coefficients, error of an integral."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.polynomial import legendre

from fatcore.require import FloatArray

NODES = 10
T: FloatArray = legendre.leggauss(NODES)[0]
TO_COEFFICIENTS: FloatArray = np.asarray(np.linalg.inv(legendre.legvander(T, NODES - 1)), dtype=np.float64)
# values at the nodes -> Legendre coefficients of the integral from -1, and its values at the nodes
INTEGRAL: FloatArray = legendre.legint(np.eye(NODES), lbnd=-1.0, axis=0) @ TO_COEFFICIENTS
AT_NODES: FloatArray = legendre.legvander(T, NODES) @ INTEGRAL
_MIDDLE = NODES // 2
_DENSE = 1e3  # between the nodes the tail may be larger than the tolerance by this factor


def basis_at(t: FloatArray) -> FloatArray:
    """Legendre polynomials at step coordinates, one row each; the few grids in use come again and again."""
    return _single(float(t[0])) if t.size == 1 else _grid(tuple(t.tolist()))


@lru_cache(maxsize=16)
def _grid(t: tuple[float, ...]) -> FloatArray:
    return np.asarray(legendre.legvander(np.array(t), NODES))


def _single(t: float) -> FloatArray:
    """By the recurrence in plain numbers: faster than arrays of one, as a search for a root needs it."""
    row = [1.0, t]
    for n in range(1, NODES):
        row.append(((2 * n + 1) * t * row[n] - n * row[n - 1]) / (n + 1))
    return np.array([row])


def series_at(coefficients: list[float], t: float) -> float:
    """Legendre series of three or more terms by Clenshaw's recurrence: faster than arrays of one."""
    last, before = coefficients[-1], coefficients[-2]
    for n in range(len(coefficients) - 1, 1, -1):
        last, before = before + last * t * (2 * n - 1) / n, coefficients[n - 2] - last * (n - 1) / n
    return before + last * t


def integral_error(values: FloatArray, scale: float) -> float:
    """Error of the integral over a step by the decay of the Legendre coefficients, times a scale.

    values : at the nodes. Geometric decay (a smooth function) is squared by the Gauss rule; at a kink the
    coefficients decay slowly and nothing is gained.
    """
    coefficients = np.abs(TO_COEFFICIENTS @ values)
    last = max(coefficients[-2], coefficients[-1])
    decay = min(1.0, last / max(coefficients[_MIDDLE - 1], coefficients[_MIDDLE], 1e-300))
    return float(scale * last * max(decay * decay, 1.0 / _DENSE))
