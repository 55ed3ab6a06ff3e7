"""What resists: the pair of peak-stress curves, one curve, or normal and shear curves with an interaction."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from fatcore.check import reserve
from fatcore.check.loading import CycleBatch
from fatcore.check.strength.combination import Interaction
from fatcore.check.strength.judged import Judged
from fatcore.curves import biaxiality
from fatcore.curves.curve import Curve
from fatcore.require import FloatArray
from fatcore.stress.interaction import combine_iiw
from fatcore.stress.mean_stress import mean_stress_coefficient
from fatcore.stress.peak import equivalent as peak

Factor = float | FloatArray
Mask = NDArray[np.bool_]
FAINTEST = 1e-200  # a smaller damage has lost digits that a factor would bring back
_PROPORTIONAL: Interaction = "quadratic-proportional"


class Strength(Protocol):
    """Turns cycles into equivalent ranges and those into damage."""

    @property
    def weights(self) -> FloatArray:
        """Weights of the stress components, (m,), or of each station, (n, m)."""

    @property
    def curves(self) -> tuple[Curve, ...]:
        """Curves in use; the first is the one of pure opening or normal stress."""

    def judge(self, batch: CycleBatch) -> Judged:
        """Equivalent ranges of a batch."""

    def damage(self, judged: Judged, factor: Factor = 1.0) -> tuple[FloatArray, NDArray[np.int8]]:
        """Damage of one pass at a factor on all ranges, (s,), and the index of the deciding curve.

        factor : one, or one a station (s, 1)
        """

    def damage_per_cycle(self, judged: Judged) -> FloatArray:
        """Damage of each cycle once, (s, c); of normal and shear stress together."""

    def utilisation(self, judged: Judged, damage: FloatArray, allowed: float) -> FloatArray:
        """1 / (factor on all loads at which the damage of one pass reaches the allowed), (s,).

        damage : at factor 1, (s,)
        """


def load_ratio(batch: CycleBatch) -> FloatArray:
    """Minimum over maximum of every component, infinite where the maximum is zero."""
    lower, upper = batch.minimum_mpa, batch.maximum_mpa
    ratio = np.full(lower.shape, np.inf)
    np.divide(lower, upper, out=ratio, where=upper != 0.0)
    return ratio


@dataclass(frozen=True, slots=True, kw_only=True)
class PeakStrength:
    """Equivalent peak stress on the opening and the shear curve, chosen cycle by cycle by biaxiality.

    relieved   : stress-relieved, the load ratio of each mode counts; lower, upper: bounds of the rule
    ratio_band : lowest and highest factor on the ratio by scatter, (2,) or of each station (n, 2)
    published_weights : by the published figures
    """

    weights: FloatArray
    opening_curve: Curve
    shear_curve: Curve
    lower: float
    upper: float
    relieved: bool
    ratio_band: tuple[float, float] | FloatArray = (1.0, 1.0)
    published_weights: FloatArray | None = None

    @property
    def curves(self) -> tuple[Curve, ...]:
        """Opening curve, shear curve."""
        return (self.opening_curve, self.shear_curve)

    def by_default_bounds(self, ratio: FloatArray) -> FloatArray:
        """Ratios that get both curves wherever the default bounds take them."""
        lower, upper = biaxiality.default_bounds()
        return self._crossed(ratio, lower, upper)

    def within_scatter(self, ratio: FloatArray, stations: NDArray[np.intp]) -> FloatArray:
        """Ratios (s, c) that get both curves wherever the scatter of the constants may bring them there."""
        band = np.asarray(self.ratio_band)
        band = band[np.newaxis] if band.ndim == 1 else band[stations]
        return self._crossed(ratio, *biaxiality.widened_bounds(self.lower, self.upper, (band[:, :1], band[:, 1:])))

    def _crossed(self, ratio: FloatArray, lower: Factor, upper: Factor) -> FloatArray:
        """Ratios between wider bounds and those of the rule put on the bound of the rule, where both curves count."""
        above = np.where((ratio > self.upper) & (ratio <= upper), self.upper, ratio)
        return np.where((ratio < self.lower) & (ratio >= lower), self.lower, above)

    def judge(self, batch: CycleBatch) -> Judged:
        """Equivalent peak stress and biaxiality ratio of every cycle."""
        return _peak_judged(self.weights, batch, self.relieved)

    def damage(self, judged: Judged, factor: Factor = 1.0) -> tuple[FloatArray, NDArray[np.int8]]:
        """Damage with the curve that gives the lower life between the bounds."""
        parts, choice = self.parts(judged, factor)
        by_shear = np.where(choice == 1, parts, 0.0).sum(axis=-1)
        total = parts.sum(axis=-1)
        largest = judged.equivalent_mpa.argmax(axis=-1)[:, np.newaxis]
        sheared = np.take_along_axis(choice * (judged.equivalent_mpa > 0.0), largest, axis=-1)[:, 0] == 1
        return total, np.where(total > 0.0, by_shear > 0.5 * total, sheared).astype(np.int8)

    def parts(self, judged: Judged, factor: Factor = 1.0) -> tuple[FloatArray, NDArray[np.int8]]:
        """Damage of each cycle times its count, and its curve, (s, c)."""
        stress, bounds = judged.equivalent_mpa * factor, (self.lower, self.upper)
        each, choice = biaxiality.damage_of_points(stress, judged.ratio, self.opening_curve, self.shear_curve, bounds)
        return each * judged.count, choice

    def damage_per_cycle(self, judged: Judged) -> FloatArray:
        """With the curve that gives the lower life between the bounds."""
        return self.parts(replace(judged, count=np.ones_like(judged.count)))[0]

    def utilisation(self, judged: Judged, damage: FloatArray, allowed: float) -> FloatArray:
        """Where the ratios of all cycles choose one curve its slopes rule, else those of both."""
        cycling = judged.equivalent_mpa > 0.0
        opened, sheared = cycling & (judged.ratio <= self.upper), cycling & (judged.ratio >= self.lower)
        used = (_any(opened), _any(sheared))
        if not all(_straight(curve) for curve in self.curves) or (damage[_any(cycling)] < FAINTEST).any():
            return _utilisation(self, judged, damage, used, allowed)
        return _utilisation(self, judged, damage, used, allowed, self._powers(judged, opened, sheared))

    def _powers(self, judged: Judged, opened: Mask, sheared: Mask) -> reserve.Damage:
        """The damage at any factor on two straight lines, for which no range is looked up again."""
        ranges = judged.equivalent_mpa
        opening = self.opening_curve.damage_per_cycle(np.where(opened, ranges, 0.0)) * judged.count
        shear = self.shear_curve.damage_per_cycle(np.where(sheared, ranges, 0.0)) * judged.count
        slopes = (self.opening_curve.slopes[0], self.shear_curve.slopes[0])

        def damage(factor: FloatArray, rows: NDArray[np.intp]) -> FloatArray:
            first, second = (factor[:, np.newaxis] ** slope for slope in slopes)
            return np.asarray(np.maximum(opening[rows] * first, shear[rows] * second).sum(axis=-1))

        return damage


@dataclass(frozen=True, slots=True, kw_only=True)
class PlainStrength:
    """One curve for the equivalent peak stress (three weights) or for the normal stress range (two)."""

    weights: FloatArray
    curve: Curve
    relieved: bool = False
    published_weights: FloatArray | None = None

    @property
    def curves(self) -> tuple[Curve, ...]:
        """The curve."""
        return (self.curve,)

    def judge(self, batch: CycleBatch) -> Judged:
        """Equivalent ranges; on the peak-stress basis with the biaxiality ratio."""
        if self.weights.shape[-1] == 3:
            return _peak_judged(self.weights, batch, self.relieved)
        normal = batch.range_mpa[..., 0]
        none, zero = np.full_like(normal, np.inf), np.zeros_like(normal)
        return Judged(equivalent_mpa=normal, ratio=none, second_mpa=zero, count=batch.count)

    def damage(self, judged: Judged, factor: Factor = 1.0) -> tuple[FloatArray, NDArray[np.int8]]:
        """Damage on the curve."""
        each = self.curve.damage_per_cycle(judged.equivalent_mpa * factor)
        total = (each * judged.count).sum(axis=-1)
        return total, np.zeros(total.shape, dtype=np.int8)

    def damage_per_cycle(self, judged: Judged) -> FloatArray:
        """On the curve."""
        return self.curve.damage_per_cycle(judged.equivalent_mpa)

    def utilisation(self, judged: Judged, damage: FloatArray, allowed: float) -> FloatArray:
        """On the slopes of the curve."""
        return _utilisation(self, judged, damage, (_any(judged.equivalent_mpa > 0.0),), allowed)


@dataclass(frozen=True, slots=True, kw_only=True)
class InteractionStrength:
    """Normal and shear stress on a curve each, combined by a published interaction.

    rule : damage-sum (damages of both add up) or quadratic (squares of both utilisations against their limit)
    """

    normal_curve: Curve
    shear_curve: Curve
    rule: Interaction

    @property
    def weights(self) -> FloatArray:
        """Both components as they are."""
        return np.ones(2)

    @property
    def curves(self) -> tuple[Curve, ...]:
        """Normal curve, shear curve."""
        return (self.normal_curve, self.shear_curve)

    def judge(self, batch: CycleBatch) -> Judged:
        """Normal and shear ranges side by side."""
        normal, shear = batch.range_mpa[..., 0], batch.range_mpa[..., 1]
        return Judged(equivalent_mpa=normal, ratio=np.full_like(normal, np.inf), second_mpa=shear, count=batch.count)

    def damage(self, judged: Judged, factor: Factor = 1.0) -> tuple[FloatArray, NDArray[np.int8]]:
        """Sum of both damages; the deciding curve is the one with the larger part."""
        normal = self.normal_curve.damage_per_cycle(judged.equivalent_mpa * factor) * judged.count
        shear = self.shear_curve.damage_per_cycle(judged.second_mpa * factor) * judged.count
        first, second = normal.sum(axis=-1), shear.sum(axis=-1)
        return first + second, (second > first).astype(np.int8)

    def damage_per_cycle(self, judged: Judged) -> FloatArray:
        """Sum of both."""
        normal = self.normal_curve.damage_per_cycle(judged.equivalent_mpa)
        return normal + self.shear_curve.damage_per_cycle(judged.second_mpa)

    def utilisation(self, judged: Judged, damage: FloatArray, allowed: float) -> FloatArray:
        """Of the sum, or of the quadratic form from the utilisation of each part."""
        if self.rule == "damage-sum":
            used = (_any(judged.equivalent_mpa > 0.0), _any(judged.second_mpa > 0.0))
            return _utilisation(self, judged, damage, used, allowed)
        normal = _alone(self.normal_curve, judged, allowed)
        shear = _alone(self.shear_curve, replace(judged, equivalent_mpa=judged.second_mpa), allowed)
        return combine_iiw(normal, shear, proportional=self.rule == _PROPORTIONAL).utilisation


def _alone(curve: Curve, judged: Judged, allowed: float) -> FloatArray:
    strength = PlainStrength(weights=np.ones(1), curve=curve)
    return strength.utilisation(judged, strength.damage(judged)[0], allowed)


def _straight(curve: Curve) -> bool:
    return len(curve.slopes) == 1 and curve.cut_off_mpa is None


def _any(mask: Mask) -> Mask:
    return np.asarray(mask.any(axis=-1))


def _utilisation(
    strength: Strength,
    judged: Judged,
    damage: FloatArray,
    used: Sequence[Mask],
    allowed: float,
    damage_at: reserve.Damage | None = None,
) -> FloatArray:
    """By the factor on the ranges; used tells for each curve where some cycle may count on it."""
    pairs = list(zip(strength.curves, used, strict=True))
    return reserve.utilisations(
        damage_at or (lambda factor, rows: strength.damage(judged.of(rows), factor[:, np.newaxis])[0]),
        share=damage / allowed,
        cycling=np.any(list(used), axis=0),
        flattest=np.min([np.where(here, min(curve.slopes), np.inf) for curve, here in pairs], axis=0),
        steepest=np.max([np.where(here, _steepest(curve), 0.0) for curve, here in pairs], axis=0),
        allowed=allowed,
    )


def _steepest(curve: Curve) -> float:
    return np.inf if curve.cut_off_mpa is not None else max(curve.slopes)


def _peak_judged(weights: FloatArray, batch: CycleBatch, relieved: bool) -> Judged:
    coefficients = mean_stress_coefficient(load_ratio(batch)) if relieved else None
    equivalent, ratio = peak.equivalent_and_ratio(batch.at_stations(weights), batch.range_mpa, coefficients)
    return Judged(equivalent_mpa=equivalent, ratio=ratio, second_mpa=np.zeros_like(equivalent), count=batch.count)
