"""The laws that an evaluation of growth tests gives to a growth calculation, and what they rest on."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import numpy as np

from fatcore.cracks.driving.law import Stage
from fatcore.cracks.driving.tested import RatesTested, few_rates
from fatcore.figures import as_given, figure
from fatcore.findings import Finding, caution, outside
from fatcore.trials.growth.outcome import FittedLaw, GrowthTest, LawForUse, TestedSpecimen

_UNCERTAIN, _UNSETTLED = 0.5, 1.0  # half the width of the limits of an exponent [own choice]
POOLED = "pooled"

_Laws = tuple[LawForUse, LawForUse | None, list[Finding]]


def laws_for_use(law: FittedLaw, tests: Sequence[GrowthTest], found: Sequence[TestedSpecimen]) -> _Laws:
    """Mean law, upper law of several specimens, and what is doubtful about them.

    law : of all specimens that are no tests for the threshold; tests, found: all of them
    """
    pairs = list(zip(tests, found, strict=True))
    shed = [(test, each) for test, each in pairs if each.threshold_mpa_sqrt_mm is not None]
    grown = [(test, each) for test, each in pairs if not test.shedding]
    name = grown[0][1].name if len(grown) == 1 else POOLED
    rates = np.concatenate([each.delta_k_mpa_sqrt_mm[each.rate_mm_per_cycle > 0.0] for _, each in grown])
    growth_from = min(float(each.delta_k_mpa_sqrt_mm[each.rate_mm_per_cycle > 0.0].min()) for each in found)
    ratios = [test.specimen.load_ratio for test, _ in grown]
    lowest = min(shed, key=lambda pair: pair[1].threshold_mpa_sqrt_mm or 0.0, default=None)

    def tested(statistic: Literal["mean", "upper"], threshold_ratio: float | None) -> RatesTested:
        return RatesTested(
            name=f"{name}/{statistic}",
            statistic=statistic,
            specimens=len(grown),
            rates_used=law.rates_used,
            lowest_delta_k_mpa_sqrt_mm=float(rates.min()),
            highest_delta_k_mpa_sqrt_mm=float(rates.max()),
            growth_from_mpa_sqrt_mm=growth_from,
            lowest_load_ratio=min(ratios),
            highest_load_ratio=max(ratios),
            threshold_load_ratio=threshold_ratio,
        )

    threshold = None if lowest is None else min(float(lowest[1].threshold_mpa_sqrt_mm or 0.0), growth_from)
    ratio = None if lowest is None else lowest[0].specimen.load_ratio
    mean = _law(law.coefficient, law.exponent, threshold, tested("mean", ratio))
    upper = None
    if law.upper_coefficient is not None:
        upper = _law(law.upper_coefficient, law.exponent, None, tested("upper", None))
    told = [*_width_findings(name, law), *([] if upper else [_no_upper(name)])]
    if lowest is not None and threshold is not None:
        told.append(_threshold_finding(lowest, len(shed), threshold))
    return mean, upper, told


def _law(coefficient: float, exponent: float, threshold: float | None, tested: RatesTested) -> LawForUse:
    stage = Stage(coefficient=coefficient, exponent=exponent)
    return LawForUse(stages=(stage,), units="mm-MPa", threshold_mpa_sqrt_mm=threshold, tested=tested)


def _no_upper(name: str) -> Finding:
    text = (
        f"{name} is one specimen, which says nothing of the scatter between specimens: there is no upper law, and every"
        " second specimen grows faster than the mean one; test more specimens"
    )
    return caution("no-upper-law", text, field="upper_law")


def _threshold_finding(lowest: tuple[GrowthTest, TestedSpecimen], specimens: int, used: float) -> Finding:
    test, each = lowest
    given = each.threshold_mpa_sqrt_mm or 0.0
    text = (
        f"a threshold of {figure(given)} MPa√mm, the lowest of {specimens} specimen(s), of {each.name} at load"
        f" ratio {as_given(test.specimen.load_ratio)}, up to which it holds"
    )
    if used < given:
        text += f"; cracks grew at {figure(used)} already, which the mean law takes in its place"
    text += "; the upper law has none"
    return caution("threshold-in-mean-law", text, field="threshold_mpa_sqrt_mm")


def _width_findings(name: str, law: FittedLaw) -> list[Finding]:
    found = few_rates(name, law.rates_used)
    width = 0.5 * (law.exponent_high - law.exponent_low)
    text = (
        f"the exponent {figure(law.exponent)} lies between {figure(law.exponent_low)} and {figure(law.exponent_high)}:"
        " away from the pivot the rates are little known; test over wider ranges"
    )
    if width > _UNSETTLED:
        found.append(outside("exponent-unsettled", text, field="exponent"))
    elif width > _UNCERTAIN:
        found.append(caution("exponent-uncertain", text, field="exponent"))
    return found
