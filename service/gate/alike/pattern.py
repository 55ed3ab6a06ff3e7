"""The stresses of a weld line as one row of numbers: the same whatever its name, location, sign or first end."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from typing import Annotated

import numpy as np
from pydantic import StringConstraints

from fatcore.require import FloatArray

from ...base.common import Strict
from ...topics.check.lines import LineInput

MOST_STATIONS = 1000  # of a longer line as many, evenly spread
NEAR = 1e-3  # share of the largest figure: lines that differ by less hold the same stresses
WERE_NEAR = 2e-3  # by less they held the same before: wider, so that a pair at the bound does not flicker
OTHER_STATIONS = 0.2  # share of the stations of the shorter line that may be others
GOLDEN = 0.6180339887498949

_NUMBER = r"\d+(\.\d+)?(e[+-]\d+)?"
Pattern = Annotated[str, StringConstraints(pattern=rf"^{_NUMBER}( {_NUMBER})*$")]


def pattern_of(line: LineInput) -> str:
    """One figure a station: the size of a weighted sum of all its stresses, in the order of the stations."""
    columns = [column for name in sorted(line.cases) for column in _columns(line.cases[name])]
    sums = np.abs(np.array(columns, dtype=np.float64).T @ _weights(len(columns)))
    spread = np.linspace(0, sums.size - 1, min(sums.size, MOST_STATIONS)).round().astype(int)
    return " ".join(f"{value:.6g}" for value in sums[spread])


def _columns(case: Strict) -> Iterator[list[float]]:
    for name in type(case).model_fields:
        value = getattr(case, name)
        if isinstance(value, Strict):
            yield from _columns(value)
        elif value is not None:
            yield value


def _weights(count: int) -> FloatArray:
    """Weights from 1 to 2, no two of them the same, so that exchanged columns do not give the same sums."""
    return np.array([1.0 + (GOLDEN * at) % 1.0 for at in range(count)])


def figures(pattern: str) -> FloatArray:
    """The figures of a pattern, in the order of the stations."""
    return np.array(pattern.split(" "), dtype=np.float64)


@lru_cache(maxsize=20_000)
def sorted_figures(pattern: str) -> tuple[float, ...]:
    """The figures of a pattern, the largest first: the same for a line that is listed backwards."""
    return tuple(sorted((float(part) for part in pattern.split(" ")), reverse=True))


def near(first: tuple[float, ...], second: tuple[float, ...], bound: float = NEAR) -> bool:
    """Whether the figures of two lines, sorted, are the same ones but for a few stations.

    >>> near((6.0, 5.0, 4.0), (6.0, 5.0, 4.5, 4.0)), near((6.0, 5.0, 4.0), (6.1, 5.0, 4.0))
    (True, False)
    """
    short, long = sorted((first, second), key=len)
    allowed, within = int(OTHER_STATIONS * len(short)), bound * max(short[0], long[0])
    at = other = 0
    for value in short:
        while at < len(long) and long[at] > value + within:
            at += 1
        if at < len(long) and long[at] >= value - within:
            at += 1
        else:
            other += 1
            if other > allowed:
                return False
    return True


def runs_backwards(now: str, before: str) -> bool | None:
    """Whether the stations are listed from the other end; None where the stresses do not show it."""
    size = min(len(now.split(" ")), len(before.split(" ")))
    here, there = (_shape(pattern, size) for pattern in (now, before))
    straight, turned = (float(np.abs(shape - there).max()) for shape in (here, here[::-1]))
    if abs(straight - turned) <= NEAR:
        return None
    return turned < straight


def _shape(pattern: str, size: int) -> FloatArray:
    """Figures at evenly spread stations, the largest as 1."""
    values = figures(pattern)
    largest = values.max()
    scaled = values / (largest if largest > 0.0 else 1.0)
    return np.interp(np.linspace(0, 1, size), np.linspace(0, 1, values.size), scaled)
