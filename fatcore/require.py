"""Guards at the door of public functions: return a float array or raise InputError with the name."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fatcore.errors import InputError
from fatcore.figures import as_given, counted

FloatArray = NDArray[np.float64]
SHORTEST_REASON, LONGEST_REASON = 3, 1000  # letters, characters


def finite(name: str, value: ArrayLike) -> FloatArray:
    """The value as float64 array; InputError when an element is NaN or infinite."""
    array = np.asarray(value, dtype=np.float64)
    if not np.isfinite(array).all():
        raise InputError(f"{name} must be finite", name)
    return array


def positive(name: str, value: ArrayLike) -> FloatArray:
    """The value as float64 array; InputError when an element is not greater than zero."""
    array = finite(name, value)
    if (array <= 0.0).any():
        raise InputError(f"{name} must be greater than 0", name)
    return array


def within(
    name: str, value: ArrayLike, low: float, high: float, *, open_low: bool = False, open_high: bool = False
) -> FloatArray:
    """The value as float64 array; InputError when an element leaves the interval (ends belong to it)."""
    array = finite(name, value)
    below = array <= low if open_low else array < low
    above = array >= high if open_high else array > high
    if (below | above).any():
        left, right = "(" if open_low else "[", ")" if open_high else "]"
        raise InputError(f"{name} must lie in {left}{as_given(low)}, {as_given(high)}{right}", name)
    return array


def reason(name: str, text: str) -> str:
    """A reason as it is kept: one line of printable text.

    Raises : InputError when it says nothing or far too much
    >>> reason("because", "  clamped in   the rig ")
    'clamped in the rig'
    """
    line = " ".join(text.split())
    letters = sum(letter.isalpha() for letter in line)
    if not line.isprintable() or letters < SHORTEST_REASON or len(line) > LONGEST_REASON:
        message = f"a reason takes {SHORTEST_REASON} letters or more, and up to {LONGEST_REASON} characters"
        raise InputError(f"{message}, all printable", name)
    return line


def other_length(name: str, size: int, expected: int) -> str:
    """What is wrong with a column of another length than expected.

    >>> other_length("count", 1, 4), other_length("count", 2, 1)
    ('count has 1 entry where 4 were expected', 'count has 2 entries where 1 was expected')
    """
    return f"{name} has {counted(size, 'entry')} where {expected} {'was' if expected == 1 else 'were'} expected"


def one_length(**columns: ArrayLike) -> int:
    """The common length of one-dimensional columns; InputError naming the first that differs or is empty."""
    length: int | None = None
    for name, column in columns.items():
        size = len(column) if isinstance(column, list) else next(iter(np.shape(column)), 0)
        if size == 0:
            raise InputError(f"{name} must not be empty", name)
        if length is not None and size != length:
            raise InputError(other_length(name, size, length), name)
        length = size
    return length or 0
