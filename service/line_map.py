"""The map of a table of nodal stresses: which column is what, and what holds for the weld lines."""

from __future__ import annotations

import tomllib
from typing import Annotated, Any, Literal

from pydantic import Field, ValidationError

from service.common import NonNegative, Number, Positive, Strict
from service.problems import Problem, from_validation

__all__ = ["Axes", "LineRule", "StressColumns", "TableLayout", "TableMap", "read_map"]

Column = Annotated[str, Field(min_length=1)]
Direction = Annotated[list[Number], Field(min_length=3, max_length=3)]


class Axes(Strict):
    """Columns of the three components of a vector."""

    x: Column
    y: Column
    z: Column


class StressColumns(Strict):
    """Columns of the six components of the stress tensor."""

    xx: Column
    yy: Column
    zz: Column
    xy: Column
    yz: Column
    zx: Column


class TableLayout(Strict):
    """Names of the columns.

    form        : long (a row a node and load case, told apart by `case`) or wide (a row a node, `cases`)
    line        : column that names the weld line; left out, the whole table is one line
    order       : column to sort by; left out, the order comes from the coordinates
    position_mm : column of the position; left out, the chord length
    decimal     : decimal sign; delimiter: column separator
    """

    form: Literal["long", "wide"]
    line: Column | None = None
    order: Column | None = None
    position_mm: Column | None = None
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


class LineRule(Strict):
    """What holds for the lines whose name matches; the first rule that fits counts.

    plate_normal with weld_direction or weld_towards_mm gives the bisector where the table has none
    skip : leave these lines out
    """

    match: Column
    skip: bool = False
    kind: Literal["toe", "root"] = "toe"
    opening_angle_deg: Annotated[float, Field(ge=0.0, lt=180.0)] = 135.0
    size_mm: Positive | None = None
    element: Literal["quad4", "brick8", "tet10", "tet4", "own"] = "tet10"
    mesh_size_mm: Positive = 1.0
    constants: dict[str, Positive] | None = None
    closed: bool | None = None
    exclude_ends_mm: NonNegative = 0.0
    average_over: Literal[1, 3] = 3
    plate_normal: Direction | None = None
    weld_direction: Direction | None = None
    weld_towards_mm: Direction | None = None


class TableMap(Strict):
    """The whole map: layout of the table, rules of the lines, and what is copied into the request."""

    table: TableLayout
    lines: list[LineRule] = Field(min_length=1)
    request: dict[str, Any] = Field(default_factory=dict)


def read_map(text: str) -> TableMap:
    """The map of a TOML text; Problem 422 with pointers when it does not fit."""
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise Problem(400, f"the map is not TOML: {error}") from error
    try:
        return TableMap.model_validate(data)
    except ValidationError as error:
        raise from_validation(error, data) from error
