"""Stations of one weld line: from peaks or nodal tensors to equivalent stress and governing station."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fatcore.bounds import guarded
from fatcore.errors import InputError
from fatcore.figures import as_given, counted, figure
from fatcore.findings import Finding, caution, note, outside
from fatcore.outcome import Outcome, evidence
from fatcore.require import FloatArray, finite
from fatcore.stress.mean_stress import Condition, mean_stress_coefficient, mean_stress_findings
from fatcore.stress.modes import MODES, Mode
from fatcore.stress.peak.equivalent import equivalent_and_ratio
from fatcore.stress.peak.peak_weights import PeakWeights
from fatcore.stress.weld_lines.frame import NotchFrame, moving_average, notch_frame, peaks_along
from fatcore.stress.weld_lines.symmetric_ends import LINE_ENDS, LineEnd, guard_symmetric_ends, images_beyond

_LEAST_LOOP = 3  # stations: the neighbours of each are two
_DOUBTFUL_DROPPED, _WRONG_DROPPED = 0.5, 1.0  # of the counted range [own choice]
NODE_ABOVE_MEAN, MEAN_LOWERS_PEAK = "node-above-mean", "mean-lowers-peak"
_ABOVE_MEAN = 1.5  # a peak over its mean [own choice]
_LARGE_PEAK = 0.5  # of the largest peak: smaller ones pass through zero [own choice]
_AS_GIVEN = note(
    "directions-as-given",
    "that the bisector halves the notch, into the material, is taken on faith: the stations do not show it",
    field="bisector",
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LineStresses(Outcome):
    """Stresses of the stations of one line.

    peaks_mpa                : ranges of the peaks (n, 3) [MPa], signs kept
    equivalent_stress_mpa    : equivalent peak stress ranges (n,) [MPa]
    biaxiality_ratio         : shear energy over opening energy (n,) [-], 0 where `opening_is_zero`
    opening_is_zero          : stations (n,) whose opening range is zero: no ratio exists
    mean_stress_coefficients : c_w of opening, sliding, tearing (3,) [-]
    governing_index          : station of the largest equivalent stress, the first of equals
    """

    peaks_mpa: FloatArray
    equivalent_stress_mpa: FloatArray
    biaxiality_ratio: FloatArray
    opening_is_zero: np.ndarray[tuple[int], np.dtype[np.bool_]]
    mean_stress_coefficients: FloatArray
    governing_index: int


def evaluate_line(
    weights: PeakWeights,
    peaks_mpa: ArrayLike,
    *,
    condition: Condition = "as-welded",
    load_ratios: Mapping[str, float] | None = None,
) -> LineStresses:
    """Equivalent stress and biaxiality of every station.

    weights     : from `peak_weights`
    peaks_mpa   : ranges of the peaks (n, 3) [MPa]
    condition   : "as-welded" (load ratio without influence) or "stress-relieved"
    load_ratios : minimum over maximum stress of opening, sliding, tearing [-]; needed when stress-relieved
    Returns     : outcome with the findings of the weights
    Raises      : InputError for wrong shapes, an unknown condition, missing load ratios
    Source      : [peak-stress-review-2020], [energy-mean-stress-2004]
    """
    peaks = finite("peaks_mpa", peaks_mpa)
    if peaks.ndim != 2 or peaks.shape[1] != len(MODES) or len(peaks) == 0:
        raise InputError("peaks_mpa must have opening, sliding, tearing and at least one station", "peaks_mpa")
    factors, found = mean_stress_factors(condition, load_ratios, weights.sliding is not None)
    relieved = condition == "stress-relieved"
    equivalent, ratio = equivalent_and_ratio(weights.as_array(), peaks, factors if relieved else None)
    without = ~np.isfinite(ratio)
    governing = int(np.argmax(equivalent))
    return LineStresses(
        peaks_mpa=peaks,
        equivalent_stress_mpa=equivalent,
        biaxiality_ratio=np.where(without, 0.0, ratio),
        opening_is_zero=without,
        mean_stress_coefficients=factors,
        governing_index=governing,
        **evidence(
            weights,
            findings=(*found, *dropped_findings(weights.as_array(), peaks, governing)),
            sources=("energy-mean-stress-2004",) if relieved else (),
        ),
    )


@guarded
def peaks_from_tensors(
    tensors_mpa: ArrayLike,
    tangent: ArrayLike,
    bisector: ArrayLike,
    *,
    closed: bool = False,
    average_over: Literal[1, 3] = 1,
    element: str | None = None,
    judged: ArrayLike | None = None,
    symmetric_ends: Collection[LineEnd] = (),
) -> tuple[FloatArray, tuple[Finding, ...]]:
    """Peaks of a line of corner nodes, smoothed, with the findings on frame and smoothing.

    tensors_mpa       : nodal stresses (n, 6) [MPa], order xx, yy, zz, xy, yz, zx, in order along the line
    tangent, bisector : directions (n, 3) [-]
    closed            : the line is a loop
    average_over      : 1 leaves the peaks as they are, 3 is the mean over three adjacent nodes
    element           : element type; the constants of tetrahedra were found with the mean over three
    judged            : stations that are compared with their mean (n,), None all
    symmetric_ends    : start, end: ends on a plane of symmetry, where the mean takes the mirror image
    Returns           : peaks (n, 3) [MPa] and findings
    Raises            : InputError as `peaks_along` and `moving_average`
    Source            : [peak-stress-3d-tetrahedra-2018]
    """
    tensors, frame = np.asarray(tensors_mpa, dtype=np.float64), notch_frame(tangent, bisector)
    peaks, found = peaks_of_cases(
        tensors[np.newaxis],
        frame,
        closed=closed,
        average_over=average_over,
        element=element,
        judged=judged,
        symmetric_ends=symmetric_ends,
    )
    return peaks[0], found[0]


@guarded
def peaks_of_cases(
    tensors_mpa: ArrayLike,
    frame: NotchFrame,
    *,
    closed: bool = False,
    average_over: Literal[1, 3] = 1,
    element: str | None = None,
    judged: ArrayLike | None = None,
    symmetric_ends: Collection[LineEnd] = (),
) -> tuple[FloatArray, list[tuple[Finding, ...]]]:
    """`peaks_from_tensors` of several load cases, (k, n, 6) to (k, n, 3), with the findings of each."""
    guard_symmetric_ends(symmetric_ends, closed)
    peaks, found = peaks_along(tensors_mpa, frame)
    if peaks.ndim != 3:
        raise InputError("tensors_mpa must be a table of stations by 6 columns for each load case", "tensors_mpa")
    if closed and average_over != 1 and peaks.shape[1] < _LEAST_LOOP:
        raise InputError(f"a closed line needs {_LEAST_LOOP} stations at least, here are {peaks.shape[1]}", "closed")
    pairs = [images_beyond(each, symmetric_ends) if len(each) > 1 else ((None, None), ()) for each in peaks]
    findings = [(*found, _AS_GIVEN, *doubts) for _, doubts in pairs]
    if average_over == 1:
        return peaks, [(*each, *_mean_expected(element)) for each in findings]
    ends = "" if closed or len(symmetric_ends) == len(LINE_ENDS) else "; over two at the ends"
    ends += "; with the mirror image beyond a plane of symmetry" if symmetric_ends else ""
    message = f"each signed peak is the mean over three adjacent corner nodes{ends}"
    used = note("moving-average", message, field="average_over", source="peak-stress-3d-tetrahedra-2018")
    images = [
        None if each[0] is None else np.stack(each) for each in zip(*(images for images, _ in pairs), strict=True)
    ]
    mean = np.swapaxes(moving_average(np.swapaxes(peaks, 0, 1), closed, (images[0], images[1])), 0, 1)
    inside = np.ones(peaks.shape[1], np.bool_) if judged is None else np.asarray(judged, dtype=np.bool_)
    above = _stands_out(peaks, mean, inside)
    told = [
        (*(_above_mean(raw, smooth, over) if over.any() else ()), *_mean_unexpected(element, raw, smooth, inside))
        for raw, smooth, over in zip(peaks, mean, above, strict=True)
    ]
    return mean, [(*each, used, *more) for each, more in zip(findings, told, strict=True)]


def _stands_out(peaks: FloatArray, mean: FloatArray, judged: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Where one node stands out of its mean, among the peaks that are large on the line, (k, n, 3)."""
    size = np.where(judged[:, np.newaxis], np.abs(peaks), 0.0)
    large = size >= _LARGE_PEAK * size.max(axis=(1, 2), keepdims=True)
    return np.asarray(large & (size > _ABOVE_MEAN * np.abs(mean) * (1.0 + 1e-9)) & (size > 0.0))


