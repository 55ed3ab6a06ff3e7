"""Survival probability: moving a curve by its scatter, scatter indices, what differing definitions assume."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated

from annotated_types import Ge, Gt, Le, Lt, doc
from scipy.special import nctdtrit

from fatcore.bounds import NonNegative, Probability, Slope, guarded
from fatcore.curves.curve import Curve
from fatcore.curves.deviations import DEFAULT_SD_LOG10_CYCLES, TWO_SIGMA, deviations, names_two_deviations, power_of_ten
from fatcore.errors import NotCoveredError
from fatcore.figures import against, as_given, figure
from fatcore.findings import Finding, caution, note
from fatcore.outcome import Outcome, evidence

# how the tables begin the definition of a line that rests on a tolerance limit
_CONFIDENCE_DEFINITION = "95 % survival at 75 % confidence"
# of the line of a curve of the user's own whose tests are counted, as in _CONFIDENCE_DEFINITION
_CONFIDENCE = 0.75
# standard deviation of log10 life below which that of a user-defined curve is doubted [own choice]
LEAST_SCATTER = 0.1

ScatterIndex = Annotated[float, Ge(1.0), Le(1e6)]
UpperSurvival = Annotated[float, Gt(0.5), Lt(1.0)]
MovedTo = Annotated[Probability | None, doc("move the curve to this survival probability; null leaves it")]
SampleSize = Annotated[
    Annotated[int, Ge(2), Le(100_000)] | None,
    doc("tests behind a curve of your own: its survival then holds with 75 % confidence"),
]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CurveAtSurvival(Outcome):
    """A curve moved to another survival probability.

    strength_factor         : factor on every range of the curve
    sd_log10_cycles         : scatter that was used
    deviations_from, deviations_to : standard deviations below the mean line before and after
    """

    curve: Curve
    strength_factor: float
    sd_log10_cycles: float
    deviations_from: float
    deviations_to: float


@guarded
def scatter_of_index(scatter_index: ScatterIndex, slope: Slope, *, upper_survival: UpperSurvival = 0.977) -> float:
    """Standard deviation of log10 life from a scatter index of strength [-].

    scatter_index  : ratio of the strength at survival 1 - upper_survival to that at upper_survival; between lines as
                     `deviations` reads them, the index that trials call range_two_deviations for 0.977
    slope          : of the same line (the energy slope for an index of energy density)
    upper_survival : 0.977 (two deviations) or 0.9 are usual
    Source         : [normal-quantile]

    >>> round(scatter_of_index(1.5, 3.0, upper_survival=0.9), 4)
    0.2061
    """
    return slope * math.log10(scatter_index) / (2.0 * deviations(upper_survival))


@guarded
def index_of_scatter(sd_log10_cycles: NonNegative, slope: Slope, *, upper_survival: UpperSurvival = 0.977) -> float:
    """Scatter index of strength from the standard deviation of log10 life; inverse of `scatter_of_index`."""
    return power_of_ten("sd_log10_cycles", 2.0 * deviations(upper_survival) * sd_log10_cycles / slope)


@guarded
def convert_index(scatter_index: ScatterIndex, *, from_survival: UpperSurvival, to_survival: UpperSurvival) -> float:
    """A scatter index stated between other survival probabilities, on the same normal distribution [-].

    >>> round(convert_index(1.5, from_survival=0.9, to_survival=0.977), 3)
    1.883
    """
    scatter = scatter_of_index(scatter_index, 1.0, upper_survival=from_survival)
    return index_of_scatter(scatter, 1.0, upper_survival=to_survival)


@guarded
def tolerance_deviations(
    sample_size: Annotated[int, Ge(2)], survival_probability: Probability, confidence: Probability
) -> float:
    """Sample standard deviations below the sample mean that keep a survival probability with a confidence.

    survival_probability : to which a curve is moved, with the names of lines as `deviations` reads them; exact shares
                           of tests are evaluated by the factors of trials
    Source : [tolerance-factor]

    >>> round(tolerance_deviations(10, 0.95, 0.75), 3)
    2.104
    """
    root = math.sqrt(sample_size)
    return float(nctdtrit(sample_size - 1, deviations(survival_probability) * root, confidence)) / root


@guarded
def at_survival(curve: Curve, survival_probability: Probability, *, sample_size: SampleSize = None) -> CurveAtSurvival:
    """The curve moved to another survival probability, with findings that state every assumption.

    sample_size : number of tests behind a curve of the user's own: the line asked for lies below the mean by
                  the tolerance factor of 75 % confidence, never nearer than the deviation of its probability.
                  No document of the catalogue states its tests: refused there
    Raises      : NotCoveredError when the curve states no survival probability
    Source      : [normal-quantile], [tolerance-factor], [scatter-practice]
    """
    if curve.survival_probability is None:
        raise NotCoveredError(
            f"curve {curve.id!r} states no survival probability to start from", "survival_probability"
        )
    start = curve.deviations(curve.survival_probability)
    goal = _goal(curve, survival_probability, sample_size)
    moved = curve.at_survival(survival_probability, deviations_to=goal)
    found = [] if moved is curve else _findings(curve, survival_probability, start, goal, sample_size)
    return CurveAtSurvival(
        curve=moved,
        strength_factor=power_of_ten("sd_log10_cycles", (start - goal) * curve.scatter() / curve.slopes[0]),
        sd_log10_cycles=curve.scatter(),
        deviations_from=start,
        deviations_to=goal,
        **evidence(
            findings=found,
            sources=[curve.source, *(() if moved is curve else _sources(curve, sample_size))],
            tables=[curve.table] if curve.table else [],
        ),
    )


def _goal(curve: Curve, survival_probability: float, sample_size: int | None) -> float:
    plain = curve.deviations(survival_probability)
    if sample_size is None:
        return plain
    if curve.table is not None:
        raise NotCoveredError(
            f"the document of {curve.id!r} does not state the tests behind it: a sample size is for a curve "
            "of your own",
            "sample_size",
        )
    if curve.tested is not None and curve.tested.distribution != "normal":
        text = f"{curve.id!r} scatters by extreme values, a sample size is for normal scatter: fit it at that survival"
        raise NotCoveredError(text, "sample_size")
    return max(plain, tolerance_deviations(sample_size, survival_probability, _CONFIDENCE))


def _findings(
    curve: Curve, survival_probability: float, start: float, goal: float, sample_size: int | None
) -> list[Finding]:
    found = [_move(curve, survival_probability, start, goal, sample_size)]
    if curve.sd_log10_cycles is None:
        found.append(_untabulated(curve))
    if curve.tested is not None and curve.tested.confidence is not None:
        text = (
            f"{curve.id} holds its survival with {as_given(100.0 * curve.tested.confidence)} % confidence by its"
            f" {curve.tested.tests} tests; moved, it has none: fit it again at the survival that is needed"
        )
        found.append(caution("confidence-lost", text, field="survival_probability"))
    if curve.table is None and curve.sd_log10_cycles is not None and curve.sd_log10_cycles < LEAST_SCATTER:
        text = f"{curve.id}: a scatter of {as_given(curve.sd_log10_cycles)} of log10 life is less than welds show"
        found.append(caution("scatter-small", text, field="sd_log10_cycles", source="scatter-practice"))
    if curve.survival_definition.startswith(_CONFIDENCE_DEFINITION):
        found.append(_definition(curve, start))
    return found


def _move(curve: Curve, survival_probability: float, start: float, goal: float, sample_size: int | None) -> Finding:
    tests = "" if sample_size is None else f" with 75 % confidence by {sample_size} tests"
    if sample_size is not None and names_two_deviations(survival_probability):
        tests += ", the share read as two deviations"
    return note(
        "survival-moved",
        f"{curve.id} moved from {_away(start)} to {_away(goal)} standard deviations below its mean line (survival "
        f"{as_given(survival_probability)}{tests}) with {figure(curve.scatter())} of log10 life; knees keep "
        "their lives, "
        "so every range moves by one factor",
        field="survival_probability",
        source="normal-quantile",
    )


def _away(distance: float) -> str:
    """Deviations, which tell the share 0.977 of tests from the line of that name."""
    return against(distance, TWO_SIGMA)


def _untabulated(curve: Curve) -> Finding:
    return caution(
        "scatter-not-tabulated",
        f"the source of {curve.id} tabulates no scatter: {as_given(DEFAULT_SD_LOG10_CYCLES)} of log10 life was taken",
        field="sd_log10_cycles",
        source="scatter-practice",
    )


def _definition(curve: Curve, start: float) -> Finding:
    return caution(
        "survival-definition",
        f"{curve.id} is defined as {curve.survival_definition}; a line with a confidence and a line of fixed "
        f"deviations agree for one sample size only. It was placed {_away(start)} deviations below the mean, "
        "by its stated probability",
        field="survival_probability",
        source="normal-quantile",
    )


def _sources(curve: Curve, sample_size: int | None) -> list[str]:
    practice = ["scatter-practice"] if curve.sd_log10_cycles is None else []
    tolerance = ["tolerance-factor"] if sample_size is not None else []
    return ["normal-quantile", *practice, *tolerance]
