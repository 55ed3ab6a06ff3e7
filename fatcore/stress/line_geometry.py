"""Geometry of a weld line from its points: their order, the tangent, the bisector of the notch."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.sparse.csgraph import breadth_first_order, minimum_spanning_tree
from scipy.spatial.distance import pdist, squareform

from fatcore.errors import InputError
from fatcore.require import FloatArray, finite, within

__all__ = [
    "LineOrder",
    "notch_bisector",
    "order_along_line",
    "positions_along",
    "tangents_along",
    "weld_side",
]

MAX_POINTS = 5_000  # the distances of all pairs are held at once
CLOSING_GAP = 1.6  # times the median spacing: the ends of a loop are not farther apart
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
    Raises    : InputError when points coincide, or do not lie along one line
    Source    : [independent-geometry]
    """
    points = _points(points_mm)
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
    loop = _is_loop(points[chain]) if closed is None else closed
    return LineOrder(index=_from_first(chain) if loop else chain, closed=loop)


def _points(points_mm: ArrayLike) -> FloatArray:
    points = finite("points_mm", points_mm)
    if points.ndim != 2 or points.shape[1] != 3 or not 2 <= len(points) <= MAX_POINTS:
        raise InputError(f"points must be (n, 3) with 2 <= n <= {MAX_POINTS}", "points_mm")
    return points


def _is_loop(chain_mm: FloatArray) -> bool:
    if len(chain_mm) < 4:
        return False
    steps = np.linalg.norm(np.diff(chain_mm, axis=0), axis=1)
    return bool(np.linalg.norm(chain_mm[-1] - chain_mm[0]) <= CLOSING_GAP * np.median(steps))


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

    Second order in the spacing, also where it is uneven; an open line uses its last three points at an end.
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
    return _unit(slopes[1:-1] if closed else slopes, "points_mm")


def weld_side(
    tangent: ArrayLike,
    plate_normal: ArrayLike,
    *,
    direction: ArrayLike | None = None,
    points_mm: ArrayLike | None = None,
    towards_mm: ArrayLike | None = None,
) -> FloatArray:
    """Unit vectors in the plate surface, across the line, from the toe to the weld, (n, 3).

    tangent      : (n, 3); plate_normal: outward normal of the plate surface, (3,) or (n, 3)
    direction    : rough direction to the weld, (3,) or (n, 3); or instead
    towards_mm   : a point on the weld's side of the line, (3,), with the points of the line
    Raises       : InputError when neither is given, or the hint does not tell the side at some point
    """
    if direction is None:
        if towards_mm is None or points_mm is None:
            raise InputError("tell the side of the weld by a direction or by a point", "weld_side")
        direction = finite("towards_mm", towards_mm) - _points(points_mm)
    across = _unit(np.cross(finite("plate_normal", plate_normal), finite("tangent", tangent)), "plate_normal")
    hint = np.broadcast_to(finite("direction", direction), across.shape)
    told = np.einsum("ij,ij->i", across, hint)
    if (np.abs(told) <= _PARALLEL * np.linalg.norm(hint, axis=1)).any():
        raise InputError("the hint does not tell on which side of the line the weld is", "weld_side")
    turned: FloatArray = across * np.sign(told)[:, np.newaxis]
    return turned


def notch_bisector(
    tangent: ArrayLike, plate_normal: ArrayLike, side: ArrayLike, opening_angle_deg: float
) -> FloatArray:
    """Unit bisector of a weld toe or root, pointing into the material, (n, 3).

    At a toe the free faces are the plate surface away from the weld and the weld's flank, the opening angle
    apart; with half of it, alpha, the bisector is cos(alpha) side - sin(alpha) normal. A slit (0 deg) gives
    the side.

    tangent : (n, 3); plate_normal: outward, (3,) or (n, 3); side: from toe to weld, (n, 3), see `weld_side`
    Raises  : InputError for an angle outside [0, 180) or a normal along the line
    Source  : [independent-geometry]
    """
    alpha = np.radians(within("opening_angle_deg", opening_angle_deg, 0.0, 180.0, open_high=True)) / 2.0
    along, across = finite("tangent", tangent), finite("side", side)
    normal = np.broadcast_to(finite("plate_normal", plate_normal), across.shape)
    square = normal - np.einsum("ij,ij->i", normal, along)[:, np.newaxis] * along
    return np.cos(alpha) * across - np.sin(alpha) * _unit(square, "plate_normal")


def _unit(vectors: FloatArray, name: str) -> FloatArray:
    length = np.linalg.norm(vectors, axis=-1, keepdims=True)
    if (length <= _PARALLEL * max(1.0, float(length.max()))).any():
        raise InputError(f"{name} gives a direction of no length", name)
    unit: FloatArray = vectors / length
    return unit
