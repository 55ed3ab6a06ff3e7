"""The whole evaluation of a series: line, bounds, scatter, linearity, characteristic lines."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import numpy as np
from annotated_types import Len, doc
from scipy.special import fdtrc

from fatcore.bounds import Positive, PositiveArray, guarded
from fatcore.curves.curve import Curve
from fatcore.curves.deviations import deviations
from fatcore.errors import InputError
from fatcore.findings import Finding, caution, note, outside
from fatcore.outcome import Outcome, evidence
from fatcore.require import FloatArray
from fatcore.trials.sn.bounds import bounds_at
from fatcore.trials.sn.characteristic import (
    REFERENCE_CYCLES,
    SOURCES,
    CharacteristicLine,
    Confidence,
    Survival,
    characteristic_findings,
    characteristic_lines,
    curve_of,
    range_at,
)
from fatcore.trials.sn.factors import Rule, student
from fatcore.trials.sn.fit import Method, SnFit, fit_line
from fatcore.trials.sn.likelihood import Distribution
from fatcore.trials.sn.series import TrialSeries

_POINTS = 25  # of the bounds, where the caller names no ranges
_USUAL_SLOPES = (2.0, 8.0)  # of welds; outside, units or cycles are likely mixed [own choice]
_EXTRAPOLATED = 2.0  # times the longest failure or below half the shortest: the line is not tested there
_LARGE_SCATTER, _SMALL_SCATTER = 0.5, 0.05
_LEVEL = 1e-6  # of log10: ranges that differ less are one level

Slope = Annotated[Positive | None, doc("slope that is given, not found; 3 and 5 are usual for welds")]
Ranges = Annotated[
    Annotated[PositiveArray, Len(1, 1000)] | None, doc("where bounds are given; null: 25 within the tests")
]


@dataclass(frozen=True, slots=True, kw_only=True)
class LinearityTest:
    """Whether levels with replicates leave a straight line more than they scatter.

    levels : different ranges; test_statistic: F, with its degrees of freedom; chance: of one as large on a line
    """

    levels: int
    test_statistic: float
    degrees_of_freedom: int
    second_degrees_of_freedom: int
    chance: float
    linear: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Scatter:
    """Scatter indices: life or range at low survival over that at high survival."""

    life_10_90: float
    life_2_98: float
    range_10_90: float
    range_2_98: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SnOutcome(Outcome):
    """A series evaluated.

    slope_low .. log10_constant_high : limits of both sides at the confidence, at each alone; equal to the value
                                       where it was given
    range_mpa .. life_tolerance_cycles : bounds, one entry a range
    rule, design_curve               : the characteristic line that was asked for, as a curve for use elsewhere
    replication_pct                  : 100 (1 - levels/tests)
    """

    name: str
    method: Method
    distribution: Distribution
    tests: int
    run_outs: int
    slope: float
    slope_low: float
    slope_high: float
    log10_constant: float
    log10_constant_low: float
    log10_constant_high: float
    sd_log10_cycles: float
    likelihood_scatter: float
    log_likelihood: float
    degrees_of_freedom: int
    range_at_two_million_mpa: float
    scatter: Scatter
    replication_pct: float
    linearity: LinearityTest | None
    range_mpa: FloatArray
    life_median_cycles: FloatArray
    life_low_cycles: FloatArray
    life_high_cycles: FloatArray
    life_band_low_cycles: FloatArray
    life_band_high_cycles: FloatArray
    life_prediction_cycles: FloatArray
    life_tolerance_cycles: FloatArray
    characteristic: tuple[CharacteristicLine, ...]
    rule: Rule
    design_curve: Curve


@guarded
def evaluate_series(
    series: TrialSeries,
    *,
    rule: Rule,
    survival_probability: Survival,
    confidence: Confidence,
    fixed_slope: Slope = None,
    distribution: Distribution = "normal",
    range_mpa: Ranges = None,
    stress_kind: Annotated[str, Len(0, 300), doc("the stress that the ranges are of")] = "own",
) -> SnOutcome:
    """Line, bounds, scatter and characteristic lines of a series of fatigue tests.

    rule   : whose characteristic line becomes the design curve; all that cover the series are given
    Raises : InputError as `fit_line`, and for a rule that does not cover run-outs or the distribution
    Source : [astm-e739-10], [iso-12107-2012], [iiw-2259-15-evaluation], [tolerance-factor],
             [location-scale-likelihood]
    """
    fit = fit_line(series, fixed_slope, distribution)
    lines = characteristic_lines(fit, series.log10_range, survival_probability, confidence)
    chosen = next((line for line in lines if line.rule == rule), None)
    if chosen is None:
        text = f"the rule {rule} is for normal scatter without run-outs: take tolerance, which is by likelihood here"
        raise InputError(text, "rule")
    ranges = _ranges(series) if range_mpa is None else np.asarray(range_mpa, dtype=np.float64)
    bounds = bounds_at(fit, np.log10(ranges), survival_probability, confidence)
    columns = {name: 10.0**column for name, column in bounds._asdict().items()}
    slope_reach, constant_reach = _reaches(fit, confidence)
    linearity = _linearity(series, fit, confidence)
    levels = _levels(series.log10_range)
    median = fit.log10_constant + fit.quantile(0.5) * fit.sd_log10_cycles
    return SnOutcome(
        name=series.name,
        method=fit.method,
        distribution=fit.distribution,
        tests=fit.tests,
        run_outs=fit.tests - fit.failures,
        slope=fit.slope,
        slope_low=fit.slope - slope_reach,
        slope_high=fit.slope + slope_reach,
        log10_constant=fit.log10_constant,
        log10_constant_low=fit.log10_constant - constant_reach,
        log10_constant_high=fit.log10_constant + constant_reach,
        sd_log10_cycles=fit.sd_log10_cycles,
        likelihood_scatter=fit.likelihood_scatter,
        log_likelihood=fit.log_likelihood,
        degrees_of_freedom=fit.degrees_of_freedom,
        range_at_two_million_mpa=range_at(median, fit.slope),
        scatter=_scatter(fit),
        replication_pct=100.0 * (1.0 - len(np.unique(levels)) / fit.tests),
        linearity=linearity,
        range_mpa=ranges,
        life_median_cycles=columns["median"],
        life_low_cycles=columns["low"],
        life_high_cycles=columns["high"],
        life_band_low_cycles=columns["band_low"],
        life_band_high_cycles=columns["band_high"],
        life_prediction_cycles=columns["prediction"],
        life_tolerance_cycles=columns["tolerance"],
        characteristic=lines,
        rule=rule,
        design_curve=curve_of(chosen, fit, series.name, stress_kind),
        **evidence(
            findings=[*_findings(series, fit, linearity, ranges), *characteristic_findings(fit)],
            sources=["astm-e739-10", "location-scale-likelihood", *(SOURCES[line.rule] for line in lines)],
        ),
    )


def _ranges(series: TrialSeries) -> FloatArray:
    low, high = float(series.log10_range.min()), float(series.log10_range.max())
    return np.asarray(10.0 ** np.linspace(low, high, _POINTS if high > low else 1))


def _reaches(fit: SnFit, confidence: float) -> tuple[float, float]:
    """Half of the interval of the slope and of the constant."""
    quantile = student(fit.degrees_of_freedom, confidence)
    middle = fit.mean_log10_range
    if fit.covariance is None:
        slope = 0.0 if fit.fixed_slope else quantile * fit.sd_log10_cycles / np.sqrt(fit.spread)
        leverage = float(fit.leverage(np.array(0.0)))
        return float(slope), quantile * fit.sd_log10_cycles * leverage**0.5
    scale = quantile * (fit.failures / fit.degrees_of_freedom) ** 0.5
    if fit.fixed_slope:
        return 0.0, float(scale * fit.covariance[0, 0] ** 0.5)
    weights = np.array([1.0, -middle])
    return float(scale * fit.covariance[1, 1] ** 0.5), float(
        scale * (weights @ fit.covariance[:2, :2] @ weights) ** 0.5
    )


def _scatter(fit: SnFit) -> Scatter:
    def index(survival: float) -> float:
        return float(10.0 ** ((fit.quantile(survival) - fit.quantile(1.0 - survival)) * fit.sd_log10_cycles))

    narrow = index(0.9)
    wide = (
        index(0.977) if fit.distribution != "normal" else float(10.0 ** (2.0 * deviations(0.977) * fit.sd_log10_cycles))
    )
    return Scatter(
        life_10_90=narrow,
        life_2_98=wide,
        range_10_90=narrow ** (1.0 / fit.slope),
        range_2_98=wide ** (1.0 / fit.slope),
    )


def _levels(log10_range: FloatArray) -> FloatArray:
    """A number for each test, alike where the ranges are one level."""
    order = np.argsort(log10_range, kind="stable")
    number = np.cumsum(np.concatenate([[0.0], np.diff(log10_range[order]) > _LEVEL]))
    found = np.empty_like(number)
    found[order] = number
    return found


def _linearity(series: TrialSeries, fit: SnFit, confidence: float) -> LinearityTest | None:
    """The test of a straight line; None with run-outs, and without replicates or a third level."""
    if fit.method != "least-squares":
        return None
    level = _levels(series.log10_range).astype(np.intp)
    count = np.bincount(level)
    free = 1 if fit.fixed_slope else 2
    between, within = len(count) - free, fit.tests - len(count)
    if between < 1 or within < 1:
        return None
    y, line = series.log10_life, fit.location(series.log10_range)
    means = np.bincount(level, y) / count
    error = float(np.square(y - means[level]).sum())
    if error <= 0.0:
        return None
    statistic = float(np.square(line - means[level]).sum()) / between / (error / within)
    probability = float(fdtrc(between, within, statistic))
    return LinearityTest(
        levels=len(count),
        test_statistic=statistic,
        degrees_of_freedom=between,
        second_degrees_of_freedom=within,
        chance=probability,
        linear=probability >= 1.0 - confidence,
    )


def _findings(series: TrialSeries, fit: SnFit, linearity: LinearityTest | None, ranges: FloatArray) -> list[Finding]:
    found = []
    low, high = _USUAL_SLOPES
    if not low <= fit.slope <= high:
        text = (
            f"a slope of {fit.slope:.3g} is outside {low:g} to {high:g}, where welds lie: units, ranges for amplitudes?"
        )
        found.append(caution("line-slope-unusual", text, field="slope"))
    if not _SMALL_SCATTER <= fit.sd_log10_cycles <= _LARGE_SCATTER:
        text = (
            f"a scatter of log10 life of {fit.sd_log10_cycles:.3g} is outside {_SMALL_SCATTER:g} to {_LARGE_SCATTER:g}:"
            " several kinds of specimen in one series, or too few tests"
        )
        found.append(caution("scatter-unusual", text, field="sd_log10_cycles"))
    if linearity is not None and not linearity.linear:
        text = "the levels leave a straight line more than their tests scatter: a knee or two slopes in one series"
        found.append(caution("line-not-straight", text, field="linearity", source="astm-e739-10"))
    if linearity is None:
        text = "no test of a straight line: it needs replicates at three ranges, and no run-outs"
        found.append(note("linearity-not-tested", text, field="linearity", source="astm-e739-10"))
    return [*found, *_reach_findings(series, ranges)]


def _reach_findings(series: TrialSeries, ranges: FloatArray) -> list[Finding]:
    found = []
    tested = np.asarray(series.range_mpa)[series.failed]
    if ranges.min() < tested.min() * (1.0 - 1e-9) or ranges.max() > tested.max() * (1.0 + 1e-9):
        text = f"bounds are asked for outside {tested.min():.4g} to {tested.max():.4g} MPa, where specimens failed"
        found.append(outside("bounds-extrapolated", text, field="range_mpa"))
    longest = float(np.asarray(series.life_cycles)[series.failed].max())
    if longest * _EXTRAPOLATED < REFERENCE_CYCLES:
        text = f"the range at 2e6 cycles is extrapolated from a longest failure of {longest:.4g} cycles"
        found.append(caution("reference-life-extrapolated", text, field="range_at_two_million_mpa"))
    return found
