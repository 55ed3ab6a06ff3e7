"""Rainflow from samples to cycles in one pass, for the compiler.

Blocks of samples stay in the processor's cache while their turning points are found and counted; turning
points are never stored, and stresses are read once. The same rounded ranges are compared as in
`_kernels.three_point_loop`, hence the same cycles to the last bit. The loops may also run as they stand.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from typing import Any

import numpy as np

from fatcore.require import FloatArray
from fatcore.spectrum.counting.cycles import Places

BLOCK = 1 << 15  # samples looked at together
Column = Any  # a one-dimensional array
FoundCycles = tuple[Places, Places, Places, FloatArray, FloatArray]
Loop = Callable[..., tuple[int, int, int]]


def turns_loop(
    values: Column, begin: int, end: int, last: int, rising: int, rises: Column, turned: Column, turns: Column
) -> tuple[int, int, int]:  # fmt: skip
    """Turning points passed by the steps to the samples begin to end - 1; the step to sample 0 is from the
    last.

    last, rising : where the step before began to stand still or ended, and whether it went up (1) or down (0)
    rises, turned: room for end - begin flags; turns: room for as many places, those of the points
    Returns      : number of points, the new last and rising; -1 points when a sample is not finite
    """
    before = values[begin - 1]
    part = values[begin:end]
    odd = int(part[0] == before) + int(part[0] - part[0] != 0.0)
    rises[0] = part[0] > before
    for k in range(1, len(part)):
        rises[k] = part[k] > part[k - 1]
    for k in range(1, len(part)):
        odd += int(part[k] == part[k - 1]) + int(part[k] - part[k] != 0.0)
    found = 0
    if odd == 0:  # no standing still: no branch depends on a sample
        turns[0] = last
        found = int(rises[0] != rising)
        for k in range(1, len(part)):
            turned[k] = rises[k] != rises[k - 1]
        for k in range(1, len(part)):
            turns[found] = begin + k - 1
            found += turned[k]
        return found, end - 1, int(rises[len(part) - 1])
    for k in range(len(part)):
        value = part[k]
        if value - value != 0.0:
            return -1, last, rising
        if value != before:
            if int(value > before) != rising:
                turns[found] = last
                found += 1
                rising = 1 - rising
            last = begin + k
            before = value
    return found, last, rising


def cycles_loop(
    values: Column, turns: Column, found: int, closed: bool, cycles: int, top: int, base: int, level: Column,
    place: Column, first: Column, second: Column, closing: Column, start_mpa: Column, end_mpa: Column,
) -> tuple[int, int, int]:  # fmt: skip
    """Counts the turning points of a block by the three-point rule of [astm-e1049] 5.4.4.

    cycles, top, base : cycles so far, the last open point and the first one of the residue
    level, place      : open points from 0 to top, at least one
    first to end_mpa  : results; the other arguments are those of `three_point_loop`
    Returns           : the new cycles, top and base
    """
    inner = level[top]
    rest = abs(inner - level[top - 1])
    for k in range(found):
        here = turns[k]
        value = values[here]
        while top > base and abs(value - inner) >= rest:
            if top - 1 > base or closed:
                first[cycles] = place[top - 1]
                second[cycles] = place[top]
                closing[cycles] = here
                start_mpa[cycles] = level[top - 1]
                end_mpa[cycles] = inner
                cycles += 1
                top -= 2
                if top >= 0:
                    inner = level[top]
                    rest = abs(inner - level[top - 1])  # without meaning, and not asked for, at the base
            else:
                base += 1  # half a cycle: both points stay in the residue
        rest = abs(value - inner)
        inner = value
        top += 1
        level[top] = value
        place[top] = here
    return cycles, top, base


def counted(values: FloatArray, start: int, closed: bool, turn: Loop, count: Loop) -> tuple[FoundCycles, Places] | None:
    """Whole cycles in closing order with the places and stresses of their reversals, and the places left.

    start, closed : sample to begin with, and whether the history goes round to it again
    turn, count   : `turns_loop` and `cycles_loop`, compiled or not
    Returns       : None when a sample is not finite
    """
    size = values.size
    moves = size if closed else size - 1
    kind: Any = np.int32 if size < 2**31 else np.int64  # half the memory to write; widened in the end
    most = size // 2 + 1
    first, second, closing = np.empty(most, kind), np.empty(most, kind), np.empty(most, kind)
    start_mpa, end_mpa = np.empty(most), np.empty(most)
    level, place = np.empty(size + 1), np.empty(size + 1, kind)
    block = np.empty(BLOCK, np.bool_), np.empty(BLOCK, np.bool_), np.empty(BLOCK, kind)
    turns = block[2]
    room = level, place, first, second, closing, start_mpa, end_mpa
    level[0], place[0] = values[start], start
    level[-1] = 0.0  # looked at, without meaning, by a loop that starts
    last, rising, state = start, _first_rise(values, start), (0, 0, 0)
    if not math.isfinite(values[start]):
        return None
    for begin, end in _blocks(size, start + 1, moves):
        found, last, rising = turn(values, begin, end, last, rising, *block)
        if found < 0:
            return None
        state = count(values, turns, found, closed, *state, *room)
    if last != start or state[0] > 0 or state[1] > 0:  # it has moved: where it stands is the last point
        turns[0] = last
        state = count(values, turns, 1, closed, *state, *room)
    n, top, _ = state
    return (first[:n], second[:n], closing[:n], start_mpa[:n], end_mpa[:n]), place[: top + 1]


def _first_rise(values: FloatArray, start: int) -> int:
    """1 when the first step away from the start, going round, leads up."""
    following = values[(start + 1) % values.size]
    if following == values[start]:
        moved = np.flatnonzero(np.roll(values, -start) != values[start])
        following = values[(start + moved[0]) % values.size] if moved.size else following
    return int(following > values[start])


def _blocks(size: int, begin: int, moves: int) -> Iterator[tuple[int, int]]:
    """Stretches of samples from begin on, going round at the size, of `moves` samples together."""
    while moves > 0:
        begin %= size
        number = min(BLOCK, moves, size - begin)
        yield begin, begin + number
        begin, moves = begin + number, moves - number
