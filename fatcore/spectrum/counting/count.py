"""Cycle counting: rainflow with half cycles or closed, four-point with residue, range pairs.

Every count keeps the order in which cycles close, as crack growth needs it. Binning comes afterwards
(`matrix`); counts of levels, peaks and simple ranges are in `levels`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import chain
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from fatcore.bounds import guarded
from fatcore.errors import InputError
from fatcore.outcome import Outcome
from fatcore.require import FloatArray
from fatcore.spectrum.counting import engine
from fatcore.spectrum.counting._closing import find_closing_points
from fatcore.spectrum.counting._one_pass import counted, cycles_loop, turns_loop
from fatcore.spectrum.counting._passes import reduce_by_passes
from fatcore.spectrum.counting.cycles import Cycles, Places, by_closing, from_columns, from_indices
from fatcore.spectrum.counting.history import (
    IndexArray,
    as_column,
    as_history,
    close_at_largest,
    find_turning_points,
    largest_sample,
)
from fatcore.spectrum.counting.kernels import four_point_loop, three_point_loop

STRETCH = 1 << 12  # turning points made into Python numbers together

Residue = Literal["half", "closed"]
Rule = Literal["half", "closed", "four-point"]
Whole = tuple[Places, Places, Places]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FourPointCount(Outcome):
    """Cycles of the four-point rule and what it leaves.

    counted       : whole cycles only
    residue_index : samples of the points left, residue_mpa: their stress [MPa]; first widens, then narrows
    """

    counted: Cycles
    residue_index: IndexArray
    residue_mpa: FloatArray


@guarded
def rainflow(history_mpa: ArrayLike, residue: Residue = "closed") -> Cycles:
    """Rainflow cycles by the three-point rule; equal ranges close.

    history_mpa : samples [MPa], one-dimensional
    residue     : `closed`: the record stands for a block that repeats, it is started at its largest absolute
                  value and closed there, and every count is a whole cycle; never less damage than
                  `half`: the record happens once, what does not close counts as half cycles
    Returns     : cycles in closing order; indices are samples of the given history
    Raises      : InputError when the history is empty or not finite
    Source      : [astm-e1049] 5.4.4 and 5.4.5
    >>> rainflow([-2, 1, -3, 5, -1, 3, -4, 4, -2], "half").range_mpa.tolist()
    [3.0, 4.0, 8.0, 4.0, 9.0, 8.0, 6.0]
    """
    if engine.chosen() == "fast":
        return _in_one_pass(as_column(history_mpa), residue)
    values = as_history(history_mpa)
    if residue == "half":
        found = from_indices(values, *count_turning_points(values, find_turning_points(values), "half"))
        return replace(found, sources=("astm-e1049",))
    closed, shift = close_at_largest(values)
    whole, _ = count_turning_points(closed, find_turning_points(closed), "closed")
    found = from_indices(closed, whole, np.empty(0, dtype=np.int64))
    return _shift(replace(found, sources=("astm-e1049",)), shift, values.size)


def _in_one_pass(values: FloatArray, residue: Residue) -> Cycles:
    closed = residue == "closed"
    start = largest_sample(values) if closed else 0
    turn, count = engine.compiled(turns_loop), engine.compiled(cycles_loop)
    assert turn is not None
    assert count is not None
    found = counted(values, start, closed, turn, count)
    if found is None:
        raise InputError("history_mpa must be finite", "history_mpa")
    whole, left = found
    cycles = from_columns(values, whole, left[:1] if closed else left)
    return replace(cycles, sources=("astm-e1049",))


def _shift(found: Cycles, shift: int, size: int) -> Cycles:
    """Indices of the given history; the order stays that of the history started at its largest value."""
    start, end, closing = (
        (column + shift) % size for column in (found.start_index, found.end_index, found.closing_index)
    )
    return replace(found, start_index=start, end_index=end, closing_index=closing)


def four_point(history_mpa: ArrayLike) -> FourPointCount:
    """Cycles of the four-point rule and the residue.

    history_mpa : samples [MPa], one-dimensional
    Raises      : InputError when the history is empty or not finite
    Source      : [iso-12110-2]
    """
    values = as_history(history_mpa)
    whole, left = count_turning_points(values, find_turning_points(values), "four-point")
    cycles = from_indices(values, whole, np.empty(0, dtype=np.int64))
    return FourPointCount(
        counted=replace(cycles, sources=("iso-12110-2",)),
        residue_index=left,
        residue_mpa=values[left],
        sources=("iso-12110-2",),
    )


def range_pair(history_mpa: ArrayLike) -> Cycles:
    """Range pairs: a range counts when a later one in the other direction pairs with it.

    What is left is counted from the end backwards; one last range without a partner counts as half a cycle.
    On a history that starts and ends at its largest peak or lowest valley it equals the closed rainflow.

    Raises : InputError when the history is empty or not finite
    Source : [astm-e1049] 5.3
    """
    values = as_history(history_mpa)
    whole, left = count_turning_points(values, find_turning_points(values), "closed")
    back, last = _on_lists(three_point_loop, values[left[::-1]], left[::-1], (True,))
    merged = (
        np.concatenate((whole[0], back[1])),
        np.concatenate((whole[1], back[0])),
        np.concatenate((whole[2], back[0])),
    )
    order = by_closing(merged[0], merged[2])
    ordered = (merged[0][order], merged[1][order], merged[2][order])
    return replace(from_indices(values, ordered, last[::-1]), sources=("astm-e1049",))


def count_turning_points(values: FloatArray, points: IndexArray, rule: Rule) -> tuple[Whole, IndexArray]:
    """Whole cycles as (first, second, closing) indices in closing order, and the indices of the points left.

    values : the history, points: indices of its turning points
    """
    levels = values[points]
    loop, options = (four_point_loop, ()) if rule == "four-point" else (three_point_loop, (rule == "closed",))
    fast = engine.compiled(loop)
    if fast is not None:
        return _on_arrays(fast, levels, points, options)
    left_levels, places, removed = reduce_by_passes(levels)
    if not removed:
        return _on_lists(loop, levels, points, options)
    (first, second, _), residue = _on_lists(loop, left_levels, places, options)
    # what closed a cycle in the loop may not be the first that does: others are gone
    first = np.concatenate([*(pair[0] for pair in removed), first])
    second = np.concatenate([*(pair[1] for pair in removed), second])
    closing = find_closing_points(levels, first, second)
    order = by_closing(first, closing)
    first, second, closing = first[order], second[order], closing[order]
    return (points[first], points[second], points[closing]), points[residue]


def _on_lists(
    loop: Callable[..., tuple[int, int]], levels: FloatArray, places: Places, options: tuple[bool, ...]
) -> tuple[tuple[Places, Places, Places], Places]:
    """The loop over lists, whose numbers are made in short stretches, hot in the cache."""
    size = levels.size
    level, place = [0.0] * size, [0] * size
    columns = [[0] * (size // 2 + 1) for _ in range(3)]
    parts = (levels[k : k + STRETCH].tolist() for k in range(0, size, STRETCH))
    cycles, left = loop(chain.from_iterable(parts), *options, level, place, *columns)
    first, second, closing = (places[np.fromiter(column, np.int64, cycles)] for column in columns)
    return (first, second, closing), places[np.fromiter(place, np.int64, left)]


def _on_arrays(
    fast: Callable[..., tuple[int, int]], levels: FloatArray, points: IndexArray, options: tuple[bool, ...]
) -> tuple[Whole, IndexArray]:
    level, place = np.empty_like(levels), np.empty_like(points)
    columns: list[Places] = [np.empty(levels.size // 2 + 1, dtype=np.int64) for _ in range(3)]
    cycles, left = fast(levels, *options, level, place, *columns)
    first, second, closing = (points[column[:cycles]] for column in columns)
    return (first, second, closing), points[place[:left]]
