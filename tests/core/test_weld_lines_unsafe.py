"""What a search for weld lines must not lose in silence, and meshes that must not bring it down."""

from __future__ import annotations

import time
import tracemalloc
from collections.abc import Callable

import numpy as np
import pytest

from fatcore.errors import InputError
from fatcore.stress.weld_lines.solid.detect import WeldLines, find_weld_lines
from fatcore.stress.weld_lines.solid.mesh import SolidMesh, solid_mesh
from fatcore.stress.weld_lines.solid.symmetry import SymmetryPlane, planes_of
from tests.core.test_weld_lines_models import symmetry_of
from tests.shapes.files import MODELS, model
from tests.shapes.sweep import Outline, Points, section, straight, swept

BAR: Outline = [(0, -10), (30, -10), (30, 0), (15, 0), (9, 6), (9, 12), (0, 12)]
STEP: Outline = [(0, -10), (30, -10), (30, 0), (15, 0), (15, 6), (9, 6), (9, 0), (0, 0)]


def drawn(outline: Outline, size: float = 2.0, element: str = "tet4", width: float = 12.0) -> SolidMesh:
    points, triangles = section([(float(x), float(y)) for x, y in outline], size)
    return swept(points, triangles, np.arange(0.0, width + 1.0, size), element=element, place=straight)


def codes(outcome: WeldLines) -> list[str]:
    return [finding.code for finding in outcome.findings]


def said(outcome: WeldLines, code: str) -> list[str]:
    return [finding.message for finding in outcome.findings if finding.code == code]


def moved(mesh: SolidMesh, points: Points) -> SolidMesh:
    return solid_mesh(points, [(block.element, block.nodes) for block in mesh.element_blocks])


def with_tet(mesh: SolidMesh, place: Points, size: float = 1.0) -> SolidMesh:
    """The mesh with one tetrahedron of its own somewhere else."""
    corners = place + size * np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]])
    blocks = [(block.element, block.nodes) for block in mesh.element_blocks]
    one = np.arange(4)[np.newaxis] + len(mesh.points_mm)
    return solid_mesh(np.vstack([mesh.points_mm, corners]), [*blocks, ("tet4", one)])


@pytest.mark.parametrize("far", [1e200, -1e200, 1.1e9])
def test_a_coordinate_that_no_part_has_is_refused_where_it_is(far: float) -> None:
    mesh = drawn(BAR)
    points = mesh.points_mm.copy()
    points[5, 1] = far
    with pytest.raises(InputError, match="beyond") as refused:
        moved(mesh, points)
    assert refused.value.path == ("points_mm", 5)
    points[5, 1] = -1e9
    find_weld_lines(moved(mesh, points))


@pytest.mark.parametrize("factor", [1e-300, 1e-9])
def test_a_part_without_extent_is_refused(factor: float) -> None:
    mesh = drawn(BAR)
    with pytest.raises(InputError, match="factor of lengths"):
        moved(mesh, factor * mesh.points_mm)
    assert len(find_weld_lines(moved(mesh, 1e-7 * mesh.points_mm)).lines) == 2


@pytest.mark.parametrize("place", [1e5, 1e8])
def test_one_element_far_away_does_not_make_all_nodes_one_place(place: float) -> None:
    mesh = drawn(BAR)
    alone, far = find_weld_lines(mesh), find_weld_lines(with_tet(mesh, np.full(3, place), 100.0))
    assert [line.node_index.tolist() for line in far.lines] == [line.node_index.tolist() for line in alone.lines]
    assert "nodes-coincide" not in codes(far)
    assert "nodes-hanging" not in codes(far)


def test_one_element_far_away_does_not_put_the_part_into_its_plane_of_symmetry() -> None:
    mesh, half = drawn(BAR), planes_of(["x=0"])
    far = find_weld_lines(with_tet(mesh, np.full(3, 1e6), 100.0), symmetry=half)
    assert [line.length_mm for line in far.lines] == [
        line.length_mm for line in find_weld_lines(mesh, symmetry=half).lines
    ]


