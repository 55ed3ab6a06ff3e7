"""Planes of symmetry: the surface of half a part with its mirror image."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal, cast, get_args

import numpy as np
from numpy.typing import NDArray

from fatcore.errors import InputError
from fatcore.figures import coordinate
from fatcore.require import FloatArray
from fatcore.stress.weld_lines.solid._places import SINGLE
from fatcore.stress.weld_lines.solid._surface import Surface, turned_over
from fatcore.stress.weld_lines.solid.elements import Nodes

Axis = Literal["x", "y", "z"]
PLANE = r"^ *([xyz]) *= *(-?\d{1,12}(?:\.\d{1,12})?) *$"
_ON_PLANE = 1e-2  # of the usual edge of the surface: files of few digits


@dataclass(frozen=True, slots=True)
class SymmetryPlane:
    """A plane across a coordinate axis, at a coordinate [mm]."""

    axis: Axis
    coordinate_mm: float

    def __str__(self) -> str:
        return f"{self.axis} = {coordinate(self.coordinate_mm)} mm"

    @property
    def column(self) -> int:
        """Column of the axis."""
        return "xyz".index(self.axis)

    def side_of(self, points_mm: FloatArray, edge_mm: float) -> NDArray[np.int64]:
        """On which side of the plane points of a mesh lie (n,): -1, 0 on it, 1.

        edge_mm : usual edge of the surface [mm]
        """
        off = points_mm[:, self.column] - self.coordinate_mm
        within = np.maximum(_ON_PLANE * edge_mm, SINGLE * np.abs(points_mm[:, self.column]))
        return np.where(np.abs(off) <= within, 0, np.sign(off)).astype(np.int64)

    def holds(self, points_mm: FloatArray, edge_mm: float) -> NDArray[np.bool_]:
        """Which points of a mesh lie on the plane (n,)."""
        return np.asarray(self.side_of(points_mm, edge_mm) == 0)

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
        found = re.fullmatch(PLANE, text)
        if found is None:
            raise InputError('a plane of symmetry is written like "y=0"', "symmetry", index)
        planes.append(SymmetryPlane(cast(Axis, found[1]), float(found[2])))
    return tuple(planes)


def guard_planes(surface: Surface, planes: Sequence[SymmetryPlane]) -> None:
    """Refuses planes that cannot be those on which the part is cut.

    surface : of the part alone
    Raises  : InputError for a plane that is declared twice, that no node touches, with nodes on both sides of it
    """
    points, edge_mm = surface.points_mm[np.unique(surface.corners[surface.corners >= 0])], surface.edge_mm()
    for index, plane in enumerate(planes):
        sides = plane.side_of(points, edge_mm)
        if any(plane.axis == other.axis and _same(plane, other, edge_mm) for other in planes[:index]):
            raise InputError(f"the plane {plane} is declared twice", "symmetry", index)
        if sides.min() < 0 < sides.max():
            raise InputError(f"{plane} runs through the part, which has nodes on both sides", "symmetry", index)
        if not (sides == 0).any():
            raise InputError(f"no node of the part lies on {plane}: it is not cut there", "symmetry", index)


def _same(plane: SymmetryPlane, other: SymmetryPlane, edge_mm: float) -> bool:
    place = np.full((1, 3), other.coordinate_mm)
    return bool(plane.holds(place, edge_mm).all())


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
    on_plane = plane.holds(surface.points_mm, surface.edge_mm())
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
