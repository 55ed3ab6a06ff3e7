"""Cycles of many stations along weld lines from unit-load cases and load channels, one station at a time."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import ArrayLike

from fatcore import require
from fatcore.errors import InputError
from fatcore.require import FloatArray
from fatcore.spectrum.counting.count import Residue, rainflow
from fatcore.spectrum.counting.cycles import Cycles
from fatcore.spectrum.multiaxial.modes import Definition, ModeCycles, mode_cycles
from fatcore.spectrum.multiaxial.superposition import check_channels, superpose


def count_stations(
    unit_peaks_mpa: ArrayLike,
    channels: ArrayLike,
    weights: ArrayLike,
    *,
    residue: Residue = "closed",
    definition: Definition = "governing",
) -> Iterator[tuple[int, ModeCycles]]:
    """Cycles of every station with the range of every mode.

    unit_peaks_mpa : (stations, modes, cases) signed stress per unit of each channel [MPa]
    channels       : (cases, samples) load factors [-]
    weights        : (stations, modes) or (modes,) factors in the equivalent stress [-]
    Returns        : iterator of (station, cycles). Memory: the stress of one station (modes x samples) and
                     about 25 working columns of samples, whatever the number of stations
    Raises         : InputError for wrong shapes or values not finite, before the first station
    """
    peaks, loads = check_channels(unit_peaks_mpa, channels)
    factors = require.finite("weights", weights)
    if factors.shape not in ((peaks.shape[1],), peaks.shape[:2]):
        raise InputError("weights must be (modes) or (stations, modes)", "weights")
    return _each(peaks, loads, np.broadcast_to(factors, peaks.shape[:2]), residue, definition)


def _each(
    peaks: FloatArray, loads: FloatArray, factors: FloatArray, residue: Residue, definition: Definition
) -> Iterator[tuple[int, ModeCycles]]:
    alone: dict[int, Cycles] = {}
    moving = loads.any(axis=1)
    for station, (unit, weights) in enumerate(zip(peaks, factors, strict=True)):
        relevant = np.flatnonzero(unit.any(axis=0) & moving)
        if definition == "governing" and relevant.size == 1:
            case = int(relevant[0])
            if case not in alone:
                alone[case] = rainflow(loads[case], residue)
            yield station, _of_one_channel(alone[case], unit[:, case], weights, residue)
        else:
            every = relevant.size == loads.shape[0]  # no copy of all channels for each station
            values = superpose(unit, loads) if every else superpose(unit[:, relevant], loads[relevant])
            yield station, mode_cycles(values, weights, residue=residue, definition=definition)


def _of_one_channel(cycles: Cycles, unit: FloatArray, weights: FloatArray, residue: Residue) -> ModeCycles:
    """All modes follow one channel: its cycles, scaled, are exact for every mode."""
    start, end = np.multiply.outer(cycles.start_mpa, unit), np.multiply.outer(cycles.end_mpa, unit)
    low, high = np.minimum(start, end), np.maximum(start, end)
    return ModeCycles(
        range_mpa=high - low,
        minimum_mpa=low,
        maximum_mpa=high,
        count=cycles.count,
        start_index=cycles.start_index,
        end_index=cycles.end_index,
        governing_mode=int(np.argmax(np.abs(weights * unit))),
        definition="governing",
        residue=residue,
        sources=("astm-e1049", "toeline-mode-cycles"),
    )
