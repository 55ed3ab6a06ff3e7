"""Sides of surface faces: where they run, and how the face leaves them into its own plane."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fatcore.require import FloatArray
from fatcore.stress.weld_lines.solid._surface import Index, Surface
from fatcore.stress.weld_lines.solid.elements import Nodes


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
