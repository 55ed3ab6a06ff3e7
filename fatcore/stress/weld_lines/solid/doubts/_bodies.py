"""Bodies of a mesh that share no node: tied where they are near each other, apart where they are not."""

from __future__ import annotations

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from fatcore.findings import Finding, caution, outside
from fatcore.require import FloatArray
from fatcore.stress.weld_lines.solid._places import by_place
from fatcore.stress.weld_lines.solid._surface import Surface
from fatcore.stress.weld_lines.solid.elements import Nodes, corner_count
from fatcore.stress.weld_lines.solid.mesh import SolidMesh

_NEAREST = 16  # nodes looked at round each one: of two bodies the coarser one has those of the finer among them


def parts(mesh: SolidMesh, part: Surface, doubled: Nodes) -> tuple[Finding, ...]:
    """What bodies that share no node mean: joints between them are not in the mesh where they are near each other.

    part    : surface of the mesh without mirror images
    doubled : pairs of its nodes at one place (p, 2)
    """
    label, count = _bodies(mesh)
    if count < 2:
        return ()
    touching = int((label[doubled[:, 0]] != label[doubled[:, 1]]).sum())
    near = touching == 0 and _near(part, label)
    if touching == 0 and not near:
        return (caution("parts-not-joined", f"{count} bodies share no node and lie apart: nothing joins them"),)
    against = f"{touching} pairs of nodes at one place" if touching else "nodes nearer than an edge of their elements"
    message = f"{count} bodies share no node, with {against}: toes and roots between tied parts are not found"
    return (outside("parts-tied", message),)


def _bodies(mesh: SolidMesh) -> tuple[Nodes, int]:
    """The body of each node, and how many bodies have elements."""
    size = len(mesh.points_mm)
    corners = [block.nodes[:, : corner_count(block.element)] for block in mesh.element_blocks]
    one = np.concatenate([np.broadcast_to(nodes[:, :1], nodes[:, 1:].shape).ravel() for nodes in corners])
    other = np.concatenate([nodes[:, 1:].ravel() for nodes in corners])
    links = coo_array((np.ones(len(one), dtype=np.int8), (one, other)), shape=(size, size))
    label = np.asarray(connected_components(links, directed=False)[1], dtype=np.int64)
    return label, len(np.unique(label[one]))


def _near(part: Surface, label: Nodes) -> bool:
    """Whether nodes of two bodies lie nearer to each other than an edge of the surface there."""
    edge_mm = _longest_edges(part)
    nodes = np.flatnonzero(edge_mm)
    order, first = by_place(part.points_mm[nodes])
    nodes = nodes[order[first]]
    distance, other = cKDTree(part.points_mm[nodes]).query(part.points_mm[nodes], k=min(_NEAREST, len(nodes)))
    within = np.maximum(part.edge_mm(), np.maximum(edge_mm[nodes][:, np.newaxis], edge_mm[nodes][other]))
    return bool(((label[nodes][:, np.newaxis] != label[nodes][other]) & (distance < within)).any())


def _longest_edges(part: Surface) -> FloatArray:
    """The longest first side of a face at each node (n,), 0 for nodes off the surface."""
    used = part.corners >= 0
    one, other = part.points_mm[part.corners[:, 0]], part.points_mm[part.corners[:, 1]]
    length = np.broadcast_to(np.linalg.norm(other - one, axis=1)[:, np.newaxis], part.corners.shape)
    longest = np.zeros(len(part.points_mm))
    np.maximum.at(longest, part.corners[used], length[used])
    return longest
