"""Whether two series differ: in scatter, in slope, in level, or at all."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, NamedTuple

import numpy as np
from annotated_types import Ge, Lt
from scipy.special import fdtrc, stdtr

from fatcore.bounds import guarded
from fatcore.errors import at
from fatcore.findings import Finding, caution, note
from fatcore.outcome import Outcome, evidence
from fatcore.trials.sn.bounds import powers_of_ten
from fatcore.trials.sn.factors import student
from fatcore.trials.sn.fit import FixedSlope, SnFit, fit_line
from fatcore.trials.sn.likelihood import Likelihood, maximum_likelihood
from fatcore.trials.sn.linearity import SIGNIFICANT, Significance
from fatcore.trials.sn.series import TrialSeries
from fatcore.trials.sn.series_findings import copies_between, series_findings

_Level = Annotated[float, Ge(0.5), Lt(1.0)]


@dataclass(frozen=True, slots=True, kw_only=True)
class DifferenceTest:
    """A statistic, its degrees of freedom, and the probability of one as large where nothing differs.

    second_degrees_of_freedom : of the denominator of an F; null for a t
    chance                    : probability of as much where nothing differs (p value)
    differ                    : it lies below the significance
    """

    test_statistic: float
    degrees_of_freedom: int
    second_degrees_of_freedom: int | None
    chance: float
    differ: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SeriesComparison(Outcome):
    """Two series beside each other.

    variance, slope_difference : tests of the scatter, of the slopes (null where fixed)
    level, one_line              : of the level at the common slope, of one line for both
    common_slope                  : of both series together, or the fixed one
    life_factor, range_factor     : of the second series over the first at the common slope
    life_factor_low, life_factor_high : limits of both sides at the confidence
    """

    variance: DifferenceTest
    slope_difference: DifferenceTest | None
    level: DifferenceTest
    one_line: DifferenceTest
    common_slope: float
    life_factor: float
    life_factor_low: float
    life_factor_high: float
    range_factor: float


@guarded
def compare_series(
    first: TrialSeries,
    second: TrialSeries,
    *,
    fixed_slope: FixedSlope = None,
    confidence: _Level,
    significance: Significance = SIGNIFICANT,
) -> SeriesComparison:
    """Tests whether two series differ, under a common variance.

    Without run-outs the statistics are the exact t and F of least squares; with run-outs the ratio of likelihoods
    takes the place of the ratio of squares, and failures that of tests, which is approximate.
    confidence : of the limits of the factor of life; significance: probability of as much by chance, below which a
                 difference counts; ranges should overlap, else the level is extrapolated
    Raises     : InputError as `fit_line`, with the name of the series
    Source     : [linear-models], [astm-e739-10], [location-scale-likelihood]
    """
    fits = []
    for name, series in (("first", first), ("second", second)):
        with at(name):
            fits.append(fit_line(series, fixed_slope))
    with at("second"):
        return _compared((first, second), (fits[0], fits[1]), fixed_slope, confidence, significance)


def _compared(
    series: tuple[TrialSeries, TrialSeries],
    fits: tuple[SnFit, SnFit],
    fixed_slope: float | None,
    confidence: float,
    significance: float,
) -> SeriesComparison:
    lines = _Lines.of(series, fixed_slope)
    free = 0 if fixed_slope is not None else 1
    slopes, parted = None, lines.parallel
    if fixed_slope is None:
        parted = lines.parted
        slopes = _student(lines.student(parted, lines.parallel, 3, 4), lines.failures - 4, significance)
    left = lines.failures - 2 - free
    shift = float(lines.parallel.location[0, 1])
    level = _student(lines.student(lines.parallel, lines.single, 1, 2 + free), left, significance)
    between, within = 1 + free, lines.failures - 2 - 2 * free
    line = _fisher(lines.more(parted, lines.single, between, 2 + 2 * free), between, within, significance)
    variance = _variances(fits, significance)
    reach = student(left, confidence) * lines.error(lines.parallel, 1, 2 + free)
    common = fixed_slope if fixed_slope is not None else -float(lines.parallel.location[0, 2])
    factor, low, high = powers_of_ten(shift + np.array([0.0, -reach, reach]), "range_mpa")
    return SeriesComparison(
        variance=variance,
        slope_difference=slopes,
        level=level,
        one_line=line,
        common_slope=common,
        life_factor=float(factor),
        life_factor_low=float(low),
        life_factor_high=float(high),
        range_factor=float(powers_of_ten(np.array(shift / common), "range_mpa")),
        **evidence(
            findings=_findings(series, variance, slopes),
            sources=["linear-models", "astm-e739-10", "location-scale-likelihood"],
        ),
    )


class _Lines(NamedTuple):
    """Both series under nested models of one scatter: one line, parallel lines, lines of their own slopes.

    Coefficients : constant, shift of the second series, minus the slope, change of it in the second series
    """

    single: Likelihood
    parallel: Likelihood
    parted: Likelihood
    failures: int
    complete: bool

    @classmethod
    def of(cls, series: tuple[TrialSeries, TrialSeries], fixed_slope: float | None) -> _Lines:
        x = np.concatenate([each.log10_range for each in series])
        y = np.concatenate([each.log10_life for each in series])
        failed = np.concatenate([each.failed for each in series])
        x = x - x[failed].mean()
        one, other = np.ones_like(x), np.repeat([0.0, 1.0], [len(each.failed) for each in series])
        slope = [] if fixed_slope is not None else [x]
        lives = y + (fixed_slope or 0.0) * x
        models = ([one, *slope], [one, other, *slope], [one, other, *slope, *(other * each for each in slope)])
        single, parallel, parted = (
            maximum_likelihood(lives[np.newaxis], np.stack(model, axis=-1), failed[np.newaxis], "normal")
            for model in models
        )
        return cls(single, parallel, parted, int(failed.sum()), bool(failed.all()))

    def more(self, larger: Likelihood, smaller: Likelihood, between: int, parameters: int) -> float:
        """The statistic F of what the larger model, of so many parameters, explains beyond the smaller one."""
        gain = max(2.0 * float(larger.value[0] - smaller.value[0]), 0.0)
        return math.expm1(gain / self.failures) * (self.failures - parameters) / between

    def error(self, model: Likelihood, place: int, parameters: int) -> float:
        """Standard error of a coefficient of a model of so many parameters."""
        return math.sqrt(float(model.covariance[0, place, place]) * self.failures / (self.failures - parameters))

    def student(self, larger: Likelihood, smaller: Likelihood, place: int, parameters: int) -> float:
        """The statistic t of a coefficient that the smaller model lacks."""
        found = float(larger.location[0, place])
        if self.complete:  # the same figure, without the root of a small difference
            return found / self.error(larger, place, parameters)
        return math.copysign(math.sqrt(self.more(larger, smaller, 1, parameters)), found)


def _variances(fits: tuple[SnFit, SnFit], significance: float) -> DifferenceTest:
    larger, smaller = sorted(fits, key=lambda fit: -fit.sd_log10_cycles)
    ratio = (larger.sd_log10_cycles / smaller.sd_log10_cycles) ** 2
    return _fisher(ratio, _freedom(larger), _freedom(smaller), significance, both_sides=True)


def _freedom(fit: SnFit) -> int:
    """Degrees of freedom of the scatter, with run-outs those that the curvature of the likelihood leaves."""
    if fit.covariance is None:
        return fit.degrees_of_freedom
    return max(int(0.5 / float(fit.covariance[-1, -1]) * fit.degrees_of_freedom / fit.failures), 1)


def _student(statistic: float, freedom: int, significance: float) -> DifferenceTest:
    probability = 2.0 * float(stdtr(freedom, -abs(statistic)))
    return DifferenceTest(
        test_statistic=statistic,
        degrees_of_freedom=freedom,
        second_degrees_of_freedom=None,
        chance=probability,
        differ=probability < significance,
    )


def _fisher(
    statistic: float, between: int, within: int, significance: float, *, both_sides: bool = False
) -> DifferenceTest:
    above = float(fdtrc(between, within, statistic))
    probability = 2.0 * min(above, 1.0 - above) if both_sides else above
    return DifferenceTest(
        test_statistic=statistic,
        degrees_of_freedom=between,
        second_degrees_of_freedom=within,
        chance=probability,
        differ=probability < significance,
    )


def _findings(
    series: tuple[TrialSeries, TrialSeries], variance: DifferenceTest, slopes: DifferenceTest | None
) -> list[Finding]:
    text = "slopes, level and line are compared under one variance of both series"
    if not all(each.failed.all() for each in series):
        text += "; with run-outs by the ratio of likelihoods, which is approximate"
    found = [*series_findings(series[0]), *series_findings(series[1]), note("common-variance", text)]
    found += copies_between(*series)
    if variance.differ:
        text = "the scatter of the series differs: the tests of slope, level and line, which assume one, are doubtful"
        found.append(caution("variances-differ", text, field="variance"))
    if slopes is not None and slopes.differ:
        text = "the slopes differ: one factor of life for all ranges does not describe the series"
        found.append(caution("slopes-differ", text, field="slope_difference"))
    low = max(float(np.min(each.range_mpa)) for each in series)
    if low > min(float(np.max(each.range_mpa)) for each in series):
        text = "the stress ranges of the series do not overlap: their level is compared by extrapolation"
        found.append(caution("ranges-apart", text, field="range_mpa"))
    return found
