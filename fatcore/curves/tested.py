"""The tests behind a fitted curve, by which every use of it is compared."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Literal

from annotated_types import Ge, Le, Lt, doc

from fatcore.bounds import Positive, Probability, guard
from fatcore.curves.deviations import TWO_SIGMA, exact_deviations, names_two_deviations
from fatcore.errors import InputError
from fatcore.figures import against

ScatterKind = Literal["normal", "smallest-extreme-value"]
# standard deviation over the scale of the distribution
DEVIATION: dict[ScatterKind, float] = {"normal": 1.0, "smallest-extreme-value": math.pi / math.sqrt(6.0)}


@dataclass(frozen=True, slots=True, kw_only=True)
class LivesTested:
    """The tests behind a fitted curve.

    lowest_range_mpa, highest_range_mpa : at which specimens failed; longest_life_cycles: of those that failed
    confidence   : with which the line holds its survival probability, None where its rule has none
    distribution : of log10 life about the line
    """

    tests: Annotated[int, Ge(1), Le(1_000_000)]
    lowest_range_mpa: Positive
    highest_range_mpa: Positive
    longest_life_cycles: Positive
    confidence: Annotated[Annotated[float, Ge(0.5), Lt(1.0)] | None, doc("of the line at its survival")] = None
    distribution: ScatterKind = "normal"

    def __post_init__(self) -> None:
        guard(self)
        if self.lowest_range_mpa > self.highest_range_mpa:
            raise InputError("lowest_range_mpa lies above highest_range_mpa", "lowest_range_mpa")

    def deviations(self, survival_probability: Probability) -> float:
        """Standard deviations from the location of the distribution down to a survival probability, exact [-].

        >>> sev = LivesTested(tests=9, lowest_range_mpa=1.0, highest_range_mpa=2.0, longest_life_cycles=1e6,
        ...                   distribution="smallest-extreme-value")
        >>> round(sev.deviations(0.5), 4), round(sev.deviations(0.999), 4)
        (0.2858, 5.3856)
        """
        if self.distribution == "normal":
            return exact_deviations(survival_probability)
        return -math.log(-math.log(survival_probability)) / DEVIATION[self.distribution]

    def share_words(self, survival_probability: float) -> str:
        """That a share which the tests hold is exact, where documents name the line two deviations below by it."""
        if self.distribution != "normal" or not names_two_deviations(survival_probability):
            return ""
        away = against(exact_deviations(survival_probability), TWO_SIGMA)
        return f", the exact share that its tests hold, {away} standard deviations below the mean and not two"
