"""Mean-stress coefficient of stress-relieved joints: energy of a cycle compared with one from zero."""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from fatcore.errors import InputError
from fatcore.findings import Finding, Limit
from fatcore.require import FloatArray
from fatcore.stress.modes import Mode

Condition = Literal["as-welded", "stress-relieved"]
LOAD_RATIO_LIMIT = Limit("load_ratio", -1.0, 1.0, "energy-mean-stress-2004", "stress-relieved joints")


def mean_stress_coefficient(load_ratio: ArrayLike) -> FloatArray:
    """Factor c_w on the energy of a cycle in a stress-relieved joint, 1 for a cycle from zero.

    With load ratio R below 0 the energies of both ends add up, (1 + R^2)/(1 - R)^2; above 0 the lower is
    taken from the higher, |1 - R^2|/(1 - R)^2. Both are unchanged when R is replaced by 1/R.

    load_ratio : minimum over maximum stress [-], scalar or array, infinite where the maximum is zero
    Returns    : c_w [-], 0.5 or more, same shape; 1 at R = 1, where there is no cycle to weigh
    Valid      : LOAD_RATIO_LIMIT (see `mean_stress_findings`)
    Raises     : InputError for a ratio that is not a number
    Source     : [energy-mean-stress-2004]

    >>> mean_stress_coefficient([-1.0, 0.0, 0.5]).tolist()
    [0.5, 1.0, 3.0]
    """
    ratio = np.asarray(load_ratio, dtype=np.float64)
    if np.isnan(ratio).any():
        raise InputError("load_ratio must be a number", "load_ratio")
    # 1/R gives the same coefficient and keeps large and infinite ratios harmless
    inner = np.abs(ratio) <= 1.0
    folded = np.where(inner, ratio, 1.0 / np.where(inner, 1.0, ratio))
    no_cycle = folded == 1.0
    rest = np.where(no_cycle, 1.0, 1.0 - folded)
    numerator = np.where(folded < 0.0, 1.0 + folded**2, 1.0 - folded**2)
    return np.where(no_cycle, 1.0, numerator / rest**2)


def mean_stress_findings(load_ratio: ArrayLike, *, mode: Mode = "opening") -> tuple[Finding, ...]:
    """An `outside` finding where the published range of the coefficient is left.

    The sign of a shear stress is a matter of the frame, and the coefficient is the same for R and 1/R: for
    the sliding and the tearing mode every ratio lies inside.

    load_ratio : minimum over maximum stress [-], scalar or array
    mode       : mode that the ratio belongs to
    """
    if mode != "opening":
        return ()
    found = LOAD_RATIO_LIMIT.finding(np.nan_to_num(np.asarray(load_ratio, dtype=np.float64)))
    return () if found is None else (found,)
