"""Turns a table of nodal stresses, as a finite-element program exports it, into a check request."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterable, Mapping, Sequence
from fnmatch import fnmatchcase
from typing import Any

import numpy as np

from fatcore.errors import InputError, at
from fatcore.require import FloatArray
from fatcore.stress import line_geometry
from service.line_map import Axes, LineRule, StressColumns, TableLayout, TableMap

__all__ = ["check_request", "read_rows"]

COMPONENTS = ("xx", "yy", "zz", "xy", "yz", "zx")
Row = Mapping[str, str]


def read_rows(text: str, layout: TableLayout) -> list[Row]:
    """Rows of a CSV text by column name, blank ones left out, any line ends.

    Raises : InputError for a column of the layout that is missing or there twice, for a row of other length
    """
    reader = csv.reader(io.StringIO(text.lstrip("\ufeff"), newline=None), delimiter=layout.delimiter)
    header, *rows = _filled(reader) or [[]]
    names = [name.strip() for name in header]
    for column in _columns(layout):
        if names.count(column) != 1:
            what = "no column" if column not in names else "more than one column"
            raise InputError(f"the table has {what} {column!r}", "table")
    if not rows:
        raise InputError("the table has no rows", "table")
    return [_row(names, cells, number) for number, cells in enumerate(rows, start=1)]


def _filled(reader: Iterable[list[str]]) -> list[list[str]]:
    try:
        return [cells for cells in reader if any(cell.strip() for cell in cells)]
    except csv.Error as error:
        raise InputError(f"the table is no CSV: {error}", "table") from error


def _row(names: list[str], cells: list[str], number: int) -> Row:
    # cells beyond the header are harmless only when they are empty: else the columns have shifted
    if len(cells) < len(names) or any(cell.strip() for cell in cells[len(names) :]):
        raise InputError(
            f"row {number} under the header has {len(cells)} cells where {len(names)} were expected", "table"
        )
    return dict(zip(names, cells, strict=False))


def _columns(layout: TableLayout) -> list[str]:
    names = [layout.line, layout.order, layout.position_mm, layout.case]
    groups = [layout.coordinates_mm, layout.tangent, layout.bisector, layout.plate_normal, layout.stress_mpa]
    for group in [*groups, *layout.cases.values()]:
        names += list(group.model_dump().values()) if group else []
    return [name for name in names if name]


def check_request(rows: Sequence[Row], table_map: TableMap) -> dict[str, Any]:
    """The check request of a table; what it lacks (loading, target) is taken from the map's `request`."""
    layout = table_map.table
    _guard_layout(layout)
    lines = []
    for name, members in _grouped(rows, layout).items():
        rule = next((rule for rule in table_map.lines if fnmatchcase(name, rule.match)), None)
        if rule is None:
            raise InputError(f"no rule of the map matches the line {name!r}", "lines")
        if not rule.skip:
            with at("lines", name):
                lines.append(_line(name, members, layout, rule))
    if not lines:
        raise InputError("every line is skipped", "lines")
    return {**table_map.request, "lines": lines}


def _guard_layout(layout: TableLayout) -> None:
    if layout.form == "long" and (layout.case is None or layout.stress_mpa is None):
        raise InputError("a long table needs `case` and `stress_mpa`", "table")
    if layout.form == "wide" and not layout.cases:
        raise InputError("a wide table needs `cases`", "table", "cases")
    if layout.coordinates_mm is None and (layout.order is None or layout.tangent is None):
        raise InputError("without coordinates a table needs `order` and `tangent`", "table")


def _grouped(rows: Sequence[Row], layout: TableLayout) -> dict[str, list[Row]]:
    groups: dict[str, list[Row]] = {}
    for row in rows:
        groups.setdefault(row[layout.line].strip() if layout.line else "line", []).append(row)
    return groups


def _line(name: str, rows: list[Row], layout: TableLayout, rule: LineRule) -> dict[str, Any]:
    cases = _cases(rows, layout)
    first = next(iter(cases.values()))[0]
    order, closed = _order(first, layout, rule)
    tangent, bisector, position = _frame(first, order, closed, layout, rule)
    mesh: dict[str, Any] = {"element": rule.element, "size_mm": rule.mesh_size_mm}
    if rule.constants:
        mesh["constants"] = rule.constants
    return {
        "name": name,
        "notch": {"kind": rule.kind, "opening_angle_deg": rule.opening_angle_deg, "size_mm": rule.size_mm},
        "mesh": mesh,
        "position_mm": position.tolist(),
        "exclude_ends_mm": rule.exclude_ends_mm,
        "closed": closed,
        "average_over": rule.average_over,
        "tangent": tangent.tolist(),
        "bisector": bisector.tolist(),
        "cases": {
            case: {"tensors_mpa": _tensors(members, columns, order, layout)}
            for case, (members, columns) in cases.items()
        },
    }


