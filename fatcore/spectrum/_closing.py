"""Finds the turning point that closes each cycle: the first one that comes back as far as the cycle
started.
"""

from __future__ import annotations

import numpy as np

from fatcore.require import FloatArray
from fatcore.spectrum._passes import Places

__all__ = ["closing_places"]


def closing_places(levels: FloatArray, first: Places, second: Places) -> Places:
    """Places of the turning points that close whole cycles.

    levels        : stress at all turning points, which alternate
    first, second : places of the reversals of whole cycles
    Returns       : for each, the first place behind the second whose distance from it is at least the range
    """
    found = second + 1  # closes most cycles
    ranges = np.abs(levels[second] - levels[first])
    todo = np.flatnonzero(np.abs(levels[found] - levels[second]) < ranges)
    for parity in (0, 1):
        mine = todo[first[todo] % 2 == parity]
        if mine.size:
            side, sign = levels[parity::2], 1.0 if levels[parity] < levels[1 - parity] else -1.0
            start = (second[mine].astype(np.int64) + 3 - parity) // 2
            found[mine] = (
                2 * _first_reaching(sign * side, start, sign * levels[second[mine]], ranges[mine]) + parity
            )
    return found


def _first_reaching(lows: FloatArray, start: Places, top: FloatArray, ranges: FloatArray) -> Places:
    """For each search the first place from start where lows lie at least the range below the top.

    Minima of pairs, of pairs of pairs and so on let a search climb over stretches without a low enough one.
    """
    floors, offsets = _floors(lows)
    result = np.empty(start.size, dtype=np.int64)
    item, place, floor = np.arange(start.size), start.copy(), np.zeros(start.size, dtype=np.int64)
    while item.size:
        low_enough = top - floors[offsets[floor] + place] >= ranges
        done = low_enough & (floor == 0)
        result[item[done]] = place[done]
        down = low_enough.astype(np.int64)
        step = place + 1 - down
        up = (~low_enough) & (step % 2 == 0)
        place = np.where(low_enough, 2 * place, np.where(up, step // 2, step))
        floor = floor - down + up
        left = ~done
        item, place, floor, top, ranges = item[left], place[left], floor[left], top[left], ranges[left]
    return result


def _floors(lows: FloatArray) -> tuple[FloatArray, Places]:
    """Minima of 1, 2, 4, ... neighbours behind each other in one array, and where each floor begins."""
    floors = [lows]
    while floors[-1].size > 1:
        last = floors[-1]
        even = last if last.size % 2 == 0 else np.append(last, np.inf)
        floors.append(np.minimum(even[::2], even[1::2]))
    padded = [np.append(floor, np.inf) for floor in floors]  # the place behind the end is never low enough
    sizes = [floor.size for floor in padded]
    return np.concatenate(padded), np.concatenate(([0], np.cumsum(sizes)[:-1]))
