"""Long-term distributions of stress ranges: Weibull form, defined by the range exceeded once."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import numpy as np
from annotated_types import doc

from fatcore.bounds import Positive, guarded
from fatcore.curves.curve import Curve
from fatcore.curves.limits.damage_limits import DamageLimit, as_damage_limit
from fatcore.curves.limits.limits_of_use import NOTICEABLE, short_life_findings, shortest_lived_range
from fatcore.errors import InputError, NotConvergedError
from fatcore.findings import Finding, caution, outside_limits
from fatcore.outcome import Outcome, evidence
from fatcore.spectrum.damage.left_out import no_damage_findings
from fatcore.spectrum.damage.linear import equivalent_range
from fatcore.spectrum.damage.shapes import RATIO_LIMITS, NumberOfCycles, ShapeExponent
from fatcore.spectrum.damage.weibull import log_expected_damage, share_beyond


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LongTerm(Outcome):
    """Damage of a Weibull long-term distribution.

    damage               : of all cycles [-]; cycles: their number
    equivalent_range_mpa : constant range of the same damage in the same cycles on the first slope [MPa]
    life_repeats     : how often the distribution may be gone through, None: infinite life
    range_exceeded_once_mpa : the largest range of these cycles, see `range_exceeded_once` [MPa]
    """

    damage: float
    cycles: float
    scale_mpa: float
    equivalent_range_mpa: float
    allowable_range_mpa: float
    damage_limit: float
    life_repeats: float | None
    range_exceeded_once_mpa: float


@guarded
def weibull_scale(
    largest_range_mpa: Positive, reference_cycles: NumberOfCycles, shape_exponent: ShapeExponent
) -> float:
    """Scale of the Weibull distribution whose largest range is exceeded once in the reference cycles [MPa].

    Source : [weibull-range-distribution]
    """
    return float(largest_range_mpa / np.log(reference_cycles) ** (1.0 / shape_exponent))


@guarded
def range_exceeded_once(scale_mpa: Positive, cycles: Positive, shape_exponent: ShapeExponent) -> float:
    """Range that is exceeded once in so many cycles [MPa], the inverse of `weibull_scale`.

    It does not depend on the reference cycles in which the distribution was written down.
    cycles : fewer than e count as e, for which it is the scale [own choice]
    Source : [weibull-range-distribution]
    >>> round(range_exceeded_once(weibull_scale(500.0, 1e4, 1.0), 1e7, 1.0), 9)
    875.0
    """
    return float(scale_mpa * np.log(max(cycles, np.e)) ** (1.0 / shape_exponent))


@guarded
def long_term_damage(
    largest_range_mpa: Positive,
    reference_cycles: NumberOfCycles,
    shape_exponent: ShapeExponent,
    curve: Curve,
    *,
    cycles: Annotated[Positive | None, doc("cycles gone through; null: the reference cycles")] = None,
    damage_limit: DamageLimit | float | None = None,
) -> LongTerm:
    """Damage of ranges with a Weibull distribution, closed form for any number of slopes.

    largest_range_mpa : exceeded once in the reference cycles [MPa]
    damage_limit      : [-], None is that of the curve's document
    Raises            : InputError where the numbers leave what can be written
    Source            : [weibull-range-distribution], [dnv-rp-c203-2016] simplified analysis
    """
    scale = weibull_scale(largest_range_mpa, reference_cycles, shape_exponent)
    count = reference_cycles if cycles is None else cycles
    limited = as_damage_limit(damage_limit, curve)
    limit = limited.damage_limit
    with np.errstate(over="ignore", under="ignore"):
        damage = float(np.exp(log_expected_damage(curve, scale, shape_exponent) + np.log(count)))
    if not np.isfinite(damage):
        raise InputError("the damage is beyond all numbers: check the ranges and the shape", "shape_exponent")
    allowed = allowable_largest_range(reference_cycles, shape_exponent, curve, cycles=count, damage_limit=limited)
    repeats = limit / damage if damage > 0.0 and np.isfinite(limit / damage) else None
    largest = range_exceeded_once(scale, count, shape_exponent)
    beyond = share_beyond(curve, scale, shape_exponent, largest) if damage > 0.0 else 0.0
    return LongTerm(
        damage=damage,
        cycles=count,
        scale_mpa=scale,
        equivalent_range_mpa=float(equivalent_range(damage, count, curve)),
        allowable_range_mpa=allowed,
        damage_limit=limit,
        life_repeats=repeats,
        range_exceeded_once_mpa=largest,
        **evidence(
            limited,
            findings=(
                caution(
                    "assumed-distribution",
                    "the shape of the long-term distribution decides the damage and is an assumption "
                    "unless fitted to measurements",
                    field="shape_exponent",
                    source="weibull-range-distribution",
                ),
                *no_damage_findings(damage),
                *outside_limits(RATIO_LIMITS, share_beyond=beyond),
                *short_ranges(curve, scale, shape_exponent, damage, limit, largest),
            ),
            sources=("weibull-range-distribution", "palmgren-miner", curve.source),
            tables=(curve.table,) if curve.table else (),
        ),
    )


def short_ranges(
    curve: Curve, scale_mpa: float, shape_exponent: float, damage: float, damage_limit: float, largest_range_mpa: float
) -> tuple[Finding, ...]:
    """What is said of the ranges of a Weibull distribution whose own life is too short for the curve.

    damage            : of all cycles [-]; damage_limit: sum at which the life ends [-]
    largest_range_mpa : of all cycles, whose life is named
    """
    if damage == 0.0:
        return ()
    start = shortest_lived_range(curve, damage_limit)
    used = damage / damage_limit * share_beyond(curve, scale_mpa, shape_exponent, start)
    if largest_range_mpa <= start and used < NOTICEABLE:
        return ()
    return short_life_findings(used, damage_limit * float(curve.life_cycles(max(start, largest_range_mpa))))


@guarded
def allowable_largest_range(
    reference_cycles: NumberOfCycles,
    shape_exponent: ShapeExponent,
    curve: Curve,
    *,
    cycles: Positive | None = None,
    damage_limit: DamageLimit | float | None = None,
) -> float:
    """Range exceeded once in the reference cycles at which the damage just reaches the limit [MPa].

    Raises : NotConvergedError when no such range exists in numbers
    """
    from scipy.optimize import brentq

    count = reference_cycles if cycles is None else cycles
    unit = weibull_scale(1.0, reference_cycles, shape_exponent)
    target = np.log(as_damage_limit(damage_limit, curve).damage_limit) - np.log(count)

    def excess(log_range: float) -> float:
        value = log_expected_damage(curve, np.exp(log_range) * unit, shape_exponent)
        return float(np.clip(value - target, -1e3, 1e3))

    low, high = np.log(1e-6), np.log(1e9)
    if excess(low) > 0.0 or excess(high) < 0.0:
        raise NotConvergedError(
            "no largest range between 1e-6 and 1e9 MPa gives the permissible damage", "largest_range_mpa"
        )
    return float(np.exp(brentq(excess, low, high, xtol=1e-13)))
