# ruff: noqa: ARG002  (one interface for all configurations)
"""What growth must know of a crack configuration."""

from __future__ import annotations

from abc import ABC, abstractmethod
from typing import ClassVar, Literal

import numpy as np
from numpy.polynomial import legendre

from fatcore.cracks.configurations.reference_stress import edge_free_reference_mpa, plate_reference_mpa
from fatcore.cracks.configurations.sharing import Section
from fatcore.cracks.driving.loading import UnitIntensity
from fatcore.cracks.intensity.weight_function.profiles import PathProfile
from fatcore.cracks.intensity.wide_plate import wide_plate
from fatcore.errors import NotCoveredError
from fatcore.findings import Finding
from fatcore.require import FloatArray

SizeKind = Literal["depth", "half-length", "buried", "unknown"]
NO_PATH = "a stress path needs a surface or edge crack"
_DEPTHS, _DEPTH_WEIGHTS = legendre.leggauss(24)


class CrackConfiguration(ABC):
    """What growth must know of a crack. Sizes are arrays; the two sizes are depth and half length.

    What is not abstract holds for a straight crack with one length and one point, loaded by membrane and bending.

    two_lengths    : depth and half length grow apart
    carries_stress : the stress is in the stress intensity already (a table or a function)
    eccentric      : nothing but the ends holds the section straight, so that the force bends the ligament
    breaks_through : the crack may go on as a through crack
    load_path      : where a request says what loads the crack
    end_reason     : name of its largest size as an end of growth
    """

    __slots__ = ()

    two_lengths: ClassVar[bool] = False
    carries_stress: ClassVar[bool] = False
    eccentric: ClassVar[bool] = False
    breaks_through: ClassVar[bool] = False
    load_path: ClassVar[tuple[str, ...]] = ("stress",)
    end_reason: ClassVar[str] = "separated"

    @property
    @abstractmethod
    def sources(self) -> tuple[str, ...]:
        """Publications of the formulas."""

    @property
    @abstractmethod
    def tables(self) -> tuple[str, ...]:
        """Data tables of the formulas."""

    @property
    @abstractmethod
    def size_kind(self) -> SizeKind:
        """What an inspection may take the size for, see `History`."""

    @property
    @abstractmethod
    def end_sizes(self) -> tuple[str, ...]:
        """Names under which an end of growth may give a size."""

    @property
    def modes(self) -> tuple[str, ...]:
        """Modes of the stress intensity."""
        return ("opening",)

    @property
    def is_wide(self) -> bool:
        """True when the plate has a width that was not given."""
        return False

    @property
    @abstractmethod
    def section(self) -> Section:
        """The whole cross-section."""

    @property
    def wall_mm(self) -> float:
        """Size of the section in the direction of the crack, over which a stress path is split."""
        raise NotCoveredError(NO_PATH, "distance_mm")

    @abstractmethod
    def start(self) -> tuple[float, float]:
        """Depth and half length at the start."""

    @abstractmethod
    def largest(self) -> tuple[float, float]:
        """Depth and half length that end the configuration."""

    def end_excess(self, depth: FloatArray, length: FloatArray) -> dict[str, FloatArray]:
        """By reason, functions that pass zero upward where the configuration ends."""
        return {self.end_reason: np.log(depth / self.largest()[0])}

    @abstractmethod
    def unit_intensity(self, depth: FloatArray, length: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Stress intensity per MPa of membrane and of bending stress: points x n each."""

    def given_intensity(self, depth: FloatArray) -> UnitIntensity | None:
        """Stress intensity for load factor 1 where the crack is given by it; else None."""
        return None

    def path_intensity(self, profile: PathProfile, depth: FloatArray, length: FloatArray) -> FloatArray:
        """Stress intensity under a stress path, without a toe: points x n."""
        raise NotCoveredError(NO_PATH, "distance_mm")

    def without_toe(self) -> CrackConfiguration:
        """The same in the plain plate; itself where there is no toe."""
        return self

    def discontinuities(self, depth: FloatArray, length: FloatArray) -> FloatArray | None:
        """Functions that change sign where the unit intensity is not smooth, row by row; None when it is smooth."""
        return None

    @abstractmethod
    def compliance_derivatives(self, depth: FloatArray, length: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Integrals of the squared unit intensities over new crack area, per unit of ln depth and ln length."""

    @abstractmethod
    def lost_area_ratio(self, depth: FloatArray, length: FloatArray) -> FloatArray:
        """Share of the section that the reference stress counts as lost."""

    def relative_depth(self, depth: FloatArray) -> FloatArray:
        """The depth that the limits of the compliance model speak of."""
        return self.lost_area_ratio(depth, depth)

    def at_front(self, values: FloatArray) -> tuple[FloatArray, FloatArray | None]:
        """Of values at the points: at the deepest (or only) one, and at the surface."""
        return values[0], None

    def shown_sizes(self, depth: FloatArray, length: FloatArray) -> tuple[FloatArray | None, FloatArray | None]:
        """Depth and half length as a history shows them; None for what the crack does not have."""
        return depth, None

    def after_break_through(self, half_length_mm: float) -> CrackConfiguration | None:
        """The through crack that this one becomes; None when no plate is left for one."""
        return None

    @abstractmethod
    def findings(self, depth: FloatArray, length: FloatArray) -> tuple[Finding, ...]:
        """Validity limits that the sizes of a history leave."""

    def doubts(self) -> tuple[Finding, ...]:
        """Lengths that look like another unit."""
        return ()


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


def width_findings(*cracks: CrackConfiguration) -> list[Finding]:
    """A caution where one of the cracks has a width that was not given."""
    return [wide_plate("crack")] if any(crack.is_wide for crack in cracks) else []