def test_many_nodes_at_one_place_are_counted_once_each() -> None:
    """Pairs of them all would be fifty million."""
    count = 10_000
    rng = np.random.default_rng(3)
    points = np.vstack([[[0.0, 0.0, 0.0]], np.zeros((count, 3)), 5.0 + 1e3 * rng.random((2 * count + 1, 3))])
    outer = 1 + count + np.arange(2 * count).reshape(-1, 2)
    cells = np.column_stack([np.full(count, 3 * count + 1), 1 + np.arange(count), outer])
    started = time.process_time()
    outcome = find_weld_lines(solid_mesh(points, [("tet4", cells)]))
    assert time.process_time() - started < 10.0
    assert said(outcome, "nodes-coincide")[0].startswith(f"{count - 1} pairs")


def test_a_line_whose_nodes_all_lie_at_one_place_is_no_line() -> None:
    mesh = drawn(BAR)
    line = find_weld_lines(mesh).lines[0]
    points = mesh.points_mm.copy()
    points[line.node_index] = points[line.node_index[0]]
    outcome = find_weld_lines(moved(mesh, points))
    assert [set(each.node_index.tolist()) for each in outcome.lines] == [
        set(each.node_index.tolist()) for each in find_weld_lines(mesh).lines[1:]
    ]
    assert "mesh-not-closed" in codes(outcome)


def fan(count: int) -> SolidMesh:
    """Tetrahedra round one edge, each neighbour of the next, their outer corners anywhere."""
    points = np.vstack([[[0, 0, 0], [0, 0, 1]], np.random.default_rng(1).random((count + 1, 3))])
    return solid_mesh(points, [("tet4", [[0, 1, 2 + k, 3 + k] for k in range(count)])])


def book(count: int) -> SolidMesh:
    """Tetrahedra that share one edge and nothing else."""
    turn = np.linspace(0.0, 2.0 * np.pi, 2 * count, endpoint=False)
    points = np.vstack([[[0, 0, 0], [0, 0, 1]], np.column_stack([np.cos(turn), np.sin(turn), np.full(2 * count, 0.5)])])
    return solid_mesh(points, [("tet4", [[0, 1, 2 + 2 * k, 3 + 2 * k] for k in range(count)])])


@pytest.mark.uncounted
@pytest.mark.parametrize("build", [fan, book])
def test_twenty_thousand_elements_at_one_node_take_seconds_and_little_memory(
    build: Callable[[int], SolidMesh],
) -> None:
    mesh = build(20_000)
    started = time.process_time()
    outcome = find_weld_lines(mesh)
    assert time.process_time() - started < 6.0
    assert "nodes-of-many-faces" in codes(outcome)
    assert len(outcome.left_out) <= 1000
    tracemalloc.start()
    find_weld_lines(mesh)
    assert tracemalloc.get_traced_memory()[1] < 1e9
    tracemalloc.stop()


def test_hollows_are_told_as_before_where_few_faces_meet() -> None:
    assert "nodes-of-many-faces" not in codes(find_weld_lines(drawn(BAR)))


def sheared(mesh: SolidMesh, by: float) -> SolidMesh:
    return moved(mesh, mesh.points_mm + by * mesh.points_mm[:, [1]] * [1.0, 0.0, 0.0])


@pytest.mark.parametrize(("by", "goes_on"), [(0.5, False), (0.18, False), (0.17, True), (0.1, True)])
def test_a_line_askew_to_a_declared_plane_goes_on_where_it_is_within_10_deg_of_its_normal(
    by: float, goes_on: bool
) -> None:
    """The tangent of 10 deg is 0.1763."""
    lines = find_weld_lines(sheared(drawn(BAR), by), symmetry=planes_of(["y=0"])).lines
    toes = [line for line in lines if np.ptp(line.coordinates_mm[:, 1]) == 12.0]
    assert [line.symmetric_start for line in toes] == [goes_on] * len(toes)
    along = np.array([by, 1.0, 0.0]) / np.hypot(by, 1.0)
    for toe in toes:
        square = np.array([0.0, 1.0, 0.0]) if goes_on else along
        assert np.abs(toe.tangent[0]) == pytest.approx(square, abs=1e-6)
    assert len(toes) > 0


