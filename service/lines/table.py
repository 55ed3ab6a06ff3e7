"""Turns a table of nodal stresses, as a finite-element program exports it, into a check request."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fnmatch import fnmatchcase
from typing import Any

from fatcore.errors import InputError
from fatcore.figures import as_given, figure

from ..base.problems import Problem, pointer
from ..base.units import guard_length_factor, guard_stress_factor
from .frame import frame_of
from .map import LineRule, StressColumns, TableLayout, TableMap
from .request import Doubt, LineSource, guard_request
from .rows import Row, columns_of, numbers, whole_numbers

SMALL_MPA = 1.0
ALIKE = "load-cases-alike"
COMPONENTS = ("xx", "yy", "zz", "xy", "yz", "zx")


@dataclass(frozen=True, slots=True, kw_only=True)
class Mapped:
    """A check request, and what a person must know of how it came about.

    assumptions : of every line, how its geometry was found; skipped: lines that the map leaves out
    idle    : patterns of rules to skip that match nothing; unused: columns that nothing reads
    doubts  : cautions and limits left that the lines themselves show
    """

    request: dict[str, Any]
    assumptions: Mapping[str, tuple[str, ...]]
    skipped: tuple[str, ...]
    idle: tuple[str, ...]
    unused: tuple[str, ...]
    doubts: tuple[Doubt, ...]


def check_request(rows: Sequence[Row], table_map: TableMap) -> dict[str, Any]:
    """The check request of a table; what it lacks (loading, target) is taken from the map's `request`."""
    return map_table(rows, table_map).request


def map_table(rows: Sequence[Row], table_map: TableMap) -> Mapped:
    """The check request of a table, validated, with what was assumed and left out.

    Raises : InputError for the table; Problem whose pointers refer to the map
    """
    layout = table_map.table
    _guard_layout(layout)
    groups = _group(rows, layout)
    rules = {name: _rule(name, table_map) for name in groups}
    _guard_rules(table_map, set(rules.values()), sorted(groups))
    lines, assumptions, sources = [], {}, []
    for name, members in groups.items():
        rule = table_map.lines[rules[name]]
        if rule.skip:
            continue
        source = LineSource(name=name, rule=rules[name])
        with source.located():
            line, assumptions[name] = _line(name, members, layout, rule)
        lines.append(line)
        sources.append(source)
    if not lines:
        raise InputError("every line is skipped", "lines")
    request = {**table_map.request, "lines": lines}
    return Mapped(
        request=request,
        assumptions=assumptions,
        skipped=tuple(name for name, index in rules.items() if table_map.lines[index].skip),
        idle=tuple(rule.match for index, rule in enumerate(table_map.lines) if index not in set(rules.values())),
        unused=tuple(name for name in rows[0] if name and name not in set(columns_of(layout))),
        doubts=(*guard_request(request, sources), *_small_stresses(lines, layout), *_alike(lines)),
    )


def _guard_layout(layout: TableLayout) -> None:
    if layout.form == "long" and (layout.case is None or layout.stress_mpa is None):
        raise InputError("a long table needs `case` and `stress_mpa`", "table")
    if layout.form == "wide" and not layout.cases:
        raise InputError("a wide table needs `cases`", "table", "cases")
    unused = ("cases",) if layout.form == "long" else ("case", "stress_mpa")
    for name in unused:
        if getattr(layout, name):
            raise InputError(f"a {layout.form} table does not use `{name}`", "table", name)
    if layout.coordinates_mm is None and (layout.order is None or layout.tangent is None):
        raise InputError("without coordinates a table needs `order` and `tangent`", "table")
    if layout.bisector is not None and layout.plate_normal is not None:
        raise InputError("not used: the table has the bisector", "table", "plate_normal")
    _guard_units(layout)


def _guard_units(layout: TableLayout) -> None:
    stresses = [group for group in (layout.stress_mpa, *layout.cases.values()) if group is not None]
    for group in stresses:
        for name in group.model_dump().values():
            guard_stress_factor(name, layout.stress_factor)
    axes = {} if layout.coordinates_mm is None else layout.coordinates_mm.model_dump()
    for name in (*axes.values(), *([layout.position_mm] if layout.position_mm else [])):
        guard_length_factor(name, layout.length_factor)


def _small_stresses(lines: Sequence[Mapping[str, Any]], layout: TableLayout) -> list[Doubt]:
    """A caution where the factor, below 1, makes all stresses smaller than those of usual unit loads."""
    cases = [(line["name"], case["tensors_mpa"]) for line in lines for case in line["cases"].values()]
    largest = max(abs(value) for _, tensors in cases for column in tensors.values() for value in column)
    if layout.stress_factor >= 1.0 or largest >= SMALL_MPA:
        return []
    text = (
        f"caution: the stress_factor {as_given(layout.stress_factor)} makes the largest stress "
        f"{figure(largest)} MPa: the"
        " table may be in MPa already [stresses-small]"
    )
    return [(name, text) for name in dict.fromkeys(name for name, _ in cases)]


def _alike(lines: Sequence[Mapping[str, Any]]) -> list[Doubt]:
    """A caution where load cases of a line have the same stresses, and not zero, at every station."""
    found = []
    for line in lines:
        same: dict[str, list[str]] = {}
        for case, held in line["cases"].items():
            if any(map(any, held["tensors_mpa"].values())):
                same.setdefault(repr(held["tensors_mpa"]), []).append(case)
        groups = [", ".join(names) for names in same.values() if len(names) > 1]
        found += [(line["name"], f"caution: load cases {names} have the same stresses [{ALIKE}]") for names in groups]
    return found


