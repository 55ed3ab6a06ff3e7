"""Linear elasticity of a solid mesh in plain numpy and scipy: nodal stresses for tests, by textbook elements.

Bricks of 8 nodes with incompatible modes (Taylor's correction), tetrahedra of 10 nodes with four points of
integration. Stresses are extrapolated from the integration points to the corners and averaged over elements,
as general finite-element programs do it.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.linalg import spsolve

from fatcore.stress.weld_lines.solid.mesh import SolidMesh

Array = NDArray[np.float64]
YOUNG_MPA, POISSON = 206_000.0, 0.3
_POINT = 1.0 / np.sqrt(3.0)
_CORNERS = np.array([[x, y, z] for z in (-1, 1) for x, y in ((-1, -1), (1, -1), (1, 1), (-1, 1))], dtype=float)
_NEAR, _FAR = 0.5854101966249685, 0.1381966011250105
_TET_SIDES = ((0, 1), (1, 2), (0, 2), (0, 3), (1, 3), (2, 3))


def stiffness() -> Array:
    """Stresses xx, yy, zz, xy, yz, zx from strains with engineering shear."""
    shear = YOUNG_MPA / 2.0 / (1.0 + POISSON)
    lame = YOUNG_MPA * POISSON / (1.0 + POISSON) / (1.0 - 2.0 * POISSON)
    matrix = np.diag([2.0 * shear] * 3 + [shear] * 3)
    matrix[:3, :3] += lame
    return matrix


def _strains(gradients: Array) -> Array:
    """Strain matrix (m, 6, 3 k) of gradients (m, k, 3)."""
    m, k, _ = gradients.shape
    b = np.zeros((m, 6, k, 3))
    for row, (i, j) in enumerate(((0, 0), (1, 1), (2, 2), (0, 1), (1, 2), (2, 0))):
        b[:, row, :, i] += gradients[:, :, j]
        if i != j:
            b[:, row, :, j] += gradients[:, :, i]
    return b.reshape(m, 6, 3 * k)


def _mapped(points: Array, local: Array) -> tuple[Array, Array]:
    """Determinants (m,) and gradients in space (m, k, 3) of shape functions with local gradients (k, 3)."""
    jacobian = np.einsum("ka,mkx->max", local, points)
    return np.linalg.det(jacobian), np.einsum("max,ka->mkx", np.linalg.inv(jacobian).transpose(0, 2, 1), local)


def _brick(points: Array) -> tuple[Array, list[Array], Array]:
    """Stiffness (m, 24, 24), stress matrices at the points, extrapolation from points to corners."""
    d = stiffness()
    centre, _ = _mapped(points, _brick_local(np.zeros(3)))
    inverse = np.linalg.inv(np.einsum("ka,mkx->max", _brick_local(np.zeros(3)), points))
    parts, k_uu, k_ua, k_aa = [], 0.0, 0.0, 0.0
    for corner in _CORNERS:
        at = corner * _POINT
        det, gradients = _mapped(points, _brick_local(at))
        bubble = -2.0 * np.diag(at)
        inner = np.einsum("mxa,ka->mkx", inverse, bubble) * (centre / det)[:, np.newaxis, np.newaxis]
        b, g = _strains(gradients), _strains(inner)
        weighted = det[:, np.newaxis, np.newaxis]
        k_uu = k_uu + weighted * (b.transpose(0, 2, 1) @ d @ b)
        k_ua = k_ua + weighted * (b.transpose(0, 2, 1) @ d @ g)
        k_aa = k_aa + weighted * (g.transpose(0, 2, 1) @ d @ g)
        parts.append((b, g))
    condensed = -np.linalg.solve(k_aa, np.asarray(k_ua).transpose(0, 2, 1))
    stress = [d @ (b + g @ condensed) for b, g in parts]
    corners_from_points = np.prod(1.0 + _CORNERS[:, np.newaxis] * _CORNERS[np.newaxis] / _POINT, axis=2) / 8.0
    return np.asarray(k_uu + k_ua @ condensed), stress, corners_from_points


def _brick_local(at: Array) -> Array:
    one = 1.0 + _CORNERS * at
    return (
        np.column_stack(
            [
                _CORNERS[:, 0] * one[:, 1] * one[:, 2],
                _CORNERS[:, 1] * one[:, 0] * one[:, 2],
                _CORNERS[:, 2] * one[:, 0] * one[:, 1],
            ]
        )
        / 8.0
    )


def _tetrahedron(points: Array) -> tuple[Array, list[Array], Array]:
    d = stiffness()
    stress, total = [], 0.0
    for point in range(4):
        share = np.full(4, _FAR)
        share[point] = _NEAR
        det, gradients = _mapped(points, _tetrahedron_local(share))
        b = _strains(gradients)
        total = total + np.abs(det)[:, np.newaxis, np.newaxis] / 24.0 * (b.transpose(0, 2, 1) @ d @ b)
        stress.append(d @ b)
    points_from_corners = np.full((4, 4), _FAR) + (_NEAR - _FAR) * np.eye(4)
    return np.asarray(total), stress, np.linalg.inv(points_from_corners)


def _tetrahedron_local(share: Array) -> Array:
    basis = np.array([[-1.0, -1.0, -1.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
    corners = [(4.0 * share[k] - 1.0) * basis[k] for k in range(4)]
    sides = [4.0 * (share[a] * basis[b] + share[b] * basis[a]) for a, b in _TET_SIDES]
    return np.array([*corners, *sides])


ELEMENTS: dict[str, Callable[[Array], tuple[Array, list[Array], Array]]] = {"brick8": _brick, "tet10": _tetrahedron}


def nodal_stresses(mesh: SolidMesh, fixed: NDArray[np.bool_], moved_mm: Array) -> Array:
    """Stresses xx, yy, zz, xy, yz, zx at the corner nodes (n, 6), nan at the others, of displacements at fixed ones.

    fixed, moved_mm : (n, 3); forces are zero where nothing is fixed
    """
    (block,) = mesh.element_blocks
    matrix, stress, corners_from_points = ELEMENTS[block.element](mesh.points_mm[block.nodes])
    places = (3 * block.nodes[:, :, np.newaxis] + np.arange(3)).reshape(len(block.nodes), -1)
    size = 3 * len(mesh.points_mm)
    rows, columns = np.repeat(places, places.shape[1], axis=1), np.tile(places, places.shape[1])
    whole = coo_array((matrix.ravel(), (rows.ravel(), columns.ravel())), shape=(size, size)).tocsr()
    displacement = np.where(fixed, moved_mm, 0.0).ravel()
    free = np.flatnonzero(~fixed.ravel())
    displacement[free] = spsolve(whole[free][:, free], -(whole[free] @ displacement))
    at_points = np.stack([np.einsum("mij,mj->mi", s, displacement[places]) for s in stress], axis=1)
    at_corners = np.einsum("cp,mpi->mci", corners_from_points, at_points)
    corners = block.nodes[:, : at_corners.shape[1]]
    total = np.zeros((len(mesh.points_mm), 6))
    np.add.at(total, corners, at_corners)
    count = np.bincount(corners.ravel(), minlength=len(total))[:, np.newaxis]
    return np.asarray(np.where(count > 0, total / np.maximum(count, 1), np.nan))
