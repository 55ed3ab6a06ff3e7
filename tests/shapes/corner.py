"""An inner corner of unit bricks, the same in every kind of solid element."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Nodes = NDArray[np.int64]
Points = NDArray[np.float64]

MIDDLES = {  # sides with a mid-side node, in the order of the format
    "tet10": "01 12 02 03 13 23",
    "brick20": "01 12 23 30 45 56 67 74 04 15 26 37",
    "wedge15": "01 12 20 34 45 53 03 14 25",
    "pyramid13": "01 12 23 30 04 14 24 34",
}
_CUBE = np.array([[x, y, z] for z in (0, 1) for x, y in ((0, 0), (1, 0), (1, 1), (0, 1))], dtype=float)
_CELLS = ((0, 0), (1, 0), (0, 1))  # x and z of the bricks of a row


def corner_of(element: str, rows: int = 4) -> tuple[Points, Nodes]:
    """Points and node numbers of an inner corner along y, its re-entrant edge at x = z = 1."""
    cubes = np.vstack([_CUBE + np.array([x, y, z]) for y in range(rows) for x, z in _CELLS])
    points, back = np.unique(cubes, axis=0, return_inverse=True)
    shape = element.rstrip("0123456789")
    points, cells = _split(points, back.reshape(-1, 8).astype(np.int64), shape)
    return with_middles(points, cells, element) if element in MIDDLES else (points, cells)


def _split(points: Points, bricks: Nodes, shape: str) -> tuple[Points, Nodes]:
    if shape == "brick":
        return points, bricks
    if shape == "pyramid":
        faces = [[0, 1, 2, 3], [4, 5, 6, 7], [0, 1, 5, 4], [1, 2, 6, 5], [2, 3, 7, 6], [3, 0, 4, 7]]
        tops = np.arange(len(bricks))[:, np.newaxis] + len(points)
        cells = np.vstack([np.hstack([bricks[:, face], tops]) for face in faces])
        return np.vstack([points, points[bricks].mean(axis=1)]), cells
    wedges = np.vstack([bricks[:, [0, 1, 2, 4, 5, 6]], bricks[:, [0, 2, 3, 4, 6, 7]]])
    return points, wedges if shape == "wedge" else tetrahedra(wedges)


def tetrahedra(wedges: Nodes) -> Nodes:
    """Three tetrahedra a wedge, cut along the same diagonal from both sides of a face."""
    order = np.argsort(wedges[:, :3], axis=1)
    a, b, c = np.take_along_axis(wedges[:, :3], order, axis=1).T
    d, e, f = np.take_along_axis(wedges[:, 3:], order, axis=1).T
    return np.vstack([np.column_stack(rows) for rows in ((a, b, c, f), (a, b, e, f), (a, d, e, f))])


def with_middles(points: Points, cells: Nodes, element: str) -> tuple[Points, Nodes]:
    """The same with a node in the middle of every side."""
    sides = [[int(end) for end in side] for side in MIDDLES[element].split()]
    pairs = np.sort(np.vstack([cells[:, side] for side in sides]), axis=1)
    unique, back = np.unique(pairs, axis=0, return_inverse=True)
    middles = back.reshape(len(sides), -1).T + len(points)
    return np.vstack([points, points[unique].mean(axis=1)]), np.hstack([cells, middles])
