"""Positions, coordinates, tangents and mesh size of a line against each other, on exact curves."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from fatcore.check.line import Mesh, Notch, WeldLine, mesh_remarks
from fatcore.errors import InputError
from fatcore.figures import as_given
from fatcore.stress.peak.line_evaluation import peaks_from_tensors
from fatcore.stress.peak.peak_weights import kind_findings
from fatcore.stress.weld_lines.frame import guard_turning
from fatcore.stress.weld_lines.stations import guard_gaps, guard_stations, mesh_size_findings, station_steps


def ring(count: int) -> tuple[np.ndarray, np.ndarray]:
    """Points on a circle of radius 20 and its tangents."""
    angle = np.linspace(0.0, 2 * np.pi, count, endpoint=False)
    points = 20 * np.column_stack([np.cos(angle), np.sin(angle), 0 * angle])
    return points, np.column_stack([-np.sin(angle), np.cos(angle), 0 * angle])


def chords(points: np.ndarray) -> np.ndarray:
    return np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))])


@pytest.mark.parametrize(
    "size", [1.5, 1.3 * 1.5, 1.5 / 1.3, 1.5 / 1.3 - 1e-6, 1.3 * 1.5 + 1e-6, 1.4, 1.9 * 1.5, 1.9 * 1.5 + 1e-6]
)
def test_mesh_size_against_the_distance_of_the_nodes(size: float) -> None:
    factor = max(size / 1.5, 1.5 / size)
    found = mesh_size_findings(size, np.full(9, 1.5))
    if factor <= 1.3 + 1e-12:
        assert found == ()
        return
    wrong = factor > 1.9 + 1e-12 or size < 1.5
    assert [(f.code, f.severity) for f in found] == [
        ("mesh-size-not-spacing", "outside") if wrong else ("mesh-size-doubtful", "caution")
    ]
    assert f"{as_given(size)} mm" in found[0].message
    assert "1.5 mm apart" in found[0].message
    assert found[0].value == 1.5


def test_single_distances_that_differ_are_told() -> None:
    (found,) = mesh_size_findings(1.0, [1.0, 1.0, 1.0, 0.4, 2.6])
    assert (found.code, found.severity) == ("mesh-size-uneven", "caution")
    assert "2 of 5" in found.message
    assert "2.6 mm" in found.message
    assert mesh_size_findings(1.0, [1.0, 1.0, 1.0, 0.53, 1.9]) == ()


@pytest.mark.parametrize(("steps", "element"), [(None, "tet10"), ([], "tet10"), ([9.0, 9.0], "quad4")])
def test_a_mesh_size_that_cannot_be_compared_is_on_faith(steps: Any, element: str) -> None:
    (found,) = mesh_size_findings(1.0, steps, element)
    assert (found.code, found.severity) == ("mesh-size-on-faith", "note")


def test_steps_come_from_the_coordinates_first() -> None:
    assert station_steps(None, None) is None
    assert station_steps([0.0, 1.0, 3.0], None).tolist() == [1.0, 2.0]  # type: ignore[union-attr]
    assert station_steps([0.0, 1.0], [[0, 0, 0], [0, 0, 2]]).tolist() == [2.0]  # type: ignore[union-attr]


@pytest.mark.parametrize("count", [12, 40])
def test_a_true_ring_agrees_with_itself(count: int) -> None:
    points, tangent = ring(count)
    for way in (1, -1):
        guard_stations(position_mm=chords(points), coordinates_mm=points, tangent=way * tangent, closed=True)
        guard_stations(position_mm=chords(points), tangent=way * tangent, closed=True)
    open_part = slice(0, count - count // 4)
    arc = np.arange(count)[open_part] * 40 * np.pi / count  # arc lengths pass as well as chords
    guard_stations(position_mm=arc, coordinates_mm=points[open_part], tangent=tangent[open_part])
    guard_stations(position_mm=arc, tangent=tangent[open_part])
    guard_gaps(np.diff(arc))


def test_corners_of_a_frame_agree_whichever_way_their_tangent_points() -> None:
    """A square with a node on each corner, whose tangent is that of the side before, after, or between."""
    side = np.arange(8.0)
    points = np.column_stack(
        [
            np.concatenate([side, 8 + 0 * side, 8 - side, 0 * side]),
            np.concatenate([0 * side, side, 8 + 0 * side, 8 - side]),
            np.zeros(32),
        ]
    )
    before, after = points - np.roll(points, 1, axis=0), np.roll(points, -1, axis=0) - points
    for tangent in (before, after, before + after):
        guard_stations(position_mm=chords(points), coordinates_mm=points, tangent=tangent, closed=True)
        guard_stations(position_mm=chords(points), tangent=tangent, closed=True)
        guard_turning(tangent, np.tile([0.0, 0.0, -1.0], (32, 1)))


RING, RING_TANGENT = ring(24)
HALF = slice(0, 12)
REFUSED: dict[str, tuple[dict[str, Any], str]] = {
    "lengths differ": ({"position_mm": [0.0, 1.0], "coordinates_mm": RING}, "coordinates_mm has 24"),
    "no coordinates": ({"coordinates_mm": [[0.0, 1.0]]}, "must be"),
    "positions do not ascend": ({"position_mm": [0.0, 1.0, 1.0]}, "ascend"),
    "chords": (
        {"position_mm": 1.03 * chords(RING), "coordinates_mm": RING, "closed": True},
        "by their coord",
    ),
    "another unit": ({"position_mm": chords(RING) / 1e3, "coordinates_mm": RING, "closed": True}, "by their"),
    "a node twice": ({"coordinates_mm": RING[[0, 1, 2, 2, 3]]}, "at one place"),
    "a loop said open": ({"coordinates_mm": RING}, "said to be open"),
    "an arc said closed": ({"coordinates_mm": RING[HALF], "closed": True}, "said to be closed"),
    "a loop by its tangents": ({"position_mm": chords(RING), "tangent": RING_TANGENT}, "lead back"),
    "a loop that lists its first node again": (
        {"coordinates_mm": np.vstack([RING, RING[:1]]), "closed": True},
        "list the nodes of a loop once",
    ),
    "a tangent of no length": (
        {"coordinates_mm": np.eye(3), "tangent": [[1.0, 0, 0], [0.0, 0, 0], [1.0, 0, 0]]},
        "usable length",
    ),
    "no loop by its tangents": (
        {"position_mm": np.arange(8.0), "tangent": np.tile([1.0, 0, 0], (8, 1)), "closed": True},
        "lead 7 mm away",
    ),
    "tangent off the line": (
        {"coordinates_mm": np.arange(12.0).reshape(4, 3), "tangent": np.tile([1.0, 0.5, 0.5], (4, 1))},
        "19.5 deg off the line",
    ),
    "one tangent turned": (
        {
            "coordinates_mm": RING,
            "tangent": RING_TANGENT * np.r_[np.ones(5), -1, np.ones(18)][:, None],
            "closed": True,
        },
        "tangent of station 5",
    ),
}


@pytest.mark.parametrize("case", REFUSED)
def test_contradictions_are_refused(case: str) -> None:
    given, message = REFUSED[case]
    with pytest.raises(InputError, match=message):
        guard_stations(**given)


def test_small_lines_say_nothing() -> None:
    guard_stations(position_mm=[0.0], coordinates_mm=[[1.0, 2, 3]], tangent=[[1.0, 0, 0]])
    guard_stations(position_mm=[0.0, 1.0], tangent=[[1.0, 0, 0], [1.0, 0, 0]])
    guard_stations(tangent=[[1.0, 0, 0], [0.0, 0, 1]])
    guard_gaps([1.0, 100.0])


@pytest.mark.parametrize(
    ("steps", "fine"),
    [
        ([1.0, 1, 1, 3.0, 1, 1], True),
        ([1.0, 1, 1, 3.1, 1, 1], False),
        ([1.0, 1, 2, 5, 9, 9, 9], True),  # a mesh that grows
        ([1.0, 1, 1, 0.2, 1, 1], True),  # one short edge
        ([1.0, 1, 1, 1, 9, 9], False),  # one node away from all others
        ([9.0, 1, 1, 1, 1], False),
    ],
)
def test_gaps_between_stations(steps: list[float], fine: bool) -> None:
    if fine:
        guard_gaps(steps)
        return
    with pytest.raises(InputError, match="two lines under one name"):
        guard_gaps(steps)


@pytest.mark.parametrize(("turn_deg", "fine"), [(90.0, True), (92.0, False)])
def test_tangents_turn_by_a_right_angle_at_the_most(turn_deg: float, fine: bool) -> None:
    angle = np.radians([0.0, turn_deg])
    tangent = np.column_stack([np.cos(angle), np.sin(angle), 0 * angle])
    bisector = np.tile([0.0, 0.0, -1.0], (2, 1))
    if fine:
        guard_turning(tangent, bisector)
        return
    with pytest.raises(InputError, match="tangent turns by 92 deg between stations 0 and 1") as error:
        guard_turning(tangent, bisector)
    assert error.value.path == ("tangent", 1)


@pytest.mark.parametrize(("twist_deg", "fine"), [(9.9, True), (10.1, False)])
def test_bisectors_twist_by_ten_deg_at_the_most(twist_deg: float, fine: bool) -> None:
    angle = np.radians([0.0, twist_deg])
    bisector = np.column_stack([0 * angle, np.cos(angle), np.sin(angle)])
    tangent = np.tile([1.0, 0.0, 0.0], (2, 1))
    if fine:
        guard_turning(tangent, bisector)
        return
    with pytest.raises(InputError, match="the line itself turns by 0 deg"):
        guard_turning(tangent, bisector)


@pytest.mark.parametrize("element", ["quad4", "brick8", "tet10", "tet4", "own"])
def test_a_mean_that_the_constants_do_not_hold_for_is_told(element: str) -> None:
    frame = np.tile([1.0, 0.0, 0.0], (3, 1)), np.tile([0.0, 1.0, 0.0], (3, 1))
    found = peaks_from_tensors(np.ones((3, 6)), *frame, average_over=3, element=element)[1]
    assert ("mean-not-of-element" in [f.code for f in found]) is (element in ("quad4", "brick8", "tet4"))


def line(**changes: Any) -> WeldLine:
    given: dict[str, Any] = {
        "name": "line",
        "position_mm": np.arange(3.0),
        "cases": {"pull": np.ones((3, 3))},
    }
    return WeldLine(**{**given, **changes})


def test_only_peak_stresses_depend_on_the_mesh() -> None:
    assert mesh_remarks(line()) == ()
    assert mesh_remarks(line(basis="nominal")) == ()
    (unused,) = mesh_remarks(line(basis="nominal", mesh=Mesh(element="tet10", element_size_mm=9.0)))
    assert (unused.code, unused.severity) == ("mesh-not-used", "note")
    coarse = line(mesh=Mesh(element="tet10", element_size_mm=9.0), notch=Notch(kind="toe", opening_angle_deg=135.0))
    assert [finding.code for finding in mesh_remarks(coarse)] == ["mesh-size-not-spacing"]


@pytest.mark.parametrize(
    ("kind", "angle", "fits"),
    [
        ("toe", 60.0, True),
        ("toe", 59.9, False),
        ("toe", 2.356, False),
        ("root", 120.0, True),
        ("root", 121.0, False),
    ],
)
def test_a_kind_that_does_not_fit_the_angle_is_doubted(kind: str, angle: float, fits: bool) -> None:
    """135 deg is 2.356 rad: a toe that opens by 2.4 deg is an angle in radians."""
    assert [f.code for f in kind_findings(kind, angle)] == ([] if fits else ["kind-against-angle"])


@pytest.mark.parametrize("nodes", [(1, 2), (1, 2, 2)])
def test_nodes_are_listed_once(nodes: tuple[int, ...]) -> None:
    with pytest.raises(InputError) as error:
        line(node_id=nodes)
    assert error.value.path == ("node_id",)


def test_a_bisector_that_turns_round_is_refused_with_the_turn_of_the_line_there() -> None:
    """The line turns by 5 deg at its second station and by 20 deg at its third, where the bisector flips."""
    angles = np.radians([0.0, 5.0, 25.0, 25.0])
    tangent = np.column_stack([np.cos(angles), np.sin(angles), np.zeros(4)])
    bisector = np.array([[0.0, 0.0, 1.0], [0.0, 0.0, 1.0], [0.0, 0.0, -1.0], [0.0, 0.0, -1.0]])
    with pytest.raises(InputError, match=r"the line itself turns by 20 deg"):
        guard_turning(tangent, bisector)
