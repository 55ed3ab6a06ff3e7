"""Stress histories from unit-load channels: linear, elastic, small displacements, one contact state.

Stress components are superposed before anything is combined or counted; counting each channel alone and
adding the damage would miss that they act together.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import ArrayLike

from fatcore import require
from fatcore.errors import InputError
from fatcore.require import FloatArray

# [toeline-proportionality] ratio of singular values below which load counts as proportional
PROPORTIONAL_LIMIT = 0.05

BLOCK = 1 << 14  # samples worked on at once: they stay in the processor's cache


def check_channels(unit_peaks_mpa: ArrayLike, channels: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Unit stress (stations, modes, cases) and channels (cases, samples) as arrays of matching shape."""
    peaks = require.finite("unit_peaks_mpa", unit_peaks_mpa)
    loads = require.finite("channels", channels)
    if loads.ndim != 2 or loads.size == 0:
        raise InputError("channels must be cases x samples, with at least one sample", "channels")
    if peaks.ndim != 3 or peaks.shape[2] != loads.shape[0]:
        raise InputError(
            f"unit_peaks_mpa must be stations x modes x {loads.shape[0]} cases, as the channels",
            "unit_peaks_mpa",
        )
    return peaks, loads


def superpose(unit_mpa: FloatArray, channels: FloatArray) -> FloatArray:
    """Stress of every mode over time at one station.

    unit_mpa : (modes, cases) stress per unit of each channel [MPa]; channels: (cases, samples) [-]
    Returns  : (modes, samples) [MPa], products added in the order of the cases, so that numbers do not depend
               on how a matrix library splits the work
    """
    stress = np.zeros((unit_mpa.shape[0], channels.shape[1]))
    product = np.empty(BLOCK)
    terms = [(mode, case) for case in range(len(channels)) for mode in np.flatnonzero(unit_mpa[:, case])]
    for start in range(0, channels.shape[1], BLOCK):
        loads, sums = channels[:, start : start + BLOCK], stress[:, start : start + BLOCK]
        part = product[: loads.shape[1]]
        for mode, case in terms:
            np.multiply(loads[case], unit_mpa[mode, case], out=part)
            sums[mode] += part
    return stress


def station_histories(
    unit_peaks_mpa: ArrayLike, channels: ArrayLike, *, samples_at_once: int = 4_000_000
) -> Iterator[tuple[slice, FloatArray]]:
    """Stress histories of the stations in chunks.

    unit_peaks_mpa  : (stations, modes, cases) [MPa]; channels: (cases, samples) [-]
    samples_at_once : bound on stations x modes x samples of a chunk; a chunk holds at least one station, so
                      memory is 8 bytes times the larger of this bound and modes x samples
    Returns         : iterator of (slice of stations, (stations, modes, samples) [MPa])
    Raises          : InputError for wrong shapes or values not finite, before the first chunk
    """
    peaks, loads = check_channels(unit_peaks_mpa, channels)
    step = max(1, samples_at_once // (peaks.shape[1] * loads.shape[1]))
    return (
        (slice(k, k + step), np.stack([superpose(unit, loads) for unit in peaks[k : k + step]]))
        for k in range(0, peaks.shape[0], step)
    )


def proportionality(history_mpa: ArrayLike) -> float:
    """Ratio of the second to the first singular value of the centred modes [-]: 0 when load is proportional.

    history_mpa : (modes, samples) [MPa]; shear may be scaled by sqrt(3) before
    Returns     : 0 to 1; below PROPORTIONAL_LIMIT the load may be taken as proportional; 0 for one mode, and
                  when nothing moves
    Raises      : InputError for a wrong shape or values not finite
    Source      : [toeline-proportionality]
    """
    values = require.finite("history_mpa", history_mpa)
    if values.ndim != 2 or values.size == 0:
        raise InputError("history_mpa must be modes x samples, with at least one sample", "history_mpa")
    centred = values - values.mean(axis=1, keepdims=True)
    singular = np.linalg.svd(centred @ centred.T, compute_uv=False)
    if singular.size < 2 or singular[0] == 0.0:
        return 0.0
    return float(np.sqrt(max(singular[1], 0.0) / singular[0]))