def _group(rows: Sequence[Row], layout: TableLayout) -> dict[str, list[Row]]:
    groups: dict[str, list[Row]] = {}
    for row in rows:
        groups.setdefault(row[layout.line].strip() if layout.line else "line", []).append(row)
    return groups


def _rule(name: str, table_map: TableMap) -> int:
    for index, rule in enumerate(table_map.lines):
        if fnmatchcase(name, rule.match):
            return index
    raise InputError(f"no rule of the map matches the line {name!r}", "lines")


def _guard_rules(table_map: TableMap, used: set[int], names: list[str]) -> None:
    """A rule that judges no line is a slip: its lines went to another rule, or have another name."""
    idle = [i for i, rule in enumerate(table_map.lines) if i not in used and not rule.skip]
    if idle:
        shown = ", ".join(names[:12]) + (" ..." if len(names) > 12 else "")
        message = f"no line falls under this rule, the first that matches counts; lines: {shown}"
        where = [(pointer(["lines", index, "match"]), message) for index in idle]
        raise Problem(422, "a rule of the map judges nothing", where)


def _line(name: str, rows: list[Row], layout: TableLayout, rule: LineRule) -> tuple[dict[str, Any], tuple[str, ...]]:
    cases = _cases(rows, layout)
    first = next(iter(cases.values()))[0]
    frame = frame_of(first, layout, rule)
    order, points = frame.order, frame.coordinates_mm
    line = {
        "name": name,
        "notch": {
            "kind": rule.kind,
            "opening_angle_deg": rule.opening_angle_deg,
            "notch_size_mm": None if rule.notch_size_mm == "not-judged" else rule.notch_size_mm,
        },
        "mesh": {"element": rule.element, "element_size_mm": rule.element_size_mm},
        "position_mm": frame.position_mm.tolist(),
        "exclude_ends_mm": rule.exclude_ends_mm,
        "closed": frame.closed,
        "average_over": rule.average_over,
        "tangent": frame.tangent.tolist(),
        "bisector": frame.bisector.tolist(),
        "cases": {
            case: {"tensors_mpa": _tensors(members, columns, order, layout)}
            for case, (members, columns) in cases.items()
        },
    }
    if rule.elements_around is not None:
        line["mesh"] |= {"elements_around": rule.elements_around}
    if rule.constants is not None:
        line["mesh"] |= {"constants": rule.constants.model_dump(exclude_none=True)}
    line |= rule.own()
    if rule.exclude_ends_reason is not None:
        line["exclude_ends_reason"] = rule.exclude_ends_reason
    if points is not None:
        line["coordinates_mm"] = points.tolist()
    if layout.node_id is not None:
        nodes = whole_numbers(first, layout.node_id)
        line["node_id"] = [nodes[index] for index in order]
    return line, frame.assumptions


def _cases(rows: list[Row], layout: TableLayout) -> dict[str, tuple[list[Row], StressColumns]]:
    """Rows and stress columns of each load case; in a long table every case must list the same nodes."""
    if layout.form == "wide":
        return {case: (rows, columns) for case, columns in layout.cases.items()}
    assert layout.case is not None
    assert layout.stress_mpa is not None
    by_case: dict[str, list[Row]] = {}
    for row in rows:
        by_case.setdefault(row[layout.case].strip(), []).append(row)
    first = next(iter(by_case.values()))
    for case, members in by_case.items():
        by_case[case] = _matching(case, members, first, layout)
    return {case: (members, layout.stress_mpa) for case, members in by_case.items()}


def _matching(case: str, rows: list[Row], first: list[Row], layout: TableLayout) -> list[Row]:
    """Rows of a load case in the order of the first, whose nodes and geometry they must share."""
    key, geometry = _node_columns(layout), _geometry_columns(layout)
    by_node = {tuple(row[name].strip() for name in key): row for row in rows}
    wanted = [tuple(row[name].strip() for name in key) for row in first]
    if len(by_node) < len(rows):
        raise InputError(f"load case {case!r} lists a node twice: list a node once", "cases", case)
    if sorted(by_node) != sorted(wanted):
        raise InputError(f"load case {case!r} lists other nodes than the first case", "cases", case)
    found = [by_node[node] for node in wanted]
    for one, other in zip(first, found, strict=True):
        for name in geometry:
            if one[name].strip() != other[name].strip():
                raise InputError(f"load case {case!r} differs from the first in column {name!r}", "cases", case)
    return found


def _node_columns(layout: TableLayout) -> list[str]:
    if layout.node_id is not None:
        return [layout.node_id]
    return list(layout.coordinates_mm.model_dump().values()) if layout.coordinates_mm else [layout.order or ""]


def _geometry_columns(layout: TableLayout) -> list[str]:
    stresses = set(layout.stress_mpa.model_dump().values()) if layout.stress_mpa else set()
    return [name for name in columns_of(layout) if name not in stresses | {layout.case}]


def _tensors(rows: list[Row], columns: StressColumns, order: list[int], layout: TableLayout) -> dict[str, list[float]]:
    names = columns.model_dump()
    values = numbers(rows, list(names.values()), layout)[order] * layout.stress_factor
    return {component: values[:, index].tolist() for index, component in enumerate(COMPONENTS)}
