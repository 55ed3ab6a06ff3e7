"""Notch stress intensities at the toes and the root of a fillet-welded cross-section, by finite elements."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypedDict

import numpy as np

from fatcore.findings import Finding
from fatcore.outcome import Outcome, evidence
from fatcore.require import FloatArray, within
from fatcore.stress.materials import material_limits
from fatcore.stress.notch.energy import AveragedEnergy, energy_from_intensities
from fatcore.stress.notch.fields import sliding_limit_angle_deg
from fatcore.stress.section._cases import CASES
from fatcore.stress.section._remarks import joint_remarks, point_remarks
from fatcore.stress.section._response import TipResponse, corner_signs, responses
from fatcore.stress.section._shape import Section
from fatcore.stress.section._sizes import loads_of, section_of, span_of
from fatcore.stress.section.results import SectionPoint, SectionStress, UnitLoad

LOADS = tuple(CASES)
_COARSE, _FINE = 0.5, 0.33  # angle between the rays of the two meshes [rad]
_LEAST_PCT = 0.1  # what finer meshes changed in joints where the two meshes happened to agree better
_RADIUS_MM = (1e-3, 100.0)
_POISSON = (0.0, 0.49)  # plane strain locks towards 0.5
_MODULUS_MPA = (1e2, 1e7)


class Material(TypedDict):
    """Material of a section: Young's modulus, Poisson's ratio, radius of the control sector."""

    youngs_modulus_mpa: float
    poisson_ratio: float
    control_radius_mm: float


def section_stress(
    *,
    attachments: int,
    plate_thickness_mm: float,
    attachment_thickness_mm: float,
    plate_leg_mm: float,
    attachment_leg_mm: float | None = None,
    gap_mm: float,
    loads: Mapping[str, float],
    support_span_mm: float | None = None,
    youngs_modulus_mpa: float = 206_000.0,
    poisson_ratio: float = 0.3,
    control_radius_mm: float = 0.28,
) -> SectionStress:
    """Plane strain and anti-plane shear of a plate with fillet-welded attachments, solved on two meshes.

    attachments      : 2 (one on each side of the plate) or 1
    plate_thickness_mm, attachment_thickness_mm : thicknesses [mm]
    plate_leg_mm, attachment_leg_mm : legs of the fillets on the plate and on the attachment [mm]; None: equal
    gap_mm           : unfused length between plate and attachment [mm]; 0 is full penetration
    loads            : nominal stress [MPa] by name of `LOADS`, signed, acting together
    support_span_mm  : distance of the supports of the plate [mm], for one attachment that is pulled
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
        "youngs_modulus_mpa": float(within("youngs_modulus_mpa", youngs_modulus_mpa, *_MODULUS_MPA)),
        "poisson_ratio": float(within("poisson_ratio", poisson_ratio, *_POISSON)),
        "control_radius_mm": float(within("control_radius_mm", control_radius_mm, *_RADIUS_MM)),
    }
    size = min(plate_thickness_mm, attachment_thickness_mm, plate_leg_mm)
    limits = material_limits("", material["poisson_ratio"], material["control_radius_mm"], 0.0, size)
    values = loads_of(loads)
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
    signed: Mapping[str, FloatArray],
    coarse: TipResponse,
    fine: TipResponse,
    material: Material,
) -> tuple[SectionPoint, Outcome]:
    """One point under the loads of every corner, and what is to say about it."""
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
