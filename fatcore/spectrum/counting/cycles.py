"""Counted cycles, in the order in which they close."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fatcore.outcome import Outcome
from fatcore.require import FloatArray
from fatcore.spectrum.counting.history import IndexArray

Places = NDArray[np.signedinteger]


@dataclass(frozen=True, kw_only=True, eq=False)
class Cycles(Outcome):
    """Cycles and half cycles, ordered by the index at which they close; of equal ones, the inner first.

    range_mpa, mean_mpa     : range and mean [MPa]
    count                   : 1 for a cycle, 0.5 for half a cycle
    start_index, end_index  : samples of the two reversals
    closing_index           : reversal that closes a cycle; half a cycle closes at its own end
    start_mpa, end_mpa      : stress at the two reversals [MPa]
    """

    count: FloatArray
    start_index: IndexArray
    end_index: IndexArray
    closing_index: IndexArray
    start_mpa: FloatArray
    end_mpa: FloatArray

    @cached_property
    def range_mpa(self) -> FloatArray:
        """Stress range of each cycle [MPa]."""
        size = self.end_mpa - self.start_mpa
        return np.abs(size, out=size)

    @cached_property
    def mean_mpa(self) -> FloatArray:
        """Mean stress of each cycle [MPa]; halves are added, so that large values do not overflow."""
        middle = 0.5 * self.start_mpa
        middle += 0.5 * self.end_mpa
        return middle

    @cached_property
    def minimum_mpa(self) -> FloatArray:
        """Lower stress of each cycle [MPa]."""
        return np.minimum(self.start_mpa, self.end_mpa)

    @cached_property
    def maximum_mpa(self) -> FloatArray:
        """Upper stress of each cycle [MPa]."""
        return np.maximum(self.start_mpa, self.end_mpa)

    def chosen(self, mask: NDArray[np.bool_]) -> Cycles:
        """The cycles where the mask is true, in the same order."""
        columns = ("count", "start_index", "end_index", "closing_index", "start_mpa", "end_mpa")
        return replace(self, **{name: getattr(self, name)[mask] for name in columns})

    def at_samples(self, samples: IndexArray) -> Cycles:
        """The same cycles, counted on chosen samples of a history, with the indices of that history."""
        columns = ("start_index", "end_index", "closing_index")
        return replace(self, **{name: samples[getattr(self, name)] for name in columns})

    @property
    def total_count(self) -> float:
        """Number of cycles, halves counted as 0.5."""
        return float(self.count.sum())


def by_closing(first: Places, closing: Places) -> IndexArray:
    """Order of cycles by closing index, and of equal ones the later start, which is the inner one, first."""
    key = closing.astype(np.int64)
    key *= (int(first.max()) if first.size else 0) + 1
    key -= first
    return np.argsort(key)


def from_indices(values: FloatArray, whole: tuple[Places, Places, Places], residue: Places) -> Cycles:
    """Cycles from the (first, second, closing) indices of whole ones and the chain of points left over.

    Neighbouring points of the residue are half a cycle each, placed at their end; whole cycles come in order.
    """
    return from_columns(values, (*whole, values[whole[0]], values[whole[1]]), residue)


def from_columns(
    values: FloatArray, whole: tuple[Places, Places, Places, FloatArray, FloatArray], residue: Places
) -> Cycles:
    """The same as `from_indices`, where the stresses at the two reversals of whole cycles are known too."""
    start, end = residue[:-1], residue[1:]
    place = np.searchsorted(whole[2], end, side="right")
    halves = start, end, end, values[start], values[end]
    kinds = np.int64, np.int64, np.int64, np.float64, np.float64
    columns = [_insert(*column, place) for column in zip(whole, halves, kinds, strict=True)]
    count = np.ones(columns[0].size)
    count[place + np.arange(place.size)] = 0.5
    names = "start_index", "end_index", "closing_index", "start_mpa", "end_mpa"
    return Cycles(count=count, **dict(zip(names, columns, strict=True)))


def _insert(column: Any, values: Any, kind: Any, place: IndexArray) -> Any:
    """The column with values put in before places that do not fall; whole stretches are copied at once."""
    if column.size == 0:
        return values.astype(kind)
    if values.size > column.size // 100:
        return np.insert(column.astype(kind), place, values)
    whole = np.empty(column.size + values.size, dtype=kind)
    ends = [*place.tolist(), column.size]
    whole[: ends[0]] = column[: ends[0]]
    for k, value in enumerate(values.tolist()):
        whole[ends[k] + k] = value
        whole[ends[k] + k + 1 : ends[k + 1] + k + 1] = column[ends[k] : ends[k + 1]]
    return whole
