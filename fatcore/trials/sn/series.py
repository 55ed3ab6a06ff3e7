"""A series of fatigue tests as it enters every evaluation."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import numpy as np
from annotated_types import Ge, Len, Lt, doc
from numpy.typing import NDArray

from fatcore.bounds import Name, Positive, PositiveArray, guard, guarded
from fatcore.errors import InputError
from fatcore.figures import figure
from fatcore.require import FloatArray, one_length, other_length

MOST_TESTS = 10_000
_RunOuts = Annotated[NDArray[np.bool_] | None, doc("true for a test that was stopped whole; null: all failed")]
_Ratios = Annotated[
    Annotated[FloatArray, Ge(-1e6), Lt(1.0)] | None, doc("minimum over maximum load of each test; null: not stated")
]
_Origin = Annotated[str, Len(0, 300), doc("how the ranges follow from what was measured; repeated in the answer")]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TrialSeries:
    """Tests of one kind of specimen.

    range_mpa, life_cycles : stress range and life of each test, (n,); run_out: stopped without failure, (n,)
    load_ratio             : minimum over maximum load of each test, (n,); None: not stated
    origin                 : how the ranges follow from what was measured; empty: they were measured
    Raises                 : InputError for columns of unequal length, more than 10,000 tests, run-outs only, a series
                             in which every failure stands twice
    """

    name: Name = "series"
    range_mpa: PositiveArray
    life_cycles: PositiveArray
    run_out: _RunOuts = None
    origin: _Origin = ""
    load_ratio: _Ratios = None

    def __post_init__(self) -> None:
        guard(self)
        size = one_length(range_mpa=self.range_mpa, life_cycles=self.life_cycles)
        if size > MOST_TESTS:
            raise InputError(f"a series has {MOST_TESTS} tests at the most, here are {size}", "range_mpa")
        if self.run_out is not None and len(self.run_out) != size:
            raise InputError(other_length("run_out", len(self.run_out), size), "run_out")
        if self.load_ratio is not None and len(self.load_ratio) != size:
            raise InputError(other_length("load_ratio", len(self.load_ratio), size), "load_ratio")
        if not self.failed.any():
            raise InputError("every test is a run-out: nothing tells where specimens fail", "run_out")
        if self.failed.sum() > 1 and (repeats_of(self) > 1).all():
            text = "every failure repeats range and life of another one exactly: the series is here twice"
            raise InputError(text, "life_cycles")

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


@guarded
def series_from_loads(
    load_range: PositiveArray,
    range_per_load_mpa: Positive,
    life_cycles: PositiveArray,
    *,
    origin: Annotated[str, Len(1, 200), doc("where the factor comes from; repeated in the answer")],
    run_out: _RunOuts = None,
    load_ratio: _Ratios = None,
    name: Name = "series",
) -> TrialSeries:
    """A series by the load range of each test and the stress range that a unit of load makes.

    load_range : of the machine, in the unit of load that the factor is for, (n,)
    Raises     : InputError as `TrialSeries`
    Source     : the factor is the user's own; every evaluation says where it comes from

    >>> made = series_from_loads(np.array([10.0, 20.0]), 8.5, np.array([1e6, 1e5]), origin="strain gauge")
    >>> made.range_mpa.tolist(), made.origin
    ([85.0, 170.0], 'load range times 8.5 MPa per unit load: strain gauge')
    """
    one_length(load_range=load_range, life_cycles=life_cycles)
    return TrialSeries(
        name=name,
        range_mpa=np.asarray(load_range, dtype=np.float64) * range_per_load_mpa,
        life_cycles=life_cycles,
        run_out=run_out,
        load_ratio=load_ratio,
        origin=f"load range times {figure(range_per_load_mpa, 6)} MPa per unit load: {origin}",
    )


def repeats_of(series: TrialSeries) -> NDArray[np.int64]:
    """How often range and life of each failure stand in the series exactly, (failures,)."""
    failed = series.failed
    rows = np.column_stack([np.asarray(series.range_mpa)[failed], np.asarray(series.life_cycles)[failed]])
    _, place, count = np.unique(rows, axis=0, return_inverse=True, return_counts=True)
    return np.asarray(count[place.reshape(-1)], dtype=np.int64)
