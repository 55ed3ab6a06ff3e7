"""From a solid mesh to a check request: files of every format, names, load cases, tables beside it, refusals."""

from __future__ import annotations

import csv
import io
import json
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import meshio
import numpy as np
import pytest

from fatcore.errors import InputError
from service.base.problems import Problem
from service.cli import main
from service.lines.rows import read_rows
from service.mesh import files
from service.mesh.files import read_mesh_file
from service.mesh.layout import MeshMap, Search, mesh_map_of, read_mesh_map
from service.mesh.mapping import MappedMesh, map_mesh, search
from service.mesh.raw import RawMesh, solid_of
from service.mesh.stresses import table_layout
from tests.core.test_weld_lines_solid import TEE
from tests.shapes.files import FOLDER, expected
from tests.shapes.sweep import section, straight, swept

HEX = FOLDER / "stiffener-hex8.vtu"
MAP = """
[mesh]
length_factor = 1.0
stress_factor = 1.0
components = ["xx", "yy", "zz", "xy", "yz", "zx"]
cases = { tension = "S_tension" }
[[lines]]
match = "*"
notch_size_mm = 10.0
average_over = 1
[request.loading]
kind = "constant"
cycles = 1e5
factors = { tension = { maximum = 1.0, minimum = 0.0 } }
[request.target]
survival_probability = 0.977
damage_limit = 0.5
"""
BASE: dict[str, Any] = {
    "length_factor": 1.0,
    "stress_factor": 1.0,
    "components": ["xx", "yy", "zz", "xy", "yz", "zx"],
    "cases": {"tension": "S_tension"},
}
RULE = {"match": "*", "notch_size_mm": 10.0, "average_over": 1}


def mesh_map(**changes: Any) -> MeshMap:
    request = {
        "loading": {"kind": "constant", "cycles": 1e5, "factors": {"tension": {"maximum": 1.0, "minimum": 0.0}}},
        "target": {"survival_probability": 0.977, "damage_limit": 0.5},
    }
    data = {"mesh": BASE, "lines": [RULE], "request": request, **changes}
    return MeshMap.model_validate(data)


@pytest.fixture(scope="module")
def raw() -> RawMesh:
    return read_mesh_file(str(HEX))


def mapped(raw: RawMesh, **changes: Any) -> MappedMesh:
    return map_mesh(raw, mesh_map(**changes))


def named(*names: dict[str, Any], **more: Any) -> dict[str, Any]:
    return {**BASE, "names": list(names), **more}


# files


FORMS = [(".vtk", "vtk"), (".msh", "gmsh"), (".med", "med"), (".xdmf", "xdmf"), (".inp", "abaqus")]


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize(("suffix", "form"), FORMS)
@pytest.mark.parametrize("name", ["stiffener-hex20", "stiffener-tet10"])
def test_every_format_gives_the_same_lines(tmp_path: Path, suffix: str, form: str, name: str) -> None:
    mesh = meshio.read(FOLDER / f"{name}.vtu")
    mesh.point_data = {}
    mesh.write(tmp_path / f"a{suffix}", file_format=form)
    lines = search(read_mesh_file(str(tmp_path / f"a{suffix}")), 1.0, [], Search()).lines
    assert sorted(len(line.node_index) for line in lines) == sorted(line.nodes for line in expected(name))


def test_nine_components_of_another_format_are_the_same_stresses(raw: RawMesh) -> None:
    by_six = mapped(raw).request["lines"]
    nine = read_mesh_file(str(FOLDER / "stiffener-hex8.msh"))
    by_nine = map_mesh(nine, mesh_map(mesh={**BASE, "components": None})).request["lines"]
    for one, other in zip(by_six, by_nine, strict=True):
        assert [each + 1 for each in one["node_id"]] == other["node_id"]
        for component, values in one["cases"]["tension"]["tensors_mpa"].items():
            assert other["cases"]["tension"]["tensors_mpa"][component] == pytest.approx(values, abs=1e-3)


