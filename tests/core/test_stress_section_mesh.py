"""Mesh, elements and loads of the cross-section solver: tiling, patch test, rigid motion, equilibrium."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fatcore.errors import NotConvergedError
from fatcore.stress.section import _shape
from fatcore.stress.section._cases import CASES
from fatcore.stress.section._elements import CUBATURE, constitutive, shapes
from fatcore.stress.section._mesh import Mesh, areas_of, mesh_of, require_tiling
from fatcore.stress.section._shape import Section, outline, tips_of
from fatcore.stress.section._solution import _EDGES, assemble, displacements, forces, held

NU = 0.3
CROSS = Section(plate=12.0, attachment=10.0, leg_plate=7.0, leg_attachment=5.0, slit_half=5.0, mirrored=True)
TEE = dataclasses.replace(CROSS, slit_half=3.0, mirrored=False)
FUSED = dataclasses.replace(CROSS, slit_half=0.0)
SECTIONS = {"cross": CROSS, "tee": TEE, "fused": FUSED}


@pytest.fixture(scope="module", params=SECTIONS, ids=str)
def case(request: pytest.FixtureRequest) -> tuple[Section, Mesh]:
    section = SECTIONS[request.param]
    return section, mesh_of(section, 0.28, 0.4)


def boundary_nodes(mesh: Mesh) -> np.ndarray:
    """Nodes of the edges that belong to one element."""
    edges = mesh.triangles[:, _EDGES].reshape(-1, 3)
    _, place, count = np.unique(edges[:, 1], return_index=True, return_counts=True)
    return np.unique(edges[place[count == 1]])


@settings(max_examples=40, deadline=None)
@given(st.floats(0.1, 10.0), st.floats(0.1, 10.0), st.floats(1 / 3, 3.0), st.floats(0.04, 1.0), st.booleans())
def test_every_permitted_section_is_tiled(b: float, leg: float, legs: float, gap: float, both: bool) -> None:
    attachment, leg_plate = 10.0 * b, leg * min(10.0, 10.0 * b)
    section = Section(
        plate=10.0,
        attachment=attachment,
        leg_plate=leg_plate,
        leg_attachment=legs * leg_plate,
        slit_half=gap * attachment / 2.0,
        mirrored=both,
    )
    mesh = mesh_of(section, 0.28, 0.5)  # raises unless the areas add up to that of the outline
    corners = mesh.triangles[:, :3]
    sides = [np.linalg.norm(mesh.nodes[corners[:, k]] - mesh.nodes[corners[:, k - 1]], axis=1) for k in range(3)]
    flatness = areas_of(mesh.nodes, corners) / np.max(sides, axis=0) ** 2
    assert flatness.min() > 0.005
    assert len(mesh.nodes) < 25_000


def test_tips_have_the_angles_of_the_flank() -> None:
    angles = {tip.name: tip.opening_angle_deg for tip in tips_of(CROSS)}
    flank = np.degrees(np.arctan2(5.0, 7.0))
    assert angles == pytest.approx({"root": 0.0, "plate-toe": 180 - flank, "attachment-toe": 90 + flank})
    assert [tip.name for tip in tips_of(FUSED)] == ["plate-toe", "attachment-toe"]


def test_bisectors_point_into_the_material() -> None:
    from fatcore.stress.section._points import inside

    for tip in tips_of(TEE):
        for share in (-0.95, 0.0, 0.95):
            angle = tip.bisector + share * tip.half_angle
            point = tip.position + 0.1 * np.array([np.cos(angle), np.sin(angle)])
            assert inside(TEE, point[None, :])[0]


def test_slit_opens_and_mesh_is_one_piece(case: tuple[Section, Mesh]) -> None:
    section, mesh = case
    on_slit = (np.abs(mesh.nodes[:, 1] - section.surface) < 1e-9) & (mesh.nodes[:, 0] < section.slit_half - 1e-7)
    places, count = np.unique(mesh.nodes[on_slit].round(9), axis=0, return_counts=True)
    if section.slit_half:
        assert len(places) > 20
        assert (count == 2).all()
    assert sorted(set(mesh.triangles.ravel())) == list(range(len(mesh.nodes)))


def test_a_mesh_that_does_not_tile_is_refused() -> None:
    corners = outline(FUSED)
    with pytest.raises(NotConvergedError):
        require_tiling(FUSED, corners, np.array([[0, 1, 2], [0, 2, 3]]))


def test_shapes_sum_to_one_and_rule_integrates_degree_five() -> None:
    natural, weights = CUBATURE
    np.testing.assert_allclose(shapes(natural).sum(axis=1), 1.0)
    a, b, _ = natural.T
    assert (weights * a**3 * b**2).sum() == pytest.approx(2.0 * 12.0 / 5040.0, rel=1e-12)  # 3! 2! 2! / 7!


def test_patch_test_constant_stress(case: tuple[Section, Mesh]) -> None:
    _, mesh = case
    strain = np.array([2e-3, -1e-3, 0.8e-3])
    x, y = mesh.nodes.T
    moved = np.column_stack([strain[0] * x + strain[2] * y, strain[1] * y])
    stiffness = assemble(mesh, False, NU)
    force = (stiffness @ moved.ravel()).reshape(-1, 2)
    inner = np.setdiff1d(np.arange(len(x)), boundary_nodes(mesh))
    assert len(inner) > 1000
    assert np.abs(force[inner]).max() < 1e-12 * np.abs(force).max() * len(inner)
    area = areas_of(mesh.nodes, mesh.triangles[:, :3]).sum()
    expected = strain @ constitutive(NU) @ strain * area
    assert moved.ravel() @ force.ravel() == pytest.approx(expected, rel=1e-10)


def test_patch_test_of_tearing(case: tuple[Section, Mesh]) -> None:
    _, mesh = case
    moved = mesh.nodes @ [3.0, -2.0]
    force = assemble(mesh, True, NU) @ moved
    inner = np.setdiff1d(np.arange(len(moved)), boundary_nodes(mesh))
    assert np.abs(force[inner]).max() < 1e-10 * np.abs(force).max()
    area = areas_of(mesh.nodes, mesh.triangles[:, :3]).sum()
    assert moved @ force == pytest.approx(13.0 * area * 0.5 / (1 + NU), rel=1e-10)


def test_rigid_motion_makes_no_force(case: tuple[Section, Mesh]) -> None:
    _, mesh = case
    x, y = mesh.nodes.T
    stiffness = assemble(mesh, False, NU)
    scale = np.abs(stiffness.data).max()
    for moved in (np.column_stack([x**0, 0 * x]), np.column_stack([0 * x, x**0]), np.column_stack([-y, x])):
        assert np.abs(stiffness @ moved.ravel()).max() < 1e-12 * scale * np.abs(moved).max()


@pytest.mark.parametrize("name", CASES)
def test_pins_carry_nothing_and_supports_carry_the_load(case: tuple[Section, Mesh], name: str) -> None:
    """The tractions balance: degrees of freedom held only against rigid motion have no reaction."""
    section, mesh = case
    load, span = CASES[name], 150.0
    moved = displacements(section, mesh, [name], NU, span)[name]
    width = moved.shape[1]
    applied = forces(section, mesh, load, span)
    reaction = (assemble(mesh, load.tearing, NU) @ moved.ravel() - applied).reshape(-1, width)
    size = np.abs(applied).max()
    x, y = mesh.nodes.T
    on_y_axis, on_bottom = np.abs(x) < 1e-9, np.abs(y - section.bottom) < 1e-9
    if load.tearing:
        by_symmetry = (on_y_axis & (not load.even_x)) | (on_bottom & section.mirrored & (not load.even_y))
        by_symmetry = by_symmetry[:, None]
    else:
        by_symmetry = np.zeros((len(x), 2), dtype=bool)
        by_symmetry[on_y_axis, 0 if load.even_x else 1] = True
        if section.mirrored:
            by_symmetry[on_bottom, 1 if load.even_y else 0] = True
    assert np.abs(reaction[~by_symmetry]).max() < 1e-6 * size
    total = applied.reshape(-1, width).sum(axis=0) + reaction.sum(axis=0)
    np.testing.assert_allclose(total, 0.0, atol=1e-6 * size)
    assert held(section, mesh, load).sum() >= by_symmetry.sum()


@pytest.mark.uncounted
@pytest.mark.parametrize("section", [CROSS, TEE], ids=["cross", "tee"])
def test_longer_arms_change_nothing(section: Section, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ends are far enough, and the moments of the loads are those at the weld whatever the length."""
    from fatcore.stress.section._response import responses

    def answer() -> np.ndarray:
        settings_ = {"poisson_ratio": NU, "control_radius_mm": 0.28, "span": 200.0, "step": 0.33}
        return np.stack([tip.intensities for tip in responses(section, tuple(CASES), **settings_)])

    short = answer()
    monkeypatch.setattr(_shape, "_ARM", 3.0)
    long = answer()
    scale = np.abs(short).max(axis=(0, 2))[None, :, None]
    np.testing.assert_allclose(long / scale, short / scale, atol=1.5e-3)


