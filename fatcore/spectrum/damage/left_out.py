"""What a count leaves out of the damage: findings about gates, half cycles, other rules and bonuses.

The yardstick is the closed rainflow count of the whole history on the curve of the document, of several modes
by the definition that does most, without bonus, strengthening factor or milder limit of the caller's: a sum
that is permissible only because it does less than that is no pass.
"""

from __future__ import annotations

import numpy as np

from fatcore import require
from fatcore.figures import against, as_given, figure
from fatcore.findings import Finding, caution, note, outside
from fatcore.require import FloatArray
from fatcore.spectrum.counting.cycles import Cycles

ROUNDING = 1e-9  # relative difference of damage that is rounding
DIFFERENCE_TO_DOUBT = 0.05  # relative difference of damage by definitions [toeline-mode-cycles]
NO_DAMAGE = 1e-9  # damage of all passes below which a unit is likelier to be wrong than the sum right
DROP_TO_DOUBT = 0.01  # share of the damage from which what a gate drops is doubtful


def relative_damage(counted: Cycles, slope: float, unit_mpa: float) -> float:
    """Sum of count times (range over a unit)**slope [-]: damage up to a factor, on a line of one slope.

    slope  : of the curve [-], > 0; unit_mpa: best the largest range, so that nothing overflows [MPa]
    Raises : InputError when one of them is not positive
    """
    m, unit = float(require.positive("slope", slope)), float(require.positive("unit_mpa", unit_mpa))
    return float((counted.count * (counted.range_mpa / unit) ** m).sum())


def passes_by_choice(asked: float, yardstick: float, limit: float, stated_limit: float | None = None) -> bool:
    """Whether a sum, or a utilisation, keeps to its limit only because of the caller's choices [-].

    yardstick, stated_limit : the same, and its limit, without these choices; None: the limit is no choice
    >>> passes_by_choice(0.4, 0.6, 0.5), passes_by_choice(0.4, 0.5, 0.5), passes_by_choice(0.6, 0.9, 0.5)
    (True, False, False)
    >>> passes_by_choice(0.8, 0.8, 1.0, 0.5)
    True
    """
    stated = limit if stated_limit is None else stated_limit
    return asked <= limit and stated < yardstick and _less(asked / limit, yardstick / stated)


def choice_findings(
    asked: float,
    yardstick: float,
    limit: float,
    choices: str,
    whole: str,
    *,
    field: str,
    stated_limit: float | None = None,
) -> tuple[Finding, ...]:
    """That the choices of the caller decide: what they leave out makes the difference to the limit.

    asked, yardstick, limit, stated_limit : of all passes [-], see `passes_by_choice`
    choices, whole          : what was chosen and what the yardstick counts, in words
    field                   : of the first of the choices
    """
    if not passes_by_choice(asked, yardstick, limit, stated_limit):
        return ()
    text = (
        f"{against(asked, limit)} keeps to the limit of {as_given(limit)} only because of {choices}; {whole} "
        f"it is {against(yardstick, limit if stated_limit is None else stated_limit)}"
    )
    if stated_limit is not None and stated_limit != limit:
        text += f" against a limit of {as_given(stated_limit)}"
    return (outside("choices-decide", f"{text}: no verdict by either", field=field),)


def turn_findings(history_mpa: FloatArray) -> tuple[Finding, ...]:
    """A caution when three samples or more only rise, or only fall: a column of times looks like that."""
    steps = np.diff(history_mpa)
    if history_mpa.size < 3 or ((steps < 0.0).any() and (steps > 0.0).any()):
        return ()
    return (
        caution(
            "history-never-turns",
            f"{history_mpa.size} samples only rise or only fall and hold one range: is it stress over time?",
            field="history_mpa",
        ),
    )


def gate_findings(partial_damage: float, whole_damage: float, hysteresis_threshold_mpa: float) -> tuple[Finding, ...]:
    """What a threshold took from the damage: both sums by the same rule, with it and without it [-]."""
    dropped = _percent(partial_damage, whole_damage)
    threshold = f"the hysteresis threshold of {as_given(hysteresis_threshold_mpa)} MPa"
    text = f"{threshold} drops {dropped} of the damage of the whole history"
    if partial_damage < (1.0 - DROP_TO_DOUBT) * whole_damage:
        return (caution("gate-drops-damage", text, field="hysteresis_threshold_mpa"),)
    return (note("gate-drops-little", text, field="hysteresis_threshold_mpa"),)


def no_damage_findings(damage: float) -> tuple[Finding, ...]:
    """A caution when all passes together do as good as no damage [-]."""
    if damage >= NO_DAMAGE:
        return ()
    text = f"a damage sum of {figure(damage)} is as good as none on this curve: check the unit of the stress"
    return (caution("no-damage-counted", text, field="damage"),)


def half_findings(partial_damage: float, whole_damage: float, repeats: float) -> tuple[Finding, ...]:
    """What counting a record as one that happens once takes from the damage of one that repeats [-]."""
    if not _less(partial_damage, whole_damage):
        return ()
    share = f"{_percent(partial_damage, whole_damage)} less damage than as a block that repeats"
    if repeats <= 1.0:
        return (note("half-cycles", f"the record happens once at the most: {share}", field="residue"),)
    text = f"the ranges between {as_given(repeats)} repeats are left out: {share}; take closed for repeats in a row"
    return (caution("passes-not-joined", text, field="residue"),)


def rule_findings(partial_damage: float, whole_damage: float, rule: str, slope: float) -> tuple[Finding, ...]:
    """What a count takes from the damage of the closed rainflow count of the same samples [-]."""
    if not _less(partial_damage, whole_damage):
        return ()
    less = _percent(partial_damage, whole_damage)
    text = (
        f"{rule}: on a slope of {as_given(slope)} these cycles do {less} less damage "
        "than the closed rainflow count of the same history"
    )
    return (caution("count-below-rainflow", text, field="rule"),)


def bonus_findings(partial_damage: float, whole_damage: float, mean_stress: str) -> tuple[Finding, ...]:
    """What a mean-stress correction takes from the damage of the full ranges [-]."""
    if not _less(partial_damage, whole_damage):
        text = f"{mean_stress}: no range that does damage is reduced; all count in full"
        return (note("mean-stress-bonus-unused", text, field="mean_stress"),)
    text = (
        f"{mean_stress}: ranges are reduced, {_percent(partial_damage, whole_damage)} less damage than in "
        "full; holds only where residual stresses are known to be as low as that"
    )
    return (caution("mean-stress-bonus", text, field="mean_stress"),)


def definition_findings(
    partial_damage: float, whole_damage: float, definition: str, largest_definition: str
) -> tuple[Finding, ...]:
    """How many times more damage the cycles of another definition do [-]."""
    if whole_damage <= (1.0 + DIFFERENCE_TO_DOUBT) * partial_damage:
        return ()
    times = f"{figure(whole_damage / partial_damage)} times" if partial_damage > 0.0 else "any number of times"
    text = f"'{largest_definition}' counts {times} more damage than '{definition}', which is used here"
    return (caution("definition-does-less", text, field="definition"),)


def _less(part: float, whole: float) -> bool:
    return part < (1.0 - ROUNDING) * whole


def _percent(part: float, whole: float) -> str:
    return f"{figure(100.0 * max(1.0 - part / whole, 0.0) if whole > 0.0 else 0.0)} %"