def test_a_toe_in_the_declared_plane_is_found_with_the_opening_of_the_whole_part() -> None:
    """A flank of 45 deg from the plane on: 135 deg on one side of the cut, 90 deg with the mirror image."""
    vee: Outline = [(0, -10), (30, -10), (30, 12), (12, 12), (0, 0)]
    outcome = find_weld_lines(drawn(vee), symmetry=planes_of(["x=0"]))
    (line,) = outcome.lines
    assert line.coordinates_mm[:, 0] == pytest.approx(np.zeros(7), abs=1e-12)
    assert line.node_opening_deg == pytest.approx(np.full(7, 90.0))
    assert line.bisector == pytest.approx(np.tile([0.0, 0.0, -1.0], (7, 1)), abs=1e-9)
    assert not line.symmetric_start
    assert all("x = 0" not in message for message in said(outcome, "lines-end-on-plane"))


def test_faces_in_a_declared_plane_are_said_since_they_may_be_a_slit() -> None:
    outcome = find_weld_lines(drawn(BAR), symmetry=planes_of(["x=0"]))
    (message,) = said(outcome, "faces-in-plane")
    assert "in x = 0 mm" in message
    assert "root" in message
    vee: Outline = [(0, 0), (12, 12), (30, 12), (30, -12), (12, -12)]
    assert "faces-in-plane" not in codes(find_weld_lines(drawn(vee), symmetry=planes_of(["x=0"])))


@pytest.mark.parametrize(
    ("planes", "match", "index"),
    [
        (["x=100"], "no node", 0),
        (["x=0", "x=31"], "no node", 1),
        (["x=15"], "both sides", 0),
        (["x=0", "y=0", "x=0.0001"], "twice", 2),
        (["x=0", "x=0"], "twice", 1),
    ],
)
def test_a_plane_on_which_the_part_is_not_cut_is_refused(planes: list[str], match: str, index: int) -> None:
    with pytest.raises(InputError, match=match) as refused:
        find_weld_lines(drawn(BAR), symmetry=planes_of(planes))
    assert refused.value.path == ("symmetry", index)


def test_two_planes_at_both_ends_of_the_part_are_taken() -> None:
    outcome = find_weld_lines(drawn(BAR), symmetry=(SymmetryPlane("y", 0.0), SymmetryPlane("y", 12.0)))
    assert [(line.symmetric_start, line.symmetric_end) for line in outcome.lines] == [(True, True)] * 2


def bead(left_deg: float, right_deg: float) -> Outline:
    """A weld on a plate whose flanks rise by so much."""
    left, right = (6.0 / np.tan(np.radians(angle)) for angle in (left_deg, right_deg))
    return [(-30, -10), (30, -10), (30, 0), (6 + right, 0), (6, 6), (-6, 6), (-6 - left, 0), (-30, 0)]


def test_a_toe_above_the_limit_is_listed_as_shallow_and_found_with_a_larger_limit() -> None:
    mesh = drawn(bead(23.0, 45.0))
    outcome = find_weld_lines(mesh)
    assert [line.opening_angle_deg for line in outcome.lines] == pytest.approx([135.0])
    (shallow,) = outcome.left_out
    assert (shallow.reason, shallow.nodes) == ("shallow", 7)
    assert shallow.opening_angle_deg == pytest.approx(157.0)
    assert "above the limit" in said(outcome, "edges-left-out")[0]
    assert len(find_weld_lines(mesh, opening_limit_deg=160.0).lines) == 2
    assert find_weld_lines(mesh, opening_limit_deg=175.0).left_out == ()


@pytest.mark.parametrize(("flank_deg", "listed"), [(11.0, 1), (9.0, 0)])
def test_edges_count_as_flat_above_170_deg(flank_deg: float, listed: int) -> None:
    rise = 30.0 * float(np.tan(np.radians(flank_deg)))
    outcome = find_weld_lines(drawn([(-30, -10), (30, -10), (30, 0), (0, 0), (-30, rise)]))
    assert [each.reason for each in outcome.left_out] == ["shallow"] * listed


def changing(mesh: SolidMesh) -> SolidMesh:
    """Flanks that grow flatter along the weld: the height falls from whole to a third."""
    points = mesh.points_mm.copy()
    high = points[:, 2] > 0.0
    points[high, 2] *= 1.0 - points[high, 1] / 36.0
    return moved(mesh, points)


