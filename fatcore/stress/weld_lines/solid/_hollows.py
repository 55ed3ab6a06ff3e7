"""Edges between the flats of a rounded hollow: a hole, a cast or machined radius, none of them a weld."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

from fatcore.require import FloatArray
from fatcore.stress.weld_lines.solid._edges import Edges, Sides, edge_nodes, edges_of, sides_of
from fatcore.stress.weld_lines.solid._surface import Index, Surface
from fatcore.stress.weld_lines.solid.elements import Nodes
from fatcore.stress.weld_lines.solid.symmetry import SymmetryPlane, ends_of_part, whole_surface

# All of these were set on shapes of our own making: tests/core/test_weld_lines_shapes.py says what else they tell
_LEAST_OPENING_DEG = 115.0  # an edge between flats turns less than a corner of a weld
_FARTHER = 1.2  # times the distance of the face beside the edge: the next face behind it
_BESIDE = 1.2  # edge lengths along the edge
_LEAST_TILT_DEG, _LEAST_CONVEX_DEG = 3.0, -30.0  # in line with the face, or beyond a rim: says nothing
_ALONG = 0.5  # a face that looks along the edge lies across a rim
_SHARE = 0.3  # of the rate at the edge itself
_AS_MUCH = 0.8  # of that rate, on one side: the last flat of a hollow, which turns less than those beside it
MOST_FACES = 200  # of a node whose faces are looked at: with more the pairs of them would grow beyond bounds

Flags = NDArray[np.bool_]
Judge = Callable[[FloatArray], Flags]  # of the turning beside edges over their own, on either side (2, e)


def in_rounded_hollow(surface: Surface, sides: Sides, edges: Edges, candidates: Index) -> Flags:
    """Whether the surface goes on turning on both sides of an edge, as it does between flats of a hollow.

    A weld toe has a flat or convex face on one side at least. Beside a flat end of the part, where the
    faces stop, they count as if they went on as their mirror image: a hollow cut through stays one.
    candidates : of the edges; Returns one flag each
    Source     : [independent-geometry]
    """
    return _judged(surface, sides, edges, candidates, _on_both_sides)


def turns_as_much_beside(surface: Surface, sides: Sides, edges: Edges, candidates: Index) -> Flags:
    """Whether an edge is no sharper than what is beside it: in a hollow, or at the end of one.

    candidates : of the edges; Returns one flag each
    """
    return _judged(surface, sides, edges, candidates, _on_both_sides_or_as_much)


def _on_both_sides(shares: FloatArray) -> Flags:
    return np.asarray((shares > _SHARE).all(axis=0))


def _on_both_sides_or_as_much(shares: FloatArray) -> Flags:
    return np.asarray(_on_both_sides(shares) | (shares > _AS_MUCH).any(axis=0))


def _judged(surface: Surface, sides: Sides, edges: Edges, candidates: Index, judge: Judge) -> Flags:
    flags = np.zeros(len(candidates), dtype=bool)
    wide = np.flatnonzero(edges.opening_deg[candidates] >= _LEAST_OPENING_DEG)
    flags[wide] = _turning_on(surface, sides, edges, candidates[wide], judge)
    for plane in ends_of_part(surface.points_mm):
        rest = wide[~flags[wide]]
        beside = rest[_beside(surface, sides, edges, candidates[rest], plane)]
        flags[beside] = _turning_on_mirrored(surface, sides, edges, candidates[beside], plane, judge)
    return flags


def _turning_on(surface: Surface, sides: Sides, edges: Edges, chosen: Index, judge: Judge) -> Flags:
    if len(chosen) == 0:
        return np.zeros(0, dtype=bool)
    rates = [_rates(surface, sides, edges, chosen, ahead) for ahead in (True, False)]
    halves = [
        _half_width(surface, sides, near[chosen], reach)
        for near, (_, reach) in zip((edges.forward, edges.backward), rates, strict=True)
    ]
    turning = (180.0 - edges.opening_deg[chosen]) / (halves[0] + halves[1])
    return judge(np.stack([rate for rate, _ in rates]) / turning)


def _half_width(surface: Surface, sides: Sides, side: Index, reach: FloatArray) -> FloatArray:
    """Half of the flat across the edge: the middle of a triangle lies at a third of it."""
    return np.where(surface.sizes[sides.face[side]] == 3, 1.5, 1.0) * reach


def _beside(surface: Surface, sides: Sides, edges: Edges, chosen: Index, plane: SymmetryPlane) -> Flags:
    """Edges with a face that reaches the plane, and not in it themselves."""
    on_plane = np.append(
        plane.holds(surface.points_mm, surface.edge_mm()), False
    )  # the last for the missing corner of a triangle
    faces = np.stack([sides.face[edges.forward[chosen]], sides.face[edges.backward[chosen]]])
    touching = on_plane[surface.corners[faces]].any(axis=(0, 2))
    return np.asarray(touching & ~on_plane[edge_nodes(sides, edges)[chosen]].all(axis=1))


def _turning_on_mirrored(
    surface: Surface, sides: Sides, edges: Edges, chosen: Index, plane: SymmetryPlane, judge: Judge
) -> Flags:
    """As `_turning_on`, in the surface round these edges with its mirror image."""
    if len(chosen) == 0:
        return np.zeros(0, dtype=bool)
    faces = np.concatenate([sides.face[edges.forward[chosen]], sides.face[edges.backward[chosen]]])
    near = np.unique(_neighbours(surface, faces)[1])
    part = Surface(surface.points_mm, surface.corners[near], surface.middles[near], surface.block[near])
    whole = whole_surface(part, [plane])
    part_sides = sides_of(whole)
    part_edges = edges_of(part_sides)
    same = _rows_of(edge_nodes(sides, edges)[chosen], edge_nodes(part_sides, part_edges))
    return _turning_on(whole, part_sides, part_edges, same, judge)


def _rows_of(wanted: Nodes, nodes: Nodes) -> Index:
    """Where each pair of nodes stands among others, whichever way round."""
    places = {frozenset(pair): at for at, pair in enumerate(nodes.tolist())}
    return np.array([places[frozenset(pair)] for pair in wanted.tolist()], dtype=np.intp)


def _rates(surface: Surface, sides: Sides, edges: Edges, chosen: Index, ahead: bool) -> tuple[FloatArray, FloatArray]:
    """Turning of the surface behind one face of each edge [deg/mm], and how far that face's middle is [mm]."""
    near, far = (edges.forward, edges.backward) if ahead else (edges.backward, edges.forward)
    side, other = near[chosen], sides.face[far[chosen]]
    own = sides.face[side]
    points, centroids = surface.points_mm, surface.centroids()
    middle = (points[sides.start[side]] + points[sides.end[side]]) / 2.0
    inward, along = sides.inward[side], sides.along[side]
    reach = np.einsum("ex,ex->e", centroids[own] - middle, inward)
    edge, face = _neighbours(surface, own)
    arm = centroids[face] - middle[edge]
    distance = np.einsum("ex,ex->e", arm, inward[edge])
    sideways = np.abs(np.einsum("ex,ex->e", arm, along[edge]))
    normals = surface.normals()
    tilt, lean = _tilts(normals[face], normals[own][edge], inward[edge], along[edge])
    counted = (
        (face != own[edge])
        & (face != other[edge])
        & (distance > _FARTHER * reach[edge])
        & (sideways < _BESIDE * sides.length_mm[side][edge])
        & (np.abs(tilt) > _LEAST_TILT_DEG)
        & (tilt > _LEAST_CONVEX_DEG)
        & (lean < _ALONG)
    )
    rate = tilt[counted] / (distance[counted] - reach[edge[counted]])
    number = np.bincount(edge[counted], minlength=len(chosen))
    return np.bincount(edge[counted], rate, minlength=len(chosen)) / np.maximum(number, 1), reach


def _tilts(face: FloatArray, own: FloatArray, inward: FloatArray, along: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Turn of a face's normal towards the void [deg], and how much it looks along the edge."""
    turn = np.arctan2(-np.einsum("ex,ex->e", face, inward), np.einsum("ex,ex->e", face, own))
    return np.asarray(np.degrees(turn)), np.abs(np.einsum("ex,ex->e", face, along))


def _neighbours(surface: Surface, faces: Index) -> tuple[Index, Index]:
    """Rows (index into faces, face that shares a corner with it); nodes of too many faces are left out."""
    row, place = np.nonzero(surface.corners >= 0)
    columns = surface.corners[row, place]
    few = np.bincount(columns, minlength=len(surface.points_mm))[columns] <= MOST_FACES
    row, columns = row[few], columns[few]
    shape = (len(surface.corners), len(surface.points_mm))
    corner = csr_array((np.ones(len(row), dtype=np.int8), (row, columns)), shape=shape)
    shared = (corner[faces] @ corner.T).tocsr()
    edge = np.repeat(np.arange(len(faces)), np.diff(shared.indptr))
    return edge, shared.indices.astype(np.intp)
