"""Places of the stations of a check: what a line says of them, and what the answer repeats."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from typing import Any

from fatcore.check.complete import LineOutcome

from ...base.text import place_text
from .lines import LineInput


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LocatedLine(LineOutcome):
    """The results along a line, with the place of its governing station."""

    governing: dict[str, Any]


def locate_line(line: LineOutcome) -> LocatedLine:
    """The same results with the place."""
    values = {field.name: getattr(line, field.name) for field in fields(line)}
    return LocatedLine(**values, governing=station_place(line, line.governing_index))


def station_place(line: LineOutcome | LineInput, index: int) -> dict[str, Any]:
    """Where a station is on the part; coordinates and node are null where the request gave none."""
    points, nodes = line.coordinates_mm, line.node_id
    return {
        "line": line.name,
        "index": index,
        "position_mm": float(line.position_mm[index]),
        "coordinates_mm": None if points is None else [float(part) for part in points[index]],
        "node_id": None if nodes is None else nodes[index],
    }


def line_course(line: LineInput) -> dict[str, str]:
    """Where a line starts, which way it runs and where it ends, in words that go on with a place.

    A line of one station only starts; one of two ends where it runs to.
    """
    last = len(line.position_mm) - 1
    found = {"starts at": 0} | ({"runs by": 1} if last > 1 else {})
    found |= {"closes after" if line.closed else "ends at": last} if last else {}
    return {words: place_text(station_place(line, index)) for words, index in found.items()}


_OF_STATION = ("equivalent_stress_mpa", "biaxiality_ratio", "damage", "life_cycles")


def line_table(answer: Mapping[str, Any]) -> dict[str, list[Any]]:
    """Every weld line in one row: verdict, utilisation, and what holds at its governing station."""
    lines = answer["lines"]
    at = [line["governing_index"] for line in lines]
    places = [line["governing"] for line in lines]
    table = {
        "line": [line["name"] for line in lines],
        "verdict": [line["verdict"] for line in lines],
        "utilisation": [line["governing_utilisation"] for line in lines],
        **{name: [line[name][index] for line, index in zip(lines, at, strict=True)] for name in _OF_STATION},
        "damage_limit": [line["damage_limit"] for line in lines],
        "curve": [line["curve"] for line in lines],
        "station": at,
        "position_mm": [place["position_mm"] for place in places],
    }
    if any(place["node_id"] is not None for place in places):
        table["node_id"] = [place["node_id"] for place in places]
    if any(place["coordinates_mm"] is not None for place in places):
        rows = [place["coordinates_mm"] or [None] * 3 for place in places]
        table |= {f"{axis}_mm": list(column) for axis, column in zip("xyz", zip(*rows, strict=True), strict=True)}
    return table


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
