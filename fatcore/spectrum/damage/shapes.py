"""Standard shapes of cumulative spectra, and the classes of crane standards."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

import numpy as np
from annotated_types import Ge, Gt, Le, doc
from numpy.typing import ArrayLike
from scipy import special

from fatcore import tables
from fatcore.bounds import LARGEST, Positive, PositiveColumn, guarded
from fatcore.figures import as_given, figure
from fatcore.findings import Finding, Limit, caution, note, outside_limits
from fatcore.outcome import Outcome, evidence
from fatcore.require import FloatArray
from fatcore.spectrum.counting.matrix import FirstSlope

SHAPE_TABLE = "spectrum/standard_shapes"
CRANE_TABLE = "spectrum/crane_classes"
_STEEP = 5.0  # steepest of the usual slopes, which ranges above the largest matter most for
_UNCONFIRMED = ("S02", "S01")  # as the remark on [en-13001] says
NumberOfCycles = Annotated[float, Gt(1.0), Le(LARGEST)]  # its logarithm divides
ShapeExponent = Annotated[float, Ge(0.1), Le(10.0)]
Ratios = Annotated[ArrayLike, Ge(0.0), Le(1.0)]
SpectrumClass = Literal["Q0", "Q1", "Q2", "Q3", "Q4", "Q5"]
CyclesClass = Literal["U0", "U1", "U2", "U3", "U4", "U5", "U6", "U7", "U8", "U9"]
EQUAL_DAMAGE = "of the curve, for steps of equal damage and the equivalent; null: upper edges"
RATIO_LIMITS = (Limit("share_beyond", None, 0.007, "standard-spectra", "share of the ranges above the largest"),)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StepSpectrum(Outcome):
    """A spectrum in steps: range of each [MPa], its own and the cumulative number of cycles.

    equivalent_ratio : see `equivalent_ratio`; None without a slope
    """

    range_mpa: FloatArray
    count: FloatArray
    cumulative_count: FloatArray
    equivalent_ratio: float | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class EquivalentRatio(Outcome):
    """Equivalent constant range over the largest range of a spectrum [-]."""

    equivalent_ratio: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CraneClass(Outcome):
    """Classes of a crane part.

    spectrum_factor : of the load spectrum class [-]; cycles: upper limit of the class of cycles
    history_parameter : spectrum factor times cycles over 2e6 [-]; history_class: the class it belongs to
    """

    spectrum_factor: float
    cycles: float
    history_parameter: float
    history_class: str


@guarded
def exceedances(range_ratio: Ratios, cycles: NumberOfCycles, shape_exponent: ShapeExponent) -> FloatArray:
    """Number of cycles, of those of the whole spectrum, whose range is at least this share of the largest.

    Returns : cycles^(1 - range_ratio^shape_exponent)
    Source  : [standard-spectra]
    """
    return np.asarray(cycles ** (1.0 - np.asarray(range_ratio, dtype=np.float64) ** shape_exponent))


@guarded
def mean_power(slope: PositiveColumn, cycles: NumberOfCycles, shape_exponent: ShapeExponent) -> FloatArray:
    """Mean of (range / largest range)^slope over the spectrum [-]; its root is the equivalent range ratio.

    Returns : Gamma(1 + m/h) / ln(cycles)^(m/h); the part above the largest range is included (below 0.7 %)
    Source  : [standard-spectra]
    """
    order = np.asarray(slope, dtype=np.float64) / shape_exponent
    return np.asarray(special.gamma(1.0 + order) / np.log(cycles) ** order)


@guarded
def equivalent_ratio(slope: FirstSlope, cycles: NumberOfCycles, shape_exponent: ShapeExponent) -> EquivalentRatio:
    """Equivalent constant range over the largest range of the spectrum.

    Returns : root of `mean_power`, computed in logarithms; `outside` where ranges above the largest, which
              the closed form includes, make up more than 0.7 % of the mean power
    Source  : [standard-spectra]
    """
    order = slope / shape_exponent
    log_power = special.gammaln(1.0 + order) - order * np.log(np.log(cycles))
    return EquivalentRatio(
        equivalent_ratio=float(np.exp(log_power / slope)),
        **evidence(findings=_beyond(slope, cycles, shape_exponent), sources=("standard-spectra",)),
    )


def _beyond(slope: float, cycles: float, shape_exponent: float) -> tuple[Finding, ...]:
    """Whether ranges above the largest do more of the damage than the spectrum may leave out."""
    share = float(special.gammaincc(1.0 + slope / shape_exponent, np.log(cycles)))
    return outside_limits(RATIO_LIMITS, share_beyond=share)


def step_amplitudes() -> FloatArray:
    """Eight steps of the block programme as shares of the largest amplitude [-]."""
    return np.array(tables.load(SHAPE_TABLE)["steps"]["amplitude"])


def published_step_counts() -> FloatArray:
    """Counts of the eight steps as published for a normal spectrum of a million cycles."""
    return np.array(tables.load(SHAPE_TABLE)["steps"]["count"])


@guarded
def step_spectrum(
    largest_range_mpa: Positive,
    cycles: NumberOfCycles,
    shape_exponent: ShapeExponent,
    slope: Annotated[FirstSlope | None, doc(EQUAL_DAMAGE)] = None,
) -> StepSpectrum:
    """The standard spectrum in eight steps that hold all of its cycles.

    A step holds the ranges from the next lower step, the last one from 0, up to its own.
    slope   : of the curve [-]: each range does the damage of its interval, the first one with the ranges
              above the largest, so that the damage is that of `equivalent_ratio`; None: the upper edge of
              each interval, too much for every curve
    Returns : outcome; the cumulative number counts from the lower edge of each step
    Source  : [standard-spectra], intervals [toeline-spectrum-steps]
    """
    edges = np.append(step_amplitudes(), 0.0)
    cumulative = exceedances(edges[1:], cycles, shape_exponent)
    levels = np.log(cycles) * edges**shape_exponent
    levels[0] = np.inf
    count = cycles * -np.exp(-levels[1:]) * np.expm1(levels[1:] - levels[:-1])
    equivalent = None if slope is None else equivalent_ratio(slope, cycles, shape_exponent)
    ratios = edges[:-1]
    if slope is not None:
        ratios = _damage_equivalent(edges, levels, count / cycles, cycles, shape_exponent, slope)
    return StepSpectrum(
        range_mpa=largest_range_mpa * ratios,
        count=count,
        cumulative_count=cumulative,
        equivalent_ratio=None if equivalent is None else equivalent.equivalent_ratio,
        **evidence(
            findings=(*_step_findings(slope, cycles, shape_exponent), *(equivalent.findings if equivalent else ())),
            sources=("standard-spectra", "toeline-spectrum-steps"),
            tables=(SHAPE_TABLE,),
        ),
    )


def _damage_equivalent(
    edges: FloatArray, levels: FloatArray, share: FloatArray, cycles: float, shape: float, slope: float
) -> FloatArray:
    """Ratio of each step of the mean power of its interval; its upper edge where digits are lost."""
    order = 1.0 + slope / shape
    upper = special.gammaincc(order, levels[1:]) - special.gammaincc(order, levels[:-1])
    lower = special.gammainc(order, levels[:-1]) - special.gammainc(order, levels[1:])
    part = np.where(levels[1:] > order, upper, lower)
    with np.errstate(divide="ignore", invalid="ignore"):
        log_mean = special.gammaln(order) - (order - 1.0) * np.log(np.log(cycles)) + np.log(part / share)
        ratios = np.exp(log_mean / slope)
    inside = (ratios >= edges[1:]) & ((ratios <= edges[:-1]) | (levels[:-1] == np.inf))
    return np.where(inside, ratios, edges[:-1])


def _step_findings(slope: float | None, cycles: float, shape_exponent: float) -> tuple[Finding, ...]:
    if slope is None:
        return _edge_findings(_beyond(_STEEP, cycles, shape_exponent))
    text = (
        f"the ranges do the damage of the spectrum on a line of slope {as_given(slope)}; on a steeper branch, and on "
        "a curve with a knee or a cut-off, they may do less: leave the slope out there, and every step "
        "stands at its upper edge"
    )
    return (caution("steps-for-one-slope", text, field="range_mpa", source="toeline-spectrum-steps"),)


def _edge_findings(beyond: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Steps at upper edges are careful only where what lies above the largest range does not matter."""
    text = "without a slope every step stands at the upper edge of its interval: more damage on every curve "
    text += "than the spectrum does up to its largest range"
    if not beyond:
        return (note("steps-at-upper-edges", text, field="range_mpa", source="toeline-spectrum-steps"),)
    text += (
        f"; but of the damage on a slope of {as_given(_STEEP)} the share {figure(beyond[0].value)} is done by ranges "
        "above it, which are left out: with a slope the first step holds them"
    )
    return (
        caution("steps-miss-largest-ranges", text, field="range_mpa", source="toeline-spectrum-steps"),
        *beyond,
    )


