"""Mesh files of every format: what another library writes is read as it was given, and files by hand as they stand."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import meshio
import numpy as np
import pytest

from fatcore.errors import InputError
from service.base.problems import Problem
from service.mesh.files import NOT_INSTALLED, SUFFIXES, is_mesh_file, read_mesh_file
from service.mesh.raw import OF_FILE, RawMesh, solid_of

POINTS = np.random.default_rng(3).random((20, 3))
SIZES = {
    "tetra": 4,
    "tetra10": 10,
    "hexahedron": 8,
    "hexahedron20": 20,
    "wedge": 6,
    "pyramid": 5,
}
ELEMENTS = {
    "tetra": "tet4",
    "tetra10": "tet10",
    "hexahedron": "brick8",
    "hexahedron20": "brick20",
    "wedge": "wedge6",
    "pyramid": "pyramid5",
}
_RNG = np.random.default_rng(5)
CELLS = {kind: np.array([_RNG.permutation(20)[:size] for _ in range(2)]) for kind, size in SIZES.items()}
SURFACES = [("triangle", np.array([[0, 1, 2], [1, 2, 3]])), ("vertex", np.array([[5]]))]
DATA = {"one": np.arange(20.0), "six": _RNG.random((20, 6)), "nine": _RNG.random((20, 9))}
NO_PYRAMIDS = [kind for kind in SIZES if not kind.startswith("pyramid")]


def read(folder: Path, content: bytes | str, name: str) -> RawMesh:
    (folder / name).write_bytes(content if isinstance(content, bytes) else content.encode())
    return read_mesh_file(str(folder / name))


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize(
    ("suffix", "form", "options"),
    [
        (".vtk", "vtk42", {"binary": False}),
        (".vtk", "vtk42", {"binary": True}),
        (".vtk", "vtk51", {"binary": False}),
        (".vtk", "vtk51", {"binary": True}),
        (".vtu", "vtu", {}),
        (".msh", "gmsh22", {"binary": False}),
        (".msh", "gmsh22", {"binary": True}),
        (".msh", "gmsh", {"binary": False}),
        (".msh", "gmsh", {"binary": True}),
        (".xdmf", "xdmf", {"data_format": "XML"}),
        (".xdmf", "xdmf", {"data_format": "HDF"}),
        (".xdmf", "xdmf", {"data_format": "Binary"}),
        (".med", "med", {}),
    ],
)
def test_files_of_another_library_hold_what_it_was_given(
    tmp_path: Path, suffix: str, form: str, options: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Solids that meshio knows too, a file each; it turns the two triangles of a wedge of VTK round."""
    monkeypatch.chdir(tmp_path)
    written = {".msh": ("one", "nine") if options.get("binary") else ()}  # no six, and texts that are no numbers
    data = {name: values for name, values in DATA.items() if name in written.get(suffix, DATA)}
    for kind, rows in CELLS.items():
        meshio.Mesh(POINTS, [(kind, rows)], point_data=data).write(f"a{suffix}", file_format=form, **options)
        ours = read_mesh_file(str(tmp_path / f"a{suffix}"))
        np.testing.assert_allclose(ours.points, POINTS, atol=1e-12)
        ((element, found),) = ours.cells
        assert element == ELEMENTS[kind]
        assert [set(row) for row in found.tolist()] == [set(row) for row in rows.tolist()]
        if kind != "wedge":
            np.testing.assert_array_equal(found, rows)
        assert ours.point_data.keys() == data.keys()
        for name, values in data.items():
            np.testing.assert_allclose(ours.point_data[name], values, atol=1e-12)


def test_decks_of_another_library_are_read_as_it_reads_them(tmp_path: Path) -> None:
    """It knows no pyramids in them."""
    cells = [(kind, CELLS[kind]) for kind in NO_PYRAMIDS]
    meshio.Mesh(POINTS, [*cells, SURFACES[0]]).write(tmp_path / "a.inp")
    ours = read_mesh_file(str(tmp_path / "a.inp"))
    assert {kind: rows.tolist() for kind, rows in ours.cells} == {ELEMENTS[k]: rows.tolist() for k, rows in cells}
    assert list(ours.other.values()) == [2]
    np.testing.assert_allclose(ours.points, POINTS, atol=1e-15)


# before a file is read


def test_a_mesh_is_told_by_its_suffix_in_any_size_of_letters() -> None:
    assert SUFFIXES == (".vtu", ".vtk", ".msh", ".med", ".xdmf", ".inp")
    names = ("a.VTU", "b/c.Inp", "a.csv", "vtu", "-")
    assert [is_mesh_file(name) for name in names] == [True, True, False, False, False]


