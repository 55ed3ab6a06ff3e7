"""Crack growth laws: rate of growth from the range of stress intensity."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Annotated, Literal

import numpy as np
from annotated_types import Ge, Le, doc
from numpy.typing import ArrayLike

from fatcore.bounds import LARGEST, Exponent, NonNegative, Number, Slope, guard, guarded
from fatcore.cracks.driving.load_ratio import LoadRatioEffect
from fatcore.cracks.driving.tested import RatesTested
from fatcore.errors import InputError
from fatcore.require import FloatArray

UnitSystem = Literal["mm-MPa", "m-MPa"]
ThresholdForm = Literal["cut", "power-difference", "shifted"]
Numbers = float | FloatArray
OWN = "own constants"
FORM = "how a threshold enters the rate, needs a threshold; null is cut"
SMALLEST_COEFFICIENT = 1e-250  # in any system of units, with the steepest exponent
_TINY, _ROUNDING = 1e-12, 1e-9


@guarded
def convert_coefficient(coefficient: ArrayLike, exponent: ArrayLike, units: UnitSystem) -> FloatArray:
    """A growth coefficient in mm/cycle and MPa√mm.

    coefficient : as printed, > 0, scalar or array
    exponent    : of the stress-intensity range [-]
    units       : system of the given coefficient: "mm-MPa", or "m-MPa" for m/cycle and MPa√m
    Raises      : UnknownError for another system
    Source      : [derived-units]
    >>> float(convert_coefficient(1e-12, 3.0, "m-MPa")).__round__(19)
    3.16228e-14
    """
    given = np.asarray(coefficient, dtype=np.float64)
    if units == "mm-MPa":
        return given
    return np.asarray(given * 1000.0 * 1000.0 ** (-np.asarray(exponent, dtype=np.float64) / 2.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """One straight line of the growth law in double logarithmic scale: rate = coefficient * range^exponent.

    coefficient : in mm/cycle and MPa√mm, > 0; an array gives one law per sample
    exponent    : > 0 [-]
    """

    coefficient: Annotated[Numbers, Ge(SMALLEST_COEFFICIENT), Le(LARGEST)]
    exponent: Slope

    def __post_init__(self) -> None:
        guard(self)


@dataclass(frozen=True, slots=True, kw_only=True)
class Threshold:
    """Range below which a crack does not grow: intercept - drop * R, not below the floor.

    intercept_mpa_sqrt_mm : value at load ratio 0 (also below 0), 0 switches the threshold off
    drop                  : decrease per unit of load ratio, in MPa√mm
    below_load_ratio      : up to this load ratio the value is below_mpa_sqrt_mm when that is given
    exponent              : when given, intercept * (1 - R)^exponent takes the place of the straight line;
                            below load ratio 0 the value there holds
    """

    intercept_mpa_sqrt_mm: Annotated[Numbers, Ge(0.0), Le(LARGEST)] = 0.0
    drop: Number = 0.0
    floor_mpa_sqrt_mm: NonNegative = 0.0
    below_load_ratio: Number = 0.0
    below_mpa_sqrt_mm: NonNegative | None = None
    exponent: Exponent | None = None

    def __post_init__(self) -> None:
        guard(self)

    @property
    def is_zero(self) -> bool:
        """True when there is no threshold."""
        levels = (self.intercept_mpa_sqrt_mm, self.floor_mpa_sqrt_mm, self.below_mpa_sqrt_mm or 0.0)
        return not any(np.any(np.asarray(level) > 0.0) for level in levels)

    def range_mpa_sqrt_mm(self, load_ratio: ArrayLike) -> FloatArray:
        """Threshold range at a load ratio (scalar or array) [MPa√mm]."""
        ratio = np.asarray(load_ratio, dtype=np.float64)
        if self.exponent is not None:
            left = np.clip(1.0 - ratio, 0.0, 1.0)
            return np.asarray(self.intercept_mpa_sqrt_mm * left**self.exponent)
        line = self.intercept_mpa_sqrt_mm - self.drop * np.maximum(ratio, 0.0)
        value = np.maximum(line, self.floor_mpa_sqrt_mm)
        if self.below_mpa_sqrt_mm is not None:
            value = np.where(ratio <= self.below_load_ratio, self.below_mpa_sqrt_mm, value)
        return np.asarray(value)


NO_THRESHOLD, NO_EFFECT = Threshold(), LoadRatioEffect()


@dataclass(frozen=True, slots=True, kw_only=True)
class GrowthLaw:
    """A growth law with constants in mm/cycle and MPa√mm.

    low            : one or two stages for load ratios below high_from_load_ratio
    high           : stages from that load ratio on; empty means the same as `low`
    threshold_form : cut (no growth below), power-difference C(dK^m - th^m), shifted C(dK - th)^m
    threshold_ramp : relative half width over which a cut rate rises in place of its jump; 0 is the jump
    name, sources, table : where the constants come from
    highest_load_ratio : up to which the constants hold
    statistic      : what the constants are of the scatter (mean, upper bound, ...), empty when not known
    tested         : the tests behind a fitted law, None for any other
    """

    low: tuple[Stage, ...]
    high: tuple[Stage, ...] = ()
    high_from_load_ratio: float = 0.5
    threshold: Threshold = field(default_factory=Threshold)
    threshold_form: ThresholdForm = "cut"
    threshold_ramp: float = 0.0
    effect: LoadRatioEffect = field(default_factory=LoadRatioEffect)
    name: str = OWN
    statistic: str = ""
    highest_load_ratio: float = 1.0
    sources: tuple[str, ...] = ()
    table: str | None = None
    tested: RatesTested | None = None

    def __post_init__(self) -> None:
        for stages in (self.low, self.high or self.low):
            if not 1 <= len(stages) <= 2:
                raise InputError("a growth law has one or two stages", "stages")
            if len(stages) == 2 and stages[0].exponent == stages[1].exponent:
                raise InputError("two stages must differ in exponent", "stages")

    def rate_mm_per_cycle(self, delta_k_mpa_sqrt_mm: ArrayLike, load_ratio: ArrayLike = 0.0) -> FloatArray:
        """Growth per cycle of a crack that is loaded by a range of stress intensity.

        delta_k_mpa_sqrt_mm : range >= 0, scalar or array (negative ranges count as 0)
        load_ratio          : smallest over largest stress intensity, below 1, same shape or scalar
        Returns             : rate [mm/cycle]; 0 at or below the threshold; inf where the law lets the
                              crack run; nan for nan
        """
        given = np.maximum(np.asarray(delta_k_mpa_sqrt_mm, dtype=np.float64), 0.0)
        ratio = np.asarray(load_ratio, dtype=np.float64)
        acting, threshold = self._acting(given, ratio)
        rate = self._stage_rate(acting, ratio, threshold)
        if self.effect.kind == "forman":
            divisor = np.asarray(self.effect.rate_divisor(given, ratio))
            with np.errstate(divide="ignore", invalid="ignore"):
                rate = np.where(divisor > 0.0, rate / divisor, np.where(rate > 0.0, np.inf, 0.0))
        if self.threshold_ramp:
            rise = (acting / np.maximum(threshold, _TINY) - 1.0) / self.threshold_ramp
            return np.asarray(rate * np.clip(0.5 + 0.5 * rise, 0.0, 1.0))
        return np.asarray(np.where(acting <= threshold, 0.0, rate))  # what is no number stays none

    @property
    def is_own(self) -> bool:
        """Whether the constants are of the user's own, given or fitted."""
        return self.name == OWN or self.tested is not None

    def stages(self, load_ratio: float) -> tuple[Stage, ...]:
        """The stages that hold at a load ratio."""
        return self.high if self.high and load_ratio >= self._border else self.low

    @property
    def _border(self) -> float:
        """The load ratio from which the high stages hold; one that misses it by rounding belongs to them."""
        return self.high_from_load_ratio - _ROUNDING

    def events(self, delta_k: FloatArray, load_ratio: FloatArray) -> FloatArray:
        """Functions of the range that change sign where the rate has a kink, stacked row by row."""
        acting, threshold = self._acting(delta_k, load_ratio)
        edges = (1.0 - self.threshold_ramp, 1.0 + self.threshold_ramp) if self.threshold_ramp else (1.0,)
        rows = [acting - edge * threshold for edge in edges]
        borders = [transition_mpa_sqrt_mm(stages) for stages in (self.low, self.high) if len(stages) == 2]
        rows += [acting - border for border in borders]
        if self.high:
            rows.append(load_ratio - self._border)
        return np.concatenate([np.atleast_2d(row) for row in rows])

    def _acting(self, delta_k: FloatArray, ratio: FloatArray) -> tuple[FloatArray, FloatArray]:
        """The range that enters the stages, and the threshold for it.

        A threshold is printed for the whole range: the share that closure takes off is taken off both.
        """
        factor = self.effect.range_factor(ratio)
        threshold = self.threshold.range_mpa_sqrt_mm(ratio)
        return delta_k * factor, threshold * factor if self.effect.closure else threshold

    def _stage_rate(self, acting: FloatArray, ratio: FloatArray, threshold: FloatArray) -> FloatArray:
        if not self.high:
            return self._rate_of(self.low, acting, threshold)
        high = self._rate_of(self.high, acting, threshold)
        is_high = ratio >= self._border
        return high if is_high.all() else np.where(is_high, high, self._rate_of(self.low, acting, threshold))

    def _rate_of(self, stages: tuple[Stage, ...], acting: FloatArray, threshold: FloatArray) -> FloatArray:
        if self.threshold_form == "shifted":
            return _power(stages, np.maximum(acting - threshold, 0.0))
        rate = _power(stages, acting)
        return rate - _power(stages, threshold) if self.threshold_form == "power-difference" else rate


