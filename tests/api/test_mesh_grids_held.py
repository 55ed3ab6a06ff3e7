"""What an XDMF file states of its parts, shapes, files and includes, is what is read, or it is refused or said."""

from __future__ import annotations

from pathlib import Path

import h5py
import numpy as np
import pytest

from fatcore.errors import InputError
from service.mesh.raw import RawMesh
from service.mesh.stated import guard_stated
from tests.api.test_mesh_files_by_hand import ARRAY, MESH, PLACES, TOPOLOGY, elements, grid, item, series, step, xdmf
from tests.api.test_mesh_files_by_hand import read as read_text
from tests.api.test_mesh_stated import layout

VALUES = np.arange(1.0, 25.0).reshape(4, 6)


def read(folder: Path, inner: str) -> RawMesh:
    return read_text(folder, xdmf(inner), "a.xdmf")


def refusal(folder: Path, inner: str) -> str:
    with pytest.raises(InputError) as refused:
        read(folder, inner)
    assert refused.value.path == ("mesh",)
    return str(refused.value)


def attribute(text: str, form: str, dimensions: str = "4 6", name: str = "S", **more: str) -> str:
    data = item(text, dimensions, Format=form, Precision="8", **more)
    return f"<Attribute Name='{name}' AttributeType='Tensor6' Center='Node'>{data}</Attribute>"


# files beside it


def test_a_binary_file_is_as_long_as_announced_where_nothing_says_where_its_numbers_begin(tmp_path: Path) -> None:
    VALUES.tofile(tmp_path / "s.bin")
    assert read(tmp_path, grid(MESH + attribute("s.bin", "Binary"))).point_data["S"].tolist() == VALUES.tolist()
    for content in (VALUES.tobytes() * 2, bytes(40) + VALUES.tobytes(), VALUES.tobytes()[:-8]):
        (tmp_path / "s.bin").write_bytes(content)
        found = refusal(tmp_path, grid(MESH + attribute("s.bin", "Binary")))
        assert f"binary file 's.bin' has {len(content)} bytes where a data item takes 192" in found


def test_a_place_in_a_binary_file_is_used_and_what_no_data_item_takes_is_said(tmp_path: Path) -> None:
    (tmp_path / "s.bin").write_bytes(bytes(40) + VALUES.tobytes() + (2.0 * VALUES).tobytes())
    first, second = (attribute("s.bin", "Binary", Seek=at, name=name) for at, name in (("40", "S"), ("232", "T")))
    cell = first.replace("Node", "Cell").replace("4 6", "5").replace("40", "0").replace("'S'", "'C'")
    raw = read(tmp_path, grid(MESH + first + second + second.replace("'T'", "'U'")))
    assert read(tmp_path, grid(MESH + first + second + cell)).doubts == ()
    assert raw.point_data["S"].tolist() == VALUES.tolist()
    assert raw.point_data["T"].tolist() == (2.0 * VALUES).tolist()
    (said,) = raw.doubts
    assert (said.code, said.severity) == ("bytes-not-read", "caution")
    assert said.message.startswith("data items take 384 of the 424 bytes of the binary file 's.bin'")
    assert said in guard_stated(raw, layout(cases={}))
    (tmp_path / "s.bin").write_bytes(VALUES.tobytes())
    assert read(tmp_path, grid(MESH + attribute("s.bin", "Binary", Seek="0"))).doubts == ()


@pytest.mark.parametrize(
    ("seek", "message"), [("-8", "Seek '-8' is no whole"), ("8", "holds 23"), ("1e1", "Seek '1e1' is no whole")]
)
def test_a_place_outside_of_a_binary_file_is_refused(tmp_path: Path, seek: str, message: str) -> None:
    VALUES.tofile(tmp_path / "s.bin")
    assert message in refusal(tmp_path, grid(MESH + attribute("s.bin", "Binary", Seek=seek)))


@pytest.mark.parametrize(
    ("held", "stated"), [((4, 6), "4 6"), ((24,), "4 6"), ((4, 6, 1), "4 6"), ((1, 4, 6), "4 6"), ((4, 2, 3), "4 6")]
)
def test_rows_of_a_dataset_are_those_that_are_stated(tmp_path: Path, held: tuple[int, ...], stated: str) -> None:
    with h5py.File(tmp_path / "a.h5", "w") as content:
        content["S"] = VALUES.reshape(held)
    raw = read(tmp_path, grid(MESH + attribute("a.h5:/S", "HDF", stated)))
    assert raw.point_data["S"].tolist() == VALUES.tolist()


