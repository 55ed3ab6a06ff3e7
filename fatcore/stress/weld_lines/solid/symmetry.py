"""Planes of symmetry: the surface of half a part with its mirror image."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal, cast, get_args

import numpy as np
from numpy.typing import NDArray

from fatcore.errors import InputError
from fatcore.require import FloatArray
from fatcore.stress.weld_lines.solid._surface import Surface, turned_over
from fatcore.stress.weld_lines.solid.elements import Nodes

Axis = Literal["x", "y", "z"]
_ON_PLANE = 1e-4  # of the largest extent: coordinates of single precision


@dataclass(frozen=True, slots=True)
class SymmetryPlane:
    """A plane across a coordinate axis, at a coordinate [mm]."""

    axis: Axis
    coordinate_mm: float

    @property
    def column(self) -> int:
        """Column of the axis."""
        return "xyz".index(self.axis)

    def holds(self, points_mm: FloatArray) -> NDArray[np.bool_]:
        """Which points of a mesh lie on the plane (n,)."""
        extent = float(np.ptp(points_mm, axis=0).max())
        return np.asarray(np.abs(points_mm[:, self.column] - self.coordinate_mm) <= _ON_PLANE * extent)

    def mirrored(self, points_mm: FloatArray) -> FloatArray:
        """Points on the other side."""
        image = points_mm.copy()
        image[:, self.column] = 2.0 * self.coordinate_mm - image[:, self.column]
        return image


def planes_of(symmetry: Iterable[str]) -> tuple[SymmetryPlane, ...]:
    """Planes from texts like "y=0", coordinates in mm.

    Raises : InputError for any other text

    >>> planes_of(["y = 2.5"])
    (SymmetryPlane(axis='y', coordinate_mm=2.5),)
    """
    planes = []
    for index, text in enumerate(symmetry):
        found = re.fullmatch(r"\s*([xyz])\s*=\s*(-?\d{1,12}(?:\.\d{1,12})?)\s*", text)
        if found is None:
            raise InputError('a plane of symmetry is written like "y=0"', "symmetry", index)
        planes.append(SymmetryPlane(cast(Axis, found[1]), float(found[2])))
    return tuple(planes)


def ends_of_part(points_mm: FloatArray) -> tuple[SymmetryPlane, ...]:
    """The six planes of the box round a part, points (n, 3)."""
    low, high = points_mm.min(axis=0), points_mm.max(axis=0)
    return tuple(
        SymmetryPlane(axis, float(end[column])) for column, axis in enumerate(get_args(Axis)) for end in (low, high)
    )


def whole_surface(surface: Surface, planes: Sequence[SymmetryPlane]) -> Surface:
    """The surface with its mirror images; nodes keep their numbers, those of the images follow.

    Nodes on a plane stay one with their image and faces in a plane vanish, so that edges beside the plane
    have both of their sides and an edge in the plane has its true opening.
    """
    for plane in planes:
        surface = _doubled(surface, plane)
    return surface


def _doubled(surface: Surface, plane: SymmetryPlane) -> Surface:
    count = len(surface.points_mm)
    on_plane = plane.holds(surface.points_mm)
    image = np.where(on_plane, np.arange(count), np.arange(count) + count)
    inside = (surface.corners < 0) | on_plane[surface.corners]
    kept = ~inside.all(axis=1)
    corners, middles = surface.corners[kept], surface.middles[kept]
    reversed_corners, reversed_middles = turned_over(_numbered(corners, image), _numbered(middles, image))
    return Surface(
        np.vstack([surface.points_mm, plane.mirrored(surface.points_mm)]),
        np.vstack([corners, reversed_corners]),
        np.vstack([middles, reversed_middles]),
        np.tile(surface.block[kept], 2),
    )


def _numbered(nodes: Nodes, image: NDArray[np.intp]) -> Nodes:
    return np.where(nodes >= 0, image[nodes], -1).astype(np.int64)
