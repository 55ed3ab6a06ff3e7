# ruff: noqa: ARG002  (one interface for all configurations)
"""What cracks with a given stress intensity (a table, a function) share: one size, no section, no sharing."""

from __future__ import annotations

from abc import abstractmethod
from typing import ClassVar

import numpy as np

from fatcore.cracks.configurations.configuration import CrackConfiguration
from fatcore.cracks.configurations.sharing import Section
from fatcore.cracks.driving.loading import UnitIntensity
from fatcore.errors import InputError
from fatcore.require import FloatArray

_NO_SECTION = "a crack given by its stress intensity has no section"


class GivenIntensity(CrackConfiguration):
    """One-length crack whose K for load factor 1 holds its stress and what shares the load already."""

    __slots__ = ()

    carries_stress: ClassVar[bool] = True
    crack_size_mm: float

    @property
    def section(self) -> Section:
        """There is none."""
        raise InputError(_NO_SECTION, "sharing")

    def start(self) -> tuple[float, float]:
        """Size, twice."""
        return self.crack_size_mm, self.crack_size_mm

    @abstractmethod
    def given_intensity(self, depth: FloatArray) -> UnitIntensity:
        """Stress intensity for load factor 1, one point."""

    def unit_intensity(self, depth: FloatArray, length: FloatArray) -> tuple[FloatArray, FloatArray]:
        """The opening mode for load factor 1; no bending part."""
        opening = self.given_intensity(depth).opening
        return opening, np.zeros_like(opening)

    def compliance_derivatives(self, depth: FloatArray, length: FloatArray) -> tuple[FloatArray, FloatArray]:
        """None: nothing is shared, or it is in the intensity already."""
        nothing = np.zeros((3, *depth.shape))
        return nothing, nothing

    def lost_area_ratio(self, depth: FloatArray, length: FloatArray) -> FloatArray:
        """Without a section there is no ligament."""
        raise InputError(_NO_SECTION, "end")
