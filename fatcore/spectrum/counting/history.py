"""Histories before counting: turning points, hysteresis gate, joining and repeating of records.

Rules: a plateau is one point, at its first sample; equal neighbours are a plateau; the first and the last
point always belong to the turning points; a constant history and a single sample have one turning point
and no range; an empty history is an error.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fatcore import require
from fatcore.bounds import NonNegative, guarded
from fatcore.errors import InputError, at
from fatcore.figures import as_given
from fatcore.require import FloatArray
from fatcore.spectrum.counting.kernels import gate_loop

IndexArray = NDArray[np.int64]

BLOCK = 1 << 16


def as_history(history_mpa: ArrayLike, name: str = "history_mpa") -> FloatArray:
    """The history as a one-dimensional float array.

    Raises : InputError when it is empty, not one-dimensional, or not finite
    """
    return require.finite(name, as_column(history_mpa, name))


def as_column(history_mpa: ArrayLike, name: str = "history_mpa") -> FloatArray:
    """The history as a one-dimensional float array of numbers not yet looked at.

    Raises : InputError when it is empty or not one-dimensional
    """
    values = np.ascontiguousarray(history_mpa, dtype=np.float64)
    if values.ndim != 1 or values.size == 0:
        raise InputError(f"{name} must be a column of at least one sample", name)
    return values


def refuse_nothing_counted(history_mpa: ArrayLike, hysteresis_threshold_mpa: float) -> None:
    """Refuses a history in which nothing was counted: it does not move, or the threshold lets nothing through.

    hysteresis_threshold_mpa : [MPa], 0 for none
    Raises                   : InputError, always
    """
    values = as_history(history_mpa)
    largest = float(values.max() - values.min())
    if largest == 0.0:
        raise InputError("the history never moves: it holds no range", "history_mpa")
    raise InputError(
        f"the threshold of {as_given(hysteresis_threshold_mpa)} MPa is above every range of the history, the largest "
        f"is {as_given(largest)} MPa: nothing is left to be counted",
        "hysteresis_threshold_mpa",
    )


def turning_points(history_mpa: ArrayLike) -> IndexArray:
    """Indices of the turning points by the rules of this module, in rising order.

    history_mpa : samples [MPa], one-dimensional
    Returns     : sample indices; value k is history_mpa[k]
    Raises      : InputError when the history is empty or not finite
    >>> turning_points([0.0, 1.0, 1.0, 2.0, 2.0, -1.0, -1.0]).tolist()
    [0, 3, 5]
    """
    return find_turning_points(as_history(history_mpa))


def find_turning_points(values: FloatArray) -> IndexArray:
    """The same of a column that is known to be finite and not empty."""
    found = _by_blocks(values)
    if found is not None:
        return found
    kept = np.concatenate(([0], np.flatnonzero(values[1:] != values[:-1]) + 1))
    inner = _by_blocks(values[kept])
    return kept if inner is None else kept[inner]  # one value is left of a constant history


def _by_blocks(values: FloatArray) -> IndexArray | None:
    """Turning points of a history without equal neighbours, None when it has some or is a single sample.

    Blocks of samples stay in the processor's cache while they are looked at.
    """
    if values.size == 1:
        return None
    turn = np.ones(values.size, dtype=np.bool_)
    for start in range(0, values.size - 1, BLOCK):
        block = values[start : start + BLOCK + 2]
        rising = block[1:] > block[:-1]
        if not (rising | (block[1:] < block[:-1])).all():
            return None
        np.not_equal(rising[1:], rising[:-1], out=turn[start + 1 : start + block.size - 1])
    return np.flatnonzero(turn)


@guarded
def gate(history_mpa: ArrayLike, width_mpa: NonNegative) -> IndexArray:
    """Indices of the turning points that a hysteresis gate lets through.

    A reversal is kept only when the history has moved back by at least the width since the last extreme. The
    first kept point is the extreme from which the first move of that size starts; the last is the extreme
    reached at the end. Width 0 gives the plain turning points; no move of the size gives the first sample.

    Raises : InputError for an empty or non-finite history
    Source : [astm-e1049] leaves the gate open; the rule is an own choice
    """
    values = as_history(history_mpa)
    points = find_turning_points(values)
    if width_mpa == 0.0:
        return points
    passed = gate_loop(values[points].tolist(), width_mpa)
    return points[np.asarray(passed, dtype=np.int64)]


def join(records_mpa: Sequence[ArrayLike]) -> FloatArray:
    """One history from records that follow each other in time; jumps at the joints count as ranges."""
    if len(records_mpa) == 0:
        raise InputError("records_mpa must hold at least one record", "records_mpa")
    parts = []
    for number, record in enumerate(records_mpa):
        with at("records_mpa", number):
            parts.append(as_history(record, "record"))
    return np.concatenate(parts)


def repeat(history_mpa: ArrayLike, times: int) -> FloatArray:
    """The history repeated a whole number of times, end to start."""
    if times < 1:
        raise InputError("times must be at least 1", "times")
    return np.tile(as_history(history_mpa), times)


def close_at_largest(values: FloatArray) -> tuple[FloatArray, int]:
    """The history started at its largest absolute value and closed there, and the index of that sample.

    Source : [astm-e1049] 5.4.5
    """
    first = largest_sample(values)
    return np.concatenate((values[first:], values[: first + 1])), first


def largest_sample(values: FloatArray) -> int:
    """Index of the first sample with the largest absolute value."""
    high, low = int(np.argmax(values)), int(np.argmin(values))
    if abs(values[high]) == abs(values[low]):
        return min(high, low)
    return high if abs(values[high]) > abs(values[low]) else low
