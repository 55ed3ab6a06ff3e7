"""Loadings of a check: two load states, a list of blocks, or histories of several channels."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, NamedTuple

import numpy as np
from annotated_types import Len, doc
from numpy.typing import NDArray

from fatcore.bounds import Number, Positive, guard
from fatcore.check.transitions import MOST_ORDERED, AddedCycles, cycles_between_blocks
from fatcore.cracks.driving.transitions import Transitions
from fatcore.errors import at
from fatcore.require import FloatArray, finite, one_length
from fatcore.spectrum.counting.count import Residue
from fatcore.spectrum.multiaxial.modes import Definition, ModeCycles
from fatcore.spectrum.multiaxial.stations import count_stations

BATCH_VALUES = 1_000_000  # stresses of one batch of stations under blocks
TRANSITIONS_MEANING = (
    "cycles between the load states of different blocks: added once a repeat, or in-entries, "
    "when the blocks hold every cycle as those of a counted history do"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadState:
    """Factor of one load case at the two ends of a cycle."""

    maximum: Number
    minimum: Number

    def __post_init__(self) -> None:
        guard(self)


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """Constant cycling between two load states: every case's maximum together, every case's minimum
    together.
    """

    factors: Annotated[Mapping[str, LoadState], Len(1)]
    cycles: Positive

    def __post_init__(self) -> None:
        guard(self)


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockLoading:
    """Blocks of constant cycling; one block is constant loading."""

    blocks: Annotated[tuple[Block, ...], Len(1)]
    transitions: Annotated[Transitions, doc(TRANSITIONS_MEANING)] = "added"

    def __post_init__(self) -> None:
        guard(self)

    def states(self) -> tuple[FloatArray, FloatArray]:
        """Load factors of all cases at the two ends of every block, (b, k) each; 0 where not named.

        Which end is called the maximum says nothing: the one with the larger first factor comes first.
        """
        names, still = self.names(), LoadState(maximum=0.0, minimum=0.0)
        rows = [[block.factors.get(name, still) for name in names] for block in self.blocks]
        ends = [sorted((_column(row, "maximum"), _column(row, "minimum")), reverse=True) for row in rows]
        return np.array([one for one, _ in ends]), np.array([other for _, other in ends])

    @property
    def joined(self) -> bool:
        """Whether cycles between blocks count."""
        return self.transitions == "added" and len(self.blocks) > 1

    @property
    def cycles(self) -> float:
        """Cycles of one pass as given."""
        return float(sum(block.cycles for block in self.blocks))

    def names(self) -> tuple[str, ...]:
        """Load cases that occur, in order of appearance."""
        return tuple(dict.fromkeys(name for block in self.blocks for name in block.factors))


def _column(states: Sequence[LoadState], end: str) -> list[float]:
    return [float(getattr(state, end)) for state in states]


@dataclass(frozen=True, slots=True, kw_only=True)
class HistoryLoading:
    """Histories of several channels sampled together, (samples,) each; one pass of the record.

    residue    : closed (the record stands for a block that repeats) or half (it happens once)
    definition : which cycles are counted under non-proportional loading, see `multiaxial.modes`
    """

    channels: Annotated[Mapping[str, FloatArray], Len(1)]
    residue: Residue = "closed"
    definition: Definition = "governing"

    def __post_init__(self) -> None:
        guard(self)
        with at("channels"):
            one_length(**self.channels)
            for name, values in self.channels.items():
                finite(name, values)

    def names(self) -> tuple[str, ...]:
        """Names of the channels, which are load cases of the lines."""
        return tuple(self.channels)


Loading = BlockLoading | HistoryLoading


@dataclass(frozen=True, slots=True, kw_only=True)
class CycleBatch:
    """Cycles of one pass of the loading at some stations.

    stations : indices (s,); range_mpa, minimum_mpa, maximum_mpa: (s, c, m); count: (c,)
    cycles   : of one pass, as a life counts them
    """

    stations: NDArray[np.intp]
    range_mpa: FloatArray
    minimum_mpa: FloatArray
    maximum_mpa: FloatArray
    count: FloatArray
    cycles: float

    def of(self, rows: NDArray[np.intp]) -> CycleBatch:
        """The cycles of some of the stations."""
        return _batch(self.stations[rows], (self.minimum_mpa[rows], self.maximum_mpa[rows]), self.count, self.cycles)

    def at_stations(self, weights: FloatArray) -> FloatArray:
        """Weights of the modes that are multiplied with stresses: (m,) as they are, (n, m) those of the stations."""
        return weights if weights.ndim == 1 else weights[self.stations][:, np.newaxis]


class Harm(NamedTuple):
    """What tells the worse of two sets of cycles at a station.

    of_all  : of all cycles of a batch at each station (s,)
    of_each : of each cycle once (s, c), where those of all are their sum; None where they are not
    """

    of_all: Callable[[CycleBatch], FloatArray]
    of_each: Callable[[CycleBatch], FloatArray] | None


def batches(unit_mpa: FloatArray, loading: Loading, weights: FloatArray, harm: Harm) -> Iterator[CycleBatch]:
    """Cycles at all stations, in batches of bounded memory: many stations for blocks, one for histories.

    unit_mpa : stresses of the load cases of `loading.names()`, (n, m, k); weights: of the modes, (m,) or
               of each station (n, m)
    harm     : of several orders of the states of blocks the worst counts at each station
    """
    if isinstance(loading, BlockLoading):
        orders = 2 ** min(len(loading.blocks), MOST_ORDERED) if loading.joined else 1
        size = max(1, BATCH_VALUES // (len(loading.blocks) * unit_mpa.shape[1] * orders))
        for start in range(0, unit_mpa.shape[0], size):
            stations = range(start, min(start + size, unit_mpa.shape[0]))
            yield _block_batch(unit_mpa, loading, stations, weights, harm)
    else:
        yield from _history_batches(unit_mpa, loading, weights)


def _block_batch(
    unit_mpa: FloatArray, loading: BlockLoading, stations: range, weights: FloatArray, harm: Harm
) -> CycleBatch:
    unit = unit_mpa[stations.start : stations.stop]
    own = own_cycles(unit, loading, stations)
    if not loading.joined:
        return own
    own_weights = weights if weights.ndim == 1 else weights[stations.start : stations.stop]
    added = cycles_between_blocks(unit, *loading.states(), own_weights)
    rows = np.arange(len(stations))[:, np.newaxis]
    worst = added.orders[rows[:, 0], _find_worst_orders(own, added, harm)]
    return _with_added(own, added.low[rows, worst], added.high[rows, worst])


def _find_worst_orders(own: CycleBatch, added: AddedCycles, harm: Harm) -> NDArray[np.intp]:
    """Of each station the order whose cycles do most beside its own, (s,)."""
    shape, size = added.orders.shape[:2], added.low.shape[1]
    if harm.of_each is not None:
        each = harm.of_each(_batch(own.stations, (added.low, added.high), np.ones(size), own.cycles))
        rows = np.arange(len(each))[:, np.newaxis, np.newaxis]
        return np.asarray(each[rows, added.orders].sum(axis=2).argmax(axis=1))
    rows = np.arange(shape[0]).repeat(shape[1])
    places = added.orders.reshape(len(rows), -1)
    low, high = (each[rows[:, np.newaxis], places] for each in (added.low, added.high))
    return np.asarray(harm.of_all(_with_added(own.of(rows), low, high)).reshape(shape).argmax(axis=1))


def own_cycles(unit_mpa: FloatArray, loading: BlockLoading, stations: Sequence[int]) -> CycleBatch:
    """The cycles of the blocks alone at some stations; unit_mpa: stresses of the cases there (s, m, k)."""
    upper, lower = (np.einsum("nmk,bk->nbm", unit_mpa, ends) for ends in loading.states())
    count = np.array([block.cycles for block in loading.blocks])
    return _batch(stations, (np.minimum(upper, lower), np.maximum(upper, lower)), count, loading.cycles)


def _with_added(own: CycleBatch, low: FloatArray, high: FloatArray) -> CycleBatch:
    """The own cycles, with added ones of each station beside them, once each; low, high: their ends (s, c, m)."""
    lower, upper = np.concatenate([own.minimum_mpa, low], axis=1), np.concatenate([own.maximum_mpa, high], axis=1)
    return _batch(own.stations, (lower, upper), np.concatenate([own.count, np.ones(low.shape[1])]), own.cycles)


def _batch(
    stations: Sequence[int] | NDArray[np.intp], ends: tuple[FloatArray, FloatArray], count: FloatArray, cycles: float
) -> CycleBatch:
    return CycleBatch(
        stations=np.asarray(stations, dtype=np.intp),
        range_mpa=ends[1] - ends[0],
        minimum_mpa=ends[0],
        maximum_mpa=ends[1],
        count=count,
        cycles=cycles,
    )


def _history_batches(unit_mpa: FloatArray, loading: HistoryLoading, weights: FloatArray) -> Iterator[CycleBatch]:
    channels = np.stack([np.asarray(values, dtype=np.float64) for values in loading.channels.values()])
    counted = count_stations(unit_mpa, channels, weights, residue=loading.residue, definition=loading.definition)
    for station, cycles in counted:
        yield station_batch(station, cycles)


def station_batch(station: int, cycles: ModeCycles) -> CycleBatch:
    """The cycles of one station as a batch."""
    if cycles.count.size == 0:
        # nothing moves: one cycle of no range keeps every later maximum defined
        still = np.zeros((1, 1, cycles.range_mpa.shape[1]))
        return _batch([station], (still, still), np.zeros(1), 0.0)
    return CycleBatch(
        stations=np.array([station]),
        range_mpa=cycles.range_mpa[np.newaxis],
        minimum_mpa=cycles.minimum_mpa[np.newaxis],
        maximum_mpa=cycles.maximum_mpa[np.newaxis],
        count=cycles.count,
        cycles=float(cycles.count.sum()),
    )
