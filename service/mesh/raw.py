"""What a mesh file holds, before units and load cases are known: the same for every format."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Annotated, Any

import numpy as np
from numpy.typing import NDArray
from pydantic import AfterValidator, WithJsonSchema

from fatcore.errors import InputError
from fatcore.findings import Finding
from fatcore.require import FloatArray
from fatcore.stress.weld_lines.solid.elements import SolidElement
from fatcore.stress.weld_lines.solid.mesh import SolidMesh, solid_mesh
from fatcore.stress.weld_lines.solid.symmetry import PLANE

from ..base.units import guard_given_unit

Array = NDArray[Any]
OF_FILE = "numbers of the file"
ArrayKey = str | tuple[int, str]  # an array by its name, or by the number of its time step and its name


def _as_plane(text: str) -> str:
    if re.fullmatch(PLANE, text) is None:
        raise ValueError('must be a plane like "y=0"')
    return text


Plane = Annotated[str, AfterValidator(_as_plane), WithJsonSchema({"type": "string", "pattern": PLANE})]


@dataclass(frozen=True, slots=True, kw_only=True)
class RawMesh:
    """A mesh as its file holds it.

    points     : (n, 3) in the unit of the file
    cells      : solid elements by kind with places of their nodes among the points, in the order of the file
    other      : cells that are no solids, by name and number; they are left out
    point_data : arrays (n, ...) by name; jumps: of those that are means over elements, how far these disagree at
                 each node (n,), of the largest value there; in_part: nodes (n,) of whose elements some have no value
    components : names of the components of an array, where the file has them, in a time step by its number too;
                 fixed: the order of those of which the format fixes it; units: units by name
    length_unit: units of the coordinates, where the file has them; elsewhere: arrays that lie not at nodes, and where
    node_id    : numbers of the nodes in the file (n,); numbered: in words, where they come from
    node_sets  : places of the nodes of each named set
    steps      : time and arrays of each time step, where the steps are those of the file
    doubts     : what the file leaves doubtful of all that is taken from it
    series     : by array the time of each of its steps, and the name in point_data, where every array has its own
    """

    points: FloatArray
    cells: tuple[tuple[SolidElement, NDArray[np.int64]], ...]
    other: Mapping[str, int] = field(default_factory=dict)
    point_data: Mapping[str, Array] = field(default_factory=dict)
    jumps: Mapping[str, FloatArray] = field(default_factory=dict)
    in_part: Mapping[str, NDArray[np.bool_]] = field(default_factory=dict)
    components: Mapping[ArrayKey, tuple[str, ...]] = field(default_factory=dict)
    fixed: Mapping[ArrayKey, tuple[str, ...]] = field(default_factory=dict)
    units: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    length_unit: tuple[str, ...] = ()
    elsewhere: Mapping[str, str] = field(default_factory=dict)
    node_id: NDArray[np.int64]
    numbered: str
    node_sets: Mapping[str, NDArray[np.int64]] = field(default_factory=dict)
    steps: tuple[tuple[float, Mapping[str, Array]], ...] = ()
    series: Mapping[str, tuple[tuple[float, str], ...]] = field(default_factory=dict)
    doubts: tuple[Finding, ...] = ()


def solid_of(raw: RawMesh, length_factor: float) -> SolidMesh:
    """The solid mesh in mm.

    Raises : InputError for coordinates in a unit that asks for another factor, for a file without solid elements,
             with the cells that it has, and as `solid_mesh`
    """
    if not raw.cells:
        held = ", ".join(f"{count} {name}" for name, count in raw.other.items()) or "no cells"
        raise InputError(f"the file has no solid elements ({held}): weld lines are edges of a solid", "mesh")
    for unit in filter(None, raw.length_unit):
        guard_given_unit(unit, length_factor, "its coordinates", length=True)
    return solid_mesh(raw.points * length_factor, raw.cells)
