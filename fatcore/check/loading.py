"""Loadings of a check: two load states, a list of blocks, or histories of several channels."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from fatcore.errors import InputError, at
from fatcore.require import FloatArray, finite, one_length
from fatcore.spectrum.many_stations import count_stations
from fatcore.spectrum.modes import Definition, ModeCycles

__all__ = ["Block", "BlockLoading", "CycleBatch", "HistoryLoading", "LoadState", "Loading", "batches"]


BATCH_VALUES = 1_000_000  # stresses of one batch of stations under blocks


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadState:
    """Factor of one load case at the two ends of a cycle."""

    max: float
    min: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """Constant cycling between two load states: every case's max together, every case's min together."""

    factors: Mapping[str, LoadState]
    cycles: float

    def __post_init__(self) -> None:
        if not self.factors:
            raise InputError("give at least one load case", "factors")
        if not (np.isfinite(self.cycles) and self.cycles > 0.0):
            raise InputError("cycles must be greater than 0", "cycles")


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockLoading:
    """Blocks of constant cycling; one block is constant loading."""

    blocks: tuple[Block, ...]

    def names(self) -> tuple[str, ...]:
        """Load cases that occur, in order of appearance."""
        return tuple(dict.fromkeys(name for block in self.blocks for name in block.factors))


@dataclass(frozen=True, slots=True, kw_only=True)
class HistoryLoading:
    """Histories of several channels sampled together, (samples,) each; one pass of the record.

    residue    : closed (the record stands for a block that repeats) or half (it happens once)
    definition : which cycles are counted under non-proportional loading, see `fatcore.spectrum.modes`
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
    """

    stations: Sequence[int]
    range_mpa: FloatArray
    minimum_mpa: FloatArray
    maximum_mpa: FloatArray
    count: FloatArray


def batches(unit_mpa: FloatArray, loading: Loading, weights: FloatArray) -> Iterator[CycleBatch]:
    """Cycles at all stations, in batches of bounded memory: many stations for blocks, one for histories.

    unit_mpa : stresses of the load cases of `loading.names()`, (n, m, k); weights: of the modes, (m,)
    """
    if isinstance(loading, BlockLoading):
        size = max(1, BATCH_VALUES // (len(loading.blocks) * unit_mpa.shape[1]))
        for start in range(0, unit_mpa.shape[0], size):
            yield _block_batch(unit_mpa, loading, range(start, min(start + size, unit_mpa.shape[0])))
    else:
        yield from _history_batches(unit_mpa, loading, weights)


def _block_batch(unit_mpa: FloatArray, loading: BlockLoading, stations: range) -> CycleBatch:
    names = loading.names()
    still = LoadState(max=0.0, min=0.0)
    ends = [[b.factors.get(name, still) for name in names] for b in loading.blocks]
    upper = np.array([[state.max for state in row] for row in ends])
    lower = np.array([[state.min for state in row] for row in ends])
    unit = unit_mpa[stations.start : stations.stop]
    at_upper = np.einsum("nmk,bk->nbm", unit, upper)
    at_lower = np.einsum("nmk,bk->nbm", unit, lower)
    return CycleBatch(
        stations=stations,
        range_mpa=np.abs(at_upper - at_lower),
        minimum_mpa=np.minimum(at_upper, at_lower),
        maximum_mpa=np.maximum(at_upper, at_lower),
        count=np.array([b.cycles for b in loading.blocks]),
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
            stations=[station], range_mpa=still, minimum_mpa=still, maximum_mpa=still, count=np.zeros(1)
        )
    return CycleBatch(
        stations=[station],
        range_mpa=cycles.range_mpa[np.newaxis],
        minimum_mpa=cycles.minimum_mpa[np.newaxis],
        maximum_mpa=cycles.maximum_mpa[np.newaxis],
        count=cycles.count,
    )
