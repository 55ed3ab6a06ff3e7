"""Extremes of one process over the loops of another."""

from __future__ import annotations

import numpy as np

from fatcore.require import FloatArray
from fatcore.spectrum import engine
from fatcore.spectrum._kernels import loop_extremes_loop
from fatcore.spectrum.cycles import Cycles
from fatcore.spectrum.history import IndexArray

__all__ = ["extremes_between", "last_inside"]


def extremes_between(
    values: FloatArray, first: IndexArray, last: IndexArray, count: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Lowest and highest value between two samples, both included, for many nested intervals.

    first, last : of cycles in closing order; count: below 1 for half cycles
    """
    fast = engine.compiled(loop_extremes_loop)
    if fast is None:
        return _by_doubling(values, first, last)
    low, high = np.empty(first.size), np.empty(first.size)
    fast(values, first, last, count >= 1.0, np.full(values.size, -1, dtype=np.int64), low, high)
    return low, high


def _by_doubling(values: FloatArray, first: IndexArray, last: IndexArray) -> tuple[FloatArray, FloatArray]:
    """Two overlapping windows of 2**k samples cover an interval; one window length is held at a time."""
    low, high = np.empty(first.size), np.empty(first.size)
    power = np.frexp((last - first + 1).astype(np.float64))[1] - 1
    lowest, highest = values, values
    for k in range(int(power.max(initial=-1)) + 1):
        mine = np.flatnonzero(power == k)
        left, right = first[mine], last[mine] - (1 << k) + 1
        low[mine] = np.minimum(lowest[left], lowest[right])
        high[mine] = np.maximum(highest[left], highest[right])
        step = min(1 << k, lowest.size - 1)
        lowest = np.minimum(lowest[: lowest.size - step], lowest[step:])
        highest = np.maximum(highest[: highest.size - step], highest[step:])
    return low, high


def last_inside(values: FloatArray, points: IndexArray, cycles: Cycles) -> IndexArray:
    """Last sample of every loop: for a cycle, the one before the history has come back to the start's stress.

    values, points : the counted history and its turning points; for half a cycle it is the second reversal
    """
    whole = cycles.count >= 1.0
    stop = cycles.closing_index[whole]
    inside = points[np.searchsorted(points, stop) - 1]
    level = cycles.start_mpa[whole]
    upward = cycles.end_mpa[whole] < level
    while (open_ := np.flatnonzero(stop - inside > 1)).size:  # bisection: between the two it is monotonic
        middle = (inside[open_] + stop[open_]) // 2
        back = np.where(upward[open_], values[middle] >= level[open_], values[middle] <= level[open_])
        stop[open_[back]] = middle[back]
        inside[open_[~back]] = middle[~back]
    last = cycles.end_index.copy()
    last[whole] = inside
    return last
