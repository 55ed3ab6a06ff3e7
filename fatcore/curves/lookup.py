"""Life and strength on a curve with its corrections, with everything a user must know about the numbers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

import numpy as np
from annotated_types import doc
from numpy.typing import ArrayLike, NDArray

from fatcore.bounds import NonNegativeColumn, PositiveColumn, UnboundedColumn, guarded
from fatcore.curves.corrections.correction import Correction
from fatcore.curves.curve import Curve
from fatcore.curves.limits.limits_of_use import (
    LIFE_LIMITS,
    YieldStrength,
    limit_of_use_findings,
    use_findings,
)
from fatcore.curves.limits.range_sizes import no_damage_finding, small_findings
from fatcore.curves.resistance import CurveResistance, make_resistance
from fatcore.errors import InputError, NotCoveredError
from fatcore.findings import Finding, outside_limits
from fatcore.outcome import Evidence, Outcome, evidence
from fatcore.require import FloatArray

_ROUNDING = 1e-12  # relative: what a factor and its inverse leave of a range
_BESIDE = 1e-9  # relative: a range or life that is not the cut-off itself
_SHORTEST = 1e-300  # its inverse is still finite

BoolArray = NDArray[np.bool_]

LIMITS = LIFE_LIMITS


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LifeOutcome(Outcome):
    """Life at each range; inf, and true in `below_cutoff`, where it is infinite.

    strength_factor : product of all corrections
    """

    curve: Curve
    life_cycles: UnboundedColumn
    below_cutoff: BoolArray
    damage_per_cycle: FloatArray
    strength_factor: FloatArray
    survival_probability: float | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StrengthOutcome(Outcome):
    """Range at each life, of stress or of energy density as the curve holds it (the other is None).

    on_cutoff : true where the life lies beyond that of the cut-off: the range given is a hair under the
                cut-off, and infinite
    """

    curve: Curve
    stress_range_mpa: FloatArray | None
    energy_density_mj_m3: FloatArray | None
    on_cutoff: BoolArray
    strength_factor: FloatArray
    survival_probability: float | None


@guarded
def curve_life(
    curve: Curve | CurveResistance,
    *,
    stress_range_mpa: NonNegativeColumn | None = None,
    energy_density_mj_m3: NonNegativeColumn | None = None,
    corrections: Sequence[Correction] = (),
    yield_strength_mpa: YieldStrength = None,
) -> LifeOutcome:
    """Life at ranges of stress, or of averaged energy density, on a corrected curve.

    curve       : as its source gives it, or a resistance
    corrections : for a plain curve, one factor each, or one for each range
    Valid       : LIMITS
    Raises      : InputError for wrong lengths, NotCoveredError for the other quantity
    """
    given = curve.curve if isinstance(curve, CurveResistance) else curve
    ranges = _given(given, stress_range_mpa, energy_density_mj_m3)
    held = _held(curve, corrections, ranges.size)
    held.guard_ranges(ranges)
    loads = _on_cut_off(held.curve, held.correction.on_ranges(ranges))
    lives = held.curve.life_at(loads)
    if not (lives >= _SHORTEST).all():
        raise InputError("so large a range leaves no life that a number can hold", "stress_range_mpa")
    finite = np.isfinite(lives)
    stress = energy_density_mj_m3 is None
    if not stress and yield_strength_mpa is not None:
        raise InputError("energy densities have no limit of use by yield strength", "yield_strength_mpa")
    use = (
        use_findings(held.curve, ranges, yield_strength_mpa)
        if stress
        else small_findings(ranges, "energy_density_mj_m3")
    )
    if not finite.any():
        field = "stress_range_mpa" if stress else "energy_density_mj_m3"
        use += (no_damage_finding(loads, held.curve.cut_off_mpa, field),)
    return LifeOutcome(
        curve=held.curve,
        life_cycles=lives,
        below_cutoff=~finite,
        damage_per_cycle=np.divide(1.0, lives, out=np.zeros(lives.shape), where=finite),
        strength_factor=held.correction.strength_factor,
        survival_probability=held.curve.survival_probability,
        **_short(held, lives[finite], *use),
    )


@guarded
def curve_strength(
    curve: Curve | CurveResistance,
    life_cycles: Annotated[PositiveColumn, doc("cycles to be borne")],
    *,
    corrections: Sequence[Correction] = (),
    yield_strength_mpa: YieldStrength = None,
) -> StrengthOutcome:
    """Range that a corrected curve permits at each life, the inverse of `curve_life`.

    Valid  : LIMITS
    Raises : InputError for wrong lengths
    """
    lives = np.asarray(life_cycles, dtype=np.float64)
    held = _held(curve, corrections, lives.size)
    line = held.curve
    stress = line.quantity == "stress range"
    cut_off_life = line.cut_off_cycles()
    beyond = lives > (np.inf if cut_off_life is None else cut_off_life * (1.0 + _BESIDE))
    ranges = np.asarray(_beside_cut_off(line, line.range_at(lives), beyond) * held.correction.strength_factor)
    if not np.isfinite(ranges).all():
        raise InputError("the range at so short a life is beyond the range of numbers", "life_cycles")
    if not stress and yield_strength_mpa is not None:
        raise InputError("energy densities have no limit of use by yield strength", "yield_strength_mpa")
    use = limit_of_use_findings(line, ranges, yield_strength_mpa) if stress else ()
    return StrengthOutcome(
        curve=line,
        stress_range_mpa=ranges if stress else None,
        energy_density_mj_m3=None if stress else ranges,
        on_cutoff=np.asarray(beyond),
        strength_factor=held.correction.strength_factor,
        survival_probability=line.survival_probability,
        **_short(held, lives, *use),
    )


def _given(curve: Curve, stress: ArrayLike | None, energy: ArrayLike | None) -> FloatArray:
    if (stress is None) == (energy is None):
        raise InputError("give stress_range_mpa or energy_density_mj_m3, one of them", "stress_range_mpa")
    name, given = ("stress_range_mpa", stress) if energy is None else ("energy_density_mj_m3", energy)
    if (curve.quantity == "stress range") == (stress is None):
        raise NotCoveredError(f"curve {curve.id!r} takes the {curve.quantity}", name)
    return np.asarray(given, dtype=np.float64)


def _on_cut_off(curve: Curve, loads: FloatArray) -> FloatArray:
    """Ranges that miss the cut-off by rounding are the cut-off, which does damage."""
    cut_off = curve.cut_off_mpa or 0.0
    missing = (loads < cut_off) & (loads > cut_off * (1.0 - _ROUNDING))
    return np.asarray(np.where(missing, cut_off, loads))


def _beside_cut_off(curve: Curve, ranges: FloatArray, beyond: BoolArray) -> FloatArray:
    """Ranges for lives beyond the cut-off lie under it by a hair, so that they are infinite as is asked."""
    cut_off = curve.cut_off_mpa or 0.0
    return np.where(beyond, cut_off * (1.0 - _BESIDE), np.maximum(ranges, cut_off))


def _held(curve: Curve | CurveResistance, corrections: Sequence[Correction], size: int) -> CurveResistance:
    if isinstance(curve, CurveResistance):
        return curve
    return make_resistance(curve, corrections=corrections, range_count=size, quantity=None)


def _short(held: CurveResistance, lives: FloatArray, *more: Finding) -> Evidence:
    return evidence(held, findings=[*outside_limits(LIMITS, life_cycles=lives), *more])
