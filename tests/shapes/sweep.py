"""Solid meshes by sweeping a triangulated section: straight, round an axis, or through any map of space.

Plain numpy and scipy; the shapes are invented and stand for nothing but their edges.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import Delaunay

from fatcore.stress.weld_lines.solid.mesh import SolidMesh, solid_mesh
from tests.shapes.corner import tetrahedra

Points = NDArray[np.float64]
Nodes = NDArray[np.int64]
Outline = list[tuple[float, float]]
Map = Callable[[Points], Points]

_WEDGE_SIDES = ((0, 1), (1, 2), (2, 0), (3, 4), (4, 5), (5, 3), (0, 3), (1, 4), (2, 5))
_TET_SIDES = ((0, 1), (1, 2), (0, 2), (0, 3), (1, 3), (2, 3))


def section(outline: Outline, size: float) -> tuple[Points, Nodes]:
    """Triangles inside a closed outline whose sides are divided into steps of about `size`."""
    corners = np.array(outline, dtype=float)
    rim = np.concatenate([_divided(a, b, size) for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True)])
    low, high = corners.min(axis=0), corners.max(axis=0)
    rows = [
        [x + (0.5 * size if row % 2 else 0.0), y]
        for row, y in enumerate(np.arange(low[1], high[1], 0.87 * size))
        for x in np.arange(low[0], high[0] + size, size)
    ]
    grid = np.array(rows)
    inner = grid[inside(grid, corners) & (_distance(grid, corners) > 0.55 * size)]
    points = np.vstack([rim, inner])
    triangles = Delaunay(points).simplices.astype(np.int64)
    corner = points[triangles]
    one, other = corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
    area = one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0]
    kept = inside(corner.mean(axis=1), corners) & (np.abs(area) > 1e-9 * size**2)
    triangles, area = triangles[kept], area[kept]
    triangles[area < 0.0] = triangles[area < 0.0][:, ::-1]
    _guard_rim(triangles, len(rim))
    return points, triangles


def _divided(a: Points, b: Points, size: float) -> Points:
    count = max(1, round(float(np.linalg.norm(b - a)) / size))
    return np.linspace(a, b, count, endpoint=False)


def inside(points: Points, outline: Points) -> NDArray[np.bool_]:
    """Which points lie inside an outline, by crossings of a ray."""
    x, y = points.T
    found = np.zeros(len(points), dtype=bool)
    for (ax, ay), (bx, by) in zip(outline, np.roll(outline, -1, axis=0), strict=True):
        if ay != by:
            found ^= ((ay > y) != (by > y)) & (x < (bx - ax) * (y - ay) / (by - ay) + ax)
    return found


def _distance(points: Points, outline: Points) -> Points:
    distances = []
    for a, b in zip(outline, np.roll(outline, -1, axis=0), strict=True):
        share = np.clip((points - a) @ (b - a) / ((b - a) @ (b - a)), 0.0, 1.0)
        distances.append(np.linalg.norm(points - a - share[:, np.newaxis] * (b - a), axis=1))
    return np.min(distances, axis=0)


def _guard_rim(triangles: Nodes, count: int) -> None:
    pairs = {frozenset(pair) for row in triangles.tolist() for pair in zip(row, [*row[1:], row[0]], strict=True)}
    missing = [k for k in range(count) if frozenset((k, (k + 1) % count)) not in pairs]
    assert not missing, f"the outline is cut at points {missing}: choose another size"


def swept(
    points: Points, triangles: Nodes, stations: Points, *, closed: bool = False, element: str = "wedge6", place: Map
) -> SolidMesh:
    """The section carried to every station; `place` takes (u, v, station) to (x, y, z), mid-side nodes too.

    closed : the last station is followed by the first, a whole turn later
    """
    count = len(points)
    steps = len(stations) - (0 if closed else 1)
    flat = np.vstack([np.column_stack([points, np.full(count, at)]) for at in stations])
    top = [(k + 1) % len(stations) for k in range(steps)]
    wedges = np.vstack([np.hstack([triangles + k * count, triangles + top[k] * count]) for k in range(steps)])
    turn = float(stations[1] - stations[0]) * len(stations) if closed else 0.0
    if element.startswith("tet"):
        wedges = tetrahedra(wedges)
    sides = _TET_SIDES if element.startswith("tet") else _WEDGE_SIDES
    if element in ("wedge15", "tet10"):
        flat, wedges = _with_middles(flat, wedges, sides, turn)
    return solid_mesh(place(flat), [(element, wedges)])


def _with_middles(
    flat: Points, elements: Nodes, sides: tuple[tuple[int, int], ...], turn: float
) -> tuple[Points, Nodes]:
    pairs = np.sort(np.vstack([elements[:, list(side)] for side in sides]), axis=1)
    unique, back = np.unique(pairs, axis=0, return_inverse=True)
    one, other = flat[unique[:, 0]].copy(), flat[unique[:, 1]]
    if turn:
        one[:, 2] += np.where(other[:, 2] - one[:, 2] > turn / 2.0, turn, 0.0)
    middles = back.reshape(len(sides), -1).T + len(flat)
    return np.vstack([flat, (one + other) / 2.0]), np.hstack([elements, middles])


def straight(flat: Points) -> Points:
    """Section in x and z, swept along y."""
    return np.column_stack([flat[:, 0], flat[:, 2], flat[:, 1]])


def around_axis(flat: Points) -> Points:
    """Section in radius and z, swept round z by an angle in radians."""
    return np.column_stack([flat[:, 0] * np.cos(flat[:, 2]), flat[:, 0] * np.sin(flat[:, 2]), flat[:, 1]])


def bent(points: Points, radius: float) -> Points:
    """A plate in x, y laid round a cylinder along x."""
    angle, out = points[:, 1] / radius, radius + points[:, 2]
    return np.column_stack([points[:, 0], out * np.sin(angle), out * np.cos(angle)])
