"""Which of two curves a point is checked on, by its local biaxiality ratio.

Below the lower bound the opening curve decides, above the upper bound the shear curve; between them, both
bounds included, both curves are evaluated and the shorter life governs.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from operator import itemgetter
from typing import TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fatcore.bounds import NonNegative, guarded
from fatcore.curves.curve import Curve
from fatcore.curves.segments import common_shape, not_negative
from fatcore.curves.standards import catalogue
from fatcore.errors import InputError
from fatcore.figures import as_given, counted, figure, rounded_down
from fatcore.findings import Finding, caution, outside
from fatcore.outcome import Outcome, evidence
from fatcore.require import FloatArray
from fatcore.tables import load

OPENING = 0
SHEAR = 1
OPENING_ID, SHEAR_ID = "peak-stress-opening", "peak-stress-shear"
NEAR_BOUND, BOUND_DECIDES = "biaxiality-near-bound", "biaxiality-bound-decides"

_Choice = NDArray[np.int8]
Bound = TypeVar("Bound", float, FloatArray)

_TABLE = "curves/biaxiality_rule"
_COUNTS = 0.01  # share of the damage from which cycles are worth a word


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TwoCurveDamage(Outcome):
    """Damage of one cycle at each point, and the curve that governs it (0 opening, 1 shear)."""

    damage_per_cycle: FloatArray
    curve_choice: _Choice


@cache
def default_bounds() -> tuple[float, float]:
    """Lower and upper bound of the biaxiality ratio when the user gives none [own choice]."""
    bounds = load(_TABLE)["bounds"]
    return bounds["lower"], bounds["upper"]


@guarded
def damage_per_cycle(
    equivalent_mpa: ArrayLike,
    biaxiality_ratio: ArrayLike,
    *,
    opening_curve: Curve,
    shear_curve: Curve,
    lower: NonNegative,
    upper: NonNegative,
) -> tuple[FloatArray, _Choice]:
    """Damage of one cycle by the two-curve rule, and the curve that governs (0 opening, 1 shear).

    equivalent_mpa   : range of the equivalent peak stress, >= 0, scalar or array
    biaxiality_ratio : of the same points, >= 0; inf where there is no opening stress
    lower, upper     : bounds of the ratio, lower <= upper
    Returns          : damage [-] and choice, broadcast shape; where both curves give one damage: opening
    Raises           : InputError outside these
    Source           : [biaxiality-rule]
    """
    _check_bounds(lower, upper)
    stress, ratio = _points(equivalent_mpa, biaxiality_ratio)
    for curve in (opening_curve, shear_curve):
        curve.guard_quantity("stress range")
    return damage_of_points(stress, ratio, opening_curve, shear_curve, (lower, upper))


def damage_of_points(
    stress_mpa: FloatArray, ratio: FloatArray, opening_curve: Curve, shear_curve: Curve, bounds: tuple[float, float]
) -> tuple[FloatArray, _Choice]:
    """`damage_per_cycle` of stress ranges and ratios that are known to be neither negative nor NaN."""
    lower, upper = bounds
    opening = opening_curve.damage_at(np.where(ratio <= upper, stress_mpa, 0.0))
    shear = shear_curve.damage_at(np.where(ratio >= lower, stress_mpa, 0.0))
    choice = ((shear > opening) | (ratio > upper)).astype(np.int8)  # OPENING, SHEAR
    return np.maximum(opening, shear, out=opening), choice


def widened_bounds(lower: float, upper: float, ratio_band: tuple[Bound, Bound]) -> tuple[Bound, Bound]:
    """Bounds within which both curves count where the ratio is known but for a band.

    lower, upper : bounds of the rule; ratio_band: lowest and highest factor on the ratio, around 1
    Returns      : the lower and the upper bound, no longer apart than a ratio in the band may cross them
    >>> widened_bounds(0.05, 0.5, (0.8, 1.25))
    (0.04, 0.625)
    """
    low, high = ratio_band
    return lower / high, upper / low


def near_bound_findings(
    biaxiality_ratio: ArrayLike, ratio_band: tuple[float, float], lower: float, upper: float
) -> tuple[Finding, ...]:
    """A caution where a ratio lies on the side of a bound that takes one curve, but for its band.

    biaxiality_ratio : of every point, inf where nothing opens
    Source           : [biaxiality-rule]
    """
    ratio = np.atleast_1d(np.asarray(biaxiality_ratio, dtype=np.float64))
    least, most = widened_bounds(lower, upper, ratio_band)
    near = ((ratio < lower) & (ratio >= least)) | ((ratio > upper) & (ratio <= most))
    if not near.any():
        return ()
    text = (
        f"{counted(int(near.sum()), 'station')} with a biaxiality ratio that the scatter of the element constants"
        f" ({figure(ratio_band[0])} to {figure(ratio_band[1])} times) may bring across the bounds {as_given(lower)} and"
        f" {as_given(upper)} of the two-curve rule: the other curve may judge them too"
    )
    return (caution(NEAR_BOUND, text, field="biaxiality_ratio", source="biaxiality-rule"),)


def evaluate(
    equivalent_mpa: ArrayLike,
    biaxiality_ratio: ArrayLike,
    *,
    opening_curve: Curve,
    shear_curve: Curve,
    lower: NonNegative | None = None,
    upper: NonNegative | None = None,
) -> TwoCurveDamage:
    """The two-curve rule with findings: one for each part of it that was used, at its most damaged point.

    Arguments and errors as in `damage_per_cycle`; bounds left out are the defaults.
    Source : [biaxiality-rule]
    """
    low, high = default_bounds()
    low, high = low if lower is None else lower, high if upper is None else upper
    damage, choice = damage_per_cycle(
        equivalent_mpa,
        biaxiality_ratio,
        opening_curve=opening_curve,
        shear_curve=shear_curve,
        lower=low,
        upper=high,
    )
    found = rule_findings(
        equivalent_mpa,
        biaxiality_ratio,
        opening_curve=opening_curve,
        shear_curve=shear_curve,
        lower=low,
        upper=high,
    )
    tables = [curve.table for curve in (opening_curve, shear_curve) if curve.table]
    return TwoCurveDamage(
        damage_per_cycle=damage,
        curve_choice=choice,
        **evidence(
            findings=found,
            sources=["biaxiality-rule", opening_curve.source, shear_curve.source],
            tables=[_TABLE, *tables],
        ),
    )


@guarded
def rule_findings(
    equivalent_mpa: ArrayLike,
    biaxiality_ratio: ArrayLike,
    *,
    opening_curve: Curve,
    shear_curve: Curve,
    lower: NonNegative,
    upper: NonNegative,
) -> tuple[Finding, ...]:
    """One note for each part of the rule that some point fell under, of its point of shortest life.

    It states the ratio, both bounds, the curve or curves evaluated, their lives and which life governs.
    Arguments and errors as in `damage_per_cycle`.
    Source : [biaxiality-rule]
    """
    _check_bounds(lower, upper)
    stress, ratio = (np.ravel(column) for column in _points(equivalent_mpa, biaxiality_ratio))
    below, above = ratio < lower, ratio > upper
    opening, shear = opening_curve.life_cycles(stress), shear_curve.life_cycles(stress)
    by_opening, by_shear = (opening_curve.id, opening), (shear_curve.id, shear)
    parts = (
        ("below", below, opening, (by_opening,)),
        ("between", ~(below | above), np.minimum(opening, shear), (by_opening, by_shear)),
        ("above", above, shear, (by_shear,)),
    )
    found = []
    for part, inside, shortest, lives in parts:
        places = np.flatnonzero(inside)
        if places.size:
            worst = int(places[shortest[places].argmin()])
            each = [(name, float(life[worst])) for name, life in lives]
            found.append(_report(part, float(ratio[worst]), each, (lower, upper), places.size))
    return tuple(found)


def single_curve_findings(
    curve: Curve, equivalent_mpa: ArrayLike, biaxiality_ratio: ArrayLike, count: ArrayLike
) -> tuple[Finding, ...]:
    """Whether one curve of the pair judges cycles that the rule judges by the other, or by both.

    equivalent_mpa, biaxiality_ratio, count : of every cycle
    Returns : nothing for other curves. `outside` for the shear curve where cycles up to the upper bound
              count, and for the opening curve where the rule gives more damage; else a caution
    Source  : [biaxiality-rule]
    """
    if curve.id not in (OPENING_ID, SHEAR_ID):
        return ()
    (low, high), ratio, cycles = default_bounds(), np.asarray(biaxiality_ratio), np.asarray(count)
    pair = catalogue.find_curve(OPENING_ID), catalogue.find_curve(SHEAR_ID)
    rule = (
        cycles
        * damage_per_cycle(equivalent_mpa, ratio, opening_curve=pair[0], shear_curve=pair[1], lower=low, upper=high)[0]
    )
    sheared = curve.id == SHEAR_ID
    off = ratio <= high if sheared else ratio >= low
    if not float(rule[off].sum()) > _COUNTS * float(rule.sum()):
        return ()
    alone = float((cycles * pair[sheared].damage_per_cycle(equivalent_mpa)).sum())
    more = float(rule.sum()) > (1.0 + _COUNTS) * alone
    span = (
        f"{figure(ratio[off].min())} to {figure(ratio[off].max())}" if sheared else f"from {figure(ratio[off].min())}"
    )
    text = (
        f"{curve.id} alone judges cycles of biaxiality ratio {span}, for which the two-curve rule takes "
        f"{pair[not sheared].id} too or alone: {figure(rule.sum() / alone)} times the damage"
    )
    if sheared:
        return (outside("shear-curve-for-opening", text, field="curve", source="biaxiality-rule"),)
    if more:
        return (outside("opening-curve-does-less", text, field="curve", source="biaxiality-rule"),)
    return (caution("opening-curve-for-shear", text, field="curve", source="biaxiality-rule"),)


def _report(
    part: str, ratio: float, lives: Sequence[tuple[str, float]], bounds: tuple[float, float], count: int
) -> Finding:
    """What a part of the rule says of its point of shortest life; lives: by each curve that is looked at there."""
    lower, upper = bounds
    each = " and ".join(f"{name} gives {_life(life)}" for name, life in lives)
    governs = f"; {min(lives, key=itemgetter(1))[0]} governs" if len(lives) > 1 else ""
    where = {"below": "below", "between": "on or between", "above": "above"}[part]
    return Finding(
        code=f"biaxiality-{part}",
        severity="note",
        message=f"two-curve rule: {_ratio(ratio)} {where} the bounds {as_given(lower)} and {as_given(upper)}; "
        f"{each}{governs}",
        field="biaxiality_ratio",
        value=ratio if np.isfinite(ratio) else None,
        low=lower,
        high=upper,
        source="biaxiality-rule",
        count=count,
    )


def _life(life: float) -> str:
    return f"{rounded_down(life)} cycles" if np.isfinite(life) else "infinite life"


def _ratio(ratio: float) -> str:
    return f"biaxiality ratio {figure(ratio)} is" if np.isfinite(ratio) else "no opening stress, its ratio is"


def _points(equivalent_mpa: ArrayLike, biaxiality_ratio: ArrayLike) -> tuple[FloatArray, FloatArray]:
    ratio = np.asarray(biaxiality_ratio, dtype=np.float64)
    if not (ratio >= 0.0).all():
        raise InputError("biaxiality_ratio must not be negative or NaN", "biaxiality_ratio")
    stress = not_negative("equivalent_mpa", equivalent_mpa)
    shape = common_shape(equivalent_mpa=stress, biaxiality_ratio=ratio)
    return np.broadcast_to(stress, shape), np.broadcast_to(ratio, shape)


def _check_bounds(lower: float, upper: float) -> None:
    if lower > upper:
        raise InputError("upper must not be less than lower", "upper")
