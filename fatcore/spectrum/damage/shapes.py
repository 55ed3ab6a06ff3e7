"""Standard shapes of cumulative spectra, and the classes of crane standards."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from fatcore import require, tables
from fatcore.errors import UnknownError
from fatcore.findings import Finding, Limit, caution, note, outside_limits
from fatcore.outcome import Outcome, evidence
from fatcore.require import FloatArray

SHAPE_TABLE = "spectrum/standard_shapes"
CRANE_TABLE = "spectrum/crane_classes"
_STEEP = 5.0  # steepest of the usual slopes, which ranges above the largest matter most for
_UNCONFIRMED = ("S02", "S01")  # as the remark on [en-13001] says
RATIO_LIMITS = (Limit("share_beyond", None, 0.007, "standard-spectra", "share of the ranges above the largest"),)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StepSpectrum(Outcome):
    """A spectrum in steps: range of each [MPa], its own and the cumulative number of cycles."""

    range_mpa: FloatArray
    count: FloatArray
    cumulative_count: FloatArray


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


def exceedances(range_ratio: ArrayLike, cycles: float, shape_exponent: float) -> FloatArray:
    """Number of cycles whose range is at least this share of the largest.

    range_ratio : range over largest range [-], 0 to 1
    Returns     : cycles^(1 - range_ratio^shape_exponent)
    cycles : of the whole spectrum, > 1; shape_exponent: 1 straight line over log cycles, 2 normal
    Source : [standard-spectra]
    """
    share = require.within("range_ratio", range_ratio, 0.0, 1.0)
    total = float(require.within("cycles", cycles, 1.0, 1e30, open_low=True))
    return np.asarray(total ** (1.0 - share ** float(require.positive("shape_exponent", shape_exponent))))


def mean_power(slope: ArrayLike, cycles: float, shape_exponent: float) -> FloatArray:
    """Mean of (range / largest range)^slope over the spectrum [-]; its root is the equivalent range ratio.

    Returns : Gamma(1 + m/h) / ln(cycles)^(m/h); the part above the largest range is included (below 0.7 %)
    Source  : [standard-spectra]
    """
    m = require.positive("slope", slope)
    total = float(require.within("cycles", cycles, 1.0, 1e30, open_low=True))
    order = m / float(require.positive("shape_exponent", shape_exponent))
    return np.asarray(special.gamma(1.0 + order) / np.log(total) ** order)


def equivalent_ratio(slope: float, cycles: float, shape_exponent: float) -> EquivalentRatio:
    """Equivalent constant range over the largest range of the spectrum.

    slope   : of the curve [-]; cycles, shape_exponent: see `exceedances`
    Returns : root of `mean_power`, computed in logarithms; `outside` where ranges above the largest, which
              the closed form includes, make up more than 0.7 % of the mean power
    Source  : [standard-spectra]
    """
    m = float(require.positive("slope", slope))
    order = m / float(require.positive("shape_exponent", shape_exponent))
    reach = np.log(float(require.within("cycles", cycles, 1.0, 1e30, open_low=True)))
    log_power = special.gammaln(1.0 + order) - order * np.log(reach)
    return EquivalentRatio(
        equivalent_ratio=float(np.exp(log_power / m)),
        **evidence(findings=_beyond(m, cycles, shape_exponent), sources=("standard-spectra",)),
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


def step_spectrum(
    largest_range_mpa: float, cycles: float, shape_exponent: float, slope: float | None = None
) -> StepSpectrum:
    """The standard spectrum in eight steps that hold all of its cycles.

    A step holds the ranges from the next lower step, the last one from 0, up to its own.
    largest_range_mpa : [MPa]; cycles: cumulative number at range 0, > 1; shape_exponent: see `exceedances`
    slope             : of the curve [-]: each range does the damage of its interval, the first one with the
                        ranges above the largest, so that the damage is that of `equivalent_ratio`; None: the
                        upper edge of each interval, too much for every curve
    Returns           : outcome; the cumulative number counts from the lower edge of each step
    Source            : [standard-spectra], intervals [toeline-spectrum-steps]
    """
    largest = float(require.positive("largest_range_mpa", largest_range_mpa))
    edges = np.append(step_amplitudes(), 0.0)
    cumulative = exceedances(edges[1:], cycles, shape_exponent)
    levels = np.log(cycles) * edges**shape_exponent
    levels[0] = np.inf
    count = cycles * -np.exp(-levels[1:]) * np.expm1(levels[1:] - levels[:-1])
    if slope is None:
        ratios = edges[:-1]
    else:
        ratios = _damage_equivalent(edges, levels, count / cycles, cycles, shape_exponent, slope)
    return StepSpectrum(
        range_mpa=largest * ratios,
        count=count,
        cumulative_count=cumulative,
        **evidence(
            findings=_step_findings(slope, cycles, shape_exponent),
            sources=("standard-spectra", "toeline-spectrum-steps"),
            tables=(SHAPE_TABLE,),
        ),
    )


def _damage_equivalent(
    edges: FloatArray, levels: FloatArray, share: FloatArray, cycles: float, shape: float, slope: float
) -> FloatArray:
    """Ratio of each step of the mean power of its interval; its upper edge where digits are lost."""
    m = float(require.positive("slope", slope))
    order = 1.0 + m / shape
    upper = special.gammaincc(order, levels[1:]) - special.gammaincc(order, levels[:-1])
    lower = special.gammainc(order, levels[:-1]) - special.gammainc(order, levels[1:])
    part = np.where(levels[1:] > order, upper, lower)
    with np.errstate(divide="ignore", invalid="ignore"):
        log_mean = special.gammaln(order) - (order - 1.0) * np.log(np.log(cycles)) + np.log(part / share)
        ratios = np.exp(log_mean / m)
    inside = (ratios >= edges[1:]) & ((ratios <= edges[:-1]) | (levels[:-1] == np.inf))
    return np.where(inside, ratios, edges[:-1])


def _step_findings(slope: float | None, cycles: float, shape_exponent: float) -> tuple[Finding, ...]:
    if slope is None:
        return _edge_findings(_beyond(_STEEP, cycles, shape_exponent))
    text = (
        f"the ranges do the damage of the spectrum on a line of slope {slope:g}; on a steeper branch, and on "
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
        f"; but of the damage on a slope of {_STEEP:g} the share {beyond[0].value:.3g} is done by ranges "
        "above it, which are left out: with a slope the first step holds them"
    )
    return (
        caution("steps-miss-largest-ranges", text, field="range_mpa", source="toeline-spectrum-steps"),
        *beyond,
    )


def crane_class(spectrum_class: str, cycles_class: str) -> CraneClass:
    """Stress history parameter and class from the classes of load spectrum and cycles.

    spectrum_class : Q0 to Q5; cycles_class: U0 to U9
    Raises         : UnknownError for another class
    Source         : [en-13001]
    """
    table = tables.load(CRANE_TABLE)
    factor = _entry(table, "spectrum_factor", spectrum_class, "spectrum_class")
    cycles = _entry(table, "cycles", cycles_class, "cycles_class")
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


def _entry(table: dict[str, Any], kind: str, name: str, field: str) -> float:
    if name not in table[kind]:
        raise UnknownError(kind.replace("_", " "), name, table[kind], field)
    return float(table[kind][name])
