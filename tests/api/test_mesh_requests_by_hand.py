"""From found lines to a check request: lines written out by hand in place of a search, at the edge of every rule."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from fatcore.errors import InputError
from fatcore.findings import Finding, caution
from fatcore.outcome import evidence
from fatcore.stress.weld_lines.solid.detect import WeldLines
from fatcore.stress.weld_lines.solid.lines import SolidLine
from service.base.problems import Problem
from service.lines.rows import Row
from service.mesh import mapping
from service.mesh.layout import Search, mesh_map_of
from service.mesh.mapping import MappedMesh, map_mesh, search
from service.mesh.raw import RawMesh
from tests.api.test_mesh_names_by_hand import a_line

SIX = ("xx", "yy", "zz", "xy", "yz", "zx")
CORNERS = np.array([[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
MESH: dict[str, Any] = {"length_factor": 1.0, "stress_factor": 2.0, "components": list(SIX), "cases": {"pull": "S"}}
RULE: dict[str, Any] = {"match": "*", "notch_size_mm": 10.0, "average_over": 1}
REQUEST = {
    "loading": {"kind": "constant", "cycles": 1e4, "factors": {"pull": {"maximum": 1.0, "minimum": 0.0}}},
    "target": {"survival_probability": 0.977, "damage_limit": 0.5},
}
TWO = (a_line("toe-1"), a_line("toe-2", 30.0, first=10))
Made = Callable[..., MappedMesh]


def raw(**arrays: np.ndarray) -> RawMesh:
    """One element, and nodes of lines beyond it; component k at node n is 10 n + k."""
    stress = 10.0 * np.arange(30)[:, np.newaxis] + np.arange(6)
    return RawMesh(
        points=np.vstack([CORNERS, np.zeros((26, 3))]),
        cells=(("tet4", np.array([[0, 1, 2, 3]])),),
        node_id=np.arange(30) + 100,
        numbered="",
        point_data={"S": stress, **arrays},
    )


@pytest.fixture
def made(monkeypatch: pytest.MonkeyPatch) -> Made:
    """The request of lines as a search would find them."""

    def make(
        *lines: SolidLine,
        findings: tuple[Finding, ...] = (),
        held: RawMesh | None = None,
        rows: list[Row] | None = None,
        **changes: Any,
    ) -> MappedMesh:
        found = WeldLines(lines=lines or TWO, left_out=(), **evidence(findings=findings))
        monkeypatch.setattr(mapping, "find_weld_lines", lambda *_, **__: found)
        data = {"mesh": MESH, "lines": [RULE], "request": REQUEST} | changes
        return map_mesh(held or raw(), mesh_map_of(data), rows)

    return make


def test_a_line_of_the_request_has_all_that_the_mesh_says(made: Made) -> None:
    line = a_line("toe-2", 30.0, first=10, count=3, size=2.0, element_size_mm=2.5, elements_around=3)
    tensors = {name: [200.0 + 2 * k, 220.0 + 2 * k, 240.0 + 2 * k] for k, name in enumerate(SIX)}
    (content,) = made(line, lines=[{**RULE, "exclude_ends_mm": 1.0, "exclude_ends_reason": "run-on"}]).request["lines"]
    assert content == {
        "name": "toe-2",
        "notch": {"kind": "toe", "opening_angle_deg": 135.0, "notch_size_mm": 10.0},
        "mesh": {"element": "brick8", "element_size_mm": 2.5, "elements_around": 3},
        "position_mm": [0.0, 2.0, 4.0],
        "exclude_ends_mm": 1.0,
        "exclude_ends_reason": "run-on",
        "closed": False,
        "average_over": 1,
        "tangent": [[1.0, 0.0, 0.0]] * 3,
        "bisector": [[0.0, 0.0, 1.0]] * 3,
        "coordinates_mm": [[0.0, 30.0, 0.0], [2.0, 30.0, 0.0], [4.0, 30.0, 0.0]],
        "node_id": [110, 111, 112],
        "cases": {"pull": {"tensors_mpa": tensors}},
    }


def test_the_request_of_the_map_goes_with_its_lines(made: Made) -> None:
    request = made().request
    assert list(request) == ["loading", "target", "lines"]
    assert {key: request[key] for key in REQUEST} == REQUEST


def test_a_line_that_nobody_judges_for_its_mesh_has_no_notch_size(made: Made) -> None:
    request = made(lines=[{**RULE, "notch_size_mm": "not-judged"}]).request
    assert [line["notch"]["notch_size_mm"] for line in request["lines"]] == [None, None]


@pytest.mark.parametrize(
    ("start", "end", "expected"),
    [(False, False, None), (True, False, ["start"]), (False, True, ["end"]), (True, True, ["start", "end"])],
)
def test_ends_on_a_plane_of_symmetry_are_named(made: Made, start: bool, end: bool, expected: list[str] | None) -> None:
    (content,) = made(a_line("toe-1", symmetric_start=start, symmetric_end=end)).request["lines"]
    assert content.get("symmetric_ends") == expected


@pytest.mark.parametrize(("mesh", "expected"), [(134.51, 135.0), (135.49, 135.0), (135.51, 136.0), (133.6, 134.0)])
def test_the_opening_of_the_mesh_counts_in_whole_degrees(made: Made, mesh: float, expected: float) -> None:
    (content,) = made(a_line("toe-1", opening_angle_deg=mesh)).request["lines"]
    assert content["notch"]["opening_angle_deg"] == expected


@pytest.mark.parametrize("given", [138.0, 132.0, 133.25])
def test_an_opening_of_the_map_within_three_degrees_counts_as_it_is(made: Made, given: float) -> None:
    (content,) = made(a_line("toe-1"), lines=[{**RULE, "opening_angle_deg": given}]).request["lines"]
    assert content["notch"]["opening_angle_deg"] == given


@pytest.mark.parametrize("given", [138.02, 131.98])
def test_an_opening_of_the_map_farther_from_the_mesh_is_refused(made: Made, given: float) -> None:
    with pytest.raises(Problem) as refused:
        made(a_line("toe-1"), lines=[{**RULE, "opening_angle_deg": given}])
    text = f"line 'toe-1': the mesh opens by 135 deg where {given:g} are given"
    assert refused.value.errors == (("/lines/0/opening_angle_deg", text),)


# elements


@pytest.mark.parametrize("element", ["brick8", "tet4", "tet10"])
def test_elements_with_published_constants_need_none(made: Made, element: str) -> None:
    (content,) = made(a_line("toe-1", elements=(element,))).request["lines"]
    around = {"elements_around": 2} if element == "brick8" else {}
    assert content["mesh"] == {"element": element, "element_size_mm": 1.0, **around}


@pytest.mark.parametrize(
    ("elements", "message"),
    [
        (("brick20",), 'no constants are published for brick20: give your own with element = "own"'),
        (("brick8", "wedge6"), "its elements are of several kinds: brick8, wedge6"),
    ],
)
def test_other_elements_need_constants_of_ones_own(made: Made, elements: tuple[str, ...], message: str) -> None:
    line = a_line("toe-2", elements=elements)
    with pytest.raises(Problem) as refused:
        made(a_line("root-1"), line, lines=[{**RULE, "match": "root*"}, RULE])
    assert refused.value.errors == (("/lines/1/element", f"line 'toe-2': {message}"),)
    own = {"element": "own", "constants": {"opening": 1.0, "sliding": 3.0, "tearing": 2.0}}
    (content,) = made(line, lines=[{**RULE, **own}]).request["lines"]
    assert content["mesh"] == {"element_size_mm": 1.0, **own}


def test_constants_of_ones_own_for_one_mode_leave_those_published_for_the_others(made: Made) -> None:
    (content,) = made(a_line("toe-1"), lines=[{**RULE, "constants": {"sliding": 2.0}}]).request["lines"]
    assert (content["mesh"]["element"], content["mesh"]["constants"]) == ("brick8", {"sliding": 2.0})


# rules


def test_the_first_rule_that_matches_counts_whatever_the_size_of_letters(made: Made) -> None:
    rules = [{**RULE, "match": "toe-[2-9]", "exclude_ends_mm": 1.0}, RULE]
    assert [line["exclude_ends_mm"] for line in made(lines=rules).request["lines"]] == [0.0, 1.0]
    with pytest.raises(InputError, match=r"^no rule of the map matches the line 'toe-1'$") as refused:
        made(lines=[{**RULE, "match": "TOE-*"}])
    assert refused.value.path == ("lines",)


def test_own_settings_of_a_rule_go_into_its_lines(made: Made) -> None:
    condition = made(lines=[{**RULE, "match": "toe-2", "condition": "as-welded"}, RULE]).request["lines"]
    assert [line.get("condition") for line in condition] == [None, "as-welded"]


def test_every_rule_that_judges_nothing_is_named(made: Made) -> None:
    rules = [{**RULE, "match": "a"}, RULE, {**RULE, "match": "toe-1"}, {"match": "c", "skip": True}]
    with pytest.raises(Problem) as refused:
        made(lines=rules)
    text = "no line falls under this rule, the first that matches counts"
    assert refused.value.status == 422
    assert refused.value.detail == "a rule of the map judges nothing"
    assert refused.value.errors == (("/lines/0/match", text), ("/lines/2/match", text))


def test_lines_skipped_and_rules_to_skip_that_match_nothing_are_listed(made: Made) -> None:
    rules = [{"match": "toe-2", "skip": True}, {"match": "none", "skip": True}, RULE]
    found = made(lines=rules)
    assert [line["name"] for line in found.request["lines"]] == ["toe-1"]
    assert (found.skipped, found.idle, found.unnamed) == (("toe-2",), ("none",), ())
    assert found.request["lines"][0]["mesh_doubts"] == {
        "lines-dropped": ["lines of the mesh that are not checked: toe-2"]
    }


def test_lines_that_nobody_named_are_listed_before_those_skipped(made: Made) -> None:
    names = [{"name": "a", "near_mm": [0.0, 0.0, 0.0]}, {"name": "b", "near_mm": [0.0, 30.0, 0.0]}]
    lines = (*TWO, a_line("root-1", 60.0, first=20))
    found = made(*lines, mesh={**MESH, "names": names, "unnamed": "drop"}, lines=[{"match": "b", "skip": True}, RULE])
    assert (found.unnamed, found.skipped) == (("root-1",), ("b",))
    (text,) = found.request["lines"][0]["mesh_doubts"]["lines-dropped"]
    assert text.endswith("not checked: root-1, b")


def test_a_dropped_line_that_begins_where_a_kept_one_does_is_listed(made: Made) -> None:
    """Two lines that meet in a corner of the weld may both begin there."""
    other = a_line("toe-2", 30.0, first=10)
    other = replace(other, node_index=np.array([0, *other.node_index[1:]]))
    names = [{"name": "a", "near_mm": [0.0, 0.0, 0.0]}]
    found = made(TWO[0], other, mesh={**MESH, "names": names, "unnamed": "drop"})
    assert found.unnamed == ("toe-2",)
    assert found.request["lines"][0]["mesh_doubts"] == {
        "lines-dropped": ["lines of the mesh that are not checked: toe-2"]
    }


@pytest.mark.parametrize(
    ("changes", "message", "path"),
    [
        ({"mesh": {**MESH, "unnamed": "drop"}}, "no weld line is left: the search found none", ("mesh",)),
        ({"lines": [{"match": "*", "skip": True}]}, "every line is skipped", ("lines",)),
    ],
)
def test_a_map_that_leaves_no_line_is_refused(made: Made, changes: Any, message: str, path: tuple[str, ...]) -> None:
    with pytest.raises(InputError, match=message) as refused:
        made(**changes)
    assert refused.value.path == path


def test_findings_of_one_code_stand_together(made: Made) -> None:
    findings = [caution("mesh-size-uneven", "one"), caution("stresses-jump", "x"), caution("mesh-size-uneven", "two")]
    request = made(findings=tuple(findings)).request
    expected = {"mesh-size-uneven": ["one", "two"], "stresses-jump": ["x"]}
    assert [line["mesh_doubts"] for line in request["lines"]] == [expected, expected]
    assert all("mesh_doubts" not in line for line in made().request["lines"])


# arrays and tables


def test_arrays_of_tensors_that_no_case_uses_are_listed(made: Made) -> None:
    arrays = {
        "six": np.zeros((30, 6)),
        "nine": np.zeros((30, 9)),
        "three": np.zeros((30, 3)),
        "one": np.zeros(30),
        "cube": np.zeros((30, 6, 2)),
        "used": np.zeros((30, 6)),
    }
    cases = {"pull": "S", "side": "used"}
    assert made(held=raw(**arrays), mesh={**MESH, "cases": cases}).unloaded == ("six", "nine")
    assert made(held=raw(**arrays)).unloaded == ("six", "nine", "used")


def test_a_table_of_the_map_must_be_given(made: Made) -> None:
    stress = {name: name for name in SIX}
    table = {"form": "wide", "node_id": "node", "first_node": 1, "cases": {"pull": stress}}
    rows: list[Row] = [{"node": str(n), **dict.fromkeys(SIX, f"{n}.5")} for n in range(1, 16)]
    both: dict[str, Any] = {"mesh": {**MESH, "cases": {}}, "table": table}
    with pytest.raises(InputError, match="a table of stresses beside the mesh, and none is given") as refused:
        made(**both)
    assert refused.value.path == ("table",)
    lines = made(rows=rows, **both).request["lines"]
    assert lines[1]["cases"]["pull"]["tensors_mpa"]["zz"] == [23.0, 25.0, 27.0, 29.0, 31.0]


def test_limits_and_planes_of_a_search_are_passed_on(monkeypatch: pytest.MonkeyPatch) -> None:
    given: list[Any] = []
    monkeypatch.setattr(mapping, "find_weld_lines", lambda mesh, **rest: given.append((mesh.points_mm, rest)))
    search(raw(), 10.0, ["y=2"], Search(least_nodes=7))
    ((points, rest),) = given
    assert points[:4].tolist() == (10.0 * CORNERS).tolist()
    assert [(plane.axis, plane.coordinate_mm) for plane in rest.pop("symmetry")] == [("y", 2.0)]
    assert rest == {
        "opening_limit_deg": 155.0,
        "kink_deg": 35.0,
        "jump_deg": 20.0,
        "root_below_deg": 60.0,
        "rounded_share": 0.3,
        "least_nodes": 7,
    }
