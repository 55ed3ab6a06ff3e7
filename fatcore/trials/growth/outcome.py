"""What a growth test holds, and what its evaluation gives."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from annotated_types import doc

from fatcore.bounds import Name, NonNegativeArray, PositiveArray, guard
from fatcore.cracks.driving.law import Stage
from fatcore.cracks.driving.tested import RatesTested
from fatcore.cracks.scatter.random_variables import Distribution
from fatcore.outcome import Outcome
from fatcore.require import FloatArray
from fatcore.trials.growth.specimen import GrowthSpecimen

_Shed = Annotated[bool, doc("loads were shed to find the threshold, at constant load ratio")]


_SIZE = (
    "crack size of each reading as the family has it: from the load line of compact, half the length of middle-cracked,"
    " from the edge of bend and eccentric specimens [mm]"
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GrowthTest:
    """Readings of one specimen.

    size_mm, cycles : crack size and cycles of each reading, (n,); shedding: a test for the threshold
    """

    name: Name = "specimen"
    specimen: GrowthSpecimen
    size_mm: Annotated[PositiveArray, doc(_SIZE)]
    cycles: NonNegativeArray
    shedding: _Shed = False

    def __post_init__(self) -> None:
        guard(self)


@dataclass(frozen=True, slots=True, kw_only=True)
class FittedLaw:
    """A straight law with its scatter.

    coefficient, exponent : rate = coefficient range^exponent in mm/cycle and MPa√mm, mean
    upper_coefficient     : of specimens together, below which 97.725 % (two deviations) of the rates of one more
                            specimen lie anywhere in the ranges tested; null of one, which says nothing of others
    exponent_low, exponent_high : limits at the confidence
    pivot_mpa_sqrt_mm     : range at which rate and exponent do not depend on each other, with the limits of the
                            rate there
    """

    coefficient: float
    exponent: float
    exponent_low: float
    exponent_high: float
    upper_coefficient: float | None
    sd_log10_rate: float
    rates_used: int
    pivot_mpa_sqrt_mm: float
    pivot_rate_mm_per_cycle: float
    pivot_low_mm_per_cycle: float
    pivot_high_mm_per_cycle: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TwoStageLaw:
    """Two straight lines that meet at a range.

    chance : of as much less scatter by chance where one line holds
    """

    stage_coefficients: tuple[float, ...]
    stage_exponents: tuple[float, ...]
    knee_mpa_sqrt_mm: float
    sd_log10_rate: float
    chance: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TestedSpecimen(Outcome):
    """Rates of one specimen, one entry a rate, and its law.

    law          : null where the readings give none, as in a test for the threshold
    threshold_mpa_sqrt_mm : range at 1e-7 mm/cycle of a test for the threshold
    """

    name: str
    rate_size_mm: FloatArray
    rate_cycles: FloatArray
    rate_mm_per_cycle: FloatArray
    delta_k_mpa_sqrt_mm: FloatArray
    k_max_mpa_sqrt_mm: FloatArray
    law: FittedLaw | None
    two_stages: TwoStageLaw | None
    threshold_mpa_sqrt_mm: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PooledLaw:
    """All specimens together, with one exponent.

    sd_between, sd_within : of log10 of the rate between specimens and about the line of each
    slopes_chance    : of exponents as different by chance where all specimens have one; levels_chance: of levels
    """

    law: FittedLaw
    specimens: int
    sd_between: float
    sd_within: float
    slopes_chance: float
    levels_chance: float
    coefficient_factor: Distribution


@dataclass(frozen=True, slots=True, kw_only=True)
class LawForUse:
    """Constants in the form in which a crack growth calculation takes them.

    units : of the stages
    threshold_mpa_sqrt_mm : of the mean law the lowest that was found, but no range at which a crack grew; null where
                            none was looked for, and of the upper law
    tested : what the law rests on, by which every use is compared
    """

    stages: tuple[Stage, ...]
    units: Literal["mm-MPa"]
    threshold_mpa_sqrt_mm: float | None
    tested: RatesTested


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GrowthRateOutcome(Outcome):
    """Growth tests evaluated.

    pooled                        : of two specimens or more
    mean_law                      : of all rates; null without a law
    upper_law                     : above 97.725 % (two deviations) of the rates of one more specimen; null of one
    threshold_mpa_sqrt_mm         : the lowest that was found
    """

    specimens: tuple[TestedSpecimen, ...]
    pooled: PooledLaw | None
    mean_law: LawForUse | None
    upper_law: LawForUse | None
    threshold_mpa_sqrt_mm: float | None
