"""Places of the stations of a check: what a line says of them, and what the answer repeats."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from fatcore.check.complete import LineOutcome
from fatcore.errors import InputError
from fatcore.stress.weld_lines.frame import guard_turning
from fatcore.stress.weld_lines.stations import guard_gaps, guard_stations, station_steps

from .models import LineInput


def guard_directions(line: LineInput) -> None:
    """Refuses directions that nothing uses, and those that contradict each other or the stations."""
    given = [name for name in ("tangent", "bisector") if getattr(line, name) is not None]
    if given and all(case.tensors_mpa is None for case in line.cases.values()):
        raise InputError(f"{given[0]}: only with tensors_mpa", given[0])
    if line.average_over == 3:
        steps = station_steps(line.position_mm, line.coordinates_mm)
        assert steps is not None
        guard_gaps(steps)
    if line.tangent is not None and line.bisector is not None:
        guard_turning(line.tangent, line.bisector)
        guard_stations(
            position_mm=line.position_mm,
            coordinates_mm=line.coordinates_mm,
            tangent=line.tangent,
            closed=line.closed,
        )


def station_place(line: LineOutcome) -> dict[str, Any]:
    """Coordinates and node of the governing station, null where the request gave none."""
    at, points, nodes = line.governing_index, line.coordinates_mm, line.node_id
    return {
        "coordinates_mm": None if points is None else points[at].tolist(),
        "node_id": None if nodes is None else nodes[at],
    }


def place_columns(lines: Sequence[Mapping[str, Any]]) -> dict[str, list[Any]]:
    """Node and coordinates of every station as columns, those that at least one line has."""
    table: dict[str, list[Any]] = {}
    if any(line["node_id"] is not None for line in lines):
        table["node_id"] = [node for line in lines for node in line["node_id"] or _empty(line)]
    if any(line["coordinates_mm"] is not None for line in lines):
        rows = [row or [None] * 3 for line in lines for row in line["coordinates_mm"] or _empty(line)]
        columns = zip(*rows, strict=True)
        table |= {f"{axis}_mm": list(column) for axis, column in zip("xyz", columns, strict=True)}
    return table


def _empty(line: Mapping[str, Any]) -> list[None]:
    return [None] * len(line["position_mm"])