def transition_mpa_sqrt_mm(stages: tuple[Stage, ...]) -> FloatArray:
    """Range at which the two stages of a law meet [MPa√mm]."""
    first, second = stages
    quotient = np.asarray(first.coefficient) / np.asarray(second.coefficient)
    return np.asarray(quotient ** (1.0 / (second.exponent - first.exponent)))


def _power(stages: tuple[Stage, ...], delta_k: FloatArray) -> FloatArray:
    """Rate by the stages alone: logarithms, since one exponential is cheaper than two powers."""
    with np.errstate(divide="ignore"):
        log_range = np.log(delta_k)
    lines = [np.log(s.coefficient) + s.exponent * log_range for s in stages]
    if len(lines) == 1:
        return np.exp(lines[0])
    steeper_first = stages[0].exponent > stages[1].exponent
    return np.exp(np.minimum(*lines) if steeper_first else np.maximum(*lines))


@guarded
def user_defined_law(
    stages: tuple[Stage, ...],
    units: UnitSystem,
    *,
    threshold: Threshold = NO_THRESHOLD,
    threshold_form: Annotated[ThresholdForm | None, doc(FORM)] = None,
    load_ratio_effect: LoadRatioEffect = NO_EFFECT,
    tested: Annotated[RatesTested | None, doc("tests behind a fitted law, as its evaluation gives them")] = None,
) -> GrowthLaw:
    """A law from constants of one's own, converted once from their unit system.

    stages         : one or two, coefficients in the system `units`
    threshold      : in MPa√mm
    threshold_form : as in `GrowthLaw`, None is cut
    tested         : with them the law bears their name, and takes no form, effect or higher threshold besides
    Raises         : InputError for a form without a threshold, for what tests do not bear
    Source         : [paris-1963]
    """
    if threshold_form is not None and threshold.is_zero:
        raise InputError("a form of the threshold needs a threshold", "threshold_form")
    if tested is not None:
        _guard_tested(tested, threshold, threshold_form, load_ratio_effect)
    converted = [convert_coefficient(stage.coefficient, stage.exponent, units) for stage in stages]
    return GrowthLaw(
        low=tuple(replace(stage, coefficient=float(c)) for stage, c in zip(stages, converted, strict=True)),
        threshold=threshold,
        threshold_form=threshold_form or "cut",
        effect=load_ratio_effect,
        name=OWN if tested is None else tested.name,
        statistic="" if tested is None else tested.statistic,
        tested=tested,
        sources=("paris-1963",),
    )