def deck(tmp_path: Path, numbers: list[int]) -> str:
    """A deck of keywords of one tetrahedron beside another, its nodes numbered as given."""
    points = [(0, 0, 0), (1, 0, 0), (0, 1, 0), (0, 0, 1), (1, 1, 1)]
    rows = [f"{number}, {x}, {y}, {z}" for number, (x, y, z) in zip(numbers, points, strict=True)]
    a, b, c, d, e = numbers
    text = ["** invented", "*HEADING", "two", "*NODE, NSET=ALL", *rows, "** between", "*ELEMENT, TYPE=C3D4"]
    text += [f"1, {a}, {b}, {c}, {d}", f"2, {b}, {c}, {d}, {e}", "*NSET, NSET=EDGE", f"{a}, {b}"]
    (tmp_path / "a.inp").write_text("\n".join(text) + "\n")
    return str(tmp_path / "a.inp")


def test_numbers_and_sets_of_a_deck_are_those_of_the_file(tmp_path: Path) -> None:
    read = read_mesh_file(deck(tmp_path, [7, 12, 3, 40, 9]))
    assert read.node_id.tolist() == [7, 12, 3, 40, 9]
    assert read.numbered == "numbers of the file"
    assert read.node_id[read.node_sets["EDGE"]].tolist() == [7, 12]


def test_time_steps_are_load_cases_by_number_or_time(
    tmp_path: Path, raw: RawMesh, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    mesh = meshio.read(HEX)
    file = tmp_path / "a.xdmf"
    with meshio.xdmf.TimeSeriesWriter(str(file)) as writer:
        writer.write_points_cells(mesh.points, mesh.cells)
        for time, factor in ((0.5, 1.0), (1.5, 2.0)):
            rows = mesh.point_data["S_tension"][:, [0, 3, 5, 3, 1, 4, 5, 4, 2]]  # six would be of the order of Tensor6
            writer.write_data(time, point_data={"S": factor * rows.reshape(-1, 3, 3)})
    series = read_mesh_file(str(file))
    assert [time for time, _ in series.steps] == [0.5, 1.5]
    plain = mapped(raw).request["lines"][0]["cases"]["tension"]["tensors_mpa"]["xx"]
    for case in ({"array": "S", "step": 1}, {"array": "S", "time": 1.5}):
        made = map_mesh(series, mesh_map(mesh={**BASE, "cases": {"tension": case}})).request["lines"][0]
        assert made["cases"]["tension"]["tensors_mpa"]["xx"] == pytest.approx([2.0 * each for each in plain])
    for case, message in (({"array": "S", "step": 2}, "steps 0 to 1"), ({"array": "S", "time": 1.0}, "0 steps have")):
        with pytest.raises(InputError, match=message):
            map_mesh(series, mesh_map(mesh={**BASE, "cases": {"tension": case}}))
    with pytest.raises(InputError, match="no time steps"):
        mapped(raw, mesh={**BASE, "cases": {"tension": {"array": "S_tension", "step": 0}}})


@pytest.mark.parametrize(
    ("content", "name", "message"),
    [
        (b"no mesh at all", "a.vtk", "not a legacy VTK file that can be read"),
        (HEX.read_bytes()[:9000], "a.vtu", "cut off"),
        ((FOLDER / "stiffener-hex8.msh").read_bytes()[:9000], "a.msh", "not an MSH file that can be read"),
        (b"*NODE\n1, 0, 0\n*ELEMENT, TYPE=ODD\n1, 1\n", "a.inp", "elements of TYPE=ODD are not known"),
    ],
)
def test_corrupt_files_are_refused_with_the_reason(tmp_path: Path, content: bytes, name: str, message: str) -> None:
    (tmp_path / name).write_bytes(content)
    with pytest.raises(InputError, match=message):
        read_mesh_file(str(tmp_path / name))


@pytest.mark.filterwarnings("ignore")
def test_surfaces_other_cells_and_flat_points_are_told(tmp_path: Path) -> None:
    flat = meshio.Mesh(np.eye(3)[:, :2], [("triangle", [[0, 1, 2]])])
    flat.write(tmp_path / "flat.xdmf")
    read = read_mesh_file(str(tmp_path / "flat.xdmf"))
    assert read.points.shape == (3, 3)
    with pytest.raises(InputError, match=r"no solid elements \(1 triangles\)"):
        solid_of(read, 1.0)
    empty = RawMesh(points=read.points, cells=(), node_id=read.node_id, numbered="")
    with pytest.raises(InputError, match="no cells"):
        solid_of(empty, 1.0)
    odd = meshio.Mesh(np.random.default_rng(1).random((27, 3)), [("hexahedron27", [list(range(27))])])
    odd.write(tmp_path / "odd.vtk")
    with pytest.raises(InputError, match="cells of type 29 are none of"):
        read_mesh_file(str(tmp_path / "odd.vtk"))


def test_missing_too_large_and_unknown_files_are_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(Problem, match="No such file"):
        read_mesh_file(str(tmp_path / "none.vtu"))
    (tmp_path / "a.stl").write_text("")
    with pytest.raises(Problem, match=r"known are \.vtu"):
        read_mesh_file(str(tmp_path / "a.stl"))
    monkeypatch.setattr(files, "_MAX_FILE_BYTES", 10)
    with pytest.raises(Problem, match="MiB"):
        read_mesh_file(str(HEX))


def test_without_the_library_only_its_formats_are_missing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "h5py", None)
    (tmp_path / "a.med").write_bytes(b"")
    assert len(read_mesh_file(str(HEX)).points) == 4512
    with pytest.raises(Problem, match=r"toeline\[mesh\]"):
        read_mesh_file(str(tmp_path / "a.med"))


