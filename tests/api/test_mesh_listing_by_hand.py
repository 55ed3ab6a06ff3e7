"""Lines of a mesh as text and JSON, word for word for lines written out by hand; maps at the bounds of their fields."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from fatcore.findings import caution
from fatcore.outcome import evidence
from fatcore.stress.weld_lines.solid.detect import LeftOut, Reason, WeldLines
from fatcore.stress.weld_lines.solid.lines import SolidLine
from service.base.problems import Problem
from service.mesh.layout import LineName, MeshLayout, MeshRule, NodeTable, StepCase, mesh_map_of
from service.mesh.listing import listing, listing_text, mapped_text
from service.mesh.mapping import MappedMesh
from service.mesh.raw import RawMesh
from tests.api.test_mesh_names_by_hand import a_line

LINE = a_line("toe-1", 30.0, first=3, size=2.0)
SIX = ("xx", "yy", "zz", "xy", "yz", "zx")


def raw(**changes: Any) -> RawMesh:
    data: dict[str, Any] = {"points": np.zeros((20, 3)), "cells": (), "node_id": np.arange(100, 120), "numbered": "own"}
    return RawMesh(**data | changes)


def left(reason: Reason) -> LeftOut:
    return LeftOut(reason=reason, nodes=7, opening_angle_deg=140.04, length_mm=12.0, place_mm=(-0.0, 1.5, 2.0))


def found(*lines: SolidLine, left_out: tuple[LeftOut, ...] = ()) -> WeldLines:
    return WeldLines(lines=lines, left_out=left_out, **evidence(findings=[caution("mesh-size-uneven", "invented")]))


def words(text: str) -> str:
    return " ".join(text.split())


# the list as text


def test_the_list_says_all_of_an_open_line() -> None:
    text = listing_text(raw(), found(LINE), None)
    assert words(text) == (
        "1 weld line: toe-1: 135 deg, open, 8 mm, 5 nodes 2 mm apart, brick8; starts at (0, 30, 0)"
        " (node 103), runs by (2, 30, 0) to (8, 30, 0) arrays at the nodes: none node numbers: own"
        " caution: invented [mesh-size-uneven]"
    )
    assert all(len(line) <= 110 for line in text.splitlines())
    assert [line[:4] for line in text.splitlines()[:3]] == ["1 we", "  to", "    "]


def test_a_loop_has_no_end_and_an_uneven_line_its_counted_size() -> None:
    line = replace(LINE, closed=True, element_size_mm=3.456, elements=("brick8", "wedge6"))
    text = words(listing_text(raw(), found(line), None))
    assert "toe-1: 135 deg, loop, 8 mm, 5 nodes 2 mm apart, brick8 and wedge6, counted as 3.46 mm;" in text
    assert "runs by (2, 30, 0) arrays" in text


@pytest.mark.parametrize(
    ("start", "end", "said"),
    [
        (True, False, "; start on a plane of symmetry arrays"),
        (False, True, "; end on a plane of symmetry arrays"),
        (True, True, "; start and end on a plane of symmetry arrays"),
        (False, False, "30, 0) arrays"),
    ],
)
def test_ends_on_a_plane_are_said(start: bool, end: bool, said: str) -> None:
    assert said in words(listing_text(raw(), found(replace(LINE, symmetric_start=start, symmetric_end=end)), None))


@pytest.mark.parametrize(
    ("reason", "why"),
    [("rounded", "edges of a rounded hollow"), ("short", "too short"), ("shallow", "above the limit")],
)
def test_what_was_left_out_is_said_with_its_reason_and_a_zero_without_sign(reason: Reason, why: str) -> None:
    text = words(listing_text(raw(), found(left_out=(left(reason),)), None))
    assert text.startswith(f"0 weld lines found left out: {why}: 7 nodes, 140.0 deg, 12 mm, at (0, 1.5, 2) arrays")


def test_arrays_steps_and_other_cells_are_said_by_name() -> None:
    held = raw(
        point_data={"T": np.zeros(20), "S": np.zeros((20, 6))},
        steps=((0.0, {"b": np.zeros(20), "a": np.zeros(20)}), (1.0, {})),
        other={"lines": 3, "quads": 2},
    )
    text = words(listing_text(held, found(), 1.0))
    assert "arrays at the nodes: S (6), T (1) 2 time steps of a, b left out: 3 lines, 2 quads node numbers" in text
    assert "assumed: lengths of the file times 1 are mm" in text
    assert "left out" not in words(listing_text(raw(), found(), None))
    assert "assumed" not in words(listing_text(raw(), found(), None))


def test_the_list_as_data_has_the_numbers_of_the_file() -> None:
    held = raw(point_data={"T": np.zeros(20), "S": np.zeros((20, 6)), "M": np.zeros((20, 1))}, other={"lines": 3})
    data = listing(held, found(LINE, left_out=(left("short"),)))
    assert data["arrays"] == {"M": 1, "S": 6, "T": 1}
    assert (data["numbered"], data["other_cells"]) == ("own", {"lines": 3})
    assert data["left_out"][0]["reason"] == "short"
    assert data["findings"][0]["code"] == "mesh-size-uneven"
    (line,) = data["lines"]
    assert (line["node_id"], line["position_mm"]) == ([103, 104, 105, 106, 107], [0.0, 2.0, 4.0, 6.0, 8.0])
    assert "node_index" not in line


# what was mapped


def mapped(**changes: Any) -> MappedMesh:
    line = {
        "name": "weld",
        "notch": {"kind": "toe", "opening_angle_deg": 135.0},
        "mesh": {"element": "tet10", "element_size_mm": 2.3456},
        "position_mm": [0.0, 1.0],
        "coordinates_mm": [[1.0, 2.0, 3.0], [4.0, 5.0, 6.0]],
        "cases": {"side": {}, "pull": {}},
    }
    empty: dict[str, Any] = dict.fromkeys(("unnamed", "skipped", "idle", "unloaded", "doubts"), ())
    return MappedMesh(**{"request": {"lines": [line]}, "found": found(left_out=(left("short"),)), **empty} | changes)


def test_a_mapped_line_is_said_with_its_first_place() -> None:
    assert words(mapped_text(mapped(), raw())) == (
        "1 line, load cases: pull, side weld: toe 135 deg, 2 stations, tet10 of 2.35 mm, starts at (1, 2, 3)"
        " left out by the search: 1 chain of edges (--list shows them) node numbers: own"
        " caution: invented [mesh-size-uneven]"
    )


def test_what_was_dropped_skipped_and_not_used_is_said() -> None:
    made = mapped(unnamed=("a", "b"), skipped=("c",), idle=("d*",), unloaded=("E",), doubts=(("weld", "doubtful"),))
    text = words(mapped_text(made, raw(), ["loaded: pull"]))
    assert "(1, 2, 3) loaded: pull nobody named, dropped: a, b skipped: c" in text
    assert "rules to skip that match no line: d* arrays of stresses that no load case uses: E left out" in text
    assert text.endswith("[mesh-size-uneven] weld: doubtful")
    assert all(len(line) <= 110 for line in mapped_text(made, raw()).splitlines())


# fields of a map at their bounds


MESH: dict[str, Any] = {"length_factor": 1.0, "stress_factor": 1.0, "cases": {"a": "S"}}
RULE: dict[str, Any] = {"match": "*", "notch_size_mm": 5.0, "average_over": 1}


def errors(**changes: Any) -> list[tuple[str, str]]:
    try:
        mesh_map_of({"mesh": MESH, "lines": [RULE], "request": {}} | changes)
    except Problem as problem:
        return list(problem.errors or ())
    return []


def places(**changes: Any) -> list[str]:
    return [where for where, _ in errors(**changes)]


@pytest.mark.parametrize(
    ("mesh", "place"),
    [
        ({"cases": {"a": {"array": "S", "step": 0}}}, None),
        ({"cases": {"a": {"array": "S", "step": -1}}}, "/mesh/cases/a"),
        ({"cases": {"a": {"array": "S", "time": 0.0}}}, None),
        ({"cases": {"a": {"array": "S", "step": 0, "time": 0.0}}}, "/mesh/cases/a"),
        ({"components": list(SIX)}, None),
        ({"components": list(SIX[:5])}, "/mesh/components"),
        ({"components": [*SIX, "xx"]}, "/mesh/components"),
        ({"components": ["xx", *SIX[:5]]}, "/mesh/components"),
        ({"symmetry": ["x=0", "y=0", "z=0"]}, None),
        ({"symmetry": ["x=0", "y=0", "z=0", "x=1"]}, "/mesh/symmetry"),
        ({"names": [{"name": "a", "box_mm": [[0.0] * 3] * 2}]}, None),
        ({"names": [{"name": "a", "box_mm": [[0.0] * 3] * 3}]}, "/mesh/names/0/box_mm"),
        ({"names": [{"name": "a", "box_mm": [[0.0] * 3]}]}, "/mesh/names/0/box_mm"),
        ({"names": [{"name": "a", "near_mm": [0.0] * 3, "node_set": "b"}]}, "/mesh/names/0"),
        ({"names": [{"name": f"n{k}", "near_mm": [0.0] * 3} for k in range(1000)]}, None),
        ({"names": [{"name": f"n{k}", "near_mm": [0.0] * 3} for k in range(1001)]}, "/mesh/names"),
        ({"cases": {f"c{k}": "S" for k in range(1000)}}, None),
        ({"cases": {f"c{k}": "S" for k in range(1001)}}, "/mesh/cases"),
        ({"length_factor": 0.0}, "/mesh/length_factor"),
        ({"stress_factor": 0.0}, "/mesh/stress_factor"),
    ],
)
def test_the_layout_of_a_mesh_at_its_bounds(mesh: dict[str, Any], place: str | None) -> None:
    found_places = places(mesh=MESH | mesh)
    if place is None:
        assert found_places == []
    else:
        assert any(where.startswith(place) for where in found_places)


@pytest.mark.parametrize(
    ("rule", "fits"),
    [
        ({"opening_angle_deg": 0.0}, True),
        ({"opening_angle_deg": -0.01}, False),
        ({"opening_angle_deg": 179.99}, True),
        ({"opening_angle_deg": 180.0}, False),
        ({"exclude_ends_mm": 0.0}, True),
        ({"exclude_ends_mm": -0.01}, False),
        ({"notch_size_mm": "not-judged"}, True),
        ({"notch_size_mm": 0.0}, False),
        ({"average_over": 2}, False),
        ({"match": ""}, False),
    ],
)
def test_a_rule_at_its_bounds(rule: dict[str, Any], fits: bool) -> None:
    assert (errors(lines=[RULE | rule]) == []) is fits


def test_a_map_has_a_rule() -> None:
    assert places(lines=[]) == ["/lines"]


@pytest.mark.parametrize(("delimiter", "fits"), [(";", True), ("", False), (";;", False)])
def test_a_delimiter_is_one_sign(delimiter: str, fits: bool) -> None:
    table = {"form": "long", "node_id": "n", "delimiter": delimiter, "first_node": 0}
    assert (errors(mesh=MESH | {"cases": {}}, table=table) == []) is fits


def test_what_a_map_leaves_out_is_on_the_safe_side_or_nothing() -> None:
    layout = MeshLayout(length_factor=1.0, stress_factor=1.0)
    assert (layout.unnamed, layout.symmetry, layout.names, layout.cases, layout.components) == (
        "keep",
        [],
        [],
        {},
        None,
    )
    rule = MeshRule(match="*")
    assert (rule.skip, rule.exclude_ends_mm, rule.element, rule.average_over, rule.notch_size_mm) == (
        False,
        0.0,
        None,
        None,
        None,
    )
    table = NodeTable(form="long", node_id="n")
    assert (table.delimiter, table.decimal, table.first_node, table.cases) == (",", ".", None, {})
    assert (StepCase(array="S").step, LineName(name="a").kind) == (None, None)


def test_every_fault_of_a_map_is_said_at_once() -> None:
    mesh = MESH | {
        "cases": {"a": {"array": "S"}, "b": {"array": "S", "time": 1.0}},
        "names": [{"name": "a"}, {"name": "b", "node_set": "c"}],
        "components": ["xx", *SIX[:5]],
    }
    found_errors = errors(mesh=mesh, lines=[{"match": "*"}, {"match": "b", "skip": True}, RULE], request={"lines": []})
    assert found_errors == [
        ("/lines/0/notch_size_mm", 'needed: a length, or "not-judged" (or skip = true)'),
        ("/lines/0/average_over", "needed: 1, or 3 for tet10 (or skip = true)"),
        ("/request/lines", "the lines come from the mesh"),
        ("/mesh/names/0", "give one of near_mm, box_mm, node_set"),
        ("/mesh/cases/a", "give the step, or its time"),
        ("/mesh/components", "each component once"),
    ]


def test_stresses_come_from_the_mesh_or_from_a_table() -> None:
    table = {"form": "long", "node_id": "n"}
    assert errors(mesh=MESH | {"cases": {}}) == [
        ("/mesh/cases", "needed: load cases, or a table of stresses beside the mesh")
    ]
    assert errors(table=table) == [("/mesh/cases", "not used: the table has the stresses")]
    assert errors(mesh=MESH | {"cases": {}}, table=table) == []
