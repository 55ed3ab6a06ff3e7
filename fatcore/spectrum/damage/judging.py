"""Whether the choices of the caller decide over a damage sum: the one yardstick of every route that has a limit."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from fatcore.curves.curve import Curve
from fatcore.curves.limits.damage_limits import DamageLimit
from fatcore.curves.not_applied import missing_partial_factor
from fatcore.curves.relief import Choice
from fatcore.curves.resistance import CurveResistance
from fatcore.figures import against, figure
from fatcore.findings import Finding, outside
from fatcore.spectrum.damage.below_knee import form_choice, stated_form
from fatcore.spectrum.damage.left_out import choice_findings

WHOLE = "with nothing left out, on the curve of the document and by its limit,"


def judge_choices(
    damage: float,
    limit: DamageLimit,
    held: CurveResistance,
    whole_damage: Callable[[Curve], float],
    choices: Sequence[Choice] = (),
    *,
    own_form: bool,
) -> tuple[Finding, ...]:
    """`outside` where the sum keeps to its limit only by choices of the caller, or without a partial factor.

    damage  : of all passes, as asked [-]
    whole_damage : of all passes with nothing left out and no bonus, on any curve [-]
    choices : of the caller besides those of the curve and of the limit
    own_form: the form below the knee of a curve of the user's own counts, as under variable loading
    """
    if damage > limit.damage_limit:
        return ()
    made = [*choices, *held.milder_choices, *([limit.milder_choice] if limit.milder_choice else [])]
    stated = held.unrelieved
    if own_form:
        made, stated = [*made, *form_choice(stated)], stated_form(stated)
    yardstick = max(damage, whole_damage(stated))
    words = ", ".join(choice.words for choice in made)
    field = made[0].field if made else "damage"
    found = choice_findings(
        damage, yardstick, limit.damage_limit, words, WHOLE, field=field, stated_limit=limit.stated_limit
    )
    return found or _without_partial_factor(limit, held, whole_damage)


def _without_partial_factor(
    limit: DamageLimit, held: CurveResistance, whole_damage: Callable[[Curve], float]
) -> tuple[Finding, ...]:
    factor = missing_partial_factor(held.given, held.corrections)
    more = 0.0 if factor is None else whole_damage(held.unrelieved.scaled(1.0 / factor))
    if more <= limit.stated_limit:
        return ()
    text = (
        f"no partial factor of the document was applied: with the largest, strengths another {figure(factor)} times"
        f" smaller, the damage is {against(more, limit.stated_limit)}; name concept and consequence as a "
        "correction of kind"
        " partial-factor, also where 1 is meant"
    )
    return (outside("damage-without-partial-factor", text, field="corrections"),)