# names


def test_lines_are_named_by_point_box_and_set(raw: RawMesh) -> None:
    toe = next(each for each in expected("stiffener-hex8") if each.name == "toe_plate_x-")
    with_set = RawMesh(
        points=raw.points,
        cells=raw.cells,
        point_data=raw.point_data,
        node_id=raw.node_id,
        numbered=raw.numbered,
        node_sets={"SLIT": np.flatnonzero((raw.points[:, 0] == 5.0) & (raw.points[:, 2] == 0.0))},
    )
    layout = named(
        {"name": "weld 1", "near_mm": toe.points_mm[2].tolist()},
        {"name": "weld 2", "box_mm": [[12.0, 40.0, 1.0], [14.0, -10.0, -1.0]]},
        {"name": "gap", "node_set": "SLIT", "kind": "root"},
    )
    lines = map_mesh(with_set, mesh_map(mesh=layout)).request["lines"]
    assert {"weld 1", "weld 2", "gap", "root-1", "toe-2", "toe-3"} == {line["name"] for line in lines}
    assert next(line for line in lines if line["name"] == "weld 1")["coordinates_mm"][0] == pytest.approx([-13, 0, 0])
    dropped = map_mesh(with_set, mesh_map(mesh={**layout, "unnamed": "drop"}))
    assert {line["name"] for line in dropped.request["lines"]} == {"weld 1", "weld 2", "gap"}
    assert set(dropped.unnamed) == {"root-1", "toe-2", "toe-3"}


@pytest.mark.parametrize(
    ("names", "message"),
    [
        ([{"name": "a", "near_mm": [0.0, 0.0, 0.0]}], "about as near"),
        ([{"name": "a", "near_mm": [60.0, 15.0, 0.0]}], "from the point"),
        ([{"name": "a", "near_mm": [-13.0, 4.0, 0.0]}, {"name": "b", "near_mm": [-13.0, 8.0, 0.0]}], "already"),
        ([{"name": "a", "near_mm": [-13.0, 4.0, 0.0]}, {"name": "a", "near_mm": [13.0, 8.0, 0.0]}], "already"),
        ([{"name": "a", "box_mm": [[-99.0, -99.0, -99.0], [99.0, 99.0, 99.0]]}], "lie in the box"),
        ([{"name": "a", "box_mm": [[0.0, 0.0, 0.0], [1.0, 1.0, 1.0]]}], "no lines lie in the box"),
        ([{"name": "a", "node_set": "NONE"}], "it has none"),
        ([{"name": "toe-2", "near_mm": [-13.0, 4.0, 0.0]}], "which nobody named"),
    ],
)
def test_names_that_fit_no_line_or_several_are_refused(raw: RawMesh, names: list[dict[str, Any]], message: str) -> None:
    with pytest.raises(InputError, match=message) as refused:
        mapped(raw, mesh=named(*names))
    assert refused.value.path[:2] == ("mesh", "names")


def test_a_mesh_without_the_kind_asked_for_says_so(raw: RawMesh) -> None:
    with pytest.raises(InputError, match="no toe"):
        mapped(
            raw, mesh=named({"name": "a", "near_mm": [0.0, 0.0, 0.0], "kind": "toe"}, search={"root_below_deg": 179.0})
        )


# stresses


