"""Faces of neighbours that do not match: a quadrilateral against two triangles, or triangles cut otherwise."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fatcore.figures import coordinate
from fatcore.findings import Finding, caution
from fatcore.stress.weld_lines.solid._edges import Edges, Sides, edge_nodes
from fatcore.stress.weld_lines.solid._surface import Index, Surface
from fatcore.stress.weld_lines.solid.elements import Nodes

_CLOSED_DEG = 1.0  # two faces upon each other

Flags = NDArray[np.bool_]


def between_unmatched(surface: Surface, sides: Sides, edges: Edges) -> Flags:
    """Edges whose two faces lie upon each other and have the same nodes, in another number or order (e,).

    The two lips of a slit share the nodes of their edge alone.
    """
    found = np.zeros(len(edges.opening_deg), dtype=bool)
    closed = np.flatnonzero(edges.opening_deg < _CLOSED_DEG)
    one, other = (surface.corners[sides.face[each[closed]]] for each in (edges.forward, edges.backward))
    shared = ((one[:, :, np.newaxis] == other[:, np.newaxis, :]) & (one >= 0)[:, :, np.newaxis]).sum(axis=(1, 2))
    found[closed] = (shared > 2) | _cut_otherwise(edge_nodes(sides, edges)[closed], one, other)
    return found


def _cut_otherwise(nodes: Nodes, one: Nodes, other: Nodes) -> Flags:
    """Edges between two triangles that are halves of one quadrilateral, cut along either diagonal."""
    pairs = {(min(a, b), max(a, b)) for a, b in nodes.tolist()}
    flags = np.zeros(len(nodes), dtype=bool)
    for at in np.flatnonzero((one[:, 3] < 0) & (other[:, 3] < 0)).tolist():
        a, b = nodes[at].tolist()
        c, d = (next(iter(set(face[at, :3].tolist()) - {a, b})) for face in (one, other))
        beside = [{(min(a, p), max(a, p)), (min(b, q), max(b, q))} for p, q in ((c, d), (d, c))]
        flags[at] = c != d and any(both <= pairs for both in beside)
    return flags


def unmatched_doubts(surface: Surface, sides: Sides, edges: Edges, unmatched: Flags, count: int) -> tuple[Finding, ...]:
    """A caution with the number of faces of the mesh that do not match their neighbour.

    count : nodes of the mesh without mirror images
    """
    faces = _faces(sides, edges, np.flatnonzero(unmatched))
    own = faces[(surface.corners[faces] < count).all(axis=1)]
    if len(own) == 0:
        return ()
    x, y, z = surface.points_mm[surface.corners[own[0], 0]]
    message = (
        f"{len(own)} faces inside the part do not match those of their neighbours (one at "
        f"{coordinate(x)}, {coordinate(y)},"
    )
    return (caution("faces-not-matching", f"{message} {coordinate(z)} mm): the elements are not joined there"),)


def _faces(sides: Sides, edges: Edges, chosen: Index) -> Index:
    return np.unique(np.concatenate([sides.face[edges.forward[chosen]], sides.face[edges.backward[chosen]]]))