def test_a_file_may_have_four_gibibytes(tmp_path: Path) -> None:
    """Files of holes: they take no space."""
    large = tmp_path / "a.stl"
    for size, status in ((4 << 30, 415), ((4 << 30) + 1, 413)):
        with large.open("wb") as file:
            file.truncate(size)
        with pytest.raises(Problem) as refused:
            read_mesh_file(str(large))
        assert refused.value.status == status
    assert refused.value.detail == f"{large} has 4096 MiB, more than 4096"


def test_an_unknown_suffix_and_a_missing_file_are_refused_by_their_path(tmp_path: Path) -> None:
    (tmp_path / "a.STL").write_text("")
    with pytest.raises(Problem) as refused:
        read_mesh_file(str(tmp_path / "a.STL"))
    assert refused.value.detail == f"{tmp_path / 'a.STL'}: no mesh by its suffix; known are {', '.join(SUFFIXES)}"
    with pytest.raises(Problem) as missing:
        read_mesh_file(str(tmp_path / "b.vtu"))
    assert (missing.value.status, missing.value.detail) == (404, f"{tmp_path / 'b.vtu'}: No such file or directory")


def test_without_the_package_for_hdf5_its_format_says_what_to_install(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "h5py", None)
    (tmp_path / "a.MED").write_text("")
    with pytest.raises(Problem) as refused:
        read_mesh_file(str(tmp_path / "a.MED"))
    found = refused.value
    assert (found.status, found.kind, found.title) == (503, NOT_INSTALLED, "Optional extra not installed")
    assert found.detail == ".med files need h5py: pip install 'toeline[mesh]'"


@pytest.mark.parametrize("content", [b"", b"\0" * 1000, b"hello\nworld\n"])
@pytest.mark.parametrize("suffix", SUFFIXES)
def test_what_is_no_mesh_is_refused_in_words(tmp_path: Path, suffix: str, content: bytes) -> None:
    with pytest.raises(InputError) as refused:
        solid_of(read(tmp_path, content, f"a{suffix}"), 1.0)
    assert refused.value.path == ("mesh",)
    assert not any(word in str(refused.value) for word in ("Error", "np.", "Traceback", "literal"))


# decks of keywords

NODES = "*NODE\n1, 0, 0, 0\n2, 1, 0, 0\n3, 0, 1, 0\n4, 0, 0, 1\n5, 1, 1, 1\n"
ONE, TWO = "1, 1, 2, 3, 4\n", "2, 2, 3, 4, 5\n"
DECK = f"{NODES}*ELEMENT, TYPE=C3D4\n{ONE}{TWO}"
BOTH = [[0, 1, 2, 3], [1, 2, 3, 4]]


def elements(raw: RawMesh) -> list[list[int]]:
    return [row for _, rows in raw.cells for row in rows.tolist()]


@pytest.mark.parametrize(
    "deck",
    [
        DECK,
        DECK.replace(TWO, f"** the other\n{TWO}"),
        DECK.replace(ONE, f"** both\n\n{ONE}   ** not more\n"),
        DECK.replace("*NODE\n", "*Node, nset=all\n** of the part\n"),
        DECK.replace("4, 0", "*NODE\n4, 0"),
        DECK.replace("C3D4", "c3d4"),
        DECK.replace("C3D4", "C3D4H"),
        DECK.replace("TYPE=C3D4", "ELSET=steel,\nTYPE=C3D4"),
        DECK.replace(TWO, f"*ELEMENT, TYPE=C3D4, ELSET=weld\n** weld\n{TWO}"),
        DECK.replace(TWO, "2, 2, 3,\n4, 5\n"),
        DECK.replace("1, 0, 0\n", "1.0D+0, 0.,\n"),
        DECK.replace("*NODE\n", "*NODE, SYSTEM=R\n").replace("\n", "\r\n"),
        DECK[len(NODES) :] + NODES,
        "*HEADING\n9, 9\n" + DECK + "*BOUNDARY\n1, 1, 3\n",
    ],
)
def test_a_deck_is_read_whole_however_it_is_written(tmp_path: Path, deck: str) -> None:
    raw = read(tmp_path, deck, "a.inp")
    assert (raw.node_id.tolist(), raw.numbered) == ([1, 2, 3, 4, 5], OF_FILE)
    assert elements(raw) == BOTH
    assert raw.points.tolist() == [[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1], [1, 1, 1]]


