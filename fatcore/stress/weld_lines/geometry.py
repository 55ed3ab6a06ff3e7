"""Geometry of a weld line from its points: their order, the tangent, the bisector of the notch."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.sparse.csgraph import breadth_first_order, minimum_spanning_tree
from scipy.spatial.distance import pdist, squareform

from fatcore.errors import InputError
from fatcore.figures import figure
from fatcore.require import FloatArray, finite, within

MAX_POINTS = 5_000  # the distances of all pairs are held at once
CLOSING_GAP = 1.6  # times the spacing: the ends of a loop are not farther apart
_SQUARE_DEG = 10.0  # a plate normal farther from a right angle to the line belongs to another surface
_CLEAR_DEG = 30.0  # a direction nearer than this to the line or to the normal does not tell a side
_TWIST_DEG = 10.0  # beyond the turns of line and normal: the side does not turn by itself
_LONE_TURN_DEG = 5.0  # a corner of elements; below it a parabola leads hardly astray [own choice]
_LARGEST_TURN_DEG = 15.0  # of one edge to the next of an arc, where there are no others [own choice]
_PARALLEL = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class LineOrder:
    """Points in order along a line: indices into the points as given, and whether the line is a loop."""

    index: NDArray[np.intp]
    closed: bool


def order_along_line(points_mm: ArrayLike, closed: bool | None = None) -> LineOrder:
    """Order of the points of one line given in any order.

    The shortest tree over all points is a chain when they lie along one line. An open line starts at the end
    that comes first in the input, a loop at its first point, towards the neighbour that comes first.

    points_mm : (n, 3), n >= 2; closed: None decides by the gap between the ends of the chain
    Raises    : InputError when points coincide, do not lie along one line, or contradict what closed says
    Source    : [independent-geometry]
    """
    points = _points(points_mm)
    if len(points) > MAX_POINTS:
        raise InputError(f"the order of {MAX_POINTS} points at the most is found", "points_mm")
    distances = pdist(points)
    if distances.min() <= _PARALLEL * distances.max():
        raise InputError(
            "two points of the line coincide: list a node once, with the mean of its elements", "points_mm"
        )
    tree = minimum_spanning_tree(squareform(distances))
    links = (tree + tree.T).tocsr()
    degree = np.diff(links.indptr)
    if degree.max() > 2:
        raise InputError("the points branch: they do not lie along one line", "points_mm")
    start = int(np.flatnonzero(degree == 1)[0])
    chain = breadth_first_order(links, start, directed=False, return_predecessors=False).astype(np.intp)
    loop = is_loop(points[chain], closed)
    return LineOrder(index=_from_first(chain) if loop else chain, closed=loop)


def _points(points_mm: ArrayLike) -> FloatArray:
    points = finite("points_mm", points_mm)
    if points.ndim != 2 or points.shape[1] != 3 or len(points) < 2:
        raise InputError("points must be (n, 3) with 2 <= n", "points_mm")
    return points


def is_loop(points_mm: ArrayLike, closed: bool | None = None) -> bool:
    """Whether ordered points form a loop: their ends are neighbours as the points beside them are.

    points_mm : (n, 3) in order; closed: what is stated, None leaves it to the points
    Returns   : the answer of the points; of fewer than four what is stated
    Raises    : InputError when the points contradict what is stated, or the first is repeated at the end
    """
    points = _points(points_mm)
    if len(points) < 4:
        return bool(closed)
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    gap, near = float(np.linalg.norm(points[-1] - points[0])), max(median(steps), steps[0], steps[-1])
    if gap <= _PARALLEL * float(near):
        raise InputError("first and last point coincide: list the nodes of a loop once", "closed")
    found = gap <= CLOSING_GAP * float(near)
    if closed is not None and closed is not found:
        ends = "closed, but its ends lie" if closed else "open, but its ends lie only"
        raise InputError(f"the line is said to be {ends} {figure(gap)} mm apart (spacing {figure(near)} mm)", "closed")
    return found


def median(values: FloatArray) -> float:
    """As numpy's, which takes ten times as long for the few stations of a line."""
    ordered = np.sort(values)
    return float(0.5 * (ordered[(ordered.size - 1) // 2] + ordered[ordered.size // 2]))


def _from_first(chain: NDArray[np.intp]) -> NDArray[np.intp]:
    turned = np.roll(chain, -int(np.argmin(chain)))
    return turned if turned[1] < turned[-1] else np.roll(turned[::-1], 1)


def positions_along(points_mm: ArrayLike) -> FloatArray:
    """Chord length from the first of ordered points to each [mm], (n,).

    >>> positions_along([[0, 0, 0], [3, 4, 0], [3, 4, 2]]).tolist()
    [0.0, 5.0, 7.0]
    """
    return _lengths(_points(points_mm))


def _lengths(points: FloatArray) -> FloatArray:
    return np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))])