def test_the_same_equivalent_stress_through_mesh_and_table(raw: RawMesh, tmp_path: Path) -> None:
    """The demanding part of a mesh: its lines' check equals that of a table with the same nodes."""
    ids = np.unique(np.concatenate([line["node_id"] for line in mapped(raw).request["lines"]]))
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(["node", "x", "y", "z", *(f"s{c}" for c in ("xx", "yy", "zz", "xy", "yz", "zx"))])
    for number in ids[::-1]:
        writer.writerow([number + 1, *raw.points[number], *(float(v) for v in raw.point_data["S_tension"][number])])
    table = {
        "form": "wide",
        "node_id": "node",
        "first_node": 1,
        "coordinates_mm": {"x": "x", "y": "y", "z": "z"},
        "cases": {"tension": {c: f"s{c}" for c in ("xx", "yy", "zz", "xy", "yz", "zx")}},
    }
    beside = mesh_map(mesh={**BASE, "cases": {}}, table=table)
    assert beside.table is not None
    rows = read_rows(text.getvalue(), table_layout(beside.table, 1.0))
    assert map_mesh(raw, beside, rows).request["lines"] == mapped(raw).request["lines"]
    with pytest.raises(InputError, match="none is given"):
        map_mesh(raw, beside)
    shifted = mesh_map(mesh={**BASE, "cases": {}}, table={**table, "first_node": 0})
    assert shifted.table is not None
    with pytest.raises(InputError, match="other numbers or units"):
        map_mesh(raw, shifted, read_rows(text.getvalue(), table_layout(shifted.table, 1.0)))


def element_rows(raw: RawMesh, nodes: np.ndarray, spread: float) -> str:
    """A long table with two rows a node, as of two elements, around the nodal stress."""
    text = ["node;case;xx;yy;zz;xy;yz;zx"]
    for number in nodes.tolist():
        for sign in (1.0, -1.0):
            values = [
                f"{float(v) * (1.0 + sign * spread):.6f}".replace(".", ",") for v in raw.point_data["S_tension"][number]
            ]
            text.append(";".join([str(number), "tension", *values]))
    return "\n".join(text)


TABLE: dict[str, Any] = {
    "form": "long",
    "node_id": "node",
    "case": "case",
    "delimiter": ";",
    "decimal": ",",
    "stress_mpa": {c: c for c in ("xx", "yy", "zz", "xy", "yz", "zx")},
    "first_node": 0,
}


@pytest.mark.parametrize(("spread", "told"), [(0.1, False), (0.4, True)])
def test_values_of_several_elements_at_a_node_are_averaged_and_a_large_jump_is_told(
    raw: RawMesh, spread: float, told: bool
) -> None:
    nodes = np.unique(np.concatenate([line["node_id"] for line in mapped(raw).request["lines"]]))
    beside = mesh_map(mesh={**BASE, "cases": {}}, table=TABLE)
    assert beside.table is not None
    rows = read_rows(element_rows(raw, nodes, spread), table_layout(beside.table, 1.0))
    made = map_mesh(raw, beside, rows)
    plain = mapped(raw).request["lines"][0]["cases"]["tension"]["tensors_mpa"]["xx"]
    assert made.request["lines"][0]["cases"]["tension"]["tensors_mpa"]["xx"] == pytest.approx(plain, abs=1e-5)
    codes = {code for line in made.request["lines"] for code in line.get("mesh_doubts", {})}
    assert ("stresses-jump" in codes) is told


def test_tables_that_lack_a_node_or_have_another_are_refused(raw: RawMesh) -> None:
    beside = mesh_map(mesh={**BASE, "cases": {}}, table=TABLE)
    assert beside.table is not None
    layout = table_layout(beside.table, 1.0)
    with pytest.raises(InputError, match="has no stress at node"):
        map_mesh(raw, beside, read_rows(element_rows(raw, np.arange(5), 0.0), layout))
    foreign = element_rows(raw, np.arange(5), 0.0).replace("\n4;", "\n99999;")
    with pytest.raises(InputError, match="no node 99999"):
        map_mesh(raw, beside, read_rows(foreign, layout))
    wrong = mesh_map(mesh={**BASE, "cases": {}}, table={**TABLE, "case": None})
    assert wrong.table is not None
    with pytest.raises(InputError, match="a long table needs"):
        map_mesh(raw, wrong, read_rows(element_rows(raw, np.arange(5), 0.0), table_layout(wrong.table, 1.0)))


