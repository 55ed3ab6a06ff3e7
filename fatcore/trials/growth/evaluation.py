"""Growth tests evaluated: rates, ranges, laws with their bounds, specimens pooled."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated

import numpy as np
from annotated_types import Len

from fatcore.bounds import guarded
from fatcore.errors import InputError, at
from fatcore.figures import against, as_given, figure
from fatcore.findings import Finding, caution, outside
from fatcore.outcome import evidence
from fatcore.require import FloatArray
from fatcore.trials.growth.alike import alike_findings
from fatcore.trials.growth.doubts import held_loads, law_doubts, load_step_findings
from fatcore.trials.growth.for_use import POOLED, laws_for_use
from fatcore.trials.growth.law import (
    REACHED,
    THRESHOLD_RATE,
    Confidence,
    LineThroughRates,
    TwoLines,
    line_through,
    threshold_of,
    two_lines,
)
from fatcore.trials.growth.outcome import (
    FittedLaw,
    GrowthRateOutcome,
    GrowthTest,
    TestedSpecimen,
    TwoStageLaw,
)
from fatcore.trials.growth.pooled import SIGNIFICANT, pool
from fatcore.trials.growth.rate import OVERLAP, Reduction, growth_rates
from fatcore.trials.growth.specimen import guard_sizes_within, intensities_at, validity_findings

_SHEDDING_LIMIT = -0.08  # 1/K dK/da [1/mm], below which memory of larger loads lowers the rates [astm-e647]
_MEASURED = 0.05  # of that limit, by which the gradient between two readings of a test at it may be off [own choice]
_SPECIMENS, _READINGS = 200, 200_000


@guarded
def evaluate_growth(
    tests: Annotated[Sequence[GrowthTest], Len(1, _SPECIMENS)],
    *,
    reduction: Reduction,
    confidence: Confidence,
) -> GrowthRateOutcome:
    """Rates of growth tests, the laws through them, and what several specimens say together.

    reduction  : secant or seven-point, the same for all specimens
    confidence : of the limits, both sides
    Raises     : InputError with the path of the specimen at fault
    Source     : [astm-e647], [astm-e739-10], [linear-models]
    """
    names = [test.name for test in tests]
    if len(set(names)) != len(names):
        twice = next(place for place, name in enumerate(names) if name in names[:place])
        raise InputError(f"two specimens are called {names[twice]!r}", "tests", twice, "name")
    if POOLED in names:
        raise InputError(f"{POOLED!r} is what the specimens together are called", "tests", names.index(POOLED), "name")
    _guard_copies(tests)
    readings = sum(len(test.size_mm) for test in tests)
    if readings > _READINGS:
        raise InputError(f"{readings} readings in all tests, more than {_READINGS}", "tests")
    found = []
    for place, test in enumerate(tests):
        with at("tests", place):
            found.append(_one(test, reduction, confidence))
    grown = [each for each, test in zip(found, tests, strict=True) if not test.shedding]
    pooled, told = pool(grown, confidence, OVERLAP[reduction])
    law = pooled.law if pooled else (grown[0].law if grown else None)
    thresholds = [each.threshold_mpa_sqrt_mm for each in found if each.threshold_mpa_sqrt_mm is not None]
    lowest = min(thresholds, default=None)
    mean, upper, in_use = (None, None, []) if law is None else laws_for_use(law, tests, found)
    return GrowthRateOutcome(
        specimens=tuple(found),
        pooled=pooled,
        mean_law=mean,
        upper_law=upper,
        threshold_mpa_sqrt_mm=lowest,
        **evidence(
            *found,
            findings=[*told, *_ratios_told(tests), *alike_findings(tests, found), *in_use],
            sources=["astm-e739-10", "linear-models"],
        ),
    )


def _guard_copies(tests: Sequence[GrowthTest]) -> None:
    """Readings of one specimen under two names would count as two specimens."""
    seen: dict[tuple[bytes, bytes], str] = {}
    for place, test in enumerate(tests):
        key = (
            np.asarray(test.size_mm, dtype=np.float64).tobytes(),
            np.asarray(test.cycles, dtype=np.float64).tobytes(),
        )
        if key in seen:
            text = f"{test.name!r} has exactly the readings of {seen[key]!r}: one specimen under two names"
            raise InputError(text, "tests", place, "size_mm")
        seen[key] = test.name


def _one(test: GrowthTest, reduction: Reduction, confidence: float) -> TestedSpecimen:
    size = np.asarray(test.size_mm, dtype=np.float64)
    rates = growth_rates(size, test.cycles, reduction)
    with at("specimen"):
        factor = test.specimen.factor_at(rates.reading, len(size))
    driven = intensities_at(test.specimen, rates.size_mm, factor)
    guard_sizes_within(test.specimen, size)
    held = held_loads(test.specimen.load_factor, rates.reading, reduction)
    if not held.any():
        raise InputError("the loads step between all readings: no rate belongs to one load", "specimen", "load_factor")
    grew = rates.rate_mm_per_cycle > 0.0
    told = [
        *driven.findings,
        *validity_findings(test.specimen, size, rates.size_mm, driven.k_max_mpa_sqrt_mm, factor),
    ]
    if not grew.all():
        text = (
            f"{int((~grew).sum())} of {grew.size} rate(s) are zero or negative and left out of"
            " the law: it may lie too high at low ranges"
        )
        told.append(caution("rates-left-out", text, field="rate_mm_per_cycle"))
    told += [*_course(test, rates.size_mm, driven.k_max_mpa_sqrt_mm), *load_step_findings(held)]
    used = grew & held
    delta_k, rate = driven.delta_k_mpa_sqrt_mm[used], rates.rate_mm_per_cycle[used]
    law, stages, threshold = None, None, None
    if test.shedding:
        threshold = threshold_of(delta_k, rate)
        told += _threshold_told(rate)
    else:
        law = _law(line_through(delta_k, rate, confidence, OVERLAP[reduction]))
        stages = two_lines(delta_k, rate, OVERLAP[reduction])
        told += [*_two_told(stages), *law_doubts(law.coefficient, law.exponent)]
    return TestedSpecimen(
        name=test.name,
        rate_size_mm=rates.size_mm[held],
        rate_cycles=rates.cycles[held],
        rate_mm_per_cycle=rates.rate_mm_per_cycle[held],
        delta_k_mpa_sqrt_mm=driven.delta_k_mpa_sqrt_mm[held],
        k_max_mpa_sqrt_mm=driven.k_max_mpa_sqrt_mm[held],
        law=law,
        two_stages=None if stages is None else TwoStageLaw(**stages._asdict()),
        threshold_mpa_sqrt_mm=threshold,
        **evidence(
            findings=[finding.of_line(test.name) for finding in told], sources=driven.sources, tables=driven.tables
        ),
    )


def _law(line: LineThroughRates) -> FittedLaw:
    return FittedLaw(
        coefficient=line.coefficient,
        exponent=line.exponent,
        exponent_low=line.exponent_low,
        exponent_high=line.exponent_high,
        upper_coefficient=None,
        sd_log10_rate=line.sd_log10_rate,
        rates_used=line.rates_used,
        pivot_mpa_sqrt_mm=line.pivot_mpa_sqrt_mm,
        pivot_rate_mm_per_cycle=line.pivot_rate,
        pivot_low_mm_per_cycle=line.pivot_low,
        pivot_high_mm_per_cycle=line.pivot_high,
    )


def _course(test: GrowthTest, size: FloatArray, k_max: FloatArray) -> list[Finding]:
    """How the intensity runs over the crack, which a test for the threshold must let fall slowly."""
    if len(size) < 2:
        return []
    steps = np.diff(size)
    with np.errstate(divide="ignore", invalid="ignore"):
        gradient = np.where(steps != 0.0, np.diff(np.log(k_max)) / steps, 0.0)
    falls = float(k_max[-1]) < float(k_max[0])
    if test.shedding and not falls:
        text = "the test is said to shed its loads, but the stress intensity does not fall: no threshold follows"
        raise InputError(text, "shedding")
    if test.shedding and gradient.min() < _SHEDDING_LIMIT * (1.0 + _MEASURED):
        text = (
            f"the stress intensity falls by {against(gradient.min(), _SHEDDING_LIMIT)} of itself a mm, faster than "
            f"{as_given(_SHEDDING_LIMIT)}:"
            " memory of larger loads makes the threshold too high"
        )
        return [outside("shed-too-fast", text, field="load_factor", source="astm-e647")]
    if not test.shedding and (gradient < _SHEDDING_LIMIT * (1.0 + _MEASURED)).any():
        text = "the stress intensity falls quickly along the crack: memory of larger loads makes the rates too low"
        return [outside("shed-too-fast", text, field="load_factor", source="astm-e647")]
    return []


def _threshold_told(rate: FloatArray) -> list[Finding]:
    lowest = float(rate.min())
    if lowest <= REACHED * THRESHOLD_RATE:
        return []
    text = f"the lowest rate is {figure(lowest)} mm/cycle: the range at {as_given(THRESHOLD_RATE)} is extrapolated"
    return [outside("threshold-extrapolated", text, field="threshold_mpa_sqrt_mm", source="astm-e647")]


def _two_told(stages: TwoLines | None) -> list[Finding]:
    if stages is None or stages.chance >= SIGNIFICANT:
        return []
    text = (
        f"two lines that meet at {figure(stages.knee_mpa_sqrt_mm)} MPa√mm describe the rates"
        f" better than one (probability {figure(stages.chance)}): one law lies too low somewhere"
    )
    return [caution("two-stages-better", text, field="two_stages")]


def _ratios_told(tests: Sequence[GrowthTest]) -> list[Finding]:
    ratios = sorted({test.specimen.load_ratio for test in tests})
    if len(ratios) < 2:
        return []
    text = (
        f"specimens at load ratios {', '.join(f'{as_given(ratio)}' for ratio in ratios)} are together in"
        " one law: rates and thresholds depend on it"
    )
    return [caution("load-ratios-mixed", text, field="load_ratio", source="astm-e647")]
