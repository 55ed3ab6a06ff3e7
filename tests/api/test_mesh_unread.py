"""What a mesh file states and its reader does not use is refused or listed: kinds, options, arrays of other lengths."""

from __future__ import annotations

from pathlib import Path

import pytest

from fatcore.errors import InputError
from service.mesh.raw import RawMesh
from service.mesh.stated import guard_stated
from service.mesh.stresses import stresses_of
from tests.api.test_mesh_decks import deck, refusal
from tests.api.test_mesh_files_by_hand import (
    ARRAY,
    BOTH,
    DECK,
    GRID,
    LIST,
    MESH,
    VTK,
    elements,
    grid,
    series,
    step,
    xdmf,
)
from tests.api.test_mesh_files_by_hand import read as read_text
from tests.api.test_mesh_numbers import new_text, old_text, read
from tests.api.test_mesh_stated import array, layout, vtu

# VTU and legacy VTK


def body(attributes: str = "", arrays: str = array()) -> str:
    return vtu(f"<PointData>{arrays}</PointData>").decode().replace("<VTKFile", f"<VTKFile {attributes}", 1)


@pytest.mark.parametrize("attributes", ['byte_order="bigendian"', 'header_type="UInt16"'])
def test_a_layout_of_bytes_that_is_not_known_is_refused(tmp_path: Path, attributes: str) -> None:
    packed = body(attributes, array().replace("<DataArray", '<DataArray format="binary"'))
    assert len(read_text(tmp_path, body('byte_order="BigEndian" header_type="UInt32"'), "a.vtu").points) == 4
    with pytest.raises(InputError, match=f"not known here: {attributes}"):
        read_text(tmp_path, packed, "a.vtu")


def test_names_of_more_numbers_than_there_are_are_said(tmp_path: Path) -> None:
    found = read_text(tmp_path, body(arrays=array("XX YY ZZ XY YZ XZ a")), "a.vtu")
    assert [each.code for each in guard_stated(found, layout())] == ["component-order-assumed"]


def vtk(folder: Path, text: str) -> RawMesh:
    return read_text(folder, VTK + text, "a.vtk")


SHORT = "POINT_DATA 4\nFIELD FieldData 1\nS 6 2 float\n" + "1 2 3 4 5 6 " * 2 + "\n"


def test_an_array_of_another_length_than_the_nodes_is_listed_as_not_read(tmp_path: Path) -> None:
    for found in (
        vtk(tmp_path, SHORT),
        read_text(tmp_path, body(arrays=array().replace("1 2 3 4 5 6 " * 4, "1 2 3 4 5 6 " * 2)), "a.vtu"),
    ):
        assert dict(found.elsewhere) == {"S": "2 places that are not its 4 nodes"}
        with pytest.raises(InputError, match="'S' lies at 2 places that are not its 4 nodes"):
            stresses_of(found, layout())


def test_names_and_units_belong_to_the_array_before_them(tmp_path: Path) -> None:
    """The length of a step of a field, or of an array that is not read, is no unit of another."""
    of_one = "METADATA\nCOMPONENT_NAMES\nXX\nINFORMATION 1\nNAME UNITS_LABEL LOCATION vtkDataArray\nDATA s\n\n"
    first = "FIELD FieldData 1\nTIME 1 1 double\n0\n" + of_one
    start = VTK.index("POINTS")
    found = read_text(tmp_path, VTK[:start] + first + VTK[start:] + first, "a.vtk")
    assert (found.length_unit, dict(found.units), dict(found.components)) == ((), {}, {})
    whole = SHORT.replace("S 6 2", "T 6 4").replace("1 2 3 4 5 6 " * 2, "1 2 3 4 5 6 " * 4)
    found = vtk(tmp_path, whole + SHORT[13:] + of_one)
    assert (list(found.point_data), dict(found.units), dict(found.components)) == (["T"], {}, {})


# MSH


@pytest.mark.parametrize("content", [old_text(), new_text()])
def test_numbers_of_another_size_are_refused(tmp_path: Path, content: bytes) -> None:
    assert len(read(tmp_path, content).points) == 5
    with pytest.raises(InputError, match="numbers of 4 bytes: write them with 8"):
        read(tmp_path, content.replace(b" 0 8\n", b" 0 4\n"))


# XDMF


@pytest.mark.parametrize(
    ("inner", "message"),
    [
        (grid(MESH + ARRAY.replace("<DataItem ", "<DataItem Endian='BigEndian' ")), "bytes in the order 'bigendian'"),
        (grid(MESH + ARRAY.replace("<DataItem ", "<DataItem Precision='1' ")), "numbers of type 'float' in 1 bytes"),
        (grid(MESH) + "<Grid GridType='Subset'/>", "grids of type 'subset' of"),
        (grid(MESH) + "<Grid GridType='Collection' CollectionType='Odd'/>", "of type 'collection' of 'odd'"),
        (series(ARRAY + MESH + "<Time Value='1'/>", step(1.5)).replace(GRID, LIST + GRID, 1), "contradict its list"),
        (series(ARRAY + MESH, step(1.5)).replace(GRID, LIST + GRID, 1), "contradict its list"),
    ],
)
def test_kinds_of_grids_numbers_and_times_that_are_not_read_are_refused(
    tmp_path: Path, inner: str, message: str
) -> None:
    with pytest.raises(InputError, match=message):
        read_text(tmp_path, xdmf(inner), "a.xdmf")


def test_times_that_are_stated_twice_alike_are_read(tmp_path: Path) -> None:
    inner = series(step(0.5, mesh=MESH), step(1.5)).replace(GRID, LIST + GRID, 1)
    assert [time for time, _ in read_text(tmp_path, xdmf(inner), "a.xdmf").steps] == [0.5, 1.5]
    spatial = f"<Grid GridType='Collection'>{grid(MESH)}</Grid><Grid GridType='Tree'/>"
    assert len(read_text(tmp_path, xdmf(spatial), "a.xdmf").points) == 4


# INP


@pytest.mark.parametrize(
    ("line", "option"),
    [
        ("*ELEMENT, TYPE=C3D4, OFFSET=100\n", "OFFSET of *ELEMENT"),
        ("*NODE, SCALE=2\n", "SCALE of *NODE"),
        ("*NSET, NSET=A, EXCLUDE\n1\n", "EXCLUDE of *NSET"),
        ("*INCLUDE, INPUT=more.inp, PASSWORD=x\n", "PASSWORD of *INCLUDE"),
    ],
)
def test_options_that_are_not_known_are_refused(tmp_path: Path, line: str, option: str) -> None:
    assert f"option {option} is not known here" in refusal(tmp_path, DECK + line)


def test_options_that_change_nothing_are_read(tmp_path: Path) -> None:
    text = DECK.replace("*ELEMENT, ", "*ELEMENT, ELSET=E, ") + "*NSET, NSET=A, INTERNAL, UNSORTED\n1\n"
    assert elements(deck(tmp_path, text)) == BOTH


def test_nodes_that_are_put_on_a_surface_are_said(tmp_path: Path) -> None:
    (doubt,) = deck(tmp_path, f"{DECK}*ADJUST, NODE SET=A, SURFACE=B\n").doubts
    assert doubt.code == "nodes-may-be-moved"