def _guard_tested(
    tested: RatesTested, threshold: Threshold, form: ThresholdForm | None, effect: LoadRatioEffect
) -> None:
    """InputError for what the tests of a fitted law do not bear."""
    if effect.kind != "none":
        raise InputError("a fitted law is of the load ratio of its tests: it takes no effect", "load_ratio_effect")
    if form is not None:
        raise InputError("a fitted law has a plain threshold: it takes no other form", "threshold_form")
    tested.guard_threshold(max(float(np.max(threshold.range_mpa_sqrt_mm(ratio))) for ratio in (-1.0, 0.0, 0.99)))


def paris(
    coefficient: float,
    exponent: float,
    units: UnitSystem = "mm-MPa",
    *,
    threshold_mpa_sqrt_mm: float = 0.0,
) -> GrowthLaw:
    """One-stage law from own constants, converted once from their unit system.

    coefficient : in the system `units`, > 0
    exponent    : [-], > 0
    units       : "mm-MPa" or "m-MPa"
    Source      : [paris-1963]
    >>> paris(1.0, 2.0, "m-MPa").low[0].coefficient
    1.0
    """
    threshold = Threshold(intercept_mpa_sqrt_mm=threshold_mpa_sqrt_mm)
    return user_defined_law((Stage(coefficient=coefficient, exponent=exponent),), units, threshold=threshold)
