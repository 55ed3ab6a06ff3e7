"""What a mesh file announces is all that it holds: rows behind a count, sections there twice, hidden elements."""

from __future__ import annotations

import time
from pathlib import Path

import numpy as np
import pytest

from fatcore.errors import InputError
from service.mesh.formats.sections import Part
from tests.api.test_mesh_files_by_hand import MESH, VTK, grid, item, xdmf
from tests.api.test_mesh_files_by_hand import read as read_text
from tests.api.test_mesh_files_refused import binary_data, text_data
from tests.api.test_mesh_numbers import NUMBERS, POINTS, new_binary, new_text, old_text, read


def old_binary() -> bytes:
    nodes = np.array([(n, p) for n, p in zip(NUMBERS, POINTS, strict=True)], dtype=[("id", "i4"), ("at", "f8", 3)])
    head = np.array([4, 2, 2], dtype="i4").tobytes()
    rows = np.array([[1, 0, 1, 7, 12, 3, 40], [2, 0, 1, 12, 3, 40, 9]], dtype="i4").tobytes()
    content = b"$MeshFormat\n2.2 1 8\n\x01\0\0\0\n$EndMeshFormat\n$Nodes\n5\n" + nodes.tobytes()
    return content + b"\n$EndNodes\n$Elements\n2\n" + head + rows + b"\n$EndElements\n"


@pytest.mark.parametrize("content", [old_text(), new_text(), old_binary(), new_binary()])
@pytest.mark.parametrize("name", [b"Nodes", b"Elements"])
def test_a_section_ends_behind_what_it_announces(tmp_path: Path, content: bytes, name: bytes) -> None:
    assert len(read(tmp_path, content).cells[0][1]) == 2
    for more in (b"6 0 0 0\n", b"x"):
        with pytest.raises(InputError, match=f"section {name.decode()} goes on behind what it announces"):
            read(tmp_path, content.replace(b"$End" + name, more + b"$End" + name))
    with pytest.raises(InputError, match=f"section {name.decode()} goes on|cut off"):
        read(tmp_path, content.replace(b"$End" + name, b"$Odd"))


@pytest.mark.parametrize("short", [(b"$Nodes\n5", b"$Nodes\n4"), (b"$Elements\n2", b"$Elements\n1")])
def test_rows_behind_the_count_are_not_dropped(tmp_path: Path, short: tuple[bytes, bytes]) -> None:
    with pytest.raises(InputError, match="goes on behind what it announces"):
        read(tmp_path, old_text().replace(*short))


def test_values_behind_the_count_of_an_array_are_not_dropped(tmp_path: Path) -> None:
    for content in (old_text() + text_data(NUMBERS), old_binary() + binary_data(NUMBERS)):
        assert read(tmp_path, content).point_data["S"].tolist() == [float(n) for n in NUMBERS]
        with pytest.raises(InputError, match="section NodeData goes on"):
            read(tmp_path, content.replace(b"1\n5\n", b"1\n3\n"))


def test_blocks_announce_all_of_their_rows(tmp_path: Path) -> None:
    content = new_text().replace(b"1 2 1 2\n3 1 4 2\n", b"1 1 1 2\n3 1 4 1\n")
    with pytest.raises(InputError, match="section Elements goes on"):
        read(tmp_path, content)
    for row in (b"2 12 3 40 9", b"1.0 1.0 1.0"):
        with pytest.raises(InputError, match="goes on behind what it announces"):
            read(tmp_path, new_text().replace(row, row + b" 77"))


