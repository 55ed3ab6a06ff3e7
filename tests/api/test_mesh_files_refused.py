"""Mesh files whose numbers, fields or nodes do not say what a reader would take of them: sorted, or refused."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import h5py
import numpy as np
import pytest

from fatcore.errors import InputError
from service.mesh.files import read_mesh_file
from service.mesh.stated import guard_stated
from service.mesh.tensors import COMPONENTS, guard_components
from tests.api import test_mesh_numbers
from tests.api.test_mesh_lines import BASE, mesh_map
from tests.api.test_mesh_numbers import (
    CORNERS,
    NUMBERS,
    element_nodal,
    lines,
    new_binary,
    new_text,
    old_text,
    read,
)

Change = Callable[[Any], object]


def changed(folder: Path, change: Change) -> str:
    """A MED file of two tetrahedra with a field of elements at their nodes, changed."""
    file = element_nodal(folder, CORNERS)
    with h5py.File(file, "r+") as content:
        change(content)
    return str(file)


def numbered(*numbers: Any) -> Change:
    return lambda content: next(iter(next(iter(content["ENS_MAA"].values())).values()))["NOE"].create_dataset(
        "NUM", data=numbers
    )


def field_of(content: Any) -> Any:
    return next(iter(content["CHA"]["S"].values()))["NOE.TE4"]


def on_elements(*numbers: int) -> Change:
    def change(content: Any) -> None:
        support = field_of(content)
        support.attrs["PFL"] = np.bytes_("some")
        support.move("MED_NO_PROFILE_INTERNAL", "some")
        content.create_group("PROFILS").create_group("some")["PFL"] = np.array(numbers)

    return change


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (numbered(1, 2, 3, 4), "no different whole numbers"),
        (numbered(1, 2, 3, 4, 4), "no different whole numbers"),
        (numbered(0, 2, 3, 4, 5), "no different whole numbers"),
        (numbered(1, 2, 3, 4, 2**53 + 1), "no different whole numbers"),
        (numbered(1.5, 2.0, 3.0, 4.0, 5.0), "no different whole numbers"),
        (numbered([1], [2], [3], [4], [5]), "no different whole numbers"),
        (lambda content: content["CHA"]["S"].attrs.create("MAI", np.bytes_("other")), "another mesh"),
        (on_elements(0, 1), "elements that there are not"),
        (on_elements(1, 3), "elements that there are not"),
        (lambda c: field_of(c)["MED_NO_PROFILE_INTERNAL"].attrs.create("NGA", 3), "other values than one a node"),
    ],
)
def test_numbers_profiles_and_fields_that_do_not_fit_the_mesh_are_refused(
    tmp_path: Path, change: Change, message: str
) -> None:
    with pytest.raises(InputError, match=message):
        read_mesh_file(changed(tmp_path, change))


def test_numbers_may_go_as_far_as_whole_numbers_do(tmp_path: Path) -> None:
    far = [1, 2, 3, 4, 2**53]
    assert read_mesh_file(changed(tmp_path, numbered(*far))).node_id.tolist() == far


def test_a_small_file_of_large_arrays_is_refused(tmp_path: Path) -> None:
    """Five GiB of zeros take some kilobytes."""
    size = {"shape": (5 << 27,), "dtype": "f8", "chunks": (1 << 20,), "compression": "gzip"}
    file = changed(tmp_path, lambda content: content.create_dataset("zeros", **size))
    assert Path(file).stat().st_size < 100_000
    with pytest.raises(InputError, match="its arrays have 5120 MiB, more than 4096"):
        read_mesh_file(file)


def test_names_of_components_may_not_contradict_the_order_that_is_stated(tmp_path: Path) -> None:
    called = ("SIXX", "SIYY", "SIZZ", "SIXY", "SIXZ", "SIYZ")
    names = np.bytes_("".join(f"{name:<16}" for name in called))
    raw = read_mesh_file(changed(tmp_path, lambda content: content["CHA"]["S"].attrs.create("NOM", names)))
    assert raw.components["S"] == called
    assert guard_components(called, ("xx", "yy", "zz", "xy", "zx", "yz"), 6) == ""
    assert "name no axes" in guard_components(("one", "two", "three", "four", "five", "six"), COMPONENTS, 6)
    assert guard_components(called, None, 6) == ""
    assert guard_components((), COMPONENTS, 6) == ""
    layout = mesh_map(mesh={**BASE, "cases": {"pull": "S"}}).mesh
    with pytest.raises(InputError, match="the file calls its numbers SIXX"):
        guard_stated(raw, layout)


def head(count: int, name: str = "S") -> bytes:
    return f'$NodeData\n1\n"{name}"\n1\n0.0\n3\n0\n1\n{count}\n'.encode()


def text_data(numbers: list[int], name: str = "S") -> bytes:
    """An array at the nodes whose value is the number of the node."""
    return head(len(numbers), name) + lines(*([n, float(n)] for n in numbers)) + b"$EndNodeData\n"


def binary_data(numbers: list[int]) -> bytes:
    rows = np.array([(n, float(n)) for n in numbers], dtype=[("n", "i4"), ("v", "f8")]).tobytes()
    return head(len(numbers)) + rows + b"\n$EndNodeData\n"


@pytest.mark.parametrize("order", [NUMBERS, sorted(NUMBERS), NUMBERS[::-1]])
@pytest.mark.parametrize("mesh", [old_text, new_text])
def test_values_at_nodes_of_an_msh_file_go_by_their_numbers(
    tmp_path: Path, mesh: Callable[[], bytes], order: list[int]
) -> None:
    found = read(tmp_path, mesh() + text_data(order))
    assert found.point_data["S"].tolist() == [float(n) for n in NUMBERS]


@pytest.mark.parametrize("order", [[1, 2, 3, 4, 5], [2, 1, 3, 5, 4]])
def test_binary_values_at_nodes_go_by_their_numbers_too(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, order: list[int]
) -> None:
    monkeypatch.setattr(test_mesh_numbers, "NUMBERS", [2, 1, 3, 5, 4])
    found = read(tmp_path, new_binary() + binary_data(order))
    assert found.point_data["S"].tolist() == [2.0, 1.0, 3.0, 5.0, 4.0]


def test_steps_and_parts_of_arrays_of_an_msh_file_are_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="'S' is there more than once"):
        read(tmp_path, old_text() + text_data(NUMBERS) + text_data(NUMBERS))
    with pytest.raises(InputError, match="'S' is given at other nodes"):
        read(tmp_path, old_text() + text_data([7, 12, 3, 40, 10]))
    two = read(tmp_path, old_text() + text_data(NUMBERS) + text_data(NUMBERS, "T"))
    assert sorted(two.point_data) == ["S", "T"]


def test_a_text_of_other_line_ends_or_with_blanks_is_read(tmp_path: Path) -> None:
    for content in (old_text(), new_text()):
        assert read(tmp_path, content.replace(b"$Nodes\n", b"$Nodes  \n")).node_id.tolist() == NUMBERS
        assert read(tmp_path, content.replace(b"\n", b"\r\n")).node_id.tolist() == NUMBERS
    comment = b"$Comments\nabout $Nodes\n$EndComments\n"
    assert read(tmp_path, old_text() + comment).node_id.tolist() == NUMBERS


def test_a_mesh_that_is_there_twice_must_have_the_same_nodes(tmp_path: Path) -> None:
    """Writers that add arrays to a file repeat the mesh before them."""
    nodes = old_text()[old_text().index(b"$Nodes") : old_text().index(b"$Elements")]
    assert read(tmp_path, old_text().replace(b"$Elements", nodes + b"$Elements")).node_id.tolist() == NUMBERS
    other = nodes.replace(b"12 1.0", b"13 1.0")
    with pytest.raises(InputError, match="2 sections of nodes that differ"):
        read(tmp_path, old_text().replace(b"$Nodes", other + b"$Nodes", 1))


DECK = b"*NODE\n1, 0, 0, 0\n2, 1, 0, 0\n3, 0, 1, 0\n4, 0, 0, 1\n*ELEMENT, TYPE=C3D4\n1, 1, 2, 3, 4\n"
PART = b"*PART, NAME=A\n" + DECK


@pytest.mark.parametrize(
    ("deck", "message"),
    [
        (DECK.replace(b"*NODE", b"*Node, System=C"), "a system of their own"),
        (b"*SYSTEM\n1, 0, 0\n" + DECK, "a system of their own"),
        (PART + b"*INSTANCE, NAME=A1, PART=A\n10, 0, 0\n*END INSTANCE\n", "an instance of a part that is moved"),
        (PART + b"*PART, NAME=B\n*END PART\n", "several parts"),
        (DECK.replace(b"*ELEMENT", b"*NODE\n4, 5, 5, 5\n*ELEMENT"), "stands for two nodes"),
    ],
)
def test_a_deck_that_moves_or_repeats_nodes_is_refused(tmp_path: Path, deck: bytes, message: str) -> None:
    with pytest.raises(InputError, match=message):
        read(tmp_path, deck, "a.inp")


def test_one_part_that_is_not_moved_is_read(tmp_path: Path) -> None:
    deck = PART + b"*INSTANCE, NAME=A1, PART=A\n*END INSTANCE\n"
    assert read(tmp_path, deck, "a.inp").node_id.tolist() == [1, 2, 3, 4]
