"""Combined normal and shear stress ranges: the published sums of utilisations."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, Literal

import numpy as np
from annotated_types import Ge, Le
from numpy.typing import ArrayLike

from fatcore import tables
from fatcore.bounds import NonNegativeColumn, guarded
from fatcore.errors import InputError, UnknownError
from fatcore.figures import as_given
from fatcore.findings import Finding, caution, note
from fatcore.outcome import Outcome, evidence
from fatcore.require import FloatArray
from fatcore.stress.guarding import finite_result

_INTERACTION_TABLE = "stress/interaction"

Metal = Literal["steel", "aluminium"]
Slope = Annotated[float, Ge(1.0), Le(50.0)]  # no design curve is flatter or steeper

_HALVINGS = 60
_CRANE_SLOPES = (3.0, 7.0)  # of the curves of the document


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Interaction(Outcome):
    """A combination of normal and shear stress.

    interaction_sum : sum of the terms over the limit [-], at most 1 passes; not a ratio of stresses
    utilisation     : 1 / (factor on all ranges at which the sum reaches 1) [-], at most 1 passes
    """

    interaction_sum: FloatArray
    utilisation: FloatArray


@guarded
def combine_en(normal_utilisation: NonNegativeColumn, shear_utilisation: NonNegativeColumn) -> Interaction:
    """Sum of the third power of the normal and the fifth power of the shear utilisation.

    normal_utilisation, shear_utilisation : factored equivalent range over factored detail category [-]
    Returns : outcome, broadcast shape
    Raises  : InputError for a negative utilisation
    Source  : [interaction-en-1993-1-9]

    >>> round(float(combine_en(0.8, 0.7).interaction_sum), 5)
    0.68007
    """
    form = interaction_form("en-1993-1-9")
    terms = [(normal_utilisation, form["normal_exponent"]), (shear_utilisation, form["shear_exponent"])]
    return _combine(terms, 1.0, form["source"])


@guarded
def combine_iiw(
    normal_utilisation: NonNegativeColumn,
    shear_utilisation: NonNegativeColumn,
    *,
    proportional: bool,
    material: Metal = "steel",
) -> Interaction:
    """Sum of the squared utilisations over the comparison value of the loading.

    normal_utilisation, shear_utilisation : range over resisting range [-]
    proportional : both stresses rise and fall together and principal directions stand still
    Returns      : outcome, broadcast shape; the comparison value in a note
    Raises       : InputError for a negative utilisation, UnknownError for the material
    Source       : [interaction-iiw-2016] table 4.1

    >>> round(float(combine_iiw(0.8, 0.6, proportional=True).interaction_sum), 9)
    1.0
    """
    form = interaction_form("iiw-2016")
    kind = "proportional" if proportional else "non-proportional"
    limit = form["limit"][material][kind]
    terms = [(normal_utilisation, form["normal_exponent"]), (shear_utilisation, form["shear_exponent"])]
    message = f"comparison value {as_given(limit)} for {kind} loading of {material}"
    found = note("comparison-value", message, field="interaction_sum", source=form["source"])
    return _combine(terms, limit, form["source"], found)


@guarded
def combine_crane(
    normal_utilisation: NonNegativeColumn,
    shear_utilisation: NonNegativeColumn,
    *,
    normal_slope: Slope,
    shear_slope: Slope,
    transverse_utilisation: NonNegativeColumn = 0.0,
    transverse_slope: Slope | None = None,
) -> Interaction:
    """Sum of the utilisations, each to the power of the slope of its own curve.

    normal_utilisation, transverse_utilisation, shear_utilisation : factored range over limit range [-] of the
        stress along x, along y and of the shear stress
    normal_slope, transverse_slope, shear_slope : slopes of the curves [-]; transverse None is the normal one
    Returns : outcome, broadcast shape
    Raises  : InputError for a negative utilisation or a slope outside 1 to 50
    Source  : [interaction-en-13001-3-1]
    """
    across = normal_slope if transverse_slope is None else transverse_slope
    terms = [
        (normal_utilisation, normal_slope),
        (transverse_utilisation, across),
        (shear_utilisation, shear_slope),
    ]
    source = interaction_form("en-13001-3-1")["source"]
    return _combine(terms, 1.0, source, *_slope_doubts([slope for _, slope in terms], source))


def interaction_form(name: str) -> dict[str, Any]:
    """The figures of a published combination: en-1993-1-9, iiw-2016, en-13001-3-1.

    Raises : UnknownError for another name
    """
    forms: dict[str, dict[str, Any]] = tables.load(_INTERACTION_TABLE)["form"]
    if name not in forms:
        raise UnknownError("form", name, forms, "form")
    return forms[name]


def _slope_doubts(slopes: list[float], source: str) -> tuple[Finding, ...]:
    """A caution for slopes that no curve of the document has; below full use a steep one does too little."""
    low, high = _CRANE_SLOPES
    strange = [as_given(slope) for slope in dict.fromkeys(slopes) if not low <= slope <= high]
    if not strange:
        return ()
    text = f"slope {', '.join(strange)}: the curves of the document have {as_given(low)} to {as_given(high)}"
    return (caution("slope-unusual", text, field="normal_slope", source=source),)


def _combine(shares: list[tuple[ArrayLike, float]], limit: float, source: str, *findings: Finding) -> Interaction:
    terms = [(np.asarray(share, dtype=np.float64), exponent) for share, exponent in shares]
    try:
        np.broadcast_shapes(*(share.shape for share, _ in terms))
    except ValueError:
        raise InputError("utilisations must have one length", "shear_utilisation") from None
    with np.errstate(all="ignore"):
        powers = sum((share**exponent for share, exponent in terms), np.float64(0.0))
        total = finite_result(powers / limit, "normal_utilisation")
    return Interaction(
        interaction_sum=total,
        utilisation=_utilisation(terms, limit),
        **evidence(findings=findings, sources=(source,), tables=(_INTERACTION_TABLE,)),
    )


def _utilisation(terms: list[tuple[FloatArray, float]], limit: float) -> FloatArray:
    """Inverse of the load factor at which the sum reaches its limit, by bisection between two safe bounds."""
    alone = np.stack(np.broadcast_arrays(*(share / limit ** (1.0 / exponent) for share, exponent in terms)))
    low = alone.max(axis=0)  # one term alone reaches the limit
    spread = max(float(len(terms)) ** (1.0 / exponent) for _, exponent in terms)
    low, high = low, low * spread  # every term stays below its equal part of the limit
    powers = np.array([exponent for _, exponent in terms]).reshape(-1, *([1] * low.ndim))
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        safe = np.where(middle > 0.0, middle, 1.0)
        over = ((alone / safe) ** powers).sum(axis=0) > 1.0
        low, high = np.where(over, middle, low), np.where(over, high, middle)
    return np.asarray(high)
