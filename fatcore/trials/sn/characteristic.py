"""Characteristic lines: the fitted line moved down by the rule of each source, kept apart by name."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

import numpy as np
from annotated_types import Ge, Lt, doc

from fatcore.curves.curve import Curve
from fatcore.curves.deviations import power_of_ten
from fatcore.curves.tested import LivesTested
from fatcore.curves.user_defined import user_defined_curve
from fatcore.figures import as_given, figure
from fatcore.findings import Finding, caution, note
from fatcore.require import FloatArray
from fatcore.trials.sn.bounds import bounds_at
from fatcore.trials.sn.factors import Rule, iiw_factor, iso_factor, prediction_factor, tolerance_factor
from fatcore.trials.sn.fit import SnFit
from fatcore.trials.sn.series import TrialSeries

REFERENCE_CYCLES = 2e6
SOURCES: dict[Rule, str] = {
    "tolerance": "tolerance-factor",
    "iso-12107": "iso-12107-2012",
    "iiw": "iiw-2259-15-evaluation",
    "prediction": "tolerance-factor",
}
Survival = Annotated[float, Ge(0.5), Lt(1.0), doc("share of all specimens above a lower limit")]
Confidence = Annotated[float, Ge(0.5), Lt(1.0), doc("with which a limit holds")]
_PLACES = 100  # ranges at which the depth is looked for; it changes smoothly, and is largest at an end
_SIMULATED = (6, 48)  # tests of the simulated series [location-scale-likelihood]
_FEW = 10  # tests from which the IIW takes the measured scatter
# log10 of mean life up to which a scatter of it is assumed for fewer tests [iiw-2259-15-evaluation]
_ASSUMED = ((5.0, 0.178), (float("inf"), 0.25))


@dataclass(frozen=True, slots=True, kw_only=True)
class CharacteristicLine:
    """A line parallel to the fitted one.

    rule                 : whose; survival_probability, confidence: which share lies above, how surely; null: the
                           rule has none
    factor               : scatters below the location, the largest within the ranges tested
    log10_constant       : of the line; range_at_two_million_mpa: its range at 2e6 cycles
    """

    rule: Rule
    survival_probability: float
    confidence: float | None
    factor: float
    sd_log10_cycles: float
    log10_constant: float
    range_at_two_million_mpa: float


def characteristic_lines(
    fit: SnFit, log10_range: FloatArray, survival_probability: float, confidence: float
) -> tuple[CharacteristicLine, ...]:
    """The line of every rule that covers the fit.

    log10_range : of the tests, within which the largest factor is taken
    """
    if fit.method == "maximum-likelihood":
        return (_by_likelihood(fit, log10_range, survival_probability, confidence),)
    leverage, freedom = float(fit.leverage(log10_range).max()), fit.degrees_of_freedom
    exact = tolerance_factor(freedom, leverage, survival_probability, confidence)
    approximate = iso_factor(freedom, leverage, survival_probability, confidence)
    ahead = prediction_factor(freedom, leverage, survival_probability)
    return (
        _line(fit, "tolerance", survival_probability, confidence, exact),
        _line(fit, "iso-12107", survival_probability, confidence, approximate),
        _line(fit, "iiw", 0.95, 0.75, iiw_factor(fit.tests), iiw_scatter(fit)),
        _line(fit, "prediction", survival_probability, None, ahead),
    )


def iiw_scatter(fit: SnFit) -> float:
    """The measured scatter; of fewer than ten tests no less than what the document assumes [log10 of life].

    With a slope that was found it is by n - 2, which is larger than the n - 1 of the document.
    """
    if fit.tests >= _FEW:
        return fit.sd_log10_cycles
    life = float(fit.location(np.array(fit.mean_log10_range)))
    return max(fit.sd_log10_cycles, next(scatter for limit, scatter in _ASSUMED if life <= limit))


def _line(
    fit: SnFit, rule: Rule, survival: float, confidence: float | None, factor: float, scatter: float | None = None
) -> CharacteristicLine:
    used = fit.sd_log10_cycles if scatter is None else scatter
    constant = fit.log10_constant - factor * used
    return CharacteristicLine(
        rule=rule,
        survival_probability=survival,
        confidence=confidence,
        factor=factor,
        sd_log10_cycles=used,
        log10_constant=constant,
        range_at_two_million_mpa=range_at(constant, fit.slope),
    )


def _by_likelihood(fit: SnFit, x: FloatArray, survival: float, confidence: float) -> CharacteristicLine:
    """With run-outs the lower limit by the curvature of the likelihood, which every other rule lacks."""
    places = np.unique(x)
    if len(places) > _PLACES:
        places = np.linspace(places[0], places[-1], _PLACES)
    lower = bounds_at(fit, places, survival, confidence).tolerance
    depth = float((fit.location(places) - lower).max()) / fit.sd_log10_cycles
    return _line(fit, "tolerance", survival, confidence, depth)


def range_at(log10_constant: float, slope: float, cycles: float = REFERENCE_CYCLES) -> float:
    """Range of a line at a life [MPa].

    >>> round(range_at(12.0, 3.0), 2)
    79.37
    """
    return power_of_ten("life_cycles", (log10_constant - math.log10(cycles)) / slope)


def curve_of(line: CharacteristicLine, fit: SnFit, series: TrialSeries, stress_kind: str) -> Curve:
    """A characteristic line as a curve of the user's own, for use wherever a curve is."""
    ranges = np.asarray(series.range_mpa, dtype=np.float64)[series.failed]
    sure = "" if line.confidence is None else f" at {as_given(100.0 * line.confidence)} % confidence"
    return user_defined_curve(
        name=series.name,
        origin=f"{fit.tests} tests, rule {line.rule}, {as_given(100.0 * line.survival_probability)} % survival{sure}",
        stress_kind=stress_kind,
        log10_constants=(line.log10_constant,),
        slopes=(fit.slope,),
        survival_probability=line.survival_probability,
        sd_log10_cycles=line.sd_log10_cycles,
        tested=LivesTested(
            tests=fit.tests,
            lowest_range_mpa=float(ranges.min()),
            highest_range_mpa=float(ranges.max()),
            longest_life_cycles=float(np.asarray(series.life_cycles, dtype=np.float64)[series.failed].max()),
            confidence=line.confidence,
            distribution=fit.distribution,
        ),
    )


