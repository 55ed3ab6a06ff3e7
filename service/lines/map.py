"""The map of a table of nodal stresses: which column is what, and what holds for the weld lines."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field, ValidationError

from fatcore.bounds import NonNegative, Number, Positive
from fatcore.cracks.driving.ranges import Condition

from ..base.common import Strict
from ..base.parsing import toml_of
from ..base.problems import Problem, from_validation, pointer, refused_parts
from ..topics.check.judging import CheckMaterial, CurvesInput
from ..topics.check.settings import OWN
from ..topics.stress.models import PeakConstants

Column = Annotated[str, Field(min_length=1)]
Direction = Annotated[list[Number], Field(min_length=3, max_length=3)]

REQUIRED = ("kind", "opening_angle_deg", "notch_size_mm", "element", "element_size_mm", "average_over")


class Axes(Strict):
    """Columns of the three components of a vector.

    x, y, z : column of this component
    """

    x: Column
    y: Column
    z: Column


class StressColumns(Strict):
    """Columns of the six components of the stress tensor.

    xx, yy, zz, xy, yz, zx : column of this component
    """

    xx: Column
    yy: Column
    zz: Column
    xy: Column
    yz: Column
    zx: Column


class TableLayout(Strict):
    """Names of the columns.

    form          : long (a row a node and load case, distinguished by `case`) or wide (a row a node, `cases`)
    line          : column that names the weld line; left out, the whole table is one line
    order         : column to sort by; left out, the order comes from the coordinates
    position_mm   : column of the position; left out, the chord length
    node_id       : column of the node's number, which the answer repeats
    case          : column that names the load case, of a long table
    coordinates_mm : columns of the coordinates of the nodes
    tangent, bisector, plate_normal : columns of this direction, where the table has it
    stress_mpa    : columns of the stress tensor, of a long table
    cases         : columns of the stress tensor by load case, of a wide table
    decimal       : decimal sign; delimiter: column separator
    stress_factor : to MPa; length_factor: of coordinates and positions to mm, 1000 for metres
    """

    form: Literal["long", "wide"]
    line: Column | None = None
    order: Column | None = None
    position_mm: Column | None = None
    node_id: Column | None = None
    case: Column | None = None
    delimiter: Annotated[str, Field(min_length=1, max_length=1)] = ","
    decimal: Literal[".", ","] = "."
    coordinates_mm: Axes | None = None
    tangent: Axes | None = None
    bisector: Axes | None = None
    plate_normal: Axes | None = None
    stress_mpa: StressColumns | None = None
    cases: dict[str, StressColumns] = Field(default_factory=dict)
    stress_factor: Positive = 1.0
    length_factor: Positive = 1.0


class Radial(Strict):
    """Direction of round parts: from an axis, or without one from a point, outward to the node or inward.

    point_mm : point on the axis, or the centre
    axis     : direction of the axis
    sense    : outward to the node, or inward
    """

    point_mm: Direction
    axis: Direction | None = None
    sense: Literal["outward", "inward"]


class JudgedRule(Strict):
    """What the lines of a rule are judged by for themselves; left out, by what `request` says for all lines."""

    curves: CurvesInput | None = None
    condition: Condition | None = None
    material: CheckMaterial | None = None

    def own(self) -> dict[str, Any]:
        """What of it the rule gives, as a line of the request has it."""
        return self.model_dump(mode="json", include=set(OWN), exclude_unset=True)


class LineRule(JudgedRule):
    """What holds for the lines whose name matches; the first rule that fits counts.

    Where the table has no bisector the plate's outward normal (plate_normal, or plate_normal_from an axis or
    a point) and the side of the weld (weld_direction, weld_direction_from or weld_towards_mm) give it. Points
    are in mm whatever the table's unit is.

    match        : pattern of names of lines, with * and ?
    kind         : toe or root
    skip         : leave these lines out; else kind, opening_angle_deg, notch_size_mm, element,
                   element_size_mm and
                   average_over must be given, since each changes the result
    notch_size_mm      : reference length of the mesh rule, or "not-judged"
    elements_around : of quad4 and brick8, how many share a node of the line in a section across it
    average_over : 3, the mean that the constants of tet10 were found with, or 1, never lower
    closed       : left out, the coordinates decide
    plate_normal, plate_normal_from : the plate's outward normal, as a direction or from an axis or a point
    weld_direction, weld_direction_from, weld_towards_mm : the side of the weld, as a direction, from an axis or a
                   point, or as a point on that side
    """

    match: Column
    skip: bool = False
    kind: Literal["toe", "root"] | None = None
    opening_angle_deg: Annotated[float, Field(ge=0.0, lt=180.0)] | None = None
    notch_size_mm: Positive | Literal["not-judged"] | None = None
    element: Literal["quad4", "brick8", "tet10", "tet4", "own"] | None = None
    element_size_mm: Positive | None = None
    elements_around: Annotated[int, Field(ge=1, le=1000)] | None = None
    constants: PeakConstants | None = None
    closed: bool | None = None
    exclude_ends_mm: NonNegative = 0.0
    exclude_ends_reason: Column | None = None
    average_over: Literal[1, 3] | None = None
    plate_normal: Direction | None = None
    plate_normal_from: Radial | None = None
    weld_direction: Direction | None = None
    weld_direction_from: Radial | None = None
    weld_towards_mm: Direction | None = None


class RequestMap(Strict):
    """A map with what is copied into the check request: loading, target and so on."""

    request: dict[str, Any] = Field(default_factory=dict)


class TableMap(RequestMap):
    """The whole map: layout of the table, rules of the lines, and what is copied into the request.

    table : what the columns of the table are
    lines : rules, of which the first whose `match` fits a line counts
    """

    table: TableLayout
    lines: list[LineRule] = Field(min_length=1)


def read_map(text: str, name: str = "the map") -> TableMap:
    """The map of a TOML text of a name; Problem 422 with pointers when it does not fit."""
    data = toml_of(text, name)
    if "mesh" in data and "table" not in data:
        raise Problem(422, f"{name} is the map of a mesh ([mesh]); the file is a table, whose map has [table]")
    try:
        table_map = TableMap.model_validate(data)
    except ValidationError as error:
        raise from_validation(error, data, TableMap) from error
    _refuse([*_missing(table_map), *_twofold(table_map)])
    return table_map


def _refuse(errors: list[tuple[str, str]]) -> None:
    if errors:
        raise refused_parts(errors, "parts of the map are missing or contradict each other")


def _missing(table_map: TableMap) -> list[tuple[str, str]]:
    hints = {"notch_size_mm": 'a length, or "not-judged"'}
    return [
        (pointer(["lines", index, name]), f"needed: {hints.get(name, 'it has no default')} (or skip = true)")
        for index, rule in enumerate(table_map.lines)
        if not rule.skip
        for name in REQUIRED
        if getattr(rule, name) is None
    ]


def _twofold(table_map: TableMap) -> list[tuple[str, str]]:
    """What is given twice, of which only one could count."""
    layout, found = table_map.table, []
    if "lines" in table_map.request:
        found.append((pointer(["request", "lines"]), "the lines come from the table"))
    for name, group in _groups(layout):
        columns = list(group.model_dump().values())
        if len(set(columns)) < len(columns):
            found.append((pointer(name), "one column stands for two components"))
    normals = ("plate_normal", "plate_normal_from")
    sides = ("weld_direction", "weld_direction_from", "weld_towards_mm")
    for index, rule in enumerate(table_map.lines):
        for names, inside in ((normals, layout.plate_normal), (sides, None)):
            given = [name for name in names if getattr(rule, name) is not None]
            if given and layout.bisector is not None:
                found.append((pointer(["lines", index, given[0]]), "not used: the table has the bisector"))
            elif len(given) + (inside is not None) > 1:
                found.append((pointer(["lines", index, given[0]]), f"give one of {', '.join(names)} only"))
    return found


def _groups(layout: TableLayout) -> list[tuple[list[str | int], Strict]]:
    named = ("coordinates_mm", "tangent", "bisector", "plate_normal", "stress_mpa")
    groups = [(["table", name], getattr(layout, name)) for name in named]
    groups += [(["table", "cases", name], columns) for name, columns in layout.cases.items()]
    return [(list(name), group) for name, group in groups if group is not None]
