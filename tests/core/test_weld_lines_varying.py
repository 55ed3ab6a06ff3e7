"""Lines on which the opening angle varies, and open ends that turn by a corner: sweeps with known angles."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fatcore.figures import figure
from fatcore.require import FloatArray
from fatcore.stress.weld_lines.geometry import tangents_along
from fatcore.stress.weld_lines.solid.detect import find_weld_lines
from fatcore.stress.weld_lines.solid.doubts._lines import line_doubts
from tests.shapes.files import model


@pytest.mark.parametrize(
    ("angles", "code"),
    [
        ((135.0, 135.0, 135.0), None),
        ((130.0, 135.0, 140.0), None),
        ((129.9, 135.0, 140.0), "opening-angle-varies"),
        ((130.0, 135.0, 145.0), "opening-angle-varies"),
        ((130.0, 135.0, 145.1), "opening-angle-varies-much"),
        ((124.9, 135.0, 140.0), "opening-angle-varies-much"),
        ((101.0, 103.0, 104.0), "opening-angle-varies-much"),
        ((103.0, 104.0, 105.0), None),
        ((0.0, 0.0, 0.0), None),
    ],
)
def test_an_angle_that_varies_is_told_by_how_far_and_across_which_limit(
    angles: tuple[float, ...], code: str | None
) -> None:
    """Of 5 and 10 deg off the mean, and of 102.55 deg, above which sliding is not singular."""
    line = find_weld_lines(model("stiffener-hex8")).lines[0]
    changed = replace(line, opening_angle_deg=angles[1], node_opening_deg=np.resize(angles, len(line.node_index)))
    found = [each for each in line_doubts([changed], line.coordinates_mm) if each.code.startswith("opening-angle")]
    assert [each.code for each in found] == ([] if code is None else [code])
    for each in found:
        assert (
            f"{line.name}: opens by {figure(angles[0])} to {figure(angles[2])} deg along it, and {figure(angles[1])}"
            in each.message
        )
        assert each.severity == ("outside" if "much" in each.code else "caution")


def directions(*turns_deg: float) -> FloatArray:
    """Points of unit steps whose directions turn by the given angles."""
    angles = np.radians(np.cumsum([0.0, *turns_deg]))
    steps = np.stack([np.cos(angles), np.sin(angles), 0.0 * angles], axis=1)
    return np.vstack([np.zeros(3), np.cumsum(steps, axis=0)])


@pytest.mark.parametrize(
    ("turns", "end_deg"),
    [
        ((0.0, 0.0, 30.0), 30.0),  # a corner before the last edge: along that edge
        ((0.0, 0.0, 5.2), 5.2),
        ((0.0, 0.0, 4.8), 4.8 + 2.4),  # too little to be a corner: half of the turn further
        ((10.0, 10.0, 10.0), 30.0 + 5.0),  # an arc goes on
        ((10.0, 4.9, 10.0), 24.9),
        ((10.0, 5.1, 10.0), 25.1 + 5.0),
        ((14.9,), 14.9 + 7.45),
        ((15.1,), 15.1),
        ((), 0.0),
    ],
)
def test_an_open_end_follows_an_arc_and_does_not_swing_beyond_a_corner(
    turns: tuple[float, ...], end_deg: float
) -> None:
    for points, last in ((directions(*turns), -1), (directions(*turns)[::-1], 0)):
        tangent = tangents_along(points, closed=False)[last]
        angle = np.degrees(np.arctan2(tangent[1], tangent[0])) + (180.0 if last == 0 else 0.0)
        assert (angle - end_deg + 180.0) % 360.0 - 180.0 == pytest.approx(0.0, abs=0.3)


def test_points_on_a_circle_keep_their_tangents_at_open_ends() -> None:
    angle = np.radians(np.arange(0.0, 120.0, 15.0))
    points = 20.0 * np.stack([np.cos(angle), np.sin(angle), 0.0 * angle], axis=1)
    exact = np.stack([-np.sin(angle), np.cos(angle), 0.0 * angle], axis=1)
    off = np.degrees(np.arccos(np.clip((tangents_along(points, closed=False) * exact).sum(axis=1), -1.0, 1.0)))
    assert off.max() < 0.3