def _above_mean(peaks: FloatArray, mean: FloatArray, over: NDArray[np.bool_]) -> tuple[Finding, ...]:
    """A caution where one node stands out of its mean; over: where it does, somewhere."""
    station, mode = np.unravel_index(int(np.argmax(np.where(over, np.abs(peaks), 0.0))), over.shape)
    text = (
        f"station {station}: the {MODES[mode]} peak of the node is {figure(peaks[station, mode])} MPa, the mean"
        f" over three {figure(mean[station, mode])} MPa; a node is more than"
        f" {as_given(_ABOVE_MEAN)} times its mean at {counted(int(over.any(axis=1).sum()), 'station')}"
    )
    return (caution(NODE_ABOVE_MEAN, text, field="average_over"),)


def peaks_as_given(average_over: int) -> tuple[Finding, ...]:
    """A caution where a mean over adjacent nodes was asked for, and no tensors were given."""
    if average_over == 1:
        return ()
    message = "stresses are taken as given: the mean over adjacent nodes is taken of tensors only"
    return (caution("peaks-not-averaged", message, field="average_over"),)


def _mean_expected(element: str | None) -> tuple[Finding, ...]:
    if element != "tet10":
        return ()
    message = f"the constants of {element} were found with the mean over three adjacent corner nodes"
    return (caution("mean-not-taken", message, field="average_over", source="peak-stress-3d-tetrahedra-2018"),)