@pytest.mark.parametrize(
    ("name", "element", "size"),
    [("C3D20R", "brick20", 20), ("C3D10HS", "tet10", 10), ("C3D8RT", "brick8", 8), ("C3D5", "pyramid5", 5)],
)
def test_variants_of_a_shape_are_that_shape(tmp_path: Path, name: str, element: str, size: int) -> None:
    nodes = "".join(f"{n}, {n}, 0\n" for n in range(1, 21))
    row = ", ".join(map(str, range(1, size + 1)))
    ((kind, found),) = read(tmp_path, f"*NODE\n{nodes}*ELEMENT, TYPE={name}\n1, {row}\n", "a.inp").cells
    assert (kind, found.tolist()) == (element, [list(range(size))])


def test_elements_without_volume_are_counted_by_their_type(tmp_path: Path) -> None:
    raw = read(tmp_path, DECK + "*ELEMENT, TYPE=S3\n8, 1, 2,\n3\n9, 2, 3, 4\n*ELEMENT, TYPE=MASS\n10, 1\n", "a.inp")
    assert dict(raw.other) == {"S3": 2, "MASS": 1}


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ("*ELGEN, ELSET=A\n1, 3, 1, 1\n", r"\*ELGEN makes elements"),
        ("*Ncopy, change number=10, old set=A, shift\n1, 0, 0\n", r"\*NCOPY makes or moves nodes"),
        ("*NGEN\n1, 5\n", r"\*NGEN makes"),
        ("*NFILL\nA, B, 2, 1\n", r"\*NFILL makes"),
        ("*ELCOPY\n", r"\*ELCOPY makes"),
        ("*Model  change, remove\n", r"\*MODEL CHANGE takes elements away"),
        ("*PARAMETER\nx = 3\n", r"\*PARAMETER puts names"),
        ("*NODE, INPUT=other.txt\n", "lie in a file of their own"),
        ("*INCLUDE, INPUT=none.inp\n", "is not there"),
        ("*ELEMENT, TYPE=C3D27\n3, 1\n", "TYPE=C3D27 are not known"),
        ("*ELEMENT, TYPE=C3D15V\n3, 1\n", "TYPE=C3D15V are not known"),
        ("*ELEMENT\n3, 1\n", r"TYPE=\(none\) are not known"),
        ("*ELEMENT, TYPE=C3D4\n3, 1, 2, 3\n", "no whole number of elements of 4 nodes"),
        ("*ELEMENT, TYPE=C3D4\n3, 1, 2, 3, 99\n", "names node 99"),
        ("*ELEMENT, TYPE=C3D4\n2, 1, 2, 3, 5\n", "an element number stands for two"),
        ("*ELEMENT, TYPE=C3D4\n3, 1, 2, 3, x\n", "below \\*ELEMENT a row is no list of numbers: '3, 1, 2, 3, x'"),
        ("*NODE\n1.5, 0, 0, 0\n", "below \\*NODE a row is no list of numbers"),
        ("*NODE\n5, 0, 0, 0\n", "stands for two nodes"),
        ("*NSET, NSET=A\n1, 99\n", "set 'A' names node 99"),
        ("*NSET, NSET=A\nB\n", "set 'A' names 'B', which is no node"),
        ("*NSET, NSET=A\nA\n", "set 'A' names 'A'"),
        ("*PART, NAME=A\n*PART, NAME=B\n", "several parts"),
        ("*INSTANCE, PART=A\n*INSTANCE, PART=A\n", "a part several times"),
        ("\0\0\n", "is no text"),
    ],
)
def test_what_a_deck_has_besides_its_rows_is_refused_by_its_word(tmp_path: Path, change: str, message: str) -> None:
    with pytest.raises(InputError, match=message) as refused:
        read(tmp_path, DECK + change, "a.inp")
    assert refused.value.path == ("mesh",)


def test_files_that_a_deck_includes_are_read_in_their_place(tmp_path: Path) -> None:
    (tmp_path / "nodes.txt").write_text(NODES)
    assert elements(read(tmp_path, f"*include, input=nodes.txt\n{DECK[len(NODES) :]}", "a.inp")) == BOTH


def test_files_that_include_each_other_end(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="without end"):
        read(tmp_path, "*INCLUDE, INPUT=a.inp\n" + DECK, "a.inp")


