"""What is doubtful about a mesh or its lines: open places, merged or doubled nodes, parts that are not joined."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from fatcore.findings import Finding, caution, note
from fatcore.require import FloatArray
from fatcore.stress.weld_lines.solid._edges import Edges, Sides
from fatcore.stress.weld_lines.solid._surface import Surface
from fatcore.stress.weld_lines.solid.elements import Nodes, corner_count
from fatcore.stress.weld_lines.solid.lines import SolidLine
from fatcore.stress.weld_lines.solid.mesh import SolidMesh
from fatcore.stress.weld_lines.solid.symmetry import SymmetryPlane, ends_of_part

_COINCIDE = 1e-6  # of the largest extent: coordinates of single precision
_CLOSE = 0.2  # of the mesh size: nearer lines are the two edges at the end of one gap
_ON_SIDE = 1e-2  # of the mesh size
_UNEVEN = 2.0  # longest over shortest step of a line


def surface_doubts(mesh: SolidMesh, surface: Surface, sides: Sides, edges: Edges) -> tuple[Finding, ...]:
    """Findings on the surface: open places, edges of several bodies, doubled nodes, parts that share no node."""
    corners = np.unique(surface.corners[(surface.corners >= 0) & (surface.corners < len(mesh.points_mm))])
    doubled = _doubled(mesh.points_mm, corners)
    return (
        *_open(sides, edges, mesh.points_mm),
        *_touching(edges),
        *_hanging(sides, mesh.points_mm, corners),
        *_coincident(doubled),
        *_parts(mesh, doubled),
    )


def _open(sides: Sides, edges: Edges, points: FloatArray) -> tuple[Finding, ...]:
    lost = edges.unpaired[sides.start[edges.unpaired] < len(points)]
    if len(lost) == 0:
        return ()
    x, y, z = points[sides.start[lost[0]]]
    message = f"{len(lost)} edges of the surface have no partner (one at {x:.4g}, {y:.4g}, {z:.4g} mm): no angle there"
    return (caution("mesh-not-closed", message),)


def _touching(edges: Edges) -> tuple[Finding, ...]:
    if not edges.shared:
        return ()
    return (note("edges-of-several-bodies", f"more than two faces meet in {edges.shared} edges"),)


def _hanging(sides: Sides, points: FloatArray, corners: Nodes) -> tuple[Finding, ...]:
    """A caution for corners in the middle of another element's edge: neighbours that do not fit each other."""
    own = (sides.start < sides.end) & (sides.end < len(points))
    middles = (points[sides.start[own]] + points[sides.end[own]]) / 2.0
    extent = float(np.ptp(points, axis=0).max())
    near = cKDTree(middles).query(points[corners], distance_upper_bound=_COINCIDE * extent)[0]
    count = int(np.isfinite(near).sum())
    if count == 0:
        return ()
    message = f"{count} nodes lie in the middle of an edge of another element that is not joined to them"
    return (caution("nodes-hanging", message),)


def _doubled(points: FloatArray, corners: Nodes) -> Nodes:
    """Pairs of surface corners at one place (p, 2)."""
    extent = float(np.ptp(points, axis=0).max())
    pairs = cKDTree(points[corners]).query_pairs(_COINCIDE * extent, output_type="ndarray")
    return np.asarray(corners[pairs], dtype=np.int64)


def _coincident(doubled: Nodes) -> tuple[Finding, ...]:
    if len(doubled) == 0:
        message = "no two nodes lie at one place: a slit without width, and with it every root, is not in this mesh"
        return (note("no-slit", message),)
    message = f"{len(doubled)} pairs of corner nodes lie at one place and are not joined: slits, or parts in contact"
    return (note("nodes-coincide", message),)


def _parts(mesh: SolidMesh, doubled: Nodes) -> tuple[Finding, ...]:
    """A caution where bodies share no node."""
    label, count = _bodies(mesh)
    if count < 2:
        return ()
    touching = int((label[doubled[:, 0]] != label[doubled[:, 1]]).sum())
    against = f", with {touching} pairs of nodes at one place" if touching else ""
    message = f"{count} bodies share no node{against}: toes and roots between tied parts are no edges of one surface"
    return (caution("parts-not-joined", message),)


def _bodies(mesh: SolidMesh) -> tuple[Nodes, int]:
    """The body of each node, and how many bodies have elements."""
    size = len(mesh.points_mm)
    corners = [block.nodes[:, : corner_count(block.element)] for block in mesh.element_blocks]
    one = np.concatenate([np.broadcast_to(nodes[:, :1], nodes[:, 1:].shape).ravel() for nodes in corners])
    other = np.concatenate([nodes[:, 1:].ravel() for nodes in corners])
    links = coo_array((np.ones(len(one), dtype=np.int8), (one, other)), shape=(size, size))
    label = np.asarray(connected_components(links, directed=False)[1], dtype=np.int64)
    return label, len(np.unique(label[one]))


def line_doubts(lines: Sequence[SolidLine], points: FloatArray) -> tuple[Finding, ...]:
    """Findings on lines: uneven steps, several kinds of elements, two too close, ends on a side of the part."""
    return (*_uneven(lines), *_mixed(lines), *_close(lines), *_cut(lines, points))


def _cut(lines: Sequence[SolidLine], points: FloatArray) -> tuple[Finding, ...]:
    """A note for each flat end of the part on which lines end, which may be a plane of symmetry."""
    found = []
    for plane in ends_of_part(points):
        ending = [line.name for line in lines if not line.closed and _ends_on(line, plane)]
        if ending:
            place = f"{plane.axis} = {plane.coordinate_mm:.4g} mm"
            message = f"{', '.join(ending)} end on {place}: a free side unless it is declared a plane of symmetry"
            found.append(note("lines-end-on-plane", message))
    return tuple(found)


def _ends_on(line: SolidLine, plane: SymmetryPlane) -> bool:
    free = [at for at, on in ((0, line.symmetric_start), (-1, line.symmetric_end)) if not on]
    off = np.abs(line.coordinates_mm[free, plane.column] - plane.coordinate_mm)
    return bool((off <= _ON_SIDE * line.mesh_size_mm).any())


def _uneven(lines: Sequence[SolidLine]) -> tuple[Finding, ...]:
    return tuple(
        caution("mesh-size-uneven", f"{line.name}: steps from {line.step_mm[0]:.3g} to {line.step_mm[1]:.3g} mm")
        for line in lines
        if line.step_mm[1] > _UNEVEN * line.step_mm[0]
    )


def _mixed(lines: Sequence[SolidLine]) -> tuple[Finding, ...]:
    return tuple(
        caution("elements-mixed", f"{line.name}: {' and '.join(line.elements)} share its nodes")
        for line in lines
        if len(line.elements) > 1
    )


def _close(lines: Sequence[SolidLine]) -> tuple[Finding, ...]:
    found = []
    trees = [cKDTree(line.coordinates_mm) for line in lines]
    for one, other in combinations(range(len(lines)), 2):
        gap = _gap(lines[one], lines[other], trees[other])
        if gap < _CLOSE * min(lines[one].mesh_size_mm, lines[other].mesh_size_mm):
            message = f"{lines[one].name} and {lines[other].name} run {gap:.3g} mm apart: two edges of one gap"
            found.append(caution("lines-too-close", message))
    return tuple(found)


def _gap(line: SolidLine, other: SolidLine, tree: cKDTree) -> float:
    """The smallest distance of nodes that the two do not share."""
    own = ~np.isin(line.node_index, other.node_index)
    if not own.any():
        return np.inf
    distance, _ = tree.query(line.coordinates_mm[own])
    return float(np.min(distance))