def test_a_line_that_is_cut_by_the_limit_says_so_with_its_end() -> None:
    outcome = find_weld_lines(changing(drawn(bead(30.0, 30.0), width=24.0)))
    assert len(outcome.lines) == 2
    messages = said(outcome, "line-cut-by-limit")
    assert sorted(message.split(" is cut at its ")[0] for message in messages) == ["toe-1", "toe-2"]
    for line in outcome.lines:
        assert any(message.startswith(f"{line.name} is cut at its end (") for message in messages)
    assert [each.reason for each in outcome.left_out] == ["shallow", "shallow"]
    whole = find_weld_lines(changing(drawn(bead(30.0, 30.0), width=24.0)), opening_limit_deg=172.0)
    assert "line-cut-by-limit" not in codes(whole)


def test_the_start_of_a_line_is_cut_by_the_limit_too() -> None:
    mesh = changing(drawn(bead(30.0, 30.0), width=24.0))
    turned = moved(mesh, mesh.points_mm * [-1.0, -1.0, 1.0])
    assert all("at its start" in message for message in said(find_weld_lines(turned), "line-cut-by-limit"))
    assert len(said(find_weld_lines(turned), "line-cut-by-limit")) == 2


@pytest.mark.parametrize("name", MODELS)
def test_rounded_corners_of_real_models_are_no_shallow_toes(name: str) -> None:
    outcome = find_weld_lines(model(name), symmetry=symmetry_of(name))
    new = {"line-cut-by-limit", "lines-in-pieces", "faces-not-matching", "parts-tied", "nodes-of-many-faces"}
    assert new.isdisjoint(codes(outcome))
    assert "shallow" not in {each.reason for each in outcome.left_out}


def test_the_last_flat_of_a_cast_radius_is_no_shallow_toe() -> None:
    """Inscribed in a fillet, the first and the last edge turn by half of the others, here 165 deg."""
    turn = np.radians(np.linspace(270.0, 180.0, 5))
    radius = [(18 + 12 * float(np.cos(a)), 12 + 12 * float(np.sin(a))) for a in turn]
    outline: Outline = [(0, -10), (40, -10), (40, 0), *radius, (6, 30), (0, 30)]
    assert "shallow" not in {each.reason for each in find_weld_lines(drawn(outline, 4.0)).left_out}


def polygon_on_plate(sides: int) -> SolidMesh:
    """A prism of so many sides on a round plate, bricks of one step on each side."""
    turn = np.linspace(0.0, 2.0 * np.pi, sides, endpoint=False)
    radii, heights = np.array([4.0, 6.0, 10.0, 14.0, 18.0]), np.array([-8.0, -4.0, 0.0, 4.0, 8.0])
    points = np.array([[r * np.cos(a), r * np.sin(a), z] for z in heights for r in radii for a in turn])
    number = np.arange(len(points)).reshape(5, 5, sides)
    square = [(0, 0), (1, 0), (1, 1), (0, 1)]
    cells = [
        [number[z + up, r + out, (a + on) % sides] for up in (0, 1) for out, on in square]
        for z in range(4)
        for r in range(4 if z < 2 else 2)
        for a in range(sides)
    ]
    return solid_mesh(points, [("brick8", cells)])


def test_a_ring_of_few_flats_that_falls_into_pieces_is_told() -> None:
    outcome = find_weld_lines(polygon_on_plate(8))
    (message,) = said(outcome, "lines-in-pieces")
    assert "largest of 8 nodes and 90 deg" in message
    assert len(find_weld_lines(polygon_on_plate(8), kink_deg=50.0).lines) >= 1
    assert "lines-in-pieces" not in codes(find_weld_lines(polygon_on_plate(8), kink_deg=50.0))
    assert "lines-in-pieces" not in codes(find_weld_lines(polygon_on_plate(4)))
    assert "lines-in-pieces" not in codes(find_weld_lines(polygon_on_plate(24)))


def two_blocks(gap: float, size: float = 2.0, size_above: float = 2.0) -> SolidMesh:
    below = drawn([(0, -10), (30, -10), (30, 0), (0, 0)], size)
    above = drawn([(8, gap), (20, gap), (20, 12), (8, 12)], size_above)
    cells = np.vstack([below.element_blocks[0].nodes, above.element_blocks[0].nodes + len(below.points_mm)])
    return solid_mesh(np.vstack([below.points_mm, above.points_mm]), [("tet4", cells)])


