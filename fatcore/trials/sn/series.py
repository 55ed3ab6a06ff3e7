"""A series of fatigue tests as it enters every evaluation."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import numpy as np
from annotated_types import doc
from numpy.typing import NDArray

from fatcore.bounds import Name, PositiveArray, guard
from fatcore.errors import InputError
from fatcore.require import FloatArray, one_length

MOST_TESTS = 10_000
_RunOuts = Annotated[NDArray[np.bool_] | None, doc("true for a test that was stopped whole; null: all failed")]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TrialSeries:
    """Tests of one kind of specimen.

    range_mpa, life_cycles : stress range and life of each test, (n,); run_out: stopped without failure, (n,)
    """

    name: Name = "series"
    range_mpa: PositiveArray
    life_cycles: PositiveArray
    run_out: _RunOuts = None

    def __post_init__(self) -> None:
        guard(self)
        size = one_length(range_mpa=self.range_mpa, life_cycles=self.life_cycles)
        if size > MOST_TESTS:
            raise InputError(f"a series has {MOST_TESTS} tests at the most, here are {size}", "range_mpa")
        if self.run_out is not None and len(self.run_out) != size:
            raise InputError(f"run_out has {len(self.run_out)} entries where {size} were expected", "run_out")
        if not self.failed.any():
            raise InputError("every test is a run-out: nothing tells where specimens fail", "run_out")

    @property
    def failed(self) -> NDArray[np.bool_]:
        """Which tests failed, (n,)."""
        if self.run_out is None:
            return np.ones(len(np.asarray(self.range_mpa)), dtype=np.bool_)
        return ~np.asarray(self.run_out, dtype=np.bool_)

    @property
    def log10_range(self) -> FloatArray:
        """Logarithms of the ranges."""
        return np.log10(np.asarray(self.range_mpa, dtype=np.float64))

    @property
    def log10_life(self) -> FloatArray:
        """Logarithms of the lives."""
        return np.log10(np.asarray(self.life_cycles, dtype=np.float64))
