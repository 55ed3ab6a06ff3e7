# ruff: noqa: ARG002  (one interface for all configurations)
"""Crack configurations with one length: a crack from an edge, a crack through the middle of a plate."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar, Literal

import numpy as np
from annotated_types import doc

from fatcore.bounds import Positive, guard
from fatcore.cracks.configurations.configuration import CrackConfiguration, SizeKind
from fatcore.cracks.configurations.sharing import Section
from fatcore.cracks.intensity.plate import centre, edge
from fatcore.cracks.intensity.weight_function.intensity import profile_intensity
from fatcore.cracks.intensity.weight_function.profiles import PathProfile
from fatcore.errors import InputError
from fatcore.findings import Finding
from fatcore.plausible import length_doubts
from fatcore.require import FloatArray

LAST_LIGAMENT = 0.99
NEEDED_WITH_SHARING = "needed with sharing"


def _products(crack: CrackConfiguration, depth: FloatArray, new_area: FloatArray) -> FloatArray:
    """Products of the unit intensities times the new area per unit of ln depth."""
    tension, bending = crack.unit_intensity(depth, depth)
    return np.stack([tension[0] ** 2, tension[0] * bending[0], bending[0] ** 2]) * new_area


def _require_thickness(thickness_mm: float | None) -> float:
    if thickness_mm is None:
        raise InputError("load sharing needs the thickness of the plate", "thickness_mm")
    return thickness_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeCrack(CrackConfiguration):
    """Straight crack from one edge of a plate; its ends are free unless sharing holds them.

    depth_mm : a at the start; width_mm : W in the direction of the crack; thickness_mm : B along its front,
               needed with sharing
    form     : of the geometry factors: accurate (boundary collocation) or handbook (closed)
    """

    depth_mm: Positive
    width_mm: Positive
    thickness_mm: Annotated[Positive | None, doc(NEEDED_WITH_SHARING)] = None
    form: Literal["accurate", "handbook"] = "accurate"

    eccentric: ClassVar[bool] = True
    size_kind: ClassVar[SizeKind] = "depth"
    end_sizes: ClassVar[tuple[str, ...]] = ("depth_mm",)
    tables: ClassVar[tuple[str, ...]] = edge.TABLES

    def __post_init__(self) -> None:
        guard(self)
        if self.depth_mm >= LAST_LIGAMENT * self.width_mm:
            raise InputError("the crack takes the whole width of the plate", "depth_mm")

    @property
    def sources(self) -> tuple[str, ...]:
        """Of the form in use."""
        return (edge.SOURCES[1] if self.form == "accurate" else edge.SOURCES[0],)

    @property
    def section(self) -> Section:
        """Width by thickness."""
        return Section(self.width_mm, _require_thickness(self.thickness_mm))

    @property
    def wall_mm(self) -> float:
        """Width."""
        return self.width_mm

    def start(self) -> tuple[float, float]:
        """Depth, twice."""
        return self.depth_mm, self.depth_mm

    def largest(self) -> tuple[float, float]:
        """The last hundredth of the width counts as separated."""
        return LAST_LIGAMENT * self.width_mm, np.inf

    def unit_intensity(self, depth: FloatArray, length: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Tension and bending with free ends."""
        one = (
            edge.stress_intensity(depth, width_mm=self.width_mm, membrane_mpa=1.0, form=self.form),
            edge.stress_intensity(depth, width_mm=self.width_mm, bending_mpa=1.0, form=self.form),
        )
        return one[0][None], one[1][None]

    def compliance_derivatives(self, depth: FloatArray, length: FloatArray) -> tuple[FloatArray, FloatArray]:
        """New area is thickness times growth."""
        products = _products(self, depth, _require_thickness(self.thickness_mm) * depth)
        return products, np.zeros_like(products)

    def path_intensity(self, profile: PathProfile, depth: FloatArray, length: FloatArray) -> FloatArray:
        """By the weight function of the edge."""
        return profile_intensity(profile, depth, None, self.width_mm, "edge")[None]

    def lost_area_ratio(self, depth: FloatArray, length: FloatArray) -> FloatArray:
        """Relative depth."""
        return depth / self.width_mm

    def findings(self, depth: FloatArray, length: FloatArray) -> tuple[Finding, ...]:
        """Which form of the factors was used; both hold for any depth."""
        return edge.form_findings(self.form)

    def doubts(self) -> tuple[Finding, ...]:
        """Of the width."""
        return length_doubts(self.width_mm, "width_mm")


@dataclass(frozen=True, slots=True, kw_only=True)
class CentreCrack(CrackConfiguration):
    """Crack through the thickness in the middle of a plate.

    half_length_mm : a at the start; width_mm : W, None is wide; thickness_mm : B, needed with sharing
    """

    half_length_mm: Positive
    width_mm: Positive | None = None
    thickness_mm: Annotated[Positive | None, doc(NEEDED_WITH_SHARING)] = None

    size_kind: ClassVar[SizeKind] = "half-length"
    end_sizes: ClassVar[tuple[str, ...]] = ("half_length_mm",)
    sources: ClassVar[tuple[str, ...]] = centre.SOURCES[:1]
    tables: ClassVar[tuple[str, ...]] = centre.TABLES

    def __post_init__(self) -> None:
        guard(self)
        if self.width_mm is not None and 2.0 * self.half_length_mm >= LAST_LIGAMENT * self.width_mm:
            raise InputError("the crack takes the whole width of the plate", "half_length_mm")

    @property
    def section(self) -> Section:
        """Thickness by width: the same roles as in the surface crack that it may come from."""
        if self.width_mm is None:
            raise InputError("load sharing needs the width of the plate", "width_mm")
        return Section(_require_thickness(self.thickness_mm), self.width_mm)

    @property
    def is_wide(self) -> bool:
        """True without a width."""
        return self.width_mm is None

    def start(self) -> tuple[float, float]:
        """Half length, twice."""
        return self.half_length_mm, self.half_length_mm

    def largest(self) -> tuple[float, float]:
        """The last hundredth of the width counts as separated."""
        return (np.inf if self.width_mm is None else 0.5 * LAST_LIGAMENT * self.width_mm), np.inf

    def unit_intensity(self, depth: FloatArray, length: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Two points, at the surface that bending opens and at the other; bending out of the plane counts in full
        (on the safe side).
        """
        one = centre.stress_intensity(depth, width_mm=self.width_mm, membrane_mpa=1.0)
        return np.array([one, one]), np.array([one, -one])

    def compliance_derivatives(self, depth: FloatArray, length: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Two tips; bending does not extend the plate."""
        products = _products(self, depth, 2.0 * _require_thickness(self.thickness_mm) * depth)
        products[1:] = 0.0
        return products, np.zeros_like(products)

    def lost_area_ratio(self, depth: FloatArray, length: FloatArray) -> FloatArray:
        """Relative length."""
        return np.zeros_like(depth) if self.width_mm is None else 2.0 * depth / self.width_mm

    def at_front(self, values: FloatArray) -> tuple[FloatArray, FloatArray | None]:
        """At the surface that is driven more."""
        worse = values.max(axis=0)
        return worse, worse

    def shown_sizes(self, depth: FloatArray, length: FloatArray) -> tuple[FloatArray | None, FloatArray | None]:
        """The thickness as depth, where it is known."""
        return None if self.thickness_mm is None else np.full(depth.shape, self.thickness_mm), depth

    def findings(self, depth: FloatArray, length: FloatArray) -> tuple[Finding, ...]:
        """The form holds for any length."""
        return ()