@pytest.mark.parametrize("stated", ["4 6", "24"])
def test_a_dataset_stored_by_columns_is_refused(tmp_path: Path, stated: str) -> None:
    with h5py.File(tmp_path / "a.h5", "w") as content:
        content["S"] = VALUES.T
    found = refusal(tmp_path, grid(MESH + attribute("a.h5:/S", "HDF", stated)))
    assert f"a data item is stated as {stated}, and its file holds 6 4" in found


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("b.h5:/S", "the HDF5 file 'b.h5' is not there"),
        ("s.bin:/S", "the HDF5 file 's.bin' is none"),
        ("a.h5:/T", "the HDF5 file 'a.h5' has no dataset of numbers '/T'"),
        ("a.h5:/G", "no dataset of numbers '/G'"),
        ("a.h5:/W", "no dataset of numbers '/W'"),
        ("a.h5:/S|0 0:1 1:4 6:4 6", "takes a part of a dataset"),
    ],
)
def test_what_is_missing_of_a_dataset_is_said(tmp_path: Path, text: str, message: str) -> None:
    with h5py.File(tmp_path / "a.h5", "w") as content:
        content["S"] = VALUES
        content["W"] = "words"
        content.create_group("G")
    (tmp_path / "s.bin").write_bytes(b"x" * 192)
    assert message in refusal(tmp_path, grid(MESH + attribute(text, "HDF")))


# shapes and whole numbers


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("4 3", "3 4", "points stand in rows of 4, where they have 3 numbers"),
        ("1 4", "4 1", "elements stand in rows of 1, where they have 4 numbers"),
        ("0 1 2 3<", "0 1 2 3.5<", "its elements name nodes by numbers that are not whole"),
        ("TopologyType", 'Order="0 2 1 3" TopologyType', "has an order of its own"),
    ],
)
def test_numbers_stand_in_the_rows_of_their_points_and_elements(
    tmp_path: Path, old: str, new: str, message: str
) -> None:
    mesh = MESH.replace(' NumberType="Int"', "")
    assert elements(read(tmp_path, grid(mesh))) == [[0, 1, 2, 3]]
    assert elements(read(tmp_path, grid(mesh.replace("TopologyType", 'Order="0 1 2 3" TopologyType')))) == [
        [0, 1, 2, 3]
    ]
    assert message in refusal(tmp_path, grid(mesh.replace(old, new)))


def test_elements_in_one_row_are_whole_in_number(tmp_path: Path) -> None:
    mesh = MESH.replace("0 1 2 3", "0 1 2 3 0 1").replace("1 4", "6")
    assert "elements are no whole number of rows of 4" in refusal(tmp_path, grid(mesh))


# meshes of steps


MOVED = MESH.replace("0 0 1", "0 0 2")


@pytest.mark.parametrize(
    "other",
    [
        MOVED,
        MOVED[MOVED.index("<Geometry") :],
        TOPOLOGY.replace("0 1 2 3", "1 0 2 3") + "</Topology>",
        MESH.replace("Tetrahedron", "Quadrilateral"),
    ],
)
def test_what_a_step_has_of_a_mesh_is_that_of_the_first(tmp_path: Path, other: str) -> None:
    for inner in (series(step(0.5, mesh=MESH), step(1.5, mesh=other)), grid(MESH) + series(step(0.5, mesh=other))):
        assert "changes from step to step" in refusal(tmp_path, inner)


def include(xpointer: str, **more: str) -> str:
    words = "".join(f" {name}='{value}'" for name, value in more.items())
    return f"<xi:include xmlns:xi='http://www.w3.org/2001/XInclude'{words} xpointer='{xpointer}'/>"


PARTS = "/*[self::Topology or self::Geometry])"


@pytest.mark.parametrize(
    "path",
    [
        'xpointer(//Grid[@Name="g"]' + PARTS,
        "xpointer(//Grid[1]" + PARTS,
        "xpointer(/Xdmf/Domain/Grid[@GridType='Uniform'][1]".replace("'", '"') + PARTS,
        "xpointer(/Xdmf/Domain/Grid/Topology)",
    ],
)
def test_a_step_may_include_the_mesh_of_its_file(tmp_path: Path, path: str) -> None:
    first = grid(MESH).replace("Name", "GridType='Uniform' Name")
    raw = read(tmp_path, first + series(step(0.5, mesh=include(path)), step(1.5, mesh=include(path))))
    assert (elements(raw), len(raw.steps)) == ([[0, 1, 2, 3]], 2)


def test_a_step_may_include_the_mesh_of_the_first_step(tmp_path: Path) -> None:
    path = 'xpointer(//Grid[@Name="t"]/Grid[1]' + PARTS
    assert len(read(tmp_path, series(step(0.5, mesh=MESH), step(1.5, mesh=include(path)))).steps) == 2


@pytest.mark.parametrize(
    "included",
    [
        include('xpointer(//Grid[@Name="g"]' + PARTS, href="other.xdmf"),
        include('xpointer(//Grid[@Name="h"]' + PARTS),
        include('xpointer(//Grid[@Name="g"]/Attribute)'),
        include('xpointer(//Grid[@Name="g][]' + PARTS),
        include("element(/1/1/1)"),
        "<Attribute Name='T' Center='Node'>" + include('xpointer(//Grid[@Name="g"]' + PARTS) + PLACES + "</Attribute>",
    ],
)
def test_any_other_include_is_refused(tmp_path: Path, included: str) -> None:
    found = refusal(tmp_path, grid(MESH) + series(step(0.5, mesh=included)))
    assert "it includes" in found
    assert "write it out" in found
    assert len(read(tmp_path, grid(MESH) + series(ARRAY + "<Time Value='1'/>")).steps) == 1
