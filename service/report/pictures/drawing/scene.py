"""The views of a picture: the first from a fixed direction, the second turned to a point that the first hides."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fatcore.require import FloatArray
from fatcore.stress.weld_lines.solid.part import PartSurface

from ..placed import Mark, PlacedLine
from .depth import Cut, DepthBuffer, depth_buffer
from .section import section_cut, section_sight
from .view import FIRST_SIGHT, View, fitted, sight_words, sights

WIDTH_PX, FIRST_PX, SECOND_PX, MARGIN_PX = 720, 440, 380, 40
_SMALL_SHARE = 0.2  # of the part's diagonal: a shorter line is shown once more from nearer
_SMALL_PX = 300  # width of the views that are only tried


@dataclass(frozen=True, slots=True, kw_only=True)
class Shot:
    """A view with what it sees: depth where there is a part, cut where the part is cut open."""

    title: str
    view: View
    depth: DepthBuffer | None = None
    cut: Cut | None = None


def shots(lines: Sequence[PlacedLine], part: PartSurface | None, mark: Mark | None) -> list[Shot]:
    """One view, or two where the first hides the marked station or shows its line too small."""
    first = _first(lines, part)
    if part is None or mark is None or first.depth is None:
        return [first]
    point, near = lines[mark.line].coordinates_mm[mark.station], _near(lines[mark.line], part)
    if not _seen(first.view, first.depth, point):
        return [first, _turned(lines, part, point, near) or _section(lines[mark.line], part, mark, near)]
    if near is part.points_mm:
        return [first]
    return [first, _shot("closer to the governing point", FIRST_SIGHT, part, near)]


def _near(line: PlacedLine, part: PartSurface) -> FloatArray:
    """Points to be shown in a second view: the part, or what is round the line where that is small."""
    low, high = line.coordinates_mm.min(axis=0), line.coordinates_mm.max(axis=0)
    size = float(np.linalg.norm(high - low))
    if size >= _SMALL_SHARE * float(np.linalg.norm(np.ptp(part.points_mm, axis=0))):
        return part.points_mm
    return np.array([low - size, high + size])


def _shot(title: str, sight: Sequence[float] | FloatArray, part: PartSurface, near: FloatArray) -> Shot:
    view = fitted(sight, near, (WIDTH_PX, SECOND_PX), MARGIN_PX)
    depth = depth_buffer(view, view.project(part.points_mm), part.triangles)
    return Shot(title=f"{title}: from {sight_words(view.sight)}", view=view, depth=depth)


def _first(lines: Sequence[PlacedLine], part: PartSurface | None) -> Shot:
    points = np.vstack([*(line.coordinates_mm for line in lines), *([] if part is None else [part.points_mm])])
    view = fitted(FIRST_SIGHT, points, (WIDTH_PX, FIRST_PX), MARGIN_PX)
    depth = None if part is None else depth_buffer(view, view.project(part.points_mm), part.triangles)
    return Shot(title=f"seen from {sight_words(view.sight)}", view=view, depth=depth)


def _seen(view: View, depth: DepthBuffer, point_mm: FloatArray) -> bool:
    return bool(depth.sees(view.project(point_mm[np.newaxis]))[0])


def _turned(lines: Sequence[PlacedLine], part: PartSurface, point_mm: FloatArray, near: FloatArray) -> Shot | None:
    """The direction that shows the point and most of all lines, a usual one before others; None where none does."""
    for group in sights():
        shares = [(_share(sight, lines, part, point_mm), sight) for sight in group]
        for share, sight in sorted(shares, key=lambda each: -each[0]):
            if share < 0.0:
                break
            shot = _shot("turned to the governing point", sight, part, near)
            if shot.depth is not None and _seen(shot.view, shot.depth, point_mm):
                return shot
    return None


def _share(sight: FloatArray, lines: Sequence[PlacedLine], part: PartSurface, point_mm: FloatArray) -> float:
    """How well a direction shows the point and the share of all stations; -1 where it hides the point."""
    view = fitted(sight, part.points_mm, (_SMALL_PX, _SMALL_PX), 2)
    depth = depth_buffer(view, view.project(part.points_mm), part.triangles)
    if not _seen(view, depth, point_mm):
        return -1.0
    stations = view.project(np.vstack([line.coordinates_mm for line in lines]))
    return depth.around(view.project(point_mm)) + float(depth.sees(stations).mean())


def _section(line: PlacedLine, part: PartSurface, mark: Mark, near: FloatArray) -> Shot:
    """Cut open at the station, square to its line."""
    point = line.coordinates_mm[mark.station]
    normal, sight = section_sight(_tangent(line, mark.station))
    left = near[(near - point) @ normal <= 0.0]
    view = fitted(sight, np.vstack([left, point]), (WIDTH_PX, SECOND_PX), MARGIN_PX)
    cut = section_cut(view, point, normal)
    depth = depth_buffer(view, view.project(part.points_mm), part.triangles, cut)
    title = f"cut at the governing point, square to its line: from {sight_words(view.sight)}"
    return Shot(title=title, view=view, depth=depth, cut=cut)


def _tangent(line: PlacedLine, station: int) -> FloatArray:
    """Direction of a line at a station, between its neighbours; of a line without length the first view's."""
    points, count = line.coordinates_mm, len(line.coordinates_mm)
    ends = (station - 1, station + 1) if line.closed else (max(station - 1, 0), min(station + 1, count - 1))
    way = points[ends[1] % count] - points[ends[0] % count]
    way = way if way.any() else np.array(FIRST_SIGHT)
    return np.asarray(way / np.linalg.norm(way))
