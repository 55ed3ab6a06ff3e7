"""What a search for weld lines cannot see reaches the check of the lines that it found, and its verdict."""

from __future__ import annotations

import numpy as np
import pytest

from fatcore.errors import InputError
from fatcore.stress.weld_lines.solid.mesh import SolidMesh
from service.mesh.mapping import map_mesh
from service.mesh.raw import RawMesh
from tests.api.test_mesh_doubts import MESH, answer, codes, made_map, raw_of
from tests.core.test_weld_lines_unsafe import BAR, bead, changing, drawn, sheared, with_tet


def other(mesh: SolidMesh, place: list[float]) -> RawMesh:
    """The part with a body of one element beside it."""
    return raw_of(with_tet(mesh, np.array(place), 2.0))


def test_lines_of_a_part_with_a_body_tied_to_it_are_undecided_and_those_of_one_with_a_body_far_away_are_not() -> None:
    mesh = drawn(BAR, element="tet10")
    tied = answer(map_mesh(other(mesh, [5.0, 2.0, 12.0]), made_map()).request)
    assert "parts-tied" in codes(tied)
    assert tied["answer"]["verdict"] == "undecided"
    apart = answer(map_mesh(other(mesh, [5.0, 2.0, 60.0]), made_map()).request)
    assert "parts-not-joined" in codes(apart)
    assert "parts-tied" not in codes(apart)


def test_faces_in_a_declared_plane_and_a_cut_line_are_said_in_the_check() -> None:
    half = answer(map_mesh(raw_of(drawn(BAR, element="tet10")), made_map(mesh={**MESH, "symmetry": ["x=0"]})).request)
    assert "faces-in-plane" in codes(half)
    cut = answer(map_mesh(raw_of(changing(drawn(bead(30.0, 30.0), element="tet10", width=24.0))), made_map()).request)
    assert "line-cut-by-limit" in codes(cut)


@pytest.mark.parametrize("by", [0.1, 0.17, 0.3, 0.5])
def test_a_line_askew_to_a_declared_plane_is_checked(by: float) -> None:
    mesh = sheared(drawn(BAR, element="tet10"), by)
    made = map_mesh(raw_of(mesh), made_map(mesh={**MESH, "symmetry": ["y=0"]}))
    assert answer(made.request)["answer"]["verdict"] in ("pass", "fail", "undecided")


@pytest.mark.parametrize("plane", ["x=15", "x=99"])
def test_a_plane_on_which_the_part_is_not_cut_is_refused_in_a_map(plane: str) -> None:
    with pytest.raises(InputError) as refused:
        map_mesh(raw_of(drawn(BAR, element="tet10")), made_map(mesh={**MESH, "symmetry": ["x=0", plane]}))
    assert refused.value.path == ("symmetry", 1)


def test_a_factor_that_leaves_no_part_is_refused() -> None:
    with pytest.raises(InputError, match="factor of lengths"):
        map_mesh(raw_of(drawn(BAR)), made_map(mesh={**MESH, "length_factor": 1e-30}))
