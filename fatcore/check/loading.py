"""Loadings of a check: two load states, a list of blocks, or histories of several channels."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from fatcore.check.transitions import cycles_between_blocks
from fatcore.cracks.driving.transitions import TRANSITIONS, Transitions
from fatcore.errors import InputError, UnknownError, at
from fatcore.require import FloatArray, finite, one_length
from fatcore.spectrum.multiaxial.modes import Definition, ModeCycles
from fatcore.spectrum.multiaxial.stations import count_stations

BATCH_VALUES = 1_000_000  # stresses of one batch of stations under blocks


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadState:
    """Factor of one load case at the two ends of a cycle."""

    maximum: float
    minimum: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """Constant cycling between two load states: every case's maximum together, every case's minimum
    together.
    """

    factors: Mapping[str, LoadState]
    cycles: float

    def __post_init__(self) -> None:
        if not self.factors:
            raise InputError("give at least one load case", "factors")
        if not (np.isfinite(self.cycles) and self.cycles > 0.0):
            raise InputError("cycles must be greater than 0", "cycles")


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockLoading:
    """Blocks of constant cycling; one block is constant loading.

    transitions : added (the load states of all blocks follow each other once a pass, and the cycles between
                  them count) or in-entries (the blocks hold every cycle, as those of a counted history do)
    """

    blocks: tuple[Block, ...]
    transitions: Transitions = "added"

    def __post_init__(self) -> None:
        if self.transitions not in TRANSITIONS:
            raise UnknownError("transitions", self.transitions, TRANSITIONS, "transitions")

    def states(self) -> tuple[FloatArray, FloatArray]:
        """Load factors of all cases at the two ends of every block, (b, k) each; 0 where not named."""
        names, still = self.names(), LoadState(maximum=0.0, minimum=0.0)
        ends = [[block.factors.get(name, still) for name in names] for block in self.blocks]
        return (
            np.array([[state.maximum for state in row] for row in ends]),
            np.array([[state.minimum for state in row] for row in ends]),
        )

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


@dataclass(frozen=True, slots=True, kw_only=True)
class HistoryLoading:
    """Histories of several channels sampled together, (samples,) each; one pass of the record.

    residue    : closed (the record stands for a block that repeats) or half (it happens once)
    definition : which cycles are counted under non-proportional loading, see `multiaxial.modes`
    """

    channels: Mapping[str, FloatArray]
    residue: Literal["closed", "half"] = "closed"
    definition: Definition = "governing"

    def __post_init__(self) -> None:
        if not self.channels:
            raise InputError("give at least one channel", "channels")
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

    stations: Sequence[int]
    range_mpa: FloatArray
    minimum_mpa: FloatArray
    maximum_mpa: FloatArray
    count: FloatArray
    cycles: float


def batches(unit_mpa: FloatArray, loading: Loading, weights: FloatArray) -> Iterator[CycleBatch]:
    """Cycles at all stations, in batches of bounded memory: many stations for blocks, one for histories.

    unit_mpa : stresses of the load cases of `loading.names()`, (n, m, k); weights: of the modes, (m,)
    """
    if isinstance(loading, BlockLoading):
        size = max(1, BATCH_VALUES // (len(loading.blocks) * unit_mpa.shape[1]))
        for start in range(0, unit_mpa.shape[0], size):
            stations = range(start, min(start + size, unit_mpa.shape[0]))
            yield _block_batch(unit_mpa, loading, stations, weights)
    else:
        yield from _history_batches(unit_mpa, loading, weights)


def _block_batch(
    unit_mpa: FloatArray, loading: BlockLoading, stations: range, weights: FloatArray
) -> CycleBatch:
    unit = unit_mpa[stations.start : stations.stop]
    upper, lower = loading.states()
    at_upper = np.einsum("nmk,bk->nbm", unit, upper)
    at_lower = np.einsum("nmk,bk->nbm", unit, lower)
    ends = np.minimum(at_upper, at_lower), np.maximum(at_upper, at_lower)
    count = np.array([b.cycles for b in loading.blocks])
    if loading.joined:
        between = cycles_between_blocks(unit, upper, lower, weights)
        ends = np.concatenate([ends[0], between[0]], axis=1), np.concatenate([ends[1], between[1]], axis=1)
        count = np.concatenate([count, np.ones(between[0].shape[1])])
    return CycleBatch(
        stations=stations,
        range_mpa=ends[1] - ends[0],
        minimum_mpa=ends[0],
        maximum_mpa=ends[1],
        count=count,
        cycles=loading.cycles,
    )


def _history_batches(
    unit_mpa: FloatArray, loading: HistoryLoading, weights: FloatArray
) -> Iterator[CycleBatch]:
    channels = np.stack([np.asarray(values, dtype=np.float64) for values in loading.channels.values()])
    counted = count_stations(
        unit_mpa, channels, weights, residue=loading.residue, definition=loading.definition
    )
    for station, cycles in counted:
        yield _station_batch(station, cycles)


def _station_batch(station: int, cycles: ModeCycles) -> CycleBatch:
    if cycles.count.size == 0:
        # nothing moves: one cycle of no range keeps every later maximum defined
        still = np.zeros((1, 1, cycles.range_mpa.shape[1]))
        return CycleBatch(
            stations=[station],
            range_mpa=still,
            minimum_mpa=still,
            maximum_mpa=still,
            count=np.zeros(1),
            cycles=0.0,
        )
    return CycleBatch(
        stations=[station],
        range_mpa=cycles.range_mpa[np.newaxis],
        minimum_mpa=cycles.minimum_mpa[np.newaxis],
        maximum_mpa=cycles.maximum_mpa[np.newaxis],
        count=cycles.count,
        cycles=float(cycles.count.sum()),
    )
