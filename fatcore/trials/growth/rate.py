"""Rates from readings of crack size and cycles: secants, and a parabola through seven readings."""

from __future__ import annotations

from typing import Literal, NamedTuple

import numpy as np

from fatcore.bounds import PositiveArray, guarded
from fatcore.errors import InputError
from fatcore.require import FloatArray, finite, one_length

Reduction = Literal["secant", "seven-point"]
MOST_READINGS = 20_000
_HALF = 3  # readings on either side of the middle one
OVERLAP: dict[Reduction, int] = {"secant": 1, "seven-point": 2 * _HALF + 1}  # rates that one reading enters


class Rates(NamedTuple):
    """Size at which each rate holds [mm], cycles [cycles], rate [mm/cycle], place of the reading it stands at."""

    size_mm: FloatArray
    cycles: FloatArray
    rate_mm_per_cycle: FloatArray
    reading: FloatArray


@guarded
def growth_rates(size_mm: PositiveArray, cycles: FloatArray, reduction: Reduction) -> Rates:
    """Rates of growth between readings.

    secant      : between neighbouring readings, at the mean size; readings that did not grow give no rate
    seven-point : slope at the middle of a parabola through seven readings, at the size that it gives there; the
                  first and last three readings get none
    Raises      : InputError for cycles that do not rise, for sizes that shrink, too few readings
    Source      : [astm-e647]
    """
    size, count = finite("size_mm", size_mm), finite("cycles", cycles)
    readings = one_length(size_mm=size, cycles=count)
    least = 2 if reduction == "secant" else 2 * _HALF + 1
    if readings < least:
        raise InputError(f"{readings} reading(s): {reduction} needs {least}", "size_mm")
    if readings > MOST_READINGS:
        raise InputError(f"{readings} readings, more than {MOST_READINGS}", "size_mm")
    if (count < 0.0).any():
        raise InputError("cycles must be at least 0", "cycles", int(np.argmax(count < 0.0)))
    if (np.diff(count) <= 0.0).any():
        raise InputError(
            "cycles must rise from reading to reading", "cycles", int(np.argmax(np.diff(count) <= 0.0)) + 1
        )
    if size[-1] <= size[0]:
        raise InputError("the crack did not grow over the readings", "size_mm")
    return _secants(size, count) if reduction == "secant" else _parabolas(size, count)


def _secants(size: FloatArray, count: FloatArray) -> Rates:
    mean = 0.5 * (size[1:] + size[:-1])
    return Rates(
        mean,
        0.5 * (count[1:] + count[:-1]),
        np.diff(size) / np.diff(count),
        np.arange(len(mean), dtype=np.float64) + 0.5,
    )


def _parabolas(size: FloatArray, count: FloatArray) -> Rates:
    width = 2 * _HALF + 1
    a = np.lib.stride_tricks.sliding_window_view(size, width)
    n = np.lib.stride_tricks.sliding_window_view(count, width)
    middle, half = 0.5 * (n[:, :1] + n[:, -1:]), 0.5 * (n[:, -1:] - n[:, :1])
    x = (n - middle) / half
    powers = np.stack([np.ones_like(x), x, x * x], axis=-1)
    normal = np.einsum("wip,wiq->wpq", powers, powers)
    right = np.einsum("wip,wi->wp", powers, a)
    b = np.linalg.solve(normal, right[..., np.newaxis])[..., 0]
    at = x[:, _HALF]
    fitted = b[:, 0] + b[:, 1] * at + b[:, 2] * at * at
    rate = (b[:, 1] + 2.0 * b[:, 2] * at) / half[:, 0]
    return Rates(fitted, n[:, _HALF].copy(), rate, np.arange(_HALF, len(size) - _HALF, dtype=np.float64))