def _mean_unexpected(
    element: str | None, peaks: FloatArray, mean: FloatArray, judged: NDArray[np.bool_]
) -> tuple[Finding, ...]:
    """`outside` where a mean that the constants do not hold for lowers a peak that is large on the line."""
    if element not in ("quad4", "brick8", "tet4"):
        return ()
    size = np.where(judged[:, np.newaxis], np.abs(peaks), 0.0)
    large = size >= _LARGE_PEAK * size.max(initial=0.0)
    lowered = bool((large & (size > np.abs(mean) * (1.0 + 1e-9))).any())
    message = f"the constants of {element} hold for the peak of one node: a mean over three is lower"
    if element == "tet4":
        message = "nothing here says that the constants of tet4 hold for a mean over three nodes, which is lower"
    if lowered:
        return (outside(MEAN_LOWERS_PEAK, message, field="average_over", source="peak-stress-review-2020"),)
    return (caution("mean-not-of-element", message, field="average_over", source="peak-stress-review-2020"),)


@guarded
def mean_stress_factors(
    condition: Condition, load_ratios: Mapping[str, float] | None, with_sliding: bool = True
) -> tuple[FloatArray, tuple[Finding, ...]]:
    """Mean-stress coefficients of the three modes, with their findings.

    condition    : "as-welded" or "stress-relieved"
    load_ratios  : minimum over maximum stress by mode [-]
    with_sliding : whether the sliding mode counts; its load ratio may be absent otherwise
    Returns      : c_w (3,) [-] and findings
    Raises       : InputError for an unknown condition, missing load ratios
    Source       : [energy-mean-stress-2004]
    """
    if condition == "as-welded":
        message = "as-welded: ranges count in full at any load ratio (residual stress)"
        return np.ones(3), (note("as-welded", message, field="condition", source="energy-mean-stress-2004"),)
    modes: list[Mode] = [mode for mode in MODES if with_sliding or mode != "sliding"]
    missing = [mode for mode in modes if mode not in (load_ratios or {})]
    if load_ratios is None or missing:
        raise InputError(f"stress-relieved needs the load ratio of {', '.join(missing)}", "load_ratio")
    ratios = np.array([float(load_ratios[mode]) if mode in modes else 0.0 for mode in MODES])
    for mode in modes:
        if load_ratios[mode] == 1.0:
            text = f"a load ratio of 1 is no cycle ({mode} mode); give 0 for a mode that does not cycle"
            raise InputError(text, "load_ratio")
    factors = mean_stress_coefficient(finite("load_ratio", ratios))
    return factors, (_coefficient_note(factors), *_ratio_findings(modes, load_ratios))


def _coefficient_note(factors: FloatArray) -> Finding:
    values = ", ".join(f"{mode} {figure(factor)}" for mode, factor in zip(MODES, factors, strict=True))
    message = f"stress-relieved: mean-stress coefficients {values} on the energies"
    return note("mean-stress-coefficients", message, field="load_ratio", source="energy-mean-stress-2004")


def _ratio_findings(modes: Iterable[Mode], load_ratios: Mapping[str, float]) -> list[Finding]:
    return [
        replace(finding, message=f"{mode} mode: {finding.message}")
        for mode in modes
        for finding in mean_stress_findings(load_ratios[mode], mode=mode)
    ]


def dropped_findings(weights: ArrayLike, ranges_mpa: ArrayLike, governing_index: int) -> tuple[Finding, ...]:
    """What a mode without a weight carries, beside the largest range of a mode that counts.

    That is the one at its own station or, where larger, at the governing one.

    weights         : of the modes (3,) [-], 0 for one left out; ranges_mpa: of the modes (n, 3) [MPa]
    governing_index : station that is judged by its equivalent stress
    Returns         : a note, a caution above half of it, `outside` above all of it
    """
    counts = np.asarray(weights) > 0.0
    if counts.all():
        return ()
    size = np.abs(np.asarray(ranges_mpa, dtype=np.float64))
    counted = size[:, counts].max(axis=1)
    return tuple(
        _sort_dropped(mode, size[:, place], np.maximum(counted, counted[governing_index]))
        for place, mode in enumerate(MODES)
        if np.asarray(weights)[place] == 0.0 and size[:, place].any()
    )


def _sort_dropped(mode: Mode, size: FloatArray, beside: FloatArray) -> Finding:
    ratio = np.divide(size, beside, out=np.full(size.shape, np.inf), where=beside > 0.0)
    worst = int(np.argmax(np.where(size > 0.0, ratio, 0.0)))
    over = [limit for limit in (_DOUBTFUL_DROPPED, _WRONG_DROPPED) if ratio[worst] > limit]
    text = (
        f"{mode} stress of {figure(size[worst])} MPa is not counted at station {worst}, beside"
        f" {figure(beside[worst])} MPa of a mode that counts: this one is not singular at this angle"
    )
    if _WRONG_DROPPED in over:
        return outside(f"{mode}-not-counted-largest", text, field=mode, source="notch-derivation")
    if over:
        return caution(f"{mode}-not-counted-large", text, field=mode, source="notch-derivation")
    return note(f"{mode}-not-counted", text, field=mode, source="notch-derivation")