def _cases(rows: list[Row], layout: TableLayout) -> dict[str, tuple[list[Row], StressColumns]]:
    """Rows and stress columns of each load case; in a long table every case must list the same nodes."""
    if layout.form == "wide":
        return {case: (rows, columns) for case, columns in layout.cases.items()}
    assert layout.case is not None
    assert layout.stress_mpa is not None
    by_case: dict[str, list[Row]] = {}
    for row in rows:
        by_case.setdefault(row[layout.case].strip(), []).append(row)
    places = _places(next(iter(by_case.values())), layout)
    for case, members in list(by_case.items())[1:]:
        here = _places(members, layout)
        if sorted(here) != sorted(places):
            raise InputError(f"load case {case!r} lists other nodes than the first case", "cases", case)
        by_case[case] = [members[index] for index in _matching(here, places)]
    return {case: (members, layout.stress_mpa) for case, members in by_case.items()}


def _places(rows: list[Row], layout: TableLayout) -> list[tuple[str, ...]]:
    names = (
        list(layout.coordinates_mm.model_dump().values()) if layout.coordinates_mm else [layout.order or ""]
    )
    return [tuple(row[name] for name in names) for row in rows]


def _matching(here: list[tuple[str, ...]], places: list[tuple[str, ...]]) -> list[int]:
    where = {place: index for index, place in enumerate(here)}
    return [where[place] for place in places]


def _order(rows: list[Row], layout: TableLayout, rule: LineRule) -> tuple[list[int], bool]:
    if layout.order is not None:
        values = _numbers(rows, [layout.order], layout)[:, 0]
        return np.argsort(values, kind="stable").tolist(), bool(rule.closed)
    assert layout.coordinates_mm is not None
    points = _vectors(rows, layout.coordinates_mm, layout)
    found = line_geometry.order_along_line(points, rule.closed)
    return found.index.tolist(), found.closed


def _frame(
    rows: list[Row], order: list[int], closed: bool, layout: TableLayout, rule: LineRule
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Tangent, bisector and position of the ordered stations, from the table or from the geometry."""
    axes = layout.coordinates_mm
    points = None if axes is None else _vectors(rows, axes, layout)[order]
    if layout.tangent is not None:
        tangent = _vectors(rows, layout.tangent, layout)[order]
    else:
        assert points is not None
        tangent = line_geometry.tangents_along(points, closed)
    if layout.position_mm is not None:
        position = _numbers(rows, [layout.position_mm], layout)[order, 0]
    elif points is not None:
        position = line_geometry.positions_along(points)
    else:
        raise InputError("without coordinates a table needs `position_mm`", "table", "position_mm")
    if layout.bisector is not None:
        return tangent, _vectors(rows, layout.bisector, layout)[order], position
    return tangent, _bisector(rows, order, tangent, points, layout, rule), position


def _bisector(
    rows: list[Row],
    order: list[int],
    tangent: FloatArray,
    points: FloatArray | None,
    layout: TableLayout,
    rule: LineRule,
) -> FloatArray:
    if layout.plate_normal is not None:
        normal = _vectors(rows, layout.plate_normal, layout)[order]
    elif rule.plate_normal is not None:
        normal = np.array(rule.plate_normal)
    else:
        raise InputError("without a bisector the rule needs the plate's outward normal", "plate_normal")
    side = line_geometry.weld_side(
        tangent, normal, direction=rule.weld_direction, points_mm=points, towards_mm=rule.weld_towards_mm
    )
    return line_geometry.notch_bisector(tangent, normal, side, rule.opening_angle_deg)


def _tensors(
    rows: list[Row], columns: StressColumns, order: list[int], layout: TableLayout
) -> dict[str, list[float]]:
    names = columns.model_dump()
    values = _numbers(rows, list(names.values()), layout)[order] * layout.stress_factor
    return {component: values[:, index].tolist() for index, component in enumerate(COMPONENTS)}


def _vectors(rows: list[Row], axes: Axes, layout: TableLayout) -> FloatArray:
    return _numbers(rows, [axes.x, axes.y, axes.z], layout)


def _numbers(rows: list[Row], names: list[str], layout: TableLayout) -> FloatArray:
    return np.array([[_number(row[name], name, layout.decimal) for name in names] for row in rows])


def _number(text: str, column: str, decimal: str) -> float:
    try:
        # with a decimal comma a point can only separate thousands; Python would read an underscore as one
        foreign = "_" in text or (decimal == "," and "." in text)
        value = math.nan if foreign else float(text.strip().replace(decimal, "."))
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise InputError(f"column {column!r} holds {text!r} where a number was expected", "table")
    return value
