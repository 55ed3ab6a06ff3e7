"""Inspection of growing cracks: interval, and the chance that all inspections miss a crack."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import numpy as np
from annotated_types import Ge, Le, Len, doc
from numpy.typing import ArrayLike

from fatcore.bounds import LARGEST, SMALLEST, Positive, Probability, guarded
from fatcore.cracks.growth._plan_findings import ends_early, history_findings, plan_findings, row_findings
from fatcore.cracks.growth.detection import TABLE, USER_DEFINED, DetectionCurve, SizeWord, named_detection
from fatcore.cracks.growth.history import History
from fatcore.errors import InputError
from fatcore.outcome import Outcome, evidence
from fatcore.require import FloatArray, one_length

Rising = Annotated[ArrayLike, Ge(0.0), Le(LARGEST), Len(2, 1_000_000)]
RisingSizes = Annotated[ArrayLike, Ge(SMALLEST), Le(LARGEST), Len(2, 1_000_000)]
HISTORY = "history of a growth answer, in place of elapsed_cycles and crack_size_mm"
SIZE_KIND = "what the sizes are, length is the whole surface length; needed with a published curve or a history"
COUNTS_AS_FOUND = "of the curve, at which a crack counts as detectable"
CURVE = "name of a published detection curve, or an own one, in the size of crack_size_mm"
PHASES = 1000  # even phases of the schedule in the mean


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class InspectionOutcome(Outcome):
    """Inspection interval of a growing crack.

    detectable_mm           : size that counts as detectable
    detectable_cycles       : life at which the crack is that large
    critical_cycles         : life at its critical size
    interval_cycles         : time between the two over the number of inspections
    inspection_cycles       : times of the inspections in the worst phase of the schedule: the first as the
                              crack becomes detectable, the last a whole interval before it is critical
    detection_probability   : of the crack at each of them (None without a curve)
    worst_missed_probability, mean_missed_probability : that all inspections between detectable and critical
                              miss it, in the worst phase and as mean over the phase (None without a curve)
    """

    detectable_mm: float
    detectable_cycles: float
    critical_cycles: float
    interval_cycles: float
    inspection_cycles: FloatArray
    inspection_size_mm: FloatArray
    detection_probability: FloatArray | None
    worst_missed_probability: float | None
    mean_missed_probability: float | None


@guarded
def plan_inspections(
    elapsed_cycles: Rising | None = None,
    crack_size_mm: RisingSizes | None = None,
    *,
    history: Annotated[History | None, doc(HISTORY)] = None,
    inspections: Annotated[int, Ge(1), Le(100)] = 2,
    detectable_mm: Positive | None = None,
    detection_probability: Annotated[Probability | None, doc(COUNTS_AS_FOUND)] = None,
    curve: Annotated[DetectionCurve | str | None, doc(CURVE)] = None,
    size_kind: Annotated[SizeWord | None, doc(SIZE_KIND)] = None,
) -> InspectionOutcome:
    """Interval that leaves a number of inspections to find a crack between detectable and critical size.

    elapsed_cycles, crack_size_mm : history of a crack, neither falling; its last row is the critical size
    history                 : of growth, in place of both
    inspections             : inspections between detectable and critical, in any phase of the schedule
    detectable_mm           : smallest size counted as found; None takes it from the curve at
                              detection_probability
    curve                   : detection curve, or name of a published one, in the size of crack_size_mm
    size_kind               : what crack_size_mm is, depth or length (the whole surface length), or which size of
                              the history counts; needed with a published curve and with a history
    Raises                  : InputError for a history that falls or never is detectable, a size of the wrong
                              kind, a probability that nothing uses
    Source                  : [inspection-count], curve [dnv-rp-c210]
    """
    if isinstance(curve, str):
        curve = named_detection(curve)
    if history is not None:
        if elapsed_cycles is not None or crack_size_mm is not None:
            raise InputError("give a history or columns of your own, not both", "history")
        elapsed_cycles, crack_size_mm = history.elapsed_cycles, _grown_sizes(history, size_kind, curve)
    if elapsed_cycles is None or crack_size_mm is None:
        raise InputError("give a history, or elapsed_cycles with crack_size_mm", "history")
    end_reason = None if history is None else history.end_reason
    cycles, sizes = _rising(elapsed_cycles, crack_size_mm)
    _guard_kind(curve, size_kind)
    detectable = _detectable(detectable_mm, curve, detection_probability)
    if detectable >= sizes[-1]:
        early = f"the history ends ({end_reason}) before the crack is detectable"
        critical = "the crack is critical before it is detectable"
        raise InputError(early if ends_early(end_reason) else critical, "detectable_mm")
    at_detectable = float(np.interp(detectable, sizes, cycles))
    interval = (float(cycles[-1]) - at_detectable) / inspections
    if interval <= 0.0:
        raise InputError("the crack is critical as soon as it is detectable", "detectable_mm")
    times = at_detectable + interval * np.arange(inspections, dtype=np.float64)
    at_times = np.interp(times, cycles, sizes)
    missed = None if curve is None else _missed_probability(curve, cycles, sizes, times, interval)
    first = int(np.searchsorted(sizes, detectable))  # of the rows that are sure to be detectable
    after = (float(cycles[-1]) - float(cycles[first])) / inspections
    at_rows = np.maximum(sizes[np.searchsorted(cycles, times, side="right") - 1], detectable)
    at_most = None if curve is None else float(_missed(curve, at_rows))
    published = curve is not None and curve.name != USER_DEFINED
    return InspectionOutcome(
        detectable_mm=detectable,
        detectable_cycles=at_detectable,
        critical_cycles=float(cycles[-1]),
        interval_cycles=interval,
        inspection_cycles=times,
        inspection_size_mm=at_times,
        detection_probability=None if curve is None else curve.probability(at_times),
        worst_missed_probability=None if missed is None else float(missed[0]),
        mean_missed_probability=None if missed is None else float(missed[1:].mean()),
        **evidence(
            findings=[
                *plan_findings(inspections, curve, detectable < sizes[0]),
                *history_findings(history, float(cycles[-1]) - at_detectable, interval),
                *row_findings(interval, after, None if missed is None else float(missed[0]), at_most),
            ],
            sources=["inspection-count", *(["dnv-rp-c210"] if published else [])],
            tables=[TABLE] if published else [],
        ),
    )


def _missed_probability(
    curve: DetectionCurve, cycles: FloatArray, sizes: FloatArray, times: FloatArray, interval: float
) -> FloatArray:
    """Chance that all inspections miss the crack: in the worst phase, then at even phases of an interval."""
    phases = np.concatenate([[0.0], (np.arange(PHASES) + 0.5) / PHASES])
    at_phases = np.interp(times + interval * phases[:, None], cycles, sizes)
    return _missed(curve, at_phases)


def _missed(curve: DetectionCurve, crack_size_mm: FloatArray) -> FloatArray:
    """Chance that inspections at these sizes all miss the crack: over the last axis."""
    return np.asarray(np.prod(1.0 - curve.probability(crack_size_mm), axis=-1))


def _guard_kind(curve: DetectionCurve | None, size_kind: SizeWord | None) -> None:
    if curve is None or curve.size is None:
        return
    if size_kind is None:
        raise InputError("a published detection curve needs to know what the sizes are", "size_kind")
    if size_kind != curve.size:
        raise InputError(f"the detection curve goes by {curve.size}, the history by {size_kind}", "size_kind")


def _grown_sizes(history: History, wanted: SizeWord | None, curve: DetectionCurve | None) -> FloatArray:
    """Sizes of a growth history, in the kind of size that was asked for."""
    if wanted is None:
        raise InputError("say which size of the history counts: depth or length", "size_kind")
    if len(history.elapsed_cycles) == 1:
        reason = history.end_reason or "no reason given"
        raise InputError(f"the crack does not grow: its history has one row ({reason})", "history")
    if history.size_kind == "buried" and curve is not None:
        raise InputError("no surface shows this crack: detection curves are of cracks that break one", "curve")
    return history.depths_mm() if wanted == "depth" else history.lengths_mm()


def _rising(elapsed_cycles: ArrayLike, crack_size_mm: ArrayLike) -> tuple[FloatArray, FloatArray]:
    cycles, sizes = (np.asarray(column, dtype=np.float64) for column in (elapsed_cycles, crack_size_mm))
    one_length(elapsed_cycles=cycles, crack_size_mm=sizes)
    for name, column in (("elapsed_cycles", cycles), ("crack_size_mm", sizes)):
        wrong = np.flatnonzero(np.diff(column) < 0.0)
        if wrong.size:
            raise InputError(f"{name} must not fall", name, int(wrong[0]) + 1)
    if sizes[-1] == sizes[0]:
        raise InputError("the crack does not grow in this size", "crack_size_mm")
    return cycles, sizes


def _detectable(given_mm: float | None, curve: DetectionCurve | None, probability: float | None) -> float:
    if given_mm is not None:
        if probability is not None:
            message = "give the detectable size or the probability that finds it, not both"
            raise InputError(message, "detection_probability")
        return float(given_mm)
    if curve is None:
        raise InputError("give the detectable size or a detection curve", "detectable_mm")
    if probability is None:
        message = "say at which probability of the curve a crack counts as detectable"
        raise InputError(message, "detection_probability")
    return curve.crack_size_mm(probability)
