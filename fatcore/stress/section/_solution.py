"""Displacements of the load cases: assembly, supports by symmetry, one factorisation per kind of symmetry."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csc_array
from scipy.sparse.linalg import splu

from fatcore.require import FloatArray
from fatcore.stress.section._cases import CASES, Case, tractions
from fatcore.stress.section._elements import edge_loads, plane_stiffness, scalar_stiffness
from fatcore.stress.section._mesh import Mesh
from fatcore.stress.section._shape import Section

BoolArray = NDArray[np.bool_]
_EDGES = np.array([[0, 3, 1], [1, 4, 2], [2, 5, 0]])


def displacements(
    section: Section, mesh: Mesh, names: Iterable[str], poisson_ratio: float, span: float
) -> dict[str, FloatArray]:
    """Nodal displacements times Young's modulus by load: (n, 2) in plane, (n, 1) out of plane."""
    groups: dict[tuple[bool, bool, bool], list[Case]] = {}
    for case in map(CASES.__getitem__, names):
        groups.setdefault((case.tearing, case.even_x, case.even_y), []).append(case)
    solved: dict[str, FloatArray] = {}
    stiffness: dict[bool, csc_array] = {}
    for (tearing, _, _), cases in groups.items():
        if tearing not in stiffness:
            stiffness[tearing] = assemble(mesh, tearing, poisson_ratio)
        loads = np.stack([forces(section, mesh, case, span) for case in cases], axis=1)
        result = _solve(stiffness[tearing], loads, ~held(section, mesh, cases[0]))
        width = 1 if tearing else 2
        solved.update({c.name: result[:, k].reshape(-1, width) for k, c in enumerate(cases)})
    return solved


def assemble(mesh: Mesh, tearing: bool, poisson_ratio: float) -> csc_array:
    """Global stiffness per unit Young's modulus."""
    corners = mesh.nodes[mesh.triangles[:, :3]]
    local = (scalar_stiffness if tearing else plane_stiffness)(corners, poisson_ratio)
    width = 1 if tearing else 2
    freedom = (width * mesh.triangles[:, :, None] + np.arange(width)).reshape(len(corners), -1)
    rows = np.repeat(freedom, freedom.shape[1], axis=1).ravel()
    columns = np.tile(freedom, (1, freedom.shape[1])).ravel()
    size = width * len(mesh.nodes)
    return csc_array((local.ravel(), (rows, columns)), shape=(size, size))


def forces(section: Section, mesh: Mesh, case: Case, span: float) -> FloatArray:
    """Nodal forces of a load as one column, over the degrees of freedom of its kind."""
    result = np.zeros((len(mesh.nodes), 3))
    for axis, load in enumerate(tractions(section, case.name, span)):
        edges = mesh.triangles[:, _EDGES].reshape(-1, 3)
        at_end = np.isclose(mesh.nodes[edges][:, :, axis], section.end[axis], rtol=1e-12).all(axis=1)
        edges = edges[at_end]
        traction = load(mesh.nodes[edges][:, :, 1 - axis].ravel()).reshape(-1, 3, 3)
        np.add.at(result, edges, edge_loads(mesh.nodes, edges, traction))
    return result[:, 2:].ravel() if case.tearing else result[:, :2].ravel()


def held(section: Section, mesh: Mesh, case: Case) -> BoolArray:
    """Degrees of freedom that symmetry holds, and those that stop the motion as a rigid body."""
    x, y = mesh.nodes.T
    on_y_axis, slack = np.abs(x) < 1e-9 * section.plate, 1e-9 * section.plate
    low = np.abs(y - section.bottom) < slack
    on_x_axis = low if section.mirrored else np.zeros_like(low)
    anchor = np.arange(len(x)) == np.argmin(np.abs(x) + np.abs(y - section.surface))  # near the weld: small moves
    if case.tearing:
        stop = anchor if case.even_x and not section.mirrored else np.zeros_like(low)
        return np.asarray((on_y_axis & (not case.even_x)) | (on_x_axis & (not case.even_y)) | stop)
    fixed = np.zeros((len(x), 2), dtype=bool)
    fixed[on_y_axis, 0 if case.even_x else 1] = True
    fixed[on_x_axis, 1 if case.even_y else 0] = True
    fixed[anchor, 0] |= not (case.even_x or (section.mirrored and not case.even_y))
    fixed[anchor, 1] |= case.even_x and not (section.mirrored and case.even_y)
    if not section.mirrored and not case.even_x:  # may still turn about the anchor
        fixed[on_y_axis & (np.abs(y - section.end[1]) < slack), 0] = True
    return fixed.ravel()


def _solve(stiffness: csc_array, loads: FloatArray, free: BoolArray) -> FloatArray:
    index = np.flatnonzero(free)
    factor = splu(
        stiffness[index][:, index].tocsc(),
        permc_spec="MMD_AT_PLUS_A",
        diag_pivot_thresh=0.0,
        options={"SymmetricMode": True},
    )
    result = np.zeros_like(loads)
    result[index] = factor.solve(loads[index])
    result[index] += factor.solve((loads - stiffness @ result)[index])  # takes back most of the rounding
    return result
