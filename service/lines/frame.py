"""Order, positions and directions of the nodes of one line, from the table or from its geometry."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fatcore.errors import InputError
from fatcore.require import FloatArray
from fatcore.stress.weld_lines import geometry
from fatcore.stress.weld_lines.stations import guard_gaps, station_steps

from .map import LineRule, Radial, TableLayout
from .rows import Row, numbers, vectors


@dataclass(frozen=True, slots=True, kw_only=True)
class LineFrame:
    """Nodes of a line in order, (n,) and (n, 3): coordinates and directions; assumptions: how each was found."""

    order: list[int]
    closed: bool
    position_mm: FloatArray
    coordinates_mm: FloatArray | None
    tangent: FloatArray
    bisector: FloatArray
    assumptions: tuple[str, ...]


def frame_of(rows: Sequence[Row], layout: TableLayout, rule: LineRule) -> LineFrame:
    """The frame of the nodes of one load case.

    Raises : InputError for nodes that do not lie along one line, an order with ties, gaps, missing columns,
             a loop that is none, a normal or a side that does not fit the line
    """
    axes = layout.coordinates_mm
    loose = None if axes is None else layout.length_factor * vectors(rows, axes, layout)
    order, closed = _order(rows, loose, layout, rule)
    points = None if loose is None else loose[order]
    position = _position(rows, order, points, layout)
    guard_gaps(_steps(position, points))
    if layout.tangent is not None:
        tangent = vectors(rows, layout.tangent, layout)[order]
    else:
        assert points is not None
        tangent = geometry.tangents_along(points, closed)
    if layout.bisector is not None:
        bisector = vectors(rows, layout.bisector, layout)[order]
    else:
        bisector = _bisector(rows, order, tangent, points, layout, rule)
    return LineFrame(
        order=order,
        closed=closed,
        position_mm=position,
        coordinates_mm=points,
        tangent=tangent,
        bisector=bisector,
        assumptions=_assumptions(layout, rule),
    )


def _steps(position: FloatArray, points: FloatArray | None) -> FloatArray:
    steps = station_steps(position, points)
    assert steps is not None
    return steps


def _assumptions(layout: TableLayout, rule: LineRule) -> tuple[str, ...]:
    """Where order, loop and directions come from."""
    placed = layout.coordinates_mm is not None
    loop = "open or closed by the coordinates" if placed else "open unless its tangents lead back to its start"
    return (
        f"order by column {layout.order!r}" if layout.order else "order by the coordinates",
        "open or closed as the rule says" if rule.closed is not None else loop,
        "tangent of the table" if layout.tangent else "tangent by the coordinates",
        "bisector of the table" if layout.bisector else f"bisector by plate normal ({_faith(rule)} on faith) and side",
    )


def _faith(rule: LineRule) -> str:
    """What is believed of the plate normal."""
    if rule.plate_normal_from is not None and rule.plate_normal_from.sense == "inward":
        return "out of the plate, towards the axis or point,"
    return "outward"


def _order(
    rows: Sequence[Row], points: FloatArray | None, layout: TableLayout, rule: LineRule
) -> tuple[list[int], bool]:
    if layout.order is None:
        assert points is not None
        found = geometry.order_along_line(points, rule.closed)
        return found.index.tolist(), found.closed
    values = numbers(rows, [layout.order], layout)[:, 0]
    if len(np.unique(values)) < len(values):
        raise InputError(f"column {layout.order!r} gives two nodes the same location", "table", "order")
    order = np.argsort(values).tolist()
    if points is None or len(order) < 2:
        return order, bool(rule.closed)
    return order, geometry.is_loop(points[order], rule.closed)


def _position(rows: Sequence[Row], order: list[int], points: FloatArray | None, layout: TableLayout) -> FloatArray:
    if layout.position_mm is not None:
        return layout.length_factor * numbers(rows, [layout.position_mm], layout)[order, 0]
    if points is None:
        raise InputError("without coordinates a table needs `position_mm`", "table", "position_mm")
    return geometry.positions_along(points)


def _bisector(
    rows: Sequence[Row],
    order: list[int],
    tangent: FloatArray,
    points: FloatArray | None,
    layout: TableLayout,
    rule: LineRule,
) -> FloatArray:
    if layout.plate_normal is not None:
        normal = vectors(rows, layout.plate_normal, layout)[order]
    elif rule.plate_normal_from is not None:
        normal = _radial(points, rule.plate_normal_from)
    elif rule.plate_normal is not None:
        normal = np.array(rule.plate_normal)
    else:
        raise InputError("without a bisector the rule needs the plate's outward normal", "plate_normal")
    direction = rule.weld_direction
    if rule.weld_direction_from is not None:
        direction = _radial(points, rule.weld_direction_from).tolist()
    side = geometry.weld_side(tangent, normal, direction=direction, points_mm=points, towards_mm=rule.weld_towards_mm)
    assert rule.opening_angle_deg is not None
    return geometry.notch_bisector(tangent, normal, side, rule.opening_angle_deg)


def _radial(points: FloatArray | None, radial: Radial) -> FloatArray:
    if points is None:
        raise InputError("a direction from an axis or a point needs the coordinates", "table", "coordinates_mm")
    outward = geometry.radial_directions(points, radial.point_mm, radial.axis)
    return outward if radial.sense == "outward" else -outward
