"""Notch stress intensities at the toes and the root of a fillet-welded cross-section, by finite elements."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Annotated, Literal, TypedDict

import numpy as np
from annotated_types import Ge, Le, doc

from fatcore.bounds import NonNegative, Positive, guard, guarded
from fatcore.errors import InputError
from fatcore.figures import as_given
from fatcore.findings import Finding
from fatcore.outcome import Outcome, evidence
from fatcore.require import FloatArray
from fatcore.stress.materials import material_limits
from fatcore.stress.notch.energy import AveragedEnergy, energy_from_intensities
from fatcore.stress.notch.fields import sliding_limit_angle_deg
from fatcore.stress.section._remarks import joint_remarks, point_remarks
from fatcore.stress.section._response import TipResponse, corner_signs, responses
from fatcore.stress.section._shape import Section
from fatcore.stress.section._sizes import section_of, span_of
from fatcore.stress.section.results import Corner, SectionPoint, SectionStress, UnitLoad

_ATTACHMENTS = "2: one on each side of the plate; 1: one side"
_ATTACHMENT_LEG = "a third to three times plate_leg_mm; null: equal to it"
_GAP = "unfused length in the middle; 0 is full penetration, attachment_thickness_mm is none"
_SPAN = "only for one attachment under membrane stress, which bends the plate"
_Acting = Annotated[float, Ge(-1e6), Le(1e6)]
_LEAST_MPA = 1e-6
_COARSE, _FINE = 0.5, 0.33  # angle between the rays of the two meshes [rad]
_LEAST_PCT = 0.1  # what finer meshes changed in joints where the two meshes happened to agree better


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionLoads:
    """Nominal stresses that act together [MPa]: of the attachment in its section at the plate surface, where
    the shear has no moment; of the plate far from the weld. Tearing is shear along the weld."""

    plate_membrane_mpa: _Acting = 0.0
    plate_bending_mpa: _Acting = 0.0
    attachment_membrane_mpa: _Acting = 0.0
    attachment_bending_mpa: _Acting = 0.0
    attachment_shear_mpa: _Acting = 0.0
    plate_tearing_mpa: _Acting = 0.0
    attachment_tearing_mpa: _Acting = 0.0

    def __post_init__(self) -> None:
        guard(self)
        for name, value in self.acting().items():
            if abs(value) < _LEAST_MPA:
                raise InputError(f"{name} must be 0 or at least {as_given(_LEAST_MPA)} MPa in size", name)

    def acting(self) -> dict[str, float]:
        """The stresses that are not zero, by name [MPa]."""
        return {each.name: value for each in fields(self) if (value := getattr(self, each.name)) != 0.0}


class Material(TypedDict):
    """Material of a section: Young's modulus, Poisson's ratio, radius of the control sector."""

    youngs_modulus_mpa: float
    poisson_ratio: float
    control_radius_mm: float


@guarded
def section_stress(
    *,
    attachments: Annotated[Literal[1, 2], doc(_ATTACHMENTS)],
    plate_thickness_mm: Annotated[float, Ge(0.5), Le(500.0)],
    attachment_thickness_mm: Annotated[Positive, doc("a tenth to ten times the plate")],
    plate_leg_mm: Annotated[Positive, doc("a tenth to ten times the thinner part")],
    attachment_leg_mm: Annotated[Positive | None, doc(_ATTACHMENT_LEG)] = None,
    gap_mm: Annotated[NonNegative, doc(_GAP)],
    loads: SectionLoads,
    support_span_mm: Annotated[Positive | None, doc(_SPAN)] = None,
    youngs_modulus_mpa: Annotated[float, Ge(1e2), Le(1e7)] = 206_000.0,
    poisson_ratio: Annotated[float, Ge(0.0), Le(0.49)] = 0.3,  # plane strain locks towards 0.5
    control_radius_mm: Annotated[float, Ge(1e-3), Le(100.0), doc("of the material")],
) -> SectionStress:
    """Plane strain and anti-plane shear of a plate with fillet-welded attachments, solved on two meshes.

    plate_thickness_mm, attachment_thickness_mm : thicknesses [mm]
    plate_leg_mm, attachment_leg_mm : legs of the fillets on the plate and on the attachment [mm]
    gap_mm, support_span_mm         : unfused length, distance of the supports of the plate [mm]
    youngs_modulus_mpa, poisson_ratio, control_radius_mm : material [MPa, -, mm]
    Raises           : InputError for sizes that make no joint; NotConvergedError when it cannot be meshed
    Source           : [section-solver], [energy-fields-2017]
    """
    section = section_of(
        attachments=attachments,
        plate_thickness_mm=plate_thickness_mm,
        attachment_thickness_mm=attachment_thickness_mm,
        plate_leg_mm=plate_leg_mm,
        attachment_leg_mm=attachment_leg_mm,
        gap_mm=gap_mm,
    )
    material: Material = {
        "youngs_modulus_mpa": youngs_modulus_mpa,
        "poisson_ratio": poisson_ratio,
        "control_radius_mm": control_radius_mm,
    }
    size = min(plate_thickness_mm, attachment_thickness_mm, plate_leg_mm)
    limits = material_limits("", poisson_ratio, control_radius_mm, 0.0, size)
    values = loads.acting()
    if not values:
        raise InputError("at least one load must differ from 0", "loads")
    span = span_of(section, values, support_span_mm)
    pairs = _on_two_meshes(section, tuple(values), span, material)
    stress = np.array(list(values.values()))
    signed = {corner: signs * stress for corner, signs in corner_signs(section, tuple(values)).items()}
    parts = [_point(tuple(values), signed, old, new, material) for old, new in pairs]
    return _finish(parts, (*limits, *joint_remarks(not section.mirrored, values)))


def _on_two_meshes(
    section: Section, loads: tuple[str, ...], span: float, material: Material
) -> list[tuple[TipResponse, TipResponse]]:
    """Responses of every singular point, from the coarse and from the fine mesh."""
    coarse, fine = (
        responses(
            section,
            loads,
            poisson_ratio=material["poisson_ratio"],
            control_radius_mm=material["control_radius_mm"],
            span=span,
            step=step,
        )
        for step in (_COARSE, _FINE)
    )
    return list(zip(coarse, fine, strict=True))


def _finish(parts: list[tuple[SectionPoint, Outcome]], joint: tuple[Finding, ...]) -> SectionStress:
    points = tuple(point for point, _ in parts)
    worst = max(points, key=lambda point: float(point.equivalent_stress_mpa.max()))
    corner = int(np.argmax(worst.equivalent_stress_mpa))
    largest = float(worst.equivalent_stress_mpa[corner])
    joint += tuple(remark for point in points for remark in point_remarks(point, largest))
    basis = Outcome(findings=joint, sources=("section-solver", "williams-1952"))
    return SectionStress(
        section_points=points,
        governing_point=worst.location,
        governing_corner=worst.corners[corner],
        equivalent_stress_mpa=largest,
        error_pct=worst.error_pct,
        **evidence(basis, *(outcome for _, outcome in parts)),
    )


def _point(
    names: tuple[str, ...],
    signed: Mapping[Corner, FloatArray],
    coarse: TipResponse,
    fine: TipResponse,
    material: Material,
) -> tuple[SectionPoint, Outcome]:
    """One point under the loads of every corner, and its findings."""
    factors = np.array(list(signed.values()))
    angle, singular = fine.tip.opening_angle_deg, fine.tip.opening_angle_deg < sliding_limit_angle_deg()
    intensities = factors @ fine.intensities
    energy = _average_energy(intensities, angle, material)
    equivalent = energy.equivalent_stress_mpa
    change = _average_energy(factors @ (fine.intensities - coarse.intensities), angle, material)
    error = _estimate(100.0 * float(change.equivalent_stress_mpa.max() / equivalent.max()))
    direct = _direct(fine, factors, material["poisson_ratio"])
    point = SectionPoint(
        location=fine.tip.name,
        opening_angle_deg=angle,
        corners=tuple(signed),
        k1_mpa_mm_lambda=intensities[:, 0],
        k2_mpa_mm_lambda=intensities[:, 1] if singular else None,
        k3_mpa_mm_lambda=intensities[:, 2],
        energy_density_mj_m3=energy.energy_density_mj_m3,
        equivalent_stress_mpa=equivalent,
        direct_equivalent_stress_mpa=direct,
        biaxiality_ratio=_ratio(energy),
        error_pct=error,
        unit_loads=_unit_loads(names, fine, singular, material),
    )
    return point, energy


def _average_energy(intensities: FloatArray, angle: float, material: Material) -> AveragedEnergy:
    """Energy of intensities (n, 3); sliding is left out where it is not singular."""
    k1, k2, k3 = intensities.T
    sliding = k2 if angle < sliding_limit_angle_deg() else 0.0
    return energy_from_intensities(k1, sliding, k3, opening_angle_deg=angle, **material)


def _ratio(energy: AveragedEnergy) -> FloatArray:
    opening, tearing = energy.opening_mj_m3, energy.tearing_mj_m3
    assert opening is not None
    assert tearing is not None
    shear = tearing if energy.sliding_mj_m3 is None else tearing + energy.sliding_mj_m3
    with np.errstate(all="ignore"):
        return np.where(opening > 0.0, shear / opening, np.inf)


def _direct(response: TipResponse, factors: FloatArray, poisson_ratio: float) -> FloatArray | None:
    """Equivalent stress of all strain energy of the sector, by corner."""
    if response.energy is None:
        return None
    energy = np.einsum("ca,ab,cb->c", factors, response.energy, factors)
    return np.asarray(np.sqrt(2.0 * np.maximum(energy, 0.0) / (1.0 - poisson_ratio**2)))


def _unit_loads(
    names: tuple[str, ...], response: TipResponse, singular: bool, material: Material
) -> tuple[UnitLoad, ...]:
    equivalent = _average_energy(response.intensities, response.tip.opening_angle_deg, material)
    return tuple(
        UnitLoad(
            load=name,
            k1_mpa_mm_lambda=float(k[0]),
            k2_mpa_mm_lambda=float(k[1]) if singular else None,
            k3_mpa_mm_lambda=float(k[2]),
            equivalent_stress_mpa=float(stress),
        )
        for name, k, stress in zip(names, response.intensities, equivalent.equivalent_stress_mpa, strict=True)
    )


def _estimate(change_pct: float) -> float:
    """Two digits of the change between the meshes, which may agree by chance: never below the least error."""
    return max(_LEAST_PCT, float(f"{change_pct:.2g}"))
