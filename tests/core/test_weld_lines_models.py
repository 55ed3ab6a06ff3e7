"""Weld lines of four solid models against the lines of their analytic geometry, found and nothing else."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from fatcore.stress.weld_lines.solid.detect import WeldLines, find_weld_lines
from fatcore.stress.weld_lines.solid.lines import SolidLine
from fatcore.stress.weld_lines.solid.mesh import SolidMesh, solid_mesh
from fatcore.stress.weld_lines.solid.symmetry import SymmetryPlane
from tests.shapes.files import MODELS, ExpectedLine, expected, model

HALF = (SymmetryPlane("y", 0.0),)


def symmetry_of(name: str) -> tuple[SymmetryPlane, ...]:
    return HALF if name.endswith("half") else ()


@pytest.fixture(scope="module")
def found() -> dict[str, WeldLines]:
    return {name: find_weld_lines(model(name), symmetry=symmetry_of(name)) for name in MODELS}


def matching(lines: tuple[SolidLine, ...], line: ExpectedLine) -> list[SolidLine]:
    """Those with a node within 60 % of their mesh size of every point of the expected line."""
    return [each for each in lines if _distances(each, line).max() < 0.6 * each.mesh_size_mm]


def _distances(each: SolidLine, line: ExpectedLine) -> NDArray[np.float64]:
    gaps = np.linalg.norm(each.coordinates_mm[:, np.newaxis] - line.points_mm, axis=2)
    return np.asarray(gaps.min(axis=0))


@pytest.mark.parametrize("name", MODELS)
def test_every_expected_line_is_found_and_nothing_else(name: str, found: dict[str, WeldLines]) -> None:
    lines = found[name].lines
    pairs = [(line, matching(lines, line)) for line in expected(name)]
    assert [len(same) for _, same in pairs] == [1] * len(lines)
    for line, (same,) in pairs:
        assert (same.kind, same.closed, len(same.node_index)) == (line.kind, line.closed, line.nodes)
        assert same.length_mm == pytest.approx(line.length_mm, rel=2e-3)
        assert same.opening_angle_deg == pytest.approx(line.opening_deg, abs=0.5)


@pytest.mark.parametrize("name", MODELS)
def test_frames_on_straights_are_those_of_the_geometry(name: str, found: dict[str, WeldLines]) -> None:
    lines = found[name].lines
    for line in expected(name):
        (same,) = matching(lines, line)
        at = np.linalg.norm(same.coordinates_mm[:, np.newaxis] - line.points_mm, axis=2).argmin(axis=0)
        straight = np.isclose(np.abs(line.tangent).max(axis=1), 1.0)
        along = np.abs(np.einsum("ij,ij->i", same.tangent[at], line.tangent))[straight]
        into = np.einsum("ij,ij->i", same.bisector[at], line.bisector)[straight]
        assert along.min() > np.cos(np.radians(0.2))
        assert into.min() > np.cos(np.radians(0.2))


def test_frames_on_the_rounded_toe_are_those_of_its_cone() -> None:
    """Plate toe 6 mm outside of a rectangle of 60 by 10 mm: bisector by elementary geometry."""
    for name, tangent_deg, bisector_deg in (("stiffener-tet10", 0.05, 0.1), ("stiffener-tet10-half", 4.7, 1.8)):
        line = find_weld_lines(model(name), symmetry=symmetry_of(name)).lines[0]
        out = line.coordinates_mm[:, :2] - np.clip(line.coordinates_mm[:, :2], [-30.0, -5.0], [30.0, 5.0])
        out /= np.linalg.norm(out, axis=1, keepdims=True)
        bisector = np.column_stack([-np.sin(np.radians(22.5)) * out, np.full(len(out), -np.cos(np.radians(22.5)))])
        tangent = np.column_stack([-out[:, 1], out[:, 0], np.zeros(len(out))])
        off = np.degrees(np.arccos(np.minimum(np.abs(np.einsum("ij,ij->i", tangent, line.tangent)), 1.0)))
        assert off.max() < tangent_deg
        assert np.einsum("ij,ij->i", bisector, line.bisector).min() > np.cos(np.radians(bisector_deg))


def test_half_a_model_without_its_plane_gives_the_same_lines_with_ends() -> None:
    open_ended = find_weld_lines(model("stiffener-tet10-half")).lines
    assert len(open_ended) == len(expected("stiffener-tet10-half"))
    assert not any(line.symmetric_start or line.symmetric_end for line in open_ended)
    assert any("y = 0" in finding.message for finding in find_weld_lines(model("stiffener-tet10-half")).findings)


def test_a_line_that_ends_on_its_plane_stands_square_to_it(found: dict[str, WeldLines]) -> None:
    toe = found["stiffener-tet10-half"].lines[0]
    assert toe.symmetric_start
    assert toe.symmetric_end
    assert np.abs(toe.tangent[[0, -1], 1]) == pytest.approx([1.0, 1.0], abs=1e-12)
    assert toe.bisector[[0, -1], 1] == pytest.approx([0.0, 0.0], abs=1e-12)


def turned(mesh: SolidMesh, scale: float, seed: int) -> tuple[SolidMesh, NDArray[np.int64]]:
    """The mesh turned, scaled, with nodes and elements in another order; and the old number of each new node."""
    rng = np.random.default_rng(seed)
    rotation = np.linalg.qr(rng.normal(size=(3, 3)))[0]
    rotation *= np.sign(np.linalg.det(rotation))
    old = rng.permutation(len(mesh.points_mm))
    new = np.argsort(old)
    blocks = [(block.element, new[rng.permutation(block.nodes)]) for block in mesh.element_blocks]
    return solid_mesh(scale * mesh.points_mm[old] @ rotation.T, blocks), old


@pytest.mark.parametrize("name", ["stiffener-tet10", "stiffener-hex20"])
def test_turned_scaled_and_renumbered_the_lines_have_the_same_nodes(name: str, found: dict[str, WeldLines]) -> None:
    other, old = turned(model(name), 1e-3, 5)
    now = {frozenset(old[line.node_index].tolist()) for line in find_weld_lines(other).lines}
    assert now == {frozenset(line.node_index.tolist()) for line in found[name].lines}


def test_turning_the_part_turns_its_frames() -> None:
    mesh = model("stiffener-hex8")
    quarter = np.array([[0.0, -1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])
    there = find_weld_lines(solid_mesh(mesh.points_mm @ quarter.T, [(b.element, b.nodes) for b in mesh.element_blocks]))
    for line in find_weld_lines(mesh).lines:
        (same,) = [each for each in there.lines if set(each.node_index) == set(line.node_index)]
        order = [same.node_index.tolist().index(node) for node in line.node_index]
        assert same.bisector[order] == pytest.approx(line.bisector @ quarter.T, abs=1e-9)
        assert np.abs(np.einsum("ij,ij->i", same.tangent[order], line.tangent @ quarter.T)) == pytest.approx(1.0)


@pytest.mark.parametrize("name", MODELS)
def test_loops_and_open_lines_start_where_coordinates_come_first(name: str, found: dict[str, WeldLines]) -> None:
    for line in found[name].lines:
        first, last = (tuple(np.round(line.coordinates_mm[at], 3)) for at in (0, -1))
        others = line.coordinates_mm[1:] if line.closed else line.coordinates_mm[-1:]
        assert first <= min(tuple(row) for row in np.round(others, 3).tolist())
        assert not line.closed or tuple(np.round(line.coordinates_mm[1], 3)) <= last


def test_merged_by_place_the_roots_are_gone_and_that_is_said() -> None:
    mesh = model("stiffener-hex8")
    places, back = np.unique(np.round(mesh.points_mm, 6), axis=0, return_inverse=True)
    merged = solid_mesh(places, [(block.element, back.ravel()[block.nodes]) for block in mesh.element_blocks])
    outcome = find_weld_lines(merged)
    assert [line.kind for line in outcome.lines] == ["toe"] * 4
    assert "no-slit" in [finding.code for finding in outcome.findings]
