"""Crack closure: the open part of a stress-intensity range.

Outside the load ratios of its source no function takes off more than at their end: below them the open share
stays, but no more than the part above zero load counts, or the part that is open at the end where that is more;
above them the opening level stays. So a wider cycle never has a smaller open part.
"""

from __future__ import annotations

from typing import Annotated

import numpy as np
from annotated_types import Ge, Le, Lt
from numpy.typing import ArrayLike

from fatcore.bounds import guarded
from fatcore.errors import UnknownError
from fatcore.findings import Limit
from fatcore.require import FloatArray, finite
from fatcore.tables import load

LINEAR = ("elber", "schijve")
Constraint = Annotated[float, Ge(1.0), Le(3.0)]
StressOverFlow = Annotated[float, Ge(0.0), Lt(1.0)]
_TINY = 1e-12


def linear_opening(name: str, load_ratio: ArrayLike) -> FloatArray:
    """Open share U of a range by a published polynomial in the load ratio.

    name       : elber (2024-T3, load ratio -0.1 to 0.7) or schijve (-1 to 1)
    load_ratio : smallest over largest stress intensity [-], scalar or array
    Returns    : open share of the range [-], same shape; outside these load ratios as the module says
    Raises     : UnknownError for another name
    Source     : [elber-1971], [schijve-closure]
    >>> float(linear_opening("elber", 0.0))
    0.5
    """
    if name not in LINEAR:
        raise UnknownError("opening function", name, LINEAR, "opening")
    entry, ratio = load("cracks/closure")[name], finite("load_ratio", load_ratio)
    low, high = entry["low"], entry["high"]
    inside = np.polynomial.polynomial.polyval(np.clip(ratio, low, high), entry["coefficients"])
    level_at_high = 1.0 - (1.0 - high) * np.polynomial.polynomial.polyval(high, entry["coefficients"])
    return _continued(ratio, np.asarray(inside), low, high, level_at_high)


@guarded
def newman_closure(
    load_ratio: Annotated[ArrayLike, Ge(-2.0), Lt(1.0)], constraint: Constraint, stress_over_flow: StressOverFlow
) -> FloatArray:
    """Opening level K_open / K_max of a growing crack.

    load_ratio       : smallest over largest stress intensity [-], scalar or array
    constraint       : 1 (plane stress) to 3 (plane strain) [-]
    stress_over_flow : largest stress over flow strength [-]
    Returns          : opening level [-], same shape
    Raises           : InputError outside these ranges
    Source           : [newman-1984]
    """
    ratio = np.asarray(load_ratio, dtype=np.float64)
    table = load("cracks/closure")["newman"]
    base = np.polynomial.polynomial.polyval(constraint, table["a0"])
    a0 = base * np.cos(np.pi * stress_over_flow / 2.0) ** (1.0 / constraint)
    a1 = np.polynomial.polynomial.polyval(constraint, table["a1"]) * stress_over_flow
    a3 = 2.0 * a0 + a1 - 1.0
    a2 = 1.0 - a0 - a1 - a3
    positive = np.maximum(ratio, a0 + ratio * (a1 + ratio * (a2 + ratio * a3)))
    return np.asarray(np.where(ratio >= 0.0, positive, a0 + a1 * ratio))


def newman_opening(load_ratio: ArrayLike, constraint: Constraint, stress_over_flow: StressOverFlow) -> FloatArray:
    """Open share U = (1 - f) / (1 - R) of a range, from the opening level f of `newman_closure`.

    Arguments and errors as `newman_closure`; below a load ratio of -2 as the module says.
    Source : [newman-1984]
    """
    ratio = np.asarray(load_ratio, dtype=np.float64)
    low = load("cracks/closure")["newman"]["low"]
    bounded = np.maximum(ratio, low)
    inside = (1.0 - newman_closure(bounded, constraint, stress_over_flow)) / (1.0 - bounded)
    return _continued(ratio, np.asarray(inside), low, 1.0, 1.0)


def opening_limit(name: str) -> Limit:
    """Load ratios of the source of an opening function: elber, schijve or newman."""
    entry = load("cracks/closure")[name]
    return Limit("load_ratio", entry["low"], entry["high"], entry["source"], f"opening function {name}")


def _continued(ratio: FloatArray, inside: FloatArray, low: float, high: float, level_at_high: float) -> FloatArray:
    """The open share with its continuation below and above the load ratios of the source."""
    above = (1.0 - np.maximum(level_at_high, ratio)) / np.maximum(1.0 - ratio, _TINY)
    held = np.where(ratio > high, np.minimum(above, 1.0), inside)
    most = np.maximum(inside * (1.0 - low), 1.0) / np.maximum(1.0 - ratio, _TINY)
    return np.asarray(np.where(ratio < low, np.minimum(inside, most), held))
