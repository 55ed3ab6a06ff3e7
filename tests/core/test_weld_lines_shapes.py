"""Which re-entrant edges count as welds: shapes of our own, and where the rule for hollows fails.

It fails on the safe side where a hollow of two flats, or one whose flats hold several elements each, is
listed as a line; it leaves out two welds with one element on each flank and one in the gap between them.
"""

from __future__ import annotations

import numpy as np
import pytest

from fatcore.stress.weld_lines.solid.detect import WeldLines, find_weld_lines
from tests.shapes.sweep import Map, Outline, around_axis, bent, section, straight, swept


def arc(x: float, y: float, radius: float, start_deg: float, end_deg: float, flats: int) -> Outline:
    angles = np.radians(np.linspace(start_deg, end_deg, flats + 1))
    return [(x + radius * float(np.cos(angle)), y + radius * float(np.sin(angle))) for angle in angles]


def cast_tee(radius: float, flats: int) -> Outline:
    """A rib on a plate with a rounded corner of so many flats on either side."""
    right, left = arc(5 + radius, radius, radius, 270, 180, flats), arc(-5 - radius, radius, radius, 0, -90, flats)
    return [(-40, -10), (40, -10), (40, 0), *right, (5, 30), (-5, 30), *left, (-40, 0)]


def channel(gap: float, leg: float = 6.0) -> Outline:
    """Two plates on a third, their fillets a gap apart."""
    half = gap / 2
    right = [(half, 0.0), (half + leg, leg), (half + leg, 30.0), (half + leg + 10, 30.0), (half + leg + 10, -10.0)]
    return [*right, *((-x, y) for x, y in reversed(right))][::-1]


def found(outline: Outline, size: float, element: str = "tet4", place: Map = straight) -> WeldLines:
    points, triangles = section(outline, size)
    if place is straight:
        return find_weld_lines(swept(points, triangles, np.arange(0.0, 31.0, size), element=element, place=place))
    turn = np.linspace(0.0, 2.0 * np.pi, 48, endpoint=False)
    return find_weld_lines(swept(points, triangles, turn, closed=True, element=element, place=place))


PIPE: Outline = [(10, -8), (60, -8), (60, 0), (26, 0), (20, 6), (20, 40), (14, 40), (14, 0), (10, 0)]


@pytest.mark.uncounted
@pytest.mark.parametrize("element", ["wedge6", "tet4", "tet10"])
@pytest.mark.parametrize("flats", [3, 4, 6, 8])
def test_a_cast_radius_of_three_flats_or_more_is_no_weld(flats: int, element: str) -> None:
    outcome = found(cast_tee(8.0, flats), 8.0 * np.pi / 2.0 / flats, element)
    assert outcome.lines == ()
    assert {each.reason for each in outcome.left_out} <= {"rounded"}


def test_a_radius_of_two_flats_and_one_with_several_elements_on_each_are_listed_as_lines() -> None:
    assert len(found(cast_tee(8.0, 2), 2.0).lines) == 2
    assert len(found(cast_tee(8.0, 3), 1.4).lines) == 4


@pytest.mark.parametrize("flats", [5, 6, 8, 10, 16])
@pytest.mark.parametrize("element", ["wedge6", "tet4"])
def test_a_groove_cut_through_is_no_weld(flats: int, element: str) -> None:
    outline = [(-40.0, -5.0), *arc(0.0, -5.0, 9.0, 180.0, 0.0, flats), (40.0, -5.0), (40.0, 10.0), (-40.0, 10.0)]
    assert found(outline, 9.0 * np.pi / flats, element).lines == ()


def test_rounded_grooves_of_a_shaft_are_no_welds_and_sharp_ones_are_lines_for_the_user_to_leave_out() -> None:
    rounded, sharp = [(10.0, 0.0), (20.0, 0.0)], [(10.0, 0.0), (20.0, 0.0)]
    for k in range(3):
        rounded += [(20.0, 2.0 + 8 * k), *arc(19.0, 4.0 + 8 * k, 2.0, 270.0, 90.0, 6), (20.0, 6.0 + 8 * k)]
        sharp += [(20.0, 2.0 + 8 * k), (17.0, 4.0 + 8 * k), (20.0, 6.0 + 8 * k)]
    assert found([*rounded, (20.0, 30.0), (10.0, 30.0)], 1.0, place=around_axis).lines == ()
    threads = found([*sharp, (20.0, 30.0), (10.0, 30.0)], 1.5, place=around_axis).lines
    assert [(line.closed, line.kind) for line in threads] == [(True, "toe")] * 3
    assert [line.opening_angle_deg for line in threads] == pytest.approx([2 * np.degrees(np.arctan(2 / 3))] * 3, abs=1)


