"""Integrals of s F_x F_y over the relative depth of an edge crack, tabled once and interpolated.

The variable of the table is -log(1 - alpha): in it the integrals grow smoothly up to the last ligament.
Tabled is I / alpha^2, which has a finite limit at alpha = 0; nodes by Gauss-Legendre quadrature, between
them the cubic that takes value and exact slope at both nodes.
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

import numpy as np

from fatcore.cracks.intensity.plate.edge_factors import bending, tension
from fatcore.require import FloatArray

_PER_UNIT = 400
_END = 14.0
_GAUSS = 12


class Integrals(NamedTuple):
    """Integrals from 0 to alpha of s F_t F_t, s F_t F_b and s F_b F_b."""

    tension: FloatArray
    coupling: FloatArray
    bending: FloatArray


def integrals(alpha: FloatArray, form: str) -> Integrals:
    """The three integrals for 0 <= alpha <= 1 - exp(-14); not finite from 1 on, no other guard."""
    place = -np.log1p(-np.asarray(alpha, dtype=np.float64)) * _PER_UNIT
    known = np.where(np.isfinite(place), place, 0.0)
    interval = np.minimum(known.astype(np.intp), int(_END * _PER_UNIT) - 1)
    u = place - interval
    cubic = _cubics(form)[:, :, interval]
    value = cubic[:, 0] + u * (cubic[:, 1] + u * (cubic[:, 2] + u * cubic[:, 3]))
    return Integrals(*(value * alpha * alpha))


@cache
def _cubics(form: str) -> FloatArray:
    """Coefficients of the cubics: integral, power, interval."""
    z = np.arange(int(_END * _PER_UNIT) + 1) / _PER_UNIT
    alpha = -np.expm1(-z)
    value, slope = _nodes(alpha, form)
    slope = slope * np.exp(-z) / _PER_UNIT
    slope[:, 0] = slope[:, 1:6] @ np.array([5.0, -10.0, 10.0, -5.0, 1.0])
    rise, start, end = np.diff(value, axis=1), slope[:, :-1], slope[:, 1:]
    return np.stack([value[:, :-1], start, 3.0 * rise - 2.0 * start - end, start + end - 2.0 * rise], axis=1)


def _nodes(alpha: FloatArray, form: str) -> tuple[FloatArray, FloatArray]:
    """I / alpha^2 and its derivative at the nodes."""
    nodes, weights = np.polynomial.legendre.leggauss(_GAUSS)
    half = 0.5 * np.diff(alpha)[:, None]
    s = alpha[:-1, None] + half * (1.0 + nodes)
    total = np.cumsum((s * _products(s, form) * weights * half).sum(axis=-1), axis=1)
    value = np.concatenate([0.5 * _products(np.zeros(1), form), total / alpha[1:] ** 2], axis=1)
    slope = np.empty_like(value)
    slope[:, 1:] = (_products(alpha[1:], form) - 2.0 * value[:, 1:]) / alpha[1:]
    slope[:, 0] = 0.0  # 0 / 0 there: the caller extrapolates
    return value, slope


def _products(alpha: FloatArray, form: str) -> FloatArray:
    pull, bend = tension(alpha, form), bending(alpha, form)
    return np.stack([pull * pull, pull * bend, bend * bend])