@guarded
def crane_class(spectrum_class: SpectrumClass, cycles_class: CyclesClass) -> CraneClass:
    """Stress history parameter and class from the classes of load spectrum and cycles.

    Source : [en-13001]
    """
    table = tables.load(CRANE_TABLE)
    factor, cycles = float(table["spectrum_factor"][spectrum_class]), float(table["cycles"][cycles_class])
    parameter = factor * cycles / float(table["reference_cycles"])
    classes = table["history_class"].items()
    fitting = next(name for name, upper in classes if parameter <= upper * (1.0 + 1e-9))  # Q5 with U9 is the last
    return CraneClass(
        spectrum_factor=factor,
        cycles=cycles,
        history_parameter=parameter,
        history_class=fitting,
        **evidence(findings=_class_findings(fitting), sources=("en-13001",), tables=(CRANE_TABLE,)),
    )


def _class_findings(history_class: str) -> list[Finding]:
    found = [
        note(
            "class-of-slope-3",
            "the parameter holds for slope 3; the upper limit of both classes is taken",
            field="history_parameter",
            source="en-13001",
        )
    ]
    if history_class in _UNCONFIRMED:
        found.append(
            caution(
                "class-unconfirmed",
                f"the limit of {history_class} follows the doubling of the other classes and is unconfirmed: "
                "S0 is the safe one",
                field="history_class",
                source="en-13001",
            )
        )
    return found