def test_sets_are_gathered_from_rows_ranges_and_other_sets(tmp_path: Path) -> None:
    sets = "*NODE, NSET=more\n6, 9, 9, 9\n*NSET, NSET=edge\n1, 2\n** rest\n3,\n*NSET, NSET=edge\n5\n"
    sets += "*NSET, NSET=odd, GENERATE\n1, 5, 2\n6, 6\n*NSET, NSET=all\nedge, 4\nmore\n"
    found = read(tmp_path, DECK + sets, "a.inp").node_sets
    assert {name: nodes.tolist() for name, nodes in found.items()} == {
        "more": [5],
        "edge": [0, 1, 2, 4],
        "odd": [0, 2, 4, 5],
        "all": [0, 1, 2, 4, 3, 5],
    }


# legacy VTK

TETRA = "POINTS 4 float\n0 0 0 1 0 0\n0 1 0 0 0 1\nCELLS 1 5\n4 0 1 2 3\nCELL_TYPES 1\n10\n"
VTK = f"# vtk DataFile Version 3.0\ntitle\nASCII\nDATASET UNSTRUCTURED_GRID\n{TETRA}"
SIX = "0 0 0 0 0 0\n1 2 3 4 5 6\n0 0 0 0 0 0\n0 0 0 0 0 0\n"


def test_arrays_of_every_kind_are_read_with_the_names_of_their_numbers(tmp_path: Path) -> None:
    text = VTK + "POINT_DATA 4\nSCALARS Sxx double\nLOOKUP_TABLE default\n1 2\n3 4\nSCALARS Syy float 1\n"
    text += "LOOKUP_TABLE default\n5 6 7 8\nSCALARS pair int 2\nLOOKUP_TABLE default\n1 2 3 4 5 6 7 8\n"
    text += f"LOOKUP_TABLE own 1\n0 0 0 0\nTENSORS6 S float\n{SIX}TENSORS T float\n{'1 2 3 4 5 6 7 8 9 ' * 4}\n"
    text += "NORMALS n float\n" + "0 0 1 " * 4 + "\nTEXTURE_COORDINATES t 2 float\n" + "0 1 " * 4 + "\n"
    text += "COLOR_SCALARS c 1\n0 0 0 0\nGLOBAL_IDS g int\n1 2 3 4\nFIELD FieldData 2\n"
    text += f"my%20S 6 4 double\n{SIX}METADATA\nCOMPONENT_NAMES\nXX\nYY\nZZ\nXY\nYZ\nXZ\nINFORMATION 0\n\n"
    text += "other 1 2 int\n1 2\nCELL_DATA 1\nSCALARS E float\nLOOKUP_TABLE default\n3\n"
    raw = read(tmp_path, text, "a.vtk")
    shapes = {name: values.shape for name, values in raw.point_data.items()}
    assert shapes == {
        "Sxx": (4,),
        "Syy": (4,),
        "pair": (4, 2),
        "S": (4, 6),
        "T": (4, 9),
        "n": (4, 3),
        "t": (4, 2),
        "c": (4,),
        "g": (4,),
        "my S": (4, 6),
    }
    assert raw.point_data["S"][1].tolist() == [1, 2, 3, 4, 5, 6]
    order = ("XX", "YY", "ZZ", "XY", "YZ", "XZ")
    assert (dict(raw.fixed), dict(raw.components)) == ({"S": order}, {"my S": order})
    assert dict(raw.elsewhere) == {"E": "cells", "other": "2 places that are not its 4 nodes"}


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("CELL_TYPES 1\n10\n", "CELL_TYPES 1\n10\nPOINT_DATA 4\nVECTORS v odd\n", "numbers of type 'odd'"),
        ("POINTS 4", "POINTS 40", "40 can be|where 120 are announced"),
        ("POINTS 4", "POINTS 99999999999", "more than it can hold"),
        ("CELLS 1 5", "CELLS 2 5", "announces 2 cells, and holds 1"),
        ("CELL_TYPES 1\n10\n", "", "contradict each other"),
        ("4 0 1 2 3", "4 0 1 2 9", "contradict each other"),
        ("UNSTRUCTURED_GRID", "POLYDATA", "a dataset POLYDATA"),
        ("ASCII", "ODD", "does not begin"),
        ("0 1 0 0", "0 x 0 0", "is no number"),
        ("DATASET", "ODD", "its section 'ODD'"),
        ("CELL_TYPES 1\n10\n", "CELL_TYPES 1\n10\nPOINT_DATA 3\n", "POINT_DATA has 3 rows"),
        ("CELL_TYPES 1\n10\n", "CELL_TYPES 1\n24\n", "a cell of tet10 has not 10 nodes"),
    ],
)
def test_a_legacy_file_that_contradicts_itself_is_refused(tmp_path: Path, old: str, new: str, message: str) -> None:
    with pytest.raises(InputError, match=message):
        read(tmp_path, VTK.replace(old, new), "a.vtk")


