"""Faces of solid elements: corner and mid-side nodes, in the order that mesh formats share."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fatcore.stress.weld_lines.solid.elements import Nodes, SolidElement, corner_count, node_count, shape_of

_FACES = {
    "tet": ((0, 1, 2), (0, 1, 3), (1, 2, 3), (0, 2, 3)),
    "brick": ((0, 1, 2, 3), (4, 5, 6, 7), (0, 1, 5, 4), (1, 2, 6, 5), (2, 3, 7, 6), (3, 0, 4, 7)),
    "wedge": ((0, 1, 2), (3, 4, 5), (0, 1, 4, 3), (1, 2, 5, 4), (2, 0, 3, 5)),
    "pyramid": ((0, 1, 2, 3), (0, 1, 4), (1, 2, 4), (2, 3, 4), (3, 0, 4)),
}
# the sides that carry the mid-side nodes, in their order behind the corners
_SIDES = {
    "tet": ((0, 1), (1, 2), (0, 2), (0, 3), (1, 3), (2, 3)),
    "brick": ((0, 1), (1, 2), (2, 3), (3, 0), (4, 5), (5, 6), (6, 7), (7, 4), (0, 4), (1, 5), (2, 6), (3, 7)),
    "wedge": ((0, 1), (1, 2), (2, 0), (3, 4), (4, 5), (5, 3), (0, 3), (1, 4), (2, 5)),
    "pyramid": ((0, 1), (1, 2), (2, 3), (3, 0), (0, 4), (1, 4), (2, 4), (3, 4)),
}


@dataclass(frozen=True, slots=True)
class FaceTable:
    """Local corners of the faces (m, 4), mid-side nodes from corner k to the next (m, 4); -1: none."""

    corners: Nodes
    middles: Nodes


def sides_with_middles(element: SolidElement) -> list[tuple[tuple[int, int], int]]:
    """Local ends and mid-side node of each side of an element; none where it has no mid-side nodes."""
    corners = corner_count(element)
    if node_count(element) == corners:
        return []
    return [(side, corners + at) for at, side in enumerate(_SIDES[shape_of(element)])]


def sides_of_element(element: SolidElement) -> tuple[tuple[int, int], ...]:
    """Local ends of each side of an element."""
    return _SIDES[shape_of(element)]


def face_table(element: SolidElement) -> FaceTable:
    """The faces of an element by local node numbers.

    >>> face_table("tet10").middles[0].tolist()
    [4, 5, 6, -1]
    """
    shape = shape_of(element)
    middle = {frozenset(side): at for side, at in sides_with_middles(element)}
    corners, middles = [], []
    for face in _FACES[shape]:
        sides = [frozenset((face[k], face[(k + 1) % len(face)])) for k in range(len(face))]
        corners.append([*face, *[-1] * (4 - len(face))])
        middles.append([*(middle.get(side, -1) for side in sides), *[-1] * (4 - len(face))])
    return FaceTable(np.array(corners, dtype=np.int64), np.array(middles, dtype=np.int64))
