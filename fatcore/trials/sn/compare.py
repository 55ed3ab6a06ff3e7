"""Whether two series differ: in scatter, in slope, in level, or at all."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated

import numpy as np
from annotated_types import Ge, Lt
from scipy.special import fdtrc, stdtr

from fatcore.bounds import guarded
from fatcore.errors import NotCoveredError, at
from fatcore.findings import Finding, caution, note
from fatcore.outcome import Outcome, evidence
from fatcore.trials.sn.bounds import powers_of_ten
from fatcore.trials.sn.factors import student
from fatcore.trials.sn.fit import Slope, SnFit, fit_line
from fatcore.trials.sn.series import TrialSeries, origin_findings

_Level = Annotated[float, Ge(0.5), Lt(1.0)]


@dataclass(frozen=True, slots=True, kw_only=True)
class DifferenceTest:
    """A statistic, its degrees of freedom, and the probability of one as large where nothing differs.

    second_degrees_of_freedom : of the denominator of an F; null for a t
    differ                    : the probability lies below one minus the confidence
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
    first: TrialSeries, second: TrialSeries, *, fixed_slope: Slope = None, confidence: _Level
) -> SeriesComparison:
    """Tests whether two series without run-outs differ, under a common variance.

    confidence : above which a difference counts; ranges should overlap, else the level is extrapolated
    Raises     : NotCoveredError for run-outs, InputError as `fit_line`
    Source     : [linear-models], [astm-e739-10]
    """
    fits = []
    for name, series in (("first", first), ("second", second)):
        if not series.failed.all():
            raise NotCoveredError("the comparison is of series in which every test failed", name, "run_out")
        with at(name):
            fits.append(fit_line(series, fixed_slope))
    return _compared((first, second), (fits[0], fits[1]), fixed_slope, confidence)


def _compared(
    series: tuple[TrialSeries, TrialSeries], fits: tuple[SnFit, SnFit], fixed_slope: float | None, confidence: float
) -> SeriesComparison:
    one, two = fits
    squares = [fit.sd_log10_cycles**2 * fit.degrees_of_freedom for fit in fits]
    freedom = one.degrees_of_freedom + two.degrees_of_freedom
    pooled = sum(squares) / freedom
    slopes, common = None, one.slope
    if fixed_slope is None:
        error = math.sqrt(pooled * (1.0 / one.spread + 1.0 / two.spread))
        slopes = _student((one.slope - two.slope) / error, freedom, confidence)
        common = (one.slope * one.spread + two.slope * two.spread) / (one.spread + two.spread)
    shift, error_of_shift, left = _level(series, fits, common, fixed=fixed_slope is not None)
    level = _student(shift / error_of_shift, left, confidence)
    # one line has half of the parameters of two
    between = 1 if fixed_slope is not None else 2
    more = max(_squares_of_one_line(series, fixed_slope) - sum(squares), 0.0)
    line = _fisher(more / between / pooled, between, freedom, confidence)
    larger, smaller = sorted(fits, key=lambda fit: -fit.sd_log10_cycles)
    ratio = (larger.sd_log10_cycles / smaller.sd_log10_cycles) ** 2
    variance = _fisher(ratio, larger.degrees_of_freedom, smaller.degrees_of_freedom, confidence, both_sides=True)
    reach = student(left, confidence) * error_of_shift
    factor, low, high = powers_of_ten(shift + np.array([0.0, -reach, reach]), "second", "range_mpa")
    return SeriesComparison(
        variance=variance,
        slope_difference=slopes,
        level=level,
        one_line=line,
        common_slope=common,
        life_factor=float(factor),
        life_factor_low=float(low),
        life_factor_high=float(high),
        range_factor=float(powers_of_ten(np.array(shift / common), "second", "range_mpa")),
        **evidence(findings=_findings(series, variance, slopes), sources=["linear-models", "astm-e739-10"]),
    )


def _level(
    series: tuple[TrialSeries, TrialSeries], fits: tuple[SnFit, SnFit], slope: float, *, fixed: bool
) -> tuple[float, float, int]:
    """Shift of the second constant, its standard error, degrees of freedom."""
    constants = [each.log10_life + slope * each.log10_range for each in series]
    sizes = [len(each) for each in constants]
    squares = float(sum(np.square(each - each.mean()).sum() for each in constants))
    freedom = sum(sizes) - (2 if fixed else 3)
    apart = 0.0 if fixed else (fits[0].mean_log10_range - fits[1].mean_log10_range) ** 2 / sum(f.spread for f in fits)
    error = math.sqrt(squares / freedom * (1.0 / sizes[0] + 1.0 / sizes[1] + apart))
    return float(constants[1].mean() - constants[0].mean()), error, freedom


def _squares_of_one_line(series: tuple[TrialSeries, TrialSeries], fixed_slope: float | None) -> float:
    x = np.concatenate([each.log10_range for each in series])
    y = np.concatenate([each.log10_life for each in series])
    x, y = x - x.mean(), y - y.mean()
    slope = -float(x @ y) / float(x @ x) if fixed_slope is None else fixed_slope
    return float(np.square(y + slope * x).sum())


def _student(statistic: float, freedom: int, confidence: float) -> DifferenceTest:
    probability = 2.0 * float(stdtr(freedom, -abs(statistic)))
    return DifferenceTest(
        test_statistic=statistic,
        degrees_of_freedom=freedom,
        second_degrees_of_freedom=None,
        chance=probability,
        differ=probability < 1.0 - confidence,
    )


def _fisher(
    statistic: float, between: int, within: int, confidence: float, *, both_sides: bool = False
) -> DifferenceTest:
    above = float(fdtrc(between, within, statistic))
    probability = 2.0 * min(above, 1.0 - above) if both_sides else above
    return DifferenceTest(
        test_statistic=statistic,
        degrees_of_freedom=between,
        second_degrees_of_freedom=within,
        chance=probability,
        differ=probability < 1.0 - confidence,
    )


def _findings(
    series: tuple[TrialSeries, TrialSeries], variance: DifferenceTest, slopes: DifferenceTest | None
) -> list[Finding]:
    text = "slopes, level and line are compared under one variance of both series"
    found = [*origin_findings(series[0]), *origin_findings(series[1]), note("common-variance", text)]
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
