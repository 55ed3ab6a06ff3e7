"""Membrane, bending and peak part of a stress distribution through the thickness."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

import numpy as np
from annotated_types import doc
from numpy.typing import ArrayLike

from fatcore.bounds import NumberColumn, guarded
from fatcore.errors import InputError
from fatcore.findings import Finding, caution
from fatcore.outcome import Outcome, evidence
from fatcore.require import FloatArray, finite, other_length

_INTEGRATION = "between points: exact for straight lines, or plain trapezoids"
_FEW_POINTS = 5
_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Linearised(Outcome):
    """Parts of one or many distributions; the linear part at the far side is membrane - bending.

    membrane_mpa      : mean over the thickness [MPa]
    bending_mpa       : linear part at the first surface [MPa]
    structural_mpa    : membrane + bending, the linear part at the first surface [MPa]
    structural_far_mpa : membrane - bending, the linear part at the far surface [MPa]
    peak_mpa          : rest at the first surface [MPa]
    peak_far_mpa      : rest at the far surface [MPa]
    thickness_mm      : length of the path [mm], None for a polynomial
    """

    membrane_mpa: FloatArray
    bending_mpa: FloatArray
    structural_mpa: FloatArray
    structural_far_mpa: FloatArray
    peak_mpa: FloatArray
    peak_far_mpa: FloatArray
    thickness_mm: float | None


def linearise_polynomial(coefficients_mpa: ArrayLike) -> Linearised:
    """Exact parts of a polynomial distribution.

    coefficients_mpa : c0, c1, ... (..., n) [MPa] of c0 + c1 u + c2 u^2 + ..., u = depth over thickness
    Returns          : parts, shape without the last axis
    Raises           : InputError for no coefficient or values not finite
    Source           : [extrapolation-derivation]

    >>> float(linearise_polynomial([100.0, -60.0]).bending_mpa)
    30.0
    """
    c = finite("coefficients_mpa", coefficients_mpa)
    if c.ndim == 0 or c.shape[-1] == 0:
        raise InputError("coefficients_mpa must not be empty", "coefficients_mpa")
    power = np.arange(c.shape[-1])
    membrane = c @ (1.0 / (power + 1.0))
    bending = c @ (3.0 / (power + 1.0) - 6.0 / (power + 2.0))
    return _parts(membrane, bending, c[..., 0], c.sum(axis=-1), None)


@guarded
def linearise_path(
    distance_mm: NumberColumn,
    stress_mpa: NumberColumn,
    integration: Annotated[Literal["exact-moment", "trapezoid"], doc(_INTEGRATION)] = "exact-moment",
) -> Linearised:
    """Parts of distributions given at points through the thickness.

    distance_mm : distances from the first surface [mm], rising from 0 to the full thickness
    stress_mpa  : stresses (..., points) [MPa]
    integration : "exact-moment" joins the stresses by straight lines and integrates exactly, so that a linear
                  distribution has no error; "trapezoid" also takes stress times lever at the points only
    Returns     : parts, shape of the stresses without the last axis
    Raises      : InputError for distances that do not rise from 0, ragged columns, fewer than two points
    Source      : [extrapolation-derivation]
    """
    x, s = np.asarray(distance_mm, dtype=np.float64), np.asarray(stress_mpa, dtype=np.float64)
    _guard(x, s)
    u = x / x[-1]
    shares, moments = _moment_weights(u)
    if integration == "trapezoid":
        moments = shares * (3.0 - 6.0 * u)
    return _parts(s @ shares, s @ moments, s[..., 0], s[..., -1], float(x[-1]), len(x))


def _guard(x: FloatArray, s: FloatArray) -> None:
    if x.ndim != 1 or len(x) < 2:
        raise InputError("distance_mm must hold at least two points", "distance_mm")
    if s.ndim == 0 or s.shape[-1] != len(x):
        found = s.shape[-1] if s.ndim else 0
        raise InputError(other_length("stress_mpa", found, len(x)), "stress_mpa")
    if abs(x[0]) > 1e-9 * abs(x[-1]) or (np.diff(x) <= 0.0).any():
        raise InputError("distance_mm must rise from 0 to the full thickness", "distance_mm")


def _moment_weights(u: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Shares of the points in membrane and bending, stress linear between them; u = relative depth."""
    step, left, right = np.diff(u), u[:-1], u[1:]
    membrane, bending = np.zeros_like(u), np.zeros_like(u)
    membrane[:-1] += step / 2.0
    membrane[1:] += step / 2.0
    bending[:-1] += step * (1.5 - 2.0 * left - right)
    bending[1:] += step * (1.5 - left - 2.0 * right)
    return membrane, bending


def _parts(
    membrane: FloatArray,
    bending: FloatArray,
    first: FloatArray,
    last: FloatArray,
    thickness_mm: float | None,
    points: int | None = None,
) -> Linearised:
    few = points is not None and points < _FEW_POINTS
    message = f"{points} points only: a steep peak between them is not seen"
    return Linearised(
        membrane_mpa=np.asarray(membrane),
        bending_mpa=np.asarray(bending),
        structural_mpa=np.asarray(membrane + bending),
        structural_far_mpa=np.asarray(membrane - bending),
        peak_mpa=np.asarray(first - membrane - bending),
        peak_far_mpa=np.asarray(last - membrane + bending),
        thickness_mm=thickness_mm,
        **evidence(
            findings=(
                *((caution("few-points", message, field="distance_mm"),) if few else ()),
                *_side_findings(np.stack([membrane + bending, first]), np.stack([membrane - bending, last])),
            ),
            sources=("extrapolation-derivation",),
        ),
    )


def _side_findings(first: FloatArray, far: FloatArray) -> tuple[Finding, ...]:
    """A caution where linear part or stress at the far surface is the larger: the toe may be on that side."""
    if not (np.abs(far) > (1.0 + _ROUNDING) * np.abs(first)).any():
        return ()
    text = (
        "the stress at the far surface is larger than at the first one, for which the parts are given: the "
        "path must start at the toe"
    )
    return (caution("far-side-larger", text, field="structural_far_mpa"),)
