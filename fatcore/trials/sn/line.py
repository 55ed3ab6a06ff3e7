"""The whole evaluation of a series: line, bounds, scatter, linearity, characteristic lines."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

import numpy as np
from annotated_types import Len, doc

from fatcore.bounds import PositiveArray, guarded
from fatcore.curves.curve import Curve
from fatcore.curves.deviations import TWO_SIGMA
from fatcore.errors import InputError, at
from fatcore.outcome import Outcome, evidence
from fatcore.require import FloatArray
from fatcore.trials.sn.bounds import LineBounds, bounds_at, powers_of_ten
from fatcore.trials.sn.characteristic import (
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
from fatcore.trials.sn.fit import FixedSlope, Method, SnFit, fit_line
from fatcore.trials.sn.likelihood import Distribution
from fatcore.trials.sn.line_findings import line_findings
from fatcore.trials.sn.linearity import SIGNIFICANT, LinearityTest, Significance, levels_of, straightness
from fatcore.trials.sn.resampling import ResampledBand, Resamples, Seed, guard_resampling, resample_band
from fatcore.trials.sn.series import TrialSeries
from fatcore.trials.sn.shares import share_findings

_POINTS = 25  # of the bounds, where the caller names no ranges

Ranges = Annotated[
    Annotated[PositiveArray, Len(1, 1000)] | None, doc("where bounds are given; null: 25 between the failures")
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Scatter:
    """Scatter indices: life or range at low survival over that at high survival.

    life_2_98, range_2_98                     : between exact shares of 2.3 and 97.7 %
    life_two_deviations, range_two_deviations : between the lines two standard deviations above and below the mean,
                                                which documents name so; the second one is what a curve takes as its
                                                scatter_index at 0.977
    """

    life_10_90: float
    life_2_98: float
    life_two_deviations: float
    range_10_90: float
    range_2_98: float
    range_two_deviations: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SnOutcome(Outcome):
    """A series evaluated.

    slope_low .. log10_constant_high : limits of both sides at the confidence, at each alone; equal to the value
                                       where it was given
    range_mpa .. life_tolerance_cycles : bounds, one entry a range
    life_resampled_low_cycles .. life_resampled_cycles : by samples drawn anew; null where none were asked for
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
    life_resampled_low_cycles: FloatArray | None
    life_resampled_high_cycles: FloatArray | None
    life_resampled_cycles: FloatArray | None
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
    fixed_slope: FixedSlope = None,
    distribution: Distribution = "normal",
    range_mpa: Ranges = None,
    stress_kind: Annotated[str, Len(0, 300), doc("the stress that the ranges are of")] = "own",
    resamples: Resamples = None,
    seed: Seed = None,
    significance: Significance = SIGNIFICANT,
) -> SnOutcome:
    """Line, bounds, scatter and characteristic lines of a series of fatigue tests.

    rule            : whose characteristic line becomes the design curve; all that cover the series are given
    resamples, seed : both or none; a band by samples drawn anew
    significance    : probability of a departure from the line as large by chance, below which it counts
    Raises          : InputError as `fit_line`, and for a rule that does not cover run-outs or the distribution
    Source          : [astm-e739-10], [iso-12107-2012], [iiw-2259-15-evaluation], [tolerance-factor],
                      [location-scale-likelihood], [parametric-resampling]
    """
    guard_resampling(len(series.failed), resamples, seed)
    with at("series"):
        fit = fit_line(series, fixed_slope, distribution)
        lines = characteristic_lines(fit, series.log10_range, survival_probability, confidence)
        indices = _scatter(fit)
    chosen = next((line for line in lines if line.rule == rule), None)
    if chosen is None:
        text = f"the rule {rule} is for normal scatter without run-outs: take tolerance, which is by likelihood here"
        raise InputError(text, "rule")
    ranges = _ranges(series) if range_mpa is None else np.asarray(range_mpa, dtype=np.float64)
    bounds = bounds_at(fit, np.log10(ranges), survival_probability, confidence)
    band = _resampled(series, fit, np.log10(ranges), survival_probability, confidence, (resamples, seed))
    slope_reach, constant_reach = _reaches(fit, confidence)
    levels = levels_of(series.log10_range)
    linearity = straightness(series, fit, levels, significance)
    median = fit.log10_constant + fit.quantile(0.5) * fit.sd_log10_cycles
    with at("series"):
        middle = range_at(median, fit.slope)
        curve = curve_of(chosen, fit, series, stress_kind)
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
        range_at_two_million_mpa=middle,
        scatter=indices,
        replication_pct=100.0 * (1.0 - len(np.unique(levels)) / fit.tests),
        linearity=linearity,
        range_mpa=ranges,
        characteristic=lines,
        rule=rule,
        design_curve=curve,
        **_lives(bounds, band),
        **evidence(
            findings=[
                *share_findings(survival_probability, distribution),
                *line_findings(series, fit, None if linearity is None else linearity.linear, ranges),
                *characteristic_findings(fit, lines, rule),
            ],
            sources=[
                "astm-e739-10",
                "location-scale-likelihood",
                *(["linear-models"] if fit.fixed_slope else []),
                *(SOURCES[line.rule] for line in lines),
                *([] if band is None else ["parametric-resampling"]),
            ],
        ),
    )


def _ranges(series: TrialSeries) -> FloatArray:
    tested = series.log10_range[series.failed]
    low, high = float(tested.min()), float(tested.max())
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


def _lives(bounds: LineBounds, band: ResampledBand | None) -> dict[str, Any]:
    """Columns of lives by the names of the outcome."""
    drawn = (None, None, None) if band is None else (band.low, band.high, band.lower_limit)
    logarithms = {**bounds._asdict(), **dict(zip(("resampled_low", "resampled_high", "resampled"), drawn, strict=True))}
    return {
        f"life_{name}_cycles": None if column is None else powers_of_ten(column, "range_mpa")
        for name, column in logarithms.items()
    }


def _scatter(fit: SnFit) -> Scatter:
    """Both usual pairs of shares, and two deviations, which the second one stands for in documents."""
    narrow, wide = (
        np.array((fit.quantile(survival) - fit.quantile(1.0 - survival)) * fit.sd_log10_cycles)
        for survival in (0.9, 0.977)
    )
    named = np.array(2.0 * TWO_SIGMA * fit.sd_log10_cycles)
    return Scatter(
        life_10_90=float(powers_of_ten(narrow, "life_cycles")),
        life_2_98=float(powers_of_ten(wide, "life_cycles")),
        life_two_deviations=float(powers_of_ten(named, "life_cycles")),
        range_10_90=float(powers_of_ten(narrow / fit.slope, "life_cycles")),
        range_2_98=float(powers_of_ten(wide / fit.slope, "life_cycles")),
        range_two_deviations=float(powers_of_ten(named / fit.slope, "life_cycles")),
    )


def _resampled(
    series: TrialSeries,
    fit: SnFit,
    log10_range: FloatArray,
    survival_probability: float,
    confidence: float,
    drawn: tuple[int | None, int | None],
) -> ResampledBand | None:
    """The band by resampling; None where neither samples nor seed are given."""
    resamples, seed = drawn
    if resamples is None or seed is None:
        return None
    return resample_band(
        series,
        fit,
        log10_range,
        survival_probability=survival_probability,
        confidence=confidence,
        resamples=resamples,
        seed=seed,
    )
