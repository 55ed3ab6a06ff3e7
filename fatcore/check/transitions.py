"""Cycles between the load states of different blocks, which no block holds."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fatcore.require import FloatArray
from fatcore.spectrum.multiaxial.stations import count_stations

Codes = NDArray[np.int64]


def cycles_between_blocks(
    unit_mpa: FloatArray, upper: FloatArray, lower: FloatArray, weights: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Lower and upper ends of the added cycles at each station, (s, b, m) each [MPa]; both 0 where none is.

    A pass goes through the two states of every block in turn and begins again. Its closed rainflow cycles by
    the governing mode count once, less those between two states that are a block: that block holds them.

    unit_mpa     : stresses of the load cases, (s, m, k); weights: of the modes, (m,)
    upper, lower : load factors of the cases at the ends of the blocks, (b, k)
    Source       : [astm-e1049], [toeline-mode-cycles]
    """
    states = np.stack([upper, lower], axis=1).reshape(2 * len(upper), -1)
    names = np.unique(states, axis=0, return_inverse=True)[1].reshape(-1)
    held, times = np.unique(_pair_codes(names[0::2], names[1::2]), return_counts=True)
    low = np.zeros((unit_mpa.shape[0], len(upper), unit_mpa.shape[1]))
    high = np.zeros_like(low)
    for station, found in count_stations(unit_mpa, states.T, weights):
        codes = _pair_codes(names[found.start_index], names[found.end_index])
        added = np.flatnonzero(~_is_held(codes, held, times))
        low[station, : added.size] = found.minimum_mpa[added]
        high[station, : added.size] = found.maximum_mpa[added]
    return low, high


def _pair_codes(one: NDArray[np.intp], other: NDArray[np.intp]) -> Codes:
    """One number for two states in either order."""
    return np.minimum(one, other).astype(np.int64) << 32 | np.maximum(one, other)


def _is_held(codes: Codes, held: Codes, times: NDArray[np.intp]) -> NDArray[np.bool_]:
    """True for each cycle that a block holds; a block holds one of its kind a pass."""
    order = np.argsort(codes, kind="stable")
    rank = np.empty(codes.size, dtype=np.intp)
    rank[order] = np.arange(codes.size) - np.searchsorted(codes[order], codes[order], side="left")
    where = np.minimum(np.searchsorted(held, codes), held.size - 1)
    return np.asarray((held[where] == codes) & (rank < times[where]))
