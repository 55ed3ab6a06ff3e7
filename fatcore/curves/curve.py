"""A design curve: straight segments in log range and log life, with knees and an optional cut-off."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Annotated, Literal, Required, TypedDict, Unpack

import numpy as np
from annotated_types import Gt, Lt
from numpy.typing import ArrayLike

from fatcore.bounds import NonNegative, Number, Positive, Probability, Slope, guard, guarded
from fatcore.curves import _joining as joining
from fatcore.curves import segments
from fatcore.curves.deviations import DEFAULT_SD_LOG10_CYCLES, LARGEST_EXPONENT, deviations, power_of_ten
from fatcore.curves.tested import LivesTested
from fatcore.errors import InputError, NotCoveredError
from fatcore.figures import as_given
from fatcore.require import FloatArray, positive

Loading = Literal["constant", "variable", "any"]
LoadQuantity = Literal["stress range", "energy density range"]

REFERENCE_CYCLES = 2.0e6

_CONTINUITY = 1e-9  # of log10 life at a knee
_NO_SCATTER = 1e-6  # of log10 life: lines of all survival probabilities are one [own choice]
_FLATTEST = 1e-6  # slope from which ranges stay within the numbers


class Head(TypedDict, total=False):
    """What names and places a curve, besides its shape: the fields of `Curve` of the same names."""

    id: Required[str]
    source: Required[str]
    title: str
    stress_kind: str
    material: str
    loading: Loading
    survival_probability: float | None
    survival_definition: str
    sd_log10_cycles: float | None
    table: str | None
    quantity: LoadQuantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """Life and range on N = 10**c_j * range**-m_j; build one with `from_point` or `from_intercepts`.

    log10_constants, slopes : c_j and m_j of the segments, from high to low range
    knees_mpa, cut_off_mpa  : ranges where segments meet (descending; each belongs to the segment above it),
                              and the range below which a cycle does no damage (the cut-off itself does)
    survival_probability    : of the line as it stands, with its definition; sd_log10_cycles: scatter of log10
                              life about the line, None where the source tabulates none
    quantity                : an "energy density range" curve holds MJ/m³ where the names say MPa and answers
                              only to the energy methods, so that no stress is looked up on it by mistake
    knee_mismatch           : largest relative difference in range of two printed branches at a knee, before
                              they were joined on the first branch
    joints                  : numbers of the segments that only join two branches with a step between them
    tested                  : the tests behind a fitted curve, None for any other
    Raises                  : InputError for wrong lengths or order, or a step at a knee
    """

    id: str
    source: str
    title: str = ""
    stress_kind: str = "normal"
    material: str = "steel"
    loading: Loading = "any"
    log10_constants: tuple[Annotated[float, Gt(-LARGEST_EXPONENT), Lt(LARGEST_EXPONENT)], ...]
    slopes: tuple[Slope, ...]
    knees_mpa: tuple[Annotated[float, Gt(0.0)], ...] = ()
    cut_off_mpa: Annotated[float, Gt(0.0)] | None = None
    survival_probability: Probability | None = None
    survival_definition: str = ""
    sd_log10_cycles: NonNegative | None = None
    table: str | None = None
    quantity: LoadQuantity = "stress range"
    knee_mismatch: float = 0.0
    joints: tuple[int, ...] = ()
    tested: LivesTested | None = None

    def __post_init__(self) -> None:
        guard(self)
        _check_shape(self)
        _check_continuity(self)

    @classmethod
    @guarded
    def from_point(
        cls,
        *,
        range_mpa: Positive,
        cycles: Positive = REFERENCE_CYCLES,
        slopes: Sequence[Slope],
        knee_cycles: Sequence[Positive] = (),
        cut_off_cycles: Positive | None = None,
        **head: Unpack[Head],
    ) -> Curve:
        """The curve through one point (range_mpa at cycles), with knees and cut-off given by their lives."""
        joining.check_lives(slopes, knee_cycles, cut_off_cycles)
        constants, knees = joining.through_point(range_mpa, cycles, slopes, knee_cycles)
        return cls(
            log10_constants=constants,
            slopes=tuple(map(float, slopes)),
            knees_mpa=knees,
            cut_off_mpa=joining.cut_off_range(constants, slopes, cut_off_cycles),
            **head,
        )

    @classmethod
    @guarded
    def from_intercepts(
        cls,
        *,
        log10_constants: Sequence[Number],
        slopes: Sequence[Slope],
        knee_cycles: Sequence[Positive] | None = None,
        cut_off_cycles: Positive | None = None,
        **head: Unpack[Head],
    ) -> Curve:
        """The curve of printed log10 constants.

        With knee_cycles the branches are joined at those lives on the first branch (the constants of later
        branches are rounded in print; `knee_mismatch` keeps how far they were off); without, they meet where
        they cross.
        """
        if len(log10_constants) != len(slopes) or not slopes:
            raise InputError("log10_constants and slopes need one length, at least 1", "log10_constants")
        lives = joining.crossings(log10_constants, slopes) if knee_cycles is None else knee_cycles
        joining.check_lives(slopes, lives, cut_off_cycles)
        constants, knees = joining.join_segments(log10_constants, slopes, lives)
        return cls(
            log10_constants=constants,
            slopes=tuple(map(float, slopes)),
            knees_mpa=knees,
            cut_off_mpa=joining.cut_off_range(constants, slopes, cut_off_cycles),
            knee_mismatch=max(map(abs, joining.join_mismatch(log10_constants, slopes, lives)), default=0.0),
            **head,
        )

    @classmethod
    @guarded
    def from_points(
        cls,
        *,
        range_mpa: Sequence[Positive],
        life_cycles: Sequence[Positive],
        cut_off_cycles: Positive | None = None,
        **head: Unpack[Head],
    ) -> Curve:
        """The curve through at least two points in order of falling range; the end segments run on."""
        slopes, knees = joining.join_points(range_mpa, life_cycles)
        return cls.from_point(
            range_mpa=range_mpa[0],
            cycles=life_cycles[0],
            slopes=slopes,
            knee_cycles=knees,
            cut_off_cycles=cut_off_cycles,
            **head,
        )

    def life_cycles(self, range_mpa: ArrayLike) -> FloatArray:
        """Life at each stress range [cycles]; inf (infinite) below the cut-off and at range 0.

        Raises : InputError for a negative or non-finite range, NotCoveredError on an energy curve
        """
        return segments.life(self._line("stress range"), segments.not_negative("range_mpa", range_mpa))

    def range_mpa(self, life_cycles: ArrayLike) -> FloatArray:
        """Stress range at each life [MPa], the inverse of `life_cycles`; the cut-off beyond the cut-off life.

        Raises : InputError for a life that is not positive and finite, NotCoveredError on an energy curve
        """
        return segments.load(self._line("stress range"), positive("life_cycles", life_cycles))

    def damage_per_cycle(self, range_mpa: ArrayLike) -> FloatArray:
        """Damage of one cycle of each stress range [-], 1/life; 0 below the cut-off and at range 0.

        Raises : InputError for a negative or non-finite range, NotCoveredError on an energy curve
        """
        return segments.damage(self._line("stress range"), segments.not_negative("range_mpa", range_mpa))

    def life_at(self, load_range: FloatArray) -> FloatArray:
        """Life at each range, known not to be negative, of the quantity that the curve takes [cycles]."""
        return segments.life(self._line(self.quantity), load_range)

    def damage_at(self, load_range: FloatArray) -> FloatArray:
        """Damage of one cycle of each range, known not to be negative, of the quantity that the curve takes [-]."""
        return segments.damage(self._line(self.quantity), load_range)

    def range_at(self, life_cycles: FloatArray) -> FloatArray:
        """Range at each life, known to be positive, of the quantity that the curve takes [MPa, or MJ/m³]."""
        return segments.load(self._line(self.quantity), life_cycles)

    def life_cycles_of_energy(self, energy_density_mj_m3: ArrayLike) -> FloatArray:
        """Life at each range of averaged energy density [cycles]; NotCoveredError on a stress curve."""
        loads = segments.not_negative("energy_density_mj_m3", energy_density_mj_m3)
        return segments.life(self._line("energy density range"), loads)

    def energy_density_mj_m3(self, life_cycles: ArrayLike) -> FloatArray:
        """Range of averaged energy density at each life [MJ/m³]; NotCoveredError on a stress curve."""
        return segments.load(self._line("energy density range"), positive("life_cycles", life_cycles))

    def reference_range_mpa(self, cycles: float = REFERENCE_CYCLES) -> float:
        """Range of the curve at its reference life: the class of most documents [MPa, or MJ/m³]."""
        return float(segments.load(self._line(self.quantity), positive("cycles", cycles)))

    def knee_cycles(self) -> tuple[float, ...]:
        """Lives at the knees [cycles]."""
        return segments.knee_lives(self._line(self.quantity))

    def cut_off_cycles(self) -> float | None:
        """Life at the cut-off [cycles]; None without one."""
        if self.cut_off_mpa is None:
            return None
        return float(segments.life(self._line(self.quantity), np.asarray(self.cut_off_mpa)))

    def scaled(self, factor: float) -> Curve:
        """The curve with every strength times factor; knees and cut-off stay at their lives."""
        if factor == 1.0:
            return self
        step = math.log10(float(positive("factor", factor)))
        return replace(
            self,
            log10_constants=tuple(c + m * step for c, m in zip(self.log10_constants, self.slopes, strict=True)),
            knees_mpa=tuple(knee * factor for knee in self.knees_mpa),
            cut_off_mpa=None if self.cut_off_mpa is None else self.cut_off_mpa * factor,
        )

    def at_survival(self, probability: float, *, deviations_to: float | None = None) -> Curve:
        """The curve at another survival probability, moved by its own scatter of log10 life.

        The first segment moves in life by the difference in standard deviations; knees keep their lives, so
        all ranges move by one factor. Without a tabulated scatter 0.20 is taken [common practice].
        deviations_to : standard deviations of the new line below the mean, when not those of its probability
        Raises        : InputError outside (0, 1) and for a scatter that moves nothing, NotCoveredError when
                        the curve states no probability
        """
        if self.survival_probability is None:
            raise NotCoveredError(f"curve {self.id!r} states no survival probability to start from")
        start = self.deviations(self.survival_probability)
        goal = self.deviations(probability) if deviations_to is None else deviations_to
        step = (start - goal) * self.scatter()
        if start == goal:
            return self
        if self.scatter() < _NO_SCATTER:
            raise InputError(
                f"the scatter of {self.id!r}, {as_given(self.scatter())} of log10 life, moves nothing: no line of "
                f"survival {as_given(probability)} follows from it",
                "survival_probability",
            )
        moved = self.scaled(power_of_ten("sd_log10_cycles", step / self.slopes[0]))
        definition = f"moved from {as_given(self.survival_probability)} ({self.survival_definition})"
        return replace(moved, survival_probability=probability, survival_definition=definition)

    def deviations(self, probability: float) -> float:
        """Standard deviations down to a survival probability, by the distribution of the tests where there are any.

        The own survival of a fitted curve is a share that its tests hold, and exact; another one that normal scatter is
        moved to may be meant as the name of a line, and lies no nearer to the mean than that.
        """
        if self.tested is None or (self.tested.distribution == "normal" and probability != self.survival_probability):
            return deviations(probability)
        return self.tested.deviations(probability)

    def scatter(self) -> float:
        """Standard deviation of log10 life: as tabulated, else 0.20 [common practice]."""
        return DEFAULT_SD_LOG10_CYCLES if self.sd_log10_cycles is None else self.sd_log10_cycles

    def guard_quantity(self, quantity: LoadQuantity, *path: str) -> None:
        """NotCoveredError when the curve takes the other quantity; path: of the input at fault."""
        if quantity != self.quantity:
            raise NotCoveredError(f"curve {self.id!r} takes the {self.quantity}, not the {quantity}", *path)

    def _line(self, quantity: LoadQuantity) -> segments.Line:
        self.guard_quantity(quantity)
        return segments.Line(self.log10_constants, self.slopes, self.knees_mpa, self.cut_off_mpa or 0.0)


def _check_shape(curve: Curve) -> None:
    if not (len(curve.log10_constants) == len(curve.slopes) == len(curve.knees_mpa) + 1):
        raise InputError("a curve needs one constant a slope and one knee less than slopes", "slopes")
    pairs = zip(curve.log10_constants, curve.slopes, strict=True)
    if not all(m > _FLATTEST and abs(c / m) < LARGEST_EXPONENT for c, m in pairs):
        raise InputError("so flat a branch has ranges beyond the numbers", "slopes")
    ends = [*curve.knees_mpa, *(() if curve.cut_off_mpa is None else (curve.cut_off_mpa,))]
    if any(low >= high for high, low in pairwise(ends)):
        raise InputError("knees must descend, and the cut-off must lie below the last", "knees_mpa")


def _check_continuity(curve: Curve) -> None:
    branches = pairwise(zip(curve.log10_constants, curve.slopes, strict=True))
    for ((c1, m1), (c2, m2)), knee in zip(branches, curve.knees_mpa, strict=True):
        if abs((c1 - c2) - (m1 - m2) * math.log10(knee)) > _CONTINUITY:
            raise InputError(f"the branches of curve {curve.id!r} do not meet at {as_given(knee)} MPa", "knees_mpa")
