"""Loops over turning points, written once: read as they stand, run on lists, or compiled.

Only indexing and float arithmetic are used, so that lists and arrays give the same numbers. These loops
are the referee of the whole-array passes in `_passes`.
"""

from __future__ import annotations

from typing import Any

Column = Any  # a list or a one-dimensional array


def three_point_loop(
    values: Column, closed: bool, level: Column, place: Column, first: Column, second: Column, closing: Column
) -> tuple[int, int]:  # fmt: skip
    """Counts by the three-point rule of [astm-e1049] 5.4.4.

    values                : turning points, an iterable will do
    closed                : also the range at the start counts as a whole cycle (the history is a closed one)
    level, place          : room for the points not yet counted, as long as values
    first, second, closing: room for the cycles, half as long; results are numbers of turning points
    Returns               : number of whole cycles, number of points in the residue (left in `place`)
    """
    top = -1
    base = 0
    cycles = 0
    for k, value in enumerate(values):
        while top - base >= 1:
            inner = level[top]
            if abs(value - inner) < abs(inner - level[top - 1]):
                break
            if top - 1 > base or closed:
                first[cycles] = place[top - 1]
                second[cycles] = place[top]
                closing[cycles] = k
                cycles += 1
                top -= 2
            else:
                base += 1  # half a cycle: both points stay in the residue
        top += 1
        level[top] = value
        place[top] = k
    return cycles, top + 1


def four_point_loop(
    values: Column, level: Column, place: Column, first: Column, second: Column, closing: Column
) -> tuple[int, int]:  # fmt: skip
    """Counts by the four-point rule; the arguments are those of `three_point_loop`."""
    top = -1
    cycles = 0
    for k, value in enumerate(values):
        top += 1
        level[top] = value
        place[top] = k
        while top >= 3:
            inner = abs(level[top - 1] - level[top - 2])
            if inner > abs(value - level[top - 1]) or inner > abs(level[top - 2] - level[top - 3]):
                break
            first[cycles] = place[top - 2]
            second[cycles] = place[top - 1]
            closing[cycles] = k
            cycles += 1
            top -= 2
            level[top] = value
            place[top] = k
    return cycles, top + 1


def gate_loop(values: Column, width: float) -> list[int]:
    """Positions of the turning points that move back by at least the width; see `history.gate`."""
    low = high = 0
    last = 0
    direction = 0
    kept: list[int] = []
    for k in range(1, len(values)):
        low = k if values[k] < values[low] else low
        high = k if values[k] > values[high] else high
        if direction == 0 and values[high] - values[low] >= width:
            direction = 1 if high > low else -1
            kept.append(min(low, high))
            last = k
        elif direction > 0 and values[last] - values[k] >= width:
            kept.append(last)
            direction, last = -1, k
        elif direction < 0 and values[k] - values[last] >= width:
            kept.append(last)
            direction, last = 1, k
        elif (values[k] - values[last]) * direction > 0:
            last = k
    return [*kept, last]


def loop_ends_loop(
    process: Column,
    points: Column,
    start: Column,
    closing: Column,
    whole: Column,
    last: Column,
    share: Column,
) -> None:
    """Last sample inside the loop of every whole cycle, and the part of the step behind it still inside.

    process, points : the counted history and its turning points
    start, closing  : reversals of the cycles, in closing order; whole: not half a cycle
    last, share     : results; of a half cycle they stay as they are
    """
    here = 0
    for k in range(len(start)):
        while points[here + 1] < closing[k]:
            here += 1
        if not whole[k]:
            continue
        level = process[start[k]]
        inside, stop = points[here], closing[k]
        upward = process[inside] < level
        while stop - inside > 1:  # between the two the history is monotonic
            middle = (inside + stop) // 2
            back = process[middle] >= level if upward else process[middle] <= level
            if back:
                stop = middle
            else:
                inside = middle
        last[k] = inside
        share[k] = (level - process[inside]) / (process[inside + 1] - process[inside])


def loop_extremes_loop(
    values: Column, first: Column, last: Column, share: Column, whole: Column, skip: Column, low: Column,
    high: Column,
) -> None:  # fmt: skip
    """Lowest and highest value over the loop of every cycle.

    first, last : first and last sample inside, nested or apart, an inner loop always before the outer one
    share       : part of the step behind the last sample that still belongs to the loop of a whole cycle
    skip        : room as long as values, filled with -1
    low, high   : results; an outer cycle jumps over the inner ones, so that each sample is read about once
    """
    for k in range(len(first)):
        i = first[k]
        smallest = largest = values[i]
        i += 1
        while i <= last[k]:
            inner = skip[i]
            if inner >= 0:
                smallest = min(smallest, low[inner])
                largest = max(largest, high[inner])
                i = last[inner] + 1
            else:
                smallest = min(smallest, values[i])
                largest = max(largest, values[i])
                i += 1
        # outer loops take the samples only: the point between samples lies on their way anyhow
        low[k] = smallest
        high[k] = largest
        if whole[k]:
            skip[first[k]] = k
    for k in range(len(first)):
        if whole[k]:
            here = values[last[k]]
            back = here + share[k] * (values[last[k] + 1] - here)
            low[k] = min(low[k], back)
            high[k] = max(high[k], back)
