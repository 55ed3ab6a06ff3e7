"""Elements round a weld line: their kinds, and how many share its edges."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from fatcore.stress.weld_lines.solid._faces import sides_of_element
from fatcore.stress.weld_lines.solid.elements import SOLID_ELEMENTS, Nodes, SolidElement, corner_count
from fatcore.stress.weld_lines.solid.lines import SolidLine
from fatcore.stress.weld_lines.solid.mesh import SolidMesh

_EVEN = 1.5  # elements across the line over its spacing: at a toe of bricks of one size the flank has longer ones


def with_elements(lines: Sequence[SolidLine], mesh: SolidMesh) -> tuple[SolidLine, ...]:
    """The lines with the kinds of the elements that have a corner on them, and the number that share an edge."""
    corners = [(block.element, block.nodes[:, : corner_count(block.element)]) for block in mesh.element_blocks]
    has = {element: np.zeros(len(mesh.points_mm), dtype=bool) for element in SOLID_ELEMENTS}
    on_lines = np.zeros(len(mesh.points_mm), dtype=bool)
    for line in lines:
        on_lines[line.node_index] = True
    near, across = [], []
    for element, nodes in corners:
        has[element][nodes] = True
        near.append(nodes[on_lines[nodes].sum(axis=1) > 1])
        touching = nodes[on_lines[nodes].any(axis=1)]
        across += [touching[:, side] for side in sides_of_element(element)]
    edges = np.unique(np.sort(np.vstack(across), axis=1), axis=0) if lines else np.zeros((0, 2), dtype=np.int64)
    return tuple(_completed(line, has, near, edges, mesh) for line in lines)


def _completed(
    line: SolidLine, has: dict[SolidElement, NDArray[np.bool_]], near: Sequence[Nodes], edges: Nodes, mesh: SolidMesh
) -> SolidLine:
    across = _size_across(edges, line, mesh)
    return replace(
        line,
        elements=_kinds(has, line),
        elements_around=_around(near, line),
        across_mm=across,
        element_size_mm=max(line.element_size_mm, across if across > _EVEN * line.mesh_size_mm else 0.0),
    )


def _size_across(edges: Nodes, line: SolidLine, mesh: SolidMesh) -> float:
    """Mean length, square to the line, of the edges that leave it.

    edges : of elements that touch a line (e, 2)
    """
    place = np.full(len(mesh.points_mm), -1)
    place[line.node_index] = np.arange(len(line.node_index))
    first, last = place[edges].T
    leaving = (first < 0) != (last < 0)
    at = np.maximum(first, last)[leaving]
    arm = mesh.points_mm[edges[leaving, 1]] - mesh.points_mm[edges[leaving, 0]]
    along = np.einsum("ex,ex->e", arm, line.tangent[at])
    square = np.einsum("ex,ex->e", arm, arm) - along**2
    return float(np.sqrt(np.maximum(square, 0.0)).mean())


def _kinds(has: dict[SolidElement, NDArray[np.bool_]], line: SolidLine) -> tuple[SolidElement, ...]:
    return tuple(element for element, at in has.items() if at[line.node_index].any())


def _around(near: Sequence[Nodes], line: SolidLine) -> int:
    """Elements that have both ends of an edge of the line, the largest number along it.

    near : corners of the elements with two nodes on lines at least
    """
    start = line.node_index
    end = np.roll(start, -1) if line.closed else start[1:]
    own = [nodes[np.isin(nodes, start).sum(axis=1) > 1] for nodes in near]
    return max(
        sum(int(((nodes == a).any(axis=1) & (nodes == b).any(axis=1)).sum()) for nodes in own)
        for a, b in zip(start.tolist(), end.tolist(), strict=False)
    )
