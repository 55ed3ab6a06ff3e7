"""Which points of a mesh count as one place: within rounding, by the size of the elements there."""

from __future__ import annotations

import numpy as np
from scipy.spatial import cKDTree

from fatcore.require import FloatArray
from fatcore.stress.weld_lines.solid._surface import Index

_OF_EDGE = 1e-4  # of the usual edge of the surface
SINGLE = 2.5e-7  # of a coordinate: what single precision leaves of it, twice


def same_place_mm(points: FloatArray, edge_mm: float) -> FloatArray:
    """Distance below which another point lies at the place of each point (n,)."""
    return np.asarray(np.maximum(_OF_EDGE * edge_mm, SINGLE * np.abs(points).max(axis=1)))


def pairs_at_one_place(points: FloatArray, edge_mm: float) -> Index:
    """Pairs of points at one place (p, 2), each point with one other: never many more pairs than points."""
    order, first = by_place(points)
    again = np.flatnonzero(~first)
    exact = np.stack([order[again - 1], order[again]], axis=1)
    apart = order[first]
    distance, other = cKDTree(points[apart]).query(points[apart], k=[2])
    near = np.flatnonzero(np.ravel(distance) <= same_place_mm(points[apart], edge_mm))
    close = np.sort(np.stack([apart[near], apart[np.ravel(other)[near]]], axis=1), axis=1)
    return np.asarray(np.vstack([exact, np.unique(close, axis=0)]), dtype=np.intp)


def lie_at(points: FloatArray, places: FloatArray, edge_mm: float) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Which points lie at one of some places (n,)."""
    order, first = by_place(places)
    distance, _ = cKDTree(places[order[first]]).query(points)
    return np.asarray(distance <= same_place_mm(points, edge_mm))


def by_place(points: FloatArray) -> tuple[Index, np.ndarray[tuple[int], np.dtype[np.bool_]]]:
    """Order (n,) in which equal points follow each other, and which of them is the first of its place."""
    order = np.lexsort(points.T)
    first = np.ones(len(points), dtype=bool)
    first[1:] = (np.diff(points[order], axis=0) != 0.0).any(axis=1)
    return order, first
