"""Staircase tests: the endurance limit and its scatter by levels that follow failure and survival."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Literal

import numpy as np
from annotated_types import Ge, Le, Lt, doc
from numpy.typing import NDArray
from scipy.special import log_ndtr

from fatcore.bounds import Positive, PositiveArray, guarded
from fatcore.errors import InputError
from fatcore.findings import Finding, caution, note, outside
from fatcore.outcome import Outcome, evidence
from fatcore.require import FloatArray, one_length
from fatcore.trials.sn.factors import tolerance_factor

_SCATTER, _SHIFT, _LEAST_DISPERSION, _FALLBACK = 1.62, 0.029, 0.3, 0.53
_ON_LEVEL = 1e-6  # of the step
_FEW = 15  # tests below which the scatter of a staircase says little [common practice]
_Probability = Annotated[float, Ge(0.5), Lt(1.0)]
_Steps = Annotated[int, Le(10_000)]
Event = Literal["failures", "survivals"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StaircaseOutcome(Outcome):
    """Mean and scatter of the strength by both rules.

    mean_mpa, sd_mpa             : by counts of the rarer event; event: which
    dispersion                   : D of the rule; below 0.3 the scatter is 0.53 steps, a fallback
    likely_mean_mpa, likely_sd_mpa : by maximum likelihood of all tests; null where no maximum exists
    lower_limit_mpa              : mean less the tolerance factor of all tests times the scatter, the lower of
                                   both rules
    next_level_mpa               : of the next test
    """

    mean_mpa: float
    sd_mpa: float
    event: Event
    dispersion: float
    likely_mean_mpa: float | None
    likely_sd_mpa: float | None
    lower_limit_mpa: float
    next_level_mpa: float


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
    one_length(test_level_mpa=level, specimen_failed=broke)
    steps = _numbers_of_steps(level, step_mpa)
    if broke.all() or not broke.any():
        raise InputError("every test has the same outcome: a staircase needs failures and survivals", "specimen_failed")
    event, mean, dispersion = _rarer(steps, broke)
    scatter = _SCATTER * (dispersion + _SHIFT) if dispersion > _LEAST_DISPERSION else _FALLBACK
    lowest = float(level.min())
    mean_mpa, sd_mpa = lowest + step_mpa * mean, step_mpa * scatter
    likely = _probit(level, broke)
    factor = tolerance_factor(len(level) - 1, 1.0 / len(level), survival_probability, confidence)
    limits = [mean_mpa - factor * sd_mpa, *([] if likely is None else [likely[0] - factor * likely[1]])]
    return StaircaseOutcome(
        mean_mpa=mean_mpa,
        sd_mpa=sd_mpa,
        event=event,
        dispersion=dispersion,
        likely_mean_mpa=None if likely is None else likely[0],
        likely_sd_mpa=None if likely is None else likely[1],
        lower_limit_mpa=min(limits),
        next_level_mpa=float(level[-1]) + (-step_mpa if broke[-1] else step_mpa),
        **evidence(
            findings=_findings(steps, broke, dispersion, likely, min(limits)),
            sources=["dixon-mood-1948", "iso-12107-2012", "location-scale-likelihood"],
        ),
    )


def _numbers_of_steps(level: FloatArray, step_mpa: float) -> NDArray[np.int64]:
    """Each level in steps above the lowest one."""
    number = (level - level.min()) / step_mpa
    whole = np.rint(number)
    if (np.abs(number - whole) > _ON_LEVEL * np.maximum(whole, 1.0)).any():
        raise InputError("the levels do not lie whole steps apart", "test_level_mpa")
    return np.asarray(whole, dtype=np.int64)


def _rarer(steps: NDArray[np.int64], failed: NDArray[np.bool_]) -> tuple[Event, float, float]:
    """The rarer event, the mean in steps above the lowest level, the dispersion; of two alike the lower mean."""
    count = int(failed.sum())
    kinds: list[tuple[Event, NDArray[np.bool_], float]] = [("failures", failed, -0.5), ("survivals", ~failed, 0.5)]
    wanted = [kind for kind in kinds if kind[1].sum() == min(count, len(failed) - count)]
    found = [(name, *_moments(steps[where], shift)) for name, where, shift in wanted]
    return min(found, key=lambda each: each[1])


def _moments(steps: NDArray[np.int64], shift: float) -> tuple[float, float]:
    above = steps - steps.min()
    total, first, second = len(above), float(above.sum()), float(np.square(above).sum())
    return float(steps.min()) + first / total + shift, (second * total - first * first) / total**2


def _probit(level: FloatArray, failed: NDArray[np.bool_]) -> tuple[float, float] | None:
    """Mean and deviation of greatest likelihood; None where failures and survivals do not overlap."""
    if level[failed].min() >= level[~failed].max():
        return None
    middle, scale = float(level.mean()), float(np.ptp(level))
    x = np.column_stack([np.ones_like(level), (level - middle) / scale])
    sign = np.where(failed, 1.0, -1.0)
    theta = np.zeros(2)
    for _ in range(100):
        z = sign * (x @ theta)
        ratio = np.exp(-0.5 * z * z - 0.5 * math.log(2.0 * math.pi) - log_ndtr(z))
        gradient = x.T @ (sign * ratio)
        curvature = (x * (ratio * (z + ratio))[:, np.newaxis]).T @ x
        step = np.linalg.solve(curvature, gradient)
        theta = theta + step
        if float(np.abs(step).max()) < 1e-12 * (1.0 + float(np.abs(theta).max())):
            break
    if theta[1] <= 0.0:
        return None
    return middle - scale * float(theta[0] / theta[1]), scale / float(theta[1])


def _findings(
    steps: NDArray[np.int64],
    failed: NDArray[np.bool_],
    dispersion: float,
    likely: tuple[float, float] | None,
    limit_mpa: float,
) -> list[Finding]:
    found = []
    follows = np.diff(steps) == np.where(failed[:-1], -1, 1)
    if not follows.all():
        place = int(np.argmin(follows)) + 1
        text = (
            f"test {place} (counted from 0) is not one step below a failure or above a survival: no staircase, on which"
            " both rules rest"
        )
        found.append(outside("staircase-broken", text, field="test_level_mpa"))
    if dispersion <= _LEAST_DISPERSION:
        text = (
            f"the dispersion is {dispersion:.3g}, not above {_LEAST_DISPERSION:g}: the scatter"
            f" is {_FALLBACK:g} steps by practice, not measured"
        )
        found.append(caution("staircase-scatter-assumed", text, field="sd_mpa", source="dixon-mood-1948"))
    if likely is None:
        text = "failures and survivals do not overlap: no maximum of the likelihood exists"
        found.append(note("staircase-no-maximum", text, field="likely_sd_mpa"))
    if len(steps) < _FEW:
        text = f"{len(steps)} tests: the scatter of a staircase of fewer than {_FEW} says little"
        found.append(caution("staircase-few-tests", text, field="test_level_mpa"))
    if limit_mpa <= 0.0:
        text = f"the lower limit is {limit_mpa:.4g} MPa: no strength at this survival and confidence"
        found.append(outside("staircase-no-strength", text, field="lower_limit_mpa"))
    return found
