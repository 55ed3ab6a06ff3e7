"""Loading of a growing crack: cycles as load factors, and the mean rate of growth that they cause."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from fatcore.cracks.driving.law import GrowthLaw
from fatcore.cracks.driving.load_blocks import CrackLoading, Retardation
from fatcore.cracks.driving.load_ratio import LoadRatioEffect
from fatcore.cracks.driving.mixed_mode import Criterion, effective_intensity, tearing_findings
from fatcore.cracks.driving.ranges import AS_WELDED_LOAD_RATIO, Condition, EffectiveRange, effective_range
from fatcore.cracks.driving.retardation import plastic_zone_mm, wheeler_advance_mm, willenborg_reduced
from fatcore.findings import Finding
from fatcore.require import FloatArray

_SUBSTEPS = 8
_MOST_EVENTS = 200
_FEW = 20
_RAMP = 1e-3


class UnitIntensity(NamedTuple):
    """Stress intensity of the unit stress state at the points of the front, points x n [MPa√mm]."""

    opening: FloatArray
    static: FloatArray | float = 0.0
    sliding: FloatArray | None = None
    tearing: FloatArray | None = None

    def first(self) -> UnitIntensity:
        """The same at the first size alone."""
        sliding, tearing = (None if mode is None else mode[..., :1] for mode in (self.sliding, self.tearing))
        return UnitIntensity(self.opening[..., :1], np.atleast_1d(self.static)[..., :1], sliding, tearing)


@dataclass(frozen=True, slots=True, kw_only=True)
class Drive:
    """Law, loading and condition together: from unit stress intensity to growth per cycle.

    As-welded no closure function of the law takes anything off the range: residual stress holds the crack
    open.
    """

    law: GrowthLaw
    loading: CrackLoading
    condition: Condition
    criterion: Criterion = "largest"

    def __post_init__(self) -> None:
        if self.condition == "as-welded" and self.law.effect.closure:
            object.__setattr__(self, "law", replace(self.law, effect=LoadRatioEffect()))

    @property
    def has_many_jumps(self) -> bool:
        """True when many entries change the growth rate by a jump or a kink, each at its own size."""
        law = self.law
        smooth = law.threshold.is_zero and len(law.low) == 1 and not law.high
        if self.loading.retardation is not None:
            return not self.loading.is_constant
        return self.loading.count.size > _FEW and not smooth

    @property
    def hides_jumps(self) -> bool:
        """True when jumps of the rate cannot be foretold, since retardation changes the load ratio itself."""
        law, model = self.law, self.loading.retardation
        smooth = law.threshold.is_zero and len(law.low) == 1 and not law.high
        return model is not None and model.model == "willenborg" and not smooth

    @property
    def cuts(self) -> bool:
        """True when the rate jumps at a threshold."""
        law = self.law
        return law.threshold_form == "cut" and not law.threshold.is_zero and not law.threshold_ramp

    def with_ramp(self) -> Drive:
        """The same with a short rise of the rate in place of the jump at the threshold."""
        return replace(self, law=replace(self.law, threshold_ramp=_RAMP))

    def credited(self, unit: UnitIntensity) -> UnitIntensity:
        """As-welded no lasting compression takes anything off: other residual stress is not known."""
        if self.condition != "as-welded":
            return unit
        return unit._replace(static=np.maximum(unit.static, 0.0))

    def effects_of_largest_k(self) -> list[str]:
        """What depends on the largest stress intensity itself, beside its range and load ratio; in words."""
        retarded = ["the plastic zones of retardation"] * (self.loading.retardation is not None)
        return retarded + ["the toughness of the growth law"] * (self.law.effect.kind == "forman")

    def ranges(self, unit: UnitIntensity) -> EffectiveRange:
        """Effective ranges and load ratios: entries x points x n."""
        unit = self.credited(unit)
        high, low = (f[:, None, None] for f in (self.loading.maximum, self.loading.minimum))
        return self._with_shear(self._opening_range(unit, high, low), unit, high, low)

    def _with_shear(
        self, opening: EffectiveRange, unit: UnitIntensity, high: FloatArray, low: FloatArray
    ) -> EffectiveRange:
        """The range of all modes; shear counts in full in any condition, at the larger load ratio."""
        if unit.sliding is None and unit.tearing is None:
            return opening
        mixed = self._equivalent(opening.delta_k_mpa_sqrt_mm, unit, high - low)
        ends = np.abs(high), np.abs(low)
        most, least = np.maximum(*ends), np.minimum(*ends)
        ratio = np.divide(least, most, out=np.zeros(np.shape(most)), where=most > 0.0)
        return EffectiveRange(mixed, np.maximum(opening.load_ratio, np.where(high * low < 0.0, -ratio, ratio)))

    def tearing_findings(self, unit: UnitIntensity) -> tuple[Finding, ...]:
        """What the criterion leaves out of the tearing mode; InputError where it is the largest mode."""
        if unit.tearing is None:
            return ()
        high, low = (f[:, None, None] for f in (self.loading.maximum, self.loading.minimum))
        opening = self._opening_range(unit, high, low).delta_k_mpa_sqrt_mm
        sliding = 0.0 if unit.sliding is None else unit.sliding * (high - low)
        return tearing_findings(self.criterion, opening, np.asarray(sliding), unit.tearing * (high - low))

    def _opening_range(self, unit: UnitIntensity, high: FloatArray, low: FloatArray) -> EffectiveRange:
        return effective_range(
            unit.opening,
            high,
            low,
            condition=self.condition,
            static_k_mpa_sqrt_mm=unit.static,
            whole_range=self.law.effect.closure,
        )

    def equivalent(self, unit: UnitIntensity) -> FloatArray:
        """Size of the stress intensity for load factor 1, whatever its sign, of all modes: points x n."""
        opening = np.abs(unit.opening)
        if unit.sliding is None and unit.tearing is None:
            return opening
        return self._equivalent(opening, unit, 1.0)

    def _equivalent(self, opening: FloatArray, unit: UnitIntensity, factor: FloatArray | float) -> FloatArray:
        sliding, tearing = (0.0 if mode is None else np.abs(mode) * factor for mode in (unit.sliding, unit.tearing))
        return effective_intensity(opening, sliding, tearing, criterion=self.criterion)

    def largest(self, unit: UnitIntensity) -> FloatArray:
        """Largest stress intensity of the loading and without load, of all modes by the criterion: points x n."""
        ends = np.array([self.loading.maximum.max(), self.loading.minimum.min(), 0.0])
        return np.asarray(self._at(self.credited(unit), ends[:, None, None]).max(axis=0))

    def _at(self, unit: UnitIntensity, factor: FloatArray) -> FloatArray:
        """Stress intensity at load factors, of all modes by the criterion."""
        opening = np.asarray(unit.opening * factor + unit.static)
        if unit.sliding is None and unit.tearing is None:
            return opening
        return self._equivalent(opening, unit, factor)

    def mean_rate(self, unit: UnitIntensity) -> FloatArray:
        """Growth per cycle, mean over the block: points x n."""
        delta, ratio = self.ranges(unit)
        if self.loading.is_constant:
            return self.law.rate_mm_per_cycle(delta[0], ratio[0])
        if self.loading.retardation is not None:
            return self._slowed(self.credited(unit), delta, ratio) / self.loading.cycles_per_block
        rates = self.law.rate_mm_per_cycle(delta, ratio)
        return np.asarray(np.tensordot(self.loading.count, rates, axes=1) / self.loading.cycles_per_block)

    def events(self, unit: UnitIntensity) -> FloatArray | None:
        """Functions that change sign where the rate has a kink or jumps; None with Willenborg, and for so
        many entries that one jump weighs little.
        """
        model = self.loading.retardation
        unknown = model is not None and model.model != "wheeler"
        if unknown or self.loading.count.size > _MOST_EVENTS:
            return None
        delta, ratio = self.ranges(unit)
        rows = self.law.events(delta.reshape(-1, delta.shape[-1]), ratio.reshape(-1, delta.shape[-1]))
        return np.concatenate([rows, unit.opening])  # where the unit case changes its sign

    def _slowed(self, unit: UnitIntensity, delta: FloatArray, ratio: FloatArray) -> FloatArray:
        """Growth in one block in its order; the first pass only leaves the plastic zones of a block
        before.
        """
        model = self.loading.retardation
        assert model is not None
        rates = self.law.rate_mm_per_cycle(delta, ratio)
        high, low = (f[:, None, None] for f in (self.loading.maximum, self.loading.minimum))
        tops = np.maximum(np.maximum(self._at(unit, high), self._at(unit, low)), 0.0)
        zones = plastic_zone_mm(tops, model.yield_strength_mpa, model.zone_state)
        border, grown = np.zeros(zones.shape[1:]), np.zeros(zones.shape[1:])
        overload = np.zeros(zones.shape[1:])
        before = grown
        for _ in range(2):
            before = grown
            for i, count in enumerate(self.loading.count):
                fresh = grown + zones[i] >= border
                overload = np.where(fresh, tops[i], overload)
                border = np.maximum(border, grown + zones[i])
                if model.model == "wheeler":
                    left = border - grown
                    grown = grown + wheeler_advance_mm(zones[i], left, rates[i], count, model.exponent or 0.0)
                else:
                    grown = self._willenborg(model, i, count, overload, border, grown, unit)
                border = np.where(grown + zones[i] > border, grown + zones[i], border)
        return np.asarray(grown - before)

    def _willenborg(
        self,
        model: Retardation,
        entry: int,
        count: float,
        overload: FloatArray,
        border: FloatArray,
        grown: FloatArray,
        unit: UnitIntensity,
    ) -> FloatArray:
        zone = plastic_zone_mm(overload, model.yield_strength_mpa, model.zone_state)
        first = unit.opening * self.loading.maximum[entry] + unit.static
        second = unit.opening * self.loading.minimum[entry] + unit.static
        steps = int(min(_SUBSTEPS, max(1.0, count)))
        for _ in range(steps):
            left = np.maximum(border - grown, 0.0)
            passed_share = 1.0 - np.divide(left, zone, out=np.zeros(zone.shape), where=zone > 0.0)
            top, low = willenborg_reduced(
                np.maximum(first, second),
                np.minimum(first, second),
                overload,
                passed_share,
                threshold_mpa_sqrt_mm=model.threshold_mpa_sqrt_mm or 0.0,
                shut_off_ratio=model.shut_off_ratio,
            )
            quotient = np.divide(low, top, out=np.zeros(top.shape), where=top > 0.0)
            reduced = EffectiveRange(np.asarray(top - low), quotient)
            if self.condition == "as-welded":  # the crack stays open: the range is not cut off at zero load
                span = np.asarray(np.abs(first - second))
                reduced = EffectiveRange(span, np.maximum(quotient, AS_WELDED_LOAD_RATIO))
            ends = self.loading.maximum[entry], self.loading.minimum[entry]
            grown = grown + self.law.rate_mm_per_cycle(*self._with_shear(reduced, unit, *ends)) * (count / steps)
        return grown