def test_offsets_of_cells_must_go_from_none_to_all(tmp_path: Path) -> None:
    cells = "CELLS 2 4\nOFFSETS vtktypeint64\n0 {}\nCONNECTIVITY vtktypeint64\n0 1 2 3\n"
    for end in (4, 3):
        text = VTK.replace("Version 3.0", "Version 5.1").replace("CELLS 1 5\n4 0 1 2 3\n", cells.format(end))
        if end == 4:
            assert elements(read(tmp_path, text, "a.vtk")) == [[0, 1, 2, 3]]
        else:
            with pytest.raises(InputError, match="do not go from 0"):
                read(tmp_path, text, "a.vtk")


# XDMF


def item(values: str, dimensions: str, **more: str) -> str:
    attributes = "".join(f' {name}="{value}"' for name, value in more.items())
    return f'<DataItem Dimensions="{dimensions}" {attributes}>{values}</DataItem>'


PLACES = item("0 0 0 1 0 0 0 1 0 0 0 1", "4 3")
TOPOLOGY = '<Topology TopologyType="Tetrahedron" NumberOfElements="1">' + item("0 1 2 3", "1 4", NumberType="Int")
MESH = f"{TOPOLOGY}</Topology><Geometry GeometryType='XYZ'>{PLACES}</Geometry>"
ARRAY = "<Attribute Name='S' AttributeType='Tensor6' Center='Node'>" + item("1 2 3 4 5 6 " * 4, "4 6") + "</Attribute>"


def xdmf(inner: str) -> str:
    return f'<?xml version="1.0"?>\n<!DOCTYPE Xdmf SYSTEM "Xdmf.dtd" []>\n<Xdmf><Domain>{inner}</Domain></Xdmf>'


GRID = "<Grid Name='g'>"
LIST = f"<Time TimeType='List'>{item('0.5 1.5', '2')}</Time>"


def grid(inner: str) -> str:
    return f"{GRID}{inner}</Grid>"


def series(*steps: str) -> str:
    return "<Grid Name='t' GridType='Collection' CollectionType='Temporal'>" + "".join(map(grid, steps)) + "</Grid>"


def step(time: float, array: str = ARRAY, mesh: str = "") -> str:
    return f"<Time Value='{time}'/>{mesh}{array}"


@pytest.mark.parametrize("shape", ["4 6", "24"])
def test_a_grid_is_read_without_a_version_and_its_tensors_in_the_order_of_the_format(
    tmp_path: Path, shape: str
) -> None:
    cell = "<Attribute Name='E' Center='Cell'>" + item("3", "1") + "</Attribute>"
    raw = read(tmp_path, xdmf(grid(MESH + ARRAY.replace("4 6", shape) + cell)), "a.xdmf")
    assert (elements(raw), raw.point_data["S"].tolist()) == ([[0, 1, 2, 3]], [[1, 2, 3, 4, 5, 6]] * 4)
    assert dict(raw.fixed) == {"S": ("XX", "XY", "XZ", "YY", "YZ", "ZZ")}
    assert dict(raw.elsewhere) == {"E": "cells"}


@pytest.mark.parametrize(
    "inner",
    [
        grid(MESH) + series(step(0.5), step(1.5)),
        series(step(0.5, mesh=MESH), step(1.5, mesh=MESH)),
        series(step(0.5, mesh=MESH), step(1.5, mesh=MESH.replace("0 1 2 3", "0  1  2  3"))),
        series(step(0.5, mesh=MESH), step(1.5)),
        series(ARRAY + MESH, ARRAY).replace(GRID, LIST + GRID, 1),
    ],
)
def test_steps_in_time_are_read_however_the_mesh_is_shared(tmp_path: Path, inner: str) -> None:
    raw = read(tmp_path, xdmf(inner), "a.xdmf")
    assert [(time, sorted(arrays)) for time, arrays in raw.steps] == [(0.5, ["S"]), (1.5, ["S"])]
    assert elements(raw) == [[0, 1, 2, 3]]
    assert dict(raw.point_data) == {}


