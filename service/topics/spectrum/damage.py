"""The damage route's work: from a history, several modes or blocks to the damage sum and its parts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from fatcore.check.verdict import damage_verdict
from fatcore.curves.biaxiality import OPENING_ID, SHEAR_ID, single_curve_findings
from fatcore.curves.corrections.correction import Correction
from fatcore.curves.corrections.mean_stress import guard_signed
from fatcore.curves.curve import Curve
from fatcore.curves.damage_limits import DamageLimit
from fatcore.curves.resistance import LIFE_LIMITS, CurveResistance, mixed_findings, use_findings
from fatcore.errors import InputError, at
from fatcore.findings import Finding, caution, outside_limits
from fatcore.outcome import Outcome, evidence
from fatcore.require import FloatArray, one_length
from fatcore.spectrum.counting.count import rainflow
from fatcore.spectrum.counting.cycles import Cycles
from fatcore.spectrum.counting.history import gate, refuse_nothing_counted
from fatcore.spectrum.counting.matrix import share_by_class
from fatcore.spectrum.damage.below_knee import BelowKnee
from fatcore.spectrum.damage.left_out import (
    bonus_findings,
    definition_findings,
    gate_findings,
    half_findings,
    no_damage_findings,
    turn_findings,
)
from fatcore.spectrum.damage.linear import DamageSum, damage_sum, equivalent_range, refuse_several_ranges
from fatcore.spectrum.damage.mean_correction import MeanStressChoice, correction_of_cycles
from fatcore.spectrum.multiaxial.definitions import DefinitionComparison, compare_definitions, weighted_range
from fatcore.spectrum.multiaxial.modes import mode_cycles

from ...base.common import MAX_POINTS, Reply, reply
from ...base.units import unit_findings
from ...base.unused import refuse_unused
from ..curves.resistance import limit_from, resisting_from
from . import models
from .choices import (
    decided_by_choice,
    forms_of,
    partial_factor_findings,
    single_range_findings,
    whole_residue,
)

OPENING_MODE = "opening"


def assess(request: models.DamageRequest) -> Reply:
    """The reply to a damage request."""
    held = resistance_of(request)
    limit = limit_from(request, held.curve, request.loading)
    summed = _sum(request, held, limit)
    ranges, count, found, compared = summed.range_mpa, summed.count, summed.found, summed.compared
    if request.loading == "constant":
        refuse_several_ranges(ranges, count)
    total = request.repeats * found.damage
    if not np.isfinite(total):
        raise InputError("the damage of all passes is beyond all numbers", "repeats")
    cycles = request.repeats * float(count.sum())
    use = use_findings(held.corrected, found.largest_range_mpa, request.yield_strength_mpa)
    short = outside_limits(LIFE_LIMITS, life_cycles=_life(found, count))
    parts = [held, found, *(part for part in (summed.bonus, compared) if part)]
    small = no_damage_findings(total) if found.damage > 0.0 else ()
    largest = None if compared is None else compared.largest_definition
    findings = [
        *summed.findings,
        *decided_by_choice(request, total, request.repeats * summed.yardstick, limit, largest),
        *single_range_findings(request, held.curve, ranges, count, limit),
        *partial_factor_findings(request, held, ranges, count, limit),
        *(*use, *short, *small, *unit_findings(request.unit_stated)),
    ]
    basis = Outcome(**evidence(*parts, findings=findings))
    return reply(
        models.DamageAnswer,
        basis,
        verdict=damage_verdict(total, limit.damage_limit, basis.findings),
        damage=total,
        damage_of_pass=found.damage,
        damage_limit=limit.damage_limit,
        life_repeats=found.life_repeats,
        equivalent_range_mpa=_equivalent(found, total, held.corrected, request),
        reference_cycles=request.reference_cycles or cycles,
        largest_range_mpa=found.largest_range_mpa,
        total_count=cycles,
        idle_count=request.repeats * found.idle_count,
        class_shares=_class_shares(request, ranges, found),
        cycle_shares=_cycle_shares(request, ranges, count, found),
        definitions=compared,
    )


@dataclass(frozen=True, slots=True)
class Summed:
    """Ranges that count and their counts in one pass, its damage sum, what to say, definitions compared.

    yardstick : damage of one pass with nothing left out, on the curve of the document or worse [-]
    """

    range_mpa: FloatArray
    count: FloatArray
    found: DamageSum
    yardstick: float
    findings: tuple[Finding, ...] = ()
    compared: DefinitionComparison | None = None
    bonus: Correction | None = None


def resistance_of(request: models.DamageRequest) -> CurveResistance:
    """The resistance of a damage request; blocks may have corrections of their own each."""
    size = None if request.range_mpa is None else len(request.range_mpa)
    return resisting_from(request, loading=request.loading, size=size)


def _life(found: DamageSum, count: FloatArray) -> FloatArray:
    """Cycles until the limit, as one number; nothing where no cycle does damage."""
    return np.array([] if found.life_repeats is None else [found.life_repeats * count.sum()])


def _sum(request: models.DamageRequest, held: CurveResistance, limit: DamageLimit) -> Summed:
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
    assert request.range_mpa is not None
    ranges, count = held.counted_mpa(request.range_mpa), np.asarray(request.count)
    found = damage_sum(ranges, count, held.corrected, **options)
    yardstick = found
    if request.below_knee != "as-curve":
        yardstick = damage_sum(ranges, count, held.corrected, **options | {"below_knee": "as-curve"})
    return Summed(ranges, count, found, max(found.damage, yardstick.damage))


def _of_history(request: models.DamageRequest, held: CurveResistance, options: dict[str, Any]) -> Summed:
    refuse_unused(request, "definition", because="one history has one count")
    if request.mean_stress != "none":
        with at("mean_stress"):
            guard_signed(held.given)
    values = np.asarray(request.history_mpa, dtype=np.float64)
    kept = values[gate(values, request.hysteresis_threshold_mpa)] if request.hysteresis_threshold_mpa > 0.0 else values
    whole = rainflow(values, request.residue)
    counted = whole if kept is values else rainflow(kept, request.residue)
    if request.loading == "constant":  # what the gate or a correction makes alike was not so
        refuse_several_ranges(whole.range_mpa, whole.count)

    def summed(
        cycles: Cycles,
        mean_stress: MeanStressChoice = request.mean_stress,
        form: BelowKnee = request.below_knee,
    ) -> DamageSum:
        ranges = _counted_mpa(cycles, correction_of_cycles(mean_stress, cycles))
        return damage_sum(ranges, cycles.count, held.corrected, **options | {"below_knee": form})

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
    done = {request.below_knee} if whole is counted else set()
    yardstick = max([found.damage, *(summed(whole, form=form).damage for form in {*forms_of(request)} - done)])
    return Summed(_counted_mpa(counted, bonus), counted.count, found, yardstick, findings, bonus=bonus)


def _counted_mpa(cycles: Cycles, bonus: Correction | None) -> FloatArray:
    return cycles.range_mpa if bonus is None else bonus.on_ranges(cycles.range_mpa)


def _of_modes(request: models.DamageRequest, curve: Curve, options: dict[str, Any]) -> Summed:
    assert request.modes_mpa is not None
    assert request.weights is not None
    with at("modes_mpa"):
        one_length(**request.modes_mpa)
    with at("weights"):
        for name in request.weights.keys() ^ request.modes_mpa.keys():
            raise InputError("weights and modes_mpa must name the same modes", name)
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
    compared = compare_definitions(history, weights, curve, residue=request.residue, below_knee=request.below_knee)
    largest = compared.largest_definition
    findings += definition_findings(found.damage, compared.damage[largest], request.definition, largest)
    others = {(whole_residue(request), form) for form in forms_of(request)}
    most = list(compared.damage.values())
    for residue, form in sorted(others - {(request.residue, request.below_knee)}):
        whole = compare_definitions(history, weights, curve, residue=residue, below_knee=form)
        most += whole.damage.values()
    return Summed(ranges, counted.count, found, max(most), findings, compared)


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


def _equivalent(found: DamageSum, total: float, curve: Curve, request: models.DamageRequest) -> float:
    """Of all passes in the reference cycles; without these, passes and cycles grow together."""
    if request.reference_cycles is None:
        return found.equivalent_range_mpa
    return float(equivalent_range(total, request.reference_cycles, curve))


def _class_shares(request: models.DamageRequest, ranges: FloatArray, found: DamageSum) -> dict[str, Any] | None:
    if request.range_edges_mpa is None:
        return None
    shares = share_by_class(ranges, found.cycle_share, request.range_edges_mpa)
    return {"range_edges_mpa": request.range_edges_mpa, "damage_share": shares}


def _cycle_shares(
    request: models.DamageRequest, ranges: FloatArray, count: FloatArray, found: DamageSum
) -> dict[str, Any] | None:
    if not request.list_cycles:
        return None
    if ranges.size > MAX_POINTS:
        raise InputError(f"{ranges.size} cycles are too many to list: set this to false", "list_cycles")
    return {"range_mpa": ranges, "count": count, "cycle_share": found.cycle_share}
