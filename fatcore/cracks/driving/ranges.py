"""The part of a cycle that drives a crack: effective range and load ratio from the two ends of the cycle."""

from __future__ import annotations

from typing import Literal, NamedTuple, get_args

import numpy as np
from numpy.typing import ArrayLike

from fatcore.errors import UnknownError
from fatcore.findings import Finding, note
from fatcore.require import FloatArray

Condition = Literal["as-welded", "stress-relieved"]
CONDITIONS: tuple[Condition, ...] = get_args(Condition)
AS_WELDED_LOAD_RATIO = 0.5
_LOWEST_RATIO = -1e30  # of a cycle that hardly opens the crack: any number below -100 means the same


class EffectiveRange(NamedTuple):
    """Range [MPa√mm] and load ratio that enter the growth law."""

    delta_k_mpa_sqrt_mm: FloatArray
    load_ratio: FloatArray


def effective_range(
    unit_k_mpa_sqrt_mm: ArrayLike,
    maximum: ArrayLike,
    minimum: ArrayLike,
    *,
    condition: Condition,
    static_k_mpa_sqrt_mm: ArrayLike = 0.0,
    whole_range: bool = False,
) -> EffectiveRange:
    """Effective range and load ratio of a cycle.

    unit_k_mpa_sqrt_mm   : stress intensity of the unit stress state, signed
    maximum, minimum     : load factors of the cycle, maximum >= minimum
    condition            : as-welded: tensile residual stress holds the crack open, so the whole range counts
                           whatever the sign of the unit case, at a load ratio of at least 0.5;
                           stress-relieved: only the part with positive K counts
    static_k_mpa_sqrt_mm : of a lasting stress, added to both ends of the cycle
    whole_range          : for laws with their own closure function: the whole range of any cycle that
                           opens the crack
    Returns              : range >= 0 and load ratio of the two ends (0 where no end opens the crack),
                           broadcast shape; the unit case and both factors turned round change no bit
    Raises               : UnknownError for another condition
    Source               : [bs-7910-2013] for the as-welded choice
    """
    if condition not in CONDITIONS:
        raise UnknownError("condition", condition, CONDITIONS, "condition")
    unit = np.asarray(unit_k_mpa_sqrt_mm, dtype=np.float64)
    static = np.asarray(static_k_mpa_sqrt_mm, dtype=np.float64)
    first = unit * np.asarray(maximum, dtype=np.float64)
    second = unit * np.asarray(minimum, dtype=np.float64)
    largest, smallest = np.maximum(first, second) + static, np.minimum(first, second) + static
    span = largest - smallest
    if static.any():
        ratio = _ratio(largest, smallest)
    else:  # by the load factors alone: the same at every size, to the last bit
        ends = np.asarray(maximum, dtype=np.float64), np.asarray(minimum, dtype=np.float64)
        plain, turned = _ratio(*ends), unit < 0.0
        ratio = np.where(turned, _ratio(-ends[1], -ends[0]) if turned.any() else plain, plain)
    if condition == "as-welded":
        return EffectiveRange(span, np.maximum(ratio, AS_WELDED_LOAD_RATIO))
    opened = span if whole_range else np.maximum(largest, 0.0) - np.maximum(smallest, 0.0)
    return EffectiveRange(np.where(largest > 0.0, opened, 0.0), ratio)


def _ratio(top: FloatArray, bottom: FloatArray) -> FloatArray:
    with np.errstate(over="ignore"):
        ratio = np.divide(bottom, top, out=np.zeros(np.shape(top)), where=top > 0.0)
    return np.maximum(ratio, _LOWEST_RATIO)


def range_rule(condition: Condition) -> Finding:
    """The note that says which part of a cycle was counted."""
    if condition == "as-welded":
        message = (
            "as-welded: the whole range counts whatever its sign, at a load ratio of at least 0.5 (residual stress)"
        )
    else:
        message = "stress-relieved: only the part of a cycle with positive stress intensity counts"
    return note("range-rule", message, field="condition", source="bs-7910-2013")