@pytest.mark.parametrize(
    ("gap", "size", "size_above", "code"),
    [
        (0.0, 2.0, 2.0, "parts-tied"),
        (0.3, 2.0, 2.0, "parts-tied"),
        (0.3, 6.0, 1.0, "parts-tied"),
        (8.0, 2.0, 2.0, "parts-not-joined"),
    ],
)
def test_bodies_near_each_other_are_beyond_the_search_and_those_apart_are_doubtful(
    gap: float, size: float, size_above: float, code: str
) -> None:
    outcome = find_weld_lines(two_blocks(gap, size, size_above))
    severity = {finding.code: finding.severity for finding in outcome.findings if finding.code.startswith("parts-")}
    assert severity == {code: "outside" if code == "parts-tied" else "caution"}


def test_that_no_slit_is_in_the_mesh_is_not_said_of_one_with_roots() -> None:
    """A slit of a hundredth of a millimetre at its mouth that ends in a sharp edge."""
    wedge: Outline = [(0, -10), (30, -10), (30, -0.05), (10, 0), (30, 0.05), (30, 10), (0, 10)]
    outcome = find_weld_lines(drawn(wedge))
    assert [line.kind for line in outcome.lines] == ["root"]
    assert "no-slit" not in codes(outcome)
    assert "no-slit" in codes(find_weld_lines(drawn(BAR)))


def bricks(lower: str, upper: str) -> SolidMesh:
    """Two layers of bricks, each divided as it says, on common nodes."""
    axis = np.arange(4)
    points = np.array([[x, y, z] for x in axis for y in axis for z in (0, 1, 2)], dtype=float)
    number = np.arange(len(points)).reshape(4, 4, 3)
    parts = {"brick8": [list(range(8))], "one": [[0, 1, 2, 4, 5, 6], [0, 2, 3, 4, 6, 7]]}
    parts["other"] = [[1, 2, 3, 5, 6, 7], [1, 3, 0, 5, 7, 4]]
    blocks = []
    for level, name in ((0, lower), (1, upper)):
        corners = [
            [number[x + i, y + j, level + k] for k in (0, 1) for i, j in ((0, 0), (1, 0), (1, 1), (0, 1))]
            for x in range(3)
            for y in range(3)
        ]
        cells = np.vstack([np.array(corners)[:, part] for part in parts[name]])
        blocks.append(("brick8" if name == "brick8" else "wedge6", cells))
    return solid_mesh(points, blocks)


@pytest.mark.parametrize(
    ("lower", "upper", "faces"),
    [("brick8", "one", 27), ("one", "brick8", 27), ("one", "other", 36), ("one", "one", 0), ("brick8", "brick8", 0)],
)
def test_faces_that_do_not_match_are_counted_and_are_no_lines(lower: str, upper: str, faces: int) -> None:
    outcome = find_weld_lines(bricks(lower, upper))
    messages = said(outcome, "faces-not-matching")
    assert [message.split(" ")[0] for message in messages] == ([str(faces)] if faces else [])
    assert outcome.lines == outcome.left_out == ()


def test_the_lips_of_a_slit_match() -> None:
    assert "faces-not-matching" not in codes(find_weld_lines(model("stiffener-hex8")))


def test_a_long_list_of_what_was_left_out_is_cut_and_counted() -> None:
    outcome = find_weld_lines(book(1500))
    assert len(outcome.left_out) == 1000
    assert said(outcome, "edges-left-out") == [
        "1500 chains of re-entrant edges are left out: too short, of which the 1000 longest of all are listed"
    ]


def test_nodes_within_a_hundredth_of_an_edge_lie_on_the_plane() -> None:
    """Files of few digits: nodes of the cut off by 0.005 edges; by 0.02 edges they are on both sides of it."""
    mesh = drawn(BAR)
    noise = np.random.default_rng(2).choice([-1.0, 1.0], len(mesh.points_mm)) * (mesh.points_mm[:, 1] == 0.0)
    wobbling = [moved(mesh, mesh.points_mm + size * noise[:, np.newaxis] * [0.0, 1.0, 0.0]) for size in (0.01, 0.04)]
    outcome = find_weld_lines(wobbling[0], symmetry=planes_of(["y=0"]))
    assert [(line.kind, line.symmetric_start) for line in outcome.lines] == [("toe", True)] * 2
    with pytest.raises(InputError, match="both sides"):
        find_weld_lines(wobbling[1], symmetry=planes_of(["y=0"]))
