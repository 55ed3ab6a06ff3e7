# ruff: noqa: ARG002  (one interface for all bodies)
"""Cracked bodies that can grow: surface, edge, centre, and a crack given by a table of stress intensities."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.polynomial import legendre

from fatcore.cracks._body import Body
from fatcore.cracks.intensity import centre, edge, surface, toe
from fatcore.cracks.sharing import Section
from fatcore.errors import InputError, UnknownError
from fatcore.findings import Finding, outside_limits
from fatcore.require import FloatArray, positive

__all__ = ["CentreCrack", "EdgeCrack", "SurfaceCrack"]

LAST_LIGAMENT = 0.99
_ANGLES, _ANGLE_WEIGHTS = legendre.leggauss(10)
_FRONT_DEG = 45.0 * (_ANGLES + 1.0)
_FRONT_WEIGHTS = 0.5 * np.pi * _ANGLE_WEIGHTS  # both halves of the front, in radians


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceCrack:
    """Semi-elliptical crack at the surface of a plate, at a weld toe when a footprint is given.

    depth_mm, half_length_mm : a, c at the start; thickness_mm : t; half_width_mm : b, None is wide
    toe_footprint_mm         : length of the attachment with its welds on the plate; None is no toe
    toe_form                 : plane or solid
    """

    depth_mm: float
    half_length_mm: float
    thickness_mm: float
    half_width_mm: float | None = None
    toe_footprint_mm: float | None = None
    toe_form: str = "plane"

    two_lengths: ClassVar[bool] = True
    carries_stress: ClassVar[bool] = False
    end_reasons: ClassVar[tuple[str, str]] = ("through-thickness", "across-width")

    def __post_init__(self) -> None:
        for name in ("depth_mm", "half_length_mm", "thickness_mm"):
            positive(name, getattr(self, name))
        for name in ("half_width_mm", "toe_footprint_mm"):
            if getattr(self, name) is not None:
                positive(name, getattr(self, name))
        if self.depth_mm >= self.thickness_mm:
            raise InputError("the crack is deeper than the plate is thick", "depth_mm")
        if self.half_width_mm is not None and self.half_length_mm >= self.half_width_mm:
            raise InputError("the crack is as long as the plate is wide", "half_length_mm")

    @property
    def sources(self) -> tuple[str, ...]:
        """Publications of the formulas."""
        return surface.SOURCES + (() if self.toe_footprint_mm is None else toe.SOURCES[:1])

    @property
    def tables(self) -> tuple[str, ...]:
        """Data tables of the formulas."""
        return surface.TABLES + (() if self.toe_footprint_mm is None else toe.TABLES[:1])

    @property
    def section(self) -> Section:
        """Thickness by the whole width."""
        if self.half_width_mm is None:
            raise InputError("load sharing needs the width of the plate", "half_width_mm")
        return Section(self.thickness_mm, 2.0 * self.half_width_mm)

    @property
    def wall_mm(self) -> float:
        """Thickness."""
        return self.thickness_mm

    def start(self) -> tuple[float, float]:
        """Depth and half length at the start."""
        return self.depth_mm, self.half_length_mm

    def largest(self) -> tuple[float, float]:
        """Through the thickness; across the width."""
        return self.thickness_mm, self.half_width_mm or np.inf

    def unit_intensity(self, depth: FloatArray, length: FloatArray) -> tuple[FloatArray, FloatArray]:
        """At the deepest and the surface point, with the magnification of the toe."""
        root = np.sqrt(np.pi * depth)
        deep_t, deep_b, shore_t, shore_b = surface.front_factors(
            depth, length, self.thickness_mm, self.half_width_mm
        )
        if self.toe_footprint_mm is not None:
            at_toe = toe.front_magnification(
                depth, length, self.thickness_mm, self.toe_footprint_mm, self.toe_form
            )
            deep_t, deep_b = deep_t * at_toe.deepest_tension, deep_b * at_toe.deepest_bending
            shore_t, shore_b = shore_t * at_toe.surface_tension, shore_b * at_toe.surface_bending
        return np.array([deep_t, shore_t]) * root, np.array([deep_b, shore_b]) * root

    def added_slopes(self, depth: FloatArray, length: FloatArray) -> tuple[FloatArray, FloatArray]:
        """By quadrature along the front; the toe is too local to change the compliance."""
        tension, bending = (
            surface.stress_intensity(
                depth[:, None],
                half_length_mm=length[:, None],
                thickness_mm=self.thickness_mm,
                half_width_mm=self.half_width_mm,
                angle_deg=_FRONT_DEG,
                membrane_mpa=membrane,
                bending_mpa=1.0 - membrane,
            )
            for membrane in (1.0, 0.0)
        )
        products = np.stack([tension * tension, tension * bending, bending * bending])
        sine2 = np.sin(np.deg2rad(_FRONT_DEG)) ** 2
        area = depth * length
        return (
            area * (products @ (_FRONT_WEIGHTS * sine2)),
            area * (products @ (_FRONT_WEIGHTS * (1.0 - sine2))),
        )

    def lost_share(self, depth: FloatArray, length: FloatArray) -> FloatArray:
        """Relative area of the reference stress; over the whole width in a narrow plate."""
        wide = (depth / self.thickness_mm) / (1.0 + self.thickness_mm / length)
        if self.half_width_mm is None:
            return wide
        narrow = depth * length / (self.thickness_mm * self.half_width_mm)
        return np.where(self.half_width_mm < length + self.thickness_mm, narrow, wide)

    def findings(self, depth: FloatArray, length: FloatArray) -> tuple[Finding, ...]:
        """Aspect ratio, depth and width of the equations, and of the toe form."""
        values = {"aspect_ratio": depth / length, "relative_depth": depth / self.thickness_mm}
        if self.half_width_mm is not None:
            values["relative_width"] = length / self.half_width_mm
        found = outside_limits(surface.LIMITS, **values)
        found += surface.depth_findings(values["aspect_ratio"], values["relative_depth"])
        if self.toe_footprint_mm is not None and self.toe_form == "solid":
            values["footprint_over_thickness"] = np.array(self.toe_footprint_mm / self.thickness_mm)
            found += outside_limits(toe.LIMITS, **values)
        return found

    def after_break_through(self, half_length_mm: float) -> CentreCrack:
        """The through crack that this one becomes."""
        width = None if self.half_width_mm is None else 2.0 * self.half_width_mm
        return CentreCrack(half_length_mm=half_length_mm, width_mm=width, thickness_mm=self.thickness_mm)


class _Straight:
    """What bodies with one length share."""

    __slots__ = ()
    two_lengths: ClassVar[bool] = False
    carries_stress: ClassVar[bool] = False
    end_reasons: ClassVar[tuple[str, str]] = ("separated", "separated")

    def _slopes(self, body: Body, depth: FloatArray, new_area: FloatArray) -> tuple[FloatArray, FloatArray]:
        tension, bending = body.unit_intensity(depth, depth)
        products = np.stack([tension[0] ** 2, tension[0] * bending[0], bending[0] ** 2]) * new_area
        return products, np.zeros_like(products)


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeCrack(_Straight):
    """Straight crack from one edge of a plate; its ends are free unless sharing holds them.

    depth_mm : a at the start; width_mm : W in the direction of the crack; thickness_mm : B along its front
    form     : of the geometry factors: accurate (boundary collocation) or handbook (closed)
    """

    depth_mm: float
    width_mm: float
    thickness_mm: float = 1.0
    form: str = "accurate"

    tables: ClassVar[tuple[str, ...]] = edge.TABLES

    def __post_init__(self) -> None:
        for name in ("depth_mm", "width_mm", "thickness_mm"):
            positive(name, getattr(self, name))
        if self.form not in ("accurate", "handbook"):
            raise UnknownError("form", self.form, ("accurate", "handbook"), "form")
        if self.depth_mm >= LAST_LIGAMENT * self.width_mm:
            raise InputError("the crack takes the whole width of the plate", "depth_mm")

    @property
    def sources(self) -> tuple[str, ...]:
        """Of the form in use."""
        return (edge.SOURCES[1] if self.form == "accurate" else edge.SOURCES[0],)

    @property
    def section(self) -> Section:
        """Width by thickness."""
        return Section(self.width_mm, self.thickness_mm)

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

    def added_slopes(self, depth: FloatArray, length: FloatArray) -> tuple[FloatArray, FloatArray]:
        """New area is thickness times growth."""
        return self._slopes(self, depth, self.thickness_mm * depth)

    def lost_share(self, depth: FloatArray, length: FloatArray) -> FloatArray:
        """Relative depth."""
        return depth / self.width_mm

    def findings(self, depth: FloatArray, length: FloatArray) -> tuple[Finding, ...]:
        """Which form of the factors was used; both hold for any depth."""
        return edge.form_findings(self.form)


@dataclass(frozen=True, slots=True, kw_only=True)
class CentreCrack(_Straight):
    """Crack through the thickness in the middle of a plate.

    half_length_mm : a at the start; width_mm : W, None is wide; thickness_mm : B
    """

    half_length_mm: float
    width_mm: float | None = None
    thickness_mm: float = 1.0

    sources: ClassVar[tuple[str, ...]] = centre.SOURCES[:1]
    tables: ClassVar[tuple[str, ...]] = centre.TABLES

    def __post_init__(self) -> None:
        for name in ("half_length_mm", "thickness_mm"):
            positive(name, getattr(self, name))
        if self.width_mm is None:
            return
        positive("width_mm", self.width_mm)
        if 2.0 * self.half_length_mm >= LAST_LIGAMENT * self.width_mm:
            raise InputError("the crack takes the whole width of the plate", "half_length_mm")

    @property
    def section(self) -> Section:
        """Thickness by width: the same roles as in the surface crack that it may come from."""
        if self.width_mm is None:
            raise InputError("load sharing needs the width of the plate", "width_mm")
        return Section(self.thickness_mm, self.width_mm)

    @property
    def wall_mm(self) -> float:
        """Thickness."""
        return self.thickness_mm

    def start(self) -> tuple[float, float]:
        """Half length, twice."""
        return self.half_length_mm, self.half_length_mm

    def largest(self) -> tuple[float, float]:
        """The last hundredth of the width counts as separated."""
        return (np.inf if self.width_mm is None else 0.5 * LAST_LIGAMENT * self.width_mm), np.inf

    def unit_intensity(self, depth: FloatArray, length: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Tension; bending out of the plane counts in full at the worse surface (on the safe side)."""
        one = centre.stress_intensity(depth, width_mm=self.width_mm, membrane_mpa=1.0)[None]
        return one, one

    def added_slopes(self, depth: FloatArray, length: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Two tips; bending does not extend the plate."""
        new_area = 2.0 * self.thickness_mm * depth
        products, none = self._slopes(self, depth, new_area)
        products[1:] = 0.0
        return products, none

    def lost_share(self, depth: FloatArray, length: FloatArray) -> FloatArray:
        """Relative length."""
        return np.zeros_like(depth) if self.width_mm is None else 2.0 * depth / self.width_mm

    def findings(self, depth: FloatArray, length: FloatArray) -> tuple[Finding, ...]:
        """The form holds for any length."""
        return ()
