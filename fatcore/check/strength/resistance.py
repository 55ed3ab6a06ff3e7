"""Chooses the strength of a line from what the request says about curves, survival and factors."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated, Literal

import numpy as np
from annotated_types import doc

from fatcore.bounds import NonNegative, Positive, Probability, guard
from fatcore.check.line import Material, WeldLine
from fatcore.check.loading import Loading
from fatcore.check.strength.combination import Interaction, guard_interaction, interaction_of
from fatcore.check.strength.strength import InteractionStrength, PeakStrength, PlainStrength, Strength
from fatcore.check.strength.suitability import document_findings, kind_findings, material_curve_findings
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
from fatcore.errors import InputError, at
from fatcore.findings import Finding, caution, outside
from fatcore.outcome import Outcome, evidence
from fatcore.stress.materials import LOWERED_STRESS, material_limits, published_material
from fatcore.stress.notch.energy_coefficients import CoefficientChoice
from fatcore.stress.peak.elements import OWN_ELEMENT
from fatcore.stress.peak.peak_weights import PeakWeights, peak_weights

_NO_SHEAR = caution(
    "mode-absent",
    "a shear curve is named, but no load case has a shear stress (shear_mpa): it counts zero",
    field="cases",
)


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


def strength_of(
    line: WeldLine,
    resistance: Resistance,
    target: Target,
    material: Material,
    condition: str,
    coefficients: CoefficientChoice,
    loading: Loading | None = None,
) -> tuple[Strength, Outcome]:
    """The strength of a line, and the outcome it rests on (weights of the peaks with their findings).

    loading : None is taken as one under which normal and shear stress do not go together
    """
    factor = 1.0 / target.resistance_factor
    curve, *rest = [held.corrected.scaled(factor) for held in target.held(resistance)]
    shear = rest[0] if rest else None
    suited = (
        *kind_findings(line.basis, resistance.curve, resistance.shear_curve),
        *material_curve_findings(material.name, line.basis, resistance.curves(), material.material_family),
        *document_findings(resistance.curves()),
    )
    if line.basis != "peak-stress":
        plain, found = _plain_strength(line, resistance, curve, shear, loading)
        return plain, Outcome(**evidence(findings=(*suited, *found)))
    radius = material.with_radius().control_radius_mm
    assert radius is not None
    weights = _weights(line, material.poisson_ratio, radius, coefficients)
    usual, own = _published(line, material, coefficients)
    strength = _peak_strength(weights, usual, resistance, curve, shear, condition)
    assert line.notch is not None
    limits = material_limits(
        material.name,
        material.poisson_ratio,
        radius,
        line.notch.opening_angle_deg,
        line.notch.notch_size_mm,
    )
    lowered = _lowered(weights, usual, own)
    return strength, Outcome(**evidence(weights, findings=(*suited, *limits, *lowered)))


def _published(line: WeldLine, material: Material, coefficients: CoefficientChoice) -> tuple[PeakWeights, PeakWeights]:
    """Weights with the published figures, and with the line's own element constants among them."""
    assert line.mesh is not None
    published = published_material(material.name)
    form: CoefficientChoice = coefficients if published.poisson_ratio == material.poisson_ratio else "exact"
    bare = line if line.mesh.element == OWN_ELEMENT else replace(line, mesh=replace(line.mesh, constants=None))
    return _weights(bare, *published, form), _weights(line, *published, form)


def _lowered(weights: PeakWeights, usual: PeakWeights, own: PeakWeights) -> list[Finding]:
    """Small reliefs of several inputs add up: all of them together against the published figures.

    Constants of one's own have the scatter of the element to themselves; nothing else may add to what they take.
    """
    share = _relief(weights, usual)
    if share <= max(LOWERED_STRESS, _relief(own, usual)) * (1.0 + 1e-9):
        return []
    text = (
        "Poisson's ratio, control radius and element constants as given, taken together, lower the stress of a mode"
        f" by {100.0 * share:.3g} % against the published ones, more than {100.0 * LOWERED_STRESS:g} %"
    )
    return [outside("weights-lowered", text, field="material")]


def _relief(given: PeakWeights, usual: PeakWeights) -> float:
    """Largest share that given weights take off a mode."""
    pairs = zip(given.as_array(), usual.as_array(), strict=True)
    return max(1.0 - float(one / two) for one, two in pairs if two > 0.0)


def _weights(
    line: WeldLine, poisson_ratio: float, control_radius_mm: float, coefficients: CoefficientChoice
) -> PeakWeights:
    if line.notch is None or line.mesh is None:
        missing = "notch" if line.notch is None else "mesh"
        raise InputError(f"a line on the peak-stress basis needs its {missing}", missing)
    with at("mesh"):
        return peak_weights(
            opening_angle_deg=line.notch.opening_angle_deg,
            element=line.mesh.element,
            element_size_mm=line.mesh.element_size_mm,
            notch_size_mm=line.notch.notch_size_mm,
            poisson_ratio=poisson_ratio,
            control_radius_mm=control_radius_mm,
            constants=line.mesh.constants,
            coefficients=coefficients,
        )


def _peak_strength(
    weights: PeakWeights,
    usual: PeakWeights,
    resistance: Resistance,
    curve: Curve,
    shear: Curve | None,
    condition: str,
) -> Strength:
    relieved, published = condition == "stress-relieved", usual.as_array()
    if resistance.rule == "fixed":
        if shear is not None:
            raise InputError("the peak-stress basis takes one fixed curve; the equivalent holds the shear", "basis")
        return PlainStrength(weights=weights.as_array(), curve=curve, relieved=relieved, published_weights=published)
    assert shear is not None
    return PeakStrength(
        weights=weights.as_array(),
        opening_curve=curve,
        shear_curve=shear,
        lower=resistance.lower,
        upper=resistance.upper,
        relieved=relieved,
        ratio_band=weights.ratio_band,
        published_weights=published,
    )


def _plain_strength(
    line: WeldLine, resistance: Resistance, curve: Curve, shear: Curve | None, loading: Loading | None
) -> tuple[Strength, tuple[Finding, ...]]:
    if resistance.rule != "fixed":
        raise InputError(f"the {line.basis} basis needs fixed curves", "basis")
    sheared = any(np.any(np.asarray(case)[:, 1] != 0.0) for case in line.cases.values())
    if shear is None:
        if sheared:
            raise InputError("shear stresses are given: name a shear curve", "cases")
        return PlainStrength(weights=np.array([1.0, 0.0]), curve=curve), ()
    form, found = interaction_of(line, loading, resistance.curves(), resistance.interaction)
    strength = InteractionStrength(normal_curve=curve, shear_curve=shear, rule=form)
    return strength, (*found, *(() if sheared else (_NO_SHEAR,)))