def characteristic_findings(fit: SnFit, lines: Sequence[CharacteristicLine], rule: Rule) -> list[Finding]:
    """What the rules rest on; rule: the one that was asked for."""
    text = (
        "the design curve holds what its rule says at its own survival probability: moved to another one later it goes"
        " by the scatter alone, and the confidence is lost; ask here for the survival probability that is needed"
    )
    found = [note("curve-moved-later", text, field="design_curve")]
    factors = {line.rule: line.factor for line in lines}
    if rule == "iso-12107" and factors[rule] < factors["tolerance"]:
        text = (
            f"the factor {figure(factors[rule])} of ISO 12107 at the ends of the ranges tested is less than the "
            f"exact one,"
            f" {figure(factors['tolerance'])}: the line keeps its survival with less than the confidence there"
        )
        found.append(caution("factor-below-exact", text, field="rule", source="iso-12107-2012"))
    found += _own_levels(lines, rule)
    if fit.method == "maximum-likelihood":
        low, high = _SIMULATED
        text = (
            "with run-outs or an extreme-value scatter only the limit by likelihood is given, which is approximate:"
            f" simulated series of {low} to {high} tests keep it as often as it says, or more"
        )
        if not low <= fit.tests <= high:
            text += f"; a series of {fit.tests} was not simulated"
        found.append(caution("limit-by-likelihood", text, field="rule", source="location-scale-likelihood"))
    elif fit.tests < _FEW:
        text = (
            f"{fit.tests} tests: the rule of the IIW takes a scatter of {figure(iiw_scatter(fit))}, the larger of the"
            " measured one and the one that it assumes below ten tests"
        )
        found.append(note("scatter-assumed", text, field="sd_log10_cycles", source="iiw-2259-15-evaluation"))
        if not fit.fixed_slope:
            text = f"{fit.tests} tests: the IIW takes a given slope for fewer than ten, 3 or, for shear, 5"
            found.append(caution("slope-by-few-tests", text, field="fixed_slope", source="iiw-2259-15-evaluation"))
    return found


def _own_levels(lines: Sequence[CharacteristicLine], rule: Rule) -> list[Finding]:
    """A rule that has its own survival or confidence, where others were asked for."""
    by_rule = {line.rule: line for line in lines}
    asked, chosen = by_rule["tolerance"], by_rule[rule]
    if (asked.survival_probability, asked.confidence) == (chosen.survival_probability, chosen.confidence):
        return []
    has = f"{as_given(100.0 * chosen.survival_probability)} % survival"
    sure = (
        "without confidence" if chosen.confidence is None else f"at {as_given(100.0 * chosen.confidence)} % confidence"
    )
    text = (
        f"the rule {rule} is for {has} {sure}: what else was asked for holds for the limits, not for the design curve"
    )
    return [caution("rule-has-own-levels", text, field="rule", source=SOURCES[rule])]
