"""Array mathematics of a log-log line of straight segments; knows no units and no standards.

Segment j is `life = 10**c[j] * load**-m[j]`; segments run from high to low load and meet at the knees. Arrays
are worked through in blocks that stay in the processor's cache, so that memory is the result and little more.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fatcore.errors import InputError
from fatcore.require import FloatArray

BLOCK = 1 << 14


class Line(NamedTuple):
    """Segments from high to low load: log10 constants, slopes, knee loads (descending), cut-off load or 0."""

    log10_constants: tuple[float, ...]
    slopes: tuple[float, ...]
    knees: tuple[float, ...]
    cut_off: float


def not_negative(name: str, value: ArrayLike) -> FloatArray:
    """The value as float64 array; InputError when an element is negative, NaN or infinite."""
    array = np.asarray(value, dtype=np.float64)
    if array.size and not (array.min() >= 0.0 and array.max() < np.inf):
        raise InputError(f"{name} must be finite and not negative", name)
    return array


def common_shape(**columns: FloatArray) -> tuple[int, ...]:
    """Shape to which arrays broadcast; InputError naming the last when they do not."""
    try:
        return np.broadcast_shapes(*(column.shape for column in columns.values()))
    except ValueError as error:
        *others, last = columns
        raise InputError(f"{last} must be one number or as many as {' and '.join(others)}", last) from error


def life(line: Line, loads: FloatArray) -> FloatArray:
    """Life at each load >= 0; inf below the cut-off and at load 0."""
    return _in_blocks(loads, lambda block, out: _life_block(line, block, out))


def damage(line: Line, loads: FloatArray) -> FloatArray:
    """Inverse of the life at each load >= 0; 0 below the cut-off and at load 0."""
    return _in_blocks(loads, lambda block, out: _damage_block(line, block, out))


def load(line: Line, lives: FloatArray) -> FloatArray:
    """Load at each life > 0 (inverse of `life`); the cut-off load beyond the cut-off life."""
    return _in_blocks(lives, lambda block, out: _load_block(line, block, out))


def knee_lives(line: Line) -> tuple[float, ...]:
    """Life at each knee, on the segment above it."""
    return tuple(
        float(10.0 ** (c - m * np.log10(knee)))
        for c, m, knee in zip(line.log10_constants, line.slopes, line.knees, strict=False)
    )


def _in_blocks(values: FloatArray, work: Callable[[FloatArray, FloatArray], None]) -> FloatArray:
    flat = values.reshape(-1)
    result = np.empty(flat.size)
    with np.errstate(over="ignore", under="ignore", divide="ignore"):
        for start in range(0, flat.size, BLOCK):
            work(flat[start : start + BLOCK], result[start : start + BLOCK])
    return result.reshape(values.shape)


def _life_block(line: Line, loads: FloatArray, out: FloatArray) -> None:
    segment = _segment(loads, line.knees, np.less)
    exponents, constants, _ = _terms(line)
    _power(loads, segment, -exponents, constants, out)
    if line.cut_off > 0.0:
        out[loads < line.cut_off] = np.inf


def _damage_block(line: Line, loads: FloatArray, out: FloatArray) -> None:
    segment = _segment(loads, line.knees, np.less)
    exponents, _, inverse = _terms(line)
    _power(loads, segment, exponents, inverse, out)
    if line.cut_off > 0.0:
        out[loads < line.cut_off] = 0.0


def _load_block(line: Line, lives: FloatArray, out: FloatArray) -> None:
    exponents = -1.0 / np.array(line.slopes)
    segment = _segment(lives, knee_lives(line), np.greater)
    _power(lives, segment, exponents, 10.0 ** (-exponents * np.array(line.log10_constants)), out)
    np.maximum(out, line.cut_off, out=out)


@lru_cache(maxsize=1_000)
def _terms(line: Line) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Slopes, constants and their inverses as arrays, which are looked up again and again."""
    logarithms = np.array(line.log10_constants)
    return np.array(line.slopes), 10.0**logarithms, 10.0**-logarithms


def _segment(values: FloatArray, knees: tuple[float, ...], beyond: np.ufunc) -> NDArray[np.intp] | int:
    if not knees:
        return 0
    segment = np.zeros(values.shape, dtype=np.intp)
    for knee in knees:
        segment += beyond(values, knee)
    return segment


def _power(
    base: FloatArray,
    segment: NDArray[np.intp] | int,
    exponents: FloatArray,
    constants: FloatArray,
    out: FloatArray,
) -> None:
    np.power(base, exponents[segment], out=out)
    out *= constants[segment]
