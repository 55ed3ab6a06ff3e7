"""Cycles of many stations that go through the same few load states, counted by the governing mode."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fatcore.require import FloatArray
from fatcore.spectrum.counting.count import count_turning_points
from fatcore.spectrum.counting.cycles import Cycles, from_indices
from fatcore.spectrum.counting.history import IndexArray, find_turning_points, largest_sample
from fatcore.spectrum.multiaxial._extremes import loop_ends


class SequenceCycles(NamedTuple):
    """Closed cycles of stations whose states follow each other in one order of size.

    stations               : rows (s,); start_index, end_index: states of the two reversals (c,)
    minimum_mpa, maximum_mpa : of every mode over the loop of each cycle, (s, c, m) [MPa]
    """

    stations: IndexArray
    start_index: IndexArray
    end_index: IndexArray
    minimum_mpa: FloatArray
    maximum_mpa: FloatArray


def sequence_cycles(states_mpa: FloatArray, weights: FloatArray) -> Iterator[SequenceCycles]:
    """Cycles of one pass through the states and back to the first, as `mode_cycles` counts `governing`.

    states_mpa : (stations, states, modes) [MPa]; weights: of the modes (m,) [-]
    Returns    : iterator of the stations that move, those of one order of the governing stresses together:
                 the order alone says which states close a cycle
    Source     : [astm-e1049], [toeline-mode-cycles]
    """
    mode = np.argmax(np.abs(weights) * np.ptp(states_mpa, axis=1), axis=1)
    governing = np.take_along_axis(states_mpa, mode[:, np.newaxis, np.newaxis], axis=2)[..., 0]
    ranks = (governing[:, :, np.newaxis] > governing[:, np.newaxis, :]).sum(axis=2)
    first = np.array([largest_sample(row) for row in governing], dtype=np.int64)
    kinds, kind = np.unique(np.column_stack([first, ranks]), axis=0, return_inverse=True)
    for place, (start, *order) in enumerate(kinds):
        if max(order) > 0:
            stations = np.flatnonzero(kind.reshape(-1) == place)
            turn = (np.arange(len(order) + 1) + start) % len(order)
            yield _group(stations, states_mpa[stations], governing[stations], np.array(order), turn)


def _group(
    stations: NDArray[np.intp],
    states: FloatArray,
    governing: FloatArray,
    order: NDArray[np.int64],
    turn: NDArray[np.int64],
) -> SequenceCycles:
    levels = order[turn].astype(np.float64)
    points = find_turning_points(levels)
    cycles = from_indices(levels, *count_turning_points(levels, points, "closed"))
    last, _ = loop_ends(levels, points, cycles)
    ends = [_loop(states[:, turn], governing[:, turn], *each) for each in _loops(cycles, last)]
    return SequenceCycles(
        stations=stations,
        start_index=turn[cycles.start_index],
        end_index=turn[cycles.end_index],
        minimum_mpa=np.stack([low for low, _ in ends], axis=1),
        maximum_mpa=np.stack([high for _, high in ends], axis=1),
    )


def _loops(cycles: Cycles, last: IndexArray) -> Iterator[tuple[int, int]]:
    return zip(cycles.start_index.tolist(), last.tolist(), strict=True)


def _loop(states: FloatArray, governing: FloatArray, start: int, last: int) -> tuple[FloatArray, FloatArray]:
    """Extremes of every mode from a state to where the governing stress has come back to it, (s, m) each."""
    step = governing[:, last + 1] - governing[:, last]
    share = ((governing[:, start] - governing[:, last]) / step)[:, np.newaxis]
    back = states[:, last] + share * (states[:, last + 1] - states[:, last])
    inside = states[:, start : last + 1]
    return np.minimum(inside.min(axis=1), back), np.maximum(inside.max(axis=1), back)