def tangents_along(points_mm: ArrayLike, closed: bool) -> FloatArray:
    """Unit tangents at ordered points, of the parabola through each point and its neighbours, (n, 3).

    Second order in the spacing, also where it is uneven; an open line uses its last three points at an end, or,
    where it turns there by more than the points before can tell of an arc, the direction of its last edge.
    Raises : InputError when neighbours coincide, as they do in a loop that repeats its first point
    """
    points = _points(points_mm)
    if closed:
        points = np.vstack([points[-1], points, points[0]])
    parameter = _lengths(points)
    if (np.diff(parameter) <= _PARALLEL * parameter[-1]).any():
        raise InputError("neighbouring points of the line coincide: list every node once", "points_mm")
    order = 2 if len(points) > 2 else 1
    slopes = np.gradient(points, parameter, axis=0, edge_order=order)  # type: ignore[call-overload]
    if closed:
        return _unit(slopes[1:-1], "points_mm")
    chords = np.diff(points, axis=0) / np.maximum(np.diff(parameter), np.finfo(np.float64).tiny)[:, np.newaxis]
    for end, edges in ((0, chords[:3]), (-1, chords[:-4:-1])):
        if _turns_alone(edges):
            slopes[end] = edges[0]
    return _unit(slopes, "points_mm")


def _turns_alone(edges: FloatArray) -> bool:
    """Whether the first of up to three directions turns to the next by far more than these further on: no arc."""
    turns = angles_deg(edges[1:], edges[:-1])
    if len(turns) < 2:
        return bool(len(turns)) and float(turns[0]) > _LARGEST_TURN_DEG
    return float(turns[0]) > _LONE_TURN_DEG and float(turns[1]) < 0.5 * float(turns[0])


def radial_directions(points_mm: ArrayLike, point_mm: ArrayLike, axis: ArrayLike | None = None) -> FloatArray:
    """Unit directions outward from an axis, or from a point, to each point of a line, (n, 3).

    points_mm : (n, 3); point_mm: on the axis or the centre, (3,); axis: direction of the axis (3,) [-]
    Raises    : InputError for a point on the axis or at the centre, an axis of no length

    >>> radial_directions([[3.0, 0.0, 5.0], [0.0, -2.0, 1.0]], [0, 0, 0], [0, 0, 2]).tolist()
    [[1.0, 0.0, 0.0], [0.0, -1.0, 0.0]]
    """
    arms = _points(points_mm) - finite("point_mm", point_mm)
    if axis is not None:
        along = _unit(finite("axis", axis), "axis")
        arms = arms - (arms @ along)[:, np.newaxis] * along
    return _unit(arms, "point_mm")


