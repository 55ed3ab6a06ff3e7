"""What every way from readings to crack sizes gives and guards."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from fatcore.errors import InputError
from fatcore.figures import figure
from fatcore.findings import Finding, note
from fatcore.outcome import Outcome
from fatcore.require import FloatArray, one_length

MOST_READINGS = 20_000


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


def size_findings(size: FloatArray) -> list[Finding]:
    """A note where sizes fall from reading to reading."""
    fall = np.diff(size)
    worst = float(fall.min(initial=0.0))
    if worst >= 0.0:
        return []
    text = (
        f"{int((fall < 0.0).sum())} size(s) are smaller than the one before, by up to {figure(-worst)}"
        " mm: scatter of the measurement"
    )
    return [note("size-falls", text, field="size_mm")]
