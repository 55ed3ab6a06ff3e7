"""Curves and target of a check: what the request says about resistance, survival and factors."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from annotated_types import doc

from fatcore.bounds import NonNegative, Positive, Probability, guard
from fatcore.check.strength.combination import Interaction, guard_interaction
from fatcore.curves.corrections.correction import Correction
from fatcore.curves.corrections.survival import SampleSize
from fatcore.curves.curve import Curve
from fatcore.curves.limits.damage_limits import (
    Amplitude,
    DamageLimit,
    DamageLimitRule,
    DesignFatigueFactor,
    PermissibleDamage,
    settle_damage_limit,
)
from fatcore.curves.limits.limits_of_use import YieldStrength
from fatcore.curves.resistance import CurveResistance, make_resistance
from fatcore.errors import InputError

_INTERACTION = "of normal and shear stress; null takes the form of the curves' document"


@dataclass(frozen=True, slots=True, kw_only=True)
class Resistance:
    """Curves of a check.

    rule  : biaxiality (a pair of peak-stress curves, `curve` for opening and `shear_curve`) or fixed
    lower, upper : bounds of the biaxiality rule
    interaction  : only where `shear_curve` is given with the fixed rule
    corrections, shear_corrections : of the curve and of the shear curve, one factor each
    yield_strength_mpa : to compare ranges with the limit of use of the curve's document
    amplitude    : of the loading that the curves were taken for; variable is the safe side
    """

    rule: Literal["biaxiality", "fixed"]
    curve: Curve
    shear_curve: Curve | None = None
    lower: NonNegative = 0.05
    upper: NonNegative = 0.5
    interaction: Annotated[Interaction | None, doc(_INTERACTION)] = None
    amplitude: Amplitude = "variable"
    corrections: tuple[Correction, ...] = ()
    shear_corrections: tuple[Correction, ...] = ()
    yield_strength_mpa: YieldStrength = None

    def __post_init__(self) -> None:
        guard(self)
        if self.rule == "biaxiality" and self.shear_curve is None:
            raise InputError("the biaxiality rule needs an opening and a shear curve", "shear_curve")
        first = "opening_curve" if self.rule == "biaxiality" else "curve"
        for name, curve in zip((first, "shear_curve"), self.curves(), strict=False):
            curve.guard_quantity("stress range", name)
        if self.lower > self.upper:
            raise InputError("lower must lie between 0 and upper", "lower")
        if self.rule == "fixed" and self.shear_curve is not None:
            guard_interaction(self.curves(), self.interaction)

    def curves(self) -> tuple[Curve, ...]:
        """The curve, and the shear curve where there is one."""
        return (self.curve,) if self.shear_curve is None else (self.curve, self.shear_curve)


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """What is to be reached.

    repeats : passes of the loading; survival_probability: None leaves the curves as their source gives them,
              sample_size: see `curves.survival.at_survival`
    damage_limit : permissible damage sum, or damage_limit_rule: a document's by name; None is that of the
                   curves' documents; design_fatigue_factor: where the document divides its limit by one
    load_factor  : multiplies ranges; resistance_factor divides strengths
    """

    repeats: Positive = 1.0
    survival_probability: Probability | None = None
    sample_size: SampleSize = None
    damage_limit: PermissibleDamage = None
    damage_limit_rule: DamageLimitRule = None
    design_fatigue_factor: DesignFatigueFactor = None
    load_factor: Positive = 1.0
    resistance_factor: Positive = 1.0

    def __post_init__(self) -> None:
        guard(self)

    def held(self, resistance: Resistance) -> tuple[CurveResistance, ...]:
        """The curves at their survival and with their corrections, with all findings about them."""
        given = zip(resistance.curves(), (resistance.corrections, resistance.shear_corrections), strict=False)
        return tuple(
            make_resistance(
                curve,
                survival_probability=self.survival_probability,
                sample_size=self.sample_size,
                corrections=corrections,
                resistance_factor=self.resistance_factor,
            )
            for curve, corrections in given
        )

    def limit(self, resistance: Resistance) -> DamageLimit:
        """The permissible damage sum for these curves, with the finding that says where it comes from."""
        return settle_damage_limit(
            resistance.curves(),
            resistance.amplitude,
            damage_limit=self.damage_limit,
            damage_limit_rule=self.damage_limit_rule,
            design_fatigue_factor=self.design_fatigue_factor,
        )
