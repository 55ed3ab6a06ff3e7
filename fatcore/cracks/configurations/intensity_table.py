"""Stress intensity from a table of the user's own crack simulation: K over crack size, one to three modes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Annotated

import numpy as np
from annotated_types import Ge, Le, Len, doc
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import PchipInterpolator

from fatcore.bounds import LARGEST, SMALLEST, guard
from fatcore.errors import InputError, NotCoveredError, UnknownError
from fatcore.figures import as_given, figure
from fatcore.findings import Finding, Limit, caution, outside, outside_limits
from fatcore.outcome import Outcome, evidence
from fatcore.require import FloatArray, finite, one_length, other_length, positive

MODES = ("opening", "sliding", "tearing")
SOURCES = ("user-table",)
# sizes of neighbouring rows, the larger over the smaller: beyond it K between them is doubted, and outside [own choice]
WIDE_STEP, WIDEST_STEP = 2.0, 5.0
_ROUNDING = 1e-9
TableSizes = Annotated[ArrayLike, Ge(SMALLEST), Le(LARGEST), Len(2, 10_000)]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TabledOutcome(Outcome):
    """Interpolated stress intensities [MPa√mm] and, when tabled, the aspect ratio a/c at each size.

    crack_closed : where the opening mode is negative
    """

    crack_size_mm: FloatArray
    opening_mpa_sqrt_mm: FloatArray | None = None
    sliding_mpa_sqrt_mm: FloatArray | None = None
    tearing_mpa_sqrt_mm: FloatArray | None = None
    aspect_ratio: FloatArray | None = None
    crack_closed: NDArray[np.bool_] | None = None


@dataclass(frozen=True, slots=True, eq=False)
class IntensityTable:
    """K over crack size with shape-preserving cubics: no overshoot between the points of the table.

    crack_size_mm : crack sizes [mm], strictly ascending
    k_mpa_sqrt_mm : columns by mode (opening, sliding, tearing) [MPa√mm], signed
    aspect_ratio : a/c at each size [-], optional
    Raises       : InputError with the path of the entry at fault
    Source       : [user-table]
    >>> table = IntensityTable([1.0, 2.0, 4.0], {"opening": [100.0, 150.0, 180.0]})
    >>> round(float(table.k(2.0)), 1)
    150.0
    """

    crack_size_mm: Annotated[TableSizes, doc("crack sizes of the table, ascending")]
    k_mpa_sqrt_mm: Mapping[str, ArrayLike]
    aspect_ratio: TableSizes | None = None
    _sizes: FloatArray = field(init=False, repr=False)
    _curves: dict[str, PchipInterpolator] = field(init=False, repr=False)
    _aspect: PchipInterpolator | None = field(init=False, repr=False)

    def __post_init__(self) -> None:
        guard(self)
        sizes = _require_ascending(self.crack_size_mm)
        if not self.k_mpa_sqrt_mm:
            raise InputError("give at least one mode", "k_mpa_sqrt_mm")
        curves = {mode: _curve(sizes, column, mode) for mode, column in self.k_mpa_sqrt_mm.items()}
        object.__setattr__(self, "_sizes", sizes)
        object.__setattr__(self, "_curves", curves)
        object.__setattr__(self, "_aspect", _aspect_curve(sizes, self.aspect_ratio))

    def range_mm(self) -> tuple[float, float]:
        """Smallest and largest size of the table [mm]."""
        return float(self._sizes[0]), float(self._sizes[-1])

    def k(self, crack_size_mm: ArrayLike, mode: str = "opening") -> FloatArray:
        """Stress intensity of a mode [MPa√mm], fast: below the table with the root of the size, beyond
        it along the last tangent (`intensity` says so with a finding)."""
        if mode not in self._curves:
            raise UnknownError("mode", mode, self._curves, "mode")
        size = np.asarray(crack_size_mm, dtype=np.float64)
        curve, (low, high) = self._curves[mode], self.range_mm()
        inside = np.asarray(curve(np.clip(size, low, high)), dtype=np.float64)
        beyond = np.maximum(size - high, 0.0) * float(curve(high, nu=1))
        return np.asarray(inside * np.sqrt(np.minimum(size / low, 1.0)) + beyond)

    def aspect(self, crack_size_mm: ArrayLike) -> FloatArray:
        """Aspect ratio a/c [-] at a size; its end value outside the table. InputError when none is tabled."""
        if self._aspect is None:
            raise InputError("the table has no aspect ratio", "aspect_ratio")
        return np.asarray(self._aspect(np.clip(np.asarray(crack_size_mm, dtype=np.float64), *self.range_mm())))

    def intensity(self, crack_size_mm: ArrayLike) -> TabledOutcome:
        """All modes at the given sizes, with an `outside` finding for sizes that the table does not reach."""
        size = positive("crack_size_mm", crack_size_mm)
        with np.errstate(all="ignore"):
            columns = {f"{mode}_mpa_sqrt_mm": self.k(size, mode) for mode in self._curves}
        if not all(np.isfinite(column).all() for column in columns.values()):
            raise NotCoveredError("the table has no finite continuation there", "crack_size_mm")
        limit = Limit("crack_size_mm", *self.range_mm(), SOURCES[0], "range of the table")
        return TabledOutcome(
            crack_size_mm=size,
            **columns,
            aspect_ratio=None if self._aspect is None else self.aspect(size),
            crack_closed=columns["opening_mpa_sqrt_mm"] < 0.0 if "opening" in self._curves else None,
            **evidence(
                findings=[*outside_limits((limit,), crack_size_mm=size), *self.coarse_findings(np.atleast_1d(size))],
                sources=SOURCES,
            ),
        )

    def grown_findings(self, smallest_mm: float, largest_mm: float) -> tuple[Finding, ...]:
        """As `coarse_findings` for a crack that passes all sizes between two."""
        passed = self._sizes[(self._sizes > smallest_mm) & (self._sizes < largest_mm)]
        ends = np.array([smallest_mm, *passed, largest_mm])
        return self.coarse_findings(0.5 * (ends[:-1] + ends[1:]))

    def coarse_findings(self, crack_size_mm: FloatArray) -> tuple[Finding, ...]:
        """What is said where sizes lie between rows whose own sizes lie far apart."""
        after = np.searchsorted(self._sizes, crack_size_mm)
        inside = (after > 0) & (after < self._sizes.size)
        between = after[inside][self._sizes[after[inside]] != crack_size_mm[inside]]
        steps = self._sizes[between] / self._sizes[between - 1] * (1.0 - _ROUNDING)
        if not (steps > WIDE_STEP).any():
            return ()
        row = between[np.argmax(steps)]
        text = (
            "stress intensities were interpolated between rows that lie far apart: at "
            f"{as_given(self._sizes[row - 1])} and"
            f" {as_given(self._sizes[row])} mm, a step of {figure(float(steps.max()))} times the size, where "
            "steps up to"
            f" {as_given(WIDE_STEP)} are trusted: give rows between them"
        )
        if steps.max() > WIDEST_STEP:
            return (outside("table-too-coarse", text, field="crack_size_mm"),)
        return (caution("table-coarse", text, field="crack_size_mm"),)


def _require_ascending(crack_size_mm: ArrayLike) -> FloatArray:
    sizes = np.asarray(crack_size_mm, dtype=np.float64)
    one_length(crack_size_mm=sizes)
    steps = np.flatnonzero(np.diff(sizes) <= 0.0)
    if steps.size:
        raise InputError("sizes must ascend", "crack_size_mm", int(steps[0]) + 1)
    return sizes


def _curve(sizes: FloatArray, column: ArrayLike, mode: str) -> PchipInterpolator:
    if mode not in MODES:
        raise UnknownError("mode", mode, MODES, "k_mpa_sqrt_mm", mode)
    values = finite("k_mpa_sqrt_mm", column)
    if values.shape != sizes.shape:
        raise InputError(other_length(mode, values.size, sizes.size), "k_mpa_sqrt_mm", mode)
    return _interpolator(sizes, values, "k_mpa_sqrt_mm", mode)


def _aspect_curve(sizes: FloatArray, column: ArrayLike | None) -> PchipInterpolator | None:
    if column is None:
        return None
    values = np.asarray(column, dtype=np.float64)
    if values.shape != sizes.shape:
        raise InputError(other_length("aspect_ratio", values.size, sizes.size), "aspect_ratio")
    return _interpolator(sizes, values, "aspect_ratio")


def _interpolator(sizes: FloatArray, values: FloatArray, *path: str) -> PchipInterpolator:
    with np.errstate(all="ignore"):
        if not np.isfinite(np.diff(values) / np.diff(sizes)).all():
            raise InputError("the slope between two sizes is beyond any number", *path)
        return PchipInterpolator(sizes, values)
