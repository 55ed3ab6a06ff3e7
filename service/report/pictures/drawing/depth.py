"""Depth buffer of a triangulated surface: what is seen at each pixel, and whether a point is hidden."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fatcore.require import FloatArray

from .view import View

_SLACK_PX = 2.5  # a point this far behind the surface beside it still lies on it
_AROUND_PX = 4.0
_CHUNK = 1_500_000  # pairs of triangle and pixel at once
_BACK_FIRST_PX = 0.02  # of two faces at one depth the inner side counts: a slit in a section is material
NOTHING, SECTION = -1, -2
# light from the upper left, in front
_LIGHT = np.array([-0.42, -0.62, 0.66])

Pixels = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class DepthBuffer:
    """What is seen at the middle of each pixel, (rows, columns).

    depth_px : towards the eye, -inf where nothing is; farthest_px: the smallest of a pixel and those around it
    face     : number of the triangle, NOTHING, or SECTION where the part is cut
    grey     : share of white of each triangle
    """

    depth_px: FloatArray
    farthest_px: FloatArray
    face: NDArray[np.int64]
    grey: FloatArray

    def sees(self, points_px: FloatArray) -> NDArray[np.bool_]:
        """Which points (n, 3) are not hidden; outside of the picture none is seen."""
        rows, columns = self.depth_px.shape
        column, row = (np.floor(points_px[:, k]).astype(np.intp) for k in (0, 1))
        inside = (column >= 0) & (column < columns) & (row >= 0) & (row < rows)
        far = self.farthest_px[np.clip(row, 0, rows - 1), np.clip(column, 0, columns - 1)]
        return np.asarray(inside & (points_px[:, 2] >= far - _SLACK_PX))

    def around(self, point_px: FloatArray) -> float:
        """Share of places round a point (3,) at which the surface near it is seen: small at an outline."""
        angle = np.arange(8) * np.pi / 4.0
        rows, columns = self.depth_px.shape
        column = np.clip(point_px[0] + _AROUND_PX * np.cos(angle), 0, columns - 1).astype(np.intp)
        row = np.clip(point_px[1] + _AROUND_PX * np.sin(angle), 0, rows - 1).astype(np.intp)
        return float((np.abs(self.depth_px[row, column] - point_px[2]) < 3.0 * _AROUND_PX).mean())

    def shades(self) -> NDArray[np.uint8]:
        """Grey values in few steps, so that the picture packs well: white outside, hatched where cut."""
        shown = np.ones(self.face.shape)
        seen = self.face >= 0
        shown[seen] = self.grey[self.face[seen]]
        cut = np.nonzero(self.face == SECTION)
        shown[cut] = np.where((cut[0] + cut[1]) % 7 < 2, 0.6, 0.88)
        return np.asarray(np.round(np.round(shown * 48.0) / 48.0 * 255.0), dtype=np.uint8)


@dataclass(frozen=True, slots=True)
class Cut:
    """A plane through a point, (3,) each in px of a view; what lies on the side of its normal is taken away."""

    point_px: FloatArray
    normal: FloatArray

    def keeps(self, points_px: FloatArray) -> NDArray[np.bool_]:
        """Which points (n, 3) are left."""
        return np.asarray((points_px - self.point_px) @ self.normal <= 1e-6)

    def depth_px(self, x: FloatArray, y: FloatArray) -> FloatArray:
        """Depth of the plane at places of the picture."""
        across = self.normal[0] * (x - self.point_px[0]) + self.normal[1] * (y - self.point_px[1])
        return np.asarray(self.point_px[2] - across / self.normal[2])


@dataclass(frozen=True, slots=True)
class _Planes:
    """Triangles in the picture: corners, twice their area, the two sides from the first over it, slopes of depth."""

    corners: FloatArray
    area: FloatArray
    one: FloatArray
    other: FloatArray
    slope_x: FloatArray
    slope_y: FloatArray


def depth_buffer(
    view: View, points_px: FloatArray, triangles: NDArray[np.int64], cut: Cut | None = None
) -> DepthBuffer:
    """The buffer of triangles whose corners are counter-clockwise seen from outside.

    Without a cut only faces towards the eye count. With one, material is cut open where the first face
    behind the plane is seen from inside.
    """
    planes = _planes(points_px[triangles])
    front = planes.area < 0.0  # y runs down
    drawn = np.flatnonzero((front if cut is None else True) & (np.abs(planes.area) > 1e-9))
    depth = np.full(view.width_px * view.height_px, -np.inf)
    face = np.full(depth.shape, NOTHING, dtype=np.int64)
    for owner, column, row in _pixels(planes.corners, drawn, view):
        _paint(planes, front, cut, (owner, column, row), view.width_px, depth, face)
    shape = (view.height_px, view.width_px)
    if cut is not None:
        _cap(cut, front, depth.reshape(shape), face.reshape(shape))
    return DepthBuffer(depth.reshape(shape), _farthest(depth.reshape(shape)), face.reshape(shape), _grey(planes))


def _planes(corners: FloatArray) -> _Planes:
    one, other = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    area = one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0]
    over = np.where(np.abs(area) > 1e-9, area, 1.0)
    slope_x = (one[:, 2] * other[:, 1] - other[:, 2] * one[:, 1]) / over
    slope_y = (other[:, 2] * one[:, 0] - one[:, 2] * other[:, 0]) / over
    return _Planes(corners, area, one / over[:, np.newaxis], other / over[:, np.newaxis], slope_x, slope_y)


def _pixels(corners: FloatArray, drawn: Pixels, view: View) -> Iterator[tuple[Pixels, Pixels, Pixels]]:
    """Triangle, column, row of all pixels of the boxes round the triangles, some at a time."""
    flat = corners[drawn, :, :2]
    most = np.array([view.width_px, view.height_px]) - 1.0
    low = np.clip(np.ceil(flat.min(axis=1) - 0.5), 0.0, most + 1.0).astype(np.intp)
    high = np.clip(np.floor(flat.max(axis=1) - 0.5), -1.0, most).astype(np.intp)
    size = np.maximum(high - low + 1, 0)
    count = size[:, 0] * size[:, 1]
    total = np.cumsum(count)
    for at in np.split(np.arange(len(drawn)), np.flatnonzero(np.diff(total // _CHUNK)) + 1):
        which = np.repeat(at, count[at])
        local = np.arange(len(which)) - np.repeat(np.cumsum(count[at]) - count[at], count[at])
        row, column = np.divmod(local, np.maximum(size[which, 0], 1))
        yield drawn[which], low[which, 0] + column, low[which, 1] + row


def _paint(
    planes: _Planes,
    front: NDArray[np.bool_],
    cut: Cut | None,
    pixels: tuple[Pixels, Pixels, Pixels],
    width: int,
    depth: FloatArray,
    face: NDArray[np.int64],
) -> None:
    """Puts the pixels that lie inside their triangle into depth and face where they are nearest."""
    owner, column, row = _inside(planes, *pixels)
    x, y = column + 0.5, row + 0.5
    first = planes.corners[owner, 0]
    z = first[:, 2] + planes.slope_x[owner] * (x - first[:, 0]) + planes.slope_y[owner] * (y - first[:, 1])
    place = row * width + column
    if cut is not None:
        kept = cut.keeps(np.column_stack([x, y, z]))
        owner, place, z = owner[kept], place[kept], (z + np.where(front[owner], 0.0, _BACK_FIRST_PX))[kept]
    np.maximum.at(depth, place, z)
    nearest = z == depth[place]
    face[place[nearest]] = owner[nearest]


def _inside(planes: _Planes, owner: Pixels, column: Pixels, row: Pixels) -> tuple[Pixels, Pixels, Pixels]:
    first, one, other = planes.corners[owner, 0], planes.one[owner], planes.other[owner]
    x, y = column + 0.5 - first[:, 0], row + 0.5 - first[:, 1]
    u = x * other[:, 1] - y * other[:, 0]
    v = one[:, 0] * y - one[:, 1] * x
    within = (u >= -1e-9) & (v >= -1e-9) & (u + v <= 1.0 + 1e-9)
    return owner[within], column[within], row[within]


def _cap(cut: Cut, front: NDArray[np.bool_], depth: FloatArray, face: NDArray[np.int64]) -> None:
    rows, columns = np.nonzero((face >= 0) & ~front[face])
    face[rows, columns] = SECTION
    depth[rows, columns] = cut.depth_px(np.asarray(columns + 0.5), np.asarray(rows + 0.5))


def _farthest(depth: FloatArray) -> FloatArray:
    """Smallest value of every pixel and its eight neighbours."""
    wide = np.pad(depth, 1, mode="edge")
    tall = np.minimum(np.minimum(wide[:-2], wide[1:-1]), wide[2:])
    return np.asarray(np.minimum(np.minimum(tall[:, :-2], tall[:, 1:-1]), tall[:, 2:]))


def _grey(planes: _Planes) -> FloatArray:
    normal = np.stack([-planes.slope_x, -planes.slope_y, np.ones(len(planes.area))], axis=1)
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    light = np.maximum(0.0, normal @ (_LIGHT / np.linalg.norm(_LIGHT)))
    return np.asarray(0.70 + 0.27 * light)
