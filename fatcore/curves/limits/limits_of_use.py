"""Whether ranges of stress are of a size for which a curve may be used: units, yield strength, short lives."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Annotated

import numpy as np
from annotated_types import doc
from numpy.typing import ArrayLike

from fatcore.bounds import Positive, guarded
from fatcore.curves.curve import Curve
from fatcore.curves.limits.beyond_tests import EXTRAPOLATED
from fatcore.curves.limits.range_sizes import small_findings, too_small_findings
from fatcore.curves.standards import catalogue
from fatcore.curves.stress_kind import plain_kind
from fatcore.figures import as_given, figure, rounded_down
from fatcore.findings import Finding, Limit, caution, note, outside, outside_limits
from fatcore.plausible import YIELD_MPA, yield_doubts

SHORTEST_LIFE = 1.0e4
LIFE_LIMITS = (Limit("life_cycles", SHORTEST_LIFE, None, source="low-cycle-practice", where="curves of welded joints"),)

NOTICEABLE = 1e-3  # of the damage that is allowed: cycles of short life below it hardly count [own choice]
_OVER_YIELD = 2.0  # a larger range yields in both directions, which no linear stress tells [common practice]
_STRONGEST_MPA = 1100.0  # yield strength of the strongest structural steels, where none is stated
_ROUNDING = 1e-9
_LOCAL = ("effective-notch", "peak-stress")  # linear-elastic figures of a notch, above yield as a matter of course
RANGE_BEYOND_YIELD, STRESS_BEYOND_YIELD = "range-beyond-yield", "stress-beyond-yield"

YieldStrength = Annotated[Positive | None, doc("to compare ranges with the limit of use of the document [MPa]")]


def use_findings(
    curve: Curve, range_mpa: ArrayLike, yield_strength_mpa: YieldStrength, *, judged: bool = False
) -> tuple[Finding, ...]:
    """Whether ranges of stress are of a size for which a curve may be used.

    range_mpa          : as they were given, before corrections [MPa]
    yield_strength_mpa : None compares nothing, and says so where the document has a limit
    judged             : a verdict rests on them: small ones are `outside`
    """
    return (
        *(too_small_findings(range_mpa) if judged else small_findings(range_mpa)),
        *limit_of_use_findings(curve, range_mpa, yield_strength_mpa),
        *yield_findings(curve, range_mpa, yield_strength_mpa),
    )


def yield_findings(curve: Curve, range_mpa: ArrayLike, yield_strength_mpa: YieldStrength) -> tuple[Finding, ...]:
    """`outside` for ranges above twice the yield strength, or where none is stated that of the strongest steels.

    Notch stresses are compared with the strongest steels alone; arguments as in `use_findings`
    """
    strength, which = _compared_strength(None if _is_local(curve) else yield_strength_mpa)
    largest = float(np.max(range_mpa, initial=0.0))
    if largest <= _OVER_YIELD * strength:
        return ()
    text = (
        f"a range of {figure(largest)} MPa is more than twice {which}, {as_given(strength)} MPa: no "
        "stress-life curve holds"
    )
    found = outside(RANGE_BEYOND_YIELD, text, field="yield_strength_mpa")
    return (replace(found, value=largest, high=_OVER_YIELD * strength),)


def extreme_findings(curve: Curve, stress_mpa: ArrayLike, yield_strength_mpa: YieldStrength) -> tuple[Finding, ...]:
    """Stresses of a history, or of load states, above the yield strength: a caution, `outside` above twice of it.

    stress_mpa : with the mean stress [MPa], any sign; notch stresses are not compared
    yield_strength_mpa : where none is stated, that of the strongest steels counts
    """
    if _is_local(curve):
        return ()
    strength, which = _compared_strength(yield_strength_mpa)
    largest = float(np.max(np.abs(stress_mpa), initial=0.0))
    if largest <= strength:
        return ()
    text = f"a stress of {figure(largest)} MPa is {figure(largest / strength)} times {which},"
    text += f" {as_given(strength)} MPa: is the mean stress in MPa, and the part of this steel?"
    if largest > _OVER_YIELD * strength:
        return (outside(STRESS_BEYOND_YIELD, text, field="yield_strength_mpa"),)
    return (caution("stress-above-yield", text, field="yield_strength_mpa"),)


def _is_local(curve: Curve) -> bool:
    return any(kind in plain_kind(curve.stress_kind) for kind in _LOCAL)


def _compared_strength(yield_strength_mpa: YieldStrength) -> tuple[float, str]:
    """What stresses are compared with and its name: a strength that no metal has is not."""
    if yield_strength_mpa is None or yield_strength_mpa > YIELD_MPA[1]:
        return _STRONGEST_MPA, "the yield strength of the strongest structural steels"
    return yield_strength_mpa, "the yield strength"


def shortest_lived_range(curve: Curve, damage_limit: float) -> float:
    """Range above which a cycle alone reaches the limit before the shortest life that curves hold for [MPa].

    damage_limit : sum at which the life ends [-], > 0
    """
    return float(curve.range_mpa(SHORTEST_LIFE / damage_limit))


def short_life_findings(used_share: float, life_cycles: float) -> tuple[Finding, ...]:
    """What is said of cycles whose own life is below the shortest that curves hold for.

    `outside` where they use a noticeable share of what is allowed, whatever else the load holds, else a caution.
    used_share  : of the allowed damage by all of these cycles in all passes [-], 0 without any
    life_cycles : the shortest such life, until the limit
    """
    if used_share <= 0.0:
        return ()
    if used_share >= NOTICEABLE:
        return outside_limits(LIFE_LIMITS, life_cycles=life_cycles)
    text = (
        f"cycles with a life of their own of {rounded_down(life_cycles)} cycles or more, too short for the curve, use"
        f" {figure(used_share)} of the damage that is allowed"
    )
    return (caution("few-cycles-of-short-life", text, field="life_cycles", source=LIFE_LIMITS[0].source),)


def fitted_curve_findings(
    curve: Curve, range_mpa: ArrayLike, name: str = "stress_range_mpa", *, below: bool = True
) -> tuple[Finding, ...]:
    """Ranges that no test behind a fitted curve had; without tests nothing is said.

    `outside` above the highest, and below the lowest from ten times the longest life tested on, else a caution.
    below : whether small ranges are looked at, too
    """
    tested, ranges = curve.tested, np.ravel(np.asarray(range_mpa, dtype=np.float64))
    ranges = ranges[ranges > 0.0]
    if tested is None or not ranges.size:
        return ()
    low, high = tested.lowest_range_mpa, tested.highest_range_mpa
    least, largest = float(ranges.min()), float(ranges.max())
    text = f"{curve.id} was tested at {figure(low)} to {figure(high)} MPa"
    if largest > high * (1.0 + _ROUNDING):
        return (outside("fitted-curve-outside-ranges", f"{text}, a range is {figure(largest)} MPa", field=name),)
    if not below or least >= low * (1.0 - _ROUNDING):
        return ()
    life = float(curve.life_cycles(least))
    text += (
        f" with lives up to {rounded_down(tested.longest_life_cycles)} cycles; a range is {figure(least)} MPa,"
        " whose life of"
        f" {'infinite length' if math.isinf(life) else f'{rounded_down(life)} cycles'} is extrapolated"
    )
    if life > EXTRAPOLATED * tested.longest_life_cycles:
        return (outside("fitted-curve-outside-ranges", text, field=name),)
    return (caution("fitted-curve-below-ranges", text, field=name),)


@guarded
def limit_of_use_findings(
    curve: Curve, range_mpa: ArrayLike, yield_strength_mpa: YieldStrength, name: str = "stress_range_mpa"
) -> tuple[Finding, ...]:
    """Whether ranges of stress, given or found, stay below the limit of use of the curve's document.

    name : of the ranges in the request or answer; the other arguments as in `use_findings`
    """
    told = fitted_curve_findings(curve, range_mpa, name)
    known = curve.table is not None and catalogue.describe_curve(curve.id).use_limit_over_yield is not None
    if yield_strength_mpa is None:
        text = f"{curve.id} has a limit of use by yield strength; none was given: nothing was compared"
        unused = note("limit-of-use-not-compared", text, field="yield_strength_mpa", source=curve.source)
        return (*told, unused) if known else told
    doubts = yield_doubts(yield_strength_mpa)
    limit = catalogue.range_limit(curve.id, yield_strength_mpa) if known else None
    if limit is None:
        text = f"no limit of use by yield strength is known here for {curve.id}: nothing was compared"
        unknown = note("limit-of-use-unknown", text, field="yield_strength_mpa", source=curve.source)
        return (*told, *doubts, unknown)
    return (*doubts, *outside_limits([replace(limit, name=name)], **{name: range_mpa}))
