"""Cracks in plates that can grow: surface, edge, centre."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated, ClassVar, Literal

import numpy as np
from annotated_types import doc
from numpy.polynomial import legendre

from fatcore.bounds import Positive, guard
from fatcore.cracks.configurations.configuration import CrackConfiguration, SizeKind
from fatcore.cracks.configurations.sharing import Section
from fatcore.cracks.configurations.straight import LAST_LIGAMENT, CentreCrack
from fatcore.cracks.intensity.solid import surface
from fatcore.cracks.intensity.weight_function.intensity import profile_intensity
from fatcore.cracks.intensity.weight_function.profiles import PathProfile
from fatcore.cracks.intensity.weld import toe
from fatcore.errors import InputError
from fatcore.findings import Finding, outside_limits
from fatcore.plausible import length_doubts
from fatcore.require import FloatArray

PLANE = "plane"
THROUGH, TOO_LONG = "through-thickness", "shape-out-of-range"
WALLS, STARTS = 50.0, 2.0  # half length over thickness, and over the first half length [own choice]
TOE_FORM = "of the toe, needs toe_footprint_mm; null is plane"
_ANGLES, _ANGLE_WEIGHTS = legendre.leggauss(10)
_FRONT_DEG = 45.0 * (_ANGLES + 1.0)
_FRONT_WEIGHTS = 0.5 * np.pi * _ANGLE_WEIGHTS  # both halves of the front, in radians


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceCrack(CrackConfiguration):
    """Semi-elliptical crack at the surface of a plate, at a weld toe when a footprint is given.

    depth_mm, half_length_mm : a, c at the start; thickness_mm : t; half_width_mm : b, None is wide
    toe_footprint_mm         : length of the attachment with its welds on the plate; None is no toe
    toe_form                 : plane or solid, needs a footprint; None is plane
    """

    depth_mm: Positive
    half_length_mm: Positive
    thickness_mm: Positive
    half_width_mm: Positive | None = None
    toe_footprint_mm: Positive | None = None
    toe_form: Annotated[Literal["plane", "solid"] | None, doc(TOE_FORM)] = None

    two_lengths: ClassVar[bool] = True
    breaks_through: ClassVar[bool] = True
    end_reason: ClassVar[str] = THROUGH
    size_kind: ClassVar[SizeKind] = "depth"
    end_sizes: ClassVar[tuple[str, ...]] = ("depth_mm", "half_length_mm")

    def __post_init__(self) -> None:
        guard(self)
        if self.toe_form is not None and self.toe_footprint_mm is None:
            raise InputError("a form of the toe needs toe_footprint_mm", "toe_form")
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
    def is_wide(self) -> bool:
        """True without a width."""
        return self.half_width_mm is None

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

    @property
    def longest_half_mm(self) -> float:
        """Half length up to which a crack in a plate without width is taken for a half ellipse.

        At fifty walls even a crack through the whole wall is fifty times as long as deep: the shape factor is
        within 1 % of that of an infinite front, and the plate would have to be a hundred walls wide. A flaw that
        starts long may double.
        """
        return max(WALLS * self.thickness_mm, STARTS * self.half_length_mm)

    def end_excess(self, depth: FloatArray, length: FloatArray) -> dict[str, FloatArray]:
        """Through the thickness; across the width, or too long for a half ellipse in a plate without one."""
        if self.half_width_mm is None:
            along = {TOO_LONG: np.log(length / self.longest_half_mm)}
        else:
            along = {"across-width": np.log(length / self.half_width_mm)}
        return {self.end_reason: np.log(depth / self.thickness_mm), **along}

    def unit_intensity(self, depth: FloatArray, length: FloatArray) -> tuple[FloatArray, FloatArray]:
        """At the deepest and the surface point, with the magnification of the toe."""
        root = np.sqrt(np.pi * depth)
        deep_t, deep_b, shore_t, shore_b = surface.front_factors(depth, length, self.thickness_mm, self.half_width_mm)
        if self.toe_footprint_mm is not None:
            at_toe = toe.front_magnification(
                depth, length, self.thickness_mm, self.toe_footprint_mm, self.toe_form or PLANE
            )
            deep_t, deep_b = deep_t * at_toe.deepest_tension, deep_b * at_toe.deepest_bending
            shore_t, shore_b = shore_t * at_toe.surface_tension, shore_b * at_toe.surface_bending
        return np.array([deep_t, shore_t]) * root, np.array([deep_b, shore_b]) * root

    def path_intensity(self, profile: PathProfile, depth: FloatArray, length: FloatArray) -> FloatArray:
        """By the weight functions of both points, with the width factor."""
        sizes = (depth, length, self.thickness_mm)
        both = np.stack([profile_intensity(profile, *sizes, point) for point in ("deepest", "surface")])
        if self.half_width_mm is None:
            return both
        return both * surface.width_factor(length, depth / self.thickness_mm, self.half_width_mm)

    def without_toe(self) -> CrackConfiguration:
        """The crack in the plain plate."""
        return self if self.toe_footprint_mm is None else replace(self, toe_footprint_mm=None, toe_form=None)

    def discontinuities(self, depth: FloatArray, length: FloatArray) -> FloatArray | None:
        """Where the magnification of the toe has a kink or jumps."""
        if self.toe_footprint_mm is None:
            return None
        return toe.front_discontinuities(
            depth, length, self.thickness_mm, self.toe_footprint_mm, self.toe_form or PLANE
        )

    def compliance_derivatives(self, depth: FloatArray, length: FloatArray) -> tuple[FloatArray, FloatArray]:
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

    def lost_area_ratio(self, depth: FloatArray, length: FloatArray) -> FloatArray:
        """Relative area of the reference stress; over the whole width in a narrow plate."""
        wide = (depth / self.thickness_mm) / (1.0 + self.thickness_mm / length)
        if self.half_width_mm is None:
            return wide
        narrow = depth * length / (self.thickness_mm * self.half_width_mm)
        return np.where(self.half_width_mm < length + self.thickness_mm, narrow, wide)

    def relative_depth(self, depth: FloatArray) -> FloatArray:
        """Over the thickness."""
        return depth / self.thickness_mm

    def at_front(self, values: FloatArray) -> tuple[FloatArray, FloatArray | None]:
        """At the deepest and the surface point."""
        return values[0], values[1]

    def shown_sizes(self, depth: FloatArray, length: FloatArray) -> tuple[FloatArray | None, FloatArray | None]:
        """Both."""
        return depth, length

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

    def doubts(self) -> tuple[Finding, ...]:
        """Of the thickness."""
        return length_doubts(self.thickness_mm, "thickness_mm")

    def after_break_through(self, half_length_mm: float) -> CentreCrack | None:
        """The through crack that this one becomes; None when it is nearly as long as the plate is wide."""
        if self.half_width_mm is None:
            return CentreCrack(half_length_mm=half_length_mm, thickness_mm=self.thickness_mm)
        if half_length_mm >= LAST_LIGAMENT * self.half_width_mm:
            return None
        width = 2.0 * self.half_width_mm
        return CentreCrack(half_length_mm=half_length_mm, width_mm=width, thickness_mm=self.thickness_mm)