@pytest.mark.parametrize(
    ("numbered", "table", "refused"),
    [
        ("places in the file, from 0", {"first_node": None}, "say which one the first has"),
        ("places in the file, from 0", {"first_node": 0}, None),
        ("numbers of the file", {"first_node": 0}, "not used"),
        ("numbers of the file", {"first_node": None}, None),
    ],
)
def test_numbers_of_a_table_are_those_of_the_file_or_counted_from_a_stated_one(
    raw: RawMesh, numbered: str, table: dict[str, Any], refused: str | None
) -> None:
    beside = mesh_map(mesh={**BASE, "cases": {}}, table={**TABLE, **table})
    assert beside.table is not None
    rows = read_rows(element_rows(raw, np.arange(len(raw.points)), 0.0), table_layout(beside.table, 1.0))
    held = replace(raw, numbered=numbered)
    if refused is None:
        assert len(map_mesh(held, beside, rows).request["lines"]) == 6
        return
    with pytest.raises(InputError, match=refused) as error:
        map_mesh(held, beside, rows)
    assert error.value.path == ("table", "first_node")


def with_array(raw: RawMesh, **arrays: np.ndarray) -> RawMesh:
    return RawMesh(
        points=raw.points, cells=raw.cells, node_id=raw.node_id, numbered="", point_data={**raw.point_data, **arrays}
    )


def test_six_arrays_of_components_and_a_factor_give_the_tensor(raw: RawMesh) -> None:
    names = ("xx", "yy", "zz", "xy", "yz", "zx")
    parts = {f"s_{name}": raw.point_data["S_tension"][:, at] for at, name in enumerate(names)}
    case = {name: f"s_{name}" for name in names}
    made = map_mesh(with_array(raw, **parts), mesh_map(mesh={**BASE, "stress_factor": 2.0, "cases": {"tension": case}}))
    plain = mapped(raw).request["lines"][0]["cases"]["tension"]["tensors_mpa"]["zx"]
    assert made.request["lines"][0]["cases"]["tension"]["tensors_mpa"]["zx"] == pytest.approx([2 * v for v in plain])
    with pytest.raises(InputError, match="one number a node"):
        mapped(raw, mesh={**BASE, "cases": {"tension": dict.fromkeys(names, "S_tension")}})


def test_the_order_of_components_is_obeyed(raw: RawMesh) -> None:
    swapped = ["yy", "xx", "zz", "xy", "yz", "zx"]
    made = mapped(raw, mesh={**BASE, "components": swapped}).request["lines"][0]["cases"]["tension"]["tensors_mpa"]
    plain = mapped(raw).request["lines"][0]["cases"]["tension"]["tensors_mpa"]
    assert made["xx"] == plain["yy"]
    assert made["yy"] == plain["xx"]


@pytest.mark.parametrize(
    ("array", "mesh", "message"),
    [
        (None, {"cases": {"tension": "S_none"}}, "no array 'S_none' at its nodes; it has S"),
        (None, {"components": None}, "needs `components`"),
        (None, {"cases": {"tension": "U_tension"}}, "3 numbers a node"),
        (np.arange(9.0) * np.ones((4512, 1)), {"components": None}, "no symmetric tensor"),
        (np.full((4512, 6), np.nan), {}, "is no number"),
    ],
)
def test_arrays_that_are_no_tensors_are_refused_at_their_load_case(
    raw: RawMesh, array: np.ndarray | None, mesh: dict[str, Any], message: str
) -> None:
    held = raw if array is None else with_array(raw, S_tension=array)
    with pytest.raises(InputError, match=message) as refused:
        map_mesh(held, mesh_map(mesh={**BASE, **mesh}))
    assert refused.value.path[:3] == ("mesh", "cases", "tension")


# the map and the request


def test_the_request_has_place_and_node_of_every_station(raw: RawMesh) -> None:
    for line in mapped(raw).request["lines"]:
        assert raw.points[line["node_id"]] == pytest.approx(np.array(line["coordinates_mm"]))
        assert line["mesh"]["element"] == "brick8"
        assert line["mesh"]["element_size_mm"] == pytest.approx(2.0)
        assert line["notch"]["opening_angle_deg"] in (0.0, 135.0)