def test_mixed_cells_and_points_by_columns_are_read(tmp_path: Path) -> None:
    topology = "<Topology TopologyType='Mixed'>" + item(
        "6 0 1 2 3 4 0 1 2 2 2 0 1", "13", NumberType="Int", Precision="8"
    )
    columns = item("0 1 0 0", "4") + item("0 0 1 0", "4", Precision="8", Endian="Little") + item("0 0 0 1", "4")
    raw = read(tmp_path, xdmf(grid(f"{topology}</Topology><Geometry Type='X_Y_Z'>{columns}</Geometry>")), "a.xdmf")
    assert elements(raw) == [[0, 1, 2, 3]]
    assert dict(raw.other) == {"triangles": 1, "lines": 1}
    assert raw.points.tolist() == [[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]]


@pytest.mark.parametrize(
    ("inner", "message"),
    [
        (grid(MESH) + grid(MESH), "it has 2 grids"),
        (grid(MESH) + series(step(0.5)) + series(step(0.5)), "2 series in time"),
        (grid(MESH) + series("<Grid/>").replace("<Grid Name='g'>", "<Grid GridType='Tree'>"), "has several grids"),
        (grid(ARRAY), "no grid with topology"),
        (series(step(0.5, mesh=MESH), step(1.5, mesh=MESH.replace("0 1 2 3", "1 0 2 3"))), "changes from step"),
        (series(ARRAY + MESH), "not every step has a time"),
        (grid(MESH + ARRAY + ARRAY), "'S' is there more than once"),
        (grid(MESH.replace("'XYZ'", "'VXVYVZ'")), "geometry VXVYVZ"),
        (grid(MESH.replace("TopologyType", "BaseOffset='1' TopologyType")), "from another number than 0"),
        (grid(MESH.replace("Tetrahedron", "3DSMesh")), "a topology of 3dsmesh"),
        (grid(MESH.replace("Tetrahedron", "Hexahedron")), "elements stand in rows of 4, where they have 8 numbers"),
        (grid(MESH.replace('Elements="1"', 'Elements="2"')), "announces 2 elements, and holds 1"),
        (grid(MESH.replace('Elements="1"', 'Elements="one"')), "dimensions 'one'"),
        (grid(MESH.replace("0 1 2 3", "0 1 2 4")), "points that there are not"),
        (grid(MESH.replace("Tetrahedron", "Mixed")), "cells of type 0 in a mixed"),
        (grid(MESH.replace("Tetrahedron", "Mixed").replace("0 1 2 3", "6 1 2 3")), "mixed topology is cut off"),
        (grid(MESH + ARRAY.replace("4 6", "2 12")), "array 'S' has 2 rows"),
        (grid(MESH + ARRAY.replace("4 6", "4 7")), "announces 28 numbers, and holds 24"),
        (grid(MESH + ARRAY.replace("1 2 3", "x 2 3")), "cannot be read"),
        (grid(MESH + ARRAY.replace("<DataItem ", "<DataItem Format='ODD' ")), "data format 'ODD'"),
        (grid(MESH + ARRAY.replace("<DataItem ", "<DataItem NumberType='ODD' ")), "numbers of type 'odd'"),
        (grid(MESH + ARRAY.replace("<DataItem ", "<DataItem ItemType='Function' ")), "put together of others"),
        (grid(MESH + ARRAY.replace("</Attribute>", PLACES + "</Attribute>")), "has 2 data items"),
        (grid(MESH + ARRAY.replace("<DataItem ", "<DataItem Format='Binary' Compression='Zlib' ")), "write it plain"),
        (grid(MESH + ARRAY.replace("<DataItem ", "<DataItem Format='Binary' ")), "is not there"),
        (grid(MESH + ARRAY.replace("<DataItem ", "<DataItem Format='HDF' ")), "HDF5 file .* is not there"),
        (grid(MESH + ARRAY.replace("4 6", "99999999999 6")), "larger than the limit"),
        ("</Domain><Domain>" + grid(MESH), "no domain, or several"),
    ],
)
def test_what_a_grid_leaves_open_is_refused_in_words(tmp_path: Path, inner: str, message: str) -> None:
    with pytest.raises(InputError, match=message) as refused:
        read(tmp_path, xdmf(inner), "a.xdmf")
    assert refused.value.path == ("mesh",)


def test_entities_are_not_followed(tmp_path: Path) -> None:
    text = xdmf(grid(MESH)).replace("[]", '[<!ENTITY a "1">]')
    with pytest.raises(InputError, match="declares entities"):
        read(tmp_path, text, "a.xdmf")
