"""Mean-stress corrections of documents for counted cycles, each with its own extremes."""

from __future__ import annotations

from typing import Literal

import numpy as np

from fatcore.bounds import guarded
from fatcore.curves.corrections.correction import Correction
from fatcore.curves.corrections.mean_stress import ResidualStress, effective_range
from fatcore.curves.corrections.mean_stress import mean_stress as by_load_ratio
from fatcore.require import FloatArray
from fatcore.spectrum.counting.cycles import Cycles

MeanStressChoice = Literal["none", "compression-in-part", "low-residual-stress", "medium-residual-stress"]

_RESIDUAL: dict[str, ResidualStress] = {"low-residual-stress": "low", "medium-residual-stress": "medium"}
_BOTH_COMPRESSIVE = 2.0  # any load ratio above 1: the document gives no bonus there


@guarded
def correction_of_cycles(mean_stress: MeanStressChoice, counted: Cycles) -> Correction | None:
    """The correction with one factor a cycle, None for "none".

    mean_stress : compression-in-part (compression at 60 %), low- or medium-residual-stress (by load ratio)
    Valid  : details that are not welded, or stress-relieved
    Source : [en-1993-1-9-2005], [iiw-2016], as `curves.mean_stress` explains
    """
    if mean_stress == "none":
        return None
    if mean_stress == "compression-in-part":
        return effective_range(counted.maximum_mpa, counted.minimum_mpa)
    return by_load_ratio(_load_ratio(counted.minimum_mpa, counted.maximum_mpa), _RESIDUAL[mean_stress])


def _load_ratio(minimum_mpa: FloatArray, maximum_mpa: FloatArray) -> FloatArray:
    ratio = np.full(maximum_mpa.shape, _BOTH_COMPRESSIVE)
    with np.errstate(over="ignore"):
        np.divide(minimum_mpa, maximum_mpa, out=ratio, where=maximum_mpa > 0.0)
    return np.asarray(np.maximum(ratio, -1e300))  # a hair of tension over much compression overflows