def test_metres_and_pascals_give_the_same_request(raw: RawMesh) -> None:
    small = RawMesh(
        points=raw.points / 1000.0,
        cells=raw.cells,
        node_id=raw.node_id,
        numbered="",
        point_data={"S_tension": 1e6 * raw.point_data["S_tension"].astype(np.float64)},
    )
    made = map_mesh(small, mesh_map(mesh={**BASE, "length_factor": 1000.0, "stress_factor": 1e-6})).request["lines"]
    for one, other in zip(made, mapped(raw).request["lines"], strict=True):
        assert np.array(one["coordinates_mm"]) == pytest.approx(np.array(other["coordinates_mm"]), abs=1e-9)
        assert one["cases"]["tension"]["tensors_mpa"]["xx"] == pytest.approx(
            other["cases"]["tension"]["tensors_mpa"]["xx"]
        )


@pytest.mark.parametrize(
    ("changes", "where", "message"),
    [
        ({"lines": [{"match": "*", "average_over": 1}]}, "/lines/0/notch_size_mm", "needed"),
        ({"lines": [{"match": "*", "notch_size_mm": 5.0}]}, "/lines/0/average_over", "needed"),
        ({"mesh": {**BASE, "cases": {}}}, "/mesh/cases", "needed"),
        ({"table": TABLE}, "/mesh/cases", "not used"),
        ({"request": {"lines": []}}, "/request/lines", "come from the mesh"),
        ({"mesh": named({"name": "a"})}, "/mesh/names/0", "one of near_mm"),
        ({"mesh": {**BASE, "cases": {"a": {"array": "S"}}}}, "/mesh/cases/a", "the step, or its time"),
        ({"mesh": {**BASE, "components": ["xx"] * 6}}, "/mesh/components", "each component once"),
        ({"mesh": {**BASE, "symmetry": ["w=0"]}}, "/mesh/symmetry/0", "a plane like"),
        ({"mesh": {"cases": {"a": "S"}}}, "/mesh/length_factor", "length_factor is needed"),
    ],
)
def test_maps_that_lack_or_repeat_something_are_refused_at_its_place(
    changes: dict[str, Any], where: str, message: str
) -> None:
    with pytest.raises(Problem) as refused:
        mesh_map_of({"mesh": BASE, "lines": [RULE], "request": {}, **changes})
    assert any(at == where and message in text for at, text in refused.value.errors), refused.value.errors


def test_a_map_that_is_no_toml_is_refused() -> None:
    with pytest.raises(Problem, match="not TOML"):
        read_mesh_map("[mesh")


def test_rules_skip_judge_and_must_match(raw: RawMesh) -> None:
    skip = mapped(raw, lines=[{"match": "root-*", "skip": True}, {"match": "none*", "skip": True}, RULE])
    assert set(skip.skipped) == {"root-1", "root-2"}
    assert skip.idle == ("none*",)
    assert skip.unloaded == ("S_lateral",)
    with pytest.raises(InputError, match="every line is skipped"):
        mapped(raw, lines=[{"match": "*", "skip": True}])
    with pytest.raises(InputError, match="no rule of the map matches the line"):
        mapped(raw, lines=[{**RULE, "match": "toe-*"}])
    with pytest.raises(InputError, match="no weld line is left"):
        mapped(raw, mesh={**BASE, "unnamed": "drop"})


def test_a_rule_that_judges_no_line_is_refused_in_a_map_of_a_mesh_too(raw: RawMesh) -> None:
    with pytest.raises(Problem, match="judges nothing"):
        mapped(raw, lines=[{**RULE, "match": "weld 7"}, RULE])


def test_angles_and_elements_of_the_map_must_fit_the_mesh(raw: RawMesh) -> None:
    toes = {**RULE, "match": "toe-*", "opening_angle_deg": 133.0, "exclude_ends_mm": 2.0, "exclude_ends_reason": "ends"}
    line = next(
        each for each in mapped(raw, lines=[toes, RULE]).request["lines"] if each["notch"]["opening_angle_deg"] == 133.0
    )
    assert (line["exclude_ends_mm"], line["exclude_ends_reason"]) == (2.0, "ends")
    with pytest.raises(Problem, match="opens by 135 deg where 90 are given") as refused:
        mapped(raw, lines=[{**RULE, "match": "toe-*", "opening_angle_deg": 90.0}, RULE])
    assert refused.value.errors[0][0] == "/lines/0/opening_angle_deg"
    quadratic = read_mesh_file(str(FOLDER / "stiffener-hex20.vtu"))
    with pytest.raises(Problem, match="no constants are published for brick20"):
        map_mesh(quadratic, mesh_map())
    own = {**RULE, "element": "own", "constants": {"opening": 1.0, "sliding": 3.0, "tearing": 2.0}}
    assert map_mesh(quadratic, mesh_map(lines=[own])).request["lines"][0]["mesh"]["element"] == "own"


