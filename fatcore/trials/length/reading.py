"""What every way from readings to crack sizes gives and guards."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from fatcore.errors import InputError
from fatcore.figures import as_given, figure
from fatcore.findings import Finding, caution, note
from fatcore.outcome import Outcome
from fatcore.require import FloatArray, one_length

MOST_READINGS = 20_000
_PLAUSIBLE_FALL = 0.01  # of the largest size: more is hardly scatter of a measurement [own choice]
_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CrackLengthOutcome(Outcome):
    """Readings and crack sizes.

    size_mm, reading : size of each reading; the reading is the ratio of potentials, or the compliance E'vB/P
    """

    size_mm: FloatArray
    reading: FloatArray


def readings_of(**columns: ArrayLike | None) -> None:
    """InputError for columns of unequal length and for more readings than one request may have; None is left out."""
    size = one_length(**{name: column for name, column in columns.items() if column is not None})
    if size > MOST_READINGS:
        raise InputError(f"{size} readings, more than {MOST_READINGS}", next(iter(columns)))


def guard_sizes(size: FloatArray, largest_mm: float, column: str) -> None:
    """InputError with the place of the first reading whose size is none within the specimen."""
    outside = ~((size >= -_ROUNDING * largest_mm) & (size <= largest_mm * (1.0 + _ROUNDING)))
    if outside.any():
        place = int(np.argmax(outside))
        told = f"a size of {figure(size[place])} mm" if np.isfinite(size[place]) else "no size"
        text = f"the form gives {told} for this reading, outside 0 to {as_given(largest_mm)} mm"
        raise InputError(text, column, place)


def size_findings(size: FloatArray, largest_mm: float) -> list[Finding]:
    """A note where sizes fall from reading to reading, a caution where they do so by more than scatter."""
    fall = np.diff(size)
    worst = float(fall.min(initial=0.0))
    if worst >= 0.0:
        return []
    text = (
        f"{int((fall < 0.0).sum())} size(s) are smaller than the one before, by up to {figure(-worst)}"
        " mm: scatter of the measurement"
    )
    if -worst <= _PLAUSIBLE_FALL * largest_mm:
        return [note("size-falls", text, field="size_mm")]
    text = f"{text}, drift, or another order of the readings"
    return [caution("size-falls-far", text, field="size_mm")]
