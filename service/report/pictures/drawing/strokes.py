"""Polylines of a picture: divided for hiding, joined, freed of points that say nothing, written as paths."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from fatcore.require import FloatArray

_STEP_PX = 3.0
_SHORT_PX = 3.0  # what flashes up between hidden parts is no more than the roughness of the buffer
_MOST_LINES = 2500  # of an outline: what bounds the size of the picture
_OFF_PX = 0.25  # a point this near to the line through its neighbours is left out

Place = tuple[float, float]


def divided(points_px: FloatArray, step_px: float = _STEP_PX) -> tuple[FloatArray, NDArray[np.intp]]:
    """Points along a polyline no farther apart than a step, (m, 3), and the number of the segment after each."""
    steps = np.diff(points_px, axis=0)
    count = np.maximum(np.ceil(np.hypot(steps[:, 0], steps[:, 1]) / step_px), 1.0).astype(np.intp)
    owner = np.repeat(np.arange(len(steps)), count)
    share = (np.arange(len(owner)) - np.repeat(np.cumsum(count) - count, count)) / count[owner]
    inner = points_px[owner] + share[:, np.newaxis] * steps[owner]
    return np.vstack([inner, points_px[-1:]]), np.append(owner, max(len(steps) - 1, 0))


def runs(flags: NDArray[np.bool_] | NDArray[np.int64]) -> list[tuple[int, int]]:
    """First and last place of each run of equal values.

    >>> runs(np.array([1, 1, 0]))
    [(0, 1), (2, 2)]
    """
    ends = np.flatnonzero(np.diff(flags.astype(np.int64)) != 0)
    return list(zip([0, *(ends + 1).tolist()], [*ends.tolist(), len(flags) - 1], strict=True))


def seen_segments(ends_px: FloatArray, sees: Callable[[FloatArray], NDArray[np.bool_]]) -> FloatArray:
    """What is seen of straight edges (e, 2, 3), as edges (k, 2, 3); parts too short to mean anything are left out.

    sees : which points (n, 3) are seen
    """
    ways = ends_px[:, 1] - ends_px[:, 0]
    count = np.maximum(np.ceil(np.hypot(ways[:, 0], ways[:, 1]) / _STEP_PX), 1.0).astype(np.intp)
    owner = np.repeat(np.arange(len(ends_px)), count + 1)
    step = np.arange(len(owner)) - np.repeat(np.cumsum(count + 1) - count - 1, count + 1)
    points = ends_px[owner, 0] + (step / count[owner])[:, np.newaxis] * ways[owner]
    seen = sees(points)
    first = np.flatnonzero(np.diff(owner * 2 + seen, prepend=-1) != 0)
    last = np.append(first[1:], len(owner)) - 1
    length = np.hypot(*(points[last] - points[first])[:, :2].T)
    kept = seen[first] & (last > first) & ((length >= _SHORT_PX) | (last - first == count[owner[first]]))
    return np.stack([points[first[kept]], points[last[kept]]], axis=1)


def joined(parts: Iterable[FloatArray]) -> list[list[Place]]:
    """Polylines of parts whose ends meet to a tenth of a pixel, the longest of them where there are too many."""
    lines = [_tenths(part) for part in parts]
    lines = [line for line in lines if len(line) > 1]
    at: dict[Place, list[int]] = defaultdict(list)
    for number, line in enumerate(lines):
        for end in (line[0], line[-1]):
            at[end].append(number)
    left = dict.fromkeys(range(len(lines)))
    found = []
    while left:
        first = next(iter(left))
        del left[first]
        ahead = _followed(lines[first], lines, at, left)
        found.append(_followed(ahead[::-1], lines, at, left))
    return sorted(found, key=_length, reverse=True)[:_MOST_LINES]


def _length(line: Sequence[Place]) -> float:
    return float(np.hypot(*np.diff(np.array(line), axis=0).T).sum())


def _followed(
    line: list[Place], lines: list[list[Place]], at: dict[Place, list[int]], left: dict[int, None]
) -> list[Place]:
    line = list(line)
    while following := [number for number in at[line[-1]] if number in left]:
        number = following[0]
        del left[number]
        more = lines[number]
        line += more[1:] if more[0] == line[-1] else more[-2::-1]
    return line


def _tenths(part: FloatArray) -> list[Place]:
    rounded = [(float(x), float(y)) for x, y in np.round(part[:, :2], 1) + 0.0]
    return [rounded[0], *(later for earlier, later in pairwise(rounded) if later != earlier)]


def simplified(points: Sequence[Place]) -> list[Place]:
    """A polyline without the points that lie on the way between others."""
    kept, todo = {0, len(points) - 1}, [(0, len(points) - 1)]
    places = np.array(points)
    while todo:
        first, last = todo.pop()
        if last - first < 2:
            continue
        off = _distance(places[first + 1 : last], places[first], places[last])
        worst = int(np.argmax(off))
        if off[worst] > _OFF_PX:
            middle = first + 1 + worst
            kept.add(middle)
            todo += [(first, middle), (middle, last)]
    return [points[at] for at in sorted(kept)]


def _distance(points: FloatArray, start: FloatArray, end: FloatArray) -> FloatArray:
    """From the segment between two points."""
    along = end - start
    share = np.clip((points - start) @ along / max(float(along @ along), 1e-12), 0.0, 1.0)
    return np.asarray(np.linalg.norm(points - start - share[:, np.newaxis] * along, axis=1))


def path(lines: Iterable[Sequence[Place]]) -> str:
    """Path data of polylines, relative to the point before, to a tenth of a pixel.

    >>> path([[(1.0, 2.0), (1.5, 2.0)]])
    'M1 2l.5 0'
    """
    return "".join(_line(simplified(line)) for line in lines)


def _line(points: Sequence[Place]) -> str:
    steps = [(later[0] - earlier[0], later[1] - earlier[1]) for earlier, later in pairwise(points)]
    shown = [f"{_short(x)} {_short(y)}" for x, y in (points[0], *steps)]
    return f"M{shown[0]}l{' '.join(shown[1:])}"


def _short(value: float) -> str:
    text = f"{round(value, 1) + 0.0:.1f}".removesuffix(".0")
    return text.replace("0.", ".", 1) if text.startswith(("0.", "-0.")) else text