@pytest.mark.parametrize("element", ["wedge6", "wedge15", "tet4", "tet10"])
def test_a_pipe_on_a_plate_has_two_toes_and_its_inner_corner(element: str) -> None:
    lines = found(PIPE, 2.5, element, around_axis).lines
    assert [line.closed for line in lines] == [True] * 3
    assert [line.opening_angle_deg for line in lines] == pytest.approx([135.0, 135.0, 90.0], abs=0.3)
    assert [line.length_mm for line in lines] == pytest.approx([2 * np.pi * r for r in (26, 20, 14)], rel=2e-3)
    out = lines[0].coordinates_mm[:, :2] / 26.0
    bisector = np.column_stack([-np.sin(np.radians(22.5)) * out, np.full(len(out), -np.cos(np.radians(22.5)))])
    assert np.einsum("ij,ij->i", bisector, lines[0].bisector).min() > np.cos(np.radians(0.4))


def test_on_curved_edges_the_tangent_is_theirs_also_at_the_open_ends() -> None:
    points, triangles = section(PIPE, 4.0)
    quarter = np.linspace(0.0, np.pi / 2.0, 9)
    line = find_weld_lines(swept(points, triangles, quarter, element="tet10", place=around_axis)).lines[0]
    assert not line.closed
    radial = line.coordinates_mm / 26.0
    assert np.abs(np.einsum("ij,ij->i", radial, line.tangent)).max() < np.sin(np.radians(0.1))


@pytest.mark.uncounted
@pytest.mark.parametrize("radius", [60.0, 120.0])
def test_a_pipe_on_a_pipe_keeps_its_lines_round_the_saddle(radius: float) -> None:
    points, triangles = section(PIPE, 2.5)
    turn = np.linspace(0.0, 2.0 * np.pi, 48, endpoint=False)
    mesh = swept(
        points, triangles, turn, closed=True, element="tet10", place=lambda flat: bent(around_axis(flat), radius)
    )
    outcome = find_weld_lines(mesh)
    assert [(line.closed, len(line.node_index)) for line in outcome.lines] == [(True, 48)] * 3
    assert outcome.lines[0].node_opening_deg == pytest.approx(np.full(48, 135.0), abs=3.0)
    assert outcome.left_out == ()


@pytest.mark.parametrize("gap", [2.0, 4.0, 8.0, 12.0])
def test_two_welds_close_to_each_other_stay_two_welds(gap: float) -> None:
    outcome = found(channel(gap), 4.0)
    assert len(outcome.lines) == 4
    assert outcome.left_out == ()


def test_two_welds_with_one_element_on_all_three_flats_look_like_a_hollow_and_are_listed_as_left_out() -> None:
    points, triangles = section(channel(8.0), 8.0)
    mesh = swept(points, triangles, np.arange(0.0, 49.0, 8.0), element="tet4", place=straight)
    outcome = find_weld_lines(mesh)
    assert len(outcome.lines) == 2
    assert [each.reason for each in outcome.left_out] == ["rounded", "rounded"]
    assert "edges-left-out" in [finding.code for finding in outcome.findings]
    assert len(find_weld_lines(mesh, rounded_share=1.0).lines) == 4


def test_a_pocket_with_chamfered_corners_is_listed_since_geometry_cannot_know() -> None:
    pocket = [(0, 0), (40, 0), (40, 20), (30, 20), (26, 16), (14, 16), (10, 20), (0, 20)]
    assert [line.opening_angle_deg for line in found([(float(x), float(y)) for x, y in pocket], 2.0).lines] == [
        pytest.approx(135.0)
    ] * 2
