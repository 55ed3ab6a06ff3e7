"""Elements round a weld line: their kinds, and how many share its edges."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from fatcore.stress.weld_lines.solid.elements import SOLID_ELEMENTS, Nodes, SolidElement, corner_count
from fatcore.stress.weld_lines.solid.lines import SolidLine
from fatcore.stress.weld_lines.solid.mesh import SolidMesh


def with_elements(lines: Sequence[SolidLine], mesh: SolidMesh) -> tuple[SolidLine, ...]:
    """The lines with the kinds of the elements that have a corner on them, and the number that share an edge."""
    corners = [(block.element, block.nodes[:, : corner_count(block.element)]) for block in mesh.element_blocks]
    has = {element: np.zeros(len(mesh.points_mm), dtype=bool) for element in SOLID_ELEMENTS}
    on_lines = np.zeros(len(mesh.points_mm), dtype=bool)
    for line in lines:
        on_lines[line.node_index] = True
    near = []
    for element, nodes in corners:
        has[element][nodes] = True
        near.append(nodes[on_lines[nodes].sum(axis=1) > 1])
    return tuple(replace(line, elements=_kinds(has, line), elements_around=_around(near, line)) for line in lines)


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
