"""Cycles at the governing point of a check, by the same functions as the verdict, for its pictures."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fatcore.check.line import case_matrix
from fatcore.check.loading import Loading, batches
from fatcore.check.several import LineSettings
from fatcore.check.stations import harm_of
from fatcore.check.strength.judged import Judged
from fatcore.check.strength.making import strength_of
from fatcore.check.strength.strength import Strength
from fatcore.curves.curve import Curve
from fatcore.require import FloatArray

from ..topics.check import settings as topic
from ..topics.check.models import CheckRequest


@dataclass(frozen=True, slots=True, kw_only=True)
class GoverningCycles:
    """Every counted cycle at one station over all repeats, (c,), with the strength it was judged by.

    range_mpa : equivalent range with the load factor, ratio: its biaxiality ratio; count: over all repeats
    damage    : of all repeats, by cycle; their sum is the damage of the answer
    curve     : of the governing point, at the survival probability and with the factors of the target
    """

    range_mpa: FloatArray
    ratio: FloatArray
    count: FloatArray
    damage: FloatArray
    curve: Curve


def governing_cycles(request: CheckRequest, line_index: int, station: int, curve_id: str) -> GoverningCycles:
    """The cycles at one station of a line of the request; curve_id is that of the answer."""
    loading, target = request.loading.to_core(), topic.target_of(request)
    used = topic.settings_of(request)[line_index]
    unit, strength = stressed(request, line_index, loading, used)
    allowed = target.limit(used.resistance).damage_limit / target.repeats
    harm = harm_of(strength, allowed)
    (batch,) = batches(unit[station : station + 1], loading, strength.weights, harm)
    judged = strength.judge(batch)
    count = judged.count * target.repeats
    return GoverningCycles(
        range_mpa=judged.equivalent_mpa[0],
        ratio=judged.ratio[0],
        count=count,
        damage=_damage_of_one(strength, judged) * count,
        curve=next(curve for curve in strength.curves if curve.id == curve_id),
    )


def stressed(
    request: CheckRequest, line_index: int, loading: Loading, used: LineSettings
) -> tuple[FloatArray, Strength]:
    """Stresses of the load cases at the stations of a line with the load factor (n, m, k), and its strength."""
    line, target = request.lines[line_index].to_core(), topic.target_of(request)
    given = (used.resistance, target, used.material, used.condition, request.coefficients, loading)
    strength, _ = strength_of(line, *given)
    return target.load_factor * case_matrix(line, loading.names()), strength


def _damage_of_one(strength: Strength, judged: Judged) -> FloatArray:
    # every cycle as a station of its own with one cycle
    apart = Judged(
        equivalent_mpa=judged.equivalent_mpa.T,
        ratio=judged.ratio.T,
        second_mpa=judged.second_mpa.T,
        count=np.ones(1),
    )
    return strength.damage(apart)[0]


def tabled_curves(request: CheckRequest) -> set[str]:
    """Curves of the catalogue that lines of the request are judged by."""
    curves = [curve for used in topic.settings_of(request) for curve in used.resistance.curves()]
    return {curve.id for curve in curves if curve.table} - {curve.id for curve in curves if not curve.table}


def base_curve(request: CheckRequest, line_index: int, curve_id: str) -> Curve:
    """The curve of a line as its source gives it, before survival and factors of the target."""
    curves = topic.settings_of(request)[line_index].resistance.curves()
    return next(curve for curve in curves if curve.id == curve_id)
