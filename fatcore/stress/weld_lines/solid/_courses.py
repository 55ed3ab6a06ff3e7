"""Chains brought into a final order, and their frames: start and direction, tangent, bisector, opening angle."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from fatcore.require import FloatArray
from fatcore.stress.weld_lines.geometry import tangents_along
from fatcore.stress.weld_lines.solid._chains import Chain
from fatcore.stress.weld_lines.solid._edges import Edges, Sides
from fatcore.stress.weld_lines.solid.elements import Nodes
from fatcore.stress.weld_lines.solid.lines import SolidLine
from fatcore.stress.weld_lines.solid.symmetry import SymmetryPlane

_CURVED = 1e-3  # of its length: a mid-side node farther off the chord follows the true line
_EVEN = 1.3  # largest local spacing over the mean: as far a mesh size may be off without a word
_ON_PLANE = 1e-2  # of the distance of the node beside it
_SQUARE_DEG = 10.0  # off the normal of the plane, besides half the turn of the line: what a check of tangents allows
_SAME_STEP = 0.02  # of the spacing: rounding of single precision far from the origin does not show


@dataclass(frozen=True, slots=True)
class Course:
    """A chain in its final order: nodes (n,), and of the edges between them opening, bisector, middles, (e,).

    A loop has as many edges as nodes; middles are points (e, 3), nan where an edge has no mid-side node.
    """

    nodes: Nodes
    points: FloatArray
    opening_deg: FloatArray
    bisector: FloatArray
    middles: FloatArray
    closed: bool


def course_of(chain: Chain, sides: Sides, edges: Edges, points: FloatArray) -> Course:
    """The chain started at the node that comes first by x, y, z, towards the neighbour or end that comes first."""
    middle = sides.middle[edges.forward[chain.edges]]
    course = Course(
        chain.nodes,
        points[chain.nodes],
        edges.opening_deg[chain.edges],
        edges.bisector[chain.edges],
        np.where((middle >= 0)[:, np.newaxis], points[middle], np.nan),
        chain.closed,
    )
    rank = _ranks(course.points, _SAME_STEP * float(np.median(_steps(course))))
    if not course.closed:
        return _reversed(course) if rank[-1] < rank[0] else course
    course = _rolled(course, int(np.argmin(rank)))
    rank = np.roll(rank, -int(np.argmin(rank)))
    return _rolled(_reversed(course), -1) if rank[-1] < rank[1] else course


def _ranks(points: FloatArray, same_mm: float) -> np.ndarray[tuple[int], np.dtype[np.intp]]:
    """Order of points by x, then y, then z, in steps in which rounding does not show."""
    steps = np.round(points / same_mm)
    order = np.lexsort(steps.T[::-1])
    rank = np.empty(len(order), dtype=np.intp)
    rank[order] = np.arange(len(order))
    return rank


def _reversed(course: Course) -> Course:
    """Backwards; also then edge k of a loop follows node k."""
    nodes, points, *along = (getattr(course, name)[::-1] for name in _COLUMNS)
    opening, bisector, middles = (np.roll(column, -1 if course.closed else 0, axis=0) for column in along)
    return Course(nodes, points, opening, bisector, middles, course.closed)


def _rolled(course: Course, start: int) -> Course:
    nodes, points, opening, bisector, middles = (np.roll(getattr(course, name), -start, axis=0) for name in _COLUMNS)
    return Course(nodes, points, opening, bisector, middles, course.closed)


_COLUMNS = ("nodes", "points", "opening_deg", "bisector", "middles")


def line_of(course: Course, planes: Sequence[SymmetryPlane], root_below_deg: float, kink_deg: float) -> SolidLine:
    """The line, still without name and elements."""
    ends = (None, None) if course.closed else tuple(_plane_at(course, planes, at, kink_deg) for at in (0, -1))
    wide = _continued(course, ends)
    steps = _steps(course)
    tangent = _tangents(wide)
    opening, bisector = _means(wide, tangent)
    inner = slice(ends[0] is not None, len(wide.nodes) - (ends[1] is not None))
    mean = float(np.average(course.opening_deg, weights=steps))
    count = len(course.nodes)
    return SolidLine(
        name="",
        kind="root" if mean < root_below_deg else "toe",
        opening_angle_deg=mean,
        closed=course.closed,
        length_mm=float(steps.sum()),
        mesh_size_mm=float(steps.mean()),
        element_size_mm=_local_size(course, steps),
        across_mm=0.0,
        step_mm=(float(steps.min()), float(steps.max())),
        elements=(),
        elements_around=0,
        node_index=course.nodes,
        coordinates_mm=course.points,
        position_mm=np.concatenate([[0.0], np.cumsum(steps)])[:count],
        tangent=tangent[inner],
        bisector=bisector[inner],
        node_opening_deg=opening[inner],
        symmetric_start=ends[0] is not None,
        symmetric_end=ends[1] is not None,
    )


def _local_size(course: Course, steps: FloatArray) -> float:
    """The mean spacing, or of an uneven line the largest local one: a size that is too small lowers the stress."""
    before, after = _at_nodes(course, steps[:, np.newaxis])
    largest, mean = float((before + after).max()) / 2.0, float(steps.mean())
    return largest if largest > _EVEN * mean else mean


def _plane_at(course: Course, planes: Sequence[SymmetryPlane], at: int, kink_deg: float) -> SymmetryPlane | None:
    """The plane through which an open line goes on as its mirror image: where it stands about square to the plane.

    Askew it would turn by a kink, and its tangent there would not be along it; in the plane it would turn back.
    """
    beside = 1 if at == 0 else -2
    chords = _chords(course)[[0, 1] if at == 0 else [-1, -2]] if len(course.nodes) > 2 else _chords(course)[[0, 0]]
    step, further = np.linalg.norm(chords, axis=1)
    turn_deg = np.degrees(np.arccos(np.clip(chords[0] @ chords[1] / (step * further), -1.0, 1.0)))
    least = np.cos(np.radians(min(kink_deg, 2.0 * _SQUARE_DEG + turn_deg) / 2.0)) * step
    for plane in planes:
        here, away = np.abs(course.points[[at, beside], plane.column] - plane.coordinate_mm)
        if here <= _ON_PLANE * away and away >= least:
            return plane
    return None


def _continued(course: Course, ends: Sequence[SymmetryPlane | None]) -> Course:
    """The course with the mirror image of its first or last edge put before or after it."""
    if ends[0] is not None:
        course = _reversed(_extended(_reversed(course), ends[0]))
    return course if ends[1] is None else _extended(course, ends[1])


def _extended(course: Course, plane: SymmetryPlane) -> Course:
    across = np.ones(3)
    across[plane.column] = -1.0
    return Course(
        np.append(course.nodes, -1),
        np.vstack([course.points, plane.mirrored(course.points[-2:-1])]),
        np.append(course.opening_deg, course.opening_deg[-1]),
        np.vstack([course.bisector, across * course.bisector[-1]]),
        np.vstack([course.middles, plane.mirrored(course.middles[-1:])]),
        course.closed,
    )


def _steps(course: Course) -> FloatArray:
    return np.asarray(np.linalg.norm(_chords(course), axis=1))


def _chords(course: Course) -> FloatArray:
    points = np.vstack([course.points, course.points[:1]]) if course.closed else course.points
    return np.diff(points, axis=0)


def _at_nodes(course: Course, values: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Values (e, k) of the edge before and after each node, (n, k) each; at an open end those of its one edge."""
    if course.closed:
        return np.roll(values, 1, axis=0), values
    return np.vstack([values[:1], values]), np.vstack([values, values[-1:]])


