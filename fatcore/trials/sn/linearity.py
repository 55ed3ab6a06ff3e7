"""Whether tests leave a straight line more than they scatter: by levels with replicates, or by curved terms."""

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
_STRAIGHT = 2  # columns of a straight line
Form = Literal["lack-of-fit", "quadratic", "cubic"]
_CURVED: tuple[Form, ...] = ("quadratic", "cubic")
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

    tested_by : levels with replicates (lack-of-fit), or without enough of them a quadratic or a cubic term, whichever
                departs more
    levels : different ranges; test_statistic: F, with its degrees of freedom; chance: of one as large on a line, in as
             many tests as were made
    """

    tested_by: Form
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
    """By levels where enough of them repeat and all failed, else by a quadratic and a cubic term; None for neither.

    The smaller of two probabilities counts twice, so that both together find no more by chance than one (the
    inequality of Bonferroni, the first step of Holm's).
    """
    replicated = lack_of_fit(series, fit, level) if fit.method == "least-squares" else None
    tests: dict[Form, LackOfFit] = {}
    if replicated is not None and replicated.within >= replicated.between:
        tests["lack-of-fit"] = replicated
    else:
        tests.update(zip(_CURVED, curved_terms(series, fit), strict=False))
    if not tests:
        return None
    form = min(tests, key=lambda each: tests[each].chance)
    found = tests[form]
    chance = min(len(tests) * found.chance, 1.0)
    return LinearityTest(
        tested_by=form,
        levels=len(np.unique(level)),
        test_statistic=found.statistic,
        degrees_of_freedom=found.between,
        second_degrees_of_freedom=found.within,
        chance=chance,
        linear=chance >= significance,
    )


def curved_terms(series: TrialSeries, fit: SnFit) -> list[LackOfFit]:
    """The F of a quadratic term beside a free straight line, and of a cubic one beside both, as in a series that turns
    one way and back; as far as failures and their ranges settle them.

    Exact where every test failed and the scatter is normal; else the ratio of likelihoods takes the place of that of
    squares, and failures that of tests, as for two series.
    Source : [linear-models], [location-scale-likelihood]
    """
    x, failed = series.log10_range, series.failed
    failures, levels = int(failed.sum()), len(np.unique(levels_of(x[failed])))
    x = (x - x[failed].mean()) / max(float(np.ptp(x)), _LEVEL)
    design, y = np.vander(x, 4, increasing=True), series.log10_life[np.newaxis]
    found, below = list[LackOfFit](), math.nan
    for columns in (2, 3, 4):
        if failures <= columns or levels < columns:
            break
        try:
            fitted = maximum_likelihood(y, design[:, :columns], failed[np.newaxis], fit.distribution)
        except InputError:
            break
        value = float(fitted.value[0])
        if columns > _STRAIGHT:
            found.append(_of_gain(value - below, failures, failures - columns))
        below = value
    return found


def _of_gain(gain: float, failures: int, within: int) -> LackOfFit:
    """From the logarithm of a ratio of likelihoods."""
    statistic = math.expm1(min(2.0 * max(gain, 0.0) / failures, _LARGEST)) * within
    return LackOfFit(statistic, 1, within, float(fdtrc(1, within, statistic)))
