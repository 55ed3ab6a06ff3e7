"""Referee for edge cracks: boundary collocation of a strip whose crack faces are met by construction.

Stresses follow from two analytic functions, Phi = P(z) / sqrt(z) + Q(z) and Omega = P(z) / sqrt(z) - Q(z),
with the tip at z = 0 and the crack along negative z; real polynomials P and Q leave the crack free. Added is
Phi = Omega = R(z) / 2, which puts the polynomial stress R on the whole line of the crack. The tractions of
the other sides are brought to zero by least squares; the polynomials are orthogonalised on the boundary, so
that high degrees stay well conditioned. The stress intensity is 2 P(0) sqrt(2 pi).
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]

POINTS, DEGREE, HEIGHT = 250, 90, 1.5


def edge_factor(alpha: float, *coefficients: float) -> float:
    """F = K / sqrt(pi a) of a strip of width 1, stress sum c_n x^n (n <= 3) on the crack, x from the edge."""
    return float(np.dot(coefficients, _monomials(alpha)[: len(coefficients)]))


@cache
def _monomials(alpha: float) -> Array:
    """F for the stresses 1, x, x^2, x^3."""
    z, weight = _boundary(alpha)
    values, slopes, tip = _basis(z)
    root = z[:, None] ** -0.5
    singular = _tractions(z, values * root, slopes * root - 0.5 * values * root**3, 1.0)
    regular = _tractions(z, values, slopes, -1.0)
    place, powers = z[:, None] + alpha, np.arange(4)
    wanted = _tractions(z, 0.5 * place**powers, 0.5 * powers * place ** np.maximum(powers - 1, 0), 1.0)
    both = np.tile(weight, 2)[:, None]
    solution = np.linalg.lstsq(np.hstack([singular, regular]) * both, wanted * both, rcond=1e-14)[0]
    return np.asarray(2.0 * tip @ solution[:DEGREE] * np.sqrt(2.0 / alpha))


def _boundary(alpha: float) -> tuple[Complex, Array]:
    """Points of the left edge (crowded at the mouth), the right edge and the end; weights of their steps."""
    side = (np.arange(POINTS) + 0.5) / POINTS
    graded, even = side**3, 0.5 * (1.0 - np.cos(np.pi * side))
    z = np.concatenate([1j * HEIGHT * graded, 1.0 + 1j * HEIGHT * even, even + 1j * HEIGHT]) - alpha
    steps = [
        3.0 * side**2 * HEIGHT,
        0.5 * np.pi * np.sin(np.pi * side) * HEIGHT,
        0.5 * np.pi * np.sin(np.pi * side),
    ]
    return z, np.concatenate(steps) ** 0.25


def _basis(z: Complex) -> tuple[Complex, Complex, Array]:
    """Polynomials orthogonal on the points, their derivatives, and their values at the tip."""
    values, slopes, tip = (
        np.zeros((z.size, DEGREE), complex),
        np.zeros((z.size, DEGREE), complex),
        np.zeros(DEGREE),
    )
    values[:, 0] = tip[0] = z.size**-0.5
    for k in range(1, DEGREE):
        value, slope, at_tip = z * values[:, k - 1], values[:, k - 1] + z * slopes[:, k - 1], 0.0
        for _ in range(2):
            share = np.real(values[:, :k].conj().T @ value)
            value, slope = value - values[:, :k] @ share, slope - slopes[:, :k] @ share
            at_tip -= float(tip[:k] @ share)
        norm = np.linalg.norm(value)
        values[:, k], slopes[:, k], tip[k] = value / norm, slope / norm, at_tip / norm
    return values, slopes, tip


def _tractions(z: Complex, phi: Complex, slope: Complex, sign: float) -> Array:
    """Normal and shear traction of every term, Omega = sign * Phi; rows are the points twice."""
    total = phi + sign * phi.conj() + (z - z.conj())[:, None] * slope.conj()
    upright = np.repeat([True, True, False], POINTS)[:, None]
    return np.concatenate([np.where(upright, 4.0 * phi.real - total.real, total.real), -total.imag])
