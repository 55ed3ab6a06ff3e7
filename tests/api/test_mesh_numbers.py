"""Numbers of nodes that the reading library drops, and values of elements at their nodes, of two tetrahedra."""

from __future__ import annotations

from pathlib import Path

import h5py
import httpx
import meshio
import numpy as np
import pytest

from fatcore.errors import InputError
from service.mesh.files import read_mesh_file
from service.mesh.mapping import map_mesh
from service.mesh.raw import RawMesh
from service.mesh.stresses import jumps_of, stresses_of
from tests.api.test_mesh_lines import HEX, mesh_map

NUMBERS = [7, 12, 3, 40, 9]
POINTS = np.array([(0, 0, 0), (1, 0, 0), (0, 1, 0), (0, 0, 1), (1, 1, 1)], dtype=float)
CELLS = np.array([[0, 1, 2, 3], [1, 2, 3, 4]])


def tags(cells: np.ndarray) -> list[list[int]]:
    return [[NUMBERS[node] for node in cell] for cell in cells.tolist()]


def lines(*rows: object) -> bytes:
    return "".join(" ".join(map(str, row)) + "\n" for row in rows if isinstance(row, list)).encode()


def old_text() -> bytes:
    nodes = lines(*([n, *p] for n, p in zip(NUMBERS, POINTS.tolist(), strict=True)))
    cells = lines(*([i + 1, 4, 2, 0, 1, *cell] for i, cell in enumerate(tags(CELLS))))
    body = b"$Nodes\n5\n" + nodes + b"$EndNodes\n$Elements\n2\n" + cells + b"$EndElements\n"
    return b"$MeshFormat\n2.2 0 8\n$EndMeshFormat\n" + body


def new_text() -> bytes:
    """Two blocks of nodes."""
    first, second = lines(*([n] for n in NUMBERS[:2])), lines(*([n] for n in NUMBERS[2:]))
    places = [lines(*part) for part in (POINTS[:2].tolist(), POINTS[2:].tolist())]
    nodes = b"2 5 3 40\n0 1 0 2\n" + first + places[0] + b"3 1 0 3\n" + second + places[1]
    cells = b"1 2 1 2\n3 1 4 2\n" + lines(*([i + 1, *cell] for i, cell in enumerate(tags(CELLS))))
    body = b"$Nodes\n" + nodes + b"$EndNodes\n$Elements\n" + cells + b"$EndElements\n"
    return b"$MeshFormat\n4.1 0 8\n$EndMeshFormat\n" + body


def new_binary() -> bytes:
    def whole(*values: int) -> bytes:
        return np.array(values, dtype="u8").tobytes()

    def short(*values: int) -> bytes:
        return np.array(values, dtype="i4").tobytes()

    nodes = whole(2, 5, 3, 40)
    for entity, part in ((1, slice(0, 2)), (2, slice(2, 5))):
        own = NUMBERS[part]
        nodes += short(3, entity, 0) + whole(len(own)) + whole(*own) + POINTS[part].tobytes()
    cells = whole(1, 2, 1, 2) + short(3, 1, 4) + whole(2)
    cells += b"".join(whole(i + 1, *cell) for i, cell in enumerate(tags(CELLS)))
    start = b"$MeshFormat\n4.1 1 8\n" + short(1) + b"\n$EndMeshFormat\n"
    return start + b"$Nodes\n" + nodes + b"\n$EndNodes\n$Elements\n" + cells + b"\n$EndElements\n"


def read(folder: Path, content: bytes, name: str = "a.msh") -> RawMesh:
    (folder / name).write_bytes(content)
    return read_mesh_file(str(folder / name))


@pytest.mark.parametrize("content", [old_text(), new_text(), new_binary()], ids=["2", "4.1", "binary"])
def test_nodes_have_the_numbers_of_an_msh_file(tmp_path: Path, content: bytes) -> None:
    found = read(tmp_path, content)
    assert found.node_id.tolist() == NUMBERS
    assert found.numbered == "numbers of the file"
    np.testing.assert_array_equal(found.points, POINTS)
    np.testing.assert_array_equal(found.cells[0][1], CELLS)


