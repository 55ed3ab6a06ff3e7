"""Mean stress: what a favourable load ratio adds where residual stresses are low, by document."""

from __future__ import annotations

from typing import Annotated, Literal

import numpy as np
from annotated_types import doc

from fatcore.bounds import NumberColumn, guarded
from fatcore.curves.corrections.correction import Correction
from fatcore.curves.curve import Curve
from fatcore.curves.segments import common_shape
from fatcore.curves.standards.documents import document, rule
from fatcore.errors import InputError
from fatcore.require import FloatArray

ResidualStress = Literal["low", "medium", "high"]

_IIW = "iiw-2016"
_EN = "en-1993-1-9-2005"
# kinds of stress with a side in tension and one in compression; the sign of a shear stress is a convention,
# and equivalent stresses and energies have none
_SIGNED = ("normal", "hot-spot", "effective-notch")


def guard_signed(curve: Curve) -> None:
    """InputError when a curve takes a kind of stress without a compressive side.

    No mean-stress correction holds for one: turning the sign of shear would change the damage.
    """
    if curve.stress_kind not in _SIGNED:
        raise InputError(
            f"{curve.id} is for {curve.stress_kind}, which is not known to have a compressive side; "
            f"corrections for mean stress are for {', '.join(_SIGNED)}"
        )


@guarded
def mean_stress_factor(load_ratio: NumberColumn, residual_stress: ResidualStress) -> FloatArray:
    """Strength factor for the load ratio of each cycle.

    load_ratio      : least over greatest stress of the cycle; above the upper end of the bonus
                      (and for R > 1, where both stresses are compressive) the factor is 1, the safe side
    residual_stress : low (not welded, or stress-relieved), medium (small thin-walled parts, short welds),
                      high (complex welded parts: no bonus)
    Returns         : factor on the permissible range [-], >= 1, same shape
    Source          : [iiw-2016]

    >>> [float(mean_stress_factor(ratio, "low").round(9)) for ratio in (-2.0, -1.0, 0.0, 0.5)]
    [1.6, 1.6, 1.2, 1.0]
    """
    ratio = np.asarray(load_ratio, dtype=np.float64)
    if residual_stress == "high":
        return np.ones(ratio.shape)
    bonus = rule(_IIW, "mean_stress")[residual_stress]
    line = bonus["at_zero"] - bonus["slope"] * ratio
    steep = np.where(ratio < bonus["from_load_ratio"], bonus["top"], line)
    return np.asarray(np.where(ratio > bonus["to_load_ratio"], 1.0, steep))


def mean_stress(
    load_ratio: Annotated[NumberColumn, doc("one, or one for each range")], residual_stress: ResidualStress
) -> Correction:
    """The mean-stress correction by residual-stress case; arguments as in `mean_stress_factor`.

    Source : [iiw-2016]
    """
    return Correction.reported(
        "mean stress",
        "mean-stress-correction",
        mean_stress_factor(load_ratio, residual_stress),
        f"residual stress taken as {residual_stress}; whoever takes less than high must know it of the part",
        source=_IIW,
        table=document(_IIW).table,
        field="load_ratio",
        bonus=True,
    )


@guarded
def effective_range_mpa(maximum_mpa: NumberColumn, minimum_mpa: NumberColumn) -> FloatArray:
    """Range with the compressive part of the cycle counted at 60 %.

    Returns : effective range [MPa], broadcast shape
    Valid   : details that are not welded, or stress-relieved
    Raises  : InputError where the maximum is less than the minimum
    Source  : [en-1993-1-9-2005]

    >>> float(effective_range_mpa(60.0, -40.0))
    84.0
    """
    top, bottom = (np.asarray(each, dtype=np.float64) for each in (maximum_mpa, minimum_mpa))
    common_shape(maximum_mpa=top, minimum_mpa=bottom)
    if (top < bottom).any():
        raise InputError("maximum_mpa must not be less than minimum_mpa", "maximum_mpa")
    share = rule(_EN, "effective_range")["compression_share"]
    tension = np.maximum(top, 0.0) - np.maximum(bottom, 0.0)
    compression = np.minimum(top, 0.0) - np.minimum(bottom, 0.0)
    return np.asarray(tension + share * compression)


def effective_range(
    maximum_mpa: Annotated[NumberColumn, doc("one, or one for each range")],
    minimum_mpa: Annotated[NumberColumn, doc("as many as maximum_mpa")],
) -> Correction:
    """The effective range as a strength factor for each cycle: full range over effective range, 1 at range 0.

    Arguments as in `effective_range_mpa`.
    Source : [en-1993-1-9-2005]
    """
    counted = effective_range_mpa(maximum_mpa, minimum_mpa)
    full = np.asarray(np.subtract(maximum_mpa, minimum_mpa, dtype=np.float64))
    factor = np.divide(full, counted, out=np.ones(full.shape), where=counted > 0.0)
    return Correction.reported(
        "effective range",
        "effective-range",
        factor,
        "compression counts in part, which holds for details that are not welded or are stress-relieved",
        source=_EN,
        table=document(_EN).table,
        field="minimum_mpa",
        bonus=True,
        range_mpa=full,
    )
