"""Directions of a weld line as a baseline keeps them, and by how much they have turned since."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated

import numpy as np
from pydantic import Field, StringConstraints

from fatcore.require import FloatArray

from ..topics.check.models import LineInput

NAMES = ("tangent", "bisector")
MOST_STATIONS = 50  # of a longer line as many, evenly spread, and the governing one
NUMBER = r"-?\d+(\.\d+)?(e[+-]\d+)?"

Row = Annotated[str, StringConstraints(pattern=rf"^{NUMBER}( {NUMBER}){{3}}$")]
KeptDirections = dict[str, Annotated[list[Row], Field(min_length=1)]]


def kept_directions(line: LineInput, governing: int) -> KeptDirections:
    """Rows "position x y z" of unit vectors by name, rounded to less than a hundredth of a degree."""
    size = len(line.position_mm)
    spread = np.linspace(0, size - 1, min(size, MOST_STATIONS)).round().astype(int)
    picked = sorted({governing, *spread.tolist()})
    return {
        name: [_row(line.position_mm[at], vectors[at]) for at in picked]
        for name, vectors in _units(line).items()
    }


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


def turns(before: Mapping[str, list[str]], line: LineInput) -> dict[str, tuple[float, float]]:
    """The largest turn of each direction in degrees, and where; between stations directions are interpolated.

    before : rows that were kept; a direction that one of the two does not have is left out
    """
    now = _units(line)
    return {name: _turn(before[name], line.position_mm, now[name]) for name in before if name in now}


def _turn(rows: list[str], position_mm: list[float], now: FloatArray) -> tuple[float, float]:
    kept = np.array([[float(part) for part in row.split(" ")] for row in rows])
    at, then = kept[:, 0], _unit(kept[:, 1:])
    here = _unit(np.column_stack([np.interp(at, position_mm, column) for column in now.T]))
    half_chord = np.linalg.norm(here - then, axis=1) / 2.0
    angle = np.degrees(2.0 * np.arcsin(np.minimum(half_chord, 1.0)))
    worst = int(np.argmax(angle))
    return float(angle[worst]), float(at[worst])
