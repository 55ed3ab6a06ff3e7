"""Strain energy density averaged over a sector round the tip of a sharp notch, and its equivalent stress."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import numpy as np
from annotated_types import Ge, Le, doc
from numpy.typing import ArrayLike

from fatcore.bounds import NonNegativeColumn, NumberColumn, PoissonRatio, Positive, PositiveColumn, guarded
from fatcore.errors import InputError
from fatcore.findings import Finding, note
from fatcore.outcome import Outcome, evidence
from fatcore.plausible import modulus_doubts
from fatcore.require import FloatArray
from fatcore.stress.guarding import finite_result
from fatcore.stress.notch.energy_coefficients import (
    CoefficientChoice,
    coefficient_findings,
    coefficient_sources,
    coefficient_tables,
    energy_coefficients,
)
from fatcore.stress.notch.fields import (
    OpeningAngle,
    eigenvalue_opening,
    eigenvalues,
    half_sector,
    sliding_limit_angle_deg,
)

_PoissonColumn = Annotated[ArrayLike, Ge(0.0), Le(0.5)]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AveragedEnergy(Outcome):
    """Mean strain energy density of the sector.

    energy_density_mj_m3  : total [MJ/m³], one a set of intensities
    opening_mj_m3, sliding_mj_m3, tearing_mj_m3 : parts of the modes [MJ/m³]; None where not known
    equivalent_stress_mpa : stress of equal energy under plane strain [MPa]
    """

    energy_density_mj_m3: FloatArray
    opening_mj_m3: FloatArray | None
    sliding_mj_m3: FloatArray | None
    tearing_mj_m3: FloatArray | None
    equivalent_stress_mpa: FloatArray


@guarded
def energy_from_intensities(
    k1_mpa_mm_lambda: NumberColumn,
    k2_mpa_mm_lambda: NumberColumn = 0.0,
    k3_mpa_mm_lambda: NumberColumn = 0.0,
    *,
    opening_angle_deg: OpeningAngle,
    youngs_modulus_mpa: Positive,
    control_radius_mm: Positive,
    poisson_ratio: PoissonRatio = 0.3,
    coefficients: CoefficientChoice = "exact",
) -> AveragedEnergy:
    """Averaged strain energy density from the notch stress intensities of the three modes.

    k1_mpa_mm_lambda, k2_mpa_mm_lambda, k3_mpa_mm_lambda : intensities or their ranges [MPa*mm^(1-lambda)]
    opening_angle_deg  : angle between the notch faces [deg]
    youngs_modulus_mpa : Young's modulus [MPa]; poisson_ratio : Poisson's ratio [-]
    control_radius_mm  : radius of the sector [mm]
    coefficients       : "exact" or "published-fit", see `energy_coefficients`
    Returns            : W = sum of e K^2 / (E R0^(2 (1 - lambda))); sliding left out where not singular
    Raises             : InputError, NotCoveredError for fits at another Poisson's ratio
    Source             : [energy-fields-2017] eq. 7
    """
    e = energy_coefficients(opening_angle_deg, poisson_ratio, coefficients)
    lam = eigenvalues(opening_angle_deg)
    singular = opening_angle_deg < sliding_limit_angle_deg()

    def part(name: str, k: ArrayLike, e_mode: float, eigen: float) -> FloatArray:
        intensity = np.asarray(k, dtype=np.float64)
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
        equivalent_stress_mpa=_equivalent_stress(total, youngs_modulus_mpa, poisson_ratio),
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


@guarded
def energy_from_sector(
    strain_energy_nmm: NonNegativeColumn,
    *,
    opening_angle_deg: OpeningAngle,
    control_radius_mm: Positive,
    thickness_mm: Annotated[Positive, doc("length of the sector along the notch line")],
) -> FloatArray:
    """Averaged strain energy density from the energy that a finite-element model stores in the sector.

    strain_energy_nmm : energy of all elements in the whole sector [N*mm], both halves of a symmetric model
    opening_angle_deg : angle between the notch faces [deg]; control_radius_mm : radius of the sector [mm]
    thickness_mm      : length of the sector along the notch line [mm]
    Returns           : energy over the volume gamma R0^2 t [MJ/m³], same shape
    Raises            : InputError for values outside their ranges
    Source            : [energy-fields-2017]
    """
    energy, gamma = np.asarray(strain_energy_nmm, dtype=np.float64), half_sector(opening_angle_deg)
    with np.errstate(all="ignore"):
        return finite_result(energy / (gamma * control_radius_mm**2 * thickness_mm), "control_radius_mm")


@guarded
def energy_given(
    energy_density_mj_m3: NonNegativeColumn, youngs_modulus_mpa: Positive, poisson_ratio: PoissonRatio = 0.3
) -> AveragedEnergy:
    """Outcome of a mean energy density that is known, its modes not being told apart.

    energy_density_mj_m3 : mean energy density of the sector [MJ/m³]
    youngs_modulus_mpa   : Young's modulus [MPa]; poisson_ratio : Poisson's ratio [-]
    Raises               : InputError for values outside their ranges
    Source               : [peak-stress-review-2020]
    """
    energy = np.asarray(energy_density_mj_m3, dtype=np.float64)
    return AveragedEnergy(
        energy_density_mj_m3=energy,
        opening_mj_m3=None,
        sliding_mj_m3=None,
        tearing_mj_m3=None,
        equivalent_stress_mpa=_equivalent_stress(energy, youngs_modulus_mpa, poisson_ratio),
        **evidence(
            findings=modulus_doubts(youngs_modulus_mpa),
            sources=("energy-fields-2017", "peak-stress-review-2020"),
        ),
    )


@guarded
def equivalent_stress_from_energy(
    energy_density_mj_m3: NonNegativeColumn,
    youngs_modulus_mpa: PositiveColumn,
    poisson_ratio: _PoissonColumn = 0.3,
) -> FloatArray:
    """Stress whose plane-strain energy density is the given one.

    energy_density_mj_m3 : mean energy density [MJ/m³]
    youngs_modulus_mpa   : Young's modulus [MPa]; poisson_ratio : Poisson's ratio [-]
    Returns              : sqrt(2 E W / (1 - nu^2)) [MPa], broadcast shape
    Raises               : InputError for values outside their ranges
    Source               : [peak-stress-review-2020]
    """
    return _equivalent_stress(energy_density_mj_m3, youngs_modulus_mpa, poisson_ratio)


@guarded
def energy_from_equivalent_stress(
    equivalent_stress_mpa: NumberColumn, youngs_modulus_mpa: PositiveColumn, poisson_ratio: _PoissonColumn = 0.3
) -> FloatArray:
    """Plane-strain energy density of an equivalent stress, the inverse of `equivalent_stress_from_energy`.

    equivalent_stress_mpa : equivalent stress or its range [MPa]
    youngs_modulus_mpa    : Young's modulus [MPa]; poisson_ratio : Poisson's ratio [-]
    Returns               : (1 - nu^2) sigma^2 / (2 E) [MJ/m³], broadcast shape
    Raises                : InputError for values outside their ranges
    Source                : [peak-stress-review-2020]
    """
    stress = np.asarray(equivalent_stress_mpa, dtype=np.float64)
    modulus = _plane_modulus(youngs_modulus_mpa, poisson_ratio)
    with np.errstate(all="ignore"):
        return finite_result(np.square(stress) / (2.0 * modulus), "youngs_modulus_mpa")


@guarded
def control_radius(
    intensity_range_mpa_mm_lambda: PositiveColumn,
    plain_range_mpa: PositiveColumn,
    *,
    opening_angle_deg: OpeningAngle,
    poisson_ratio: PoissonRatio = 0.3,
    energy_coefficient: Positive | None = None,
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
    exact = energy_coefficients(opening_angle_deg, poisson_ratio).opening
    e1 = exact if energy_coefficient is None else energy_coefficient
    intensity = np.asarray(intensity_range_mpa_mm_lambda, dtype=np.float64)
    ratio = np.sqrt(2.0 * e1) * intensity / np.asarray(plain_range_mpa, dtype=np.float64)
    with np.errstate(all="ignore"):
        power = 1.0 / (1.0 - eigenvalue_opening(opening_angle_deg))
        return finite_result(ratio**power, "intensity_range_mpa_mm_lambda")


@guarded
def intensity_from_peak(
    peak_mpa: NumberColumn,
    constant: PositiveColumn,
    element_size_mm: PositiveColumn,
    eigenvalue: Annotated[ArrayLike, Ge(0.5), Le(2.0)],
) -> FloatArray:
    """Notch stress intensity of one mode from its peak stress.

    peak_mpa     : nodal peak stress of the mode [MPa]; constant : element constant of the mode [-]
    element_size_mm : average element size [mm]; eigenvalue : exponent of the mode [-]
    Returns      : constant * peak * d^(1 - lambda) [MPa*mm^(1-lambda)], broadcast shape
    Raises       : InputError for values outside their ranges
    Source       : [peak-stress-review-2020]
    """
    size, factor = np.asarray(element_size_mm, dtype=np.float64), np.asarray(constant, dtype=np.float64)
    return np.asarray(factor * np.asarray(peak_mpa) * size ** (1.0 - np.asarray(eigenvalue)))


def _equivalent_stress(energy: ArrayLike, modulus: ArrayLike, nu: ArrayLike) -> FloatArray:
    with np.errstate(all="ignore"):
        return finite_result(np.sqrt(2.0 * _plane_modulus(modulus, nu) * np.asarray(energy)), "youngs_modulus_mpa")


def _plane_modulus(modulus: ArrayLike, nu: ArrayLike) -> FloatArray:
    return np.asarray(np.asarray(modulus, dtype=np.float64) / (1.0 - np.asarray(nu, dtype=np.float64) ** 2))


def _left_out(singular: bool, k2_mpa_mm_lambda: ArrayLike) -> tuple[Finding, ...]:
    if singular:
        return ()
    if np.any(np.asarray(k2_mpa_mm_lambda) != 0.0):
        message = "the sliding mode is not singular at this angle: an intensity of it is not defined"
        raise InputError(message, "k2_mpa_mm_lambda")
    return (note("sliding-not-singular", "sliding mode left out: not singular at this angle", field="sliding"),)
