"""Directions of a weld line as a baseline keeps them, and by how much they have turned since."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated

import numpy as np
from pydantic import Field, StringConstraints

from fatcore.require import FloatArray

from ..topics.check.lines import LineInput

NAMES = ("tangent", "bisector")
SAME_LENGTH = 0.01  # relative: a line of this length is the same one, wherever its positions start
MOST_STATIONS = 50  # of a longer line as many, evenly spread, and the governing one
NUMBER = r"-?\d+(\.\d+)?(e[+-]\d+)?"

Row = Annotated[str, StringConstraints(pattern=rf"^{NUMBER}( {NUMBER}){{3}}$")]
Coordinates = Annotated[str, StringConstraints(pattern=rf"^{NUMBER}( {NUMBER}){{2}}$")]
KeptDirections = dict[str, Annotated[list[Row], Field(min_length=1)]]


def kept_directions(line: LineInput, governing: int) -> KeptDirections:
    """Rows "position x y z" of unit vectors by name, rounded to less than a hundredth of a degree."""
    size = len(line.position_mm)
    spread = np.linspace(0, size - 1, min(size, MOST_STATIONS)).round().astype(int)
    picked = sorted({governing, *spread.tolist()})
    return {name: [_row(line.position_mm[at], vectors[at]) for at in picked] for name, vectors in _units(line).items()}


def _units(line: LineInput) -> dict[str, FloatArray]:
    given = {name: getattr(line, name) for name in NAMES if getattr(line, name) is not None}
    return {name: _unit(np.array(vectors, dtype=np.float64)) for name, vectors in given.items()}


def _unit(vectors: FloatArray) -> FloatArray:
    largest = np.abs(vectors).max(axis=1, keepdims=True)
    scaled = vectors / np.where(largest > 0.0, largest, 1.0)
    length = np.linalg.norm(scaled, axis=1, keepdims=True)
    unit: FloatArray = scaled / np.where(length > 0.0, length, 1.0)
    return unit


def _row(position_mm: float, vector: FloatArray) -> str:
    # adding 0.0 leaves no negative zero, which another processor might round to
    return " ".join([f"{position_mm:.10g}", *(f"{round(float(part), 4) + 0.0:.4g}" for part in vector)])


def ends_of(line: LineInput) -> list[str]:
    """Coordinates "x y z" of the first station, of the middle of the line and of the last one.

    Returns : nothing for a line without coordinates
    """
    if line.coordinates_mm is None:
        return []
    points = np.array(line.coordinates_mm, dtype=np.float64)
    middle = _between(line.position_mm, points, np.array([(line.position_mm[0] + line.position_mm[-1]) / 2.0]))
    rows = (points[0], middle[0], points[-1])
    return [" ".join(f"{float(part) + 0.0:.10g}" for part in row) for row in rows]


def _between(position_mm: list[float], columns: FloatArray, at: FloatArray) -> FloatArray:
    return np.column_stack([np.interp(at, position_mm, column) for column in columns.T])


def turns(
    before: Mapping[str, list[str]], line: LineInput, backwards: bool | None = False
) -> dict[str, tuple[float, float]]:
    """The largest turn of each direction in degrees, and where; between stations directions are interpolated.

    A tangent counts the same to either end of its line.
    before    : rows that were kept; a direction that one of the two does not have is left out
    backwards : whether the line is listed from its other end now; None where it is unknown, so that the
                end with the smaller turns is taken
    """
    now = {name: vectors for name, vectors in _units(line).items() if name in before}
    ways = [False, True] if backwards is None else [backwards]
    found = [{name: _turn(name, before[name], line.position_mm, now[name], way) for name in now} for way in ways]
    return min(found, key=lambda turned: max((angle for angle, _ in turned.values()), default=0.0))


def _turn(
    name: str, rows: list[str], position_mm: list[float], now: FloatArray, backwards: bool
) -> tuple[float, float]:
    kept = np.array([[float(part) for part in row.split(" ")] for row in rows])
    at, then = kept[:, 0], _unit(kept[:, 1:])
    here = _unit(_between(position_mm, now, _positions_now(at, position_mm, backwards)))
    half_chord = np.linalg.norm(here - then, axis=1) / 2.0
    if name == "tangent":
        half_chord = np.minimum(half_chord, np.linalg.norm(here + then, axis=1) / 2.0)
    angle = np.degrees(2.0 * np.arcsin(np.minimum(half_chord, 1.0)))
    worst = int(np.argmax(angle))
    return float(angle[worst]), float(at[worst])


def _positions_now(at: FloatArray, position_mm: list[float], backwards: bool) -> FloatArray:
    """Where kept positions are now: seen from the other end, or moved as a whole with a line as long."""
    if backwards:
        mirrored: FloatArray = at[-1] + position_mm[0] - at
        return mirrored
    length_mm, kept_mm = position_mm[-1] - position_mm[0], at[-1] - at[0]
    as_long = abs(length_mm - kept_mm) <= SAME_LENGTH * kept_mm
    return at + (position_mm[0] - at[0] if as_long else 0.0)