@pytest.mark.parametrize("form", ["gmsh", "gmsh22"])
@pytest.mark.parametrize("binary", [False, True])
def test_numbers_of_files_as_the_library_writes_them(tmp_path: Path, form: str, binary: bool) -> None:
    meshio.Mesh(POINTS, [("tetra", CELLS)]).write(tmp_path / "a.msh", file_format=form, binary=binary)
    assert read_mesh_file(str(tmp_path / "a.msh")).node_id.tolist() == [1, 2, 3, 4, 5]


def med(folder: Path, cell_data: dict[str, list[np.ndarray]] | None = None, **more: object) -> Path:
    meshio.Mesh(POINTS, [("tetra", CELLS)], cell_data=cell_data or {}, **more).write(folder / "a.med")  # type: ignore[arg-type]
    return folder / "a.med"


def test_nodes_have_the_numbers_of_a_med_file_where_it_has_some(tmp_path: Path) -> None:
    file = med(tmp_path)
    plain = read_mesh_file(str(file))
    assert (plain.node_id.tolist(), plain.numbered) == ([1, 2, 3, 4, 5], "places in the file, from 1")
    with h5py.File(file, "r+") as content:
        step = next(iter(next(iter(content["ENS_MAA"].values())).values()))
        step["NOE"]["NUM"] = np.array(NUMBERS)
    numbered = read_mesh_file(str(file))
    assert (numbered.node_id.tolist(), numbered.numbered) == (NUMBERS, "numbers of the file")


def test_a_version_of_the_format_whose_numbers_are_not_read_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"version 4\.0: write version 4\.1 or 2"):
        read(tmp_path, old_text().replace(b"2.2", b"4.0"))


CORNERS = np.zeros((2, 4, 6))
CORNERS[0, :, 0], CORNERS[1, :, 0] = [100.0, 100.0, 50.0, 80.0], [60.0, 50.0, -80.0, 30.0]


def laid_out(values: np.ndarray) -> np.ndarray:
    """Values (elements, nodes, components) as the format has them: by component, element and node.

    The library writes and reads them by component, node and element; the layout here is that of files of the
    format's own library: in four of them, of tetrahedra of four and ten nodes, the means are the nodal values.
    """
    return np.moveaxis(values, 2, 0).ravel()


def element_nodal(folder: Path, values: np.ndarray, **more: object) -> Path:
    file = med(folder, {"S": [values]}, **more)
    with h5py.File(file, "r+") as content:
        held = next(iter(content["CHA"]["S"].values()))["NOE.TE4"]["MED_NO_PROFILE_INTERNAL"]
        held["CO"][...] = laid_out(values)
    return file


def test_values_of_elements_at_their_nodes_are_averaged(tmp_path: Path) -> None:
    """Nodes 1 to 3 belong to both: means 80, 50 and 0; jumps 40 of 100, none, 160 of 80."""
    found = read_mesh_file(str(element_nodal(tmp_path, CORNERS)))
    np.testing.assert_allclose(found.point_data["S"][:, 0], [100.0, 80.0, 50.0, 0.0, 30.0])
    np.testing.assert_allclose(found.jumps["S"], [0.0, 0.4, 0.0, 2.0, 0.0])


def test_values_at_points_of_integration_are_not_values_at_nodes(tmp_path: Path) -> None:
    """Four points in a tetrahedron have the shape of four nodes; only the support tells them apart."""
    file = med(tmp_path, {"S": [CORNERS]})
    with h5py.File(file, "r+") as content:
        step = next(iter(content["CHA"]["S"].values()))
        step.move("NOE.TE4", "MAI.TE4")
    found = read_mesh_file(str(file))
    assert "S" not in found.point_data
    assert found.jumps == {}


def test_fields_of_solids_beside_faces_that_have_none(tmp_path: Path) -> None:
    cells = [("tetra", CELLS), ("triangle", np.array([[0, 1, 2]]))]
    meshio.Mesh(POINTS, cells, cell_data={"S": [CORNERS, np.zeros((1, 3, 6))]}).write(tmp_path / "a.med")
    with h5py.File(tmp_path / "a.med", "r+") as content:
        step = next(iter(content["CHA"]["S"].values()))
        del step["NOE.TR3"]
        step["NOE.TE4"]["MED_NO_PROFILE_INTERNAL"]["CO"][...] = laid_out(CORNERS)
    found = read_mesh_file(str(tmp_path / "a.med"))
    np.testing.assert_allclose(found.jumps["S"], [0.0, 0.4, 0.0, 2.0, 0.0])
    assert found.other == {"triangle": 1}


