"""Numbers of nodes and values at corners, byte by byte and step by step, beside what the writing library can make."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import h5py
import meshio
import numpy as np
import pytest

from service.mesh.files import read_mesh_file
from service.mesh.numbers import numbers_of_file
from service.mesh.raw import OF_FILE
from service.mesh.stresses import jumps_of
from tests.api.test_mesh_numbers import CELLS, CORNERS, POINTS, element_nodal, med
from tests.api.test_mesh_stresses_by_hand import SIX, layout, raw


@pytest.mark.parametrize("form", ["gmsh", "gmsh22"])
@pytest.mark.parametrize("binary", [False, True])
def test_numbers_of_every_version_are_those_of_the_file(tmp_path: Path, form: str, binary: bool) -> None:
    meshio.Mesh(POINTS, [("tetra", CELLS)]).write(tmp_path / "a.msh", file_format=form, binary=binary)
    assert numbers_of_file(tmp_path / "a.msh").tolist() == [1, 2, 3, 4, 5]  # type: ignore[union-attr]
    assert read_mesh_file(str(tmp_path / "a.msh")).numbered == OF_FILE


@pytest.mark.parametrize("dimension", [1, 2])
def test_nodes_with_parameters_of_their_surface_are_skipped_by_their_size(tmp_path: Path, dimension: int) -> None:
    """Behind three coordinates a node has as many parameters as its surface or curve has dimensions."""
    content = b"$MeshFormat\n4.1 1 8\n\n$EndMeshFormat\n$Nodes\n" + np.array([2, 5, 3, 40], dtype="u8").tobytes()
    for own, parametric in (([7, 12], 1), ([3, 40, 9], 0)):
        content += np.array([dimension, 1, parametric], dtype="i4").tobytes()
        content += np.array([len(own), *own], dtype="u8").tobytes()
        content += np.full(len(own) * (3 + dimension * parametric), 99.0).tobytes()
    (tmp_path / "a.msh").write_bytes(content + b"\n$EndNodes\n")
    assert numbers_of_file(tmp_path / "a.msh").tolist() == [7, 12, 3, 40, 9]  # type: ignore[union-attr]


def test_other_formats_have_no_numbers_to_read(tmp_path: Path) -> None:
    assert numbers_of_file(tmp_path / "none.vtk") is None


def test_a_field_with_nodal_values_in_one_step_keeps_them(tmp_path: Path) -> None:
    file = med(tmp_path, point_data={"S": np.arange(30.0).reshape(5, 6)})
    other = tmp_path / "other"
    other.mkdir()
    with h5py.File(file, "r+") as content, h5py.File(element_nodal(other, CORNERS), "r") as corners:
        field, (key,) = content["CHA"]["S"], list(corners["CHA"]["S"])
        corners.copy(corners["CHA"]["S"][key], field, "1" + key)
        field["1" + key].attrs["PDT"] = 2.0
    found = read_mesh_file(str(file))
    assert {name: array.shape for name, array in found.point_data.items()} == {"S[0] - 0": (5, 6), "S[1] - 2": (5, 6)}
    assert found.point_data["S[0] - 0"][1].tolist() == [6.0, 7.0, 8.0, 9.0, 10.0, 11.0]
    np.testing.assert_allclose(found.jumps["S[1] - 2"], [0.0, 0.4, 0.0, 2.0, 0.0])


def jumps(case: Any, **of_arrays: list[float]) -> dict[int, float]:
    data: dict[str, Any] = {"S": np.zeros((4, 6)), "T": np.zeros((4, 6))}
    held = raw(point_data=data, jumps={name: np.array(values) for name, values in of_arrays.items()})
    return jumps_of(held, layout(case))


def test_the_largest_jump_of_the_arrays_that_cases_use_counts_at_each_node() -> None:
    assert jumps("S", S=[0.1, 0.2, 0.3, 0.4], T=[0.9, 0.9, 0.9, 0.9]) == {0: 0.1, 1: 0.2, 2: 0.3, 3: 0.4}
    six = {name: "T" if name == "yz" else "S" for name in SIX}
    assert jumps(six, S=[0.1, 0.5, 0.3, 0.0], T=[0.4, 0.2, 0.3, 0.1]) == {0: 0.4, 1: 0.5, 2: 0.3, 3: 0.1}
    assert jumps("S") == {}
    assert jumps("S", T=[0.9, 0.9, 0.9, 0.9]) == {}