def _tangents(course: Course) -> FloatArray:
    """Unit tangents at the nodes: of the edges' own curve where mid-side nodes follow it, else of parabolas."""
    parabolas = tangents_along(course.points, course.closed)
    steps = _steps(course)
    start = course.points[: len(steps)]
    end = np.roll(course.points, -1, axis=0)[: len(steps)]
    off = np.linalg.norm(course.middles - (start + end) / 2.0, axis=1)
    if not (off > _CURVED * steps).any() or np.isnan(off).any():
        return parabolas
    leaving, arriving = 4.0 * course.middles - 3.0 * start - end, 3.0 * end + start - 4.0 * course.middles
    leaving, arriving = (each / np.linalg.norm(each, axis=1, keepdims=True) for each in (leaving, arriving))
    before, after = _at_nodes(course, arriving)[0], _at_nodes(course, leaving)[1]
    if not course.closed:
        before[0], after[-1] = leaving[0], arriving[-1]
    return _unit(before + after)


def _means(course: Course, tangent: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Opening and bisector at the nodes: means of the edges there, weighted with their length.

    Each bisector is first turned as the line turns from its edge to the node: on an arc their plain mean
    would lean out of the plane of the arc.
    """
    steps = _steps(course)
    weights = _at_nodes(course, steps[:, np.newaxis])
    total = weights[0] + weights[1]
    opening = sum(w * o for w, o in zip(weights, _at_nodes(course, course.opening_deg[:, np.newaxis]), strict=True))
    chords = _at_nodes(course, _chords(course) / steps[:, np.newaxis])
    bisectors = _at_nodes(course, course.bisector)
    rough = sum(w * _turned(b, c, tangent) for w, b, c in zip(weights, bisectors, chords, strict=True))
    square = rough - np.einsum("nx,nx->n", rough, tangent)[:, np.newaxis] * tangent
    return np.asarray(opening / total)[:, 0], _unit(square)


def _turned(vectors: FloatArray, before: FloatArray, after: FloatArray) -> FloatArray:
    """Vectors turned by the smallest rotation that takes the unit vectors before to those after."""
    axis = np.cross(before, after)
    once = np.cross(axis, vectors)
    share = 1.0 + np.einsum("nx,nx->n", before, after)[:, np.newaxis]
    return np.asarray(vectors + once + np.cross(axis, once) / share)


def _unit(vectors: FloatArray) -> FloatArray:
    return np.asarray(vectors / np.linalg.norm(vectors, axis=1, keepdims=True))


def named(lines: Sequence[SolidLine]) -> tuple[SolidLine, ...]:
    """Lines by length, equal ones by the place of their first node, named by kind and number."""
    if not lines:
        return ()
    size = max(line.length_mm for line in lines)
    same = _SAME_STEP * float(np.median([line.mesh_size_mm for line in lines]))
    first = _ranks(np.array([line.coordinates_mm[0] for line in lines]), same)
    order = sorted(range(len(lines)), key=lambda at: (-round(lines[at].length_mm / size, 4), first[at]))
    count = {"toe": 0, "root": 0}
    found = []
    for line in (lines[at] for at in order):
        count[line.kind] += 1
        found.append(replace(line, name=f"{line.kind}-{count[line.kind]}"))
    return tuple(found)
