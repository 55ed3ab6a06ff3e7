"""Symmetric stress tensors as rows xx, yy, zz, xy, yz, zx: rotation, principal values, planes."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from fatcore.errors import InputError
from fatcore.require import FloatArray, finite

_ORTHOGONAL = 1e-6  # rotation matrices typed with six decimals pass


class Principal(NamedTuple):
    """Principal stresses (..., 3) [MPa], largest first, and unit directions (..., 3, 3) [-], one a row."""

    values_mpa: FloatArray
    directions: FloatArray


class PlaneStresses(NamedTuple):
    """Stresses on a plane [MPa]: along its normal (...), magnitude of the shear (...), traction (..., 3)."""

    normal_mpa: FloatArray
    shear_mpa: FloatArray
    traction_mpa: FloatArray


def matrices(tensors_mpa: ArrayLike) -> FloatArray:
    """Matrices (..., 3, 3) [MPa] of tensors (..., 6) [MPa] in the order xx, yy, zz, xy, yz, zx.

    Raises : InputError for another number of components
    Source : [stress-algebra]
    """
    t = _six(tensors_mpa)
    order = [[0, 3, 5], [3, 1, 4], [5, 4, 2]]
    return np.asarray(t[..., order])


def components(matrices_mpa: ArrayLike) -> FloatArray:
    """Tensors (..., 6) [MPa] in the order xx, yy, zz, xy, yz, zx of symmetric matrices (..., 3, 3) [MPa].

    Raises : InputError for another shape
    Source : [stress-algebra]
    """
    m = finite("matrices_mpa", matrices_mpa)
    if m.shape[-2:] != (3, 3):
        raise InputError("matrices_mpa must be 3 by 3", "matrices_mpa")
    return np.asarray(m[..., [0, 1, 2, 0, 1, 2], [0, 1, 2, 1, 2, 0]])


def rotate(tensors_mpa: ArrayLike, axes: ArrayLike) -> FloatArray:
    """Components in a turned frame.

    tensors_mpa : tensors (..., 6) [MPa]
    axes        : unit vectors of the new frame in the old one (3, 3) or (..., 3, 3) [-], one a row
    Returns     : tensors (..., 6) [MPa] in the new frame
    Raises      : InputError for axes that are not orthonormal
    Source      : [stress-algebra]

    >>> rotate([[10.0, 0.0, 0.0, 0.0, 0.0, 0.0]], [[0, 1, 0], [1, 0, 0], [0, 0, -1]]).tolist()
    [[0.0, 10.0, 0.0, 0.0, 0.0, 0.0]]
    """
    r = finite("axes", axes)
    if r.shape[-2:] != (3, 3) or np.abs(r @ np.swapaxes(r, -1, -2) - np.eye(3)).max() > _ORTHOGONAL:
        raise InputError("axes must be three orthonormal rows", "axes")
    return components(r @ matrices(tensors_mpa) @ np.swapaxes(r, -1, -2))


def principal(tensors_mpa: ArrayLike) -> Principal:
    """Principal stresses and their directions.

    tensors_mpa : tensors (..., 6) [MPa]
    Returns     : values, largest first, and directions, one a row; their sense is arbitrary
    Raises      : InputError for another number of components
    Source      : [stress-algebra]
    """
    values, vectors = np.linalg.eigh(matrices(tensors_mpa))
    return Principal(values[..., ::-1].copy(), np.swapaxes(vectors, -1, -2)[..., ::-1, :].copy())


def von_mises(tensors_mpa: ArrayLike) -> FloatArray:
    """Von Mises equivalent stress.

    tensors_mpa : tensors (..., 6) [MPa]
    Returns     : stresses (...) [MPa]
    Raises      : InputError for another number of components
    Source      : [stress-algebra]

    >>> float(von_mises([100.0, 100.0, 100.0, 0.0, 0.0, 0.0]))
    0.0
    """
    xx, yy, zz, xy, yz, zx = np.moveaxis(_six(tensors_mpa), -1, 0)
    normal = (xx - yy) ** 2 + (yy - zz) ** 2 + (zz - xx) ** 2
    return np.asarray(np.sqrt(normal / 2.0 + 3.0 * (xy**2 + yz**2 + zx**2)))


def on_plane(tensors_mpa: ArrayLike, normal: ArrayLike) -> PlaneStresses:
    """Stresses on planes.

    tensors_mpa : tensors (..., 6) [MPa]
    normal      : normals of the planes (3,) or (..., 3) [-], any length
    Returns     : normal stress, magnitude of the shear stress, traction vector
    Raises      : InputError for another number of components, a zero vector
    Source      : [stress-algebra]
    """
    n = finite("normal", normal)
    if n.ndim == 0 or n.shape[-1] != 3:
        raise InputError("normal must have three components", "normal")
    length = np.linalg.norm(n, axis=-1, keepdims=True)
    if (length == 0.0).any():
        raise InputError("normal holds a vector of length zero", "normal")
    unit = n / length
    traction = np.einsum("...ij,...j->...i", matrices(tensors_mpa), unit)
    along = np.sum(traction * unit, axis=-1)
    shear = np.linalg.norm(traction - along[..., None] * unit, axis=-1)
    return PlaneStresses(np.asarray(along), np.asarray(shear), np.asarray(traction))


def _six(tensors_mpa: ArrayLike) -> FloatArray:
    array = finite("tensors_mpa", tensors_mpa)
    if array.ndim == 0 or array.shape[-1] != 6:
        raise InputError("tensors_mpa must have six components xx, yy, zz, xy, yz, zx", "tensors_mpa")
    return array
