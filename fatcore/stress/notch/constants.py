"""Everything that an opening angle and a Poisson's ratio fix at a sharp notch, in one result."""

from __future__ import annotations

from dataclasses import dataclass

from fatcore.bounds import PoissonRatio, guarded
from fatcore.outcome import Outcome, evidence
from fatcore.stress.modes import ModeValues
from fatcore.stress.notch.energy_coefficients import (
    CoefficientChoice,
    coefficient_findings,
    coefficient_sources,
    coefficient_tables,
    energy_coefficients,
)
from fatcore.stress.notch.fields import (
    OpeningAngle,
    auxiliary_opening,
    auxiliary_sliding,
    eigenvalues,
    sliding_limit_angle_deg,
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NotchConstants(Outcome):
    """Constants of a sharp notch, per mode.

    eigenvalues             : exponents [-], stress varies with r^(value - 1)
    auxiliary_opening, auxiliary_sliding : shares of the second harmonic in the in-plane fields [-]
    energy_coefficients     : mean energy of a unit intensity in a sector of unit radius, times E [-]
    sliding_singular        : whether the sliding mode is singular at this angle
    sliding_limit_angle_deg : angle from which it is not [deg]
    """

    opening_angle_deg: float
    poisson_ratio: float
    eigenvalues: ModeValues
    auxiliary_opening: float
    auxiliary_sliding: float
    energy_coefficients: ModeValues
    sliding_singular: bool
    sliding_limit_angle_deg: float


@guarded
def notch_constants(
    opening_angle_deg: OpeningAngle, poisson_ratio: PoissonRatio = 0.3, coefficients: CoefficientChoice = "exact"
) -> NotchConstants:
    """Exponents, field constants and energy coefficients of a notch in plane strain.

    opening_angle_deg : angle between the notch faces [deg]
    poisson_ratio     : Poisson's ratio [-]
    coefficients      : "exact" or "published-fit", see `energy_coefficients`
    Raises            : InputError, NotCoveredError for fits at another Poisson's ratio
    Source            : [williams-1952], [energy-fields-2017]

    >>> round(notch_constants(135.0).eigenvalues.opening, 6)
    0.673583
    """
    limit = sliding_limit_angle_deg()
    return NotchConstants(
        opening_angle_deg=opening_angle_deg,
        poisson_ratio=poisson_ratio,
        eigenvalues=eigenvalues(opening_angle_deg),
        auxiliary_opening=float(auxiliary_opening(opening_angle_deg)),
        auxiliary_sliding=float(auxiliary_sliding(opening_angle_deg)),
        energy_coefficients=energy_coefficients(opening_angle_deg, poisson_ratio, coefficients),
        sliding_singular=opening_angle_deg < limit,
        sliding_limit_angle_deg=limit,
        **evidence(
            findings=coefficient_findings(opening_angle_deg, coefficients),
            sources=("williams-1952", *coefficient_sources(coefficients)),
            tables=coefficient_tables(coefficients),
        ),
    )
