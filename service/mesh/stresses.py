"""Nodal stress tensors of a mesh: arrays of the file by load case, or rows of a table beside it."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from fatcore.errors import InputError, at
from fatcore.figures import figure
from fatcore.require import FloatArray

from ..lines.map import StressColumns, TableLayout
from ..lines.rows import Row, numbers, vectors, whole_numbers
from .corners import node_means
from .layout import MeshLayout, NodeTable, StepCase
from .raw import OF_FILE, Array, RawMesh
from .tensors import array_of, finite_rows, tensors_of

_SAME_PLACE = 1e-3  # of the largest extent of the nodes in the table
LARGE_JUMP = 0.5  # of the largest stress at the node: its elements hardly see the same field

Cases = dict[str, FloatArray]
Given = str | StressColumns | StepCase


def stresses_of(raw: RawMesh, layout: MeshLayout, wanted: NDArray[np.int64] | None = None) -> Cases:
    """Tensors (n, 6) in MPa by load case, xx, yy, zz, xy, yz, zx.

    wanted : places of the nodes that must have a stress, all by default
    Raises : InputError at the load case for an array that is missing or no tensor, a step that is none
    """
    cases = {}
    for name, given in layout.cases.items():
        with at("mesh", "cases", name):
            cases[name] = layout.stress_factor * _tensor(raw, layout, given, wanted)
            _guard_whole(raw, arrays_of(raw, given), wanted)
    return cases


def _guard_whole(raw: RawMesh, names: Sequence[str], wanted: NDArray[np.int64] | None) -> None:
    """A mean over some of the elements of a node is not the stress there."""
    for name in names:
        lacking = np.flatnonzero(raw.in_part.get(name, False))
        lacking = lacking if wanted is None else np.intersect1d(lacking, wanted)
        if len(lacking):
            node = int(raw.node_id[lacking[0]])
            raise InputError(f"array {name!r} has values of some of the elements at node {node}, and not of all")


def jumps_of(raw: RawMesh, layout: MeshLayout) -> dict[int, float]:
    """Largest jump by node of the arrays that the load cases take, of those that are means over elements."""
    names = {name for given in layout.cases.values() for name in arrays_of(raw, given)}
    jumps = [jump for name, jump in raw.jumps.items() if name in names]
    return dict(enumerate(np.max(jumps, axis=0).tolist())) if jumps else {}


def arrays_of(raw: RawMesh, given: Given) -> list[str]:
    """Names of the arrays of the file that a load case takes; a step under the name that its array has besides."""
    known = known_as(raw, given)
    if isinstance(known, StressColumns):
        return list(known.model_dump().values())
    return [known.array if isinstance(known, StepCase) else known]


def known_as(raw: RawMesh, given: Given) -> Given:
    """A load case with a step by the name of its array, where it has one of its own."""
    if not isinstance(given, StepCase) or not raw.series:
        return given
    own = raw.series.get(given.array, ())
    return own[_place(given, [time for time, _ in own], f"array {given.array!r}")][1] if own else given.array


def step_of(raw: RawMesh, given: StepCase) -> int:
    """Place of the step among those of the file."""
    if not raw.steps:
        names = ", ".join(sorted(raw.point_data)[:12]) or "none"
        raise InputError(f"no time steps are read of this file: name the array itself, of {names}", "step")
    return _place(given, [time for time, _ in raw.steps], "the file")


def _tensor(raw: RawMesh, layout: MeshLayout, case: Given, wanted: NDArray[np.int64] | None) -> FloatArray:
    def named(name: str) -> Array:
        if data is raw.point_data and name not in data and any(name in arrays for _, arrays in raw.steps):
            raise InputError(f"array {name!r} has {len(raw.steps)} time steps: name one by its step or its time")
        return array_of(data, name, layout.stress_factor, raw.elsewhere)

    given = known_as(raw, case)
    data = raw.steps[step_of(raw, given)][1] if isinstance(given, StepCase) else raw.point_data
    if isinstance(given, StressColumns):
        columns = [named(name) for name in given.model_dump().values()]
        if any(column.ndim != 1 and column.shape[1:] != (1,) for column in columns):
            raise InputError("a component must be an array of one number a node")
        return finite_rows(np.column_stack(columns), wanted)
    return tensors_of(named(given if isinstance(given, str) else given.array), layout.components, wanted)


def _place(given: StepCase, times: Sequence[float], whose: str) -> int:
    if given.step is not None:
        if given.step >= len(times):
            raise InputError(f"{whose} has steps 0 to {len(times) - 1}", "step")
        return given.step
    fitting = [index for index, time in enumerate(times) if math.isclose(time, given.time or 0.0, rel_tol=1e-9)]
    if len(fitting) != 1:
        raise InputError(f"{len(fitting)} steps have this time; {whose} has {', '.join(map(repr, times[:12]))}", "time")
    return fitting[0]


def table_layout(table: NodeTable, stress_factor: float) -> TableLayout:
    """The layout by which rows of the table are read."""
    return TableLayout(
        form=table.form,
        node_id=table.node_id,
        case=table.case,
        delimiter=table.delimiter,
        decimal=table.decimal,
        coordinates_mm=table.coordinates_mm,
        stress_mpa=table.stress_mpa,
        cases=table.cases,
        stress_factor=stress_factor,
    )


def stresses_of_table(
    rows: Sequence[Row], layout: TableLayout, raw: RawMesh, first_node: int | None, wanted: NDArray[np.int64]
) -> tuple[Cases, dict[int, float]]:
    """Tensors (n, 6) by load case at the wanted nodes, nan elsewhere, and the largest jump of each node.

    Several rows of a node in one load case are those of its elements and averaged; their jump is the largest
    difference of a component over the largest stress of the node.
    wanted : places of nodes that the lines need
    Raises : InputError for numbers that the mesh does not have, other coordinates, a wanted node without stress
    """
    _guard_numbers(layout, raw, first_node)
    place = _places(rows, layout, raw, first_node)
    if layout.coordinates_mm is not None:
        _guard_places(vectors(rows, layout.coordinates_mm, layout), raw.points[place])
    cases: Cases = {}
    jumps: dict[int, float] = {}
    for case, (members, columns) in _by_case(rows, layout).items():
        values = layout.stress_factor * numbers(
            [rows[at] for at in members], list(columns.model_dump().values()), layout
        )
        cases[case], jump = node_means(values, place[members], len(raw.points))
        for node in wanted.tolist():
            jumps[node] = max(jumps.get(node, 0.0), float(jump[node]))
        lacking = wanted[np.isnan(cases[case][wanted]).any(axis=1)]
        if len(lacking):
            number = int(raw.node_id[lacking[0]])
            raise InputError(f"load case {case!r} has no stress at node {number} of a weld line", "table")
    return cases, jumps


def _guard_numbers(layout: TableLayout, raw: RawMesh, first_node: int | None) -> None:
    """Refuses to guess which number the first node has: one off, every stress would be that of a neighbour."""
    if raw.numbered == OF_FILE and first_node is not None:
        raise InputError("not used: the file holds the numbers of its nodes", "table", "first_node")
    if raw.numbered != OF_FILE and first_node is None and layout.coordinates_mm is None:
        raise InputError(
            "the file holds no numbers of nodes: say which one the first has, or give coordinates_mm to compare",
            "table",
            "first_node",
        )


def _places(rows: Sequence[Row], layout: TableLayout, raw: RawMesh, first_node: int | None) -> NDArray[np.int64]:
    assert layout.node_id is not None
    ids = np.array(whole_numbers(rows, layout.node_id), dtype=np.int64)
    known = raw.node_id if first_node is None else np.arange(first_node, first_node + len(raw.node_id))
    order = np.argsort(known)
    at_ = np.minimum(np.searchsorted(known[order], ids), len(known) - 1)
    place = order[at_]
    if (known[place] != ids).any():
        wrong = int(ids[np.argmax(known[place] != ids)])
        raise InputError(f"the mesh has no node {wrong}; its numbers run from {known.min()} to {known.max()}", "table")
    return np.asarray(place, dtype=np.int64)


def _guard_places(given: FloatArray, points: FloatArray) -> None:
    off = np.linalg.norm(given - points, axis=1)
    if off.max() > _SAME_PLACE * float(np.ptp(points, axis=0).max()):
        row = int(np.argmax(off)) + 1
        raise InputError(
            f"row {row} lies {figure(off.max())} from the node of its number: other numbers or units", "table"
        )


def _by_case(rows: Sequence[Row], layout: TableLayout) -> dict[str, tuple[NDArray[np.int64], StressColumns]]:
    if layout.form == "wide":
        every = np.arange(len(rows), dtype=np.int64)
        return {case: (every, columns) for case, columns in layout.cases.items()}
    if layout.case is None or layout.stress_mpa is None:
        raise InputError("a long table needs `case` and `stress_mpa`", "table")
    names = np.array([row[layout.case].strip() for row in rows])
    found = {name: np.flatnonzero(names == name).astype(np.int64) for name in dict.fromkeys(names.tolist())}
    return {name: (members, layout.stress_mpa) for name, members in found.items()}
