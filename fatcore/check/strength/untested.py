"""How much of the damage at stations rests on what no test behind a fitted curve had."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from fatcore.check.strength.judged import Judged
from fatcore.check.strength.strength import InteractionStrength, PeakStrength, PlainStrength, Strength
from fatcore.curves.curve import Curve
from fatcore.curves.limits.beyond_tests import Untested, untested_shares
from fatcore.require import FloatArray


def untested_in(strength: Strength, judged: Judged) -> Untested:
    """Shares of the damage at each station; of normal and shear stress combined the larger of both.

    The two add up on curves, or squared, of different slopes: neither tells how little the other one counts.
    """
    if isinstance(strength, InteractionStrength):
        normal = PlainStrength(weights=strength.weights, curve=strength.normal_curve)
        shear = PlainStrength(weights=strength.weights, curve=strength.shear_curve)
        parts = [_alone(normal, judged), _alone(shear, replace(judged, equivalent_mpa=judged.second_mpa))]
        return Untested(*(np.maximum(*shares) for shares in zip(*parts, strict=True)))
    return _alone(strength, judged)


def _alone(strength: Strength, judged: Judged) -> Untested:
    def damage(change: Callable[[Curve], Curve]) -> FloatArray:
        return _changed(strength, change).damage(judged)[0]

    return untested_shares(any(curve.tested is not None for curve in strength.curves), damage)


def _changed(strength: Strength, change: Callable[[Curve], Curve]) -> Strength:
    if isinstance(strength, PeakStrength):
        opening, shear = map(change, strength.curves)
        return replace(strength, opening_curve=opening, shear_curve=shear)
    assert isinstance(strength, PlainStrength)
    return replace(strength, curve=change(strength.curve))
