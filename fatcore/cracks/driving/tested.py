"""The tests behind a fitted growth law, and what a use of it beyond them must say."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Literal

from annotated_types import Ge, Le, Len, Lt, doc

from fatcore.bounds import Positive, guard
from fatcore.errors import InputError
from fatcore.figures import as_given, figure
from fatcore.findings import Finding, caution, note, outside
from fatcore.require import FloatArray

LEAST_RATES = 10  # that a law for use rests on [own choice]
MOST_OUTSIDE = 0.1  # of a life that may be spent beyond the ranges tested before it is no longer valid [own choice]
_SAME_RATIO = 0.05  # of the load ratio: a difference that rates do not show [own choice]
_ROUNDING = 1e-9
_Ratio = Annotated[float, Ge(-10.0), Lt(1.0)]
_Count = Annotated[int, Ge(1), Le(1_000_000)]


def few_rates(name: str, rates_used: int) -> list[Finding]:
    """`outside` for a law that rests on fewer rates than a law for use needs."""
    if rates_used >= LEAST_RATES:
        return []
    text = f"the law {name} rests on {rates_used} rates: a law for use needs {LEAST_RATES} at the least"
    return [outside("law-by-few-rates", text, field="rates_used")]


@dataclass(frozen=True, slots=True, kw_only=True)
class RatesTested:
    """The tests behind a fitted growth law.

    name                 : what the evaluation calls the law; statistic: what it is of the scatter
    lowest_delta_k_mpa_sqrt_mm, highest_delta_k_mpa_sqrt_mm : of the rates that the law rests on
    growth_from_mpa_sqrt_mm : lowest range at which any of the tests grew, which no threshold may exceed
    threshold_load_ratio : of the test that gave the threshold, None without one
    """

    name: Annotated[str, Len(1, 210), doc("what the evaluation calls the law: NAME/mean or NAME/upper")]
    statistic: Literal["mean", "upper"]
    specimens: _Count
    rates_used: _Count
    lowest_delta_k_mpa_sqrt_mm: Positive
    highest_delta_k_mpa_sqrt_mm: Positive
    growth_from_mpa_sqrt_mm: Positive
    lowest_load_ratio: Annotated[_Ratio, doc("of the tests that a fitted law rests on")]
    highest_load_ratio: Annotated[_Ratio, doc("of the tests that a fitted law rests on")]
    threshold_load_ratio: _Ratio | None = None

    def __post_init__(self) -> None:
        guard(self)
        for low, high in (
            ("lowest_delta_k_mpa_sqrt_mm", "highest_delta_k_mpa_sqrt_mm"),
            ("lowest_load_ratio", "highest_load_ratio"),
        ):
            if getattr(self, low) > getattr(self, high):
                raise InputError(f"{low} lies above {high}", low)

    def guard_threshold(self, threshold_mpa_sqrt_mm: float) -> None:
        """InputError for a threshold above a range at which a crack of the tests grew."""
        if threshold_mpa_sqrt_mm > self.growth_from_mpa_sqrt_mm * (1.0 + _ROUNDING):
            text = (
                f"the tests of {self.name} grew at {figure(self.growth_from_mpa_sqrt_mm)} MPa√mm, below a"
                f" threshold of {figure(threshold_mpa_sqrt_mm)}"
            )
            raise InputError(text, "threshold_mpa_sqrt_mm")

    def findings(self, load_ratio: FloatArray, *, threshold: bool) -> Iterator[Finding]:
        """What the law rests on, and load ratios that its tests did not have.

        load_ratio : as counted over the life; threshold: whether the law has one
        """
        ratios = f"load ratios {as_given(self.lowest_load_ratio)} to {as_given(self.highest_load_ratio)}"
        text = (
            f"the law {self.name} is fitted to {self.rates_used} rates of {self.specimens} specimen(s) at"
            f" {figure(self.lowest_delta_k_mpa_sqrt_mm)} to {figure(self.highest_delta_k_mpa_sqrt_mm)} MPa√mm,"
            f" {ratios}"
        )
        yield note("fitted-law", text, field="law")
        yield from few_rates(self.name, self.rates_used)
        low, high = float(load_ratio.min()), float(load_ratio.max())
        if high > self.highest_load_ratio + _SAME_RATIO:
            text = (
                f"the law {self.name} is of tests at {ratios} and counts at up to {figure(high)}, where cracks grow"
                " faster: test there"
            )
            yield outside("fitted-law-load-ratio", text, field="law")
        elif threshold and self.threshold_load_ratio is not None and high > self.threshold_load_ratio + _SAME_RATIO:
            text = (
                f"the threshold of {self.name} was found at load ratio {as_given(self.threshold_load_ratio)} and counts"
                f" at up to {figure(high)}, where thresholds are lower"
            )
            yield outside("fitted-threshold-load-ratio", text, field="threshold_mpa_sqrt_mm")
        if low < self.lowest_load_ratio - _SAME_RATIO:
            text = f"the law {self.name} is of tests at {ratios} and counts at down to {figure(low)} as it is"
            yield caution("fitted-law-low-load-ratio", text, field="law")

    def range_findings(self, share: float, lowest: float, highest: float) -> list[Finding]:
        """Ranges that no test had.

        share : of the life that is spent at them; lowest, highest: of the ranges that grow the crack [MPa√mm]
        """
        if share <= 0.0:
            return []
        text = (
            f"the crack grows at {figure(lowest)} to {figure(highest)} MPa√mm, the law {self.name} was tested at"
            f" {figure(self.lowest_delta_k_mpa_sqrt_mm)} to {figure(self.highest_delta_k_mpa_sqrt_mm)}:"
            f" {figure(100.0 * share)} % of the life is extrapolated"
        )
        if share > MOST_OUTSIDE:
            return [outside("fitted-law-outside-ranges", text, field="law")]
        return [caution("fitted-law-leaves-ranges", text, field="law")]
