"""A weld line of a solid mesh with a frame at each node."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from fatcore.bounds import NumberArray, VectorArray
from fatcore.stress.weld_lines.solid.elements import Nodes, SolidElement


@dataclass(frozen=True, slots=True, kw_only=True)
class SolidLine:
    """A weld line of a solid mesh.

    name              : toe-1, toe-2, root-1, by length
    opening_angle_deg : mean over the length; node_opening_deg (n,) of the edges at each node
    node_index        : of the mesh, in order (n,); the first one of a loop is not repeated
    tangent, bisector : unit vectors (n, 3), the bisector into the material
    mesh_size_mm      : mean spacing of the nodes; step_mm: shortest and longest
    across_mm         : mean size of the elements square to the line
    element_size_mm   : that counts: the mean spacing, or the largest local one of an uneven line, or across_mm
                        where it is more than 1.5 times the spacing
    elements          : kinds that have a node of the line
    elements_around   : elements that share an edge of the line, the largest number along it
    symmetric_start   : the line goes on as its mirror image there; symmetric_end likewise
    """

    name: str
    kind: Literal["toe", "root"]
    opening_angle_deg: float
    closed: bool
    length_mm: float
    mesh_size_mm: float
    element_size_mm: float
    across_mm: float
    step_mm: tuple[float, float]
    elements: tuple[SolidElement, ...]
    elements_around: int
    node_index: Nodes
    coordinates_mm: VectorArray
    position_mm: NumberArray
    tangent: VectorArray
    bisector: VectorArray
    node_opening_deg: NumberArray
    symmetric_start: bool
    symmetric_end: bool
