"""Mesh files by their suffix: what is taken from the library's answer, written out by hand, and what is refused."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from fatcore.errors import InputError
from service.base.problems import Problem
from service.mesh import files
from service.mesh.files import NOT_INSTALLED, SUFFIXES, is_mesh_file, read_mesh_file
from service.mesh.raw import OF_FILE, RawMesh, solid_of

POINTS = np.array([[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [1.0, 1.0, 1.0]])
DECK = """** 5, 5
*HEADING
6, 6
*node, nset=all
 30, 0.0, 0.0, 0.0
** 7, 7

10, 1.0, 0.0, 0.0
*NODE OUTPUT
8, 8
*Node
20, 0.0, 1.0, 0.0
50, 0.0, 0.0, 1.0
40, 1.0, 1.0, 1.0
*ELEMENT, TYPE=C3D4
1, 30, 10, 20, 50
"""
OLD = "$MeshFormat\n4.0 0 8\n$EndMeshFormat\n$Nodes\n"  # a version of MSH whose numbers are not read
Read = Callable[..., RawMesh]


def block(kind: str, rows: list[list[int]]) -> SimpleNamespace:
    return SimpleNamespace(type=kind, data=rows)


@pytest.fixture
def read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Read:
    """What becomes of an answer of the library, without the library."""

    def make(
        suffix: str = ".vtk",
        *,
        text: str = "",
        error: BaseException | None = None,
        med: dict[str, Any] | None = None,
        **changes: Any,
    ) -> RawMesh:
        answer = {"points": POINTS, "cells": [block("tetra", [[0, 1, 2, 3]])], "point_data": {}, "point_sets": None}

        def answered(file: Path, file_format: str) -> SimpleNamespace:
            assert (file, file_format) == (tmp_path / f"a{suffix}", files.FORMATS[suffix.lower()][0])
            print("chatter", file=sys.stderr)
            print("chatter")
            if error is not None:
                raise error
            return SimpleNamespace(**answer | changes)

        monkeypatch.setitem(sys.modules, "meshio", SimpleNamespace(read=answered))
        med = {"node_id": None, "corners": {}} | (med or {})
        monkeypatch.setattr(
            files, "read_med", lambda file, most: SimpleNamespace(mesh=answered(file, "med"), components={}, **med)
        )
        (tmp_path / f"a{suffix}").write_text(text)
        return read_mesh_file(str(tmp_path / f"a{suffix}"))

    return make


@pytest.mark.parametrize(("suffix", "first"), [(".vtk", 0), (".msh", 1), (".med", 1), (".xdmf", 0)])
def test_nodes_are_counted_from_the_first_number_of_the_format(
    read: Read, suffix: str, first: int, capsys: pytest.CaptureFixture[str]
) -> None:
    raw = read(suffix, text=OLD)
    assert raw.node_id.tolist() == [first, first + 1, first + 2, first + 3, first + 4]
    assert raw.numbered == f"places in the file, from {first}"
    assert (raw.steps, dict(raw.node_sets), dict(raw.point_data), dict(raw.other)) == ((), {}, {}, {})
    assert raw.points.tolist() == POINTS.tolist()
    assert capsys.readouterr() == ("", "")


def test_a_deck_has_the_numbers_below_its_node_keywords(read: Read) -> None:
    raw = read(".inp", text=DECK)
    assert (raw.node_id.tolist(), raw.numbered) == ([30, 10, 20, 50, 40], OF_FILE)


def test_numbers_of_other_nodes_than_were_read_do_not_count(read: Read) -> None:
    """The library keeps the last of several blocks of nodes that are not one."""
    raw = read(".inp", text=DECK, points=POINTS[:4])
    assert (raw.node_id.tolist(), raw.numbered) == ([1, 2, 3, 4], "places in the file, from 1")


@pytest.mark.parametrize(("suffix", "text"), [(".inp", "*NODE\nx, 0, 0, 0\n"), (".msh", "$MeshFormat\n$Nodes\n")])
def test_numbers_that_cannot_be_read_are_refused(read: Read, suffix: str, text: str) -> None:
    with pytest.raises(InputError, match=rf"^a{suffix}: the numbers of its nodes cannot be read") as refused:
        read(suffix, text=text)
    assert refused.value.path == ("mesh",)


def test_numbers_and_values_at_corners_of_another_file_are_taken(read: Read) -> None:
    means, jump = np.arange(30.0).reshape(5, 6), np.array([0.0, 0.6, 0.0, 0.0, 0.0])
    raw = read(".med", med={"node_id": np.array([9, 8, 7, 6, 5]), "corners": {"S": (means, jump)}})
    assert (raw.node_id.tolist(), raw.numbered) == ([9, 8, 7, 6, 5], OF_FILE)
    assert raw.point_data["S"].tolist() == means.tolist()
    assert {name: values.tolist() for name, values in raw.jumps.items()} == {"S": jump.tolist()}


def test_an_array_at_nodes_and_at_corners_is_refused(read: Read) -> None:
    data = {"T": np.zeros(5), "S": np.zeros((5, 6)), "R": np.zeros(5)}
    corners = {name: (np.zeros((5, 6)), np.zeros(5)) for name in ("S", "R", "Q")}
    with pytest.raises(InputError, match=r"^array 'R' is given at the nodes and by element at its nodes") as refused:
        read(".med", med={"corners": corners}, point_data=data)
    assert refused.value.path == ("mesh",)


def test_a_deck_may_begin_with_rows_that_belong_to_no_keyword(read: Read) -> None:
    assert read(".inp", text="9, 9, 9\n" + DECK).node_id.tolist() == [30, 10, 20, 50, 40]


def test_solids_keep_their_order_and_other_cells_are_counted(read: Read) -> None:
    cells = [
        block("tetra", [[0, 1, 2, 3]]),
        block("triangle", [[0, 1, 2], [1, 2, 3]]),
        block("line3", [[0, 1, 2]]),
        block("tetra", [[1, 2, 3, 4], [0, 1, 2, 4]]),
        block("triangle", [[0, 1, 3]]),
    ]
    raw = read(cells=cells)
    assert [(kind, nodes.tolist()) for kind, nodes in raw.cells] == [
        ("tet4", [[0, 1, 2, 3]]),
        ("tet4", [[1, 2, 3, 4], [0, 1, 2, 4]]),
    ]
    assert dict(raw.other) == {"triangle": 3, "line3": 1}


@pytest.mark.parametrize(
    ("kind", "element", "count"),
    [
        ("tetra", "tet4", 4),
        ("tetra10", "tet10", 10),
        ("hexahedron", "brick8", 8),
        ("hexahedron20", "brick20", 20),
        ("wedge", "wedge6", 6),
        ("wedge15", "wedge15", 15),
        ("pyramid", "pyramid5", 5),
        ("pyramid13", "pyramid13", 13),
    ],
)
def test_every_kind_of_solid_has_its_word(read: Read, kind: str, element: str, count: int) -> None:
    ((found, nodes),) = read(cells=[block(kind, [list(range(count))])]).cells
    assert (found, nodes.tolist()) == (element, [list(range(count))])


@pytest.mark.parametrize("kind", ["vertex", "line", "triangle6", "quad8", "polygon5"])
def test_cells_without_volume_are_left_out(read: Read, kind: str) -> None:
    raw = read(cells=[block(kind, [[0, 1, 2]])])
    assert (raw.cells, dict(raw.other)) == ((), {kind: 1})
    with pytest.raises(InputError, match=rf"^the file has no solid elements \(1 {kind}\): weld lines") as refused:
        solid_of(raw, 1.0)
    assert refused.value.path == ("mesh",)


def test_other_solids_are_refused_beside_the_known_ones(read: Read) -> None:
    with pytest.raises(InputError, match=r"^cells 'wedge18' are none of tet4, tet10, brick8") as refused:
        read(cells=[block("wedge18", [list(range(18))])])
    assert refused.value.path == ("mesh",)


def test_points_of_a_plane_lie_at_height_zero(read: Read) -> None:
    assert read(points=POINTS[:, :2]).points.tolist() == np.column_stack([POINTS[:, :2], np.zeros(5)]).tolist()


def test_arrays_of_matrices_are_rows_and_others_stay(read: Read) -> None:
    matrices = np.arange(45.0).reshape(5, 3, 3)
    data = {"one": np.arange(5), "six": np.ones((5, 6)), "nine": matrices, "deep": np.zeros((5, 2, 3, 2))}
    shapes = {name: array.shape for name, array in read(point_data=data).point_data.items()}
    assert shapes == {"one": (5,), "six": (5, 6), "nine": (5, 9), "deep": (5, 12)}
    assert read(point_data=data).point_data["nine"][1].tolist() == list(range(9, 18))


def test_an_array_without_numbers_stays_as_it_is(read: Read) -> None:
    assert read(point_data={"none": np.zeros((0, 6))}).point_data["none"].shape == (0, 6)


def test_sets_of_nodes_are_places(read: Read) -> None:
    sets = read(point_sets={"EDGE": [0, 2]}).node_sets
    assert {name: nodes.tolist() for name, nodes in sets.items()} == {"EDGE": [0, 2]}


@pytest.mark.parametrize(
    ("error", "reason"),
    [
        (ValueError("odd\n  words"), "odd words"),
        (KeyError(), "KeyError"),
        (SystemExit(), "its reader stops"),
        (RuntimeError("x" * 300), "x" * 200),
    ],
)
def test_whatever_the_library_throws_is_said_in_two_hundred_signs(
    read: Read, error: BaseException, reason: str
) -> None:
    with pytest.raises(InputError) as refused:
        read(error=error)
    assert str(refused.value) == f"a.vtk is no .vtk mesh that can be read: {reason}"
    assert refused.value.path == ("mesh",)


def test_time_steps_are_read_where_a_file_has_a_series(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    class Series:
        num_steps = 2

        def __init__(self, file: Path) -> None:
            assert file == tmp_path / "a.xdmf"

        def __enter__(self) -> Series:
            return self

        def __exit__(self, *_: object) -> None:
            return None

        def read_points_cells(self) -> tuple[Any, Any]:
            return POINTS, [block("tetra", [[0, 1, 2, 3]])]

        def read_data(self, step: int) -> tuple[float, dict[str, Any], dict[str, Any]]:
            return 0.5 + step, {"S": np.full((5, 3, 3), step)}, {}

    def mesh(points: Any, cells: Any) -> SimpleNamespace:
        return SimpleNamespace(points=points, cells=cells, point_data={}, point_sets={})

    fake = SimpleNamespace(xdmf=SimpleNamespace(TimeSeriesReader=Series), Mesh=mesh)
    monkeypatch.setitem(sys.modules, "meshio", fake)
    (tmp_path / "a.xdmf").write_text('<Grid CollectionType="Temporal">')
    raw = read_mesh_file(str(tmp_path / "a.xdmf"))
    assert [(time, data["S"].shape, float(data["S"].max())) for time, data in raw.steps] == [
        (0.5, (5, 9), 0.0),
        (1.5, (5, 9), 1.0),
    ]
    assert raw.cells[0][0] == "tet4"


# before a file is read


def test_a_mesh_is_told_by_its_suffix_in_any_size_of_letters() -> None:
    assert SUFFIXES == (".vtu", ".vtk", ".msh", ".med", ".xdmf", ".inp")
    assert [is_mesh_file(name) for name in ("a.VTU", "b/c.Inp", "a.csv", "vtu", "-")] == [
        True,
        True,
        False,
        False,
        False,
    ]


def test_a_file_may_have_four_gibibytes(tmp_path: Path, read: Read) -> None:
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


def test_without_the_library_its_formats_say_what_to_install(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "meshio", None)
    (tmp_path / "a.MED").write_text("")
    with pytest.raises(Problem) as refused:
        read_mesh_file(str(tmp_path / "a.MED"))
    found = refused.value
    assert (found.status, found.kind) == (503, NOT_INSTALLED)
    assert found.title == "Optional extra not installed"
    assert found.detail == ".med files are read by meshio: pip install 'toeline[mesh]'"