def test_a_node_has_three_coordinates_and_no_more(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no three coordinates"):
        read(tmp_path, old_text().replace(b"12 1.0", b"12 0,5 1.0"))


@pytest.mark.parametrize("content", [old_text(), new_text(), old_binary(), new_binary()])
def test_an_element_number_stands_for_one_element(tmp_path: Path, content: bytes) -> None:
    text = content in (old_text(), new_text())
    whole = np.array([2, 12], dtype="u8").tobytes()
    one, other = (b"\n2 ", b"\n1 ") if text else (whole, whole.replace(b"\x02", b"\x01"))
    if content == old_binary():
        one, other = (np.array(row, dtype="i4").tobytes() for row in ([2, 0, 1, 12], [1, 0, 1, 12]))
    at = content.index(b"$Elements\n") + 12
    with pytest.raises(InputError, match="an element number stands for two elements"):
        read(tmp_path, content[:at] + content[at:].replace(one, other))


def test_an_element_number_stands_for_one_element_of_all_kinds(tmp_path: Path) -> None:
    content = old_text().replace(b"$Elements\n2\n", b"$Elements\n3\n1 2 2 0 1 7 12 3\n")
    with pytest.raises(InputError, match="an element number stands for two elements"):
        read(tmp_path, content)


@pytest.mark.parametrize("content", [old_text().replace(b"12 1.0", b"12 x"), old_binary()[:120]])
def test_what_is_no_number_or_cut_off_is_refused_in_words(tmp_path: Path, content: bytes) -> None:
    with pytest.raises(InputError, match="a section is no row of numbers as announced; the file may be cut off"):
        read(tmp_path, content)


def test_a_name_may_have_blanks_around_it(tmp_path: Path) -> None:
    assert list(read(tmp_path, old_text() + text_data(NUMBERS, "S xx  ")).point_data) == ["S xx"]


def test_numbers_on_one_line_are_taken_in_one_pass() -> None:
    """A hundred thousand blocks of two numbers; twice as many cost about twice as much."""
    part = Part(b"1 2 " * 100_000 + b"\n$EndA\n", 0, binary=False, name=b"A")
    start = time.process_time()
    for _ in range(100_000):
        assert part.take("u8", 2).tolist() == [1, 2]
    assert time.process_time() - start < 5.0
    part.end()


# legacy VTK, XDMF


@pytest.mark.parametrize("section", ["DATASET UNSTRUCTURED_GRID", "POINTS 0 float", "CELLS 0 0", "CELL_TYPES 0"])
def test_a_section_that_counts_is_there_once(tmp_path: Path, section: str) -> None:
    with pytest.raises(InputError, match=f"its section {section.split()[0]} is there twice"):
        read_text(tmp_path, f"{VTK}{section}\n", "a.vtk")


@pytest.mark.parametrize(
    ("behind", "message"),
    [("4 0 1 2 3\n", "section '4'"), ("POINT_DATA 4\nSCALARS a float\n1 2 3 4\n5\n", "section '5'")],
)
def test_rows_behind_what_a_legacy_section_announces_are_refused(tmp_path: Path, behind: str, message: str) -> None:
    with pytest.raises(InputError, match=message):
        read_text(tmp_path, VTK + behind, "a.vtk")


@pytest.mark.parametrize("mark", [1, 32])
@pytest.mark.parametrize("where", ["CELL", "POINT"])
def test_hidden_and_copied_parts_of_a_legacy_file_are_refused(tmp_path: Path, where: str, mark: int) -> None:
    rows = 1 if where == "CELL" else 4
    data = f"{where}_DATA {rows}\nSCALARS vtkGhostType unsigned_char\nLOOKUP_TABLE default\n"
    assert len(read_text(tmp_path, VTK + data + "0 " * rows + "\n", "a.vtk").points) == 4
    with pytest.raises(InputError, match="'vtkGhostType' marks nodes or elements as hidden or as copies"):
        read_text(tmp_path, VTK + data + "0 " * (rows - 1) + f"{mark}\n", "a.vtk")


@pytest.mark.parametrize(("center", "rows"), [("Cell", 1), ("Node", 4)])
def test_hidden_and_copied_parts_of_a_grid_are_refused(tmp_path: Path, center: str, rows: int) -> None:
    for mark in (0, 32):
        values = item("0 " * (rows - 1) + str(mark), str(rows), NumberType="UChar")
        text = xdmf(grid(f"{MESH}<Attribute Name='vtkGhostType' Center='{center}'>{values}</Attribute>"))
        if mark:
            with pytest.raises(InputError, match="hidden or as copies"):
                read_text(tmp_path, text, "a.xdmf")
        else:
            assert len(read_text(tmp_path, text, "a.xdmf").points) == 4
