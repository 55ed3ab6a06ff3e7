"""One-parameter counts: level crossings, peaks and valleys, simple ranges.

They lose which reversals belong together; rainflow (`counting`) is the count for damage.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from fatcore import require
from fatcore.outcome import Outcome
from fatcore.require import FloatArray
from fatcore.spectrum.counting.cycles import Cycles, from_indices
from fatcore.spectrum.counting.history import as_history, find_turning_points


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PeakCount(Outcome):
    """Peaks above and valleys below the reference, and the ranges made from them.

    maxima_mpa, minima_mpa : largest peaks first, lowest valleys first [MPa]
    range_mpa            : largest peak with lowest valley and so on; one without a partner is paired with the
                           reference [MPa]
    """

    maxima_mpa: FloatArray
    minima_mpa: FloatArray
    range_mpa: FloatArray


def level_crossings(history_mpa: ArrayLike, levels_mpa: ArrayLike, reference_mpa: float = 0.0) -> FloatArray:
    """Crossings of each level: upward ones at and above the reference, downward ones below it.

    history_mpa : samples [MPa]; levels_mpa: any order [MPa]
    Returns     : number of crossings of each level. A move up from a to b crosses a < level <= b, a move down
                  from a to b crosses a > level >= b
    Raises      : InputError when the history or a level is empty or not finite
    Source      : [astm-e1049] 5.1
    """
    values = as_history(history_mpa)
    levels = require.finite("levels_mpa", levels_mpa)
    points = values[find_turning_points(values)]
    start, end = points[:-1], points[1:]
    up = _passed(start[end > start], end[end > start], levels)
    down = _passed(-start[end < start], -end[end < start], -levels)
    return np.where(levels >= reference_mpa, up, down).astype(np.float64)


def _passed(low: FloatArray, high: FloatArray, levels: FloatArray) -> FloatArray:
    """Number of moves with low < level <= high, for each level."""
    below = np.searchsorted(np.sort(low), levels, side="left")
    reached = np.searchsorted(np.sort(high), levels, side="left")
    return np.asarray(below - reached, dtype=np.float64)


def peak_count(history_mpa: ArrayLike, reference_mpa: float = 0.0) -> PeakCount:
    """Peaks above the reference and valleys below it, end points of the history left out.

    Raises : InputError when the history is empty or not finite
    Source : [astm-e1049] 5.2; the pairing of a single peak with the reference is an own choice
    """
    values = as_history(history_mpa)
    points = values[find_turning_points(values)]
    inner = points[1:-1]
    peaks = -np.sort(-inner[(inner > points[:-2]) & (inner > reference_mpa)])
    valleys = np.sort(inner[(inner < points[:-2]) & (inner < reference_mpa)])
    longest = max(peaks.size, valleys.size)
    upper = np.append(peaks, np.full(longest - peaks.size, reference_mpa))
    lower = np.append(valleys, np.full(longest - valleys.size, reference_mpa))
    return PeakCount(
        maxima_mpa=peaks, minima_mpa=valleys, range_mpa=upper - lower, sources=("astm-e1049", "peak-pairing")
    )


def simple_ranges(history_mpa: ArrayLike) -> Cycles:
    """Every range between neighbouring turning points as half a cycle, in order.

    Raises : InputError when the history is empty or not finite
    Source : [astm-e1049] 5.2, rising and falling ranges counted
    """
    values = as_history(history_mpa)
    none = np.empty(0, dtype=np.int64)
    return replace(from_indices(values, (none, none, none), find_turning_points(values)), sources=("astm-e1049",))
