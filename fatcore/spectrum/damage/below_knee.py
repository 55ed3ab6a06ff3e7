"""Forms of the linear damage rule below the knee of a design curve, as a named choice.

as-curve      : the curve as its document gives it for variable amplitude, with its cut-off
original      : no damage below the knee
elementary    : the first slope goes on, without a cut-off
reduced-slope : slope 2 m - 1 below the knee, without a cut-off
The knee is the curve's first one, or its cut-off when it has no other.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Literal

from fatcore.bounds import guarded
from fatcore.curves.curve import Curve
from fatcore.curves.relief import Choice
from fatcore.errors import at

BelowKnee = Literal["as-curve", "original", "elementary", "reduced-slope"]


def knee_of(curve: Curve) -> float | None:
    """Range at the first knee [MPa], at the cut-off when there is no knee, None when there is neither."""
    return curve.knees_mpa[0] if curve.knees_mpa else curve.cut_off_mpa


@guarded
def below_knee_curve(curve: Curve, below_knee: BelowKnee) -> Curve:
    """The curve changed below its knee by one of the forms of this module.

    Returns : a curve with the same first segment; the same curve for `as-curve` or without a knee
    Source  : [below-knee-forms]
    """
    knee = knee_of(curve)
    if below_knee == "as-curve" or knee is None:
        return curve
    constant, slope = curve.log10_constants[0], curve.slopes[0]
    first = replace(
        curve, log10_constants=(constant,), slopes=(slope,), knees_mpa=(), cut_off_mpa=None, knee_mismatch=0.0
    )
    if below_knee == "elementary":
        return first
    if below_knee == "original":
        return replace(first, cut_off_mpa=knee)
    lower = 2.0 * slope - 1.0
    with at("curve"):
        return replace(
            first,
            log10_constants=(constant, constant + (lower - slope) * math.log10(knee)),
            slopes=(slope, lower),
            knees_mpa=(knee,),
        )


def stated_form(curve: Curve) -> Curve:
    """A curve of the user's own without a cut-off, and without a slope below its knee flatter than 2 m - 1.

    No document states these, and under variable loading they are a form of the rule below the knee: the steepest
    branch goes on in their place. Every other curve comes back as it is.
    Source : [below-knee-forms]
    """
    steepest = min(range(len(curve.slopes)), key=lambda branch: curve.slopes[branch])
    flattest = max(curve.slopes[steepest:])
    usual = flattest <= (2.0 * curve.slopes[steepest] - 1.0) * (1.0 + 1e-9)
    if curve.table is not None or (curve.cut_off_mpa is None and usual):
        return curve
    return replace(
        curve,
        log10_constants=curve.log10_constants[: steepest + 1],
        slopes=curve.slopes[: steepest + 1],
        knees_mpa=curve.knees_mpa[:steepest],
        joints=tuple(joint for joint in curve.joints if joint < steepest),
        cut_off_mpa=None,
    )


def form_choice(curve: Curve) -> tuple[Choice, ...]:
    """The choice of the user that `stated_form` undoes, if any."""
    if stated_form(curve) is curve:
        return ()
    return (Choice("curve", f"the cut-off or the flat slope below the knee of {curve.id}, which no document states"),)
