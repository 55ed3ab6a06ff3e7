"""What a file states of its arrays, names, orders, units, places, against what the map says of them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import h5py
import httpx
import numpy as np
import pytest

from fatcore.errors import InputError
from service.base.problems import Problem
from service.mesh.files import read_mesh_file
from service.mesh.layout import MeshLayout, Search, mesh_map_of
from service.mesh.listing import listing_text
from service.mesh.mapping import search
from service.mesh.raw import RawMesh, solid_of
from service.mesh.stated import alike, guard_stated
from service.mesh.stresses import jumps_of, stresses_of
from service.mesh.tensors import axes_of, guard_components
from tests.api.test_mesh_files_refused import field_of, head, text_data
from tests.api.test_mesh_numbers import CELLS, CORNERS, NUMBERS, POINTS, element_nodal, lines, med, new_text, old_text
from tests.api.test_mesh_numbers import read as read_bytes

SIX = ("xx", "yy", "zz", "xy", "yz", "zx")


def layout(**changes: Any) -> MeshLayout:
    data = {"length_factor": 1.0, "stress_factor": 1.0, "components": list(SIX), "cases": {"pull": "S"}}
    return MeshLayout.model_validate(data | changes)


def raw(**changes: Any) -> RawMesh:
    data: dict[str, Any] = {"points": POINTS, "cells": (("tet4", CELLS),), "node_id": np.arange(5), "numbered": ""}
    data |= {"point_data": {"S": np.arange(30.0).reshape(5, 6)}}
    return RawMesh(**data | changes)


# order of the numbers


@pytest.mark.parametrize(
    ("names", "axes"),
    [
        ("SXX SYY SZZ SXY SYZ SXZ", SIX),
        ("S11 S22 S33 S12 S23 S31", SIX),
        ("s_xx s_yy s_zz s_yx s_zy s_zx", SIX),
        ("Sxx [MPa]|Syy [MPa]|Szz [MPa]|Sxy [MPa]|Syz [MPa]|Sxz [MPa]", SIX),
        ("XX XY XZ YY YZ ZZ", ("xx", "xy", "zx", "yy", "yz", "zz")),
        ("C1 C2 C3 C4 C5 C6", None),
        ("0 1 2 3 4 5", None),
        ("XX YY ZZ XY YZ S", None),
    ],
)
def test_names_of_numbers_are_read_by_the_axes_at_their_end(names: str, axes: tuple[str, ...] | None) -> None:
    found = tuple(map(axes_of, names.split("|" if "|" in names else " ")))
    assert (None if None in found else found) == axes


def test_nine_numbers_are_rows_of_a_tensor_by_name_too() -> None:
    rows = ["xx", "xy", "xz", "yx", "yy", "yz", "zx", "zy", "zz"]
    assert guard_components(rows, None, 9) == ""
    with pytest.raises(InputError, match="another order than xx, xy, zx"):
        guard_components([*rows[::-1]][1:] + rows[:1], None, 9)


def test_names_that_contradict_the_order_are_refused_and_names_without_axes_are_said() -> None:
    assert guard_stated(raw(components={"S": ("S11", "S22", "S33", "S12", "S23", "S13")}), layout()) == ()
    with pytest.raises(InputError, match="the file calls its numbers S11, S22") as refused:
        guard_stated(raw(components={"S": ("S11", "S22", "S33", "S12", "S13", "S23")}), layout())
    assert refused.value.path == ("mesh", "cases", "pull")
    (found,) = guard_stated(raw(components={"S": ("C1", "C2", "C3", "C4", "C5", "C6")}), layout())
    assert (found.code, found.severity) == ("component-order-assumed", "caution")
    assert "which name no axes; taken as xx, yy, zz, xy, yz, zx" in found.message
    nine = raw(components={"S": ("a",) * 9}, point_data={"S": np.zeros((5, 9))})
    assert "taken as rows of the tensor" in guard_stated(nine, layout())[0].message


def test_the_order_of_a_step_is_compared_as_that_of_an_array() -> None:
    held = raw(
        point_data={},
        components={(1, "S"): ("XX", "XY", "XZ", "YY", "YZ", "ZZ")},
        steps=((0.0, {"S": np.zeros((5, 6))}), (1.0, {"S": np.zeros((5, 6))})),
    )
    with pytest.raises(InputError, match="another order"):
        guard_stated(held, layout(cases={"pull": {"array": "S", "step": 1}}))
    with pytest.raises(InputError, match="'S' has 2 time steps: name one"):
        stresses_of(held, layout())


def vtu(arrays: str) -> bytes:
    points = "0 0 0 1 0 0 0 1 0 0 0 1"
    return (
        '<VTKFile type="UnstructuredGrid"><UnstructuredGrid><Piece NumberOfPoints="4" NumberOfCells="1"><Points>'
        f'<DataArray type="Float64" NumberOfComponents="3">{points}</DataArray></Points><Cells>'
        '<DataArray Name="connectivity" type="Int64">0 1 2 3</DataArray>'
        '<DataArray Name="offsets" type="Int64">4</DataArray><DataArray Name="types" type="UInt8">10</DataArray>'
        f"</Cells>{arrays}</Piece></UnstructuredGrid></VTKFile>"
    ).encode()


def array(names: str = "", name: str = "S") -> str:
    words = "".join(f' ComponentName{at}="{word}"' for at, word in enumerate(names.split()))
    numbers = "1 2 3 4 5 6 " * 4
    return f'<DataArray Name="{name}" type="Float64" NumberOfComponents="6"{words}>{numbers}</DataArray>'


QUERY = {"length_factor": 1.0, "stress_factor": 1.0, "cases": "pull:S", "components": ",".join(SIX)}


@pytest.mark.parametrize(
    ("arrays", "status", "message"),
    [
        (array("XX YY ZZ XY YZ XZ"), 200, ""),
        (array("XX YY ZZ XY XZ YZ"), 422, "another order than xx, yy, zz"),
        (array("a b c d e f"), 422, "which name no axes"),
        (array() + array(), 422, "'S' is there more than once"),
    ],
)
def test_names_of_a_body_are_held_to_as_those_of_a_file(
    client: httpx.Client, tmp_path: Path, arrays: str, status: int, message: str
) -> None:
    body = vtu(f"<PointData>{arrays}</PointData>")
    answer = client.post(
        "/v1/stress/weld-lines", params=QUERY, content=body, headers={"content-type": "application/xml"}
    )
    assert answer.status_code == status
    assert message in answer.text


def test_a_comma_of_a_name_is_written_with_a_backslash(client: httpx.Client) -> None:
    body, query = vtu(f"<PointData>{array(name='S, MPa')}</PointData>"), QUERY | {"cases": r"pull:S\, MPa"}
    answer = client.post("/v1/stress/weld-lines", params=query, content=body, headers={"content-type": "text/xml"})
    assert answer.status_code == 200


def test_arrays_that_lie_at_cells_are_said_with_their_place(tmp_path: Path) -> None:
    found = read_bytes(tmp_path, vtu(f"<CellData>{array()}</CellData>"), "a.vtu")
    with pytest.raises(InputError, match="array 'S' lies at cells, and stresses are taken at nodes"):
        stresses_of(found, layout())
    text = listing_text(found, search(found, 1.0, [], Search()), 1.0)
    assert "arrays that are not read: S (at cells)" in text


# units


@pytest.mark.parametrize(
    ("unit", "factor", "refused"),
    [
        ("MPa", 1.0, ""),
        ("PA", 1e-6, ""),
        ("N/mm^2", 1.0, ""),
        ("Pa", 1.0, "gives array 'S' in Pa, which asks for 1e-6, not 1"),
        ("MPa", 1e-6, "gives array 'S' in MPa, which asks for 1, not 1e-6"),
        ("N", 1.0, "in N, which is no unit of stress"),
    ],
)
def test_the_unit_of_a_field_must_fit_the_factor(unit: str, factor: float, refused: str) -> None:
    held = raw(units={"S": (unit, "")})
    if not refused:
        assert guard_stated(held, layout(stress_factor=factor)) == ()
        return
    with pytest.raises(InputError, match=refused) as error:
        guard_stated(held, layout(stress_factor=factor))
    assert error.value.path[0] == "mesh"


def test_unknown_units_are_said() -> None:
    found = guard_stated(raw(units={"S": ("UNITE",)}, length_unit=("ODD", "ODD", "ODD")), layout())
    assert [finding.code for finding in found] == ["unit-not-read", "unit-not-read"]
    assert "coordinates in 'ODD'" in found[0].message
    assert "array 'S' in 'UNITE'" in found[1].message


@pytest.mark.parametrize(("unit", "factor"), [("m", 1.0), ("mm", 1000.0), ("MPa", 1.0)])
def test_the_unit_of_the_coordinates_must_fit_wherever_the_mesh_is_used(unit: str, factor: float) -> None:
    with pytest.raises(InputError, match="the file gives its coordinates in"):
        solid_of(raw(length_unit=(unit,) * 3), factor)


def attributes(file: Path, *, of_mesh: dict[str, Any] | None = None, of_field: dict[str, Any] | None = None) -> str:
    with h5py.File(file, "r+") as content:
        for held, given in ((next(iter(content["ENS_MAA"].values())), of_mesh), (content["CHA"]["S"], of_field)):
            for name, value in (given or {}).items():
                held.attrs.create(name, value)
    return str(file)


def words(*parts: str) -> np.bytes_:
    return np.bytes_("".join(f"{part:<16}" for part in parts))


def test_units_and_names_of_another_format_are_read_by_their_places(tmp_path: Path) -> None:
    file = element_nodal(tmp_path, CORNERS)
    named = {"NOM": words("S XX", *SIX[1:]), "UNI": words(*["MPa"] * 6)}
    found = read_mesh_file(attributes(file, of_mesh={"UNI": words("mm", "mm", "mm")}, of_field=named))
    assert found.components["S"] == ("S XX", *SIX[1:])
    assert (found.units["S"], found.length_unit) == (("MPa",) * 6, ("mm",) * 3)
    text = listing_text(found, search(found, 1.0, [], Search()), 1.0)
    assert "units that the file gives: coordinates: mm, S: MPa" in text


@pytest.mark.parametrize(("system", "word"), [(1, "cylindrical"), (2, "spherical"), (7, "of an unknown system")])
def test_other_coordinates_than_x_y_z_are_refused(tmp_path: Path, system: int, word: str) -> None:
    with pytest.raises(InputError, match=f"coordinates are {word}: write x, y, z"):
        read_mesh_file(attributes(element_nodal(tmp_path, CORNERS), of_mesh={"REP": system}))


# fields in part, in steps, without parts that a reader could do without


def test_fields_on_a_part_of_the_nodes_are_read_and_lacking_ones_count_where_they_matter(tmp_path: Path) -> None:
    file = med(tmp_path, point_data={"S": np.arange(30.0).reshape(5, 6)})
    with h5py.File(file, "r+") as content:
        del content["FAS"]
        support = next(iter(content["CHA"]["S"].values()))["NOE"]
        support.attrs["PFL"] = np.bytes_("some")
        support.move("MED_NO_PROFILE_INTERNAL", "some")
        del support["some"]["CO"]
        support["some"]["CO"] = np.arange(12.0)
        content.create_group("PROFILS").create_group("some")["PFL"] = np.array([4, 2])
    found = read_mesh_file(str(file))
    assert found.point_data["S"][3].tolist() == [0.0, 2.0, 4.0, 6.0, 8.0, 10.0]
    assert np.isnan(found.point_data["S"][[0, 2, 4]]).all()
    assert set(stresses_of(found, layout(), np.array([1, 3]))) == {"pull"}
    with pytest.raises(InputError, match="the node at place 2 of the file, from 0, has a stress that is no number"):
        stresses_of(found, layout(), np.array([1, 2]))


def test_a_view_on_a_part_of_the_nodes_is_read(tmp_path: Path) -> None:
    found = read_bytes(tmp_path, old_text() + text_data([40, 7]))
    assert found.point_data["S"][[0, 3]].tolist() == [7.0, 40.0]
    assert np.isnan(found.point_data["S"][[1, 2, 4]]).all()


def test_steps_of_a_field_are_named_by_number_or_time(tmp_path: Path) -> None:
    file = element_nodal(tmp_path, CORNERS)
    with h5py.File(file, "r+") as content:
        field = content["CHA"]["S"]
        (first,) = field
        field.copy(first, "1" + first)
        field["1" + first].attrs.modify("NDT", 2)
        field["1" + first].attrs["PDT"] = 2.5
        held = field["1" + first]["NOE.TE4"]["MED_NO_PROFILE_INTERNAL"]["CO"]
        held[...] = 2.0 * held[()]
        field.attrs.create("UNI", words("odd"))
    found = read_mesh_file(str(file))
    for step in ({"step": 1}, {"time": 2.5}):
        given = layout(cases={"pull": {"array": "S", **step}})
        assert stresses_of(found, given)["pull"][0, 0] == 200.0
        assert jumps_of(found, given)[3] == pytest.approx(2.0)
        assert [finding.code for finding in guard_stated(found, given)] == ["unit-not-read"]
    assert stresses_of(found, layout(cases={"pull": "S[0] - 0"}))["pull"][0, 0] == 100.0


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (lambda c: c["ENS_MAA"].copy(next(iter(c["ENS_MAA"])), "b"), "it has 2 meshes"),
        (lambda c: c["ENS_MAA"]["mesh"].copy(next(iter(c["ENS_MAA"]["mesh"])), "b"), "2 steps in time"),
        (lambda c: c["ENS_MAA"]["mesh"].attrs.modify("ESP", 1), "5 nodes in 1 dimensions, and holds 15"),
        (lambda c: part(c)["NOE"]["COO"].attrs.modify("NBR", 6), "6 nodes in 3 dimensions, and holds 15"),
        (lambda c: part(c)["MAI"]["TE4"]["NOD"].attrs.modify("NBR", 3), "announces 3 cells TE4, and holds 8"),
        (lambda c: part(c)["MAI"]["TE4"]["NOD"].write_direct(np.arange(8)), "nodes that there are not"),
        (lambda c: part(c)["MAI"].move("TE4", "POE"), "cells POE are none of"),
        (lambda c: part(c)["NOE"].move("COO", "ODD"), "a part of it is missing"),
    ],
)
def test_what_a_mesh_announces_must_be_what_it_holds(tmp_path: Path, change: Any, message: str) -> None:
    file = element_nodal(tmp_path, CORNERS)
    with h5py.File(file, "r+") as content:
        change(content)
    with pytest.raises(InputError, match=message):
        read_mesh_file(str(file))


def part(content: Any) -> Any:
    return next(iter(content["ENS_MAA"]["mesh"].values()))


def test_a_nodal_field_must_have_a_value_a_node(tmp_path: Path) -> None:
    file = med(tmp_path, point_data={"S": np.zeros((5, 6))})
    with h5py.File(file, "r+") as content:
        held = next(iter(content["CHA"]["S"].values()))["NOE"]["MED_NO_PROFILE_INTERNAL"]
        del held["CO"]
        held["CO"] = np.zeros(29)
    with pytest.raises(InputError, match="other values than one a node"):
        read_mesh_file(str(file))


def test_an_array_at_points_of_integration_is_said(tmp_path: Path) -> None:
    file = element_nodal(tmp_path, CORNERS)
    with h5py.File(file, "r+") as content:
        field_of(content).parent.move("NOE.TE4", "MAI.TE4")
    with pytest.raises(InputError, match="lies at elements or their points of integration"):
        stresses_of(read_mesh_file(str(file)), layout())


# numbered files


def nodes_twice(content: bytes) -> bytes:
    return content.replace(b"40", b"12")


@pytest.mark.parametrize("content", [old_text(), new_text()])
def test_a_node_number_that_stands_for_two_nodes_is_refused(tmp_path: Path, content: bytes) -> None:
    with pytest.raises(InputError, match="a node number stands for two nodes"):
        read_bytes(tmp_path, nodes_twice(content))


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        (b"1 4 2 0 1 7 ", b"1 4 2 0 1 8 ", "names a node that there is not"),
        (b"1 4 2 0 1 7 ", b"1 4 2 0 1 ", "has not 4 nodes"),
        (b"1 4 2 0 1 7 ", b"1 12 2 0 1 7 ", "elements of type 12 are none of"),
        (b"$Elements\n2", b"$Elements\n3", "end before all that are announced"),
        (b"$Nodes\n5", b"$Nodes\n6", "no three coordinates|is no row of numbers"),
        (b"$Nodes\n5", b"$Nodes\n999999999", "more than it can hold"),
        (b"$Nodes\n5", b"$Nodes\n-5", "more than it can hold"),
        (b"$Nodes\n", b"$Odd\n", "no section of nodes"),
        (b"2.2 0 8", b"2.2 0", "does not begin"),
        (b"2.2 0 8", b"2.2 1 8", "another order"),
        (b"$EndElements\n", b"", "cut off|^"),
    ],
)
def test_a_numbered_file_that_contradicts_itself_is_refused(
    tmp_path: Path, old: bytes, new: bytes, message: str
) -> None:
    content = old_text().replace(old, new)
    if old == b"$EndElements\n":
        content = content[:-30]
    with pytest.raises(InputError, match=message):
        read_bytes(tmp_path, content)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        (b"$Nodes\n2 5", b"$Nodes\n2 6", "announces 6 nodes, and holds 5"),
        (b"$Elements\n1 2", b"$Elements\n1 3", "announces 3 elements, and holds 2"),
        (b"$Nodes\n2 5", b"$Nodes\n3 5", "ends before all that it announces"),
        (b"3 1 4 2\n", b"3 1 4 999999999\n", "more than it can hold"),
    ],
)
def test_blocks_must_hold_what_is_announced(tmp_path: Path, old: bytes, new: bytes, message: str) -> None:
    with pytest.raises(InputError, match=message):
        read_bytes(tmp_path, new_text().replace(old, new))


def test_quotes_belong_to_the_name_of_an_array(tmp_path: Path) -> None:
    found = read_bytes(tmp_path, old_text() + text_data(NUMBERS, 'S "mean" MPa'))
    assert list(found.point_data) == ['S "mean" MPa']


def test_arrays_of_elements_are_said_and_parts_of_surfaces_are_left_out(tmp_path: Path) -> None:
    data = old_text().replace(b"$Elements\n2\n", b"$Elements\n3\n9 2 2 0 1 7 12 3\n")
    view = head(2, "E") + lines([1, 0.5], [2, 0.5])
    data += view.replace(b"$NodeData", b"$ElementNodeData") + b"$EndElementNodeData\n"
    data += view.replace(b"$NodeData", b"$ElementData").replace(b'"E"', b"F") + b"$EndElementData\n"
    found = read_bytes(tmp_path, data)
    assert dict(found.elsewhere) == {"E": "elements, at their nodes", "F": "elements"}
    assert dict(found.other) == {"triangle": 1}


def test_a_row_of_an_array_must_have_its_numbers(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="array 'S' has not 1 numbers at each of 5 nodes"):
        read_bytes(tmp_path, old_text() + text_data(NUMBERS).replace(b"7 7.0", b"7"))
    with pytest.raises(InputError, match="or at one twice"):
        read_bytes(tmp_path, old_text() + text_data([7, 7]))
    whole = old_text()
    empty = whole[: whole.index(b"$Nodes")] + b"$Nodes\n0\n" + whole[whole.index(b"$EndNodes") :]
    with pytest.raises(InputError, match="names a node that there is not"):
        read_bytes(tmp_path, empty)


# edges of the kinds by the documentation of the format, whose nodes between follow the corners
EDGES = {
    13: (18, "wedge15", 6, [(0, 1), (0, 2), (0, 3), (1, 2), (1, 4), (2, 5), (3, 4), (3, 5), (4, 5)]),
    14: (19, "pyramid13", 5, [(0, 1), (0, 3), (0, 4), (1, 2), (1, 4), (2, 3), (2, 4), (3, 4)]),
}
OURS = {
    "wedge15": [(0, 1), (1, 2), (2, 0), (3, 4), (4, 5), (5, 3), (0, 3), (1, 4), (2, 5)],
    "pyramid13": [(0, 1), (1, 2), (2, 3), (3, 0), (0, 4), (1, 4), (2, 4), (3, 4)],
}


@pytest.mark.parametrize("number", EDGES)
def test_nodes_between_corners_lie_between_those_of_our_order(tmp_path: Path, number: int) -> None:
    kind, name, corners, edges = EDGES[number]
    points = np.random.default_rng(number).random((corners, 3))
    points = np.vstack([points, [points[[a, b]].mean(axis=0) for a, b in edges]])
    nodes = lines(*([n + 1, *point] for n, point in enumerate(points.tolist())))
    row = lines([1, kind, 0, *range(1, len(points) + 1)])
    content = f"$MeshFormat\n2.2 0 8\n$EndMeshFormat\n$Nodes\n{len(points)}\n".encode() + nodes
    found = read_bytes(tmp_path, content + b"$EndNodes\n$Elements\n1\n" + row + b"$EndElements\n")
    ((element, places),) = found.cells
    assert element == name
    for between, (a, b) in enumerate(OURS[name], start=corners):
        at = places[0]
        np.testing.assert_allclose(points[at[between]], points[[at[a], at[b]]].mean(axis=0), atol=1e-12)


# twice the same


def refusal(data: dict[str, Any]) -> list[tuple[str, str]]:
    with pytest.raises(Problem) as refused:
        mesh_map_of(data)
    return list(refused.value.errors)


RULE = {"match": "*", "notch_size_mm": 5.0, "average_over": 1}
COLUMNS = dict(zip(SIX, ("a", "b", "c", "d", "e", "f"), strict=True))


def test_one_array_or_column_for_two_components_is_refused() -> None:
    mesh = {"length_factor": 1.0, "stress_factor": 1.0}
    twice = COLUMNS | {"yy": "a"}
    assert refusal({"mesh": mesh | {"cases": {"pull": twice}}, "lines": [RULE]}) == [
        ("/mesh/cases/pull", "one array or column stands for two components")
    ]
    wide = {"form": "wide", "node_id": "n", "cases": {"pull": COLUMNS, "side": twice}}
    assert [where for where, _ in refusal({"mesh": mesh, "table": wide, "lines": [RULE]})] == ["/table/cases/side"]
    axes = {"x": "x", "y": "x", "z": "z"}
    long = {"form": "long", "node_id": "n", "case": "c", "stress_mpa": twice, "coordinates_mm": axes}
    assert [where for where, _ in refusal({"mesh": mesh, "table": long, "lines": [RULE]})] == [
        "/table/coordinates_mm",
        "/table/stress_mpa",
    ]


def test_load_cases_of_the_same_stresses_are_said() -> None:
    one, other = np.arange(30.0).reshape(5, 6), np.arange(30.0).reshape(5, 6)
    other[4] = 0.0
    cases = {"pull": one, "side": other, "up": 2.0 * one, "none": 0.0 * one, "zero": 0.0 * one}
    (found,) = alike(cases, np.array([1, 2]))
    assert (found.code, found.severity) == ("load-cases-alike", "caution")
    assert found.message == "load cases pull, side have the same stresses at every node of the lines"
    assert alike(cases, np.array([1, 4])) == ()


# sections that are there twice, and records of elements


def test_elements_that_are_there_twice_must_be_the_same(tmp_path: Path) -> None:
    content = old_text()
    section = content[content.index(b"$Elements") :]
    assert len(read_bytes(tmp_path, content + section).cells[0][1]) == 2
    with pytest.raises(InputError, match="2 sections of elements that differ"):
        read_bytes(tmp_path, content + section.replace(b" 7 12 ", b" 12 7 "))


@pytest.mark.parametrize(("count", "several"), [(1, 2), (3, 2), (2, 0)])
def test_records_of_elements_must_be_as_many_as_announced(tmp_path: Path, count: int, several: int) -> None:
    nodes = np.array([(n + 1, p) for n, p in enumerate(POINTS)], dtype=[("id", "i4"), ("at", "f8", 3)]).tobytes()
    rows = np.array([[n + 1, *row] for n, row in enumerate(CELLS + 1)], dtype="i4")[:several]
    content = b"$MeshFormat\n2.2 1 8\n\x01\0\0\0\n$EndMeshFormat\n$Nodes\n5\n" + nodes + b"\n$EndNodes\n$Elements\n"
    content += f"{count}\n".encode() + np.array([4, several, 0], dtype="i4").tobytes() + rows.tobytes()
    with pytest.raises(InputError, match=r"announces . elements, and holds 2|cut off|more than it can hold|type"):
        read_bytes(tmp_path, content + b"\n$EndElements\n")
