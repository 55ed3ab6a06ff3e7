"""Inspection of growing cracks: detection curves, interval, chance that a crack is missed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from fatcore.errors import InputError, UnknownError
from fatcore.findings import caution, note
from fatcore.outcome import Outcome, evidence
from fatcore.require import FloatArray, finite, one_length, positive
from fatcore.tables import load

__all__ = ["DetectionCurve", "InspectionOutcome", "detection_curves", "named_detection", "plan"]

_TABLE = "cracks/detection"


@dataclass(frozen=True, slots=True, kw_only=True)
class DetectionCurve:
    """Probability of detection 1 - 1 / (1 + (x / median)^exponent) over the crack size x.

    median_mm : size that is found every second time; size : depth or length (the whole surface length)
    """

    median_mm: float
    exponent: float
    size: str = "depth"
    name: str = "own curve"

    def __post_init__(self) -> None:
        positive("median_mm", self.median_mm)
        positive("exponent", self.exponent)
        if self.size not in ("depth", "length"):
            raise InputError("a detection curve goes by depth or length", "size")

    def probability(self, size_mm: ArrayLike) -> FloatArray:
        """Probability of detection [-] at a size [mm], scalar or array, >= 0.

        >>> float(DetectionCurve(median_mm=2.0, exponent=0.9).probability(2.0))
        0.5
        """
        power = (np.maximum(finite("size_mm", size_mm), 0.0) / self.median_mm) ** self.exponent
        return np.asarray(power / (1.0 + power))

    def size_mm(self, probability: float) -> float:
        """Size that is found with a probability between 0 and 1."""
        if not 0.0 < probability < 1.0:
            raise InputError("detection_probability must lie between 0 and 1", "detection_probability")
        return float(self.median_mm * (probability / (1.0 - probability)) ** (1.0 / self.exponent))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class InspectionOutcome(Outcome):
    """Inspection interval of a growing crack.

    detectable_mm           : size that counts as detectable
    detectable_cycles       : life at which the crack is that large
    critical_cycles         : life at its critical size
    interval_cycles         : time between the two over the number of chances
    inspection_cycles       : times of the inspections, the first one interval after detectable
    detection_probability   : of the crack at each inspection (None without a curve)
    missed_probability      : that all inspections miss it (None without a curve)
    """

    detectable_mm: float
    detectable_cycles: float
    critical_cycles: float
    interval_cycles: float
    inspection_cycles: FloatArray
    inspection_size_mm: FloatArray
    detection_probability: FloatArray | None
    missed_probability: float | None


def detection_curves() -> dict[str, str]:
    """Names and titles of the published detection curves."""
    return {name: str(entry["title"]) for name, entry in sorted(load(_TABLE)["curves"].items())}


def named_detection(name: str) -> DetectionCurve:
    """A published detection curve; UnknownError for another name.

    Source : [dnv-rp-c210]
    """
    curves = load(_TABLE)["curves"]
    if name not in curves:
        raise UnknownError("detection curve", name, curves, "curve")
    entry = curves[name]
    return DetectionCurve(
        median_mm=entry["median_mm"], exponent=entry["exponent"], size=entry["size"], name=name
    )


def plan(
    elapsed_cycles: Sequence[float] | ArrayLike,
    size_mm: Sequence[float] | ArrayLike,
    *,
    chances: int = 2,
    detectable_mm: float | None = None,
    detection_probability: float = 0.5,
    curve: DetectionCurve | None = None,
) -> InspectionOutcome:
    """Interval that leaves a number of chances to find a crack between detectable and critical size.

    elapsed_cycles, size_mm : history of a crack, ascending; its last row is the critical size
    chances                 : inspections between detectable and critical, 1 to 100
    detectable_mm           : smallest size counted as found; None takes it from the curve at
                              detection_probability
    curve                   : detection curve, in the size (depth or length) of `size_mm`
    Raises                  : InputError for a history that does not ascend or never is detectable
    Source                  : [inspection-chances], curve [dnv-rp-c210]
    """
    cycles, sizes = _history(elapsed_cycles, size_mm)
    if not 1 <= chances <= 100:
        raise InputError("chances must lie in [1, 100]", "chances")
    detectable = _detectable(detectable_mm, curve, detection_probability)
    if detectable >= sizes[-1]:
        raise InputError("the crack is critical before it is detectable", "detectable_mm")
    at_detectable = float(np.interp(detectable, sizes, cycles))
    interval = (float(cycles[-1]) - at_detectable) / chances
    times = np.asarray(at_detectable + interval * np.arange(1.0, chances + 1.0), dtype=np.float64)
    times[-1] = np.nextafter(cycles[-1], 0.0)
    at_times = np.interp(times, cycles, sizes)
    chance = None if curve is None else curve.probability(at_times)
    findings = [note("last-chance", "the last inspection falls just before the critical size")]
    if chances == 1:
        message = "one chance only: a crack missed once runs to its critical size"
        findings.append(caution("one-chance", message, field="chances"))
    if detectable < sizes[0]:
        message = "the first crack is larger than detectable: counted from its start"
        findings.append(note("detectable-from-start", message, field="detectable_mm"))
    if chance is not None:
        message = "the inspections are taken as independent of each other"
        findings.append(note("independent-inspections", message, field="missed_probability"))
    published = curve is not None and curve.name != "own curve"
    return InspectionOutcome(
        detectable_mm=detectable,
        detectable_cycles=at_detectable,
        critical_cycles=float(cycles[-1]),
        interval_cycles=interval,
        inspection_cycles=times,
        inspection_size_mm=at_times,
        detection_probability=chance,
        missed_probability=None if chance is None else float(np.prod(1.0 - chance)),
        **evidence(
            findings=findings,
            sources=["inspection-chances", *(["dnv-rp-c210"] if published else [])],
            tables=[_TABLE] if published else [],
        ),
    )


def _history(
    elapsed_cycles: Sequence[float] | ArrayLike, size_mm: Sequence[float] | ArrayLike
) -> tuple[FloatArray, FloatArray]:
    cycles, sizes = finite("elapsed_cycles", elapsed_cycles), positive("size_mm", size_mm)
    if one_length(elapsed_cycles=cycles, size_mm=sizes) < 2:
        raise InputError("a history has at least two rows", "elapsed_cycles")
    for name, column in (("elapsed_cycles", cycles), ("size_mm", sizes)):
        wrong = np.flatnonzero(np.diff(column) <= 0.0)
        if wrong.size:
            raise InputError(f"{name} must ascend", name, int(wrong[0]) + 1)
    return cycles, sizes


def _detectable(given_mm: float | None, curve: DetectionCurve | None, probability: float) -> float:
    if given_mm is not None:
        return float(positive("detectable_mm", given_mm))
    if curve is None:
        raise InputError("give the detectable size or a detection curve", "detectable_mm")
    return curve.size_mm(probability)
