"""What every request that takes a curve shares: environment, survival, corrections, permissible damage."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, StringConstraints

from fatcore.curves.corrections import mean_stress, partial_factors, thickness
from fatcore.curves.corrections.correction import Correction, own_factor
from fatcore.curves.curve import Curve, Loading, LoadQuantity
from fatcore.curves.damage_limits import Amplitude, DamageLimit, settle_damage_limit
from fatcore.curves.resistance import CurveResistance, in_environment, make_resistance
from fatcore.errors import InputError, at

from ...base.common import MAX_POINTS, Number, Positive, Probability, Strict
from .models import CurveRef, OwnCurve, curve_from

Text = Annotated[str, StringConstraints(max_length=300)]


class DamageLimitChoice(Strict):
    """Permissible damage sum: a number, or the rule of a document, or nothing for that of the curves."""

    damage_limit: Positive | None = Field(
        default=None, description="permissible damage sum; null takes that of the curves' documents"
    )
    damage_limit_rule: Annotated[str, StringConstraints(min_length=1, max_length=100)] | None = Field(
        default=None, description="document and case that state it, like iiw-2016/general"
    )
    design_fatigue_factor: Positive | None = Field(
        default=None, description="where the document divides its limit by one"
    )


def limit_from(choice: DamageLimitChoice, curve: Curve, amplitude: Amplitude) -> DamageLimit:
    """The damage limit of a request for its curve and the amplitude of its loading."""
    given = {name: getattr(choice, name) for name in DamageLimitChoice.model_fields}
    return settle_damage_limit((curve,), amplitude, **given)


Factors = Annotated[list[Number], Field(min_length=1, max_length=MAX_POINTS)]


class DetailThickness(Strict):
    """Thickness correction of a document for a named detail."""

    kind: Literal["detail-thickness"]
    document: Text
    detail: Text
    thickness_mm: Positive
    toe_distance_mm: Positive | None = None
    reference_mm: Positive | None = None


class ClassThickness(Strict):
    """Thickness correction of a document that ties the exponent to the class of the curve."""

    kind: Literal["class-thickness"]
    thickness_mm: Positive


class MeanStress(Strict):
    """Bonus for the load ratio where residual stresses are low."""

    kind: Literal["mean-stress"]
    residual_stress: Literal["low", "medium", "high"]
    load_ratio: Factors = Field(description="one, or one for each range")


class EffectiveRange(Strict):
    """Compression counted in part, for details that are not welded or are stress-relieved."""

    kind: Literal["effective-range"]
    maximum_mpa: Factors = Field(description="one, or one for each range")
    minimum_mpa: Factors = Field(description="as many as maximum_mpa")


class PartialFactor(Strict):
    """Partial factor on strength that a document asks for."""

    kind: Literal["partial-factor"]
    document: Text
    concept: Text
    consequence: Text


class ClassFactor(Strict):
    """Factor with which another class enters the line of class D."""

    kind: Literal["class-factor"]
    label: Text


class OwnFactor(Strict):
    """A factor of the user's own, for temperature, environment, treatment."""

    kind: Literal["own"]
    name: Annotated[str, StringConstraints(min_length=1, max_length=100)]
    strength_factor: Positive
    reason: Annotated[str, StringConstraints(min_length=1, max_length=300)]


AnyCorrection = DetailThickness | ClassThickness | MeanStress | EffectiveRange | PartialFactor | ClassFactor | OwnFactor
CorrectionRequest = Annotated[AnyCorrection, Field(discriminator="kind")]


def correction_from(spec: AnyCorrection, curve: Curve) -> Correction:
    """The correction of a request for a curve; paths of errors start at the correction itself."""
    match spec:
        case DetailThickness():
            return thickness.thickness(
                spec.thickness_mm,
                document_key=spec.document,
                detail=spec.detail,
                toe_distance_mm=spec.toe_distance_mm,
                reference_mm=spec.reference_mm,
            )
        case ClassThickness():
            return thickness.class_thickness(spec.thickness_mm, curve.id)
        case MeanStress():
            return mean_stress.mean_stress(spec.load_ratio, spec.residual_stress)
        case EffectiveRange():
            return mean_stress.effective_range(spec.maximum_mpa, spec.minimum_mpa)
        case PartialFactor():
            return partial_factors.partial_factor(spec.document, spec.concept, spec.consequence)
        case ClassFactor():
            return partial_factors.class_factor(spec.label, curve.id)
        case OwnFactor():
            return own_factor(spec.name, spec.strength_factor, reason=spec.reason)


Environment = Annotated[
    Annotated[str, StringConstraints(max_length=100)] | None,
    Field(description="same class in this environment; null leaves that of the curve"),
]
Survival = Annotated[
    Probability | None, Field(description="move the curve to this survival probability; null leaves it")
]
Sample = Annotated[
    Annotated[int, Field(ge=2, le=100_000)] | None,
    Field(description="tests behind a curve of your own: its survival then holds with 75 % confidence"),
]
Corrections = Annotated[
    list[CorrectionRequest],
    Field(max_length=20, description="factors on the strength, applied together"),
]
YieldStrength = Annotated[
    Positive | None, Field(description="to compare ranges with the limit of use of the document [MPa]")
]


class ResistanceChoice(Strict):
    """A curve, and what moves and corrects it; the same in every calculation that takes one."""

    curve: CurveRef = Field(description="id of the catalogue, or a curve of your own")
    environment: Environment = None
    survival_probability: Survival = None
    sample_size: Sample = None
    corrections: Corrections = Field(default=[])


def resisting_from(
    request: ResistanceChoice,
    *,
    loading: Loading = "variable",
    size: int | None = None,
    quantity: LoadQuantity | None = "stress range",
) -> CurveResistance:
    """The resistance of a request.

    quantity : that is put on the curve; None where the curve is asked for it

    size : number of ranges that corrections may differ between; None where cycles are not given one by one,
           and no correction for their mean stress can be
    """
    curve = curve_in(request.curve, request.environment, loading)
    return make_resistance(
        curve,
        survival_probability=request.survival_probability,
        sample_size=request.sample_size,
        corrections=corrections_from(request.corrections, curve, bonus=size is not None),
        range_count=size or 1,
        quantity=quantity,
    )


def curve_in(spec: str | OwnCurve, environment: str | None, loading: Loading = "variable") -> Curve:
    """The curve of a reference, in the environment that is asked for."""
    with at("curve"):
        curve = curve_from(spec, loading=loading)
    return in_environment(curve, environment)


def corrections_from(specs: list[AnyCorrection], curve: Curve, *, bonus: bool) -> list[Correction]:
    """The corrections for a curve; a bonus for mean stress only where cycles are given one by one."""
    found = []
    for index, spec in enumerate(specs):
        with at("corrections", index):
            if not bonus and isinstance(spec, MeanStress | EffectiveRange):
                raise InputError("a correction for mean stress belongs to ranges that are given one by one")
            found.append(correction_from(spec, curve))
    return found
