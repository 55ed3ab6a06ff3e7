"""Places of the stations of a check: what a line says of them, and what the answer repeats."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from fatcore.check.complete import LineOutcome


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
