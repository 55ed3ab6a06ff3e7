"""The sum of one pass of a damage request: of a history, of several modes over time, or of blocks."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from fatcore.curves.biaxiality import OPENING_ID, SHEAR_ID, single_curve_findings
from fatcore.curves.corrections.correction import Correction
from fatcore.curves.corrections.mean_stress import guard_signed
from fatcore.curves.curve import Curve
from fatcore.curves.limits.damage_limits import DamageLimit
from fatcore.curves.relief import Choice
from fatcore.curves.resistance import CurveResistance, mixed_findings
from fatcore.curves.stress_kind import plain_kind
from fatcore.errors import InputError, at, did_you_mean
from fatcore.figures import figure
from fatcore.findings import Finding, caution
from fatcore.require import FloatArray, one_length
from fatcore.spectrum.counting.count import rainflow
from fatcore.spectrum.counting.cycles import Cycles
from fatcore.spectrum.counting.history import gate, refuse_nothing_counted
from fatcore.spectrum.damage.left_out import (
    bonus_findings,
    definition_findings,
    gate_findings,
    half_findings,
    turn_findings,
)
from fatcore.spectrum.damage.linear import DamageSum, damage_sum, refuse_several_ranges
from fatcore.spectrum.damage.mean_correction import MeanStressChoice, correction_of_cycles
from fatcore.spectrum.multiaxial.definitions import (
    Counted,
    DefinitionComparison,
    compare_definitions,
    count_by_definition,
    damage_by_definition,
    weighted_range,
)
from fatcore.spectrum.multiaxial.modes import mode_cycles
from fatcore.spectrum.multiaxial.weights import LEAST_WEIGHT, raised_weights, weight_findings
from fatcore.stress.peak.peak_weights import least_published_weight

from ...base.unused import refuse_unused
from . import models
from .choices import forms_of, whole_residue

OPENING_MODE = "opening"


@dataclass(frozen=True, slots=True)
class Summed:
    """Ranges that count and their counts in one pass, its damage sum, what to say, definitions compared.

    whole       : damage of one pass with nothing left out and no bonus, on any curve [-]
    largest_mpa : largest range before a bonus; extreme_mpa: largest stress of a history, 0 of blocks
    choices     : what `whole` does not follow, besides those that every loading has
    """

    range_mpa: FloatArray
    count: FloatArray
    found: DamageSum
    whole: Callable[[Curve], float]
    largest_mpa: float
    findings: tuple[Finding, ...] = ()
    compared: DefinitionComparison | None = None
    bonus: Correction | None = None
    extreme_mpa: float = 0.0
    choices: tuple[Choice, ...] = ()


def sum_of(request: models.DamageRequest, held: CurveResistance, limit: DamageLimit) -> Summed:
    """One pass of the one loading that is given."""
    given = [name for name in ("history_mpa", "modes_mpa", "range_mpa") if getattr(request, name) is not None]
    if len(given) != 1:
        raise InputError("give one of history_mpa, modes_mpa, range_mpa", *(given[1:2] or ["history_mpa"]))
    if (request.range_mpa is None) != (request.count is None):
        raise InputError("range_mpa and count belong together", "count")
    if (request.modes_mpa is None) != (request.weights is None):
        raise InputError("modes_mpa and weights belong together", "weights")
    options: dict[str, Any] = {
        "below_knee": request.below_knee,
        "damage_limit": limit,
        "reference_cycles": request.reference_cycles,
    }
    if request.history_mpa is not None:
        return _of_history(request, held, options)
    if request.mean_stress != "none":
        raise InputError(
            "is for history_mpa alone: blocks have no mean, and several modes have no common one; a check of "
            "weld lines corrects the mean stress of the modes cycle by cycle",
            "mean_stress",
        )
    if request.hysteresis_threshold_mpa > 0.0:
        raise InputError("is for history_mpa", "hysteresis_threshold_mpa")
    if request.modes_mpa is not None:
        return _of_modes(request, held.corrected, options)
    refuse_unused(request, "residue", "definition", because="blocks are counted already")
    return _of_blocks(request, held, options)


def _of_blocks(request: models.DamageRequest, held: CurveResistance, options: dict[str, Any]) -> Summed:
    assert request.range_mpa is not None
    full, count = np.asarray(request.range_mpa), np.asarray(request.count)
    ranges = held.counted_mpa(full)
    found = damage_sum(ranges, count, held.corrected, **options)
    findings: tuple[Finding, ...] = ()
    for each in held.corrections:
        if each.bonus:
            in_full = damage_sum(full, count, held.corrected, **options).damage
            findings = bonus_findings(found.damage, in_full, each.name)
    largest = float(full[count > 0.0].max())
    return Summed(ranges, count, found, _whole(request, full, count), largest, findings)


def _whole(request: models.DamageRequest, ranges: FloatArray, count: FloatArray) -> Callable[[Curve], float]:
    """Damage of full ranges on any curve, by the form below the knee that is asked for or, if worse, its own."""

    def damage(curve: Curve) -> float:
        return max(damage_sum(ranges, count, curve, below_knee=form).damage for form in {*forms_of(request)})

    return damage


def _of_history(request: models.DamageRequest, held: CurveResistance, options: dict[str, Any]) -> Summed:
    refuse_unused(request, "definition", because="one history has one count")
    if request.mean_stress != "none":
        with at("mean_stress"):
            guard_signed(held.given)
    values = np.asarray(request.history_mpa, dtype=np.float64)
    kept = values[gate(values, request.hysteresis_threshold_mpa)] if request.hysteresis_threshold_mpa > 0.0 else values
    whole = rainflow(values, request.residue)
    counted = whole if kept is values else rainflow(kept, request.residue)
    if request.loading == "constant":  # what the threshold or a correction makes alike was not so
        refuse_several_ranges(whole.range_mpa, whole.count)

    def summed(cycles: Cycles, mean_stress: MeanStressChoice = request.mean_stress) -> DamageSum:
        ranges = _counted_mpa(cycles, correction_of_cycles(mean_stress, cycles))
        return damage_sum(ranges, cycles.count, held.corrected, **options)

    if counted.count.size == 0:
        refuse_nothing_counted(values, request.hysteresis_threshold_mpa)
    found, bonus = summed(counted), correction_of_cycles(request.mean_stress, counted)
    findings = turn_findings(values)
    if request.hysteresis_threshold_mpa > 0.0:
        findings += gate_findings(found.damage, summed(whole).damage, request.hysteresis_threshold_mpa)
    if request.residue == "half":
        findings += half_findings(found.damage, summed(rainflow(kept, "closed")).damage, request.repeats)
    if bonus is not None:
        findings += bonus_findings(found.damage, summed(counted, "none").damage, request.mean_stress)
        findings += tuple(mixed_findings(held.curve, bonus))
    if whole_residue(request) != request.residue:
        whole = rainflow(values, "closed")
    full = float(counted.range_mpa.max())
    return Summed(
        _counted_mpa(counted, bonus),
        counted.count,
        found,
        _whole(request, whole.range_mpa, whole.count),
        full,
        findings,
        bonus=bonus,
        extreme_mpa=float(np.abs(values).max()),
    )


def _counted_mpa(cycles: Cycles, bonus: Correction | None) -> FloatArray:
    return cycles.range_mpa if bonus is None else bonus.on_ranges(cycles.range_mpa)


def _of_modes(request: models.DamageRequest, curve: Curve, options: dict[str, Any]) -> Summed:
    assert request.modes_mpa is not None
    assert request.weights is not None
    with at("modes_mpa"):
        one_length(**request.modes_mpa)
    with at("weights"):
        for name in request.weights:
            if name not in request.modes_mpa:
                raise InputError(f"no mode is called {name!r}{did_you_mean(name, request.modes_mpa)}", name)
        for name in request.modes_mpa:
            if name not in request.weights:
                raise InputError(f"{name} is needed: every mode has a weight", name)
    history = np.array(list(request.modes_mpa.values()), dtype=np.float64)
    weights = [request.weights[name] for name in request.modes_mpa]
    counted = mode_cycles(history, weights, residue=request.residue, definition=request.definition)
    if counted.count.size == 0:
        raise InputError("the history never moves: it holds no range", "modes_mpa")
    ranges = weighted_range(counted, weights)
    found = damage_sum(ranges, counted.count, curve, **options)
    weighted = counted.range_mpa * np.abs(weights)
    findings = _of_biaxiality(curve, list(request.modes_mpa), weighted, counted.count)
    if request.residue == "half":
        closed = mode_cycles(history, weights, residue="closed", definition=request.definition)
        repeated = damage_sum(weighted_range(closed, weights), closed.count, curve, **options).damage
        findings += half_findings(found.damage, repeated, request.repeats)
    by_name = count_by_definition(history, weights, request.residue)
    form = request.below_knee
    compared = compare_definitions(history, weights, curve, residue=request.residue, below_knee=form, counted=by_name)
    largest = compared.largest_definition
    findings += definition_findings(found.damage, compared.damage[largest], request.definition, largest)
    least = _least_weight(curve)
    findings += weight_findings(history, weights, list(request.modes_mpa), least)
    lowered = bool((np.abs(weights) < least).any())
    every = [by_name]
    if lowered or whole_residue(request) != request.residue:
        every.append(count_by_definition(history, raised_weights(weights, least), whole_residue(request)))
    return Summed(
        ranges,
        counted.count,
        found,
        _whole_of_modes(request, every),
        found.largest_range_mpa,
        findings,
        compared,
        extreme_mpa=float(np.abs(history * np.array(weights)[:, np.newaxis]).max()),
        choices=(Choice("weights", f"weights below {figure(least)}"),) if lowered else (),
    )


def _whole_of_modes(request: models.DamageRequest, every: list[dict[str, Counted]]) -> Callable[[Curve], float]:
    """Damage on any curve by the worst of several counts, definitions of a cycle, and forms below the knee."""

    def damage(on: Curve) -> float:
        forms = {*forms_of(request)}
        return max(max(damage_by_definition(each, on, form).values()) for each in every for form in forms)

    return damage


def _least_weight(curve: Curve) -> float:
    """Below it no published rule weights a mode: on curves of peak stress half of what the constants give."""
    return 0.5 * least_published_weight() if "peak-stress" in plain_kind(curve.stress_kind) else LEAST_WEIGHT


def _of_biaxiality(curve: Curve, modes: list[str], weighted_mpa: FloatArray, count: FloatArray) -> tuple[Finding, ...]:
    """Whether the curve of a band of the peak stress method fits the shear in the cycles."""
    if curve.id not in (OPENING_ID, SHEAR_ID):
        return ()
    if OPENING_MODE not in modes:
        text = f"no mode is called {OPENING_MODE!r}: the biaxiality ratio of the cycles was not compared"
        return (caution("biaxiality-not-compared", text, field="modes_mpa", source="biaxiality-rule"),)
    squares = np.square(weighted_mpa)
    opening = squares[:, modes.index(OPENING_MODE)]
    sliding = np.delete(squares, modes.index(OPENING_MODE), axis=1).sum(axis=1)
    ratio = np.divide(sliding, opening, out=np.full(opening.shape, np.inf), where=opening > 0.0)
    return single_curve_findings(curve, np.sqrt(opening + sliding), ratio, count)
