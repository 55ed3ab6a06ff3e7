"""Stress in the uncracked section per unit of load factor, and the stress intensity it causes in a crack."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Annotated

import numpy as np
from annotated_types import doc
from numpy.typing import ArrayLike

from fatcore.bounds import Number, Positive, guard
from fatcore.cracks.configurations.configuration import CrackConfiguration
from fatcore.cracks.configurations.sharing import Shared, Sharing, share_load
from fatcore.cracks.driving.loading import UnitIntensity
from fatcore.cracks.intensity.weight_function.profiles import PathProfile
from fatcore.errors import InputError
from fatcore.figures import as_given
from fatcore.findings import Finding, Limit, caution, note, outside_limits
from fatcore.require import FloatArray, one_length

_MOST_POINTS = 300
_ROUNDING = 1e-9
ELEMENT_SIZE = "element size of the model that a path comes from, at the notch"


@dataclass(frozen=True, slots=True, kw_only=True)
class Stress:
    """Stress across the uncracked section for load factor 1, at the plane of the crack.

    membrane_mpa, bending_mpa : constant part and, at the cracked surface, linear part; or a path from the
                                surface:
    distance_mm, stress_mpa       : depths (ascending from 0) and stresses, linear between
    element_size_mm            : element size at the notch of the model that the path comes from; None is
                                 unknown
    static_membrane_mpa, static_bending_mpa : lasting stress (residual, dead load) that no load factor
                                              multiplies
    """

    membrane_mpa: Number = 0.0
    bending_mpa: Number = 0.0
    distance_mm: tuple[Number, ...] = ()
    stress_mpa: tuple[Number, ...] = ()
    element_size_mm: Annotated[Positive | None, doc(ELEMENT_SIZE)] = None
    static_membrane_mpa: Number = 0.0
    static_bending_mpa: Number = 0.0

    def __post_init__(self) -> None:
        guard(self)
        if not self.distance_mm and not self.stress_mpa:
            if self.element_size_mm is not None:
                raise InputError("a mesh size has a meaning only with a path", "element_size_mm")
            return
        if self.membrane_mpa or self.bending_mpa:
            raise InputError("give a path or membrane and bending stress, not both", "membrane_mpa")
        points = one_length(distance_mm=self.distance_mm, stress_mpa=self.stress_mpa)
        if points < 2 or self.distance_mm[0] != 0.0:
            raise InputError("a path starts at depth 0 and has at least two points", "distance_mm")
        wrong = np.flatnonzero(np.diff(self.distance_mm) <= 0.0)
        if wrong.size:
            raise InputError("depths must ascend", "distance_mm", int(wrong[0]) + 1)

    def parts_mpa(self, width_mm: float) -> tuple[float, float]:
        """Membrane and bending part over the section."""
        if not self.distance_mm:
            return self.membrane_mpa, self.bending_mpa
        return linear_parts_mpa(self.distance_mm, self.stress_mpa, width_mm)


def linear_parts_mpa(
    distance_mm: tuple[float, ...], stress_mpa: tuple[float, ...], width_mm: float
) -> tuple[float, float]:
    """Constant and linear part of a stress path with the same force and moment; the end value goes on to
    the far side.

    distance_mm, stress_mpa : path, linear between its points; width_mm : of the section
    Returns             : membrane, bending at the surface [MPa]
    """
    dist = np.union1d(np.minimum(distance_mm, width_mm), [width_mm])
    values = np.interp(dist, distance_mm, stress_mpa)
    middle_dist, middle = 0.5 * (dist[1:] + dist[:-1]), 0.5 * (values[1:] + values[:-1])
    step = np.diff(dist)
    arm = 0.5 * width_mm - dist
    moments = values * arm
    # Simpson: exact for the product of two straight lines
    moment = np.sum(step / 6.0 * (moments[1:] + moments[:-1] + 4.0 * middle * (0.5 * width_mm - middle_dist)))
    return float(np.sum(step * middle) / width_mm), float(6.0 * moment / width_mm**2)


def path_findings(stress: Stress, wall_mm: float, deepest_mm: float) -> tuple[Finding, ...]:
    """Where a path does not span the wall that the crack grows into.

    wall_mm : of the section; deepest_mm : reached by the crack
    """
    if not stress.distance_mm:
        return ()
    last = stress.distance_mm[-1]
    if last > wall_mm * (1.0 + _ROUNDING):
        message = (
            f"the path goes on to {as_given(last)} mm beyond the wall of {as_given(wall_mm)} mm: its rest was not used"
        )
        return (caution("path-beyond-wall", message, field="distance_mm"),)
    if last >= wall_mm * (1.0 - _ROUNDING):
        return ()
    message = (
        f"the path ends at {as_given(last)} mm of a wall of {as_given(wall_mm)} mm: its last value was held constant"
    )
    limit = Limit("depth_mm", None, last, "weight-universal-1991", "end of the stress path, held constant")
    short = caution("path-shorter-than-wall", message, field="distance_mm")
    return (short, *outside_limits((limit,), depth_mm=deepest_mm))


BY_STRENGTH = "fracture and collapse"


def lasting_stress(stress: Stress) -> list[Finding]:
    """Which lasting stress the judgement of fracture and collapse holds."""
    membrane, bending = stress.static_membrane_mpa, stress.static_bending_mpa
    if not (membrane or bending):
        return []
    message = (
        f"{BY_STRENGTH} hold a lasting stress of {as_given(membrane)} MPa membrane and {as_given(bending)} MPa"
        " bending; it counts as primary and as secondary stress, and the worse decides"
    )
    return [note("lasting-stress", message, field="static_membrane_mpa")]


def residual_doubts(effects: Sequence[str], static_k_mpa_sqrt_mm: ArrayLike, *, takes_stress: bool) -> list[Finding]:
    """A caution where effects that depend on the largest K of an as-welded joint hold no residual stress.

    effects      : in words; static_k_mpa_sqrt_mm : of the lasting stress at the sizes of the crack
    takes_stress : False for a crack that is given by its stress intensity
    """
    if not effects or (np.asarray(static_k_mpa_sqrt_mm) > 0.0).any():
        return []
    remedy = (
        "give static_membrane_mpa"
        if takes_stress
        else "a crack that is given by its stress intensity takes none, so compare with a plate that does"
    )
    message = (
        f"{' and '.join(effects)} hold no tensile residual stress, though an as-welded joint has it up to the"
        f" yield strength, and it raises the largest stress intensity: {remedy}"
    )
    return [caution("no-residual-stress", message, field="static_membrane_mpa" if takes_stress else "crack")]


@dataclass(frozen=True, slots=True)
class Stressed:
    """A crack under its stress, with what shares the load: stress intensity at any size and added
    compliance.
    """

    crack: CrackConfiguration
    stress: Stress
    sharing: Sharing | None
    raised: float = 1.0  # factor on the stress intensity
    parts: tuple[float, float] = field(init=False)
    profile: PathProfile | None = field(init=False)

    def __post_init__(self) -> None:
        path = self.stress.distance_mm
        object.__setattr__(self, "parts", self.stress.parts_mpa(self.crack.wall_mm if path else 1.0))
        object.__setattr__(self, "profile", PathProfile(path, self.stress.stress_mpa) if path else None)

    def state(self, added: FloatArray) -> Shared | None:
        """Redistributed stresses; None without sharing."""
        if self.sharing is None:
            return None
        return share_load(self.sharing, self.crack.section, added, *self.parts)

    def stresses(self, depth: FloatArray, added: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Membrane and bending stress of the uncracked section as it is loaded now, per unit of load
        factor.
        """
        state = self.state(added)
        if state is None:
            return np.full(depth.shape, self.parts[0]), np.full(depth.shape, self.parts[1])
        return state.membrane_mpa, state.bending_mpa

    def unit(self, depth: FloatArray, length: FloatArray, added: FloatArray) -> UnitIntensity:
        """Stress intensity for load factor 1, and of the lasting stress.

        A path is taken as it is; a toe magnifies its membrane and bending part, sharing sheds them.
        """
        given = self.crack.given_intensity(depth)
        if given is not None:
            return given
        tension, bending = self.crack.unit_intensity(depth, length)
        if self.raised != 1.0:
            tension, bending = self.raised * tension, self.raised * bending
        lasting = self.stress.static_membrane_mpa, self.stress.static_bending_mpa
        static = lasting[0] * tension + lasting[1] * bending if any(lasting) else 0.0
        membrane, bend = self.stresses(depth, added)
        if self.profile is None:
            return UnitIntensity(tension * membrane + bending * bend, static)
        plain = self.crack.without_toe()
        plain_t, plain_b = (tension, bending) if plain is self.crack else plain.unit_intensity(depth, length)
        more = tension * membrane - plain_t * self.parts[0] + bending * bend - plain_b * self.parts[1]
        return UnitIntensity(self.crack.path_intensity(self.profile, depth, length) + more, static)

    def discontinuities(self, depth: FloatArray, length: FloatArray) -> FloatArray | None:
        """Functions that change sign where the stress intensity is not smooth, row by row: at the points of a
        path, and those of the crack itself. None when it is smooth.
        """
        inner = np.array(self.stress.distance_mm[1:])
        rows = [np.log(depth / inner[:, None])] if 0 < inner.size <= _MOST_POINTS else []
        of_crack = self.crack.discontinuities(depth, length)
        rows += [] if of_crack is None else [of_crack]
        return np.concatenate(rows) if rows else None
