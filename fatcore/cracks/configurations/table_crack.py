# ruff: noqa: ARG002  (one interface for all configurations)
"""A crack whose stress intensity is a table from a measurement or a simulation: it overrides every
formula.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from fatcore.bounds import Positive, guard
from fatcore.cracks.configurations.configuration import SizeKind
from fatcore.cracks.configurations.given_intensity import GivenIntensity
from fatcore.cracks.configurations.intensity_table import SOURCES, IntensityTable
from fatcore.cracks.driving.loading import UnitIntensity
from fatcore.errors import InputError
from fatcore.findings import Finding, Limit, outside_limits
from fatcore.require import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class TabledCrack(GivenIntensity):
    """One-length crack with K over its size for load factor 1; what shares the load is in the table already.

    crack_size_mm : at the start; table : sizes and K by mode, see `IntensityTable`
    """

    crack_size_mm: Positive
    table: IntensityTable

    end_reason: ClassVar[str] = "end-of-table"
    load_path: ClassVar[tuple[str, ...]] = ("crack", "k_mpa_sqrt_mm")
    size_kind: ClassVar[SizeKind] = "unknown"
    end_sizes: ClassVar[tuple[str, ...]] = ("depth_mm", "half_length_mm")
    sources: ClassVar[tuple[str, ...]] = SOURCES
    tables: ClassVar[tuple[str, ...]] = ()

    def __post_init__(self) -> None:
        guard(self)
        if self.crack_size_mm >= self.table.range_mm()[1]:
            raise InputError("the crack starts at or beyond the end of the table", "crack_size_mm")

    @property
    def modes(self) -> tuple[str, ...]:
        """Those of the table."""
        return tuple(self.table.k_mpa_sqrt_mm)

    def largest(self) -> tuple[float, float]:
        """The end of the table."""
        return self.table.range_mm()[1], np.inf

    def given_intensity(self, depth: FloatArray) -> UnitIntensity:
        """All tabled modes, one point."""
        columns = {mode: self.table.k(depth, mode)[None] for mode in self.modes}
        opening = columns.get("opening", np.zeros((1, *depth.shape)))
        return UnitIntensity(opening, 0.0, columns.get("sliding"), columns.get("tearing"))

    def findings(self, depth: FloatArray, length: FloatArray) -> tuple[Finding, ...]:
        """Sizes that the table does not reach, and rows far apart that the crack grows between."""
        low, high = self.table.range_mm()
        limit = Limit("crack_size_mm", low, high, SOURCES[0], "range of the table")
        # the end of growth meets the end of the table but for rounding
        beyond = outside_limits((limit,), crack_size_mm=np.where(np.isclose(depth, high, rtol=1e-9), high, depth))
        return (*beyond, *self.table.grown_findings(float(depth.min()), float(depth.max())))
