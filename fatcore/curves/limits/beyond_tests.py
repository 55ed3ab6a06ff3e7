"""How much of a damage sum rests on ranges and lives that no test behind a fitted curve had."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from fatcore.curves.curve import Curve
from fatcore.figures import figure, rounded_down
from fatcore.findings import Finding, caution, outside
from fatcore.require import FloatArray

EXTRAPOLATED = 10.0  # times the longest life tested, beyond which a fitted curve no longer holds [own choice]
MOST_EXTRAPOLATED = 0.1  # of the damage, before it is no longer valid, as of the life by a fitted law [own choice]
NOTICEABLE = 1e-3  # of the damage, below which ranges hardly count [own choice]
EXTRAPOLATED_TOO_FAR = "fitted-curve-extrapolated"
_ROUNDING = 1e-9


class Untested(NamedTuple):
    """Shares of the damage from ranges below the lowest tested, and from those whose lives are extrapolated too far."""

    below_share: FloatArray
    beyond_share: FloatArray


def untested_shares(tested: bool, damage: Callable[[Callable[[Curve], Curve]], ArrayLike]) -> Untested:
    """Shares of a damage that rest on what no test had, 0 without tests.

    A knee or cut-off below the tests would let ranges that were never tested do little or nothing: they count on the
    line of the tests, extended.
    tested : whether some curve has tests
    damage : of the loading, where every curve that counts was changed by a function [-]
    """
    if not tested:
        return Untested(np.zeros(1), np.zeros(1))
    whole = np.atleast_1d(np.asarray(damage(extended), dtype=np.float64))

    def share(change: Callable[[Curve], Curve]) -> FloatArray:
        left = whole - np.asarray(damage(change), dtype=np.float64)
        return np.asarray(np.divide(left, whole, out=np.zeros_like(whole), where=whole > 0.0))

    return Untested(share(_as_tested), share(_within_reach))


def sum_findings(curve: Curve, damage: Callable[[Curve], ArrayLike], name: str = "stress_range_mpa") -> list[Finding]:
    """What is said of a damage sum on one curve; damage: on any curve, of several evaluations the worst counts."""
    found = untested_shares(curve.tested is not None, lambda change: damage(change(curve)))
    return untested_findings((curve,), float(found.below_share.max()), float(found.beyond_share.max()), name)


def untested_findings(
    curves: tuple[Curve, ...], below_share: float, beyond_share: float, name: str = "stress_range_mpa"
) -> list[Finding]:
    """`outside` where more than a tenth of the damage is extrapolated, else a caution where some of it counts.

    below_share, beyond_share : as in `Untested`; name: of the ranges in the request
    """
    if beyond_share <= NOTICEABLE and not NOTICEABLE < below_share < 1.0 - _ROUNDING:
        return []  # where every range lies below the tests, the largest one is said to
    tests = ", ".join(
        f"{curve.id} was tested from {figure(curve.tested.lowest_range_mpa)} MPa on, to lives of"
        f" {rounded_down(curve.tested.longest_life_cycles)} cycles"
        for curve in curves
        if curve.tested is not None
    )
    text = f"{tests}: {figure(100.0 * below_share)} % of the damage comes from ranges below"
    text += f", {figure(100.0 * beyond_share)} % from lives above {figure(EXTRAPOLATED)} times the longest"
    if beyond_share > MOST_EXTRAPOLATED:
        return [outside(EXTRAPOLATED_TOO_FAR, text, field=name)]
    return [caution("fitted-curve-leaves-tests", text, field=name)]


def extended(curve: Curve) -> Curve:
    """A fitted curve on which ranges that no test reaches do the most that its slopes give; any other as it is.

    The line of the tests goes on from there by its flattest life, without knees and cut-off.
    """
    if curve.tested is None:
        return curve
    end, slope = _reach(curve), min(m for at, m in enumerate(curve.slopes) if at not in curve.joints)
    kept = sum(knee > end for knee in curve.knees_mpa)
    constants, slopes, knees = curve.log10_constants[: kept + 1], curve.slopes[: kept + 1], curve.knees_mpa[:kept]
    if slope < slopes[-1]:
        constants = (*constants, constants[-1] - (slopes[-1] - slope) * math.log10(end))
        slopes, knees = (*slopes, slope), (*knees, end)
    return replace(curve, log10_constants=constants, slopes=slopes, knees_mpa=knees, cut_off_mpa=None)


def _within_reach(curve: Curve) -> Curve:
    return curve if curve.tested is None else _cut(curve, _reach(curve))


def _as_tested(curve: Curve) -> Curve:
    return curve if curve.tested is None else _cut(curve, curve.tested.lowest_range_mpa * (1.0 - _ROUNDING))


def _cut(curve: Curve, end: float) -> Curve:
    """The curve whose ranges below an end do no damage."""
    end = max(end, curve.cut_off_mpa or 0.0)
    kept = sum(knee > end for knee in curve.knees_mpa)
    return replace(
        curve,
        log10_constants=curve.log10_constants[: kept + 1],
        slopes=curve.slopes[: kept + 1],
        knees_mpa=curve.knees_mpa[:kept],
        cut_off_mpa=end,
    )


def _reach(curve: Curve) -> float:
    """Range below which lives are extrapolated too far [MPa]."""
    assert curve.tested is not None
    longest = float(curve.range_mpa(EXTRAPOLATED * curve.tested.longest_life_cycles))
    return min(curve.tested.lowest_range_mpa, longest) * (1.0 - _ROUNDING)
