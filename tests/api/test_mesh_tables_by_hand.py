"""A table of stresses beside a mesh, by the functions that read it: few rows written out by hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from fatcore.errors import InputError
from service.lines.rows import read_rows
from service.mesh.layout import NodeTable
from service.mesh.raw import OF_FILE, RawMesh
from service.mesh.stresses import stresses_of_table, table_layout
from tests.api.test_mesh_stresses_by_hand import SIX, raw


def table(**changes: Any) -> NodeTable:
    stress = {name: f"s_{name}" for name in SIX}
    data = {"form": "long", "node_id": "node", "first_node": 0, "case": "case", "stress_mpa": stress}
    return NodeTable.model_validate(data | changes)


def text(rows: Sequence[tuple[Any, ...]], extra: Sequence[str] = ()) -> str:
    """Rows of node, load case, xx and more; the other components are zero."""
    head = ",".join(["node", "case", *(f"s_{name}" for name in SIX), *extra])
    lines = [",".join(map(str, (node, case, xx, 0, 0, 0, 0, 0, *more))) for node, case, xx, *more in rows]
    return "\n".join([head, *lines])


def read(
    rows: Sequence[tuple[Any, ...]], wanted: Sequence[int], held: RawMesh, given: NodeTable, factor: float = 1.0
) -> tuple[dict[str, Any], dict[int, float]]:
    by = table_layout(given, factor)
    extra = ("x", "y", "z") if given.coordinates_mm is not None else ()
    return stresses_of_table(
        read_rows(text(rows, extra), by), by, held, given.first_node, np.array(wanted, dtype=np.int64)
    )


def test_rows_of_a_node_are_averaged_and_nodes_without_rows_have_no_stress() -> None:
    cases, jumps = read([(1, "a", 10.0), (3, "a", 4.0), (1, "a", 20.0)], [1, 3], raw(), table(), factor=2.0)
    assert np.array_equal(cases["a"][:, 0], [np.nan, 30.0, np.nan, 8.0], equal_nan=True)
    assert jumps == {1: pytest.approx(0.5), 3: 0.0}  # 10 of 20; one row has no jump


def test_a_jump_is_the_largest_difference_over_the_largest_stress_of_either_sign() -> None:
    cases, jumps = read([(0, "a", -40.0), (0, "a", 10.0), (0, "a", 0.0)], [0], raw(), table())
    assert cases["a"][0].tolist() == [-10.0, 0.0, 0.0, 0.0, 0.0, 0.0]
    assert jumps == {0: 1.25}


def test_the_largest_jump_of_all_load_cases_counts() -> None:
    rows = [(2, "a", 10.0), (2, "a", 5.0), (2, "b", 10.0), (2, "b", 8.0), (2, "c", 0.0), (2, "c", 0.0)]
    cases, jumps = read(rows, [2], raw(), table())
    assert list(cases) == ["a", "b", "c"]
    assert jumps == {2: 0.5}


def test_another_component_than_the_largest_can_jump_most() -> None:
    stress = {"a": {name: f"s_{name}" for name in SIX}}
    wide = table(form="wide", case=None, stress_mpa=None, cases=stress)
    by = table_layout(wide, 1.0)
    lines = ["node," + ",".join(f"s_{name}" for name in SIX), "0,100,0,0,30,0,0", "0,100,0,0,-30,0,0"]
    _, jumps = stresses_of_table(read_rows("\n".join(lines), by), by, raw(), 0, np.array([0]))
    assert jumps == {0: 0.6}


@pytest.mark.parametrize(("numbered", "first"), [(OF_FILE, None), ("from 0", 7)])
def test_rows_find_their_nodes_by_number_in_any_order(numbered: str, first: int | None) -> None:
    ids = np.array([40, 7, 12, 3]) if first is None else np.arange(4)
    held = raw(node_id=ids, numbered=numbered)
    numbers = ids if first is None else ids + first
    rows = [(int(number), "a", float(at)) for at, number in enumerate(numbers)]
    cases, _ = read(rows[::-1], [0, 1, 2, 3], held, table(first_node=first))
    assert cases["a"][:, 0].tolist() == [0.0, 1.0, 2.0, 3.0]


@pytest.mark.parametrize(("wrong", "span"), [(6, "7 to 10"), (11, "7 to 10"), (99, "7 to 10")])
def test_a_number_beside_those_of_the_mesh_is_refused_with_their_span(wrong: int, span: str) -> None:
    with pytest.raises(InputError, match=f"^the mesh has no node {wrong}; its numbers run from {span}") as refused:
        read([(7, "a", 1.0), (wrong, "a", 1.0), (10, "a", 1.0)], [0], raw(), table(first_node=7))
    assert refused.value.path == ("table",)


def test_a_number_in_a_gap_of_those_of_the_file_is_refused() -> None:
    held = raw(node_id=np.array([3, 7, 12, 40]), numbered=OF_FILE)
    with pytest.raises(InputError, match="no node 8; its numbers run from 3 to 40"):
        read([(3, "a", 1.0), (8, "a", 1.0)], [0], held, table(first_node=None))


@pytest.mark.parametrize("off", [(0.00995, None), (0.01004, "row 2 lies 0.0100 from")])
def test_places_of_the_table_agree_within_a_thousandth_of_the_largest_extent(off: tuple[float, str | None]) -> None:
    """The mesh of `raw` is 10 long."""
    distance, message = off
    axes = {"x": "x", "y": "y", "z": "z"}
    rows = [(1, "a", 1.0, 10.0, 0.0, 0.0), (2, "a", 1.0, 0.0, 4.0 + distance, 0.0), (0, "a", 1.0, 0.0, 0.0, 0.001)]
    given = table(coordinates_mm=axes)
    if message is None:
        assert read(rows, [0, 1, 2], raw(), given)[0]["a"].shape == (4, 6)
        return
    with pytest.raises(InputError, match=f"^{message} the node of its number: other numbers or units"):
        read(rows, [0, 1, 2], raw(), given)


def test_places_a_thousandth_off_are_the_same() -> None:
    held = raw(points=np.array([[0.0, 0.0, 0.0], [1000.0, 0.0, 0.0], [0.0, 400.0, 0.0], [0.0, 0.0, 200.0]]))
    rows = [(0, "a", 1.0, 0.0, 1.0, 0.0), (1, "a", 1.0, 1000.0, 0.0, 0.0)]
    assert read(rows, [0], held, table(coordinates_mm={"x": "x", "y": "y", "z": "z"}))[1] == {0: 0.0}


def test_the_extent_is_that_of_the_nodes_in_the_table() -> None:
    """Nodes 2 and 0 are 4 apart along y and both at x = 0: 0.005 is too far off for them, not for the whole mesh."""
    axes = {"x": "x", "y": "y", "z": "z"}
    rows = [(2, "a", 1.0, 0.0, 4.0, 0.005), (0, "a", 1.0, 0.0, 0.0, 0.0)]
    with pytest.raises(InputError, match=r"^row 1 lies 0.005 from"):
        read(rows, [0], raw(), table(coordinates_mm=axes))
    assert read([*rows, (1, "a", 1.0, 10.0, 0.0, 0.0)], [0], raw(), table(coordinates_mm=axes))[1] == {0: 0.0}


def test_the_extent_is_that_of_the_mesh_and_does_not_know_where_the_part_lies() -> None:
    """The table makes the part 10.00999 long where the mesh has 10: 0.010005 is beyond a thousandth of that alone."""
    axes = {"x": "x", "y": "y", "z": "z"}
    far = replace(raw(), points=raw().points + np.array([100.0, 0.0, 0.0]))
    rows = [(1, "a", 1.0, 110.00999, 0.0, 0.0), (2, "a", 1.0, 100.0, 4.010005, 0.0), (0, "a", 1.0, 100.0, 0.0, 0.0)]
    with pytest.raises(InputError, match=r"^row 2 lies 0.01"):
        read(rows, [0], far, table(coordinates_mm=axes))


def test_places_may_stand_for_the_first_number_of_the_mesh() -> None:
    axes = {"x": "x", "y": "y", "z": "z"}
    assert read([(1, "a", 1.0, 10.0, 0.0, 0.0)], [1], raw(), table(first_node=None, coordinates_mm=axes))[1] == {1: 0.0}
    with pytest.raises(InputError, match="say which one the first has") as refused:
        read([(1, "a", 1.0)], [1], raw(), table(first_node=None))
    assert refused.value.path == ("table", "first_node")


def test_a_wanted_node_without_stress_is_named_by_its_number_in_the_file() -> None:
    held = raw(node_id=np.array([40, 7, 12, 3]), numbered=OF_FILE)
    rows = [(40, "a", 1.0), (7, "a", 1.0), (40, "b", 1.0), (12, "b", 1.0)]
    assert read(rows, [0], held, table(first_node=None))[1] == {0: 0.0}
    with pytest.raises(InputError, match=r"^load case 'b' has no stress at node 7 of a weld line") as refused:
        read(rows, [0, 1], held, table(first_node=None))
    assert refused.value.path == ("table",)


@pytest.mark.parametrize("lacking", ["case", "stress_mpa"])
def test_a_long_table_needs_its_column_of_cases_and_its_stresses(lacking: str) -> None:
    given = table(**{lacking: None})
    with pytest.raises(InputError, match="a long table needs `case` and `stress_mpa`"):
        read([(0, "a", 1.0)], [0], raw(), given)


def test_names_of_load_cases_count_without_blanks_around_them() -> None:
    assert list(read([(0, " a", 1.0), (0, "a ", 3.0)], [0], raw(), table())[0]) == ["a"]


def test_a_table_is_read_with_a_comma_and_a_decimal_point_unless_told_otherwise() -> None:
    given = table_layout(table(), 1.0)
    assert (given.delimiter, given.decimal, given.form) == (",", ".", "long")
    other = table_layout(table(delimiter=";", decimal=","), 2.0)
    assert (other.delimiter, other.decimal, other.stress_factor) == (";", ",", 2.0)
