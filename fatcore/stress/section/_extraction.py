"""Intensities by reciprocal work with the dual field, and strain energies of the control sector."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fatcore.require import FloatArray
from fatcore.stress.modes import Mode
from fatcore.stress.section._elements import (
    CUBATURE,
    constitutive,
    gradients,
    plane_stiffness,
    scalar_stiffness,
    shapes,
    strain_matrix,
)
from fatcore.stress.section._fields import dual
from fatcore.stress.section._mesh import Mesh, Patch
from fatcore.stress.section._shape import Tip

IntArray = NDArray[np.int64]
_INNER = 0.25  # inner radius of the ring of integration over the patch radius


def intensity(mesh: Mesh, patch: Patch, moved: FloatArray, mode: Mode, poisson_ratio: float) -> float:
    """Intensity of a mode [MPa*mm^(1-lambda)] from nodal displacements times Young's modulus.

    The work is taken over a ring of elements with a cut-off that falls from 1 to 0 across it, which is the
    contour integral in the form that suits displacements of finite elements.
    """
    elements, cut = _ring(mesh, patch)
    corners = mesh.nodes[elements[:, :3]]
    gradient, area = gradients(corners, CUBATURE[0])
    axes, dual_moved, dual_face = _dual_at(patch.tip, corners, mode, poisson_ratio)
    value, face = _polar(_from_tip(mesh, patch, moved)[elements], gradient, axes, poisson_ratio)
    slope = np.einsum("mpad,mdk,mk->mpa", axes, _linear(corners), cut)
    work = np.einsum("mpa,mpac,mpc->mp", slope, face, dual_moved)
    work -= np.einsum("mpa,mpac,mpc->mp", slope, dual_face, value)
    return float(-(work * CUBATURE[1] * area[:, None]).sum())


def mutual_energy(mesh: Mesh, patch: Patch, moved: list[FloatArray], poisson_ratio: float) -> FloatArray:
    """Mean energy density of the control sector times Young's modulus, as a form (k, k) of the loads."""
    elements = mesh.triangles[patch.sector]
    corners = mesh.nodes[elements[:, :3]]
    local = (scalar_stiffness if moved[0].shape[1] == 1 else plane_stiffness)(corners, poisson_ratio)
    nodal = np.stack([_from_tip(mesh, patch, u)[elements].reshape(len(elements), -1) for u in moved])
    work = np.einsum("ami,mij,bmj->ab", nodal, local, nodal)
    return np.asarray(work / (2.0 * patch.sector_area))


def _from_tip(mesh: Mesh, patch: Patch, moved: FloatArray) -> FloatArray:
    """Displacements relative to the tip: its own motion does no work, but costs digits."""
    tip = int(np.argmin(np.linalg.norm(mesh.nodes - patch.tip.position, axis=1)))
    return np.asarray(moved - moved[tip])


def _ring(mesh: Mesh, patch: Patch) -> tuple[IntArray, FloatArray]:
    """Elements of the ring, and the cut-off at their corners: 1 inside, 0 on the rim, logarithmic between."""
    elements = mesh.triangles[patch.elements]
    distance = np.linalg.norm(mesh.nodes[elements[:, :3]] - patch.tip.position, axis=2)
    with np.errstate(divide="ignore"):
        cut = np.clip(np.log(distance / patch.tip.radius) / np.log(_INNER), 0.0, 1.0)
    used = np.ptp(cut, axis=1) > 1e-9
    return elements[used], cut[used]


def _dual_at(
    tip: Tip, corners: FloatArray, mode: Mode, poisson_ratio: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Polar axes (m, p, 2, 2) at the points of integration; displacement and face stresses of the dual."""
    points = np.einsum("pk,mkd->mpd", CUBATURE[0], corners) - tip.position
    angle = np.arctan2(points[..., 1], points[..., 0])
    theta = np.mod(angle - tip.bisector + np.pi, 2.0 * np.pi) - np.pi
    radius = np.linalg.norm(points, axis=2)
    field = dual(mode, tip.opening_angle_deg, poisson_ratio).at(radius.ravel(), theta.ravel())
    face = np.stack([field.radial_face, field.hoop_face], axis=1).reshape(*angle.shape, 2, -1)
    axes = np.stack([np.cos(angle), np.sin(angle), -np.sin(angle), np.cos(angle)], axis=-1)
    return axes.reshape(*angle.shape, 2, 2), field.displacement.reshape(*angle.shape, -1), face


def _polar(
    nodal: FloatArray, gradient: FloatArray, axes: FloatArray, poisson_ratio: float
) -> tuple[FloatArray, FloatArray]:
    """Displacements (m, p, c) and stresses (m, p, 2, c) on the polar faces, from nodal ones (m, 6, c)."""
    value = np.einsum("pn,mnd->mpd", shapes(CUBATURE[0]), nodal)
    if nodal.shape[2] == 1:
        flow = np.einsum("mpdn,mnc->mpdc", gradient, nodal) * 0.5 / (1.0 + poisson_ratio)
        return value, np.einsum("mpad,mpdc->mpac", axes, flow)
    stress = _stress(gradient, nodal, poisson_ratio)
    face = np.einsum("mpad,mpde,mpbe->mpab", axes, stress, axes)
    return np.einsum("mpad,mpd->mpa", axes, value), face


def _linear(corners: FloatArray) -> FloatArray:
    """Gradients (m, 2, 3) of the linear functions of the corners."""
    centre = np.full((1, 3), 1.0 / 3.0)
    gradient = gradients(corners, centre)[0][:, 0]
    # at the centre the linear function of a corner is the corner's share plus half of its two middles
    quadratic = gradient[:, :, 3:]
    return np.asarray(gradient[:, :, :3] + (quadratic + np.roll(quadratic, 1, axis=2)) / 2.0)


def _stress(gradient: FloatArray, nodal: FloatArray, poisson_ratio: float) -> FloatArray:
    """Stress tensors (m, p, 2, 2) in the plane."""
    strain = np.einsum("mpin,mn->mpi", strain_matrix(gradient), nodal.reshape(len(nodal), -1))
    stress = strain @ constitutive(poisson_ratio)
    return np.asarray(stress[..., [0, 2, 2, 1]].reshape(*stress.shape[:-1], 2, 2))
