"""Surface, edges and doubts of solid meshes: against dihedral angles, curved elements, and meshes that are wrong."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from fatcore.errors import InputError
from fatcore.stress.weld_lines.solid._edges import edge_nodes, edges_of, sides_of
from fatcore.stress.weld_lines.solid._faces import face_table
from fatcore.stress.weld_lines.solid._surface import surface_of
from fatcore.stress.weld_lines.solid.detect import find_weld_lines
from fatcore.stress.weld_lines.solid.elements import SOLID_ELEMENTS, SolidElement, node_count
from fatcore.stress.weld_lines.solid.mesh import ElementBlock, SolidMesh, solid_mesh
from tests.shapes.corner import MIDDLES, corner_of
from tests.shapes.files import model
from tests.shapes.sweep import Points, section, straight, swept

CUBE = np.array([[x, y, z] for z in (0.0, 1.0) for x, y in ((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0))])
TEE = [(-15.0, -6.0), (15.0, -6.0), (15.0, 0.0), (9.0, 0.0), (3.0, 6.0), (3.0, 12.0), (-3.0, 12.0)]
TEE += [(-3.0, 6.0), (-9.0, 0.0), (-15.0, 0.0)]


def tee(element: str = "tet4", size: float = 2.0) -> SolidMesh:
    points, triangles = section(TEE, size)
    return swept(points, triangles, np.arange(0.0, 13.0, size), element=element, place=straight)


def codes(mesh: SolidMesh) -> list[str]:
    return [finding.code for finding in find_weld_lines(mesh).findings]


@pytest.mark.parametrize("name", ["stiffener-tet10-half", "tee"])
def test_opening_is_what_the_dihedral_angles_of_the_tetrahedra_leave(name: str) -> None:
    """Straight tetrahedra: 360 deg less the sum of the dihedral angles at each surface edge."""
    mesh = tee() if name == "tee" else model(name)
    sides = sides_of(surface_of(mesh))
    edges = edges_of(sides)
    nodes = np.sort(edge_nodes(sides, edges), axis=1)
    inside = dihedral_sums(mesh.points_mm, mesh.element_blocks[0].nodes[:, :4])
    expected = np.array([360.0 - inside[a, b] for a, b in nodes.tolist()])
    assert len(expected) > 500
    assert edges.opening_deg == pytest.approx(np.where(expected < 1e-6, 0.0, expected), abs=1e-6)


def dihedral_sums(points: Points, tets: NDArray[np.int64]) -> dict[tuple[int, int], float]:
    total: dict[tuple[int, int], float] = {}
    for a, b, c, d in ((0, 1, 2, 3), (0, 2, 1, 3), (0, 3, 1, 2), (1, 2, 0, 3), (1, 3, 0, 2), (2, 3, 0, 1)):
        start, end, one, other = (points[tets[:, k]] for k in (a, b, c, d))
        along = (end - start) / np.linalg.norm(end - start, axis=1, keepdims=True)
        u, v = (arm - np.sum(arm * along, axis=1, keepdims=True) * along for arm in (one - start, other - start))
        cosine = np.sum(u * v, axis=1) / np.linalg.norm(u, axis=1) / np.linalg.norm(v, axis=1)
        for pair, angle in zip(np.sort(tets[:, [a, b]], axis=1).tolist(), np.degrees(np.arccos(cosine)), strict=True):
            key = (pair[0], pair[1])
            total[key] = total.get(key, 0.0) + float(angle)
    return total


def reference(element: SolidElement) -> Points:
    """Corners of a well-shaped element, then the middles of its sides in the order of the format."""
    shapes = {
        "tet": CUBE[[0, 1, 3, 4]],
        "brick": CUBE,
        "wedge": CUBE[[0, 1, 3, 4, 5, 7]],
        "pyramid": np.vstack([CUBE[:4], [[0.5, 0.5, 1.0]]]),
    }
    corners = shapes[element.rstrip("0123456789")]
    pairs = [(int(a), int(b)) for a, b in MIDDLES.get(element, "").split()]
    return np.vstack([corners, *([(corners[a] + corners[b]) / 2.0] for a, b in pairs)])


def bulged(points: Points) -> Points:
    """A quadratic map of space, which elements with mid-side nodes follow exactly on their sides."""
    x, y, z = points.T
    return np.column_stack([x + 0.2 * y * y, y + 0.15 * z * z - 0.1 * x * z, z + 0.25 * x * x])


@pytest.mark.parametrize("element", SOLID_ELEMENTS)
def test_every_face_of_every_element_is_closed_and_looks_outward(element: SolidElement) -> None:
    points = reference(element)
    assert len(points) == node_count(element)
    surface = surface_of(solid_mesh(points, [(element, np.arange(len(points))[np.newaxis])]))
    edges = edges_of(sides_of(surface))
    assert len(edges.unpaired) == 0
    out = np.einsum("fx,fx->f", surface.normals(), surface.centroids() - surface.centroids().mean(axis=0))
    assert out.min() > 0.0
    assert edges.opening_deg.min() > 180.0


@pytest.mark.parametrize("element", [each for each in SOLID_ELEMENTS if node_count(each) > 8])
def test_curved_faces_count_as_they_are_at_the_middle_of_the_side(element: SolidElement) -> None:
    """The angle between the tangent planes of the map itself, by its derivative, where the sides follow it."""
    flat = reference(element)
    numbers = np.arange(len(flat))[np.newaxis]
    before, after = (surface_of(solid_mesh(each, [(element, numbers)])) for each in (flat, bulged(flat)))
    sides, edges = sides_of(before), edges_of(sides_of(before))
    now = edges_of(sides_of(after))
    middle = flat[sides.middle[edges.forward]]
    normals = [mapped_normals(before.normals()[sides.face[each]], middle) for each in (edges.forward, edges.backward)]
    angle = np.degrees(np.arccos(np.einsum("ex,ex->e", *normals)))
    assert now.opening_deg == pytest.approx(180.0 + angle, abs=1e-6)


def mapped_normals(normals: Points, at: Points) -> Points:
    x, y, z = at.T
    zero, one = np.zeros(len(at)), np.ones(len(at))
    rows = [[one, 0.4 * y, zero], [-0.1 * z, one, 0.3 * z - 0.1 * x], [0.5 * x, zero, one]]
    jacobian = np.moveaxis(np.array(rows), 2, 0)
    turned = np.einsum("exy,ey->ex", np.linalg.inv(jacobian).transpose(0, 2, 1), normals)
    return np.asarray(turned / np.linalg.norm(turned, axis=1, keepdims=True))


@pytest.mark.parametrize("element", ["tet10", "brick20", "wedge15", "pyramid13"])
def test_each_mid_side_node_belongs_to_the_corners_beside_it(element: SolidElement) -> None:
    points, table = reference(element), face_table(element)
    for corners, middles in zip(table.corners.tolist(), table.middles.tolist(), strict=True):
        size = 3 if corners[3] < 0 else 4
        for k in range(size):
            ends = points[corners[k]], points[corners[(k + 1) % size]]
            assert points[middles[k]] == pytest.approx((ends[0] + ends[1]) / 2.0)


@pytest.mark.parametrize("element", ["wedge6", "wedge15", "tet4", "tet10"])
def test_a_tee_of_any_element_has_its_four_toes(element: str) -> None:
    outcome = find_weld_lines(tee(element))
    assert [(line.kind, len(line.node_index), line.elements) for line in outcome.lines] == [("toe", 7, (element,))] * 4
    assert [line.opening_angle_deg for line in outcome.lines] == pytest.approx([135.0] * 4)
    assert outcome.left_out == ()


@pytest.mark.parametrize("element", SOLID_ELEMENTS)
def test_an_inner_corner_is_one_line_in_every_kind_of_element(element: SolidElement) -> None:
    points, cells = corner_of(element)
    (line,) = find_weld_lines(solid_mesh(points, [(element, cells)])).lines
    assert (line.opening_angle_deg, len(line.node_index), line.elements) == (90.0, 5, (element,))
    assert line.coordinates_mm[:, [0, 2]] == pytest.approx(np.ones((5, 2)))
    assert line.bisector == pytest.approx(np.tile([-np.sqrt(0.5), 0.0, -np.sqrt(0.5)], (5, 1)))


def columns_touching(steps: int) -> SolidMesh:
    """Two columns of unit cubes that touch in one vertical edge."""
    cubes = [CUBE + np.array([side, side, level]) for level in range(steps) for side in (0.0, 1.0)]
    points, back = np.unique(np.vstack(cubes), axis=0, return_inverse=True)
    return solid_mesh(points, [("brick8", back.reshape(-1, 8))])


def test_bodies_that_touch_in_an_edge_have_a_line_on_either_side_of_it() -> None:
    outcome = find_weld_lines(columns_touching(6))
    assert [(line.opening_angle_deg, len(line.node_index)) for line in outcome.lines] == [(90.0, 7), (90.0, 7)]
    one, other = (line.bisector.mean(axis=0) for line in outcome.lines)
    assert one == pytest.approx(-other)
    assert "edges-of-several-bodies" in [finding.code for finding in outcome.findings]


def test_a_torn_mesh_is_refused_with_the_way_out() -> None:
    mesh = tee()
    nodes = mesh.element_blocks[0].nodes
    with pytest.raises(InputError, match=r"nodes of its own.*shared nodes"):
        solid_mesh(mesh.points_mm[nodes.ravel()], [("tet4", np.arange(nodes.size).reshape(nodes.shape))])


def test_elements_that_lie_twice_are_refused() -> None:
    nodes = tee().element_blocks[0].nodes
    with pytest.raises(InputError, match="lie twice"):
        find_weld_lines(solid_mesh(tee().points_mm, [("tet4", np.vstack([nodes, nodes]))]))
    with pytest.raises(InputError, match="lie twice"):
        find_weld_lines(solid_mesh(tee().points_mm, [("tet4", np.vstack([nodes, nodes[:5], nodes[:5]]))]))


def test_faces_of_elements_that_lie_twice_are_refused_too() -> None:
    """Of elements with other corners and one face in common, and of a mesh that is closed in itself."""
    for rows, message in (([list(range(8))] * 2, "no outer surface"), ([list(range(8))] * 3, "more than two elements")):
        twice = ElementBlock("brick8", np.array(rows))
        with pytest.raises(InputError, match=message):
            find_weld_lines(SolidMesh(np.array(CUBE, dtype=float), (twice,)))


def test_parts_that_are_tied_and_not_joined_are_told() -> None:
    mesh = tee()
    nodes = mesh.element_blocks[0].nodes
    apart = solid_mesh(
        np.vstack([mesh.points_mm, mesh.points_mm + np.array([0.0, 0.0, 18.0])]),
        [("tet4", np.vstack([nodes, nodes + len(mesh.points_mm)]))],
    )
    messages = [f.message for f in find_weld_lines(apart).findings if f.code == "parts-tied"]
    assert len(messages) == 1
    assert "2 bodies share no node, with " in messages[0]
    far = solid_mesh(np.vstack([mesh.points_mm, mesh.points_mm + 100.0]), [("tet4", apart.element_blocks[0].nodes)])
    assert "pairs" not in next(f.message for f in find_weld_lines(far).findings if f.code == "parts-not-joined")


def test_the_two_edges_at_the_end_of_a_narrow_gap_are_told() -> None:
    gap = [(-10.0, -6.0), (10.0, -6.0), (10.0, 0.0), (0.0, 0.0), (0.0, 0.2), (10.0, 0.2), (10.0, 8.0), (-10.0, 8.0)]
    points, triangles = section(gap, 2.0)
    mesh = swept(points, triangles, np.arange(0.0, 13.0, 2.0), element="tet4", place=straight)
    outcome = find_weld_lines(mesh)
    assert [line.opening_angle_deg for line in outcome.lines] == pytest.approx([90.0, 90.0])
    assert [f.message for f in outcome.findings if f.code == "lines-too-close"] == [
        "toe-1 and toe-2 run 0.2 mm apart: two edges of one gap"
    ]


def test_nodes_that_hang_in_the_middle_of_an_edge_are_told() -> None:
    """A brick beside two halves of one: the faces between them are open to both sides."""
    halves = [CUBE * [1.0, 1.0, 0.5] + [1.0, 0.0, 0.5 * level] for level in range(2)]
    points, back = np.unique(np.vstack([CUBE, *halves]), axis=0, return_inverse=True)
    messages = [
        finding.message
        for finding in find_weld_lines(solid_mesh(points, [("brick8", back.reshape(-1, 8))])).findings
        if finding.code == "nodes-hanging"
    ]
    assert len(messages) == 1
    assert messages[0].startswith("2 nodes")
    assert "nodes-hanging" not in codes(tee())


def test_an_element_turned_inside_out_leaves_the_surface_open_and_that_is_told() -> None:
    assert "mesh-not-closed" in codes(solid_mesh(CUBE, [("brick8", [[0, 1, 2, 3, 6, 5, 4, 7]])]))
    assert "mesh-not-closed" not in codes(solid_mesh(CUBE, [("brick8", [[0, 1, 2, 3, 4, 5, 6, 7]])]))


def test_a_flat_element_in_an_edge_of_several_bodies_leaves_it_without_an_angle() -> None:
    touching = columns_touching(1)
    shared = np.flatnonzero((touching.points_mm[:, :2] == 1.0).all(axis=1))
    points = np.vstack([touching.points_mm, [[3.0, 3.0, 0.0], [4.0, 4.0, 1.0]]])
    flat = [[*shared, len(points) - 2, len(points) - 1]]
    mesh = solid_mesh(points, [("brick8", touching.element_blocks[0].nodes), ("tet4", flat)])
    assert "mesh-not-closed" in codes(mesh)


def test_steps_of_many_lengths_and_mixed_elements_are_told() -> None:
    points, triangles = section(TEE, 2.0)
    uneven = swept(points, triangles, np.array([0.0, 1.0, 4.0, 7.0, 10.0]), element="tet4", place=straight)
    assert codes(uneven).count("mesh-size-uneven") == 4
    wedges = swept(points, triangles, np.arange(0.0, 13.0, 2.0), element="wedge6", place=straight)
    first, rest = wedges.element_blocks[0].nodes[:200], wedges.element_blocks[0].nodes[200:]
    tets = np.vstack([first[:, [0, 1, 2, 5]], first[:, [0, 1, 4, 5]], first[:, [0, 3, 4, 5]]])
    mixed = find_weld_lines(solid_mesh(wedges.points_mm, [("wedge6", rest), ("tet4", tets)]))
    assert "elements-mixed" in [finding.code for finding in mixed.findings]


@pytest.mark.parametrize(
    ("points", "blocks", "where"),
    [
        (CUBE[:3], [("tet4", [[0, 1, 2, 2]])], "points_mm"),
        (CUBE[:, :2], [("tet4", [[0, 1, 2, 4]])], "points_mm"),
        (np.where(CUBE == 1.0, np.nan, CUBE), [("tet4", [[0, 1, 2, 4]])], "points_mm"),
        (CUBE, [("quad4", [[0, 1, 2, 3]])], "element"),
        (CUBE, [("tet4", [[0, 1, 2]])], "nodes"),
        (CUBE, [("tet4", [[0, 1, 2, 3], [1, 2, 3]])], "nodes"),
        (CUBE, [("tet4", [[0.0, 1.0, 2.0, 4.0]])], "nodes"),
        (CUBE, [("tet4", [[0, 1, 2, 8]])], "nodes"),
        (CUBE, [("tet4", [[0, 1, 2, -1]])], "nodes"),
        (CUBE, [("tet4", [[0, 1, 2, 2]])], "nodes"),
        (CUBE, [], "element_blocks"),
        (CUBE, [("tet4", np.zeros((0, 4), dtype=int))], "element_blocks"),
    ],
)
def test_what_is_no_solid_mesh_is_refused_where_it_is_wrong(
    points: Points, blocks: list[tuple[str, list[list[int]]]], where: str
) -> None:
    with pytest.raises(InputError) as refused:
        solid_mesh(points, blocks)
    assert where in refused.value.path


@pytest.mark.parametrize("element", ["tet10", "brick20", "wedge15", "pyramid13"])
def test_another_order_of_mid_side_nodes_is_refused(element: SolidElement) -> None:
    points, cells = corner_of(element)
    swapped = cells.copy()
    swapped[:, [-1, -2]] = swapped[:, [-2, -1]]
    with pytest.raises(InputError, match="orders the nodes of this kind otherwise"):
        solid_mesh(points, [(element, swapped)])


@pytest.mark.parametrize(("bulge", "refused"), [(0.39, False), (0.41, True)])
def test_a_mid_side_node_may_lie_four_tenths_of_its_side_off_the_chord(bulge: float, refused: bool) -> None:
    points, cells = corner_of("tet10", 1)
    middle = cells[0, 4]
    length = np.linalg.norm(points[cells[0, 0]] - points[cells[0, 1]])
    points[middle] += [0.0, 0.0, bulge * length]
    others = (cells == middle).any(axis=1).sum()
    assert others >= 1
    if refused:
        with pytest.raises(InputError, match="mid-side node"):
            solid_mesh(points, [("tet10", cells)])
    else:
        solid_mesh(points, [("tet10", cells)])


def test_limits_of_the_search_are_held() -> None:
    mesh = tee()
    assert len(find_weld_lines(mesh, opening_limit_deg=134.0).lines) == 0
    assert {line.kind for line in find_weld_lines(mesh, root_below_deg=136.0).lines} == {"root"}
    assert [each.reason for each in find_weld_lines(mesh, least_nodes=8).left_out] == ["short"] * 4
    with pytest.raises(InputError):
        find_weld_lines(mesh, opening_limit_deg=180.0)
