"""Numbers of nodes and values at corners, byte by byte and step by step, beside what the writing library can make."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import h5py
import numpy as np
import pytest

from service.mesh.files import read_mesh_file
from service.mesh.stresses import jumps_of
from tests.api.test_mesh_numbers import CORNERS, element_nodal, med
from tests.api.test_mesh_stresses_by_hand import SIX, layout, raw


@pytest.mark.parametrize("dimension", [1, 2])
def test_nodes_with_parameters_of_their_surface_are_skipped_by_their_size(tmp_path: Path, dimension: int) -> None:
    """Behind three coordinates a node has as many parameters as its surface or curve has dimensions."""
    content = b"$MeshFormat\n4.1 1 8\n\x01\0\0\0\n$EndMeshFormat\n$Nodes\n" + whole(2, 5, 3, 40)
    for own, parametric in (([7, 12], 1), ([3, 40, 9], 0)):
        content += np.array([dimension, 1, parametric], dtype="i4").tobytes() + whole(len(own), *own)
        content += np.full(len(own) * (3 + dimension * parametric), 99.0).tobytes()
    content += b"\n$EndNodes\n$Elements\n" + whole(0, 0, 0, 0) + b"\n$EndElements\n"
    (tmp_path / "a.msh").write_bytes(content)
    assert read_mesh_file(str(tmp_path / "a.msh")).node_id.tolist() == [7, 12, 3, 40, 9]


def whole(*values: int) -> bytes:
    return np.array(values, dtype="u8").tobytes()


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
