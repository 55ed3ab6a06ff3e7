"""Six-node triangle with straight sides: gradients, stiffness and edge loads, all elements at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fatcore.require import FloatArray

IntArray = NDArray[np.int64]
_THIRD = 1.0 / 3.0
# natural coordinates and weights (sum 1): exact for degree 2, which is that of the stiffness
_THREE_POINTS = (
    np.array([[2.0, 0.5, 0.5], [0.5, 2.0, 0.5], [0.5, 0.5, 2.0]]) * _THIRD,
    np.full(3, _THIRD),
)


def _seven_points() -> tuple[FloatArray, FloatArray]:
    """Rule of degree 5 on the triangle."""
    root = np.sqrt(15.0)
    rows, weights = [[_THIRD] * 3], [9.0 / 40.0]
    for sign in (-1.0, 1.0):
        near = (6.0 + sign * root) / 21.0
        rows += [list(np.roll([1.0 - 2.0 * near, near, near], k)) for k in range(3)]
        weights += [(155.0 + sign * root) / 1200.0] * 3
    return np.array(rows), np.array(weights)


CUBATURE = _seven_points()


def shapes(natural: FloatArray) -> FloatArray:
    """Shape functions (p, 6) at natural coordinates (p, 3)."""
    a, b, c = natural.T
    corner = natural * (2.0 * natural - 1.0)
    return np.column_stack([corner, 4.0 * a * b, 4.0 * b * c, 4.0 * c * a])


def gradients(corners: FloatArray, natural: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Gradients (m, p, 2, 6) of the shape functions in elements with corners (m, 3, 2), and areas (m,)."""
    x, y = corners[:, :, 0], corners[:, :, 1]
    across = np.roll(y, -1, axis=1) - np.roll(y, 1, axis=1)
    along = np.roll(x, 1, axis=1) - np.roll(x, -1, axis=1)
    twice = (x * across).sum(axis=1)
    linear = np.stack([across, along], axis=1) / twice[:, None, None]
    a, b, c = 4.0 * natural.T
    zero = np.zeros_like(a)
    by_natural = np.stack(
        [
            np.stack([a - 1.0, zero, zero, b, zero, c], axis=-1),
            np.stack([zero, b - 1.0, zero, a, c, zero], axis=-1),
            np.stack([zero, zero, c - 1.0, zero, b, a], axis=-1),
        ],
        axis=1,
    )
    return np.einsum("mdk,pkn->mpdn", linear, by_natural), twice / 2.0


def constitutive(poisson_ratio: float) -> FloatArray:
    """Plane strain matrix for a Young's modulus of 1: stresses xx, yy, xy from strains, shear doubled."""
    scale = 1.0 / ((1.0 + poisson_ratio) * (1.0 - 2.0 * poisson_ratio))
    direct, cross, shear = 1.0 - poisson_ratio, poisson_ratio, 0.5 - poisson_ratio
    return scale * np.array([[direct, cross, 0.0], [cross, direct, 0.0], [0.0, 0.0, shear]])


def strain_matrix(gradient: FloatArray) -> FloatArray:
    """Strains xx, yy, xy (..., 3, 12) from the displacements x0, y0, x1, ... of an element."""
    matrix = np.zeros((*gradient.shape[:-2], 3, 12))
    matrix[..., 0, 0::2] = matrix[..., 2, 1::2] = gradient[..., 0, :]
    matrix[..., 1, 1::2] = matrix[..., 2, 0::2] = gradient[..., 1, :]
    return matrix


def plane_stiffness(corners: FloatArray, poisson_ratio: float) -> FloatArray:
    """Stiffness (m, 12, 12) in plane strain per unit thickness and Young's modulus."""
    gradient, area = gradients(corners, _THREE_POINTS[0])
    strain = strain_matrix(gradient)
    weighted = np.einsum("ij,mpjn->mpin", constitutive(poisson_ratio), strain)
    count = len(corners)
    left = strain.reshape(count, 9, 12).transpose(0, 2, 1)
    return np.asarray(left @ weighted.reshape(count, 9, 12) * (area * _THIRD)[:, None, None])


def scalar_stiffness(corners: FloatArray, poisson_ratio: float) -> FloatArray:
    """Stiffness (m, 6, 6) of anti-plane shear per unit thickness and Young's modulus."""
    gradient, area = gradients(corners, _THREE_POINTS[0])
    flat = gradient.reshape(len(corners), 6, 6)
    modulus = 0.5 / (1.0 + poisson_ratio)
    return np.asarray(flat.transpose(0, 2, 1) @ flat * (modulus * area * _THIRD)[:, None, None])


def edge_loads(nodes: FloatArray, edges: IntArray, traction: FloatArray) -> FloatArray:
    """Nodal forces (e, 3, d) on edges (first, middle, last) from tractions (e, 3, d) at these nodes."""
    length = np.linalg.norm(nodes[edges[:, 2]] - nodes[edges[:, 0]], axis=1)
    mass = np.array([[4.0, 2.0, -1.0], [2.0, 16.0, 2.0], [-1.0, 2.0, 4.0]]) / 30.0
    return np.asarray(np.einsum("ij,ejd->eid", mass, traction) * length[:, None, None])
