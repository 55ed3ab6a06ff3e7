"""Whether tests bear a slope that was given and not found."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from scipy.special import fdtrc

from fatcore.errors import InputError
from fatcore.trials.sn.fit import SnFit
from fatcore.trials.sn.likelihood import maximum_likelihood
from fatcore.trials.sn.series import TrialSeries

_SAME_RANGE = 1e-9  # of log10, as of the fit
_LARGEST = 500.0  # of an exponent, beyond which the probability is zero anyway


class SlopeContradiction(NamedTuple):
    """The slope of the tests themselves, and the probability of one as far from the given one by chance."""

    slope: float
    chance: float


def slope_contradiction(series: TrialSeries, fit: SnFit) -> SlopeContradiction | None:
    """The F of a free slope against the given one; None where the tests settle no slope of their own.

    Exact where every test failed and the scatter is normal; else the ratio of likelihoods takes the place of that of
    squares, and failures that of tests, as for two series.
    Source : [linear-models], [location-scale-likelihood]
    """
    x, failed = series.log10_range, series.failed
    freedom = int(failed.sum()) - 2
    if freedom < 1 or np.ptp(x[failed]) < _SAME_RANGE:
        return None
    design = np.column_stack([np.ones_like(x), x - x[failed].mean()])
    try:
        free = maximum_likelihood(series.log10_life[np.newaxis], design, failed[np.newaxis], fit.distribution)
    except InputError:
        return None
    gain = max(2.0 * (float(free.value[0]) - fit.log_likelihood), 0.0)
    statistic = math.expm1(min(gain / (freedom + 2), _LARGEST)) * freedom
    return SlopeContradiction(-float(free.location[0, 1]), float(fdtrc(1, freedom, statistic)))
