"""Path-dependent cycle count of several stress modes, for load that is not proportional.

In the space of weighted modes the two points of largest distance bound half a cycle; its effective range is
the length of the way between them. Where the way turns back, its distance from the first point falling below
the largest one so far, that excursion leaves the way, a straight segment takes its place, and the excursion
is counted by itself. What lies before and behind the two points is counted by itself too, until nothing is
left. A straight way gives rainflow with half cycles. The work grows with the square of the corner points.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fatcore.errors import InputError
from fatcore.require import FloatArray
from fatcore.spectrum.counting.history import IndexArray

MAX_PATH_POINTS = 3000
TIE = 1e-9  # relative difference of distances that counts as equal: the earlier pair is taken
STRAIGHT = 1e-9  # turn of the direction [rad] that counts as straight
SMALLEST = 1e-12  # share of the whole extent below which a piece of way is rounding


class PathTooLongError(InputError):
    """A history with more corner points than the path-dependent count takes."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PathCycles:
    """Half cycles of the path-dependent count.

    start_mpa, end_mpa     : (n, modes) stress of every mode at the two points [MPa]
    length_ratio           : (n) length of the way over the distance of the points, both weighted [-], >= 1
    start_index, end_index : (n) samples; of a point between two samples, the later one
    """

    start_mpa: FloatArray
    end_mpa: FloatArray
    length_ratio: FloatArray
    start_index: IndexArray
    end_index: IndexArray


@dataclass(frozen=True, slots=True)
class _Way:
    """A polyline: weighted points, stress of all modes and sample of each point."""

    points: FloatArray
    stress: FloatArray
    index: IndexArray

    def part(self, first: int, last: int) -> _Way:
        return _Way(self.points[first : last + 1], self.stress[first : last + 1], self.index[first : last + 1])


def path_cycles(history_mpa: FloatArray, weights: FloatArray, *, repeating: bool) -> PathCycles:
    """Half cycles of the path-dependent count.

    history_mpa : (modes, samples) [MPa]; weights: (modes) factor of each mode [-]
    repeating  : the history stands for a block that repeats: it is started at a point of the largest distance
    Raises     : PathTooLongError when more than MAX_PATH_POINTS corner points are left
    Source     : [asme-viii-2] 5.5.5, [path-dependent-2010]
    """
    way = _corners(history_mpa, weights)
    if repeating:
        first = _farthest(way.points)[0]
        size = history_mpa.shape[1]
        turned = np.concatenate((history_mpa[:, way.index[first] :], history_mpa[:, : way.index[first] + 1]), 1)
        way = _corners(turned, weights)
        way = _Way(way.points, way.stress, (way.index + _corners(history_mpa, weights).index[first]) % size)
    scale = float(np.ptp(way.points, axis=0).max(initial=0.0))
    return _gather(_count(way, SMALLEST * scale), history_mpa.shape[0])


def _corners(values: FloatArray, weights: FloatArray) -> _Way:
    """The points where the way changes its direction, and both ends."""
    points = (weights[:, None] * values)[weights != 0.0].T
    moved = np.any(np.diff(points, axis=0) != 0.0, axis=1)
    kept = np.concatenate(([0], np.flatnonzero(moved) + 1))
    points = points[kept]
    corner = np.ones(kept.size, dtype=np.bool_)
    corner[1:-1] = np.linalg.norm(np.diff(_directions(points), axis=0), axis=1) > STRAIGHT
    kept, points = kept[corner], points[corner]
    if kept.size > MAX_PATH_POINTS:
        raise PathTooLongError(
            f"the path-dependent count takes at most {MAX_PATH_POINTS} corner points, here are {kept.size}; "
            "shorten the record or use the independent definition",
            "history_mpa",
        )
    return _Way(points, values.T[kept], kept.astype(np.int64))


def _directions(points: FloatArray) -> FloatArray:
    """Unit vectors of the steps; scaled by the largest component first, so that no square underflows."""
    step = np.diff(points, axis=0)
    step = step / np.abs(step).max(axis=1, keepdims=True)
    return np.asarray(step / np.linalg.norm(step, axis=1, keepdims=True))


def _farthest(points: FloatArray) -> tuple[int, int, float]:
    """The first pair of points whose distance is the largest, and that distance."""
    best = np.zeros(len(points))
    for k in range(len(points) - 1):
        best[k] = np.sqrt(np.square(points[k + 1 :] - points[k]).sum(axis=1).max())
    first = int(np.argmax(best >= best.max() * (1.0 - TIE)))
    away = np.linalg.norm(points[first:] - points[first], axis=1)
    second = first + int(np.argmax(away >= best[first] * (1.0 - TIE)))
    return first, second, float(away[second - first])


HalfCycle = tuple[FloatArray, FloatArray, float, int, int]


def _count(way: _Way, smallest: float) -> list[HalfCycle]:
    waiting, found = [way], []
    while waiting:
        piece = waiting.pop()
        if len(piece.points) < 2:
            continue
        first, second, distance = _farthest(piece.points)
        if distance <= smallest:
            continue
        length, excursions = _travel(piece.part(first, second))
        ends = piece.stress[first], piece.stress[second]
        found.append((*ends, length / distance, int(piece.index[first]), int(piece.index[second])))
        rest = len(piece.points) - 1
        waiting += [piece.part(0, first), piece.part(second, rest), *excursions]
    return found


def _travel(way: _Way) -> tuple[float, list[_Way]]:
    """Length of the way with its excursions cut off, and the excursions."""
    away = np.linalg.norm(way.points - way.points[0], axis=1)
    away[-1] = away.max()  # the end is the farthest, but for rounding
    length, here, front, excursions = 0.0, way.points[0], 0, []
    for k in range(1, len(away)):
        if away[k] < away[front]:
            continue  # on an excursion that left at `front`
        if k - 1 > front:
            excursion, back = _excursion(way, front, k, float(away[front]))
            excursions.append(excursion)
            length += float(np.linalg.norm(back - here))
            here = back
        length += float(np.linalg.norm(way.points[k] - here))
        here, front = way.points[k], k
    return length, excursions


def _excursion(way: _Way, front: int, k: int, radius: float) -> tuple[_Way, FloatArray]:
    """The way from point `front` to where it meets the sphere through it again, between k - 1 and k."""
    share = _crossing(way.points[k - 1] - way.points[0], way.points[k] - way.points[k - 1], radius)
    points, stress, index = way.points, way.stress, way.index
    meeting = points[k - 1] + share * (points[k] - points[k - 1])
    met = stress[k - 1] + share * (stress[k] - stress[k - 1])
    return (
        _Way(
            np.vstack((points[front:k], meeting)),
            np.vstack((stress[front:k], met)),
            np.append(index[front:k], index[k]),
        ),
        meeting,
    )


def _crossing(start: FloatArray, step: FloatArray, radius: float) -> float:
    """Share of the step at which |start + share * step| grows to the radius, 0 to 1."""
    a, b, c = float(step @ step), float(start @ step), float(start @ start) - radius * radius
    root = float(np.sqrt(max(b * b - a * c, 0.0)))
    return min(max((root - b) / a, 0.0), 1.0)


def _gather(found: list[HalfCycle], modes: int) -> PathCycles:
    return PathCycles(
        start_mpa=np.array([half[0] for half in found]).reshape(-1, modes),
        end_mpa=np.array([half[1] for half in found]).reshape(-1, modes),
        length_ratio=np.array([half[2] for half in found], dtype=np.float64),
        start_index=np.array([half[3] for half in found], dtype=np.int64),
        end_index=np.array([half[4] for half in found], dtype=np.int64),
    )
