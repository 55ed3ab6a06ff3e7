"""What every request that takes a curve shares: environment, survival, corrections, permissible damage."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, ClassVar, Literal, cast

from pydantic import Field

from fatcore.bounds import Positive
from fatcore.curves.corrections import correction, mean_stress, partial_factors, thickness
from fatcore.curves.corrections.correction import Correction
from fatcore.curves.curve import Curve, LoadQuantity
from fatcore.curves.limits.damage_limits import Amplitude, DamageLimit, settle_damage_limit
from fatcore.curves.resistance import CurveResistance, in_environment, make_resistance
from fatcore.curves.standards import catalogue
from fatcore.errors import InputError, at

from ...base.derive import Derived, Word, call, request_of
from ...base.rules.active import active_policy
from .models import CurveRef, UserDefinedCurve, curve_from


@request_of(settle_damage_limit, omit=("curves", "amplitude"))
class DamageLimitChoice(Derived):
    """Permissible damage sum: a number, or the rule of a document, or nothing for that of the curves."""


def limit_for(choice: DamageLimitChoice, curve: Curve, amplitude: Amplitude) -> DamageLimit:
    """The damage limit of a choice for a curve and an amplitude, whether the policy allows it or not."""
    return call(settle_damage_limit, choice, curves=(curve,), amplitude=amplitude)


def limit_from(choice: DamageLimitChoice, curve: Curve, amplitude: Amplitude) -> DamageLimit:
    """The damage limit of a request for its curve and the amplitude of its loading; PolicyError for a larger one than
    the policy allows."""
    limit, policy = limit_for(choice, curve, amplitude), active_policy()
    if policy is not None:
        policy.guard_largest("damage_limit", limit.damage_limit, "a damage sum up to", "damage_limit")
    return limit


class AnyCorrection(Derived):
    """A correction of one kind."""

    counts_mean_stress: ClassVar[bool] = False

    def for_curve(self, curve: Curve) -> Correction:  # noqa: ARG002
        """The correction of the core for a curve; paths of errors start at the correction itself."""
        return cast(Correction, self.to_core())


@request_of(thickness.thickness, single=True)
class DetailThickness(AnyCorrection):
    """Thickness correction of a document for a named detail."""

    kind: Literal["detail-thickness"]


@request_of(thickness.class_thickness, omit=("curve_id",), single=True)
class ClassThickness(AnyCorrection):
    """Thickness correction of a document that ties the exponent to the class of the curve."""

    kind: Literal["class-thickness"]

    def for_curve(self, curve: Curve) -> Correction:
        """The correction of the class of the curve."""
        return call(thickness.class_thickness, self, curve_id=curve.id)


@request_of(mean_stress.mean_stress)
class MeanStress(AnyCorrection):
    """Bonus for the load ratio where residual stresses are low."""

    kind: Literal["mean-stress"]
    counts_mean_stress: ClassVar[bool] = True


@request_of(mean_stress.effective_range)
class EffectiveRange(AnyCorrection):
    """Compression counted in part, for details that are not welded or are stress-relieved."""

    kind: Literal["effective-range"]
    counts_mean_stress: ClassVar[bool] = True


@request_of(partial_factors.partial_factor)
class PartialFactor(AnyCorrection):
    """Partial factor on strength that a document asks for."""

    kind: Literal["partial-factor"]


@request_of(partial_factors.class_factor, omit=("curve_id",))
class ClassFactor(AnyCorrection):
    """Factor with which another class enters the line of class D."""

    kind: Literal["class-factor"]

    def for_curve(self, curve: Curve) -> Correction:
        """The factor on the curve; PolicyError where the policy does not allow the class that it stands for."""
        made = call(partial_factors.class_factor, self, curve_id=curve.id)
        policy = active_policy()
        if policy is not None:
            policy.guard_curve(catalogue.find_curve(partial_factors.class_by_factor(self.label)), "label")
        return made


@request_of(correction.own_factor, single=True)
class OwnFactor(AnyCorrection):
    """A factor of the user's own, for temperature, environment, treatment."""

    kind: Literal["own"]


CorrectionRequest = Annotated[
    DetailThickness | ClassThickness | MeanStress | EffectiveRange | PartialFactor | ClassFactor | OwnFactor,
    Field(discriminator="kind"),
]
Environment = Annotated[Word | None, Field(description="same class in this environment; null leaves that of the curve")]
Corrections = Annotated[
    list[CorrectionRequest],
    Field(max_length=20, description="factors on the strength, applied together"),
]
YieldStrength = Annotated[
    Positive | None, Field(description="to compare ranges with the limit of use of the document [MPa]")
]


@request_of(make_resistance, omit=("curve", "corrections", "range_count", "resistance_factor", "quantity"))
class Moved(Derived):
    """What moves a curve; the same in every calculation that takes one."""

    environment: Environment = None


class ResistanceChoice(Moved):
    """A curve, and what moves and corrects it; the same in every calculation that takes one."""

    curve: CurveRef = Field(description="id of the catalogue, or a curve of your own")
    corrections: Corrections = Field(default=[])


def resisting_from(
    request: ResistanceChoice,
    *,
    loading: Amplitude = "variable",
    size: int | None = None,
    quantity: LoadQuantity | None = "stress range",
) -> CurveResistance:
    """The resistance of a request.

    quantity : that is put on the curve; None where the curve is asked for it

    size : number of ranges that corrections may differ between; None where cycles are not given one by one,
           and no correction for their mean stress can be
    """
    curve = curve_in(request.curve, request.environment, loading)
    corrections = corrections_from(request.corrections, curve, bonus=size is not None)
    guard_use(request, curve, corrections)
    return call(
        make_resistance, request, curve=curve, corrections=corrections, range_count=size or 1, quantity=quantity
    )


def curve_in(spec: str | UserDefinedCurve, environment: str | None, loading: Amplitude = "variable") -> Curve:
    """The curve of a reference, in the environment that is asked for."""
    with at("curve"):
        curve = curve_from(spec, loading=loading)
    return moved_to(curve, environment)


def moved_to(curve: Curve, environment: str | None) -> Curve:
    """The same class in an environment; PolicyError for a curve that the policy does not allow."""
    there, policy = in_environment(curve, environment), active_policy()
    if policy is not None:
        policy.guard_curve(there, "environment")
    return there


def guard_use(request: Moved, curve: Curve, corrections: Sequence[Correction] = ()) -> None:
    """PolicyError for a survival or a partial factor that the policy does not allow."""
    policy = active_policy()
    if policy is not None:
        policy.guard_survival(request.survival_probability, curve, "survival_probability")
        place = "corrections" if isinstance(request, ResistanceChoice) else "resistance_factor"
        policy.guard_partial_factor(corrections, place)


def corrections_from(specs: Sequence[AnyCorrection], curve: Curve, *, bonus: bool) -> list[Correction]:
    """The corrections for a curve; a bonus for mean stress only where cycles are given one by one."""
    found = []
    for index, spec in enumerate(specs):
        with at("corrections", index):
            if spec.counts_mean_stress and not bonus:
                raise InputError("a correction for mean stress belongs to ranges that are given one by one")
            found.append(spec.for_curve(curve))
    return found
