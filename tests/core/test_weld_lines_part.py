"""The surface of a part for drawing: known solids by their geometry."""

from __future__ import annotations

import numpy as np
import pytest

from fatcore.stress.weld_lines.solid.mesh import SolidMesh, solid_mesh
from fatcore.stress.weld_lines.solid.part import PartSurface, part_surface
from tests.shapes.files import MODELS, model
from tests.shapes.sweep import around_axis, section, straight, swept


def box(steps: tuple[int, int, int], size: float = 10.0) -> SolidMesh:
    """A block of bricks, each of one size."""
    nx, ny, nz = (n + 1 for n in steps)
    points = np.array([[x, y, z] for z in range(nz) for y in range(ny) for x in range(nx)]) * size
    base = [x + nx * (y + ny * z) for z in range(steps[2]) for y in range(steps[1]) for x in range(steps[0])]
    corners = np.array([0, 1, nx + 1, nx])
    offsets = np.concatenate([corners, corners + nx * ny])
    return solid_mesh(points, [("brick8", np.array(base)[:, np.newaxis] + offsets)])


def volume(part: PartSurface) -> float:
    a, b, c = (part.points_mm[part.triangles[:, k]] for k in range(3))
    return float(np.einsum("tx,tx->", a, np.cross(b, c)) / 6.0)


def test_triangles_close_round_the_volume_of_a_block() -> None:
    part = part_surface(box((3, 2, 1)))
    assert volume(part) == pytest.approx(6000.0)
    assert len(part.triangles) == 2 * (2 * (6 + 3 + 2))
    assert len(part.points_mm) == 24


def test_features_of_a_block_are_its_twelve_edges_from_everywhere() -> None:
    part = part_surface(box((3, 2, 2)))
    for sight in ([1.0, -1.3, 0.9], [0.0, 0.0, 1.0], [-3.0, 1.0, 0.2]):
        edges = part.points_mm[part.feature_edges(sight)]
        assert np.linalg.norm(edges[:, 1] - edges[:, 0], axis=1).sum() == pytest.approx(4 * (30.0 + 20.0 + 20.0))


def test_a_round_bar_shows_its_rims_and_two_outlines() -> None:
    points, triangles = section([(0.0 + 4.0, 0.0), (8.0, 0.0), (8.0, 20.0), (4.0, 20.0)], 2.0)
    angles = np.arange(24) * 2.0 * np.pi / 24
    part = part_surface(swept(points, triangles, angles, closed=True, place=around_axis))
    assert (part.turning_deg <= 90.0 + 1e-9).all()
    along = part.points_mm[part.feature_edges([1.0, 0.3, 0.0])]
    upright = np.abs(along[:, 1, 2] - along[:, 0, 2]) > 1e-9
    # outside and inside of the tube have two outlines each
    assert np.abs(along[upright, 1, 2] - along[upright, 0, 2]).sum() == pytest.approx(4 * 20.0)


def test_a_slit_of_no_thickness_is_an_edge_where_it_ends() -> None:
    found = part_surface(model("stiffener-hex8"))
    edges = found.points_mm[found.feature_edges([1.0, -1.3, 0.9])]
    roots = (np.abs(np.abs(edges[:, :, 0]) - 5.0) < 1e-6).all(axis=1) & (np.abs(edges[:, :, 2]) < 1e-6).all(axis=1)
    assert roots.sum() >= 2 * 15  # both roots of 16 nodes


@pytest.mark.parametrize("name", MODELS)
def test_every_edge_of_a_model_lies_between_two_of_its_faces(name: str) -> None:
    part = part_surface(model(name))
    assert part.edge_normals.shape == (len(part.edges), 2, 3)
    assert np.linalg.norm(part.edge_normals, axis=2) == pytest.approx(1.0)
    assert part.edges.max() < len(part.points_mm)
    assert volume(part) > 0.0


def test_a_straight_bar_of_wedges_is_drawn_by_its_outline_alone() -> None:
    points, triangles = section([(0.0, 0.0), (6.0, 0.0), (6.0, 4.0), (0.0, 4.0)], 2.0)
    part = part_surface(swept(points, triangles, np.arange(0.0, 9.0, 2.0), place=straight))
    edges = part.points_mm[part.feature_edges([1.0, 1.0, 1.0])]
    assert np.linalg.norm(edges[:, 1] - edges[:, 0], axis=1).sum() == pytest.approx(4 * (6.0 + 4.0 + 8.0))
