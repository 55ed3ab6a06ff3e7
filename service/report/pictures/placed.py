"""Weld lines at their places in space: from a check that was answered, or as found in a mesh."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fatcore.figures import against, coordinate
from fatcore.require import FloatArray
from fatcore.stress.weld_lines.solid.lines import SolidLine

from ...topics.check.models import CheckRequest


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedLine:
    """A weld line to be drawn.

    coordinates_mm : of its stations in order (n, 3)
    utilisation    : of each station (n,), None where nothing was calculated
    judged         : whether a station takes part in the verdict (n,)
    """

    name: str
    coordinates_mm: FloatArray
    closed: bool
    utilisation: FloatArray | None
    judged: NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """The station that is marked: which of the drawn lines, which station, and what stands beside it."""

    line: int
    station: int
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """What can be drawn of a check, the governing point where it has a place, verdict and what cannot be shown."""

    lines: tuple[PlacedLine, ...]
    mark: Mark | None
    remarks: tuple[str, ...]


def placed_check(request: CheckRequest, answer: Mapping[str, Any]) -> Placed:
    """The lines of a check that have coordinates, with the utilisation of its answer."""
    closed = {line.name: bool(line.closed) for line in request.lines}
    drawn = [line for line in answer["lines"] if line["coordinates_mm"] is not None]
    missing = [line["name"] for line in answer["lines"] if line["coordinates_mm"] is None]
    lines = tuple(
        PlacedLine(
            name=line["name"],
            coordinates_mm=np.array(line["coordinates_mm"], dtype=np.float64),
            closed=closed[line["name"]],
            utilisation=np.array(line["utilisation"], dtype=np.float64),
            judged=np.array(line["judged"], dtype=bool),
        )
        for line in drawn
    )
    point = answer["governing"]
    at = next((k for k, line in enumerate(lines) if line.name == point["line"]), None)
    mark = None if at is None else Mark(line=at, station=point["index"], words=_words(point, answer["utilisation"]))
    return Placed(lines=lines, mark=mark, remarks=(_verdict(answer), *_missing(missing, point["line"])))


def _verdict(answer: Mapping[str, Any]) -> str:
    """The verdict with the lines that make it: a colour below the limit is no pass by itself."""
    return f"verdict: {answer['verdict']}" + (f", by {', '.join(names)}" if (names := answer["deciding_lines"]) else "")


def _words(point: Mapping[str, Any], utilisation: float) -> tuple[str, ...]:
    node = "" if point["node_id"] is None else f", node {point['node_id']}"
    place = ", ".join(map(coordinate, point["coordinates_mm"])).replace("-", "−")
    return (
        point["line"],
        f"utilisation {against(utilisation, 1.0)}, station {point['index']}{node}",
        f"{coordinate(point['position_mm'])} mm from the start, at ({place})",
    )


def _missing(names: Sequence[str], governing: str) -> tuple[str, ...]:
    if not names:
        return ()
    which = f"the governing line {governing}" if governing in names else names[0]
    more = f" and {len(names) - 1} more" if len(names) > 1 else ""
    return (f"not drawn, since their stations have no coordinates: {which}{more}",)


def placed_lines(found: Sequence[SolidLine]) -> tuple[PlacedLine, ...]:
    """Lines as they were found in a mesh, nothing calculated."""
    return tuple(
        PlacedLine(
            name=line.name,
            coordinates_mm=line.coordinates_mm,
            closed=line.closed,
            utilisation=None,
            judged=np.ones(len(line.coordinates_mm), dtype=bool),
        )
        for line in found
    )
