"""Whether tests leave a straight line more than they scatter: by levels with replicates, or by a quadratic term."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Literal, NamedTuple

import numpy as np
from annotated_types import Ge, Lt, doc
from scipy.special import fdtrc

from fatcore.errors import InputError
from fatcore.require import FloatArray
from fatcore.trials.sn.fit import SnFit
from fatcore.trials.sn.likelihood import maximum_likelihood
from fatcore.trials.sn.series import TrialSeries

_LEVEL = math.log10(1.01)  # ranges within 1 % of the lowest of them are one level [own choice]
_LEAST_LEVELS = 3
_LARGEST = 500.0  # of an exponent, beyond which the probability is zero anyway
SIGNIFICANT = 0.05
LEAST_SIGNIFICANCE = 0.001  # a smaller one finds nothing in any series that is tested [own choice]
Significance = Annotated[
    float,
    Ge(LEAST_SIGNIFICANCE),
    Lt(0.5),
    doc("probability of as much by chance, below which a difference or departure counts"),
]


@dataclass(frozen=True, slots=True, kw_only=True)
class LinearityTest:
    """Whether tests leave a straight line more than they scatter.

    tested_by : levels with replicates (lack-of-fit), or without them a quadratic term
    levels : different ranges; test_statistic: F, with its degrees of freedom; chance: of one as large on a line
    """

    tested_by: Literal["lack-of-fit", "quadratic"]
    levels: int
    test_statistic: float
    degrees_of_freedom: int
    second_degrees_of_freedom: int
    chance: float
    linear: bool


class LackOfFit(NamedTuple):
    """The statistic F, its degrees of freedom, and the probability of one as large on a straight line."""

    statistic: float
    between: int
    within: int
    chance: float


def levels_of(log10_range: FloatArray) -> FloatArray:
    """A number for each test, alike where the ranges are one level: within 1 % of its lowest.

    >>> levels_of(np.array([2.1, 2.0, 2.1])).tolist()
    [1.0, 0.0, 1.0]
    """
    order = np.argsort(log10_range, kind="stable")
    number, found = -1.0, np.empty(len(log10_range))
    first = -math.inf
    for place in order:
        if log10_range[place] - first > _LEVEL:
            number, first = number + 1.0, float(log10_range[place])
        found[place] = number
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


def straightness(series: TrialSeries, fit: SnFit, level: FloatArray, significance: float) -> LinearityTest | None:
    """By levels where they repeat and all failed, else by a quadratic term; None where neither can be tested."""
    replicated = lack_of_fit(series, fit, level) if fit.method == "least-squares" else None
    found = replicated or quadratic_term(series, fit)
    if found is None:
        return None
    return LinearityTest(
        tested_by="quadratic" if replicated is None else "lack-of-fit",
        levels=len(np.unique(level)),
        test_statistic=found.statistic,
        degrees_of_freedom=found.between,
        second_degrees_of_freedom=found.within,
        chance=found.chance,
        linear=found.chance >= significance,
    )


def quadratic_term(series: TrialSeries, fit: SnFit) -> LackOfFit | None:
    """The F of a quadratic term beside a free straight line; None for failures at fewer than three levels.

    Exact where every test failed and the scatter is normal; else the ratio of likelihoods takes the place of that of
    squares, and failures that of tests, as for two series.
    Source : [linear-models], [location-scale-likelihood]
    """
    x, failed = series.log10_range, series.failed
    failures = int(failed.sum())
    if failures < _LEAST_LEVELS + 1 or len(np.unique(levels_of(x[failed]))) < _LEAST_LEVELS:
        return None
    x = x - x[failed].mean()
    y, design = series.log10_life[np.newaxis], np.column_stack([np.ones_like(x), x, x * x])
    try:
        straight, bent = (
            float(maximum_likelihood(y, columns, failed[np.newaxis], fit.distribution).value[0])
            for columns in (design[:, :2], design)
        )
    except InputError:
        return None
    gain = max(2.0 * (bent - straight), 0.0)
    statistic = math.expm1(min(gain / failures, _LARGEST)) * (failures - 3)
    return LackOfFit(statistic, 1, failures - 3, float(fdtrc(1, failures - 3, statistic)))
