"""Slower growth after an overload: plastic zones, and the two classical models."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from fatcore.require import FloatArray

ZONES = {"plane-stress": 2.0, "plane-strain": 6.0}


class Reduced(NamedTuple):
    """Both ends of a cycle after the residual stress intensity of an overload is taken off [MPa√mm]."""

    maximum_mpa_sqrt_mm: FloatArray
    minimum_mpa_sqrt_mm: FloatArray


def plastic_zone_mm(k_mpa_sqrt_mm: ArrayLike, yield_strength_mpa: float, zone_state: str) -> FloatArray:
    """Size of the plastic zone: (K / yield)^2 over 2 pi in plane stress, over 6 pi in plane strain; checks nothing.

    k_mpa_sqrt_mm : largest stress intensity (negative counts as 0); zone_state : plane-stress or plane-strain
    Returns       : [mm], >= 0
    Source        : [wheeler-1972]
    """
    level = np.maximum(k_mpa_sqrt_mm, 0.0) / yield_strength_mpa
    return np.asarray(level * level / (ZONES[zone_state] * np.pi))


def wheeler_advance_mm(
    zone_mm: ArrayLike, left_mm: ArrayLike, rate_mm_per_cycle: ArrayLike, count: ArrayLike, exponent: float
) -> FloatArray:
    """Growth in a number of equal cycles at constant range, in closed form.

    zone_mm  : plastic zone of the current cycle; left_mm : way from the tip to the end of the overload zone
    rate_mm_per_cycle : without the overload; while the current zone ends inside that of the overload it is
                        multiplied by (zone / left)^exponent
    count    : number of cycles; exponent : shaping exponent, fitted to tests [-]
    Returns : growth [mm]; after the overload zone is left, the full rate
    Source  : [wheeler-1972], integrated
    """
    zone, left = np.asarray(zone_mm, dtype=np.float64), np.asarray(left_mm, dtype=np.float64)
    rate, number = np.asarray(rate_mm_per_cycle, dtype=np.float64), np.asarray(count, dtype=np.float64)
    inside = (zone < left) & (zone > 0.0)
    p = exponent + 1.0
    # the way left, in units of the current zone: shrinks from left/zone towards 1
    way = np.where(inside, left / np.where(inside, zone, 1.0), 1.0)
    scaled = p * rate * number / np.where(inside, zone, 1.0)
    left_over = way**p - scaled
    reached = np.maximum(left_over, 1.0) ** (1.0 / p)
    beyond = np.maximum(1.0 - left_over, 0.0) / p
    slowed = (way - reached + beyond) * zone
    blocked = ((zone <= 0.0) & (left > 0.0)) | (rate * number <= 0.0)
    return np.where(inside & ~blocked, slowed, np.where(blocked, 0.0, rate * number))


def willenborg_reduced(
    maximum_mpa_sqrt_mm: ArrayLike,
    minimum_mpa_sqrt_mm: ArrayLike,
    overload_mpa_sqrt_mm: ArrayLike,
    passed_share: ArrayLike,
    *,
    threshold_mpa_sqrt_mm: float = 0.0,
    shut_off_ratio: float | None = None,
) -> Reduced:
    """Ends of a cycle less the residual stress intensity that an overload leaves.

    maximum, minimum : of the cycle; overload : largest stress intensity of the overload
    passed_share           : share of the overload zone already grown through, 0 to 1 and beyond
    threshold, shut_off_ratio : of the generalised form; shut_off_ratio None is the first form
    Returns          : both ends, not below 0: the range changes by truncation only, else the load ratio
    Source           : [willenborg-1971], generalised [gallagher-1974]
    """
    largest, smallest = np.maximum(maximum_mpa_sqrt_mm, 0.0), np.maximum(minimum_mpa_sqrt_mm, 0.0)
    required = np.asarray(overload_mpa_sqrt_mm) * np.sqrt(np.maximum(1.0 - np.asarray(passed_share), 0.0))
    reduction = np.maximum(required - largest, 0.0)
    if shut_off_ratio is not None:
        over = np.divide(threshold_mpa_sqrt_mm, largest, out=np.zeros(np.shape(largest)), where=largest > 0.0)
        reduction = reduction * np.maximum(1.0 - over, 0.0) / (shut_off_ratio - 1.0)
    return Reduced(np.maximum(largest - reduction, 0.0), np.maximum(smallest - reduction, 0.0))
