"""What MED and VTU files state beside their numbers is what is read; names of fields and steps stand for one array."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import h5py
import httpx
import numpy as np
import pytest

from fatcore.errors import InputError
from service.mesh.files import read_mesh_file
from service.mesh.mapping import _unloaded
from service.mesh.stated import guard_stated
from service.mesh.stresses import stresses_of
from tests.api.test_mesh_files_by_hand import VTK
from tests.api.test_mesh_files_by_hand import read as read_text
from tests.api.test_mesh_numbers import CELLS, CORNERS, element_nodal, med
from tests.api.test_mesh_stated import array, attributes, layout, part, vtu, words

WHOLE = "MED_NO_PROFILE_INTERNAL"


def field_of(content: Any) -> Any:
    """Values of the first support of S and what is stated of them."""
    return next(iter(next(iter(content["CHA"]["S"].values())).values()))[WHOLE]


def changed(file: Path, change: Callable[[Any], Any]) -> str:
    with h5py.File(file, "r+") as content:
        change(content)
    return str(file)


def nodal(folder: Path) -> Path:
    return med(folder, point_data={"S": np.arange(30.0).reshape(5, 6)})


def in_steps(folder: Path, *more: str) -> str:
    """S at 1 and 2, and other fields of one step."""

    def change(content: Any) -> None:
        field = content["CHA"]["S"]
        (key,) = field
        for name in more:
            content["CHA"].copy("S", name)
        for time in (1.0, 2.0):
            field.copy(key, f"{int(time):020d}{0:020d}")
            field[f"{int(time):020d}{0:020d}"].attrs["PDT"] = time
        del field[key]

    return changed(nodal(folder), change)


# names of fields


def test_a_field_called_like_a_step_of_another_is_refused(tmp_path: Path) -> None:
    assert sorted(read_mesh_file(in_steps(tmp_path, "T")).point_data) == ["S[0] - 1", "S[1] - 2", "T"]
    with pytest.raises(InputError, match=r"'S\[1\] - 2' is there more than once"):
        read_mesh_file(in_steps(tmp_path, "S[1] - 2"))


def test_steps_that_a_load_case_names_are_not_listed_as_unused(tmp_path: Path) -> None:
    found = read_mesh_file(in_steps(tmp_path))
    for given in ({"array": "S", "step": 1}, {"array": "S", "time": 2.0}, "S[1] - 2"):
        assert _unloaded(found, layout(cases={"pull": given})) == ("S[0] - 1",)


# counts


@pytest.mark.parametrize(("name", "value"), [("NBR", 4), ("NBR", 6), ("NGA", 2)])
@pytest.mark.parametrize("make", [nodal, lambda folder: element_nodal(folder, CORNERS)])
def test_values_are_as_many_as_they_announce(tmp_path: Path, make: Any, name: str, value: int) -> None:
    file = make(tmp_path)
    assert len(read_mesh_file(str(file)).point_data["S"]) == 5
    changed(file, lambda content: field_of(content).attrs.modify(name, value))
    with pytest.raises(InputError, match="field 'S'"):
        read_mesh_file(str(file))
    changed(file, lambda content: field_of(content).attrs.pop(name))
    assert len(read_mesh_file(str(file)).point_data["S"]) == 5


@pytest.mark.parametrize("rows", [np.zeros(47), np.zeros(0)])
def test_values_of_elements_are_whole_in_number_and_some(tmp_path: Path, rows: np.ndarray) -> None:
    def change(content: Any) -> None:
        held = field_of(content)
        del held["CO"]
        held["CO"] = rows
        if not rows.size:
            next(iter(content["CHA"]["S"].values()))["NOE.TE4"].attrs["PFL"] = np.bytes_("none")
            held.parent.move(WHOLE, "none")
            content.create_group("PROFILS").create_group("none")["PFL"] = np.zeros(0, dtype=int)

    with pytest.raises(InputError, match="'S' has other values than one a node of its elements"):
        read_mesh_file(changed(element_nodal(tmp_path, CORNERS), change))


@pytest.mark.parametrize("cells", [CELLS.T.ravel() + 1.5, CELLS.T.ravel() + 1.0])
def test_nodes_of_elements_are_whole_numbers(tmp_path: Path, cells: np.ndarray) -> None:
    def change(content: Any) -> None:
        held = part(content)["MAI"]["TE4"]
        given = dict(held["NOD"].attrs)
        del held["NOD"]
        held["NOD"] = cells
        for name, value in given.items():
            held["NOD"].attrs[name] = value

    file = changed(element_nodal(tmp_path, CORNERS), change)
    if (cells % 1).any():
        with pytest.raises(InputError, match="nodes by numbers that are not whole"):
            read_mesh_file(file)
    else:
        assert read_mesh_file(file).cells[0][1].tolist() == CELLS.tolist()


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('connectivity" type="Int64">0 1 2 3', 'connectivity" type="Float64">0 1 2 3.9', "not whole"),
        ('connectivity" type="Int64">0 1 2 3', 'connectivity" type="Float64">0 1 2 nan', "numbers that are none"),
        ('types" type="UInt8">10', 'types" type="Float32">10.5', "not whole"),
        ('offsets" type="Int64">4', 'offsets" type="Float32">4.5', "not whole"),
        ('Name="S"', 'Name="S" NumberOfTuples="3"', "array 'S' announces 3 rows, and holds 4"),
        ('Name="S"', 'Name="S" NumberOfTuples="four"', "announces four rows"),
        ('Name="offsets"', 'Name="offsets" NumberOfTuples="2"', "'offsets' announces 2 rows, and holds 1"),
        ("</DataArray></PointData>", "<Value/> 7 8</DataArray></PointData>", "numbers behind a part of it"),
        ('NumberOfComponents="6">', 'NumberOfComponents="6"><Value/>', "numbers behind a part of it"),
    ],
)
def test_what_an_array_of_a_vtu_file_announces_is_what_it_holds(
    tmp_path: Path, old: str, new: str, message: str
) -> None:
    body = vtu(f"<PointData>{array()}</PointData>").decode()
    for fine in (body, body.replace('Name="S"', 'Name="S" NumberOfTuples="4"')):
        assert len(read_text(tmp_path, fine, "a.vtu").point_data["S"]) == 4
    with pytest.raises(InputError, match=message):
        read_text(tmp_path, body.replace(old, new), "a.vtu")


def test_nodes_of_a_legacy_file_are_whole_numbers(tmp_path: Path) -> None:
    text = VTK.replace("Version 3.0", "Version 5.1")
    start = text.index("CELLS")
    cells = "CELLS 2 4\nOFFSETS double\n0 4\nCONNECTIVITY double\n0 1 2 3{}\n"
    text = text[:start] + cells + text[text.index("CELL_TYPES") :]
    assert read_text(tmp_path, text.format(""), "a.vtk").cells[0][1].tolist() == [[0, 1, 2, 3]]
    with pytest.raises(InputError, match="not whole"):
        read_text(tmp_path, text.format(".5"), "a.vtk")


# axes


@pytest.mark.parametrize("names", [("AXE X", "AXE Y", "AXE Z"), ("axis x", "axis y", "axis z"), ("coordx", "", "")])
def test_axes_may_be_named_by_a_word_more(tmp_path: Path, names: tuple[str, ...]) -> None:
    file = attributes(element_nodal(tmp_path, CORNERS), of_mesh={"NOM": words(*names)})
    assert len(read_mesh_file(file).points) == 5


@pytest.mark.parametrize("names", [("AXE Y", "AXE X", "AXE Z"), ("AXE X Y", "AXE Y", "AXE Z"), ("AXEXY", "", "")])
def test_axes_with_a_word_more_in_another_order_are_refused(tmp_path: Path, names: tuple[str, ...]) -> None:
    with pytest.raises(InputError, match="write x, y, z"):
        read_mesh_file(attributes(element_nodal(tmp_path, CORNERS), of_mesh={"NOM": words(*names)}))


# units that VTK files carry


def labelled(unit: str) -> str:
    key = f'<InformationKey name="UNITS_LABEL" location="vtkDataArray">{unit}</InformationKey>'
    return array().replace("</DataArray>", f"{key}</DataArray>")


@pytest.mark.parametrize(("unit", "code"), [("MPa", None), ("ksi", "refused"), ("odd", "unit-not-read")])
def test_the_label_of_a_unit_is_held_against_the_factor(tmp_path: Path, unit: str, code: str | None) -> None:
    found = read_text(tmp_path, vtu(f"<PointData>{labelled(unit)}</PointData>"), "a.vtu")
    assert dict(found.units) == {"S": (unit,)}
    assert stresses_of(found, layout())["pull"][0].tolist() == [1, 2, 3, 4, 5, 6]
    if code == "refused":
        with pytest.raises(InputError, match="asks for"):
            guard_stated(found, layout())
    else:
        assert [each.code for each in guard_stated(found, layout())] == [code] * (code is not None)


def test_the_label_of_the_unit_of_points_is_held_in_every_route(tmp_path: Path, client: httpx.Client) -> None:
    key = '<InformationKey name="UNITS_LABEL" location="vtkDataArray"> {} </InformationKey>'
    body = vtu("").decode().replace("</DataArray></Points>", f"{key}</DataArray></Points>")
    for unit, message in (("mm", ""), ("m", "asks for 1000, not 1"), ("odd", "'odd', an unknown unit")):
        found = read_text(tmp_path, body.format(unit), "a.vtu")
        assert found.length_unit == (unit,)
        answer = client.post(
            "/v1/stress/weld-lines",
            params={"length_factor": 1.0},
            content=body.format(unit).encode(),
            headers={"content-type": "text/xml"},
        )
        assert answer.status_code == (422 if message else 200)
        assert message in answer.text


def test_labels_of_units_of_a_legacy_file_are_read(tmp_path: Path) -> None:
    label = "METADATA\nINFORMATION 1\nNAME UNITS_LABEL LOCATION vtkDataArray\nDATA {}\n\n"
    start = VTK.index("CELLS")
    cell = "CELL_DATA 1\nSCALARS c float\nLOOKUP_TABLE default\n1\n" + label.format("odd")
    data = "POINT_DATA 4\nTENSORS6 S float\n" + "1 2 3 4 5 6 " * 4 + "\n" + label.format("N/mm%5E2")
    found = read_text(tmp_path, VTK[:start] + label.format("m") + VTK[start:] + cell + data, "a.vtk")
    assert (found.length_unit, dict(found.units)) == (("m",), {"S": ("N/mm^2",)})
