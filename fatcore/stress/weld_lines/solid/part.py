"""Outer surface of a solid mesh as what a picture of the part needs: triangles and the edges worth drawing."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fatcore.require import FloatArray, finite
from fatcore.stress.weld_lines.solid._edges import edge_nodes, edges_of, sides_of
from fatcore.stress.weld_lines.solid._surface import Surface, surface_of
from fatcore.stress.weld_lines.solid.elements import Nodes
from fatcore.stress.weld_lines.solid.mesh import SolidMesh

_SHARP_DEG = 30.0  # faces that turn by more meet in an edge of the part, not of the mesh
_FLAT_DEG = 1.0  # a plane seen along itself has no outline inside


@dataclass(frozen=True, slots=True, kw_only=True)
class PartSurface:
    """The outer surface of a part.

    points_mm    : points of the surface (n, 3)
    triangles    : their numbers (t, 3), counter-clockwise seen from outside
    edges        : numbers of the ends of all edges between faces (e, 2)
    edge_normals : outward unit normals of the two faces beside each edge (e, 2, 3)
    turning_deg  : by how much the faces turn at the edge (e,), 0 where flat
    """

    points_mm: FloatArray
    triangles: Nodes
    edges: Nodes
    edge_normals: FloatArray
    turning_deg: FloatArray

    def feature_edges(self, sight: ArrayLike) -> Nodes:
        """Edges to be drawn (k, 2): faces turn by more than 30 deg, or one is seen and the other is not.

        sight : direction from the part to the eye (3,)
        """
        front = self.edge_normals @ finite("sight", sight) > 0.0
        outline = (front[:, 0] != front[:, 1]) & (self.turning_deg > _FLAT_DEG)
        return np.asarray(self.edges[outline | (self.turning_deg > _SHARP_DEG)])


def part_surface(mesh: SolidMesh) -> PartSurface:
    """The surface of a mesh, slits included; curved faces by their corners.

    Raises : InputError where elements lie twice in the mesh
    Source : [independent-geometry]
    """
    surface = surface_of(mesh)
    sides = sides_of(surface)
    edges = edges_of(sides)
    faces = np.stack([sides.face[edges.forward], sides.face[edges.backward]], axis=1)
    triangles = _triangles(surface)
    used = np.unique(triangles)
    number = np.zeros(len(surface.points_mm), dtype=np.int64)
    number[used] = np.arange(len(used))
    return PartSurface(
        points_mm=surface.points_mm[used],
        triangles=number[triangles],
        edges=number[edge_nodes(sides, edges)],
        edge_normals=surface.normals()[faces],
        turning_deg=np.abs(180.0 - edges.opening_deg),
    )


def _triangles(surface: Surface) -> NDArray[np.int64]:
    """Triangular faces, and quadrilaterals as two."""
    corners = surface.corners
    return np.vstack([corners[:, :3], corners[corners[:, 3] >= 0][:, [0, 2, 3]]])
