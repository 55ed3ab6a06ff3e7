"""Outer surface of a solid mesh: faces that one element alone has, seen from outside."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fatcore.errors import InputError
from fatcore.require import FloatArray
from fatcore.stress.weld_lines.solid._faces import face_table
from fatcore.stress.weld_lines.solid.elements import Nodes, corner_count
from fatcore.stress.weld_lines.solid.mesh import ElementBlock, SolidMesh

Index = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Surface:
    """Faces counter-clockwise seen from outside.

    points_mm : of the mesh (n, 3)
    corners   : node numbers (f, 4), the last -1 for a triangle
    middles   : mid-side node between corner k and the next, (f, 4), -1 where there is none
    block     : of the mesh, the block whose element has the face (f,)
    """

    points_mm: FloatArray
    corners: Nodes
    middles: Nodes
    block: Index

    @property
    def sizes(self) -> Nodes:
        """Corners of each face, 3 or 4."""
        return np.where(self.corners[:, 3] < 0, 3, 4).astype(np.int64)

    def centroids(self) -> FloatArray:
        """Means of the corners (f, 3)."""
        weight = (self.corners >= 0).astype(np.float64)
        total = np.einsum("fk,fkx->fx", weight, self.points_mm[self.corners])
        return np.asarray(total / weight.sum(axis=1, keepdims=True))

    def edge_mm(self) -> float:
        """The usual edge: median length of the first side of each face."""
        one, other = self.points_mm[self.corners[:, 0]], self.points_mm[self.corners[:, 1]]
        return float(np.median(np.linalg.norm(other - one, axis=1)))

    def normals(self) -> FloatArray:
        """Unit outward normals (f, 3), of the diagonals of a quadrilateral."""
        return _unit(_area_vectors(self.points_mm, self.corners))


def surface_of(mesh: SolidMesh) -> Surface:
    """The outer surface, both sides of a zero-thickness slit included.

    Raises : InputError where more than two elements have one face: elements lie twice in the mesh
    """
    parts = [_faces(mesh, number, block) for number, block in enumerate(mesh.element_blocks)]
    corners, middles, block, inside = (np.concatenate(columns) for columns in zip(*parts, strict=True))
    single = _single(corners, len(mesh.points_mm))
    corners, middles = _outward(mesh.points_mm, corners[single], middles[single], inside[single])
    return Surface(mesh.points_mm, corners, middles, block[single])


def _faces(mesh: SolidMesh, number: int, block: ElementBlock) -> tuple[Nodes, Nodes, Index, FloatArray]:
    """Corners, mid-side nodes and block of all faces of a block, and the centroids of their elements."""
    table = face_table(block.element)
    count = len(table.corners)
    corners = _picked(block.nodes, table.corners)
    centroids = mesh.points_mm[block.nodes[:, : corner_count(block.element)]].mean(axis=1)
    return (
        corners,
        _picked(block.nodes, table.middles),
        np.full(len(corners), number, dtype=np.intp),
        np.repeat(centroids, count, axis=0),
    )


def _picked(nodes: Nodes, local: Nodes) -> Nodes:
    found = np.where(local[np.newaxis] >= 0, nodes[:, local], -1)
    return np.asarray(found.reshape(-1, 4), dtype=np.int64)


def _single(corners: Nodes, points: int) -> Index:
    """Faces whose set of corners occurs once."""
    key = np.sort(corners, axis=1)
    first, second = key[:, 0] + 1 + (points + 1) * key[:, 1], key[:, 2] + (points + 1) * key[:, 3]
    order = np.lexsort((second, first))
    same = (first[order][1:] == first[order][:-1]) & (second[order][1:] == second[order][:-1])
    if (same[1:] & same[:-1]).any():
        raise InputError("more than two elements have one face: elements lie twice in the mesh", "element_blocks")
    alone = np.ones(len(order), dtype=bool)
    alone[1:] &= ~same
    alone[:-1] &= ~same
    if not alone.any():
        raise InputError("the mesh has no outer surface: its elements lie twice", "element_blocks")
    return np.sort(order[alone])


def _outward(points: FloatArray, corners: Nodes, middles: Nodes, inside: FloatArray) -> tuple[Nodes, Nodes]:
    """Faces turned so that their normal points away from the centroid of their element."""
    away = points[corners[:, 0]] - inside
    flip = np.einsum("fx,fx->f", _area_vectors(points, corners), away)[:, np.newaxis] < 0.0
    other_corners, other_middles = turned_over(corners, middles)
    return np.where(flip, other_corners, corners), np.where(flip, other_middles, middles)


def turned_over(corners: Nodes, middles: Nodes) -> tuple[Nodes, Nodes]:
    """Faces the other way round: corners (f, 4) and mid-side nodes (f, 4) as of `Surface`."""
    triangle = corners[:, 3:] < 0
    return (
        np.where(triangle, corners[:, [2, 1, 0, 3]], corners[:, [3, 2, 1, 0]]),
        np.where(triangle, middles[:, [1, 0, 2, 3]], middles[:, [2, 1, 0, 3]]),
    )


def _area_vectors(points: FloatArray, corners: Nodes) -> FloatArray:
    fourth = np.where(corners[:, 3] < 0, corners[:, 0], corners[:, 3])
    one = points[corners[:, 2]] - points[corners[:, 0]]
    other = points[fourth] - points[corners[:, 1]]
    return np.asarray(np.cross(one, other))


def _unit(vectors: FloatArray) -> FloatArray:
    length = np.linalg.norm(vectors, axis=1, keepdims=True)
    return np.asarray(vectors / np.where(length > 0.0, length, 1.0))
