"""Classes of counted cycles: range-mean matrices, range classes, exceedance curves, and what classing costs.

Cycles are counted first and classed afterwards. A class holds the ranges (or means) above its lower and up to
and including its upper edge; the lowest class also holds its lower edge. Nothing may lie outside the edges.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import Annotated, Literal

import numpy as np
from annotated_types import Ge, Le
from numpy.typing import ArrayLike, NDArray

from fatcore import require
from fatcore.bounds import guarded
from fatcore.curves.curve import Curve
from fatcore.errors import InputError
from fatcore.figures import as_given, figure
from fatcore.findings import caution
from fatcore.outcome import Outcome, evidence
from fatcore.require import FloatArray
from fatcore.spectrum.counting.cycles import Cycles

FirstSlope = Annotated[float, Ge(1.0), Le(50.0)]
Representative = Literal["upper", "middle"]

_SMALLEST_EXPONENT = -300  # of the width of a class: below it half of one may be 0
ERROR_TO_REPORT = 0.01  # relative error of the damage from which a caution is given


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RangeClasses(Outcome):
    """Counts by class of range.

    range_edges_mpa : edges, one more than classes [MPa]; range_mpa: range that stands for each class [MPa]
    count           : cycles in each class
    classing_error  : estimated relative error of the damage when each class stands at its middle [-]
    """

    range_edges_mpa: FloatArray
    range_mpa: FloatArray
    count: FloatArray
    classing_error: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RangeMeanMatrix(Outcome):
    """Counts by class of range (rows) and of mean (columns); edges of both [MPa]."""

    range_edges_mpa: FloatArray
    mean_edges_mpa: FloatArray
    count: FloatArray


def equal_edges(low_mpa: float, high_mpa: float, classes: int) -> FloatArray:
    """Edges of classes of equal width [MPa]."""
    if classes < 1:
        raise InputError("classes must be at least 1", "classes")
    return np.linspace(low_mpa, high_mpa, classes + 1)


def round_edges(largest_range_mpa: float, classes: int) -> FloatArray:
    """Edges of classes from 0 as a person would choose them [MPa]: 1, 2 or 5 times a power of ten apart.

    largest_range_mpa : that the classes enclose, 0 or more; classes: at most so many, at least 1
    Raises      : InputError for no class
    >>> round_edges(217.0, 12).tolist()
    [0.0, 20.0, 40.0, 60.0, 80.0, 100.0, 120.0, 140.0, 160.0, 180.0, 200.0, 220.0]
    """
    if classes < 1:
        raise InputError("classes must be at least 1", "classes")
    if largest_range_mpa == 0.0:
        return np.array([0.0, 1.0])
    least = max(math.floor(math.log10(largest_range_mpa) - math.log10(classes)), _SMALLEST_EXPONENT)
    steps = (Fraction(10) ** (least + more) * digit for more in range(3) for digit in (1, 2, 5))
    step = next(step for step in steps if math.ceil(Fraction(largest_range_mpa) / step) <= classes)
    return np.array([float(step * k) for k in range(math.ceil(Fraction(largest_range_mpa) / step) + 1)])


@guarded
def range_classes(
    counted: Cycles,
    range_edges_mpa: ArrayLike,
    *,
    representative: Representative = "upper",
    slope: FirstSlope = 3.0,
) -> RangeClasses:
    """Counts by class of range, and the range that stands for each class.

    range_edges_mpa : rising edges [MPa], from 0 or above to at least the largest range
    representative  : `upper` edge (never less damage than counted) or `middle`
    slope           : of the curve, for the error estimate
    Raises          : InputError for edges that do not rise or leave a range outside
    Source          : [binning-error]
    """
    edges = _range_edges(range_edges_mpa)
    where = _classes("range_edges_mpa", counted.range_mpa, edges)
    count = _sum_classes(where, counted.count, edges.size - 1)
    middle = 0.5 * (edges[1:] + edges[:-1])
    error = classing_error(middle, count, np.diff(edges), slope)
    found = []
    if representative == "middle" and error > ERROR_TO_REPORT:
        found.append(
            caution(
                "classes-too-wide",
                f"classes at their middle change the damage by about {figure(100.0 * error)} %",
                field="classing_error",
                source="binning-error",
            )
        )
    return RangeClasses(
        range_edges_mpa=edges,
        range_mpa=edges[1:] if representative == "upper" else middle,
        count=count,
        classing_error=error,
        **evidence(counted, findings=found, sources=("binning-error",)),
    )


@guarded
def classing_error(range_mpa: ArrayLike, count: ArrayLike, width_mpa: ArrayLike, slope: FirstSlope) -> float:
    """Estimated relative error of the damage when classes stand at their middle [-], weighted by damage.

    range_mpa, width_mpa : middle and width of each class [MPa], > 0; count: cycles in each
    Source               : [binning-error] m(m-1)/24 (width/range)^2
    """
    middle, width = require.positive("range_mpa", range_mpa), require.positive("width_mpa", width_mpa)
    parts = np.asarray(count) * (middle / middle.max()) ** slope
    if not parts.any():
        return 0.0
    return float((parts * (width / middle) ** 2).sum() / parts.sum() * slope * (slope - 1.0) / 24.0)


def range_mean_matrix(counted: Cycles, range_edges_mpa: ArrayLike, mean_edges_mpa: ArrayLike) -> RangeMeanMatrix:
    """Counts by class of range and mean, edge rule as stated above.

    Raises : InputError for edges that do not rise or leave a cycle outside
    """
    ranges = _range_edges(range_edges_mpa)
    means = _edges("mean_edges_mpa", mean_edges_mpa)
    row = _classes("range_edges_mpa", counted.range_mpa, ranges)
    column = _classes("mean_edges_mpa", counted.mean_mpa, means)
    shape = ranges.size - 1, means.size - 1
    cells = _sum_classes(row * shape[1] + column, counted.count, shape[0] * shape[1])
    return RangeMeanMatrix(
        range_edges_mpa=ranges, mean_edges_mpa=means, count=cells.reshape(shape), **evidence(counted)
    )


def exceedance_curve(counted: Cycles) -> tuple[FloatArray, FloatArray]:
    """Ranges in falling order [MPa] and the number of cycles with at least that range, each range once."""
    ranges, where = np.unique(-counted.range_mpa, return_inverse=True)
    count = _sum_classes(where, counted.count, ranges.size)
    return -ranges, np.cumsum(count)


def damage_by_class(counted: Cycles, curve: Curve, range_edges_mpa: ArrayLike) -> FloatArray:
    """Share of each class of range in the damage [-], from the exact ranges; 0 when nothing does damage."""
    parts = counted.count * curve.damage_per_cycle(counted.range_mpa)
    total = parts.sum()
    return share_by_class(counted.range_mpa, parts / total if total > 0.0 else parts, range_edges_mpa)


def share_by_class(range_mpa: ArrayLike, cycle_share: ArrayLike, range_edges_mpa: ArrayLike) -> FloatArray:
    """Sum of the shares of the cycles in each class of range [-].

    range_mpa, cycle_share : range of each cycle [MPa] and its share in the damage [-], of one length
    Raises                 : InputError for edges that do not rise or leave a range outside
    """
    require.one_length(range_mpa=range_mpa, cycle_share=cycle_share)
    edges = _range_edges(range_edges_mpa)
    where = _classes("range_edges_mpa", require.finite("range_mpa", range_mpa), edges)
    return _sum_classes(where, np.asarray(cycle_share, dtype=np.float64), edges.size - 1)


def _range_edges(value: ArrayLike) -> FloatArray:
    edges = _edges("range_edges_mpa", value)
    if edges[0] < 0.0 or 0.5 * edges[1] == 0.0:
        raise InputError("range_edges_mpa must be 0 or more, and apart", "range_edges_mpa")
    return edges


def _edges(name: str, value: ArrayLike) -> FloatArray:
    edges = require.finite(name, value)
    if edges.ndim != 1 or edges.size < 2 or (np.diff(edges) <= 0.0).any():
        raise InputError(f"{name} must be at least two rising values", name)
    return edges


def _classes(name: str, values: FloatArray, edges: FloatArray) -> NDArray[np.intp]:
    if values.size and (values.min() < edges[0] or values.max() > edges[-1]):
        raise InputError(f"{name} must enclose all values, {as_given(values.min())} to {as_given(values.max())}", name)
    return np.maximum(np.searchsorted(edges, values, side="left") - 1, 0)


def _sum_classes(where: NDArray[np.intp], amounts: FloatArray, size: int) -> FloatArray:
    # an empty count has no weights to take a type from
    return np.bincount(where, weights=amounts, minlength=size).astype(np.float64)
