"""Staircase tests: the endurance limit and its scatter by levels that follow failure and survival."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal, NamedTuple

import numpy as np
from annotated_types import Ge, Lt, doc
from numpy.typing import NDArray

from fatcore.bounds import Positive, PositiveArray, guarded
from fatcore.errors import InputError
from fatcore.figures import against, as_given, figure
from fatcore.findings import Finding, caution, note, outside
from fatcore.outcome import Outcome, evidence
from fatcore.require import FloatArray, one_length
from fatcore.trials.sn.factors import tolerance_factor
from fatcore.trials.sn.shares import share_findings
from fatcore.trials.strength import likely_limit, likely_strength

_SCATTER, _SHIFT, _LEAST_DISPERSION, _FALLBACK = 1.62, 0.029, 0.3, 0.53
_ON_LEVEL = 1e-6  # of the step
_FINE = 2.5  # deviations in steps, above which simulated limits hold less often than asked for [own choice]
_FEW = 15  # tests below which the scatter of a staircase says little [common practice]
_Probability = Annotated[float, Ge(0.5), Lt(1.0)]
_MOST_TESTS = 10_000
_MOST_STEPS = 1000
Event = Literal["failures", "survivals"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StaircaseOutcome(Outcome):
    """Mean and scatter of the strength by both rules.

    mean_mpa, sd_mpa             : by counts of the rarer event; event: which
    dispersion                   : D of the rule; below 0.3 the scatter is 0.53 steps, a fallback
    likely_mean_mpa, likely_sd_mpa : by maximum likelihood of all tests; null where no maximum exists
    counted_limit_mpa            : mean less the tolerance factor of all tests times the scatter, by counts
    likely_limit_mpa             : by the likelihood; null where no maximum exists or nothing is said of the scatter
    lower_limit_mpa              : the lower one of both limits
    next_level_mpa               : of the next test; null where it would lie at or below zero
    """

    mean_mpa: float
    sd_mpa: float
    event: Event
    dispersion: float
    likely_mean_mpa: float | None
    likely_sd_mpa: float | None
    counted_limit_mpa: float
    likely_limit_mpa: float | None
    lower_limit_mpa: float
    next_level_mpa: float | None


@guarded
def evaluate_staircase(
    test_level_mpa: PositiveArray,
    specimen_failed: Annotated[NDArray[np.bool_], doc("whether each specimen failed, in the order of testing")],
    step_mpa: Positive,
    *,
    survival_probability: _Probability,
    confidence: _Probability,
) -> StaircaseOutcome:
    """Mean, scatter and lower limit of the strength at the life to which the tests ran.

    test_level_mpa : stress of each test in order, (n,); levels a whole number of steps apart
    Raises    : InputError for levels off the steps, tests of one outcome only
    Source    : [dixon-mood-1948], [iso-12107-2012], [location-scale-likelihood]
    """
    level, broke = np.asarray(test_level_mpa, dtype=np.float64), np.asarray(specimen_failed, dtype=np.bool_)
    size = one_length(test_level_mpa=level, specimen_failed=broke)
    if size > _MOST_TESTS:
        raise InputError(f"a staircase has {_MOST_TESTS} tests at the most, here are {size}", "test_level_mpa")
    steps = _numbers_of_steps(level, step_mpa)
    if broke.all() or not broke.any():
        raise InputError("every test has the same outcome: a staircase needs failures and survivals", "specimen_failed")
    factor = tolerance_factor(len(level) - 1, 1.0 / len(level), survival_probability, confidence)
    # of two events that are as rare the one with the lower limit
    counted = min(_counted(steps, broke), key=lambda each: each.mean - factor * each.scatter)
    mean_mpa, sd_mpa = float(level.min()) + step_mpa * counted.mean, step_mpa * counted.scatter
    likely = likely_strength(level, broke)
    careful = None if likely is None else likely_limit(level, likely, survival_probability, confidence)
    following = float(level[-1]) + (-step_mpa if broke[-1] else step_mpa)
    simple = mean_mpa - factor * sd_mpa
    lower = simple if careful is None else min(simple, careful)
    return StaircaseOutcome(
        mean_mpa=mean_mpa,
        sd_mpa=sd_mpa,
        event=counted.event,
        dispersion=counted.dispersion,
        likely_mean_mpa=None if likely is None else likely.mean,
        likely_sd_mpa=None if likely is None else likely.sd,
        counted_limit_mpa=simple,
        likely_limit_mpa=careful,
        lower_limit_mpa=lower,
        next_level_mpa=following if following > 0.0 else None,
        **evidence(
            findings=[
                *share_findings(survival_probability),
                *_findings(steps, broke, counted.dispersion, lower),
                *_limit_findings(exists=likely is not None, known=careful is not None),
                *([] if likely is None else _step_findings(likely.sd / step_mpa)),
            ],
            sources=["dixon-mood-1948", "iso-12107-2012", "location-scale-likelihood"],
        ),
    )


def _numbers_of_steps(level: FloatArray, step_mpa: float) -> NDArray[np.int64]:
    """Each level in steps above the lowest one."""
    number = (level - level.min()) / step_mpa
    whole = np.rint(number)
    if whole.max() > _MOST_STEPS:
        raise InputError(f"the levels lie more than {_MOST_STEPS} steps apart", "step_mpa")
    if (np.abs(number - whole) > _ON_LEVEL * np.maximum(whole, 1.0)).any():
        raise InputError("the levels do not lie whole steps apart", "test_level_mpa")
    return np.asarray(whole, dtype=np.int64)


class _Counted(NamedTuple):
    """The rule by counts of one event: mean and scatter in steps, the mean above the lowest level."""

    event: Event
    mean: float
    dispersion: float
    scatter: float


def _counted(steps: NDArray[np.int64], failed: NDArray[np.bool_]) -> list[_Counted]:
    """By the rarer event, by both where they are as rare."""
    failures = int(failed.sum())
    rarer = min(failures, len(failed) - failures)
    kinds: list[tuple[Event, NDArray[np.bool_], float]] = [("failures", failed, -0.5), ("survivals", ~failed, 0.5)]
    return [_moments(name, steps[where], shift) for name, where, shift in kinds if where.sum() == rarer]


def _moments(event: Event, steps: NDArray[np.int64], shift: float) -> _Counted:
    above = steps - steps.min()
    total, first, second = len(above), float(above.sum()), float(np.square(above).sum())
    dispersion = (second * total - first * first) / total**2
    scatter = _SCATTER * (dispersion + _SHIFT) if dispersion > _LEAST_DISPERSION else _FALLBACK
    return _Counted(event, float(steps.min()) + first / total + shift, dispersion, scatter)


def _findings(
    steps: NDArray[np.int64],
    failed: NDArray[np.bool_],
    dispersion: float,
    limit_mpa: float,
) -> list[Finding]:
    found = []
    follows = np.diff(steps) == np.where(failed[:-1], -1, 1)
    if not follows.all():
        place = int(np.argmin(follows)) + 1
        text = (
            f"test {place + 1} (counted from 1) is not one step below a failure or above a survival: no staircase, on"
            " which both rules rest"
        )
        found.append(outside("staircase-broken", text, field="test_level_mpa"))
    if dispersion <= _LEAST_DISPERSION:
        text = (
            f"the dispersion is {against(dispersion, _LEAST_DISPERSION)}, not above "
            f"{as_given(_LEAST_DISPERSION)}: the scatter"
            f" is {as_given(_FALLBACK)} steps by practice, not measured"
        )
        found.append(caution("staircase-scatter-assumed", text, field="sd_mpa", source="dixon-mood-1948"))
    if len(steps) < _FEW:
        text = f"{len(steps)} tests: the scatter of a staircase of fewer than {_FEW} says little"
        found.append(caution("staircase-few-tests", text, field="test_level_mpa"))
    if limit_mpa <= 0.0:
        text = f"the lower limit is {figure(limit_mpa)} MPa: no strength at this survival and confidence"
        found.append(outside("staircase-no-strength", text, field="lower_limit_mpa"))
    return found


def _step_findings(deviations: float) -> list[Finding]:
    """deviations : standard deviation of greatest likelihood in steps."""
    if deviations <= _FINE:
        return []
    text = (
        f"the scatter is {against(deviations, _FINE)} steps, more than {as_given(_FINE)}: with steps so small the lower"
        " limit holds less often than asked for"
    )
    return [caution("staircase-step-small", text, field="step_mpa")]


def _limit_findings(*, exists: bool, known: bool) -> list[Finding]:
    """How far the lower limit can be relied on; exists: a maximum of the likelihood, known: a limit by it."""
    found = []
    if not exists:
        text = "failures and survivals do not overlap, or failures are not more frequent at higher levels: no maximum"
        found.append(note("staircase-no-maximum", text, field="likely_sd_mpa"))
    if known:
        text = (
            "with steps up to one deviation the limit by counts holds in about half of the simulated staircases where"
            " 90 % are asked for, the one by likelihood in 88 to 100 % with steps from a third of a deviation: the"
            " lower one counts"
        )
        found.append(note("staircase-limits-compared", text, field="lower_limit_mpa"))
    else:
        text = (
            "the tests do not settle the scatter: the limit rests on the rule by counts alone, which holds in a"
            " quarter of such staircases where 90 % are asked for, unless the step is two deviations or more"
        )
        found.append(outside("staircase-limit-unsure", text, field="lower_limit_mpa"))
    return found
