"""Strain energy density averaged over a sector round the tip of a sharp notch, and its equivalent stress."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from fatcore.errors import InputError
from fatcore.findings import Finding, note
from fatcore.outcome import Outcome, evidence
from fatcore.plausible import modulus_doubts
from fatcore.require import FloatArray, finite, positive, within
from fatcore.stress.guarding import finite_result
from fatcore.stress.notch.energy_coefficients import (
    coefficient_findings,
    coefficient_sources,
    coefficient_tables,
    energy_coefficients,
)
from fatcore.stress.notch.fields import eigenvalue_opening, eigenvalues, half_sector, sliding_limit_angle_deg


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AveragedEnergy(Outcome):
    """Mean strain energy density of the sector.

    energy_density_mj_m3  : total [MJ/m^3], one a set of intensities
    opening_mj_m3, sliding_mj_m3, tearing_mj_m3 : parts of the modes [MJ/m^3]; None where not known
    equivalent_stress_mpa : stress of equal energy under plane strain [MPa]
    """

    energy_density_mj_m3: FloatArray
    opening_mj_m3: FloatArray | None
    sliding_mj_m3: FloatArray | None
    tearing_mj_m3: FloatArray | None
    equivalent_stress_mpa: FloatArray


def energy_from_intensities(
    k1_mpa_mm_lambda: ArrayLike,
    k2_mpa_mm_lambda: ArrayLike = 0.0,
    k3_mpa_mm_lambda: ArrayLike = 0.0,
    *,
    opening_angle_deg: float,
    youngs_modulus_mpa: float,
    control_radius_mm: float,
    poisson_ratio: float = 0.3,
    coefficients: str = "exact",
) -> AveragedEnergy:
    """Averaged strain energy density from the notch stress intensities of the three modes.

    k1_mpa_mm_lambda, k2_mpa_mm_lambda, k3_mpa_mm_lambda : intensities or their ranges [MPa*mm^(1-lambda)]
    opening_angle_deg  : angle between the notch faces [deg], 0 <= value < 180
    youngs_modulus_mpa : Young's modulus [MPa]; poisson_ratio : Poisson's ratio [-]
    control_radius_mm  : radius of the sector [mm]
    coefficients       : "exact" or "published-fit", see `energy_coefficients`
    Returns            : W = sum of e K^2 / (E R0^(2 (1 - lambda))); sliding left out where not singular
    Raises             : InputError, NotCoveredError for fits at another Poisson's ratio
    Source             : [energy-fields-2017] eq. 7
    """
    positive("youngs_modulus_mpa", youngs_modulus_mpa)
    positive("control_radius_mm", control_radius_mm)
    e = energy_coefficients(opening_angle_deg, poisson_ratio, coefficients)
    lam = eigenvalues(opening_angle_deg)
    singular = opening_angle_deg < sliding_limit_angle_deg()

    def part(name: str, k: ArrayLike, e_mode: float, eigen: float) -> FloatArray:
        intensity = finite(name, k)
        with np.errstate(all="ignore"):
            spread = np.float64(control_radius_mm) ** (2.0 * (1.0 - eigen))
            return finite_result(e_mode * np.square(intensity) / (youngs_modulus_mpa * spread), name)

    assert e.sliding is not None
    assert lam.sliding is not None
    opening = part("k1_mpa_mm_lambda", k1_mpa_mm_lambda, e.opening, lam.opening)
    sliding = part("k2_mpa_mm_lambda", k2_mpa_mm_lambda, e.sliding, lam.sliding) if singular else None
    tearing = part("k3_mpa_mm_lambda", k3_mpa_mm_lambda, e.tearing, lam.tearing)
    total = opening + tearing if sliding is None else opening + sliding + tearing
    return AveragedEnergy(
        energy_density_mj_m3=total,
        opening_mj_m3=opening,
        sliding_mj_m3=sliding,
        tearing_mj_m3=tearing,
        equivalent_stress_mpa=equivalent_stress_from_energy(total, youngs_modulus_mpa, poisson_ratio),
        **evidence(
            findings=(
                *_left_out(singular, k2_mpa_mm_lambda),
                *modulus_doubts(youngs_modulus_mpa),
                *coefficient_findings(opening_angle_deg, coefficients),
            ),
            sources=coefficient_sources(coefficients),
            tables=coefficient_tables(coefficients),
        ),
    )


def energy_from_sector(
    strain_energy_nmm: ArrayLike,
    *,
    opening_angle_deg: float,
    control_radius_mm: float,
    thickness_mm: float,
) -> FloatArray:
    """Averaged strain energy density from the energy that a finite-element model stores in the sector.

    strain_energy_nmm : energy of all elements in the whole sector [N*mm], both halves of a symmetric model
    opening_angle_deg : angle between the notch faces [deg]; control_radius_mm : radius of the sector [mm]
    thickness_mm      : length of the sector along the notch line [mm]
    Returns           : energy over the volume gamma R0^2 t [MJ/m^3], same shape
    Raises            : InputError for values that are not positive or an angle outside its range
    Source            : [energy-fields-2017]
    """
    energy = within("strain_energy_nmm", strain_energy_nmm, 0.0, np.inf)
    gamma, radius = half_sector(opening_angle_deg), positive("control_radius_mm", control_radius_mm)
    thickness = positive("thickness_mm", thickness_mm)
    with np.errstate(all="ignore"):
        return finite_result(energy / (gamma * radius**2 * thickness), "control_radius_mm")


def energy_given(
    energy_density_mj_m3: ArrayLike, youngs_modulus_mpa: float, poisson_ratio: float = 0.3
) -> AveragedEnergy:
    """Outcome of a mean energy density that is known, its modes not being told apart.

    energy_density_mj_m3 : mean energy density of the sector [MJ/m^3], 0 or more
    youngs_modulus_mpa   : Young's modulus [MPa]; poisson_ratio : Poisson's ratio [-]
    Raises               : InputError for values outside their ranges
    Source               : [peak-stress-review-2020]
    """
    energy = within("energy_density_mj_m3", energy_density_mj_m3, 0.0, np.inf)
    return AveragedEnergy(
        energy_density_mj_m3=energy,
        opening_mj_m3=None,
        sliding_mj_m3=None,
        tearing_mj_m3=None,
        equivalent_stress_mpa=equivalent_stress_from_energy(energy, youngs_modulus_mpa, poisson_ratio),
        **evidence(
            findings=modulus_doubts(youngs_modulus_mpa),
            sources=("energy-fields-2017", "peak-stress-review-2020"),
        ),
    )


def equivalent_stress_from_energy(
    energy_density_mj_m3: ArrayLike, youngs_modulus_mpa: ArrayLike, poisson_ratio: ArrayLike = 0.3
) -> FloatArray:
    """Stress whose plane-strain energy density is the given one.

    energy_density_mj_m3 : mean energy density [MJ/m^3], 0 or more
    youngs_modulus_mpa   : Young's modulus [MPa]; poisson_ratio : Poisson's ratio [-]
    Returns              : sqrt(2 E W / (1 - nu^2)) [MPa], broadcast shape
    Raises               : InputError for values outside their ranges
    Source               : [peak-stress-review-2020]
    """
    energy = within("energy_density_mj_m3", energy_density_mj_m3, 0.0, np.inf)
    modulus = _plane_modulus(youngs_modulus_mpa, poisson_ratio)
    with np.errstate(all="ignore"):
        return finite_result(np.sqrt(2.0 * modulus * energy), "youngs_modulus_mpa")


def energy_from_equivalent_stress(
    equivalent_stress_mpa: ArrayLike, youngs_modulus_mpa: ArrayLike, poisson_ratio: ArrayLike = 0.3
) -> FloatArray:
    """Plane-strain energy density of an equivalent stress, the inverse of `equivalent_stress_from_energy`.

    equivalent_stress_mpa : equivalent stress or its range [MPa]
    youngs_modulus_mpa    : Young's modulus [MPa]; poisson_ratio : Poisson's ratio [-]
    Returns               : (1 - nu^2) sigma^2 / (2 E) [MJ/m^3], broadcast shape
    Raises                : InputError for values outside their ranges
    Source                : [peak-stress-review-2020]
    """
    stress = finite("equivalent_stress_mpa", equivalent_stress_mpa)
    modulus = _plane_modulus(youngs_modulus_mpa, poisson_ratio)
    with np.errstate(all="ignore"):
        return finite_result(np.square(stress) / (2.0 * modulus), "youngs_modulus_mpa")


def control_radius(
    intensity_range_mpa_mm_lambda: ArrayLike,
    plain_range_mpa: ArrayLike,
    *,
    opening_angle_deg: float,
    poisson_ratio: float = 0.3,
    energy_coefficient: float | None = None,
) -> FloatArray:
    """Radius at which a notch and a plain specimen of equal life have equal mean energy.

    intensity_range_mpa_mm_lambda : opening intensity range of the notched joints [MPa*mm^(1-lambda)]
    plain_range_mpa    : stress range of butt-ground or plain specimens at the same life [MPa]
    opening_angle_deg  : angle between the notch faces [deg]; poisson_ratio : Poisson's ratio [-]
    energy_coefficient : e1 of the calibration [-]; None is the exact one
    Returns            : [sqrt(2 e1) K / s]^(1/(1 - lambda)) [mm]; the plain specimen is in plane stress,
                         so no factor (1 - nu^2) enters here, unlike in the weights of peak stresses
    Raises             : InputError for values that are not positive
    Source             : [control-radius-2005], [austenitic-energy-2026] eq. 3

    >>> round(float(control_radius(211.0, 155.0, opening_angle_deg=135.0, energy_coefficient=0.118)), 3)
    0.282
    """
    e1 = energy_coefficients(opening_angle_deg, poisson_ratio).opening
    e1 = e1 if energy_coefficient is None else float(positive("energy_coefficient", energy_coefficient))
    intensity = positive("intensity_range_mpa_mm_lambda", intensity_range_mpa_mm_lambda)
    ratio = np.sqrt(2.0 * e1) * intensity / positive("plain_range_mpa", plain_range_mpa)
    with np.errstate(all="ignore"):
        power = 1.0 / (1.0 - eigenvalue_opening(opening_angle_deg))
        return finite_result(ratio**power, "intensity_range_mpa_mm_lambda")


def intensity_from_peak(
    peak_mpa: ArrayLike, constant: ArrayLike, element_size_mm: ArrayLike, eigenvalue: ArrayLike
) -> FloatArray:
    """Notch stress intensity of one mode from its peak stress.

    peak_mpa     : nodal peak stress of the mode [MPa]; constant : element constant of the mode [-]
    element_size_mm : average element size [mm]; eigenvalue : exponent of the mode [-]
    Returns      : constant * peak * d^(1 - lambda) [MPa*mm^(1-lambda)], broadcast shape
    Raises       : InputError for a size or constant not above 0
    Source       : [peak-stress-review-2020]
    """
    size, factor = positive("element_size_mm", element_size_mm), positive("constant", constant)
    exponent = 1.0 - within("eigenvalue", eigenvalue, 0.5, 2.0)
    return np.asarray(factor * finite("peak_mpa", peak_mpa) * size**exponent)


def _plane_modulus(youngs_modulus_mpa: ArrayLike, poisson_ratio: ArrayLike) -> FloatArray:
    nu = within("poisson_ratio", poisson_ratio, 0.0, 0.5)
    return np.asarray(positive("youngs_modulus_mpa", youngs_modulus_mpa) / (1.0 - nu**2))


def _left_out(singular: bool, k2_mpa_mm_lambda: ArrayLike) -> tuple[Finding, ...]:
    if singular:
        return ()
    if np.any(np.asarray(k2_mpa_mm_lambda) != 0.0):
        message = "the sliding mode is not singular at this angle: an intensity of it is not defined"
        raise InputError(message, "k2_mpa_mm_lambda")
    return (note("sliding-not-singular", "sliding mode left out: not singular at this angle", field="sliding"),)
