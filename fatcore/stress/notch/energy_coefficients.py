"""Energy coefficients of a sharp notch: mean strain energy in a sector round the tip for a unit intensity."""

from __future__ import annotations

from functools import cache
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from fatcore import tables
from fatcore.bounds import PoissonRatio, guarded
from fatcore.errors import NotCoveredError
from fatcore.findings import Finding, Limit, note, outside_limits
from fatcore.require import FloatArray, within
from fatcore.stress.modes import ModeValues
from fatcore.stress.notch.fields import (
    OpeningAngle,
    eigenvalue_opening,
    eigenvalue_sliding,
    eigenvalue_tearing,
    half_sector,
    reduced_auxiliary,
)

CoefficientChoice = Literal["exact", "published-fit"]
_FIT_TABLE = "stress/energy_coefficients"
FIT_LIMITS = (Limit("opening_angle_deg", 0.0, 150.0, "notch-derivation", "fit within 1.4 % of the exact integral"),)

_SERIES_BELOW = 0.05  # the three terms of the series are exact to the last digit here


def energy_coefficient_opening(opening_angle_deg: ArrayLike, poisson_ratio: ArrayLike = 0.3) -> FloatArray:
    """Energy coefficient of the opening mode in plane strain, integrated in closed form.

    opening_angle_deg : angle between the notch faces [deg], 0 <= value < 180, scalar or array
    poisson_ratio     : Poisson's ratio [-], 0 to 0.5
    Returns           : e1 [-], broadcast shape
    Raises            : InputError outside the ranges
    Source            : [notch-derivation] integral of the fields of [energy-fields-2017]

    >>> round(float(energy_coefficient_opening(0.0)), 5)
    0.13449
    """
    nu, gamma = _poisson(poisson_ratio), half_sector(opening_angle_deg)
    eigen = eigenvalue_opening(opening_angle_deg)
    rest = 1.0 - eigen
    chi = reduced_auxiliary(gamma, eigen) * rest
    scale = 1.0 / (2.0 * np.pi * ((1.0 + eigen) + chi * rest) ** 2)
    sum_squared = 16.0 * scale * gamma * (1.0 + np.sinc(2.0 * rest * gamma / np.pi))
    deviator = 2.0 * scale * rest**2 * (gamma * (1.0 + chi**2) - chi * np.sin(2.0 * gamma))
    return _coefficient(nu, gamma, eigen, sum_squared, deviator)


def energy_coefficient_sliding(opening_angle_deg: ArrayLike, poisson_ratio: ArrayLike = 0.3) -> FloatArray:
    """Energy coefficient of the in-plane sliding mode in plane strain, integrated in closed form.

    opening_angle_deg : angle between the notch faces [deg], 0 <= value < 180, scalar or array
    poisson_ratio     : Poisson's ratio [-], 0 to 0.5
    Returns           : e2 [-], broadcast shape; also where the mode is not singular
    Raises            : InputError outside the ranges
    Source            : [notch-derivation] integral of the fields of [energy-fields-2017]

    >>> round(float(energy_coefficient_sliding(0.0)), 5)
    0.34139
    """
    nu, gamma = _poisson(poisson_ratio), half_sector(opening_angle_deg)
    eigen = eigenvalue_sliding(opening_angle_deg)
    # everything is divided by 1 - lambda, which vanishes together with chi at the limit angle
    share = reduced_auxiliary(gamma, eigen) * (1.0 + eigen)
    scale = 1.0 / (2.0 * np.pi * (1.0 + share) ** 2)
    sum_squared = 64.0 * scale * gamma**3 * _sinc_defect(2.0 * (1.0 - eigen) * gamma)
    deviator = 2.0 * scale * (gamma * (1.0 + share**2) + share * np.sin(2.0 * gamma))
    return _coefficient(nu, gamma, eigen, sum_squared, deviator)


def energy_coefficient_tearing(opening_angle_deg: ArrayLike, poisson_ratio: ArrayLike = 0.3) -> FloatArray:
    """Energy coefficient of the out-of-plane tearing mode.

    opening_angle_deg : angle between the notch faces [deg], 0 <= value < 180, scalar or array
    poisson_ratio     : Poisson's ratio [-], 0 to 0.5
    Returns           : e3 [-], broadcast shape
    Raises            : InputError outside the ranges
    Source            : [notch-derivation] integral of the field of [energy-fields-2017]

    >>> round(float(energy_coefficient_tearing(0.0)), 5)
    0.4138
    """
    eigen = eigenvalue_tearing(opening_angle_deg)
    return np.asarray((1.0 + _poisson(poisson_ratio)) / (2.0 * np.pi * eigen))


def fit_coefficient_opening(opening_angle_deg: ArrayLike) -> FloatArray:
    """Published quadratic fit of e1 for Poisson's ratio 0.3, not rounded.

    opening_angle_deg : angle between the notch faces [deg], 0 <= value < 180, scalar or array
    Returns           : e1 [-], same shape
    Valid             : FIT_LIMITS
    Raises            : InputError outside 0 to 180
    Source            : [energy-coefficient-fits]
    """
    return _fit("opening", opening_angle_deg)


