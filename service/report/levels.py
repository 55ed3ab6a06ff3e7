"""Equivalent ranges along weld lines by block, or by how many cycles reach them; by the functions of the verdict."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fatcore.check.loading import BlockLoading, HistoryLoading, batches, own_cycles
from fatcore.check.stations import harm_of
from fatcore.check.strength.strength import Strength
from fatcore.figures import as_given
from fatcore.require import FloatArray

from ..topics.check import settings as topic
from ..topics.check.models import BlocksLoadingInput, CheckRequest
from .governing import stressed

MOST_BLOCKS = 3  # that are told one by one
SHARES = (0.01, 0.1, 0.5)  # of the cycles, where there are more
MOST_COUNTED = 60  # stations of a line whose cycles are sorted
_BATCH_VALUES = 1_000_000  # ranges of one batch of stations
_MOST_SAMPLES = 10_000_000  # of all stations that are counted once more

Cycles = tuple[FloatArray, FloatArray]  # ranges and their counts


@dataclass(frozen=True, slots=True, kw_only=True)
class Levels:
    """Ranges of one pass of the loading at stations of a line.

    names     : of each level, a block or the share of the cycles that reach it
    stations  : indices (s,); range_mpa: (levels, s)
    """

    names: tuple[str, ...]
    stations: NDArray[np.intp]
    range_mpa: FloatArray


def line_levels(request: CheckRequest, stations: Mapping[int, NDArray[np.intp]]) -> dict[int, Levels]:
    """Levels of lines, by their index, at the stations named, where there is more than one block; without those
    that would take too long to count.

    stations : indices in order; where cycles are sorted fewer, evenly chosen
    """
    loading, used = request.loading.to_core(), topic.settings_of(request)
    levels: dict[int, Levels] = {}
    if isinstance(loading, BlockLoading) and len(loading.blocks) == 1:
        return levels  # its range is the largest
    for index, places in stations.items():
        unit, strength = stressed(request, index, loading, used[index])
        if isinstance(loading, BlockLoading):
            levels[index] = _of_blocks(request, unit, strength, loading, places)
        elif (most := _most_counted(loading, len(stations))) > 1:
            levels[index] = _of_histories(unit, strength, loading, spread(places, most))
    return levels


def spread(places: NDArray[np.intp], most: int) -> NDArray[np.intp]:
    """No more than a number of places, evenly chosen, both ends among them."""
    return places[np.unique(np.linspace(0, len(places) - 1, most).round().astype(np.intp))]


def _most_counted(loading: HistoryLoading, lines: int) -> int:
    samples = max(len(values) for values in loading.channels.values())
    return min(MOST_COUNTED, _MOST_SAMPLES // (samples * lines))


def _of_blocks(
    request: CheckRequest, unit: FloatArray, strength: Strength, loading: BlockLoading, places: NDArray[np.intp]
) -> Levels:
    assert isinstance(request.loading, BlocksLoadingInput)
    names = [block.name for block in request.loading.blocks]
    apart = len(names) <= MOST_BLOCKS
    places = places if apart else spread(places, MOST_COUNTED)
    size = max(1, _BATCH_VALUES // (len(loading.blocks) * unit.shape[1]))
    parts = [places[start : start + size] for start in range(0, len(places), size)]
    judged = [strength.judge(own_cycles(unit[part], loading, part.tolist())) for part in parts]
    ranges = np.concatenate([each.equivalent_mpa for each in judged])
    if not apart:
        return _by_share(places, [(row, judged[0].count) for row in ranges])
    words = tuple(f"{k + 1} {name}" if name else f"block {k + 1}" for k, name in enumerate(names))
    return Levels(names=words, stations=places, range_mpa=ranges.T)


def _of_histories(unit: FloatArray, strength: Strength, loading: HistoryLoading, places: NDArray[np.intp]) -> Levels:
    counted = batches(unit[places], loading, strength.weights, harm_of(strength, 1.0))
    judged = [strength.judge(batch) for batch in counted]
    return _by_share(places, [(each.equivalent_mpa[0], each.count) for each in judged])


def _by_share(places: NDArray[np.intp], cycles: Sequence[Cycles]) -> Levels:
    names = tuple(f"{as_given(100.0 * share)} % of cycles" for share in SHARES)
    return Levels(names=names, stations=places, range_mpa=np.transpose([reached_ranges(*each) for each in cycles]))


def reached_ranges(range_mpa: FloatArray, count: FloatArray) -> FloatArray:
    """Largest ranges that each of the shares of all cycles reaches; 0 without cycles.

    >>> reached_ranges(np.array([10.0, 30.0]), np.array([90.0, 10.0]))
    array([30., 30., 10.])
    """
    order = np.argsort(-range_mpa, kind="stable")
    reached = np.cumsum(count[order])
    if not reached[-1] > 0.0:
        return np.zeros(len(SHARES))
    at = np.searchsorted(reached, reached[-1] * np.array(SHARES) * (1.0 - 1e-12))
    return np.asarray(range_mpa[order][at])
