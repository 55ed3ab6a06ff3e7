"""Numbers of a request so extreme that the answer leaves the range of floating point."""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite, log10
from typing import Any

from .problems import Problem, pointer

EXTREME = 12.0  # powers of ten off 1, or of an exponent itself: no input of the trade lies there
_EXPONENTS = ("exponent", "slope")
Place = tuple[str | int, ...]


def overflow_problem(error: Exception, data: Any) -> Exception:
    """The problem 422 at the most extreme number of a request whose answer is not finite.

    data    : of the request after validation
    Returns : the error itself where no number is extreme: then the request is not to blame
    """
    found = max(_sizes(data, ()), default=(0.0, ()), key=lambda each: each[0])
    if found[0] < EXTREME:
        return error
    message = "this number leads beyond the range of floating-point numbers"
    return Problem(422, message, [(pointer(found[1]), message)])


def _sizes(data: Any, place: Place) -> Iterator[tuple[float, Place]]:
    """How many powers of ten each number lies off 1, and where it stands; a large exponent counts as just extreme."""
    if isinstance(data, dict | list):
        steps: Any = data.items() if isinstance(data, dict) else enumerate(data)
        for step, value in steps:
            yield from _sizes(value, (*place, step))
    elif isinstance(data, int | float) and not isinstance(data, bool) and data != 0 and isfinite(data):
        size = abs(log10(abs(data)))
        name = next((step for step in reversed(place) if isinstance(step, str)), "")
        steep = abs(data) if any(word in name for word in _EXPONENTS) else 0.0
        yield max(size, min(steep, EXTREME)), place
