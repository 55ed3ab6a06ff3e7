"""A solid mesh as files hold it: points, and node numbers by kind of element."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fatcore.errors import InputError, at
from fatcore.figures import as_given
from fatcore.require import FloatArray, finite
from fatcore.stress.weld_lines.solid._faces import sides_with_middles
from fatcore.stress.weld_lines.solid.elements import SOLID_ELEMENTS, Nodes, SolidElement, corner_count, node_count

MAX_NODES = 5_000_000
MAX_ELEMENTS = 20_000_000
_CROWDED, _FEW = 20, 1000  # elements for each node, of six in a mesh of tetrahedra, and besides
_SCATTER = np.array([0x9E3779B97F4A7C15, 0xC2B2AE3D27D4EB4F], dtype=np.uint64)  # any odd numbers without a pattern
MAX_COORDINATE_MM = 1e9
MIN_EXTENT_MM = 1e-6
_MOST_OFF = 0.4  # of the side; a quarter of a circle in one element has 0.21


@dataclass(frozen=True, slots=True)
class ElementBlock:
    """Elements of one kind: node numbers (m, nodes of the kind), counted from 0."""

    element: SolidElement
    nodes: Nodes


@dataclass(frozen=True, slots=True)
class SolidMesh:
    """Points (n, 3) [mm] and blocks of solid elements over them."""

    points_mm: FloatArray
    element_blocks: tuple[ElementBlock, ...]

    @property
    def element_total(self) -> int:
        """Number of elements."""
        return sum(len(block.nodes) for block in self.element_blocks)


def solid_mesh(points_mm: ArrayLike, element_blocks: Sequence[tuple[str, ArrayLike]]) -> SolidMesh:
    """A mesh from points and node numbers.

    points_mm      : (n, 3), at most 5e6, coordinates up to 1e9 mm, the part larger than 1e-6 mm
    element_blocks : kind of element and node numbers from 0, (m, nodes of the kind), at most 2e7 elements, corners
                     before mid-side nodes, sides of the base, of the top, upright ones
    Raises         : InputError for kinds that are no solids, wrong shapes, numbers beyond the points, an
                     element with a corner twice, elements that lie twice, a mesh whose elements share no node
    """
    points = finite("points_mm", points_mm)
    if points.ndim != 2 or points.shape[1] != 3 or not 4 <= len(points) <= MAX_NODES:
        raise InputError(f"points must be (n, 3) with 4 <= n <= {MAX_NODES}", "points_mm")
    _guard_size(points)
    checked = []
    for index, (element, nodes) in enumerate(element_blocks):
        with at("element_blocks", index):
            checked.append(_block(element, nodes, len(points)))
            _guard_middles(points, checked[-1])
    mesh = SolidMesh(points, tuple(block for block in checked if len(block.nodes)))
    if not mesh.element_blocks:
        raise InputError("the mesh has no solid elements: weld lines are edges of a solid", "element_blocks")
    _guard_count(mesh.element_total, len(points))
    _guard_torn(mesh)
    _guard_twice(mesh)
    return mesh


def _guard_count(elements: int, points: int) -> None:
    if elements > MAX_ELEMENTS:
        raise InputError(f"the mesh has {elements} elements, more than {MAX_ELEMENTS}", "element_blocks")
    if elements > _CROWDED * points + _FEW:
        raise InputError(f"{elements} elements on {points} points: elements lie twice in the mesh", "element_blocks")


def _guard_twice(mesh: SolidMesh) -> None:
    """Refuses elements with the same corners, before what it costs to take faces of them."""
    for size in (4, 5, 6, 8):
        alike = [block.nodes[:, :size] for block in mesh.element_blocks if corner_count(block.element) == size]
        corners = np.sort(np.concatenate([np.empty((0, size), dtype=np.int64), *alike]), axis=1)
        if len(np.unique(_marks(corners))) < len(corners) and len(np.unique(corners, axis=0)) < len(corners):
            raise InputError("two elements have the same corners: elements lie twice in the mesh", "element_blocks")


def _marks(corners: Nodes) -> NDArray[np.uint64]:
    """A number for each row, of which equal ones mean the same row, but for a chance that is next to none."""
    found = np.zeros(len(corners), dtype=np.uint64)
    for column in corners.T.astype(np.uint64):
        found = (found ^ (column * _SCATTER[0])) * _SCATTER[1]
        found ^= found >> np.uint64(29)
    return found


def _guard_size(points: FloatArray) -> None:
    """Refuses coordinates that no part has: a wrong factor of lengths, or a number that marks a missing one."""
    far = (np.abs(points) > MAX_COORDINATE_MM).any(axis=1)
    if far.any():
        raise InputError(f"a coordinate lies beyond {as_given(MAX_COORDINATE_MM)} mm", "points_mm", int(np.argmax(far)))
    if np.ptp(points, axis=0).max() < MIN_EXTENT_MM:
        raise InputError(
            f"all points lie within {as_given(MIN_EXTENT_MM)} mm: check the factor of lengths", "points_mm"
        )


def _block(element: str, nodes: ArrayLike, points: int) -> ElementBlock:
    kind = next((known for known in SOLID_ELEMENTS if known == element), None)
    if kind is None:
        raise InputError(f"{element!r} is none of {', '.join(SOLID_ELEMENTS)}", "element")
    try:
        numbers = np.asarray(nodes)
    except ValueError:  # rows of unequal length
        numbers = np.zeros(0)
    if numbers.ndim != 2 or numbers.shape[1] != node_count(kind) or numbers.dtype.kind not in "iu":
        raise InputError(f"node numbers of {kind} must be whole, (m, {node_count(kind)})", "nodes")
    if numbers.size and not (numbers.min() >= 0 and numbers.max() < points):
        raise InputError(f"node numbers must be 0 to {points - 1}", "nodes")
    whole = numbers.astype(np.int64)
    corners = np.sort(whole[:, : corner_count(kind)], axis=1)
    twice = (np.diff(corners, axis=1) == 0).any(axis=1)
    if twice.any():
        raise InputError(f"element {int(np.argmax(twice))} of its block has one node twice", "nodes")
    return ElementBlock(kind, whole)


def _guard_middles(points: FloatArray, block: ElementBlock) -> None:
    """Refuses mid-side nodes far from the middle of their side, as another order of the nodes has them."""
    for (start, end), middle in sides_with_middles(block.element):
        first, last = points[block.nodes[:, start]], points[block.nodes[:, end]]
        off = np.linalg.norm(points[block.nodes[:, middle]] - (first + last) / 2.0, axis=1)
        wrong = off > _MOST_OFF * np.linalg.norm(last - first, axis=1)
        if wrong.any():
            raise InputError(
                f"element {int(np.argmax(wrong))} of its block has a mid-side node far from the middle of its side:"
                " the file orders the nodes of this kind otherwise",
                "nodes",
            )


def _guard_torn(mesh: SolidMesh) -> None:
    """Refuses a mesh in which every element has nodes of its own, so that every face is surface."""
    corners = [block.nodes[:, : corner_count(block.element)].ravel() for block in mesh.element_blocks]
    every = np.concatenate(corners)
    if mesh.element_total > 1 and len(np.unique(every)) == len(every):
        raise InputError(
            "every element has nodes of its own, so that no edge is shared and no root can be told: "
            "export the mesh with shared nodes (merging by place would close the slits)",
            "element_blocks",
        )
