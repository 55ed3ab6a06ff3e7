"""Structural stress at a weld toe: extrapolation of surface stresses that excludes the notch."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, Literal

import numpy as np
from annotated_types import doc
from numpy.typing import ArrayLike

from fatcore import tables
from fatcore.bounds import Positive, guarded
from fatcore.errors import InputError, UnknownError
from fatcore.figures import as_given, figure
from fatcore.findings import Finding, caution, note
from fatcore.outcome import Outcome, evidence
from fatcore.require import FloatArray, finite, one_length, positive
from fatcore.stress.structural.hot_spot_findings import rise_findings

_READ_OUT_TABLE = "stress/read_out"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HotSpot(Outcome):
    """Structural stress at the toe.

    hot_spot_stress_mpa : extrapolated stress [MPa], one a station
    reference_distance_mm        : distances of the points used [mm]
    reference_stress_mpa       : stresses there (..., points) [MPa]
    weights             : their shares in the result [-]
    """

    hot_spot_stress_mpa: FloatArray
    reference_distance_mm: FloatArray
    reference_stress_mpa: FloatArray
    weights: FloatArray


def rule_names() -> tuple[str, ...]:
    """Names of the read-out rules."""
    return tuple(tables.load(_READ_OUT_TABLE)["rule"])


def reference_points_mm(rule: str, thickness_mm: float | None) -> FloatArray:
    """Distances of the reference points of a rule from the toe.

    rule         : one of `rule_names()`
    thickness_mm : thickness of the plate with the toe [mm], None for a rule of fixed distances
    Returns      : distances [mm], rising
    Raises       : UnknownError for the rule, InputError for a thickness missing or not above 0
    Source       : [structural-stress-readout]

    >>> reference_points_mm("quadratic", 10.0).tolist()
    [4.0, 9.0, 14.0]
    """
    entry = _rule(rule)
    if entry["unit"] != "thickness":
        return np.array(entry["positions"])
    if thickness_mm is None:
        raise InputError(f"rule {rule} needs the thickness of the plate", "thickness_mm")
    return np.asarray(np.array(entry["positions"]) * positive("thickness_mm", thickness_mm))


def extrapolation_weights(distance_mm: ArrayLike) -> FloatArray:
    """Shares of the stresses at some distances in the polynomial through them, taken at the toe.

    distance_mm : distances from the toe [mm] or in any other unit, all different
    Returns     : weights [-], their sum is 1
    Raises      : InputError when two distances agree
    Source      : [extrapolation-derivation]

    >>> extrapolation_weights([0.4, 0.9, 1.4]).round(12).tolist()
    [2.52, -2.24, 0.72]
    """
    x = finite("distance_mm", distance_mm)
    one_length(distance_mm=x)
    if len(np.unique(x)) != len(x):
        raise InputError("distance_mm must all differ", "distance_mm")
    return np.array([np.prod(np.delete(x, i) / (np.delete(x, i) - x[i])) for i in range(len(x))])


def hot_spot_stress(reference_stress_mpa: ArrayLike, rule: str) -> FloatArray:
    """Structural stress from the stresses at the reference points, with the exact weights.

    reference_stress_mpa : stresses at the reference points by rising distance (..., points) [MPa]
    rule          : one of `rule_names()`
    Returns       : stress at the toe [MPa], shape without the last axis
    Raises        : UnknownError for the rule, InputError for another number of points
    Source        : [structural-stress-readout]

    >>> float(hot_spot_stress([140.0, 110.0], "linear-coarse"))
    155.0
    """
    weights = extrapolation_weights(_rule(rule)["positions"])
    stress = finite("reference_stress_mpa", reference_stress_mpa)
    if stress.ndim == 0 or stress.shape[-1] != len(weights):
        raise InputError(f"rule {rule} takes {len(weights)} stresses", "reference_stress_mpa")
    return np.asarray(stress @ weights)


def hot_spot_from_references(reference_stress_mpa: ArrayLike, rule: str, thickness_mm: float | None = None) -> HotSpot:
    """Structural stress of many stations from the stresses at the reference points of a rule.

    reference_stress_mpa : stresses at the reference points by rising distance (..., points) [MPa]
    rule          : one of `rule_names()`
    thickness_mm  : thickness of the plate with the toe [mm], None for a rule of fixed distances
    Raises        : UnknownError for the rule, InputError for another number of points, a missing thickness
    Source        : [structural-stress-readout]
    """
    return _read_out(rule, reference_points_mm(rule, thickness_mm), reference_stress_mpa)


def hot_spot_from_path(distance_mm: ArrayLike, stress_mpa: ArrayLike, thickness_mm: float | None, rule: str) -> HotSpot:
    """Structural stress from a path of surface stresses, by the reference points of a rule.

    distance_mm  : distances from the toe [mm], rising; stress_mpa : stresses normal to the toe [MPa]
    thickness_mm : thickness of the plate with the toe [mm]; rule : one of `rule_names()`
    Returns      : outcome; between points of the path the stress is read on a straight line, with a note
    Raises       : InputError when the path does not reach the reference points
    Source       : [structural-stress-readout]
    """
    x, s = _path(distance_mm, stress_mpa)
    reference = reference_points_mm(rule, thickness_mm)
    slack = 1e-9 * reference[-1]
    if x[0] > reference[0] + slack or x[-1] < reference[-1] - slack:
        message = f"the path must reach from {as_given(reference[0])} to {as_given(reference[-1])} mm"
        raise InputError(message, "distance_mm")
    return _read_out(rule, reference, np.interp(reference, x, s), *_between_points(x, reference))


def _read_out(rule: str, reference: FloatArray, reference_stress_mpa: ArrayLike, *remarks: Finding) -> HotSpot:
    stress = hot_spot_stress(reference_stress_mpa, rule)
    values = np.asarray(reference_stress_mpa, dtype=np.float64)
    return HotSpot(
        hot_spot_stress_mpa=stress,
        reference_distance_mm=reference,
        reference_stress_mpa=values,
        weights=extrapolation_weights(reference),
        **evidence(
            findings=(*_weights_finding(rule), *remarks, *rise_findings(stress, values)),
            sources=("structural-stress-readout", "extrapolation-derivation"),
            tables=(_READ_OUT_TABLE,),
        ),
    )


@guarded
def hot_spot_least_squares(
    distance_mm: ArrayLike,
    stress_mpa: ArrayLike,
    thickness_mm: Positive,
    *,
    degree: Annotated[Literal[1, 2], doc("of the least-squares polynomial")] = 1,
    window_low: Annotated[Positive, doc("start of the least-squares window in thicknesses")] = 0.4,
    window_high: Annotated[Positive, doc("end of the least-squares window in thicknesses")] = 1.5,
) -> HotSpot:
    """Structural stress from all points of a dense path in a window, by a polynomial of least squares.

    distance_mm  : distances from the toe [mm], rising; stress_mpa : stresses normal to the toe [MPa]
    thickness_mm : thickness of the plate with the toe [mm]
    degree       : 1 straight line, 2 parabola
    window_low, window_high : window in plate thicknesses [-]; default spans the points of the two-point rules
    Returns      : outcome with the points of the window
    Raises       : InputError for a degree other than 1 or 2, an empty window, too few points in it
    Source       : [extrapolation-derivation]
    """
    x, s = _path(distance_mm, stress_mpa)
    if window_low >= window_high:
        raise InputError("the window must satisfy window_low < window_high", "window_low")
    u = x / thickness_mm
    used = (u >= window_low - 1e-9) & (u <= window_high + 1e-9)
    if np.count_nonzero(used) < degree + 1:
        raise InputError(f"the window holds {np.count_nonzero(used)} points, {degree + 1} are needed", "distance_mm")
    # the first row of the pseudo-inverse gives the constant term, which is the value at the toe
    weights = np.linalg.pinv(np.vander(u[used], degree + 1, increasing=True))[0]
    count, stress = int(np.count_nonzero(used)), np.asarray(weights @ s[used])
    return HotSpot(
        hot_spot_stress_mpa=stress,
        reference_distance_mm=x[used],
        reference_stress_mpa=s[used],
        weights=np.asarray(weights),
        **evidence(
            findings=(
                *_fit_findings(count, degree, window_low, window_high),
                *rise_findings(stress, s[used]),
            ),
            sources=("extrapolation-derivation",),
        ),
    )


def _rule(rule: str) -> dict[str, Any]:
    rules: dict[str, dict[str, Any]] = tables.load(_READ_OUT_TABLE)["rule"]
    if rule not in rules:
        raise UnknownError("rule", rule, rules, "rule")
    return rules[rule]


def _path(distance_mm: ArrayLike, stress_mpa: ArrayLike) -> tuple[FloatArray, FloatArray]:
    one_length(distance_mm=distance_mm, stress_mpa=stress_mpa)
    x, s = finite("distance_mm", distance_mm), finite("stress_mpa", stress_mpa)
    if (np.diff(x) <= 0.0).any() or x[0] < 0.0:
        raise InputError("distance_mm must rise and must not be negative", "distance_mm")
    return x, s


def _weights_finding(rule: str) -> tuple[Finding, ...]:
    entry = _rule(rule)
    printed = ", ".join(as_given(weight) for weight in entry["printed_weights"])
    exact = ", ".join(figure(weight, 4) for weight in extrapolation_weights(entry["positions"]))
    message = f"rule {rule}: exact weights {exact}; printed as {printed}"
    return (note("read-out-weights", message, field="weights", source="structural-stress-readout"),)


def _between_points(x: FloatArray, reference: FloatArray) -> tuple[Finding, ...]:
    gap = np.abs(x[:, None] - reference[None, :]).min(axis=0)
    between = reference[gap > 1e-9 * reference[-1]]
    if len(between) == 0:
        return ()
    where = ", ".join(as_given(value) for value in between)
    message = f"stress at {where} mm read on the straight line between the nearest points of the path"
    return (note("read-between-points", message, field="reference_distance_mm"),)


def _fit_findings(count: int, degree: int, low: float, high: float) -> tuple[Finding, ...]:
    fit = (
        f"polynomial of degree {degree} through {count} points between {as_given(low)} and {as_given(high)} thicknesses"
    )
    message = f"{fit}: no published read-out rule, its result depends on the window"
    return (caution("least-squares-window", message, field="hot_spot_stress_mpa"),)
