"""Makes the strength of a line from what the request says about curves, survival and factors."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache
from typing import Any

import numpy as np

from fatcore.check.line import Basis, Material, WeldLine
from fatcore.check.loading import Loading
from fatcore.check.strength.combination import interaction_of
from fatcore.check.strength.resistance import Resistance, Target
from fatcore.check.strength.strength import InteractionStrength, PeakStrength, PlainStrength, Strength
from fatcore.check.strength.suitability import document_findings, kind_findings, material_curve_findings
from fatcore.curves.curve import Curve
from fatcore.curves.resistance import CurveResistance
from fatcore.errors import InputError, at
from fatcore.figures import against, as_given
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


@dataclass(frozen=True, kw_only=True)
class StrengthMaker:
    """Makes the strengths of lines, what they share once.

    loading : None is taken as one under which normal and shear stress do not go together
    held    : the curves at the target, where they are known already
    """

    resistance: Resistance
    target: Target
    material: Material
    condition: str
    coefficients: CoefficientChoice
    loading: Loading | None = None
    held: Sequence[CurveResistance] | None = None
    _known: dict[Hashable, tuple[Strength, Outcome]] = field(default_factory=dict)
    _of_basis: dict[Basis, tuple[Finding, ...]] = field(default_factory=dict)

    def of(self, line: WeldLine) -> tuple[Strength, Outcome]:
        """The strength of a line, and the outcome it rests on (weights of the peaks with their findings)."""
        if line.basis != "peak-stress":
            plain, found = _plain_strength(line, self.resistance, self._curves, self.loading)
            return plain, Outcome(**evidence(findings=(*self._suited(line.basis), *found)))
        key = _notch_and_mesh(line)
        if key not in self._known:
            self._known[key] = self._peak(line)
        return self._known[key]

    @cached_property
    def _curves(self) -> list[Curve]:
        factor = 1.0 / self.target.resistance_factor
        held = self.target.held(self.resistance) if self.held is None else self.held
        return [each.corrected.scaled(factor) for each in held]

    def _suited(self, basis: Basis) -> tuple[Finding, ...]:
        if basis not in self._of_basis:
            curves, material = self.resistance.curves(), self.material
            self._of_basis[basis] = (
                *kind_findings(basis, self.resistance.curve, self.resistance.shear_curve),
                *material_curve_findings(material.name, basis, curves, material.material_family),
                *document_findings(curves),
            )
        return self._of_basis[basis]

    def _peak(self, line: WeldLine) -> tuple[Strength, Outcome]:
        material, curves = self.material, self._curves
        suited = self._suited(line.basis)
        radius = material.with_radius().control_radius_mm
        assert radius is not None
        weights = _weights(line, material.poisson_ratio, radius, self.coefficients)
        usual, own = _published(line, material, self.coefficients, weights)
        strength = _peak_strength(weights, usual, self.resistance, curves, self.condition)
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


def strength_of(
    line: WeldLine,
    resistance: Resistance,
    target: Target,
    material: Material,
    condition: str,
    coefficients: CoefficientChoice,
    loading: Loading | None = None,
) -> tuple[Strength, Outcome]:
    """The strength of one line, see `StrengthMaker`."""
    maker = StrengthMaker(
        resistance=resistance,
        target=target,
        material=material,
        condition=condition,
        coefficients=coefficients,
        loading=loading,
    )
    return maker.of(line)


def _notch_and_mesh(line: WeldLine) -> Hashable:
    """All of a line that the weights of the peaks depend on."""
    mesh = line.mesh
    own = None if mesh is None or mesh.constants is None else tuple(mesh.constants.items())
    return line.notch, None if mesh is None else (mesh.element, mesh.element_size_mm), own


def _published(
    line: WeldLine, material: Material, coefficients: CoefficientChoice, given: PeakWeights
) -> tuple[PeakWeights, PeakWeights]:
    """Weights with the published figures, and with the line's own element constants among them.

    given : with the figures of the material
    """
    assert line.mesh is not None
    published = published_material(material.name)
    form: CoefficientChoice = coefficients if published.poisson_ratio == material.poisson_ratio else "exact"
    as_published = published == (material.poisson_ratio, material.with_radius().control_radius_mm)
    own = given if as_published else _weights(line, *published, form)
    if line.mesh.element == OWN_ELEMENT or line.mesh.constants is None:
        return own, own
    return _weights(replace(line, mesh=replace(line.mesh, constants=None)), *published, form), own


def _lowered(weights: PeakWeights, usual: PeakWeights, own: PeakWeights) -> list[Finding]:
    """Small reliefs of several inputs add up: all of them together against the published figures.

    Constants of one's own have the scatter of the element to themselves; nothing else may add to what they take.
    """
    share = _relief(weights, usual)
    if share <= max(LOWERED_STRESS, _relief(own, usual)) * (1.0 + 1e-9):
        return []
    text = (
        "Poisson's ratio, control radius and element constants as given, taken together, lower the stress of a mode"
        f" by {against(100.0 * share, 100.0 * LOWERED_STRESS)} % against the published ones, more than "
        f"{as_given(100.0 * LOWERED_STRESS)} %"
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
    own = line.mesh.constants
    with at("mesh"):
        return _known_weights(
            opening_angle_deg=line.notch.opening_angle_deg,
            element=line.mesh.element,
            element_size_mm=line.mesh.element_size_mm,
            notch_size_mm=line.notch.notch_size_mm,
            poisson_ratio=poisson_ratio,
            control_radius_mm=control_radius_mm,
            constants=None if own is None else tuple(own.items()),
            coefficients=coefficients,
        )


@lru_cache(maxsize=1_000)
def _known_weights(*, constants: tuple[tuple[str, float | None], ...] | None, **given: Any) -> PeakWeights:
    """`peak_weights`; a study asks for those of one notch and mesh again and again."""
    return peak_weights(constants=None if constants is None else dict(constants), **given)


def _peak_strength(
    weights: PeakWeights,
    usual: PeakWeights,
    resistance: Resistance,
    curves: Sequence[Curve],
    condition: str,
) -> Strength:
    curve, shear = curves[0], curves[1] if len(curves) > 1 else None
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
    line: WeldLine, resistance: Resistance, curves: Sequence[Curve], loading: Loading | None
) -> tuple[Strength, tuple[Finding, ...]]:
    curve, shear = curves[0], curves[1] if len(curves) > 1 else None
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
