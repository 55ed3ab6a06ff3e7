"""What growth must know of a crack configuration."""

from __future__ import annotations

from typing import Protocol

import numpy as np
from numpy.polynomial import legendre

from fatcore.cracks.configurations.reference_stress import edge_free_reference_mpa, plate_reference_mpa
from fatcore.cracks.configurations.sharing import Section
from fatcore.findings import Finding
from fatcore.require import FloatArray

_DEPTHS, _DEPTH_WEIGHTS = legendre.leggauss(24)


class CrackConfiguration(Protocol):
    """What growth must know of a crack configuration. Sizes are arrays; the two sizes are depth and half length."""

    @property
    def two_lengths(self) -> bool:
        """True when depth and half length grow apart."""

    @property
    def carries_stress(self) -> bool:
        """True when the stress is in the stress intensity already (a table or a function)."""

    @property
    def eccentric(self) -> bool:
        """True when nothing but the ends holds the section straight, so that the force bends the ligament."""

    @property
    def end_reasons(self) -> tuple[str, str]:
        """Names of the two largest sizes as ends of growth."""

    @property
    def sources(self) -> tuple[str, ...]:
        """Publications of the formulas."""

    @property
    def tables(self) -> tuple[str, ...]:
        """Data tables of the formulas."""

    @property
    def section(self) -> Section:
        """The whole cross-section."""

    @property
    def wall_mm(self) -> float:
        """Size of the section in the direction of the crack, over which a stress path is split."""

    def start(self) -> tuple[float, float]:
        """Depth and half length at the start."""

    def largest(self) -> tuple[float, float]:
        """Depth and half length that end the configuration."""

    def unit_intensity(self, depth: FloatArray, length: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Stress intensity per MPa of membrane and of bending stress: points x n each."""

    def compliance_derivatives(self, depth: FloatArray, length: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Integrals of the squared unit intensities over new crack area, per unit of ln depth and ln
        length.
        """

    def lost_area_ratio(self, depth: FloatArray, length: FloatArray) -> FloatArray:
        """Share of the section that the reference stress counts as lost."""

    def findings(self, depth: FloatArray, length: FloatArray) -> tuple[Finding, ...]:
        """Validity limits that the sizes of a history leave."""


def initial_compliance(crack: CrackConfiguration, depth_mm: float, length_mm: float) -> FloatArray:
    """Integrals over the area of the first crack, grown from nothing in its own shape [mm^3], three
    components.

    Source : [irwin-kies-1954]
    """
    share = 0.5 * (_DEPTHS + 1.0)
    per_depth, per_length = crack.compliance_derivatives(depth_mm * share, length_mm * share)
    per_size = per_depth + per_length if crack.two_lengths else per_depth
    return np.asarray((per_size / share) @ (0.5 * _DEPTH_WEIGHTS))


def reference_mpa(
    crack: CrackConfiguration, depth: FloatArray, length: FloatArray, membrane: FloatArray, bending: FloatArray
) -> FloatArray:
    """Reference stress of the remaining section for signed uncracked stresses (bending opens the crack)."""
    lost = crack.lost_area_ratio(depth, length)
    return (edge_free_reference_mpa if crack.eccentric else plate_reference_mpa)(lost, membrane, bending)
