"""Counting by whole-array passes: many cycles at once where the order of removal does not matter.

With consecutive ranges r1 > r2 > r3 <= r4 the range r3 is a whole cycle in every rule used here (three-point
with halves, three-point closed, four-point), and the point that closes it is the far end of r4: r2 does not
close r1, r3 does not close r2, r4 closes r3. Two such ranges are never neighbours nor one apart, so all of
them can be removed at once. The comparison uses the same rounded ranges as the loops, hence the same cycles
to the last bit. What is left when passes no longer pay goes to the loop.
"""

from __future__ import annotations

import numpy as np

from fatcore.require import FloatArray
from fatcore.spectrum.history import IndexArray

__all__ = ["reduce_by_passes"]

BLOCK = 1 << 15  # points worked on at once: stays in the processor's cache
SMALL = 400  # points below which the loop is quicker than a pass
WORTH = 0.04  # share of points a pass must remove to be worth its time

Triples = list[tuple[IndexArray, IndexArray, IndexArray]]


def reduce_by_passes(values: FloatArray, index: IndexArray) -> tuple[FloatArray, IndexArray, Triples]:
    """Removes cycles as far as it pays.

    values, index : turning points and their sample indices
    Returns       : remaining values and indices, and (first, second, closing) indices of the cycles removed
    """
    found: Triples = []
    while values.size > BLOCK:
        before = values.size
        values, index = _by_blocks(values, index, found)
        if values.size >= (1.0 - WORTH) * before:
            return values, index, found
    values, index = _passes(values, index, found, whole=True)
    return values, index, found


def _by_blocks(values: FloatArray, index: IndexArray, found: Triples) -> tuple[FloatArray, IndexArray]:
    parts = [
        _passes(values[k : k + BLOCK], index[k : k + BLOCK], found, whole=False)
        for k in range(0, values.size, BLOCK)
    ]
    return np.concatenate([part[0] for part in parts]), np.concatenate([part[1] for part in parts])


def _passes(
    values: FloatArray, index: IndexArray, found: Triples, *, whole: bool
) -> tuple[FloatArray, IndexArray]:
    while values.size > SMALL:
        lone = _removable(values, whole)
        if 2 * lone.size <= WORTH * values.size:
            break
        found.append((index[lone], index[lone + 1], index[lone + 2]))
        kept = np.ones(values.size, dtype=np.bool_)
        kept[lone] = False
        kept[lone + 1] = False
        values, index = values[kept], index[kept]
    return values, index


def _removable(values: FloatArray, whole: bool) -> IndexArray:
    """First points of all ranges that can go; `whole` when the first value is the history's first point."""
    ranges = np.abs(values[1:] - values[:-1])
    falls = ranges[:-1] > ranges[1:]
    go = falls[1:-1] & ~falls[2:]
    go &= falls[:-2]
    lone = np.flatnonzero(go) + 2
    if whole and falls[0] and not falls[1]:  # nothing lies before r2
        return np.concatenate(([1], lone))
    return lone