def test_lines_of_several_kinds_of_elements_need_constants_of_ones_own() -> None:
    points, triangles = section(TEE, 2.0)
    mesh = swept(points, triangles, np.arange(0.0, 13.0, 2.0), element="wedge6", place=straight)
    first, rest = mesh.element_blocks[0].nodes[:200], mesh.element_blocks[0].nodes[200:]
    tets = np.vstack([first[:, [0, 1, 2, 5]], first[:, [0, 1, 4, 5]], first[:, [0, 3, 4, 5]]])
    count = len(mesh.points_mm)
    mixed = RawMesh(
        points=mesh.points_mm,
        cells=(("wedge6", rest), ("tet4", tets)),
        node_id=np.arange(count),
        numbered="",
        point_data={"S_tension": np.ones((count, 6))},
    )
    with pytest.raises(Problem, match="several kinds"):
        map_mesh(mixed, mesh_map())


# the command line


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    code = main(["lines", *words])
    out, err = capsys.readouterr()
    return code, out, err


@pytest.mark.parametrize(
    ("model", "lines", "extra"), [("stiffener-tet10", 9, []), ("stiffener-tet10-half", 7, ["--symmetry", "y=0"])]
)
def test_the_list_as_json_has_every_line_with_its_frame(
    capsys: pytest.CaptureFixture[str], model: str, lines: int, extra: list[str]
) -> None:
    code, out, _ = run(capsys, str(FOLDER / f"{model}.vtu"), "--list", "--json", *extra)
    data = json.loads(out)
    assert (code, len(data["lines"])) == (0, lines)
    for line in data["lines"]:
        count = len(line["node_id"])
        assert {len(line[key]) for key in ("coordinates_mm", "tangent", "bisector", "position_mm")} == {count}
        assert line["mesh_size_mm"] == pytest.approx(2.0, rel=0.2)
    assert data["arrays"]["S_tension"] == 6
    assert all(
        set(each) == {"reason", "nodes", "opening_angle_deg", "length_mm", "place_mm"} for each in data["left_out"]
    )


