"""Order, tangent and bisector of weld lines from their points, on exact curves and on the bracket."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from fatcore.errors import InputError
from fatcore.stress.notch.fields import eigenvalue_opening
from fatcore.stress.weld_lines.geometry import (
    is_loop,
    notch_bisector,
    order_along_line,
    positions_along,
    radial_directions,
    tangents_along,
    weld_side,
)
from tests.bracket import columns


def circle(count: int, radius: float = 20.0) -> np.ndarray:
    angle = np.linspace(0.0, 2 * np.pi, count, endpoint=False)
    return np.column_stack([radius * np.cos(angle), radius * np.sin(angle), 0 * angle])


def helix(count: int) -> np.ndarray:
    angle = np.linspace(0.0, 4.0, count) ** 1.1
    return np.column_stack([10 * np.cos(angle), 10 * np.sin(angle), 4 * angle])


@given(seed=st.integers(0, 10_000), count=st.integers(5, 80))
@settings(max_examples=30)
def test_shuffled_open_line_is_put_in_order(seed: int, count: int) -> None:
    points = helix(count)
    shuffled = np.random.default_rng(seed).permutation(count)
    found = order_along_line(points[shuffled])
    order = shuffled[found.index].tolist()
    assert order in (list(range(count)), list(range(count))[::-1])
    assert not found.closed
    # the end that comes first in the input is the start
    assert list(shuffled).index(order[0]) < list(shuffled).index(order[-1])


@given(seed=st.integers(0, 10_000), count=st.integers(6, 80))
@settings(max_examples=30)
def test_shuffled_loop_is_put_in_order_from_its_first_point(seed: int, count: int) -> None:
    shuffled = np.random.default_rng(seed).permutation(count)
    found = order_along_line(circle(count)[shuffled])
    assert found.closed
    assert found.index[0] == 0
    steps = np.diff(shuffled[found.index]) % count
    assert set(steps.tolist()) <= {1} or set(steps.tolist()) <= {count - 1}
    assert found.index[1] < found.index[-1]


def test_what_is_said_of_a_loop_must_be_true() -> None:
    arc = circle(12)[:9]
    assert order_along_line(circle(12), closed=True).closed
    assert not order_along_line(arc, closed=False).closed
    with pytest.raises(InputError, match="said to be closed"):
        order_along_line(arc, closed=True)
    with pytest.raises(InputError, match="said to be open"):
        order_along_line(circle(12), closed=False)
    # three points are no loop by themselves
    assert not order_along_line(arc[:3]).closed
    assert is_loop(arc[:3], True)
    assert not is_loop(arc[:3])


@pytest.mark.parametrize(("gap", "loop"), [(1.59, True), (1.61, False)])
def test_ends_of_a_loop_are_neighbours_at_its_own_spacing(gap: float, loop: bool) -> None:
    """A square of side 10 with nodes 1 apart, cut so that its ends lie some spacings apart."""
    side = np.arange(10.0)
    flat = np.concatenate([np.c_[side, 0 * side], np.c_[10 + 0 * side, side], np.c_[10 - side, 10 + 0 * side]])
    last = np.c_[np.zeros(11), np.linspace(10.0, gap, 11)]
    points = np.column_stack([np.concatenate([flat, last]), np.zeros(41)])
    assert is_loop(points) is loop


def test_tangents_of_a_loop_are_exact_by_symmetry() -> None:
    points = circle(24)
    expected = np.column_stack([-points[:, 1], points[:, 0], points[:, 2]]) / 20.0
    np.testing.assert_allclose(tangents_along(points, closed=True), expected, atol=1e-12)


def test_tangents_converge_with_the_square_of_the_spacing() -> None:
    def error(count: int) -> float:
        angle = np.linspace(0.0, 4.0, count) ** 1.1
        exact = np.column_stack([-10 * np.sin(angle), 10 * np.cos(angle), np.full(count, 4.0)])
        exact /= np.linalg.norm(exact, axis=1, keepdims=True)
        return float(np.abs(tangents_along(helix(count), closed=False) - exact).max())

    assert error(400) < error(100) / 12.0


def test_two_points_have_one_direction() -> None:
    tangents = tangents_along([[0, 0, 0], [0, 0, 2]], closed=False)
    np.testing.assert_array_equal(tangents, [[0, 0, 1], [0, 0, 1]])


def test_bisector_halves_the_material_at_a_fillet_toe() -> None:
    """Plate z < 0, weld on +x with a flank of 45 deg: free faces at 180 and 45 deg, bisector at -67.5 deg."""
    tangent = np.array([[0.0, 1.0, 0.0]])
    side = weld_side(tangent, [0, 0, 1], direction=[1.0, 0.3, 0.2])
    np.testing.assert_allclose(side, [[1, 0, 0]], atol=1e-15)
    bisector = notch_bisector(tangent, [0, 0, 1], side, 135.0)[0]
    angle = np.degrees(np.arctan2(bisector[2], bisector[0]))
    assert angle == pytest.approx(-67.5)
    slit = notch_bisector(tangent, [0, 0, 1], side, 0.0)
    np.testing.assert_allclose(slit, side, atol=1e-15)


@given(angle=st.floats(0.0, 179.0), turn=st.lists(st.floats(-3.0, 3.0), min_size=3, max_size=3))
def test_bisector_turns_with_the_part(angle: float, turn: list[float]) -> None:
    rotation = Rotation.from_rotvec(turn)
    tangent, normal, hint = np.array([[1.0, 0, 0]]), np.array([0.0, 0, 1]), np.array([0.0, -1, 0])
    plain = notch_bisector(tangent, normal, weld_side(tangent, normal, direction=hint), angle)
    turned_tangent, turned_normal = rotation.apply(tangent), rotation.apply(normal)
    side = weld_side(turned_tangent, turned_normal, direction=rotation.apply(hint))
    turned = notch_bisector(turned_tangent, turned_normal, side, angle)
    np.testing.assert_allclose(turned, rotation.apply(plain), atol=1e-12)


def test_a_point_tells_the_side_all_round_a_loop() -> None:
    points = circle(16)
    tangent = tangents_along(points, closed=True)
    side = weld_side(tangent, [0, 0, 1], points_mm=points, towards_mm=[0.0, 0.0, 5.0])
    np.testing.assert_allclose(side, -points / 20.0, atol=1e-12)


@pytest.mark.parametrize(("kind", "normal", "hint"), [("toe_plate", [0, 0, 1], [250.0, 0.0, 50.0])])
def test_bracket_wall_toes_from_their_coordinates_alone(kind: str, normal: list[float], hint: list[float]) -> None:
    rows = [
        row for row in columns("notch_lines_d0p75") if row["line_id"] == f"R1P_{kind}" and row["load_case"] == "lateral"
    ]
    points = np.array([[float(row[axis]) for axis in "xyz"] for row in rows])
    mixed = np.random.default_rng(3).permutation(len(points))
    order = mixed[order_along_line(points[mixed]).index]
    order = order if order[0] == 0 else order[::-1]
    assert order.tolist() == list(range(len(points)))
    given_tangent = np.array([[float(row[name]) for name in ("tx", "ty", "tz")] for row in rows])
    given_bisector = np.array([[float(row[name]) for name in ("bx", "by", "bz")] for row in rows])
    tangent = tangents_along(points, closed=False)
    # the weld run is a stadium round its own middle
    middle = [float(points[:, 0].mean()), 5.0, 0.0]
    side = weld_side(tangent, normal, points_mm=points, towards_mm=middle)
    bisector = notch_bisector(tangent, normal, side, 135.0)
    assert np.degrees(np.arccos(np.clip(np.einsum("ij,ij->i", tangent, given_tangent), -1, 1))).max() < 6.0
    assert np.degrees(np.arccos(np.clip(np.einsum("ij,ij->i", bisector, given_bisector), -1, 1))).max() < 6.0
    assert np.allclose(positions_along(points)[-1], float(rows[-1]["station_mm"]), rtol=1e-4)
    assert float(eigenvalue_opening(135.0)) == pytest.approx(0.673583, abs=5e-7)


@pytest.mark.parametrize(("off_deg", "told"), [(9.9, True), (10.1, False)])
def test_a_plate_normal_stands_square_on_the_line(off_deg: float, told: bool) -> None:
    lean = np.radians(off_deg)
    tangent, normal = [[1.0, 0, 0]], [np.sin(lean), 0.0, np.cos(lean)]
    if told:
        side = weld_side(tangent, normal, direction=[0, 1, 0])
        np.testing.assert_allclose(notch_bisector(tangent, normal, side, 90.0), [[0, 0.5**0.5, -(0.5**0.5)]])
        return
    with pytest.raises(InputError, match=r"10\.1 deg off a right angle"):
        weld_side(tangent, normal, direction=[0, 1, 0])
    with pytest.raises(InputError, match=r"10\.1 deg off a right angle"):
        notch_bisector(tangent, normal, [[0.0, 1, 0]], 90.0)


@pytest.mark.parametrize("plane", [0, 2])
@pytest.mark.parametrize(("off_deg", "told"), [(30.1, True), (29.9, False)])
def test_a_direction_tells_the_side_from_30_deg_on(plane: int, off_deg: float, told: bool) -> None:
    """Off the line (axis 0) or off the plate's normal (axis 2)."""
    direction = np.zeros(3)
    direction[plane], direction[1] = np.cos(np.radians(off_deg)), np.sin(np.radians(off_deg))
    if told:
        side = weld_side([[1.0, 0, 0]], [0, 0, 1], direction=direction)
        np.testing.assert_allclose(side, [[0, 1, 0]], atol=1e-15)
        return
    with pytest.raises(InputError, match="does not tell on which side"):
        weld_side([[1.0, 0, 0]], [0, 0, 1], direction=direction)


