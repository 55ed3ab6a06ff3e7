"""Finds the turning point that closes each cycle: the first one that comes back as far as the cycle
started.
"""

from __future__ import annotations

import numpy as np

from fatcore.require import FloatArray
from fatcore.spectrum.counting.cycles import Places

STEPS = 6  # places looked at one by one before the search climbs
FAN = 4


def find_closing_points(levels: FloatArray, first: Places, second: Places) -> Places:
    """Places of the turning points that close whole cycles.

    levels        : stress at all turning points, which alternate
    first, second : places of the reversals of whole cycles
    Returns       : for each, the first place behind the second whose distance from it is at least the range
    """
    found = second + 1
    ranges = np.abs(levels[second] - levels[first])
    todo = np.flatnonzero(np.abs(levels[found] - levels[second]) < ranges)
    for _ in range(STEPS):  # few cycles have to look far
        found[todo] += 2
        short = np.abs(levels[found[todo]] - levels[second[todo]]) < ranges[todo]
        todo = todo[short]
    for parity in (0, 1):
        mine = todo[first[todo] % 2 == parity]
        if mine.size:
            sign = 1.0 if levels[parity] < levels[1 - parity] else -1.0
            start = (found[mine].astype(np.int64) + 2 - parity) // 2
            reached = _first_reaching(sign * levels[parity::2], start, sign * levels[second[mine]], ranges[mine])
            found[mine] = 2 * reached + parity
    return found


def _first_reaching(lows: FloatArray, start: Places, top: FloatArray, ranges: FloatArray) -> Places:
    """For each search the first place from start where lows lie at least the range below the top.

    Minima of FAN neighbours, of FAN of these and so on let a search climb over stretches without one.
    """
    floors, offsets = _floors(lows)
    result = np.empty(start.size, dtype=np.int64)
    item, place, floor = np.arange(start.size), start, np.zeros(start.size, dtype=np.int64)
    while item.size:
        low_enough = top - floors[offsets[floor] + place] >= ranges
        done = low_enough & (floor == 0)
        result[item[done]] = place[done]
        step = place + 1
        up = ~low_enough & (step % FAN == 0)
        place = np.where(low_enough, FAN * place, np.where(up, step // FAN, step))
        floor = floor - low_enough + up
        left = ~done
        item, place, floor, top, ranges = item[left], place[left], floor[left], top[left], ranges[left]
    return result


def _floors(lows: FloatArray) -> tuple[FloatArray, Places]:
    """Minima of 1, FAN, FAN^2, ... neighbours behind each other in one array, and where each floor begins."""
    floors = [_pad(lows)]
    while floors[-1].size > FAN:
        last = floors[-1]
        floors.append(_pad(np.minimum(np.minimum(last[::4], last[1::4]), np.minimum(last[2::4], last[3::4]))))
    return np.concatenate(floors), np.concatenate(([0], np.cumsum([floor.size for floor in floors])[:-1]))


def _pad(floor: FloatArray) -> FloatArray:
    """The floor filled up to a multiple of FAN with places that are never low enough, at least one."""
    return np.append(floor, np.full(FAN - floor.size % FAN, np.inf))
