"""Weld lines in a view: colour and width by utilisation, dotted where not judged, thin and dashed where hidden."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fatcore.require import FloatArray

from ..palette import BLUE, BOUNDS, STEPS, WIDTHS
from ..placed import PlacedLine
from .depth import Cut, DepthBuffer
from .strokes import Place, divided, path, runs
from .svg import circle, stroke, triangle
from .view import View

HIDDEN_DASH, UNJUDGED_DASH, HIDDEN_UNJUDGED_DASH = "6 3.5", "1.6 2.6", "1.6 5"
HIDDEN_PX, UNJUDGED_PX = 1.6, 2.0
PLAIN = -1  # nothing was calculated
_LIMIT = len(BOUNDS) - BOUNDS[::-1].index(1.0)  # first step beyond the limit
_ARROW_PX = 16.0
_CELL_PX = 1.5
MOST_PIECES = 6_000


@dataclass(frozen=True, slots=True)
class Drawn:
    """A weld line in a view, divided in short pieces, each of one station.

    points_px : (m, 3); of the pieces between them, (m - 1,): step of utilisation, seen, judged, kept by a cut
    """

    line: PlacedLine
    points_px: FloatArray
    step: NDArray[np.int64]
    seen: NDArray[np.bool_]
    judged: NDArray[np.bool_]
    kept: NDArray[np.bool_]


def drawn(line: PlacedLine, view: View, depth: DepthBuffer | None, cut: Cut | None, most: int = MOST_PIECES) -> Drawn:
    """A line as it appears in a view; half of the way to its neighbours belongs to each station.

    most : pieces of it, about; what bounds time and size for lines that are long in the picture
    """
    places = view.project(line.coordinates_mm)
    cell = max(_CELL_PX, float(np.hypot(*np.diff(places[:, :2], axis=0).T).sum()) / most)
    points, step, judged = _thinned(places, _steps(line), line.judged, cell)
    chain = np.vstack([points, points[:1]]) if line.closed else points
    halves = np.empty((2 * len(chain) - 1, 3))
    halves[::2], halves[1::2] = chain, (chain[1:] + chain[:-1]) / 2.0
    fine, owner = divided(halves, 2.0 * cell)
    station = (owner[:-1] + 1) // 2 % len(points)
    middle = (fine[1:] + fine[:-1]) / 2.0
    seen = np.ones(len(middle), dtype=bool) if depth is None else depth.sees(middle)
    kept = view.holds(middle) if cut is None else view.holds(middle) & cut.keeps(middle)
    return Drawn(line, fine, step[station], seen, judged[station], kept)


def _thinned(
    points_px: FloatArray, step: NDArray[np.int64], judged: NDArray[np.bool_], cell_px: float
) -> tuple[FloatArray, NDArray[np.int64], NDArray[np.bool_]]:
    """Stations nearer than can be told apart become one, judged if one is, with the worst of the judged."""
    steps = np.hypot(*np.diff(points_px[:, :2], axis=0).T)
    cell = np.floor(np.append(0.0, np.cumsum(steps)) / cell_px).astype(np.intp)
    first = np.flatnonzero(np.diff(cell, prepend=-1))
    if len(first) == len(cell) or steps.mean() >= cell_px:
        return points_px, step, judged
    any_judged = np.logical_or.reduceat(judged, first)
    group = np.cumsum(np.diff(cell, prepend=-1) != 0) - 1
    counted = np.where(judged | ~any_judged[group], step, PLAIN)
    return points_px[np.append(first[:-1], len(cell) - 1)], np.maximum.reduceat(counted, first), any_judged


def _steps(line: PlacedLine) -> NDArray[np.int64]:
    """Step of each station; exactly at the limit is not beyond it."""
    if line.utilisation is None:
        return np.full(len(line.coordinates_mm), PLAIN)
    return np.searchsorted(BOUNDS, line.utilisation, side="left")


def look(step: int) -> tuple[str, float]:
    """Colour and width of a step."""
    return (BLUE, 3.4) if step == PLAIN else (STEPS[step], WIDTHS[step])


def weld_strokes(lines: list[Drawn]) -> str:
    """All lines, hidden parts first, then what is less used below what is more used."""
    found: dict[tuple[bool, int, bool], list[list[Place]]] = defaultdict(list)
    for each in lines:
        for first, last in runs(_keys(each)) if len(each.kept) else ():
            if each.kept[first]:
                key = (bool(each.seen[first]), int(each.step[first]), bool(each.judged[first]))
                found[key].append([(float(x), float(y)) for x, y in each.points_px[first : last + 2, :2]])
    return "".join(_strokes(*key, path(found[key])) for key in sorted(found)) + "".join(map(_dot, lines))


def _dot(line: Drawn) -> str:
    """A line of one station."""
    if len(line.kept):
        return ""
    colour, width = look(int(_steps(line.line)[0]))
    return circle((float(line.points_px[0, 0]), float(line.points_px[0, 1])), width, colour, "#000", 1.0)


def _keys(line: Drawn) -> NDArray[np.int64]:
    return np.asarray(((line.step + 1) * 2 + line.seen) * 4 + line.judged * 2 + line.kept, dtype=np.int64)


def _strokes(seen: bool, step: int, judged: bool, data: str) -> str:
    colour, width = look(step)
    if not seen:
        return stroke(data, colour, HIDDEN_PX, HIDDEN_DASH if judged else HIDDEN_UNJUDGED_DASH)
    if not judged:
        return stroke(data, "#fff", UNJUDGED_PX + 1.6) + stroke(data, colour, UNJUDGED_PX, UNJUDGED_DASH)
    # beyond the limit a black rim tells it without colour
    rim = stroke(data, "#000" if step >= _LIMIT else "#fff", width + 2.4)
    return rim + stroke(data, colour, width)


def start_marks(lines: list[Drawn]) -> str:
    """Start and direction of each line: a small ring, and the head of an arrow a little further on."""
    return "".join(_start(line) for line in lines if len(line.kept) == 0 or line.kept[0])


def _start(line: Drawn) -> str:
    points = line.points_px[:, :2]
    start = (float(points[0, 0]), float(points[0, 1]))
    seen = bool(line.seen[:1].all())
    ring = circle(start, 3.2 if seen else 2.4, "#fff", "#000" if seen else "#777", 1.2)
    walked = np.hypot(*(points - points[0]).T)
    far = np.flatnonzero(walked >= _ARROW_PX)
    if not far.size:
        return ring
    at = int(far[0])
    along = points[at] - points[max(at - 2, 0)]
    unit = along / max(float(np.hypot(*along)), 1e-9)
    tip = (float(points[at, 0]), float(points[at, 1]))
    return ring + triangle(tip, (float(unit[0]), float(unit[1])), 9.0, 4.2, "#000" if seen else "#777")
