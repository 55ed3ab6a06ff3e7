"""Rates that belong to no one load, and laws that steel does not show."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fatcore.cracks.driving.law import GrowthLaw, Stage
from fatcore.cracks.driving.law_findings import size_doubts
from fatcore.figures import against, as_given
from fatcore.findings import Finding, caution
from fatcore.require import FloatArray
from fatcore.trials.growth.rate import Reduction

_STEP = 0.1  # of the load within the readings of a rate, above which it belongs to no one load [own choice]
_REACH: dict[Reduction, float] = {"secant": 0.5, "seven-point": 3.0}  # readings on either side of a rate
_EXPONENTS = (1.5, 6.0)  # of rates in the middle range; welded steel shows 2 to 4 [own choice]
_ROUNDING = 1e-9


def held_loads(load_factor: ArrayLike | None, reading: FloatArray, reduction: Reduction) -> NDArray[np.bool_]:
    """Whether the load changes by no more than a tenth over the readings that each rate rests on.

    reading : place of each rate among the readings
    """
    if load_factor is None:
        return np.ones(len(reading), dtype=np.bool_)
    factor, width = np.asarray(load_factor, dtype=np.float64), int(2.0 * _REACH[reduction]) + 1
    window = np.lib.stride_tricks.sliding_window_view(factor, width)
    first = (reading - _REACH[reduction]).astype(np.int64)
    step = window.max(axis=1) / window.min(axis=1) - 1.0
    return np.asarray(step[first] <= _STEP * (1.0 + _ROUNDING))


def load_step_findings(held: NDArray[np.bool_]) -> list[Finding]:
    """held : of each rate."""
    if held.all():
        return []
    text = (
        f"{int((~held).sum())} of {held.size} rate(s) rest on readings between which the load changes by more than"
        f" {as_given(100.0 * _STEP)} %: they are left out"
    )
    return [caution("load-steps-left-out", text, field="load_factor")]


def law_doubts(coefficient: float, exponent: float) -> list[Finding]:
    """A law beside published ones: units, kind of length or force may be mistaken."""
    found = [
        each
        for each in size_doubts(GrowthLaw(low=(Stage(coefficient=coefficient, exponent=exponent),)))
        if each.severity == "caution"
    ]
    low, high = _EXPONENTS
    if not low <= exponent <= high:
        text = (
            f"an exponent of {against(exponent, high if exponent > high else low)} is outside {as_given(low)} to"
            f" {as_given(high)}, where rates of metals away from threshold and fracture lie: units, sizes, loads?"
        )
        found.append(caution("fitted-exponent-unusual", text, field="exponent"))
    return found