def fit_coefficient_sliding(opening_angle_deg: ArrayLike) -> FloatArray:
    """Published quadratic fit of e2 for Poisson's ratio 0.3, not rounded.

    opening_angle_deg : angle between the notch faces [deg], 0 <= value < 180, scalar or array
    Returns           : e2 [-], same shape
    Valid             : FIT_LIMITS
    Raises            : InputError outside 0 to 180
    Source            : [energy-coefficient-fits]
    """
    return _fit("sliding", opening_angle_deg)


@cache
@guarded
def energy_coefficients(
    opening_angle_deg: OpeningAngle, poisson_ratio: PoissonRatio = 0.3, coefficients: CoefficientChoice = "exact"
) -> ModeValues:
    """The three energy coefficients of one notch, exact or as the papers print them.

    opening_angle_deg : angle between the notch faces [deg], 0 <= value < 180
    poisson_ratio     : Poisson's ratio [-]; the published fits know 0.3 only
    coefficients      : "exact" (closed-form integrals) or "published-fit" (quadratic fits, closed form of e3,
                        rounded to the three decimals that the papers print and use)
    Returns           : e1, e2, e3 [-]
    Raises            : InputError, NotCoveredError for fits at another Poisson's ratio
    Source            : [notch-derivation], [energy-coefficient-fits]
    """
    tearing = float(energy_coefficient_tearing(opening_angle_deg, poisson_ratio))
    if coefficients == "exact":
        opening = float(energy_coefficient_opening(opening_angle_deg, poisson_ratio))
        sliding = float(energy_coefficient_sliding(opening_angle_deg, poisson_ratio))
        return ModeValues(opening=opening, sliding=sliding, tearing=tearing)
    table = tables.load(_FIT_TABLE)
    if poisson_ratio != table["poisson_ratio"]:
        message = f"the published fits hold for Poisson's ratio {table['poisson_ratio']} only; choose exact"
        raise NotCoveredError(message, "poisson_ratio")
    opening = float(fit_coefficient_opening(opening_angle_deg))
    sliding = float(fit_coefficient_sliding(opening_angle_deg))
    opening, sliding, tearing = (round(value, table["digits"]) for value in (opening, sliding, tearing))
    return ModeValues(opening=opening, sliding=sliding, tearing=tearing)


def coefficient_findings(opening_angle_deg: float, coefficients: CoefficientChoice) -> tuple[Finding, ...]:
    """Which energy coefficients were used, and whether the fits are left.

    opening_angle_deg : angle between the notch faces [deg]
    coefficients      : "exact" or "published-fit"
    """
    if coefficients == "exact":
        return (note("exact-coefficients", "energy coefficients integrated exactly", source="notch-derivation"),)
    message = "energy coefficients from published fits, rounded as printed; up to 1.4 % off the exact integral"
    used = note("published-fit-coefficients", message, source="energy-coefficient-fits")
    return (used, *outside_limits(FIT_LIMITS, opening_angle_deg=opening_angle_deg))


def coefficient_sources(coefficients: CoefficientChoice) -> tuple[str, ...]:
    """Keys of the sources of the chosen energy coefficients."""
    shared = ("energy-fields-2017", "notch-derivation")
    return shared if coefficients == "exact" else (*shared, "energy-coefficient-fits")


def coefficient_tables(coefficients: CoefficientChoice) -> tuple[str, ...]:
    """Names of the data tables behind the chosen energy coefficients."""
    return () if coefficients == "exact" else (_FIT_TABLE,)


def _poisson(poisson_ratio: ArrayLike) -> FloatArray:
    return within("poisson_ratio", poisson_ratio, 0.0, 0.5)


def _fit(mode: str, opening_angle_deg: ArrayLike) -> FloatArray:
    angle = within("opening_angle_deg", opening_angle_deg, 0.0, 180.0, open_high=True)
    return np.asarray(np.polyval(tables.load(_FIT_TABLE)[mode], angle))


def _coefficient(
    nu: FloatArray, gamma: FloatArray, eigen: FloatArray, sum_squared: FloatArray, deviator: FloatArray
) -> FloatArray:
    """Mean over the sector from the integrals of (hoop + radial)^2 and of the squared largest shear."""
    integral = (1.0 + nu) * ((0.5 - nu) * sum_squared + 2.0 * deviator)
    return np.asarray(integral / (4.0 * eigen * gamma))


def _sinc_defect(x: FloatArray) -> FloatArray:
    """(1 - sin(x)/x) / x^2, by its series where the difference would lose digits."""
    squared = np.square(x)
    series = 1.0 / 6.0 - squared / 120.0 + squared**2 / 5040.0
    small = np.abs(x) < _SERIES_BELOW
    safe = np.where(small, 1.0, x)
    return np.where(small, series, (1.0 - np.sinc(safe / np.pi)) / np.square(safe))
