"""Whether levels with replicates leave a straight line more than they scatter."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from scipy.special import fdtrc

from fatcore.require import FloatArray
from fatcore.trials.sn.fit import SnFit
from fatcore.trials.sn.series import TrialSeries

_LEVEL = 1e-6  # of log10: ranges that differ less are one level


class LackOfFit(NamedTuple):
    """The statistic F, its degrees of freedom, and the probability of one as large on a straight line."""

    statistic: float
    between: int
    within: int
    chance: float


def levels_of(log10_range: FloatArray) -> FloatArray:
    """A number for each test, alike where the ranges are one level.

    >>> levels_of(np.array([2.1, 2.0, 2.1])).tolist()
    [1.0, 0.0, 1.0]
    """
    order = np.argsort(log10_range, kind="stable")
    number = np.cumsum(np.concatenate([[0.0], np.diff(log10_range[order]) > _LEVEL]))
    found = np.empty_like(number)
    found[order] = number
    return found


def lack_of_fit(series: TrialSeries, fit: SnFit, level: FloatArray) -> LackOfFit | None:
    """The statistic of a line of least squares; None without replicates, a level beyond the line, or scatter.

    level  : a number for each test, alike for the tests of a level
    Source : [astm-e739-10]
    """
    place = np.unique(level, return_inverse=True)[1]
    count = np.bincount(place)
    between, within = len(count) - (1 if fit.fixed_slope else 2), fit.tests - len(count)
    if between < 1 or within < 1:
        return None
    y = series.log10_life
    means, line = np.bincount(place, y) / count, np.bincount(place, fit.location(series.log10_range)) / count
    error = float(np.square(y - means[place]).sum())
    if error <= 0.0:
        return None
    statistic = float((count * np.square(line - means)).sum()) / between / (error / within)
    return LackOfFit(statistic, between, within, float(fdtrc(between, within, statistic)))
