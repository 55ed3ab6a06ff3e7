"""What the choices of a damage request leave out, and whether that decides: its yardstick and its limit."""

from __future__ import annotations

from fatcore.curves.curve import Curve
from fatcore.curves.damage_limits import DamageLimit
from fatcore.curves.resistance import CurveResistance, largest_partial_factor
from fatcore.findings import Finding, note, outside
from fatcore.require import FloatArray
from fatcore.spectrum.counting.count import Residue
from fatcore.spectrum.damage.below_knee import BelowKnee
from fatcore.spectrum.damage.left_out import choice_findings
from fatcore.spectrum.damage.linear import ONE_RANGE, damage_sum

from ..curves.resistance import limit_from
from . import models


def forms_of(request: models.DamageRequest) -> tuple[BelowKnee, BelowKnee]:
    """The form below the knee that is asked for, and the one of the curve's document."""
    return request.below_knee, "as-curve"


def whole_residue(request: models.DamageRequest) -> Residue:
    """The residue that leaves nothing out: half cycles are for a record that does not come again."""
    return "closed" if request.repeats > 1.0 else request.residue


def decided_by_choice(
    request: models.DamageRequest,
    damage: float,
    yardstick: float,
    limit: DamageLimit,
    largest_definition: str | None,
) -> tuple[Finding, ...]:
    """Whether what the request leaves out decides, and in which fields it does so.

    damage, yardstick : of all passes, as asked and with nothing left out [-]
    """
    chosen = []
    if request.hysteresis_threshold_mpa > 0.0:
        chosen.append(("hysteresis_threshold_mpa", f"{request.hysteresis_threshold_mpa:g}"))
    if request.residue != whole_residue(request):
        chosen.append(("residue", request.residue))
    if largest_definition not in (None, request.definition):
        chosen.append(("definition", request.definition))
    if request.below_knee != "as-curve":
        chosen.append(("below_knee", request.below_knee))
    words = ", ".join(f"{name} {value}" for name, value in chosen)
    field = chosen[0][0] if chosen else "damage"
    whole = "with nothing left out, on the curve of the document,"
    return choice_findings(damage, yardstick, limit.damage_limit, words, whole, field=field)


def single_range_findings(
    request: models.DamageRequest, curve: Curve, range_mpa: FloatArray, count: FloatArray, limit: DamageLimit
) -> list[Finding]:
    """Which limit one single range has as variable loading, where constant amplitude would have another."""
    if request.loading == "constant" or request.hysteresis_threshold_mpa > 0.0:
        return []
    happening = range_mpa[count > 0.0]
    constant = limit_from(request, curve, "constant").damage_limit
    several = happening.min() < (1.0 - ONE_RANGE) * happening.max()
    if several or request.mean_stress != "none" or constant == limit.damage_limit:
        return []
    text = (
        f"one single range, taken as variable amplitude: sums up to {limit.damage_limit:g} pass; with "
        f"loading constant, on the curve of constant amplitude, sums up to {constant:g} would"
    )
    return [note("one-range-as-variable", text, field="loading")]


def partial_factor_findings(
    request: models.DamageRequest, held: CurveResistance, ranges: FloatArray, count: FloatArray, limit: DamageLimit
) -> tuple[Finding, ...]:
    """An `outside` finding where only the partial factor that is missing takes the damage over its limit."""
    factor = largest_partial_factor(held.given, held.corrections)

    def damage(times: float) -> float:
        used = damage_sum(times * ranges, count, held.corrected, below_knee=request.below_knee)
        return request.repeats * used.damage

    if factor is None or damage(1.0) > limit.damage_limit:
        return ()
    more = damage(factor)
    if more <= limit.damage_limit:
        return ()
    text = (
        f"no partial factor was applied: with the document's largest, {factor:g}, the damage is {more:.4g};"
        " name concept and consequence as a correction of kind partial-factor, also where 1 is meant"
    )
    return (outside("damage-without-partial-factor", text, field="corrections"),)