def test_the_list_draws_the_lines_on_the_part(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    code, out, _ = run(capsys, str(HEX), "--list", "--picture", str(tmp_path / "part.svg"))
    drawing = (tmp_path / "part.svg").read_text()
    assert code == 0
    assert "6 weld lines" in out
    assert drawing.startswith("<svg")
    assert all(name in drawing for name in ("toe-1", "root-2", "data:image/png"))
    assert len(drawing) < 150_000


def test_the_list_as_text_names_lines_places_arrays_and_what_was_left_out(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    _, out, _ = run(capsys, str(FOLDER / "stiffener-tet10-half.vtu"), "--list", "--symmetry", "y=0")
    words = " ".join(out.split())
    for part in ("7 weld lines:", "toe-1: 134.7 deg, open, 88.77 mm, 47 nodes", "left out: edges of a rounded hollow"):
        assert part in words
    assert "start and end on a plane of symmetry" in words
    assert "arrays at the nodes: S_bending (6)" in words
    assert "assumed: lengths of the file times 1 are mm" in words
    run(capsys, str(HEX), "--list", "--length-factor", "1", "-o", str(tmp_path / "list.txt"))
    assert "assumed" not in (tmp_path / "list.txt").read_text()


def test_time_steps_other_cells_and_no_lines_are_listed(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    cube = meshio.Mesh(
        np.array(np.meshgrid([0, 1], [0, 1], [0, 1])).reshape(3, -1).T.astype(float)[[0, 2, 6, 4, 1, 3, 7, 5]],
        [("hexahedron", [list(range(8))]), ("quad", [[0, 1, 2, 3]])],
    )
    with meshio.xdmf.TimeSeriesWriter(str(tmp_path / "a.xdmf")) as writer:
        writer.write_points_cells(cube.points, cube.cells)
        writer.write_data(0.0, point_data={"S": np.zeros((8, 6))})
    _, out, _ = run(capsys, str(tmp_path / "a.xdmf"), "--list")
    words = " ".join(out.split())
    assert "0 weld lines found" in words
    assert "1 time steps of S" in words
    assert "left out: 1 quad" in words


def test_a_request_from_mesh_and_map_is_checked(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    (tmp_path / "map.toml").write_text(MAP)
    code, out, err = run(capsys, str(HEX), "--map", str(tmp_path / "map.toml"), "-o", str(tmp_path / "check.json"))
    assert (code, out) == (0, "")
    words = " ".join(err.split())
    for part in ("6 lines, load cases: tension", "toe-1: toe 135 deg, 16 stations, brick8 of 2 mm", "S_lateral"):
        assert part in words
    main(["check", str(tmp_path / "check.json"), "--json"])
    answer = json.loads(capsys.readouterr().out)["answer"]
    assert len(answer["lines"]) == 6
    (tmp_path / "skip.toml").write_text(
        MAP.replace("[[lines]]", '[[lines]]\nmatch = "root*"\nskip = true\n[[lines]]', 1)
    )
    _, _, err = run(capsys, str(HEX), "--map", str(tmp_path / "skip.toml"), "-o", str(tmp_path / "b.json"))
    assert "skipped: root-1, root-2" in " ".join(err.split())


def test_a_table_beside_a_mesh_is_given_on_the_command_line(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, raw: RawMesh
) -> None:
    beside = MAP.replace('cases = { tension = "S_tension" }', "") + (
        '[table]\nfirst_node = 0\nform = "long"\nnode_id = "node"\ncase = "case"\ndelimiter = ";"\ndecimal = ","\n'
        'stress_mpa = { xx = "xx", yy = "yy", zz = "zz", xy = "xy", yz = "yz", zx = "zx" }\n'
    )
    (tmp_path / "map.toml").write_text(beside)
    (tmp_path / "s.csv").write_text(element_rows(raw, np.arange(len(raw.points)), 0.4))
    code, _, err = run(
        capsys,
        str(HEX),
        "--map",
        str(tmp_path / "map.toml"),
        "--table",
        str(tmp_path / "s.csv"),
        "-o",
        str(tmp_path / "c"),
    )
    assert code == 0
    assert "the rows of node" in " ".join(err.split())
    assert run(capsys, str(HEX), "--map", str(tmp_path / "map.toml"))[0] == 2


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["a.csv", "--list"], "--list needs a mesh"),
        (["a.csv", "--map", "m", "--table", "t"], "--table needs a mesh"),
        (["a.vtu"], "--list to see the lines"),
        (["-"], "--map is needed"),
        (["a.csv"], "a.csv: No such file"),
        (["a.vtu", "--map", "m", "--json"], "--json belongs to --list"),
        (["a.vtu", "--map", "m", "--picture", "a.svg"], "--picture belongs to --list"),
        (["a.vtu", "--map", "m", "--length-factor", "2"], "--length-factor belongs to --list"),
        (["a.vtu", "--list", "--map", "m"], "no map and no table"),
        ([str(HEX), "--list", "--length-factor", "-1"], "above zero"),
        ([str(HEX), "--list", "--symmetry", "y"], "takes planes like"),
        (["none.vtu", "--list"], "No such file"),
    ],
)
def test_options_that_do_not_belong_together_are_refused(
    capsys: pytest.CaptureFixture[str], words: list[str], message: str
) -> None:
    code, _, err = run(capsys, *words)
    assert code == 2
    assert message in " ".join(err.split())


def test_a_table_that_no_map_speaks_of_is_refused(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    (tmp_path / "map.toml").write_text(MAP)
    code, _, err = run(capsys, str(HEX), "--map", str(tmp_path / "map.toml"), "--table", "s.csv")
    assert code == 2
    assert "says nothing of a table" in err


def test_the_map_beside_the_models_is_one_that_works(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    code, _, _ = run(
        capsys, str(FOLDER / "stiffener-tet10.vtu"), "--map", str(FOLDER / "lines.toml"), "-o", str(tmp_path / "a.json")
    )
    assert code == 0
    names = [line["name"] for line in json.loads((tmp_path / "a.json").read_text())["lines"]]
    assert {"toe on plate", "toe on stiffener, left", "root at the slit's front"} < set(names)
