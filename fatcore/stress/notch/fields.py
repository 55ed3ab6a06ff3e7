"""Sharp V-notch: exponents of the three modes and the stress fields round the tip.

The faces are free at theta = +-gamma, gamma = pi - opening angle / 2; theta = 0 is the bisector.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Annotated, NamedTuple

import numpy as np
from annotated_types import Ge, Lt
from numpy.typing import ArrayLike

from fatcore.require import FloatArray, finite, positive, within
from fatcore.stress.modes import ModeValues

OpeningAngle = Annotated[float, Ge(0.0), Lt(180.0)]

_HALVINGS = 56  # enough to bring an interval of length pi down to the spacing of doubles


class InPlaneField(NamedTuple):
    """Polar stresses of an in-plane mode [MPa]: hoop, radial, shear."""

    hoop_mpa: FloatArray
    radial_mpa: FloatArray
    shear_mpa: FloatArray


class OutOfPlaneField(NamedTuple):
    """Out-of-plane shear stresses [MPa]: on the hoop plane, on the radial plane."""

    hoop_shear_mpa: FloatArray
    radial_shear_mpa: FloatArray


def half_sector(opening_angle_deg: ArrayLike) -> FloatArray:
    """Half angle of the material round a notch.

    opening_angle_deg : angle between the notch faces [deg], 0 <= value < 180, scalar or array
    Returns           : gamma [rad], pi for a crack
    Raises            : InputError outside the range
    """
    angle = within("opening_angle_deg", opening_angle_deg, 0.0, 180.0, open_high=True)
    return np.asarray(np.pi - np.radians(angle) / 2.0)


def eigenvalue_opening(opening_angle_deg: ArrayLike) -> FloatArray:
    """Exponent of the opening mode: stress varies with r^(value - 1).

    opening_angle_deg : angle between the notch faces [deg], 0 <= value < 180, scalar or array
    Returns           : eigenvalue [-], 0.5 to 1, same shape
    Raises            : InputError outside the range
    Source            : [williams-1952] characteristic equation, symmetric part

    >>> round(float(eigenvalue_opening(135.0)), 6)
    0.673583
    """
    gamma = half_sector(opening_angle_deg)
    slope = np.sin(2.0 * gamma) / (2.0 * gamma)
    # x = 2 gamma lambda: the only root lies between gamma and pi, where the sum falls all the way
    return _root(lambda x: np.sin(x) + x * slope, gamma, np.full_like(gamma, np.pi)) / (2.0 * gamma)


def eigenvalue_sliding(opening_angle_deg: ArrayLike) -> FloatArray:
    """Exponent of the in-plane sliding mode; above 1 the mode is not singular.

    opening_angle_deg : angle between the notch faces [deg], 0 <= value < 180, scalar or array
    Returns           : eigenvalue [-], 0.5 to 2, same shape; within 1e-8 at the limit angle, else far better
    Raises            : InputError outside the range
    Source            : [williams-1952] characteristic equation, antisymmetric part

    >>> round(float(eigenvalue_sliding(90.0)), 6)
    0.908529
    """
    gamma = half_sector(opening_angle_deg)
    level = np.sin(2.0 * gamma) / (2.0 * gamma)
    # sin(x)/x takes the value it has at x = 2 gamma (the trivial root) once more beyond its minimum
    below = 2.0 * gamma > _sinc_minimum()
    low = np.where(below, np.pi, _sinc_minimum())
    high = np.where(below, _sinc_minimum(), 2.0 * np.pi)
    sign = np.where(below, 1.0, -1.0)
    return _root(lambda x: sign * (np.sin(x) / x - level), low, high) / (2.0 * gamma)


def eigenvalue_tearing(opening_angle_deg: ArrayLike) -> FloatArray:
    """Exponent of the out-of-plane tearing mode.

    opening_angle_deg : angle between the notch faces [deg], 0 <= value < 180, scalar or array
    Returns           : eigenvalue [-], 0.5 to 1, same shape
    Raises            : InputError outside the range
    Source            : [notch-derivation] free faces of a harmonic function in a sector

    >>> round(float(eigenvalue_tearing(135.0)), 6)
    0.8
    """
    return np.asarray(np.pi / (2.0 * half_sector(opening_angle_deg)))


@cache
def eigenvalues(opening_angle_deg: float) -> ModeValues:
    """Exponents of all three modes at one angle.

    opening_angle_deg : angle between the notch faces [deg], 0 <= value < 180
    Returns           : eigenvalues [-]; sliding also where it is above 1
    Raises            : InputError outside the range
    Source            : [williams-1952]
    """
    return ModeValues(
        opening=float(eigenvalue_opening(opening_angle_deg)),
        sliding=float(eigenvalue_sliding(opening_angle_deg)),
        tearing=float(eigenvalue_tearing(opening_angle_deg)),
    )


def sliding_limit_angle_deg() -> float:
    """Opening angle from which the sliding mode is no longer singular.

    Returns : angle [deg]
    Source  : [notch-derivation] double root of the characteristic equation, tan(2 gamma) = 2 gamma

    >>> round(sliding_limit_angle_deg(), 3)
    102.547
    """
    return 360.0 - float(np.degrees(_sinc_minimum()))


def auxiliary_opening(opening_angle_deg: ArrayLike) -> FloatArray:
    """Share of the second harmonic in the field of the opening mode.

    opening_angle_deg : angle between the notch faces [deg], 0 <= value < 180, scalar or array
    Returns           : chi of the opening mode [-], 1 for a crack, same shape
    Raises            : InputError outside the range
    Source            : [notch-derivation] zero traction on the faces
    """
    return _auxiliary(half_sector(opening_angle_deg), eigenvalue_opening(opening_angle_deg))


def auxiliary_sliding(opening_angle_deg: ArrayLike) -> FloatArray:
    """Share of the second harmonic in the field of the sliding mode.

    opening_angle_deg : angle between the notch faces [deg], 0 <= value < 180, scalar or array
    Returns           : chi of the sliding mode [-], 1 for a crack, same shape
    Raises            : InputError outside the range
    Source            : [notch-derivation] zero traction on the faces
    """
    return _auxiliary(half_sector(opening_angle_deg), eigenvalue_sliding(opening_angle_deg))


def field_opening(
    k1_mpa_mm_lambda: ArrayLike, radius_mm: ArrayLike, theta_deg: ArrayLike, opening_angle_deg: ArrayLike
) -> InPlaneField:
    """Stresses of the opening mode round the tip.

    k1_mpa_mm_lambda  : notch stress intensity [MPa*mm^(1-lambda)]
    radius_mm         : distance from the tip [mm], > 0
    theta_deg         : direction from the bisector [deg]
    opening_angle_deg : angle between the notch faces [deg], 0 <= value < 180
    Returns           : hoop, radial and shear stress [MPa], broadcast shape
    Raises            : InputError for an angle outside its range, a radius not above 0
    Source            : [energy-fields-2017] eq. 4-5
    """
    eigen, chi = eigenvalue_opening(opening_angle_deg), auxiliary_opening(opening_angle_deg)
    theta = np.radians(finite("theta_deg", theta_deg))
    scale = _amplitude(k1_mpa_mm_lambda, radius_mm, eigen) / ((1.0 + eigen) + chi * (1.0 - eigen))
    first, second = (1.0 - eigen) * theta, (1.0 + eigen) * theta
    mixed = chi * (1.0 - eigen)
    return InPlaneField(
        scale * ((1.0 + eigen) * np.cos(first) + mixed * np.cos(second)),
        scale * ((3.0 - eigen) * np.cos(first) - mixed * np.cos(second)),
        scale * ((1.0 - eigen) * np.sin(first) + mixed * np.sin(second)),
    )


def field_sliding(
    k2_mpa_mm_lambda: ArrayLike, radius_mm: ArrayLike, theta_deg: ArrayLike, opening_angle_deg: ArrayLike
) -> InPlaneField:
    """Stresses of the in-plane sliding mode round the tip.

    k2_mpa_mm_lambda  : notch stress intensity [MPa*mm^(1-lambda)]
    radius_mm         : distance from the tip [mm], > 0
    theta_deg         : direction from the bisector [deg]
    opening_angle_deg : angle between the notch faces [deg], 0 <= value < 180
    Returns           : hoop, radial and shear stress [MPa], broadcast shape
    Raises            : InputError for an angle outside its range, a radius not above 0
    Source            : [energy-fields-2017] eq. 4-5
    """
    eigen = eigenvalue_sliding(opening_angle_deg)
    theta = np.radians(finite("theta_deg", theta_deg))
    # chi and the first harmonic both vanish with 1 - lambda at the limit angle: that factor is divided out
    share = reduced_auxiliary(half_sector(opening_angle_deg), eigen) * (1.0 + eigen)
    scale = _amplitude(k2_mpa_mm_lambda, radius_mm, eigen) / (1.0 + share)
    first, second = (1.0 - eigen) * theta, (1.0 + eigen) * theta
    sine = theta * np.sinc(first / np.pi)
    return InPlaneField(
        -scale * ((1.0 + eigen) * sine + share * np.sin(second)),
        -scale * ((3.0 - eigen) * sine - share * np.sin(second)),
        scale * (np.cos(first) + share * np.cos(second)),
    )


def field_tearing(
    k3_mpa_mm_lambda: ArrayLike, radius_mm: ArrayLike, theta_deg: ArrayLike, opening_angle_deg: ArrayLike
) -> OutOfPlaneField:
    """Stresses of the out-of-plane tearing mode round the tip.

    k3_mpa_mm_lambda  : notch stress intensity [MPa*mm^(1-lambda)]
    radius_mm         : distance from the tip [mm], > 0
    theta_deg         : direction from the bisector [deg]
    opening_angle_deg : angle between the notch faces [deg], 0 <= value < 180
    Returns           : shear on the hoop plane and on the radial plane [MPa], broadcast shape
    Raises            : InputError for an angle outside its range, a radius not above 0
    Source            : [energy-fields-2017] eq. 6
    """
    eigen = eigenvalue_tearing(opening_angle_deg)
    theta = eigen * np.radians(finite("theta_deg", theta_deg))
    scale = _amplitude(k3_mpa_mm_lambda, radius_mm, eigen)
    return OutOfPlaneField(scale * np.cos(theta), scale * np.sin(theta))


def reduced_auxiliary(gamma: FloatArray, eigenvalue: FloatArray) -> FloatArray:
    """chi / (1 - lambda) of an in-plane mode, finite where lambda is 1.

    gamma      : half angle of the material [rad], from `half_sector`
    eigenvalue : exponent of the mode [-], same shape
    Returns    : ratio [-], same shape
    Source     : [notch-derivation] zero traction on the faces
    """
    rest = (1.0 - eigenvalue) * gamma
    return np.asarray(-gamma * np.sinc(rest / np.pi) / np.sin((1.0 + eigenvalue) * gamma))


def _auxiliary(gamma: FloatArray, eigenvalue: FloatArray) -> FloatArray:
    return reduced_auxiliary(gamma, eigenvalue) * (1.0 - eigenvalue)


def _amplitude(intensity: ArrayLike, radius_mm: ArrayLike, eigenvalue: FloatArray) -> FloatArray:
    radius = positive("radius_mm", radius_mm)
    return np.asarray(np.asarray(intensity) * radius ** (eigenvalue - 1.0) / np.sqrt(2.0 * np.pi))


@cache
def _sinc_minimum() -> float:
    """First minimum of sin(x)/x beyond zero [rad]."""
    low, high = np.asarray(np.pi), np.asarray(1.5 * np.pi)
    return float(_root(lambda x: np.sin(x) - x * np.cos(x), low, high))


def _root(function: Callable[[FloatArray], FloatArray], low: FloatArray, high: FloatArray) -> FloatArray:
    """Bisection of all elements at once; the function falls from positive at `low` to negative at `high`."""
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        is_low = function(middle) > 0.0
        low, high = np.where(is_low, middle, low), np.where(is_low, high, middle)
    return np.asarray(0.5 * (low + high))