def test_steps_of_a_field_and_a_field_on_some_elements(tmp_path: Path) -> None:
    """The second step has values of the second tetrahedron alone."""
    file = element_nodal(tmp_path, CORNERS)
    with h5py.File(file, "r+") as content:
        field = content["CHA"]["S"]
        (first,) = field
        field.copy(first, "1" + first)
        step = field["1" + first]
        step.attrs["PDT"] = 2.5
        step["NOE.TE4"].attrs["PFL"] = np.bytes_("second")
        step["NOE.TE4"].move("MED_NO_PROFILE_INTERNAL", "second")
        del step["NOE.TE4"]["second"]["CO"]
        step["NOE.TE4"]["second"]["CO"] = laid_out(CORNERS[1:])
        content.create_group("PROFILS").create_group("second")["PFL"] = np.array([2])
    found = read_mesh_file(str(file))
    assert sorted(found.point_data) == ["S[0] - 0", "S[1] - 2.5"]
    np.testing.assert_allclose(found.point_data["S[0] - 0"][:, 0], [100.0, 80.0, 50.0, 0.0, 30.0])
    np.testing.assert_allclose(found.point_data["S[1] - 2.5"][:, 0], [np.nan, 60.0, 50.0, -80.0, 30.0])


def test_one_array_at_the_nodes_and_by_element_is_refused(tmp_path: Path) -> None:
    file = med(tmp_path, {"S": [CORNERS]}, point_data={"S": np.zeros((5, 6))})
    with pytest.raises(InputError, match="which counts"):
        read_mesh_file(str(file))


def test_elements_that_disagree_at_a_line_are_told_in_its_check(tmp_path: Path) -> None:
    """Half of the bricks see twice the stress: 67 % at the nodes between both halves."""
    mesh = meshio.read(HEX)
    cells = mesh.cells_dict["hexahedron"]
    one = mesh.point_data["S_tension"][cells]
    one[cells.mean(axis=1) > np.median(cells.mean(axis=1))] *= 2.0
    meshio.Mesh(mesh.points, [("hexahedron", cells)], cell_data={"S_tension": [one]}).write(tmp_path / "a.med")
    with h5py.File(tmp_path / "a.med", "r+") as content:
        step = next(iter(content["CHA"]["S_tension"].values()))
        step["NOE.HE8"]["MED_NO_PROFILE_INTERNAL"]["CO"][...] = laid_out(one)
    raw = read_mesh_file(str(tmp_path / "a.med"))
    layout = mesh_map().mesh
    assert set(stresses_of(raw, layout)) == {"tension"}
    assert max(jumps_of(raw, layout).values()) == pytest.approx(0.5, abs=1e-6)


@pytest.mark.parametrize(
    ("rise", "told"),
    [
        (0.0, []),
        (0.8, [("opening-angle-varies", "caution")]),
        (1.5, [("opening-angle-varies-much", "outside")]),
    ],
)
def test_a_toe_whose_flank_grows_steeper_along_it_says_so_in_its_check(
    client: httpx.Client, tmp_path: Path, rise: float, told: list[tuple[str, str]]
) -> None:
    """A leg of 8 mm that is up to 1.8 or 2.5 times as high at its end: 135 to 119 deg, and 135 to 112 deg."""
    mesh = meshio.read(HEX)
    above = mesh.points[:, 2] > 0.0
    mesh.points[above, 2] *= 1.0 + rise * mesh.points[above, 1] / 30.0
    mesh.write(tmp_path / "a.vtu")
    request = map_mesh(read_mesh_file(str(tmp_path / "a.vtu")), mesh_map()).request
    toes = [line for line in request["lines"] if line["coordinates_mm"][0] == [-13.0, 0.0, 0.0]]
    found = client.post("/v1/check", json={**request, "lines": toes}).raise_for_status().json()["findings"]
    assert [(f["code"], f["severity"]) for f in found if f["code"].startswith("opening-angle-")] == told
