"""Growth in closed form: constant geometry factor, one-stage law; referee of the integration."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from fatcore.errors import InputError
from fatcore.require import FloatArray, finite, positive


def life_between_cycles(
    first_mm: ArrayLike,
    last_mm: ArrayLike,
    stress_range_mpa: ArrayLike,
    coefficient: float,
    exponent: float,
    geometry_factor: ArrayLike = 1.0,
) -> FloatArray:
    """Cycles from one crack size to another at a constant geometry factor.

    first_mm, last_mm : sizes, > 0, last >= first; stress_range_mpa : > 0
    coefficient, exponent : of the one-stage law in mm/cycle and MPa√mm
    geometry_factor   : Y of K = Y S sqrt(pi a) [-]
    Returns           : cycles; broadcast shape
    Raises            : InputError for values that are not positive, or a last size below the first
    Source            : [paris-1963], integrated
    >>> round(float(life_between_cycles(1.0, 10.0, 100.0, 5.21e-13, 3.0)), 2)
    471388.44
    """
    first, last = positive("first_mm", first_mm), positive("last_mm", last_mm)
    if (last < first).any():
        raise InputError("the last size is less than the first", "last_mm")
    level = positive("geometry_factor", geometry_factor) * positive("stress_range_mpa", stress_range_mpa)
    rate = positive("coefficient", coefficient) * (level * np.sqrt(np.pi)) ** exponent
    power = 1.0 - positive("exponent", exponent) / 2.0
    if power == 0.0:
        return np.asarray(np.log(last / first) / rate)
    return np.asarray((last**power - first**power) / (power * rate))


def critical_crack_mm(
    toughness_mpa_sqrt_mm: ArrayLike, stress_mpa: ArrayLike, geometry_factor: ArrayLike = 1.0
) -> FloatArray:
    """Size at which Y S sqrt(pi a) reaches the toughness.

    Returns : [mm]; Raises : InputError for values that are not positive
    Source  : definition of the stress intensity
    """
    level = positive("stress_mpa", stress_mpa) * positive("geometry_factor", geometry_factor)
    return np.asarray((positive("toughness_mpa_sqrt_mm", toughness_mpa_sqrt_mm) / level) ** 2 / np.pi)


def first_crack_mm(
    last_mm: float,
    life_cycles: float,
    stress_range_mpa: float,
    coefficient: float,
    exponent: float,
    geometry_factor: float = 1.0,
) -> float:
    """Largest first size that reaches a last size no sooner than a given life; the inverse of the life.

    Arguments as `life_between_cycles`.
    Source : [paris-1963], integrated and solved for the first size
    """
    rate = coefficient * (geometry_factor * stress_range_mpa * np.sqrt(np.pi)) ** exponent
    power = 1.0 - exponent / 2.0
    if power == 0.0:
        return float(last_mm * np.exp(-life_cycles * rate))
    return float((last_mm**power - life_cycles * power * rate) ** (1.0 / power))


def equivalent_range(range_value: ArrayLike, cycles: ArrayLike, exponent: float) -> float:
    """The constant range that grows a crack as fast as a mix of ranges, for a one-stage law without
    threshold.

    range_value : ranges of stress or stress intensity, >= 0; cycles : of each; exponent : of the growth law
    Returns     : (sum n R^m / sum n)^(1/m), in the unit of the ranges
    Source      : [paris-1963]; exact when a block grows the crack by a small part of its size
    >>> equivalent_range([100.0, 100.0], [5.0, 7.0], 3.0)
    100.0
    """
    ranges, count = finite("range", range_value), positive("cycles", cycles)
    largest = float(ranges.max())
    if largest <= 0.0:
        return 0.0
    mean = np.sum(count * np.maximum(ranges / largest, 0.0) ** exponent) / count.sum()
    return float(largest * mean ** (1.0 / exponent))