def test_a_point_on_the_wrong_side_of_half_a_line_is_refused() -> None:
    points = circle(16)
    tangent = tangents_along(points, closed=True)
    with pytest.raises(InputError, match="changes its side between stations 1 and 2"):
        weld_side(tangent, [0, 0, 1], points_mm=points, towards_mm=[40.0, -20.0, 0.0])


def test_outward_from_an_axis_and_from_a_point() -> None:
    """A helix on a shaft: the normal of its surface is the radius, its tangent stands square on it."""
    points = helix(30)
    outward = radial_directions(points, [0.0, 0.0, 100.0], [0.0, 0.0, -3.0])
    np.testing.assert_allclose(outward, points * [0.1, 0.1, 0.0], atol=1e-12)
    centre = radial_directions(circle(8), [0.0, 0.0, 15.0])
    np.testing.assert_allclose(centre, (circle(8) - [0, 0, 15.0]) / 25.0, atol=1e-12)


BAD = {
    "on the axis": lambda: radial_directions([[0, 0, 1], [1, 0, 0]], [0, 0, 0], [0, 0, 1]),
    "no axis": lambda: radial_directions([[1, 0, 1], [1, 0, 0]], [0, 0, 0], [0, 0, 0]),
    "too many to order": lambda: order_along_line(np.cumsum(np.ones((5_001, 3)), axis=0)),
    "shape": lambda: order_along_line([[0, 0], [1, 1]]),
    "one point": lambda: order_along_line([[0, 0, 0]]),
    "not finite": lambda: positions_along([[0, 0, 0], [np.nan, 0, 0]]),
    "coincident": lambda: order_along_line([[0, 0, 0], [1, 0, 0], [1, 0, 0], [2, 0, 0]]),
    "coincident neighbours": lambda: tangents_along([[0, 0, 0], [1, 0, 0], [1, 0, 0], [2, 0, 0]], False),
    "loop listed with its first point twice": lambda: tangents_along([*circle(8), circle(8)[0]], True),
    "branch": lambda: order_along_line([[0, 0, 0], [1, 0, 0], [2, 0, 0], [-0.9, 1.2, 0], [-0.9, -1.2, 0]]),
    "no hint": lambda: weld_side([[1.0, 0, 0]], [0, 0, 1]),
    "hint along the line": lambda: weld_side([[1.0, 0, 0]], [0, 0, 1], direction=[1, 0, 0]),
    "normal along the line": lambda: weld_side([[1.0, 0, 0]], [1, 0, 0], direction=[0, 1, 0]),
    "angle": lambda: notch_bisector([[1.0, 0, 0]], [0, 0, 1], [[0.0, 1, 0]], 180.0),
}


@pytest.mark.parametrize("case", BAD)
def test_refused(case: str) -> None:
    with pytest.raises(InputError):
        BAD[case]()  # type: ignore[no-untyped-call]