def rigid_motions(mesh: Mesh, tearing: bool) -> np.ndarray:
    """Motions of the whole body, one a column: along the line, or two translations and a turn."""
    x, y = mesh.nodes.T
    if tearing:
        return np.ones((len(x), 1))
    one, none = np.ones_like(x), np.zeros_like(x)
    moves = ((one, none), (none, one), (-y, x))
    return np.array([np.column_stack(move).ravel() for move in moves]).T


@pytest.mark.parametrize("name", CASES)
def test_what_is_held_stops_every_motion_of_the_whole_body(case: tuple[Section, Mesh], name: str) -> None:
    section, mesh = case
    motions = rigid_motions(mesh, CASES[name].tearing)
    stopped = motions[held(section, mesh, CASES[name])]
    assert np.linalg.matrix_rank(stopped) == motions.shape[1]


def test_a_triangle_across_the_slit_is_refused() -> None:
    section = TEE
    nodes, triangles = corners_of(mesh_of(section, 0.28, 0.4))
    require_tiling(section, nodes, triangles)
    on_slit = (np.abs(nodes[:, 1] - section.surface) < 1e-9) & (nodes[:, 0] < section.slit_half - 0.05)
    for turned in turned_edges(nodes, triangles, on_slit):
        with pytest.raises(NotConvergedError):
            require_tiling(section, nodes, turned)
        return
    pytest.fail("no edge of the slit can be turned")


def corners_of(mesh: Mesh) -> tuple[np.ndarray, np.ndarray]:
    """The mesh of straight triangles with the slit closed again: nodes at one place are one."""
    used = np.unique(mesh.triangles[:, :3])
    places, number = np.unique(mesh.nodes[used].round(9), axis=0, return_inverse=True)
    back = np.zeros(len(mesh.nodes), dtype=int)
    back[used] = number
    return places, back[mesh.triangles[:, :3]]


def turned_edges(nodes: np.ndarray, triangles: np.ndarray, marked: np.ndarray) -> Iterator[np.ndarray]:
    """The triangles with one edge between marked nodes turned to the other diagonal of its two triangles."""
    for first, one in enumerate(triangles):
        for k in range(3):
            a, b, apex = one[k], one[(k + 1) % 3], one[(k + 2) % 3]
            if not (marked[a] and marked[b]):
                continue
            for second in np.flatnonzero((triangles == a).any(axis=1) & (triangles == b).any(axis=1)):
                if second == first:
                    continue
                (other,) = set(triangles[second]) - {a, b}
                turned = triangles.copy()
                turned[first], turned[second] = (a, other, apex), (other, b, apex)
                if (areas_of(nodes, turned) > 0.0).all():
                    yield turned
