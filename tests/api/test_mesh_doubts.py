"""What is doubtful on the way from a mesh reaches the check and its verdict; sizes count on the safe side."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from fatcore.stress.weld_lines.solid.detect import find_weld_lines
from fatcore.stress.weld_lines.solid.mesh import SolidMesh
from service.base.envelope import evaluate
from service.base.problems import Problem
from service.lines.rows import read_rows
from service.mesh.files import read_mesh_file
from service.mesh.layout import MeshMap, mesh_map_of
from service.mesh.mapping import map_mesh
from service.mesh.raw import RawMesh
from service.mesh.stresses import table_layout
from service.topics.registry import find
from tests.core.test_weld_lines_solid import TEE
from tests.shapes.files import FOLDER, model
from tests.shapes.sweep import section, straight, swept

SIX = ["xx", "yy", "zz", "xy", "yz", "zx"]
MESH: dict[str, Any] = {"length_factor": 1.0, "stress_factor": 1.0, "components": SIX, "cases": {"pull": "S"}}
REQUEST = {
    "loading": {"kind": "constant", "cycles": 1e4, "factors": {"pull": {"maximum": 0.1, "minimum": 0.0}}},
    "target": {"survival_probability": 0.977, "damage_limit": 0.5},
}
RULE = {"match": "*", "notch_size_mm": 60.0, "average_over": 3}


def made_map(**changes: Any) -> MeshMap:
    return mesh_map_of({"mesh": MESH, "lines": [RULE], "request": REQUEST, **changes})


def tee(stations: list[float], size: float, element: str = "tet10") -> SolidMesh:
    points, triangles = section(TEE, size)
    return swept(points, triangles, np.array(stations), element=element, place=straight)


def raw_of(mesh: SolidMesh) -> RawMesh:
    count = len(mesh.points_mm)
    cells = tuple((block.element, block.nodes) for block in mesh.element_blocks)
    stress = np.tile([100.0, 0.0, 100.0, 0.0, 0.0, 0.0], (count, 1))
    return RawMesh(points=mesh.points_mm, cells=cells, node_id=np.arange(count), numbered="", point_data={"S": stress})


def answer(request: dict[str, Any]) -> Any:
    calculation = find("check")
    assert calculation is not None
    return evaluate(calculation, request).envelope()


def codes(envelope: Any) -> set[str]:
    return {finding["code"] for finding in envelope["findings"]}


def test_elements_longer_across_than_along_count_with_their_length_across() -> None:
    fine = tee(np.arange(0.0, 12.1, 0.5).tolist(), 3.0)
    for line in find_weld_lines(fine).lines:
        assert line.mesh_size_mm == pytest.approx(0.5)
        assert 2.0 < line.across_mm < 4.0
        assert line.element_size_mm == line.across_mm
    request = map_mesh(raw_of(fine), made_map()).request
    assert all(line["mesh"]["element_size_mm"] > 2.0 for line in request["lines"])
    found = answer(request)
    assert found["answer"]["verdict"] == "undecided"
    assert {"elements-long-across", "mesh-size-not-spacing"} <= codes(found)


def test_elements_of_one_size_count_with_the_distance_of_their_nodes() -> None:
    even = tee(np.arange(0.0, 12.1, 2.0).tolist(), 2.0)
    assert [line.element_size_mm for line in find_weld_lines(even).lines] == pytest.approx([2.0] * 4)
    assert "elements-long-across" not in codes(answer(map_mesh(raw_of(even), made_map()).request))
    for name in ("stiffener-tet10", "stiffener-hex8"):
        assert all(line.element_size_mm == line.mesh_size_mm for line in find_weld_lines(model(name)).lines)


def test_an_uneven_line_counts_with_its_largest_spacing() -> None:
    graded = tee([0.0, 1.0, 2.0, 3.0, 6.0, 9.0, 12.0], 2.0)
    assert [line.element_size_mm for line in find_weld_lines(graded).lines] == pytest.approx([3.0] * 4)
    found = answer(map_mesh(raw_of(graded), made_map()).request)
    assert "mesh-size-uneven" in codes(found)
    nearly = tee([0.0, 1.8, 3.6, 5.4, 7.6, 9.8, 12.0], 2.0)
    assert [line.element_size_mm for line in find_weld_lines(nearly).lines] == pytest.approx([2.0] * 4)


TABLE = {"form": "long", "node_id": "n", "first_node": 0, "case": "case", "stress_mpa": {c: c for c in SIX}}


@pytest.mark.parametrize(
    ("second", "code", "verdict"),
    [
        (1.0, None, "pass"),
        (0.6, None, "pass"),
        (0.4, "stresses-jump", "pass"),
        (-0.9, "stresses-jump-large", "undecided"),
    ],
)
def test_rows_of_a_node_that_disagree_reach_the_verdict(second: float, code: str | None, verdict: str) -> None:
    """Two load steps in one table, the second nearly against the first, are no mean of elements."""
    raw = raw_of(tee(np.arange(0.0, 12.1, 2.0).tolist(), 2.0))
    rows = ["n,case,xx,yy,zz,xy,yz,zx"]
    rows += [
        f"{n},pull,{100.0 * factor},0,{100.0 * factor},0,0,0"
        for n in range(len(raw.points))
        for factor in (1.0, second)
    ]
    layout = made_map(mesh={**MESH, "cases": {}}, table=TABLE)
    assert layout.table is not None
    request = map_mesh(raw, layout, read_rows("\n".join(rows), table_layout(layout.table, 1.0))).request
    found = answer(request)
    assert {c for c in codes(found) if c.startswith("stresses-jump")} == ({code} if code else set())
    assert found["answer"]["verdict"] == verdict


def test_lines_that_were_dropped_are_named_in_the_check() -> None:
    raw = raw_of(tee(np.arange(0.0, 12.1, 2.0).tolist(), 2.0))
    names = [{"name": "left weld", "near_mm": [-9.0, 4.0, 0.0]}]
    made = map_mesh(raw, made_map(mesh={**MESH, "names": names, "unnamed": "drop"}))
    found = answer(made.request)
    assert "lines-dropped" in codes(found)
    text = next(finding["message"] for finding in found["findings"] if finding["code"] == "lines-dropped")
    assert all(name in text for name in made.unnamed)
    assert len(made.unnamed) == 3


def test_findings_of_the_search_speak_of_lines_by_their_names_in_the_check() -> None:
    graded = raw_of(tee([0.0, 1.0, 2.0, 3.0, 6.0, 9.0, 12.0], 2.0))
    names = [{"name": "weld 7", "near_mm": [-9.0, 3.0, 0.0]}]
    lines = map_mesh(graded, made_map(mesh={**MESH, "names": names})).request["lines"]
    told = {line["name"]: line["mesh_doubts"]["mesh-size-uneven"] for line in lines}
    assert [text.startswith("weld 7:") for text in told["weld 7"]] == [True]
    assert all(len(texts) == 1 and texts[0].startswith(f"{name}:") for name, texts in told.items())


def test_a_doubt_with_a_code_that_no_finding_has_is_refused() -> None:
    request = map_mesh(raw_of(tee(np.arange(0.0, 12.1, 2.0).tolist(), 2.0)), made_map()).request
    request["lines"][1]["mesh_doubts"] = {"all-is-well": ["nothing"]}
    with pytest.raises(Problem) as refused:
        answer(request)
    assert refused.value.errors[0][0] == "/lines/1/mesh_doubts/all-is-well"


def test_a_doubt_has_the_severity_of_its_code() -> None:
    request = map_mesh(raw_of(tee(np.arange(0.0, 12.1, 2.0).tolist(), 2.0)), made_map()).request
    assert answer(request)["answer"]["verdict"] == "pass"
    request["lines"][1]["mesh_doubts"] = {"plane-not-symmetric": ["invented"]}
    found = answer(request)
    assert found["answer"]["verdict"] == "undecided"
    assert ("plane-not-symmetric", "outside") in {(each["code"], each["severity"]) for each in found["findings"]}


def test_equal_lines_keep_their_names_under_the_rounding_of_single_precision() -> None:
    raw = read_mesh_file(str(FOLDER / "stiffener-hex8.vtu"))
    far = np.float32(raw.points.astype(np.float64) + 1e5).astype(np.float64) - 1e5
    mesh = model("stiffener-hex8")
    moved = SolidMesh(far, mesh.element_blocks)
    here = {line.name: set(line.node_index.tolist()) for line in find_weld_lines(mesh).lines}
    assert {line.name: set(line.node_index.tolist()) for line in find_weld_lines(moved).lines} == here


def test_lines_that_a_rule_skips_are_named_in_the_check() -> None:
    raw = raw_of(tee(np.arange(0.0, 12.1, 2.0).tolist(), 2.0))
    made = map_mesh(raw, made_map(lines=[{"match": "toe-4", "skip": True}, RULE]))
    texts = {finding["message"] for finding in answer(made.request)["findings"] if finding["code"] == "lines-dropped"}
    assert texts == {"lines of the mesh that are not checked: toe-4"}
