"""Life and strength on a curve with its corrections, with everything a user must know about the numbers."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fatcore.curves import catalogue
from fatcore.curves._segments import not_negative
from fatcore.curves.correction import Correction, combined
from fatcore.curves.curve import Curve
from fatcore.curves.documents import all_documents
from fatcore.errors import InputError, NotCoveredError
from fatcore.findings import Finding, Limit, caution, note, outside_limits
from fatcore.outcome import Evidence, Outcome, evidence
from fatcore.require import FloatArray, positive

__all__ = ["LIMITS", "LifeOutcome", "StrengthOutcome", "life", "strength"]

_SHORTEST = 1e-300  # its inverse is still finite

BoolArray = NDArray[np.bool_]

LIMITS = (Limit("life_cycles", 1.0e4, None, source="low-cycle-practice", where="curves of welded joints"),)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LifeOutcome(Outcome):
    """Life at each range; inf, and true in `below_cutoff`, where it is endless.

    damage_per_cycle : inverse of the life; strength_factor : product of all corrections
    """

    curve: Curve
    life_cycles: FloatArray
    below_cutoff: BoolArray
    damage_per_cycle: FloatArray
    strength_factor: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StrengthOutcome(Outcome):
    """Range at each life, of stress or of energy density as the curve holds it (the other is None).

    on_cutoff : true where the life lies beyond that of the cut-off: at the range given it is endless
    """

    curve: Curve
    stress_range_mpa: FloatArray | None
    energy_density_mj_m3: FloatArray | None
    on_cutoff: BoolArray
    strength_factor: FloatArray


def life(
    curve: Curve,
    *,
    stress_range_mpa: ArrayLike | None = None,
    energy_density_mj_m3: ArrayLike | None = None,
    corrections: Sequence[Correction] = (),
    yield_strength_mpa: float | None = None,
) -> LifeOutcome:
    """Life at ranges of stress, or of averaged energy density, on a corrected curve.

    corrections        : one factor each, or one for each range
    yield_strength_mpa : to compare the ranges with the limit of use of the curve's document
    Valid              : LIMITS
    Raises             : InputError for wrong ranges or lengths, NotCoveredError for the other quantity
    """
    ranges = _given(curve, stress_range_mpa, energy_density_mj_m3)
    product = _product(curve, corrections, ranges.size)
    loads = product.on_ranges(ranges)
    lives = curve.life_cycles(loads) if energy_density_mj_m3 is None else curve.life_cycles_of_energy(loads)
    if not (lives >= _SHORTEST).all():
        raise InputError("so large a range leaves no life that a number can hold", "stress_range_mpa")
    finite = np.isfinite(lives)
    return LifeOutcome(
        curve=curve,
        life_cycles=lives,
        below_cutoff=~finite,
        damage_per_cycle=np.divide(1.0, lives, out=np.zeros(lives.shape), where=finite),
        strength_factor=product.strength_factor,
        **_evidence(
            curve,
            product,
            [*outside_limits(LIMITS, life_cycles=lives[finite]), *_use(curve, ranges, yield_strength_mpa)],
        ),
    )


def strength(
    curve: Curve, life_cycles: ArrayLike, *, corrections: Sequence[Correction] = ()
) -> StrengthOutcome:
    """Range that a corrected curve permits at each life, the inverse of `life`.

    Valid  : LIMITS
    Raises : InputError for lives that are not positive or for wrong lengths
    """
    lives = positive("life_cycles", life_cycles)
    product = _product(curve, corrections, lives.size)
    stress = curve.quantity == "stress range"
    ranges = curve.range_mpa(lives) if stress else curve.energy_density_mj_m3(lives)
    ranges = np.asarray(ranges * product.strength_factor)
    if not np.isfinite(ranges).all():
        raise InputError("the range at so short a life is beyond the range of numbers", "life_cycles")
    cut_off_life = curve.cut_off_cycles()
    return StrengthOutcome(
        curve=curve,
        stress_range_mpa=ranges if stress else None,
        energy_density_mj_m3=None if stress else ranges,
        on_cutoff=lives > (np.inf if cut_off_life is None else cut_off_life),
        strength_factor=product.strength_factor,
        **_evidence(curve, product, outside_limits(LIMITS, life_cycles=lives)),
    )


def _given(curve: Curve, stress: ArrayLike | None, energy: ArrayLike | None) -> FloatArray:
    if (stress is None) == (energy is None):
        raise InputError("give stress_range_mpa or energy_density_mj_m3, one of them", "stress_range_mpa")
    name, given = ("stress_range_mpa", stress) if energy is None else ("energy_density_mj_m3", energy)
    if (curve.quantity == "stress range") == (stress is None):
        raise NotCoveredError(f"curve {curve.id!r} takes the {curve.quantity}", name)
    return not_negative(name, () if given is None else given)


def _product(curve: Curve, corrections: Sequence[Correction], size: int) -> Correction:
    if corrections and curve.quantity != "stress range":
        raise NotCoveredError("corrections hold for stress ranges, not for energy densities", "corrections")
    for index, correction in enumerate(corrections):
        if correction.strength_factor.size not in (1, size):
            raise InputError(f"one factor or {size} of them are needed", "corrections", index)
    return combined(*corrections)


def _evidence(curve: Curve, product: Correction, more: Iterable[Finding]) -> Evidence:
    return evidence(
        product,
        findings=[*catalogue.remarks(curve), *_mixed(curve, product), *more],
        sources=[curve.source],
        tables=[curve.table] if curve.table else [],
    )


def _mixed(curve: Curve, product: Correction) -> list[Finding]:
    others = [key for key in product.sources if key in all_documents() and key != curve.source]
    text = f"a correction of {{}} is applied to {curve.id}, a curve of another source"
    return [caution("documents-mixed", text.format(key), source=key) for key in others]


def _use(curve: Curve, ranges: FloatArray, yield_strength_mpa: float | None) -> tuple[Finding, ...]:
    if yield_strength_mpa is None:
        return ()
    strength = float(positive("yield_strength_mpa", yield_strength_mpa))
    limit = None if curve.table is None else catalogue.range_limit(curve.id, strength)
    if limit is None:
        text = f"no limit of use by yield strength is known here for {curve.id}: nothing was compared"
        return (note("limit-of-use-unknown", text, field="yield_strength_mpa", source=curve.source),)
    return outside_limits([limit], stress_range_mpa=ranges)
