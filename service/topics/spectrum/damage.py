"""The damage route's work: from a history, several modes or blocks to the damage sum and its parts."""

from __future__ import annotations

from typing import Any

import numpy as np

from fatcore.check.verdict import damage_verdict
from fatcore.curves.curve import Curve
from fatcore.curves.limits.beyond_tests import sum_findings
from fatcore.curves.limits.limits_of_use import extreme_findings, use_findings
from fatcore.curves.resistance import CurveResistance
from fatcore.errors import InputError
from fatcore.outcome import Outcome, evidence
from fatcore.require import FloatArray
from fatcore.spectrum.counting.matrix import share_by_class
from fatcore.spectrum.damage.judging import judge_choices
from fatcore.spectrum.damage.left_out import (
    no_damage_findings,
)
from fatcore.spectrum.damage.linear import DamageSum, equivalent_range, refuse_several_ranges, short_cycles

from ...base.common import MAX_POINTS, Reply, reply
from ...base.units import unit_findings
from ..curves.resistance import limit_from, resisting_from
from ..described import guard_descriptions
from ..one_repeat import service_life
from . import models
from .choices import choices_of, single_range_findings
from .sums import sum_of


def assess(request: models.DamageRequest) -> Reply:
    """The reply to a damage request."""
    guard_descriptions(request.descriptions, None if request.range_mpa is None else len(request.range_mpa))
    held = resistance_of(request)
    limit = limit_from(request, held.curve, request.loading)
    summed = sum_of(request, held, limit)
    ranges, count, found, compared = summed.range_mpa, summed.count, summed.found, summed.compared
    if request.loading == "constant":
        refuse_several_ranges(ranges, count)
    total = request.repeats * found.damage
    if not np.isfinite(total):
        raise InputError("the damage of all repeats is beyond all numbers", "repeats")
    cycles = request.repeats * float(count.sum())
    use = (
        *use_findings(held.corrected, summed.largest_mpa, request.yield_strength_mpa, judged=True),
        *extreme_findings(held.curve, summed.extreme_mpa, request.yield_strength_mpa),
        *sum_findings(held.corrected, lambda on: float((count * on.damage_per_cycle(ranges)).sum())),
    )
    short = short_cycles(found, count, request.repeats)
    parts = [held, found, *(part for part in (summed.bonus, compared) if part)]
    small = no_damage_findings(total) if found.damage > 0.0 else ()
    largest = None if compared is None else compared.largest_definition

    def whole(curve: Curve) -> float:
        return request.repeats * summed.whole(curve)

    own_form = request.loading == "variable" and request.below_knee in ("as-curve", "original")
    choices = [*choices_of(request, largest), *summed.choices]
    findings = [
        *summed.findings,
        *judge_choices(total, limit, held, whole, choices, own_form=own_form),
        *single_range_findings(request, held.curve, ranges, count, limit),
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
        service_life=service_life(request.one_repeat, found.life_repeats, request.repeats),
        equivalent_range_mpa=_equivalent(found, total, held.corrected, request),
        reference_cycles=request.reference_cycles or cycles,
        largest_range_mpa=found.largest_range_mpa,
        total_count=cycles,
        idle_count=request.repeats * found.idle_count,
        class_shares=_class_shares(request, ranges, found),
        cycle_shares=_cycle_shares(request, ranges, count, found),
        definitions=compared,
        descriptions=request.descriptions,
    )


def resistance_of(request: models.DamageRequest) -> CurveResistance:
    """The resistance of a damage request; blocks may have corrections of their own each."""
    size = None if request.range_mpa is None else len(request.range_mpa)
    return resisting_from(request, loading=request.loading, size=size)


def _equivalent(found: DamageSum, total: float, curve: Curve, request: models.DamageRequest) -> float:
    """Of all repeats in the reference cycles; without these, repeats and cycles grow together."""
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
