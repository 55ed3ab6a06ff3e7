"""The map of a solid mesh: units, load cases, names of the weld lines, and what holds for them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any, Literal

from pydantic import Field, ValidationError

from fatcore.bounds import NonNegative, Number, Positive
from fatcore.stress.weld_lines.solid.detect import find_weld_lines

from ..base.common import Strict
from ..base.derive import Derived, request_of
from ..base.parsing import toml_of
from ..base.problems import Problem, from_validation, pointer, refused_parts
from ..lines.map import Axes, Column, Direction, JudgedRule, RequestMap, StressColumns
from ..topics.stress.models import PeakConstants
from .raw import Plane
from .tensors import Component

Step = Annotated[int, Field(ge=0)]

# of a rule that skips nothing
NEEDED = {"notch_size_mm": 'a length, or "not-judged"', "average_over": "1, or 3 for tet10"}


class StepCase(Strict):
    """A load case that is a time step of an array: by its number from 0, or by its time as the file has it.

    array : name of the array; step: its time step by number from 0; time: or by its time
    """

    array: Column
    step: Step | None = None
    time: Number | None = None


class LineName(Strict):
    """A name for one line: the one that passes a point, lies in a box, or holds the nodes of a set.

    name     : what the line is called from here on
    near_mm  : the line with the nearest node; others must be twice as far away
    box_mm   : two opposite corners; the line whose nodes all lie between them
    node_set : the line that has at least four fifths of its nodes in this set of the file
    kind     : only among toes, or among roots
    """

    name: Column
    near_mm: Direction | None = None
    box_mm: Annotated[list[Direction], Field(min_length=2, max_length=2)] | None = None
    node_set: Column | None = None
    kind: Literal["toe", "root"] | None = None


@request_of(find_weld_lines, omit=("mesh", "symmetry"))
class Search(Derived):
    """Limits of the search for weld lines.

    rounded_share : 1 keeps rounded hollows among the lines
    """


class MeshLayout(Strict):
    """A solid mesh, as a finite-element program writes it.

    length_factor : of coordinates to mm, 1000 for metres; stress_factor: of the arrays to MPa
    cases         : load case -> array of the stress tensor, or its six arrays, or a time step of an array;
                    none where a table beside the mesh has the stresses
    components    : order of the numbers in arrays of six, since files do not agree
    ignore_format_order : the writer did not bring the numbers into the order that the format fixes (Tensor6 of XDMF,
                    TENSORS6 of VTK): components counts
    symmetry      : planes on which the part is cut, "y=0", in mm
    names         : names for lines that the search finds
    search        : limits of the search for weld lines
    unnamed       : whether lines that nobody named are kept with the names toe-1, root-1, or dropped
    """

    length_factor: Positive
    stress_factor: Positive
    cases: Annotated[dict[str, Column | StressColumns | StepCase], Field(max_length=1000)] = Field(default_factory=dict)
    components: Annotated[list[Component], Field(min_length=6, max_length=6)] | None = None
    ignore_format_order: bool = False
    symmetry: Annotated[list[Plane], Field(max_length=3)] = Field(default_factory=list)
    names: Annotated[list[LineName], Field(max_length=1000)] = Field(default_factory=list)
    unnamed: Literal["keep", "drop"] = "keep"
    search: Search = Search()


class NodeTable(Strict):
    """A table of nodal stresses beside the mesh, which has the geometry.

    node_id       : column of the node's number in the mesh; several rows of a node are those of its elements
    form          : long (a row a node and load case, distinguished by `case`) or wide (a row a node, `cases`)
    first_node    : number of the first node of the mesh, where its file does not hold numbers
    coordinates_mm : columns that are compared with the mesh, in its unit
    case          : column that names the load case, of a long table; decimal: decimal sign
    delimiter     : column separator; stress_mpa: columns of the stress tensor, of a long table
    cases         : columns of the stress tensor by load case, of a wide table
    """

    form: Literal["long", "wide"]
    node_id: Column
    first_node: Step | None = None
    case: Column | None = None
    delimiter: Annotated[str, Field(min_length=1, max_length=1)] = ","
    decimal: Literal[".", ","] = "."
    coordinates_mm: Axes | None = None
    stress_mpa: StressColumns | None = None
    cases: dict[str, StressColumns] = Field(default_factory=dict)


class MeshRule(JudgedRule):
    """What holds for the lines whose name matches; the first rule that fits counts.

    match         : pattern of names of lines, with * and ?
    skip          : leave these lines out; else notch_size_mm and average_over must be given
    notch_size_mm : reference length of the mesh rule, or "not-judged"
    element, constants : where the mesh's kind has no published constants, or in place of them
    opening_angle_deg  : in place of the mean of the mesh, within 3 deg of it
    average_over  : 3, the mean that the constants of tet10 were found with, or 1, never lower
    """

    match: Column
    skip: bool = False
    notch_size_mm: Positive | Literal["not-judged"] | None = None
    average_over: Literal[1, 3] | None = None
    opening_angle_deg: Annotated[float, Field(ge=0.0, lt=180.0)] | None = None
    element: Literal["own"] | None = None
    constants: PeakConstants | None = None
    exclude_ends_mm: NonNegative = 0.0
    exclude_ends_reason: Column | None = None


class MeshMap(RequestMap):
    """The whole map: the mesh, a table of stresses beside it, rules of the lines, what is copied into the request.

    mesh  : the mesh and its arrays; table: stresses by node number beside it
    lines : rules, of which the first whose `match` fits a line counts
    """

    mesh: MeshLayout
    table: NodeTable | None = None
    lines: list[MeshRule] = Field(min_length=1)


def read_mesh_map(text: str, name: str = "the map") -> MeshMap:
    """The map of a TOML text of a name; Problem 422 with pointers when it does not fit."""
    data = toml_of(text, name)
    if "mesh" not in data and "table" in data:
        raise Problem(422, f"{name} is the map of a table: it has no [mesh], and the file is a mesh")
    return mesh_map_of(data)


def mesh_map_of(data: dict[str, Any]) -> MeshMap:
    """The map of plain data; Problem 422 with pointers when it does not fit."""
    try:
        mesh_map = MeshMap.model_validate(data)
    except ValidationError as error:
        raise from_validation(error, data, MeshMap) from error
    errors = [*_missing(mesh_map), *_twofold(mesh_map)]
    if errors:
        raise refused_parts(errors, "parts of the map are missing or contradict each other")
    return mesh_map


def _missing(mesh_map: MeshMap) -> list[tuple[str, str]]:
    found = [
        (pointer(["lines", index, name]), f"needed: {hint} (or skip = true)")
        for index, rule in enumerate(mesh_map.lines)
        if not rule.skip
        for name, hint in NEEDED.items()
        if getattr(rule, name) is None
    ]
    if not mesh_map.mesh.cases and mesh_map.table is None:
        found.append((pointer(["mesh", "cases"]), "needed: load cases, or a table of stresses beside the mesh"))
    return found


def _twofold(mesh_map: MeshMap) -> list[tuple[str, str]]:
    """What is given twice, or not exactly once."""
    found = []
    if "lines" in mesh_map.request:
        found.append((pointer(["request", "lines"]), "the lines come from the mesh"))
    if mesh_map.mesh.cases and mesh_map.table is not None:
        found.append((pointer(["mesh", "cases"]), "not used: the table has the stresses"))
    for index, name in enumerate(mesh_map.mesh.names):
        if sum(each is not None for each in (name.near_mm, name.box_mm, name.node_set)) != 1:
            found.append((pointer(["mesh", "names", index]), "give one of near_mm, box_mm, node_set"))
    for case, given in mesh_map.mesh.cases.items():
        if isinstance(given, StepCase) and (given.step is None) == (given.time is None):
            found.append((pointer(["mesh", "cases", case]), "give the step, or its time"))
    for path, columns in _columns(mesh_map):
        names = list(columns.model_dump().values())
        if len(set(names)) < len(names):
            found.append((pointer(path), "one array or column stands for two components"))
    components = mesh_map.mesh.components
    if components is not None and len(set(components)) < 6:
        found.append((pointer(["mesh", "components"]), "each component once"))
    return found


def _columns(mesh_map: MeshMap) -> Iterator[tuple[list[str | int], StressColumns | Axes]]:
    """Groups of arrays or columns that stand for one component each."""
    for case, given in mesh_map.mesh.cases.items():
        if isinstance(given, StressColumns):
            yield ["mesh", "cases", case], given
    if mesh_map.table is not None:
        for name in ("coordinates_mm", "stress_mpa"):
            if (columns := getattr(mesh_map.table, name)) is not None:
                yield ["table", name], columns
        for case, columns in mesh_map.table.cases.items():
            yield ["table", "cases", case], columns
