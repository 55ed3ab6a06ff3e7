"""One view as markup: the part in grey, its edges, the weld lines, the marked station, names, axes."""

from __future__ import annotations

import base64
from collections.abc import Sequence
from itertools import combinations, product

import numpy as np

from fatcore.stress.weld_lines.solid.part import PartSurface

from ..palette import GREY
from ..placed import Mark, PlacedLine
from .depth import DepthBuffer
from .notes import callout, name_labels, ring, triad
from .png import grey_png
from .room import PART, Room
from .scene import Shot
from .section import section_outline
from .strokes import joined, path, seen_segments
from .svg import SMALL_PX, stroke, text, width_px
from .view import View
from .welds import MOST_PIECES, Drawn, drawn, start_marks, weld_strokes


def panel(shot: Shot, lines: Sequence[PlacedLine], part: PartSurface | None, mark: Mark | None, extent: str) -> str:
    """All of a view, its upper left corner at the origin."""
    most = max(MOST_PIECES // len(lines), 50)
    welds = [drawn(line, shot.view, shot.depth, shot.cut, most) for line in lines]
    room = _room(shot, welds)
    if part is None or shot.depth is None:
        below = _box(shot, lines)
    else:
        below = _grey(shot.depth) + _edges(shot, shot.depth, part)
    parts = [below, weld_strokes(welds), start_marks(welds), _title(shot, room), _extent(shot.view, extent, room)]
    parts.append(triad(shot.view, room))
    marked = "" if mark is None else _marked(shot, lines, mark, room)
    parts += [name_labels(welds, room, None if mark is None else mark.line), marked]
    return "".join(parts)


def _room(shot: Shot, welds: Sequence[Drawn]) -> Room:
    cost = np.zeros((shot.view.height_px, shot.view.width_px))
    if shot.depth is not None:
        cost[np.isfinite(shot.depth.depth_px)] = PART
    room = Room(cost)
    for weld in welds:
        room.weld(weld.points_px)
    return room


def _grey(depth: DepthBuffer) -> str:
    height, width = depth.depth_px.shape
    data = base64.b64encode(grey_png(depth.shades())).decode()
    return f'<image width="{width}" height="{height}" href="data:image/png;base64,{data}"/>'


def _edges(shot: Shot, depth: DepthBuffer, part: PartSurface) -> str:
    """Edges of the part that are seen, and the outline of a cut."""
    points = shot.view.project(part.points_mm)
    cut = shot.cut
    edges = points[part.feature_edges(shot.view.sight)]
    seen = seen_segments(edges, lambda at: depth.sees(at) if cut is None else depth.sees(at) & cut.keeps(at))
    outline = np.empty((0, 2, 3)) if cut is None else section_outline(points, part.triangles, cut)
    outline = outline[shot.view.holds(outline).all(axis=1)]
    return stroke(path(joined(seen)), "#555", 0.9) + stroke(path(joined(outline)), "#000", 1.4)


def _box(shot: Shot, lines: Sequence[PlacedLine]) -> str:
    """The box round lines that have no part, since lines alone show no depth."""
    points = np.vstack([line.coordinates_mm for line in lines])
    ends = np.array([points.min(axis=0), points.max(axis=0)])
    corners = np.array(list(product((0, 1), repeat=3)))
    pairs = [(a, b) for a, b in combinations(range(8), 2) if (corners[a] != corners[b]).sum() == 1]
    places = shot.view.project(ends[corners, np.arange(3)])
    return stroke(path(joined(places[list(pair)] for pair in pairs)), "#aaa", 0.8, "2 2")


def _title(shot: Shot, room: Room) -> str:
    room.take((0.0, 0.0, 8.0 + width_px(shot.title, SMALL_PX), 22.0))
    return text((8.0, 16.0), shot.title, size=SMALL_PX, colour=GREY, halo=True)


def _extent(view: View, extent: str, room: Room) -> str:
    right, low, width = view.width_px - 8.0, view.height_px - 8.0, width_px(extent, SMALL_PX)
    room.take((right - width, low - 14.0, width, 20.0))
    return text((right, low), extent, size=SMALL_PX, anchor="end", colour=GREY, halo=True)


def _marked(shot: Shot, lines: Sequence[PlacedLine], mark: Mark, room: Room) -> str:
    point = shot.view.project(lines[mark.line].coordinates_mm[mark.station][np.newaxis])
    seen = shot.depth is None or bool(shot.depth.sees(point)[0])
    place = (float(point[0, 0]), float(point[0, 1]))
    return callout(place, mark.words, room) + ring(place, seen)
