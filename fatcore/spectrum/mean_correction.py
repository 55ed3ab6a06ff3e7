"""Mean-stress corrections of documents as functions that `damage.damage_of_cycles` applies cycle by cycle."""

from __future__ import annotations

import numpy as np

from fatcore.curves.mean_stress import ResidualStress, effective_range_mpa, mean_stress_factor
from fatcore.require import FloatArray
from fatcore.spectrum.damage import EffectiveRange

__all__ = ["by_residual_stress", "compression_in_part"]

_BOTH_COMPRESSIVE = 2.0  # any load ratio above 1: the document gives no bonus there


def compression_in_part(minimum_mpa: FloatArray, maximum_mpa: FloatArray) -> FloatArray:
    """Ranges with the compressive part counted at 60 % [MPa].

    Valid  : details that are not welded, or stress-relieved
    Source : [en-1993-1-9-2005]
    """
    return effective_range_mpa(maximum_mpa, minimum_mpa)


def by_residual_stress(residual_stress: ResidualStress) -> EffectiveRange:
    """Function of lower and upper stress that divides each range by the strength factor of its load ratio.

    residual_stress : low, medium or high, as `curves.mean_stress` explains
    Source          : [iiw-2016]
    """

    def counted(minimum_mpa: FloatArray, maximum_mpa: FloatArray) -> FloatArray:
        ratio = np.full(maximum_mpa.shape, _BOTH_COMPRESSIVE)
        with np.errstate(over="ignore"):
            np.divide(minimum_mpa, maximum_mpa, out=ratio, where=maximum_mpa > 0.0)
        ratio = np.maximum(ratio, -1e300)  # a hair of tension over much compression overflows
        return np.asarray((maximum_mpa - minimum_mpa) / mean_stress_factor(ratio, residual_stress))

    return counted
