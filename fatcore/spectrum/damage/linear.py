"""Linear damage sum (Palmgren-Miner) of counted cycles or blocks on a design curve."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated

import numpy as np
from annotated_types import Ge
from numpy.typing import ArrayLike

from fatcore import require
from fatcore.bounds import Positive, guarded
from fatcore.curves.curve import Curve
from fatcore.curves.limits.damage_limits import DamageLimit, as_damage_limit
from fatcore.curves.limits.limits_of_use import SHORTEST_LIFE, short_life_findings
from fatcore.curves.limits.range_sizes import no_damage_finding
from fatcore.errors import InputError
from fatcore.figures import against, as_given
from fatcore.findings import Finding, caution, note
from fatcore.outcome import Outcome, evidence
from fatcore.require import FloatArray
from fatcore.spectrum.counting.cycles import Cycles
from fatcore.spectrum.damage.below_knee import BelowKnee, below_knee_curve, knee_of

ONE_RANGE = 1e-9  # relative difference of ranges that is rounding

Sizes = Annotated[ArrayLike, Ge(0.0)]  # beyond those of a request: ranges of stresses add up
EffectiveRange = Callable[[FloatArray, FloatArray], FloatArray]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DamageSum(Outcome):
    """Damage of one pass of a spectrum.

    damage               : sum of count over life [-]
    cycle_damage         : part of each cycle or block in it [-]; cycle_share: the same over the sum [-]
    damage_limit         : permissible sum [-]; life_repeats: passes until it is reached, None: infinite
    equivalent_range_mpa : constant range that does the same damage in reference_cycles on the first slope of
                           the curve, extended downwards [MPa]
    largest_range_mpa    : largest range counted, after a mean-stress correction [MPa]
    idle_count           : cycles that do no damage; slope: first slope of the curve [-]
    """

    damage: float
    cycle_damage: FloatArray
    cycle_share: FloatArray
    damage_limit: float
    life_repeats: float | None
    equivalent_range_mpa: float
    reference_cycles: float
    largest_range_mpa: float
    idle_count: float
    slope: float
    below_knee: BelowKnee


@guarded
def damage_sum(
    range_mpa: Sizes,
    count: Sizes,
    curve: Curve,
    *,
    below_knee: BelowKnee = "as-curve",
    damage_limit: DamageLimit | float | None = None,
    reference_cycles: Positive | None = None,
) -> DamageSum:
    """Damage of ranges and their counts on a curve, whole cycles and halves alike.

    range_mpa, count : of each cycle or block
    damage_limit     : sum at which the life ends [-]; None is that of the curve's document, see
                       `curves.damage_limits.settled_damage_limit`
    reference_cycles : of the equivalent range; None takes the number of cycles of the spectrum
    Returns          : outcome; it says how the equivalent range must be used
    Raises           : InputError for unequal lengths, an empty spectrum
    Source           : [palmgren-miner], below the knee see `below_knee`
    """
    require.one_length(range_mpa=range_mpa, count=count)
    ranges, counts = np.asarray(range_mpa, dtype=np.float64), np.asarray(count, dtype=np.float64)
    if not counts.any():
        raise InputError("no cycle happens: every count is 0", "count")
    limited = as_damage_limit(damage_limit, curve)
    cycles = float(counts.sum()) if reference_cycles is None else reference_cycles
    used = below_knee_curve(curve, below_knee)
    parts = _parts(ranges, counts, used)
    damage = float(parts.sum())
    if not np.isfinite(damage):
        raise InputError("the damage is beyond all numbers: check the unit of the ranges", "range_mpa")
    equivalent = float(equivalent_range(damage, cycles, curve))
    as_printed = damage if used is curve else float(_parts(ranges, counts, curve).sum())
    return DamageSum(
        damage=damage,
        cycle_damage=parts,
        cycle_share=parts / damage if damage > 0.0 else np.zeros_like(parts),
        damage_limit=limited.damage_limit,
        life_repeats=_passes(limited.damage_limit, damage),
        equivalent_range_mpa=equivalent,
        reference_cycles=cycles,
        largest_range_mpa=float(ranges[counts > 0.0].max()),
        idle_count=float(counts[parts == 0.0].sum()),
        slope=curve.slopes[0],
        below_knee=below_knee,
        **evidence(
            limited,
            findings=(
                *_findings(curve, used, below_knee, equivalent),
                *_doubts(damage, as_printed, below_knee, ranges[counts > 0.0], used),
            ),
            sources=("palmgren-miner", curve.source, *_form_source(below_knee)),
            tables=(curve.table,) if curve.table else (),
        ),
    )


def damage_of_cycles(
    counted: Cycles,
    curve: Curve,
    *,
    effective_range: EffectiveRange | None = None,
    below_knee: BelowKnee = "as-curve",
    damage_limit: DamageLimit | float | None = None,
    reference_cycles: float | None = None,
) -> DamageSum:
    """Damage of counted cycles, each with its own mean-stress correction where one is given.

    effective_range : function of the lower and upper stress of the cycles [MPa] that gives their effective
                      ranges [MPa], as the curve's document corrects them; None counts every range in full
    Raises          : InputError when nothing was counted, and as `damage_sum`
    """
    if counted.count.size == 0:
        raise InputError("no cycle was counted", "history_mpa")
    ranges = counted.range_mpa
    if effective_range is not None:
        ranges = np.asarray(effective_range(counted.minimum_mpa, counted.maximum_mpa), dtype=np.float64)
    return damage_sum(
        ranges,
        counted.count,
        curve,
        below_knee=below_knee,
        damage_limit=damage_limit,
        reference_cycles=reference_cycles,
    )


def equivalent_range(damage: ArrayLike, reference_cycles: ArrayLike, curve: Curve) -> FloatArray:
    """Constant range that does the damage in the reference cycles on the curve's first slope [MPa].

    On that line, extended below the knee, it gives back the damage exactly; on a curve with a knee it must
    not be looked up when it lies below the knee.
    Raises : InputError for a negative damage, cycles that are not positive, a range beyond all numbers
    Source : [iiw-2016] equivalent range of a two-slope curve, written for a damage sum
    """
    shares = require.within("damage", damage, 0.0, np.inf, open_high=True)
    cycles = require.positive("reference_cycles", reference_cycles)
    with np.errstate(divide="ignore", over="ignore", under="ignore"):
        powers = np.log10(shares) + (curve.log10_constants[0] - np.log10(cycles))
        ranges = np.asarray(10.0 ** (powers / curve.slopes[0]))
    if not np.isfinite(ranges).all():
        raise InputError("the equivalent range is beyond all numbers: check the slope", "curve")
    return ranges


def short_cycles(found: DamageSum, count: ArrayLike, repeats: float = 1.0) -> tuple[Finding, ...]:
    """What is said of cycles whose own life is too short for the curve, cycle by cycle.

    count : of each cycle or block in one pass, as summed; repeats: passes
    """
    counts = np.asarray(count, dtype=np.float64)
    each = np.divide(found.cycle_damage, counts, out=np.zeros(counts.shape), where=counts > 0.0)
    short = each * SHORTEST_LIFE > found.damage_limit * (1.0 + ONE_RANGE)
    if not short.any():
        return ()
    used = repeats * float(found.cycle_damage[short].sum()) / found.damage_limit
    return short_life_findings(used, found.damage_limit / float(each.max()))


def refuse_several_ranges(range_mpa: ArrayLike, count: ArrayLike) -> None:
    """Refuses a spectrum for the curve of constant amplitude, which holds for one single range.

    range_mpa, count : of each cycle or block [MPa], [-]; those that never happen do not matter
    Raises           : InputError when ranges differ beyond rounding
    """
    happening = np.asarray(range_mpa, dtype=np.float64)[np.asarray(count) > 0.0]
    if happening.size and happening.min() < (1.0 - ONE_RANGE) * happening.max():
        raise InputError(
            f"constant is for one single range; here are {as_given(happening.min())} to "
            f"{as_given(happening.max())} MPa: "
            "below the limit of constant amplitude the smaller ones do damage as well, take variable",
            "loading",
        )


def _parts(ranges: FloatArray, counts: FloatArray, curve: Curve) -> FloatArray:
    """Damage of every block, inf beyond all numbers; 0 for one that never happens, whatever its range."""
    with np.errstate(over="ignore", under="ignore", invalid="ignore"):
        return np.where(counts > 0.0, counts * curve.damage_per_cycle(ranges), 0.0)


def _passes(limit: float, damage: float) -> float | None:
    passes = limit / damage if damage > 0.0 else np.inf
    return passes if np.isfinite(passes) else None


def _form_source(below_knee: BelowKnee) -> tuple[str, ...]:
    return () if below_knee == "as-curve" else ("below-knee-forms",)


def _doubts(damage: float, as_printed: float, below_knee: BelowKnee, ranges: FloatArray, used: Curve) -> list[Finding]:
    found = []
    if damage == 0.0:
        found.append(no_damage_finding(ranges, used.cut_off_mpa, "damage"))
    if damage < (1.0 - ONE_RANGE) * as_printed:
        found.append(
            caution(
                "below-knee-form-does-less",
                f"'{below_knee}' gives {against(damage, as_printed)}, the curve of the document "
                f"{against(as_printed, damage)}",
                field="below_knee",
                source="below-knee-forms",
            )
        )
    return found


def _findings(curve: Curve, used: Curve, below_knee: BelowKnee, equivalent: float) -> list[Finding]:
    found = [
        note(
            "damage-sum-scatter",
            "damage sums at failure scatter by a factor of 3 to 10 in tests: the sum is a rule, not a law",
            field="damage",
            source="palmgren-miner",
        )
    ]
    knee = knee_of(curve)
    if knee is None and below_knee != "as-curve":
        found.append(note("no-knee", "the curve has no knee: all forms give the same sum", field="below_knee"))
    if below_knee == "original" and knee is not None:
        found.append(
            caution(
                "no-damage-below-knee",
                "ranges below the knee count as harmless; larger cycles of the same spectrum lower the knee, "
                "so that the sum lies on the unsafe side",
                field="below_knee",
                source="below-knee-forms",
            )
        )
    if len(used.slopes) > 1 and 0.0 < equivalent < used.knees_mpa[0]:
        found.append(
            note(
                "equivalent-below-knee",
                "the equivalent range lies below the knee: compare it with the first slope extended down, "
                "never with the two-slope curve",
                field="equivalent_range_mpa",
                source="iiw-2016",
            )
        )
    return found
