"""Weights of the peak stresses: what one MPa of each mode's peak counts in the equivalent peak stress."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Literal

import numpy as np

from fatcore.bounds import PoissonRatio, Positive, guarded
from fatcore.errors import InputError
from fatcore.figures import against, as_given
from fatcore.findings import Finding, caution, note
from fatcore.outcome import Outcome, evidence
from fatcore.require import FloatArray
from fatcore.stress.modes import MODES, Mode, ModeValues
from fatcore.stress.notch.energy_coefficients import (
    CoefficientChoice,
    coefficient_findings,
    coefficient_sources,
    coefficient_tables,
    energy_coefficients,
)
from fatcore.stress.notch.fields import OpeningAngle, eigenvalues, sliding_limit_angle_deg
from fatcore.stress.peak.elements import (
    ELEMENT_TABLE,
    ELEMENTS,
    OWN_ELEMENT,
    Element,
    choose_constant,
    constant_findings,
    element_constants,
    own_constant_findings,
    ratio_band,
    size_ratio_findings,
    user_constants,
)

_TOE_FROM_DEG, _ROOT_UP_TO_DEG = 60.0, 120.0  # toes of fillets open 90 to 160 deg, roots hardly at all


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PeakWeights(Outcome):
    """Weights f_w of the three modes [-] with what they were made of; sliding is None where not singular.

    eigenvalues, constants, energy_coefficients : per mode [-]
    ratio_band : lowest and highest factor on the biaxiality ratio by the scatter of the constants
    """

    opening: float
    sliding: float | None
    tearing: float
    eigenvalues: ModeValues
    constants: ModeValues
    energy_coefficients: ModeValues
    ratio_band: tuple[float, float] = (1.0, 1.0)

    def as_array(self) -> FloatArray:
        """Opening, sliding, tearing as an array (3,); a mode left out counts zero."""
        return np.array([self.opening, self.sliding or 0.0, self.tearing])


def _peak_weight(
    *,
    constant: float,
    energy_coefficient: float,
    eigenvalue: float,
    element_size_mm: float,
    poisson_ratio: float,
    control_radius_mm: float,
) -> float:
    """Weight of one mode: equivalent stress of equal averaged energy under plane strain per unit of peak.

    constant           : element constant of the mode [-]
    energy_coefficient : e of the mode [-]; eigenvalue : exponent of the mode [-]
    element_size_mm       : average element size [mm]; control_radius_mm : radius of the energy sector [mm]
    Returns            : f_w = constant * sqrt(2 e / (1 - nu^2)) * (d / R0)^(1 - lambda) [-]
    Source             : [peak-stress-review-2020]
    """
    energy = 2.0 * energy_coefficient / (1.0 - poisson_ratio**2)
    return float(constant * np.sqrt(energy) * (element_size_mm / control_radius_mm) ** (1.0 - eigenvalue))


@guarded
def peak_weights(
    *,
    opening_angle_deg: OpeningAngle,
    element: Element,
    element_size_mm: Positive,
    notch_size_mm: Positive | None = None,
    poisson_ratio: PoissonRatio = 0.3,
    control_radius_mm: Positive = 0.28,
    constants: Mapping[str, float | None] | None = None,
    coefficients: CoefficientChoice = "exact",
) -> PeakWeights:
    """Weights of the peak stresses of a notch for an element type and a mesh size.

    opening_angle_deg : angle between the notch faces [deg], 0 a root, 135 the toe of a 45 deg fillet
    element           : quad4, brick8, tet10, tet4, or own with own constants for every singular mode
    element_size_mm      : average element size given to the mesher [mm]
    notch_size_mm           : reference length of the mesh rule [mm]; None leaves the mesh unchecked, with a
                              caution
    poisson_ratio     : Poisson's ratio [-]; control_radius_mm : radius of the energy sector [mm]
    constants         : own element constants by mode [-], each replaces the published one
    coefficients      : "exact" or "published-fit", see `energy_coefficients`
    Returns           : weights with findings on constants, mesh, angle and modes left out
    Raises            : InputError, UnknownError for an element, NotCoveredError for fits at another ratio
    Source            : [peak-stress-review-2020]
    """
    own = tuple(user_constants(constants).items())
    numbers = (opening_angle_deg, element_size_mm, poisson_ratio, control_radius_mm)
    notch_size = None if notch_size_mm is None else float(notch_size_mm)
    return _made(*map(float, numbers), element, notch_size, own, coefficients)


@lru_cache(maxsize=256)
def _made(
    opening_angle_deg: float,
    element_size_mm: float,
    poisson_ratio: float,
    control_radius_mm: float,
    element: Element,
    notch_size_mm: float | None,
    own: tuple[tuple[str, float], ...],
    coefficients: CoefficientChoice,
) -> PeakWeights:
    """Of a notch and a mesh, which a study asks for again and again."""
    modes = _singular_modes(opening_angle_deg)
    used, found = _constants(modes, element, opening_angle_deg, dict(own))
    exponents = eigenvalues(opening_angle_deg)
    energies = energy_coefficients(opening_angle_deg, poisson_ratio, coefficients)
    weights = {
        mode: _peak_weight(
            constant=used[mode],
            energy_coefficient=getattr(energies, mode),
            eigenvalue=getattr(exponents, mode),
            element_size_mm=element_size_mm,
            poisson_ratio=poisson_ratio,
            control_radius_mm=control_radius_mm,
        )
        for mode in modes
    }
    return PeakWeights(
        opening=weights["opening"],
        sliding=weights.get("sliding"),
        tearing=weights["tearing"],
        eigenvalues=exponents,
        constants=ModeValues(opening=used["opening"], sliding=used.get("sliding"), tearing=used["tearing"]),
        energy_coefficients=energies,
        ratio_band=ratio_band(element, opening_angle_deg, used),
        **evidence(
            findings=(
                *_mode_findings(modes, opening_angle_deg),
                *found,
                *_mesh_findings(modes, element, opening_angle_deg, notch_size_mm, element_size_mm),
                *coefficient_findings(opening_angle_deg, coefficients),
            ),
            sources=("peak-stress-review-2020", "williams-1952", *coefficient_sources(coefficients)),
            tables=(*coefficient_tables(coefficients), ELEMENT_TABLE),
        ),
    )


@cache
def least_published_weight() -> float:
    """Smallest weight of any mode that the published constants give, on a mesh of 1 mm in steel [-].

    >>> round(least_published_weight(), 3)
    0.931
    """
    ends = {
        (element, angle)
        for element in ELEMENTS
        for mode in MODES
        for constant in element_constants(element, mode)
        for angle in (constant.low_deg, constant.high_deg)
    }
    found = [peak_weights(opening_angle_deg=angle, element=element, element_size_mm=1.0) for element, angle in ends]
    return float(min(weight for each in found for weight in each.as_array() if weight > 0.0))


def _singular_modes(opening_angle_deg: float) -> tuple[Mode, ...]:
    singular = opening_angle_deg < sliding_limit_angle_deg()
    return tuple(mode for mode in MODES if singular or mode != "sliding")


def _constants(
    modes: tuple[Mode, ...], element: str, opening_angle_deg: float, own: Mapping[str, float]
) -> tuple[dict[str, float], list[Finding]]:
    """Constant of every mode, own ones first, and their findings."""
    used: dict[str, float] = {}
    found: list[Finding] = []
    for mode in modes:
        if mode in own:
            used[mode] = own[mode]
            found.extend(own_constant_findings(mode, own[mode], element, opening_angle_deg))
        elif element == OWN_ELEMENT:
            raise InputError(f"element 'own' needs a constant of the {mode} mode", "constants", mode)
        else:
            entry = choose_constant(element, mode, opening_angle_deg)
            used[mode] = entry.constant
            found.extend(constant_findings(entry, element, opening_angle_deg))
    return used, found


def _mesh_findings(
    modes: tuple[Mode, ...],
    element: str,
    opening_angle_deg: float,
    notch_size_mm: float | None,
    element_size_mm: float,
) -> list[Finding]:
    if notch_size_mm is None:
        message = "no reference length given: whether the mesh is fine enough for the constants was not checked"
        return [caution("mesh-unchecked", message, field="notch_size_mm", source="peak-stress-review-2020")]
    if element == OWN_ELEMENT:
        message = "the mesh requirement of an own element is not known and was not checked"
        return [caution("mesh-unchecked", message, field="element")]
    entries = (choose_constant(element, mode, opening_angle_deg) for mode in modes)
    ratio = notch_size_mm / element_size_mm
    return [f for e in entries for f in size_ratio_findings(e, element, opening_angle_deg, ratio)]


def _mode_findings(modes: tuple[Mode, ...], opening_angle_deg: float) -> tuple[Finding, ...]:
    if "sliding" in modes:
        return ()
    message = (
        f"sliding mode left out: not singular at {as_given(opening_angle_deg)} deg"
        f" (from {against(sliding_limit_angle_deg(), opening_angle_deg)} deg on)"
    )
    return (note("sliding-not-singular", message, field="sliding", source="notch-derivation"),)


def kind_findings(kind: Literal["toe", "root"], opening_angle_deg: float) -> tuple[Finding, ...]:
    """A caution where toe or root does not fit the angle: one of them is wrong, or the angle is in radians.

    opening_angle_deg : angle between the notch faces [deg]

    >>> [finding.code for finding in kind_findings("toe", 2.356)]
    ['kind-against-angle']
    """
    fits = opening_angle_deg >= _TOE_FROM_DEG if kind == "toe" else opening_angle_deg <= _ROOT_UP_TO_DEG
    if fits:
        return ()
    message = (
        f"a {kind} that opens by {as_given(opening_angle_deg)} deg: the angle decides, in degrees; the kind is a name"
    )
    return (caution("kind-against-angle", message, field="opening_angle_deg"),)
