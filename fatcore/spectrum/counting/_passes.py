"""Counting by whole-array passes: many cycles at once where the order of removal does not matter.

Let b, c, d, e be four turning points in a row. When |c - d| < |b - c| and e comes back to c or beyond, c-d
is a
whole cycle in every rule used here (three-point with halves, three-point closed, four-point), whatever
happens
around it, and without c and d the other points give the same cycles as with them. Two such pairs never
share a point, so that all of them can be removed at once, again and again. The test on the left side
compares the
same rounded ranges as the loops, the one on the right side compares the values themselves: hence the same
cycles
to the last bit. What is left when passes no longer pay goes to the loop; `_closing` finds what closes each
cycle.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fatcore.require import FloatArray
from fatcore.spectrum.counting.cycles import Places

BLOCK = 1 << 14  # points worked on at once: stays in the processor's cache
SMALL = 300  # points below which the loop is quicker than a pass
WORTH = 0.03  # share of points a pass must remove to be worth its time

Pairs = list[tuple[Places, Places]]


def reduce_by_passes(levels: FloatArray) -> tuple[FloatArray, Places, Pairs]:
    """Removes cycles as far as it pays.

    levels  : stress at the turning points
    Returns : remaining levels and their places, and (first, second) places of the cycles removed
    """
    found: Pairs = []
    places: Places = np.arange(levels.size, dtype=np.int32 if levels.size < 2**31 else np.int64)
    while levels.size > BLOCK:
        before = levels.size
        levels, places = _by_blocks(levels, places, found)
        if levels.size >= (1.0 - WORTH) * before:
            return levels, places, found
    levels, places = _passes(levels, places, found)
    return levels, places, found


def _by_blocks(levels: FloatArray, places: Places, found: Pairs) -> tuple[FloatArray, Places]:
    parts = [_passes(levels[k : k + BLOCK], places[k : k + BLOCK], found) for k in range(0, levels.size, BLOCK)]
    return np.concatenate([part[0] for part in parts]), np.concatenate([part[1] for part in parts])


def _passes(levels: FloatArray, places: Places, found: Pairs) -> tuple[FloatArray, Places]:
    while levels.size > SMALL:
        lone = _removable(levels)
        if 2 * np.count_nonzero(lone) <= WORTH * levels.size:
            break
        gone = np.zeros(levels.size, dtype=np.bool_)
        gone[1:-2] = lone
        found.append((places[gone], places[1:][gone[:-1]]))
        gone[2:-1] |= lone
        kept = ~gone
        levels, places = levels[kept], places[kept]
    return levels, places


def _removable(levels: FloatArray) -> NDArray[np.bool_]:
    """True for each inner point (from the second to the last but two) that is the c of such four points."""
    ranges = np.abs(levels[1:] - levels[:-1])
    step = levels[3:] - levels[1:-2]  # from c to e
    back = np.where(levels[2:-1] > levels[1:-2], step <= 0.0, step >= 0.0)
    return np.asarray((ranges[:-2] > ranges[1:-1]) & back)
