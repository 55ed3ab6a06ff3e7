"""Sides of the faces of a surface, and its edges: which two faces meet in the void, at which opening angle."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fatcore.require import FloatArray
from fatcore.stress.weld_lines.solid._surface import Index, Surface
from fatcore.stress.weld_lines.solid.elements import Nodes

# a slit of no thickness reads 0 or 360 deg by rounding; material of less than 10 deg is no element
_SLIT_DEG = 350.0


@dataclass(frozen=True, slots=True)
class Sides:
    """Every side of every face, from its first to its second node with the face on the left seen from outside.

    face, place   : of the surface, and which side of it (s,)
    start, end    : node numbers (s,); middle: mid-side node or -1
    along         : unit vectors from start to end (s, 3); length_mm (s,)
    inward        : unit vectors into the face at the middle of the side, square to it (s, 3)
    """

    face: Index
    place: Index
    start: Nodes
    end: Nodes
    middle: Nodes
    along: FloatArray
    length_mm: FloatArray
    inward: FloatArray


def sides_of(surface: Surface) -> Sides:
    """All sides of the faces.

    The direction into the face is the derivative of its shape functions across the side at the middle of
    the side, so that warped and curved faces count as they are there.
    Source : [independent-geometry]
    """
    sizes = surface.sizes
    face = np.repeat(np.arange(len(sizes)), sizes)
    place = (np.arange(len(face)) - np.repeat(np.cumsum(sizes) - sizes, sizes)).astype(np.intp)
    size = sizes[face]
    turned = [(place + step) % size for step in range(4)]
    corner = [surface.corners[face, at] for at in turned]
    start, end = corner[0], corner[1]
    points = surface.points_mm
    along, length = _normed(points[end] - points[start])
    across = _across(surface, face, turned, corner)
    square = across - np.einsum("sx,sx->s", across, along)[:, np.newaxis] * along
    return Sides(face, place, start, end, surface.middles[face, place], along, length, _normed(square)[0])


def _across(surface: Surface, face: Index, turned: list[Index], corner: list[Nodes]) -> FloatArray:
    """Derivative across the side, by the kind of face: three or four corners, with or without mid-side nodes."""
    points = surface.points_mm
    triangle = surface.corners[face, 3] < 0
    a, b, c, d = (points[nodes] for nodes in corner)
    straight = np.where(triangle[:, np.newaxis], c - (a + b) / 2.0, (c + d - a - b) / 2.0)
    curved = surface.middles[face, 0] >= 0
    if not curved.any():
        return np.asarray(straight)
    middle = [points[surface.middles[face, at]] for at in turned]
    six = -(a + b) / 2.0 - c - 2.0 * middle[0] + 2.0 * middle[1] + 2.0 * middle[2]
    eight = -(a + b + c + d) / 2.0 + (middle[2] - middle[0]) / 2.0 + middle[1] + middle[3]
    quadratic = np.where(triangle[:, np.newaxis], six, eight)
    return np.asarray(np.where(curved[:, np.newaxis], quadratic, straight))


def _normed(vectors: FloatArray) -> tuple[FloatArray, FloatArray]:
    length = np.linalg.norm(vectors, axis=1)
    return vectors / np.where(length > 0.0, length, 1.0)[:, np.newaxis], length


@dataclass(frozen=True, slots=True)
class Edges:
    """Pairs of sides that meet in one edge with void between them.

    forward, backward : sides (e,); the first runs along the edge, the second against it
    opening_deg       : angle of the void (e,), 180 where flat, 0 at a slit
    bisector          : unit vectors into the material (e, 3)
    unpaired          : sides without a partner: the mesh is not closed there
    shared            : edges in which more than two faces meet
    """

    forward: Index
    backward: Index
    opening_deg: FloatArray
    bisector: FloatArray
    unpaired: Index
    shared: int


def edges_of(sides: Sides) -> Edges:
    """All edges with their opening angle at the middle of the edge.

    Source : [independent-geometry]
    """
    forward, backward, unpaired, shared = _pairs(sides)
    one, other = sides.inward[forward], sides.inward[backward]
    opening = void_angle_deg(sides.along[forward], one, other)
    opening = np.where(opening > _SLIT_DEG, 0.0, opening)
    return Edges(forward, backward, opening, _bisector(sides.along[forward], one, other), unpaired, shared)


def void_angle_deg(along: FloatArray, forward: FloatArray, backward: FloatArray) -> FloatArray:
    """Angle of the void from the face of the forward side to that of the backward side, 0 to 360.

    along, forward, backward : unit vectors (e, 3), the latter two into their faces
    """
    sine = np.einsum("ex,ex->e", along, np.cross(forward, backward))
    return np.asarray(np.degrees(np.arctan2(sine, np.einsum("ex,ex->e", forward, backward))) % 360.0)


def _bisector(along: FloatArray, one: FloatArray, other: FloatArray) -> FloatArray:
    """Into the material: against the sum of the two directions, or square to both where they are opposite."""
    total = -(one + other)
    length = np.linalg.norm(total, axis=1, keepdims=True)
    flat = np.cross(one, along)
    return np.asarray(np.where(length > 1e-6, total / np.where(length > 1e-6, length, 1.0), flat))


def _pairs(sides: Sides) -> tuple[Index, Index, Index, int]:
    low, high = np.minimum(sides.start, sides.end), np.maximum(sides.start, sides.end)
    order = np.lexsort((sides.start > sides.end, high, low))
    first = np.ones(len(order), dtype=bool)
    first[1:] = (np.diff(low[order]) != 0) | (np.diff(high[order]) != 0)
    begin = np.flatnonzero(first)
    size = np.diff(np.append(begin, len(order)))
    two = begin[size == 2]
    forward, backward = order[two], order[two + 1]
    opposite = sides.start[forward] == sides.end[backward]
    groups = [order[at : at + count] for at, count in zip(begin[size > 2], size[size > 2], strict=True)]
    more, lost = _sectors(sides, groups)
    unpaired = np.concatenate([order[begin[size == 1]], forward[~opposite], backward[~opposite], lost])
    return (
        np.concatenate([forward[opposite], more[:, 0]]),
        np.concatenate([backward[opposite], more[:, 1]]),
        unpaired.astype(np.intp),
        len(groups),
    )


def _sectors(sides: Sides, groups: list[Index]) -> tuple[Index, Index]:
    """Void sectors round edges of more than two faces: from every forward side to the next face round it."""
    pairs: list[Index] = []
    lost: list[int] = []
    for group in groups:
        ahead = sides.start[group] < sides.end[group]
        if 2 * int(ahead.sum()) != len(group):
            lost.extend(group.tolist())
            continue
        along = sides.along[group[ahead][0]]
        reference = sides.inward[group[ahead][0]]
        angle = void_angle_deg(
            np.broadcast_to(along, (len(group), 3)), np.broadcast_to(reference, (len(group), 3)), sides.inward[group]
        )
        pairs.extend(_matched(group, ahead, np.where(angle > _SLIT_DEG, angle - 360.0, angle)))
    return np.array(pairs, dtype=np.intp).reshape(-1, 2), np.array(lost, dtype=np.intp)


def _matched(group: Index, ahead: np.ndarray[tuple[int], np.dtype[np.bool_]], angle: FloatArray) -> list[Index]:
    """Each forward side with the backward side that follows it round the edge."""
    forward, backward = group[ahead], group[~ahead]
    order = np.argsort(angle[~ahead] % 360.0, kind="stable")
    earliest = (angle[ahead] - (360.0 - _SLIT_DEG)) % 360.0  # a face just before it lies at the other side of a slit
    nearest = order[np.searchsorted((angle[~ahead] % 360.0)[order], earliest) % len(order)]
    return [np.array([side, backward[at]]) for side, at in zip(forward, nearest, strict=True)]


def edge_nodes(sides: Sides, edges: Edges) -> Nodes:
    """Node numbers of the edges (e, 2), in the direction of the forward side."""
    return np.stack([sides.start[edges.forward], sides.end[edges.forward]], axis=1)