def weld_side(
    tangent: ArrayLike,
    plate_normal: ArrayLike,
    *,
    direction: ArrayLike | None = None,
    points_mm: ArrayLike | None = None,
    towards_mm: ArrayLike | None = None,
) -> FloatArray:
    """Unit vectors in the plate surface, across the line, from the toe to the weld, (n, 3).

    A direction must tell the side at every station. A point must tell it somewhere: it may lie along the
    line of some stations, since a side that changed along the line would be seen.

    tangent      : (n, 3); plate_normal: outward normal of the plate surface, (3,) or (n, 3)
    direction    : rough direction to the weld, (3,) or (n, 3); or instead
    towards_mm   : a point on the weld's side of the line, (3,), with the points of the line
    Raises       : InputError when neither is given, for a normal more than 10 deg off a right angle to the
                   line, a direction within 30 deg of line or normal, a side that changes along the line
    """
    along = _unit(finite("tangent", tangent), "tangent")
    normal = _square_normal(along, plate_normal)
    across = np.cross(normal, along)
    if direction is not None:
        hint, where, everywhere = finite("direction", direction), "weld_direction", True
    elif towards_mm is not None and points_mm is not None:
        hint, where, everywhere = (
            finite("towards_mm", towards_mm) - _points(points_mm),
            "weld_towards_mm",
            False,
        )
    else:
        raise InputError("tell the side of the weld by a direction or by a point", "weld_side")
    sideways = np.einsum("ij,ij->i", across, _unit(np.broadcast_to(hint, across.shape), where))
    clear = np.abs(sideways) >= np.sin(np.radians(_CLEAR_DEG))
    if not (clear.all() if everywhere else clear.any() and (sideways != 0.0).all()):
        index = int(np.argmin(np.abs(sideways)))
        raise InputError(f"the hint does not tell on which side of the weld line station {index} lies", where)
    return _unturned(across * np.sign(sideways)[:, np.newaxis], along, normal, where)


def _square_normal(along: FloatArray, plate_normal: ArrayLike) -> FloatArray:
    """Unit normals square to the tangents, (n, 3); InputError where they are far from it as given."""
    given = np.broadcast_to(_unit(finite("plate_normal", plate_normal), "plate_normal"), along.shape)
    lean = np.einsum("ij,ij->i", given, along)
    worst = int(np.argmax(np.abs(lean)))
    if abs(lean[worst]) > np.sin(np.radians(_SQUARE_DEG)):
        off = np.degrees(np.arcsin(min(1.0, abs(lean[worst]))))
        raise InputError(
            f"plate normal is {figure(off)} deg off a right angle to the line at station {worst}", "plate_normal"
        )
    return _unit(given - lean[:, np.newaxis] * along, "plate_normal")


def _unturned(side: FloatArray, along: FloatArray, normal: FloatArray, where: str) -> FloatArray:
    allowed = _turns_deg(along) + _turns_deg(normal) + _TWIST_DEG
    over = _turns_deg(side) > allowed
    if over.any():
        index = int(np.argmax(over))
        raise InputError(f"the weld changes its side between stations {index} and {index + 1}", where)
    return side


def _turns_deg(vectors: FloatArray) -> FloatArray:
    return angles_deg(vectors[1:], vectors[:-1])


def angles_deg(directions: FloatArray, other_directions: FloatArray) -> FloatArray:
    """Angles [deg] between the unit vectors (n, 3) of two columns, (n,)."""
    return np.asarray(np.degrees(np.arccos(np.clip(np.einsum("ij,ij->i", directions, other_directions), -1.0, 1.0))))


def notch_bisector(
    tangent: ArrayLike, plate_normal: ArrayLike, side: ArrayLike, opening_angle_deg: float
) -> FloatArray:
    """Unit bisector of a weld toe or root, pointing into the material, (n, 3).

    At a toe the free faces are the plate surface away from the weld and the weld's flank, the opening angle
    apart; with half of it, alpha, the bisector is cos(alpha) side - sin(alpha) normal. A slit (0 deg) gives
    the side.

    tangent : (n, 3); plate_normal: outward, (3,) or (n, 3); side: from toe to weld, (n, 3), see `weld_side`
    Raises  : InputError for an angle outside [0, 180), a normal more than 10 deg off a right angle to it
    Source  : [independent-geometry]
    """
    alpha = np.radians(within("opening_angle_deg", opening_angle_deg, 0.0, 180.0, open_high=True)) / 2.0
    along, across = _unit(finite("tangent", tangent), "tangent"), finite("side", side)
    return np.cos(alpha) * across - np.sin(alpha) * _square_normal(along, plate_normal)


def _unit(vectors: FloatArray, name: str) -> FloatArray:
    length = np.linalg.norm(vectors, axis=-1, keepdims=True)
    if (length <= _PARALLEL * max(1.0, float(length.max()))).any():
        raise InputError(f"{name} gives a direction of no length", name)
    unit: FloatArray = vectors / length
    return unit
