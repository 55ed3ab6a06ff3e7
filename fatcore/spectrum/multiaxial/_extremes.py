"""Extremes of one process over the loops of another."""

from __future__ import annotations

import numpy as np

from fatcore.require import FloatArray
from fatcore.spectrum.counting import engine
from fatcore.spectrum.counting.cycles import Cycles
from fatcore.spectrum.counting.history import IndexArray
from fatcore.spectrum.counting.kernels import loop_ends_loop, loop_extremes_loop


def loop_ends(process: FloatArray, points: IndexArray, cycles: Cycles) -> tuple[IndexArray, FloatArray]:
    """Last sample of every loop, and the part of the step behind it that still belongs to the loop [-].

    process, points : the counted history and its turning points
    A loop ends where the history has come back to the stress at its start; half a cycle ends at its second
    reversal.
    """
    last, share = cycles.end_index.copy(), np.zeros(cycles.count.size)
    fast = engine.compiled(loop_ends_loop)
    if fast is None:
        _ends_by_bisection(process, points, cycles, last, share)
    else:
        whole = cycles.count >= 1.0
        fast(process, points, cycles.start_index, cycles.closing_index, whole, last, share)
    return last, share


def _ends_by_bisection(
    process: FloatArray, points: IndexArray, cycles: Cycles, last: IndexArray, share: FloatArray
) -> None:
    whole = cycles.count >= 1.0
    stop, level = cycles.closing_index[whole], cycles.start_mpa[whole]
    inside = points[np.searchsorted(points, stop) - 1]
    upward = process[inside] < level
    while (open_ := np.flatnonzero(stop - inside > 1)).size:  # between the two it is monotonic
        middle = (inside[open_] + stop[open_]) // 2
        back = np.where(upward[open_], process[middle] >= level[open_], process[middle] <= level[open_])
        stop[open_[back]] = middle[back]
        inside[open_[~back]] = middle[~back]
    last[whole] = inside
    share[whole] = (level - process[inside]) / (process[inside + 1] - process[inside])


def loop_extremes(
    values: FloatArray, cycles: Cycles, last: IndexArray, share: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Lowest and highest value of a process over loops that another one makes.

    last, share : as `loop_ends` gives them; the process runs straight between samples
    """
    whole = cycles.count >= 1.0
    fast = engine.compiled(loop_extremes_loop)
    if fast is not None:
        low, high = np.empty(last.size), np.empty(last.size)
        skip = np.full(values.size, -1, dtype=np.int64)
        fast(values, cycles.start_index, last, share, whole, skip, low, high)
        return low, high
    low, high = _by_doubling(values, cycles.start_index, last)
    here = values[last]
    back = here + share * (values[last + whole] - here)
    return np.minimum(low, back), np.maximum(high, back)


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
