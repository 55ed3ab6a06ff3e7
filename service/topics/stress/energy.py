"""The averaged energy of a request, and the control radius that it is averaged over."""

from __future__ import annotations

from fatcore.errors import InputError, UnknownError
from fatcore.outcome import Outcome
from fatcore.stress.materials import (
    RADIUS_TABLE,
    control_radius_of,
    material_findings,
    material_limits,
    material_names,
    poisson_findings,
    radius_findings,
)
from fatcore.stress.notch.energy import (
    AveragedEnergy,
    energy_from_equivalent_stress,
    energy_from_intensities,
    energy_from_sector,
    energy_given,
)

from ...base.derive import call
from ...base.unused import refuse_unused
from . import models
from .columns import map_error_path, none_of, one_of, required, stack_columns


def basis_of_radius(
    material: str,
    control_radius_mm: float | None,
    poisson_ratio: float,
    opening_angle_deg: float,
    notch_size_mm: float | None = None,
) -> tuple[float, Outcome]:
    """The radius as given or as published for the material [mm], and the findings on both."""
    if control_radius_mm is None:
        radius, found = control_radius_of(material), material_findings(material)
    else:
        radius, found = control_radius_mm, radius_findings(material, control_radius_mm)
    found += (
        *poisson_findings(material, poisson_ratio),
        *material_limits(material, poisson_ratio, radius, opening_angle_deg, notch_size_mm),
    )
    return radius, Outcome(findings=found, tables=(RADIUS_TABLE,))


def average_energy(request: models.EnergyRequest) -> tuple[AveragedEnergy, Outcome]:
    """The energy of what the request gives, and the findings on the radius.

    Raises : InputError for fields that this needs and that are missing, or that it does not use
    """
    given = one_of(request, "intensities", "sector", "energy_density_mj_m3", "equivalent_stress_mpa")
    if given != "intensities":
        refuse_unused(request, "coefficients", because=f"{given} needs no energy coefficients")
    if given in ("intensities", "sector"):
        angle = required(request, "opening_angle_deg")
        radius, basis = _radius(request, angle)
        found = _of_intensities if given == "intensities" else _of_sector
        return found(request, required(request, given), radius), basis
    none_of(request, f"{given} excludes it", "opening_angle_deg", "material", "control_radius_mm")
    density = required(request, given)
    if given == "equivalent_stress_mpa":
        density = call(energy_from_equivalent_stress, request)
    limits = material_limits("", request.poisson_ratio, 0.0, 0.0)  # a radius does not matter here
    return call(energy_given, request, energy_density_mj_m3=density), Outcome(findings=limits)


def _radius(request: models.EnergyRequest, angle_deg: float) -> tuple[float, Outcome]:
    material, radius = request.material, request.control_radius_mm
    if radius is None and material is None:
        raise InputError("needed here, or a material with a published one", "control_radius_mm")
    if radius is None and material not in material_names():
        raise UnknownError("material", str(material), material_names(), "material")
    return basis_of_radius(material or "", radius, request.poisson_ratio, angle_deg)


def _of_intensities(request: models.EnergyRequest, given: models.IntensityInput, radius_mm: float) -> AveragedEnergy:
    columns = given.model_dump()
    columns = dict(zip(columns, stack_columns("intensities", columns).T, strict=True))
    with map_error_path(**dict.fromkeys(columns, "intensities")):
        return call(energy_from_intensities, request, control_radius_mm=radius_mm, **columns)


def _of_sector(request: models.EnergyRequest, given: models.SectorInput, radius_mm: float) -> AveragedEnergy:
    angle = request.opening_angle_deg
    density = call(energy_from_sector, given, opening_angle_deg=angle, control_radius_mm=radius_mm)
    return call(energy_given, request, energy_density_mj_m3=density)
