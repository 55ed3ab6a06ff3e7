"""What is doubtful about the surface of a mesh: open places, merged or doubled nodes, faces in a declared plane."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fatcore.figures import coordinate
from fatcore.findings import Finding, caution, note
from fatcore.require import FloatArray
from fatcore.stress.weld_lines.solid._edges import Edges, Sides
from fatcore.stress.weld_lines.solid._hollows import MOST_FACES
from fatcore.stress.weld_lines.solid._places import lie_at, pairs_at_one_place
from fatcore.stress.weld_lines.solid._surface import Surface
from fatcore.stress.weld_lines.solid.doubts._bodies import parts
from fatcore.stress.weld_lines.solid.elements import Nodes
from fatcore.stress.weld_lines.solid.mesh import SolidMesh
from fatcore.stress.weld_lines.solid.symmetry import SymmetryPlane


def surface_doubts(
    mesh: SolidMesh, part: Surface, surface: Surface, sides: Sides, edges: Edges, *, roots: bool
) -> tuple[Finding, ...]:
    """Findings on the surface: open places, edges of several bodies, doubled nodes, parts that share no node.

    part : the surface without its mirror images; roots: whether a line is one
    """
    corners = np.unique(surface.corners[(surface.corners >= 0) & (surface.corners < len(mesh.points_mm))])
    edge_mm = surface.edge_mm()
    doubled = corners[pairs_at_one_place(mesh.points_mm[corners], edge_mm)]
    return (
        *_open(sides, edges, mesh.points_mm),
        *_touching(edges),
        *_hanging(sides, mesh.points_mm, corners, edge_mm),
        *_coincident(doubled, roots),
        *parts(mesh, part, doubled),
        *_crowded(surface, len(mesh.points_mm)),
    )


def plane_doubts(surface: Surface, planes: Sequence[SymmetryPlane]) -> tuple[Finding, ...]:
    """A caution for each declared plane in which faces of the part lie: the cut, or one lip of a slit.

    surface : of the part alone, without its mirror images
    """
    found = []
    for plane in planes:
        inside = (surface.corners < 0) | plane.holds(surface.points_mm, surface.edge_mm())[surface.corners]
        count = int(inside.all(axis=1).sum())
        if count:
            message = f"{count} faces lie in {plane} and count as the cut: a slit in it, and its root, is not seen"
            found.append(caution("faces-in-plane", message))
    return tuple(found)


def _crowded(surface: Surface, count: int) -> tuple[Finding, ...]:
    """A note for nodes at which the search for hollows looks at no faces."""
    faces = np.bincount(surface.corners[surface.corners >= 0], minlength=count)[:count]
    crowded = int((faces > MOST_FACES).sum())
    if crowded == 0:
        return ()
    message = f"more than {MOST_FACES} faces meet in {crowded} nodes: hollows are told without the faces round them"
    return (note("nodes-of-many-faces", message),)


def _open(sides: Sides, edges: Edges, points: FloatArray) -> tuple[Finding, ...]:
    lost = edges.unpaired[sides.start[edges.unpaired] < len(points)]
    if len(lost) == 0:
        return ()
    x, y, z = points[sides.start[lost[0]]]
    message = (
        f"{len(lost)} edges of the surface have no partner (one at {coordinate(x)}, {coordinate(y)}, "
        f"{coordinate(z)} mm): no angle there"
    )
    return (caution("mesh-not-closed", message),)


def _touching(edges: Edges) -> tuple[Finding, ...]:
    if not edges.shared:
        return ()
    return (note("edges-of-several-bodies", f"more than two faces meet in {edges.shared} edges"),)


def _hanging(sides: Sides, points: FloatArray, corners: Nodes, edge_mm: float) -> tuple[Finding, ...]:
    """A caution for corners in the middle of another element's edge: neighbours that do not fit each other."""
    own = (sides.start < sides.end) & (sides.end < len(points))
    middles = (points[sides.start[own]] + points[sides.end[own]]) / 2.0
    count = int(lie_at(points[corners], middles, edge_mm).sum())
    if count == 0:
        return ()
    message = f"{count} nodes lie in the middle of an edge of another element that is not joined to them"
    return (caution("nodes-hanging", message),)


def _coincident(doubled: Nodes, roots: bool) -> tuple[Finding, ...]:
    if len(doubled) == 0 and roots:
        return ()
    if len(doubled) == 0:
        message = "no two nodes lie at one place: a slit without width, and with it every root, is not in this mesh"
        return (note("no-slit", message),)
    message = f"{len(doubled)} pairs of corner nodes lie at one place and are not joined: slits, or parts in contact"
    return (note("nodes-coincide", message),)
