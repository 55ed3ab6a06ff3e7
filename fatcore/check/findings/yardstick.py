"""The yardstick of a check: the same lines with nothing of the caller's choice that is milder than the documents."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from fatcore.check.line import WeldLine
from fatcore.check.loading import HistoryLoading, Loading
from fatcore.check.stations import Governing, LineState, assess
from fatcore.check.strength.resistance import Resistance, Target
from fatcore.check.strength.strength import Strength
from fatcore.curves.limits.damage_limits import DamageLimit
from fatcore.curves.relief import Choice
from fatcore.curves.resistance import CurveResistance
from fatcore.errors import at
from fatcore.findings import Finding
from fatcore.require import FloatArray
from fatcore.spectrum.damage.below_knee import form_choice, stated_form
from fatcore.spectrum.damage.judging import WHOLE
from fatcore.spectrum.damage.left_out import choice_findings

RESIDUE = Choice("residue", "residue half")
REPEATING = "counted as a record that repeats"


@dataclass(frozen=True, slots=True, kw_only=True)
class Yardstick:
    """What a check is measured by, besides itself.

    loading            : with the cycles between passes, where these happen
    resistance, target : the curves of the documents, with what weakens them and nothing that strengthens
    damage_limit       : of the documents of the curves [-]
    choices            : of the caller that are milder; without any the check is its own yardstick
    """

    loading: Loading
    resistance: Resistance
    target: Target
    damage_limit: float
    choices: tuple[Choice, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """A line by the yardstick.

    utilisation : largest of its judged stations; used_share: damage over what is allowed, 0 where not judged
    strength    : of the yardstick; findings: where the choices decide
    cycles      : of one pass as asked at its governing station
    """

    utilisation: float
    used_share: FloatArray
    strength: Strength
    cycles: float
    findings: tuple[Finding, ...] = ()


def joined(loading: Loading, repeats: float) -> HistoryLoading | None:
    """The history counted with the cycles between its passes, where it is to be passed more than once and is
    counted without them; None for every other loading."""
    if not isinstance(loading, HistoryLoading) or loading.residue == "closed" or repeats <= 1.0:
        return None
    return replace(loading, residue="closed")


def yardstick_of(
    loading: Loading, resistance: Resistance, target: Target, limit: DamageLimit, held: Sequence[CurveResistance]
) -> Yardstick:
    """The yardstick of a check; held: its curves with what moves and corrects them."""
    whole = joined(loading, target.repeats)
    with at("curves"):
        curves = [each.unrelieved for each in held]
    forms = [choice for each in curves for choice in form_choice(each)] if resistance.amplitude == "variable" else []
    curve, *shear = [stated_form(each) for each in curves] if forms else curves
    choices = [*([RESIDUE] if whole else []), *(choice for each in held for choice in each.milder_choices)]
    choices += forms
    if limit.milder_choice is not None:
        choices.append(limit.milder_choice)
    return Yardstick(
        loading=whole or loading,
        resistance=replace(
            resistance, curve=curve, shear_curve=shear[0] if shear else None, corrections=(), shear_corrections=()
        ),
        target=replace(target, survival_probability=None, sample_size=None),
        damage_limit=limit.stated_limit,
        choices=tuple(dict.fromkeys(choices)),
    )


def measure(
    lines: Sequence[WeldLine],
    assessed: Mapping[int, tuple[LineState, Governing]],
    strengths: Sequence[Strength],
    limit: DamageLimit,
    yardstick: Yardstick,
    unrelieved: Callable[[int], Strength],
) -> dict[int, Measured]:
    """Lines by the yardstick, with `outside` where one keeps to its limit only by choices of the caller.

    assessed, strengths, limit : as asked; unrelieved: gives the strength of a line by the yardstick
    """
    passes, found = yardstick.target.repeats, {}
    for place, (state, best) in assessed.items():
        share = np.where(state.judged, state.damage * passes / limit.damage_limit, 0.0)
        cycles = float(state.cycles[best.index])
        found[place] = Measured(
            utilisation=best.utilisation, used_share=share, strength=strengths[place], cycles=cycles
        )
    kept = [place for place, each in found.items() if yardstick.choices and each.utilisation <= 1.0]
    others = {place: unrelieved(place) for place in kept}
    allowed = yardstick.damage_limit / passes
    again = assess(
        {place: lines[place] for place in kept},
        yardstick.loading,
        others,
        allowed=allowed,
        damage_limit=yardstick.damage_limit,
        load_factor=yardstick.target.load_factor,
    )
    for place, (there, worst) in again.items():
        asked = found[place]
        decide = _choices_decide(yardstick, asked.utilisation, worst.utilisation)
        found[place] = Measured(
            utilisation=max(asked.utilisation, worst.utilisation),
            used_share=np.where(there.judged, there.damage / allowed, 0.0),
            strength=others[place],
            cycles=asked.cycles,
            findings=tuple(replace(finding, line=lines[place].name) for finding in decide),
        )
    return found


def _choices_decide(yardstick: Yardstick, asked: float, whole: float) -> tuple[Finding, ...]:
    words = ", ".join(choice.words for choice in yardstick.choices)
    return choice_findings(asked, whole, 1.0, words, WHOLE, field=yardstick.choices[0].field)
