"""POST /v1/trials/sn-line: the line through a series of fatigue tests, compared and put beside a design curve."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Annotated, Any

import numpy as np
from pydantic import Field

from fatcore.curves.curve import Curve
from fatcore.curves.tested import LivesTested
from fatcore.curves.user_defined import user_defined_curve
from fatcore.errors import FatcoreError, InputError, at
from fatcore.figures import figure
from fatcore.findings import Finding, caution
from fatcore.outcome import Evidence, Outcome, evidence
from fatcore.trials.position.explanation import SharingExplanation, explain_by_sharing
from fatcore.trials.position.kind import basis_findings, stress_kind_findings
from fatcore.trials.position.position import PositionOutcome, position_of
from fatcore.trials.sn.characteristic import CharacteristicLine
from fatcore.trials.sn.compare import DifferenceTest, SeriesComparison, compare_series
from fatcore.trials.sn.line import Scatter, SnOutcome, evaluate_series
from fatcore.trials.sn.linearity import LinearityTest
from fatcore.trials.sn.series import MOST_TESTS, TrialSeries

from ...base.common import Reply, Strict, post, reply
from ...base.derive import Derived, answer_of, call, request_of
from ...base.document import Titled
from ..check.models import CheckAnswer
from ..costs import sn_cost
from ..cracks.routes import DescribedGrowthAnswer, GrowthRequest, grow
from ..curves.models import CurveRef, curve_from
from .series import SeriesInput, SeriesMade, refuse_document, series_of
from .tables import csv_body, series_table


@request_of(evaluate_series, omit=("series",), rows=MOST_TESTS)
class SnRequest(Derived, Titled):
    """A series of fatigue tests and what is asked of it; the rule of the design curve has no default."""

    series: SeriesInput
    stress_kind: Annotated[str, Field(min_length=3, max_length=100)] = Field(
        description="the stress that the ranges are of: peak-stress, nominal, structural, effective-notch, or words"
    )
    compare_with: SeriesInput | None = Field(default=None, description="another series, whose difference is tested")
    curve: CurveRef | None = Field(default=None, description="design curve beside which the tests are put")
    growth: GrowthRequest | None = Field(
        default=None, description="a crack of the specimen whose load is shared: how far that explains the position"
    )


@answer_of(LinearityTest)
class LinearityAnswer(Strict):
    """Whether levels with replicates leave a straight line more than they scatter."""


@answer_of(Scatter)
class ScatterIndices(Strict):
    """Life or range at low survival over that at high survival."""


@answer_of(CharacteristicLine)
class CharacteristicAnswer(Strict):
    """A line parallel to the fitted one, by the rule of one source."""


@answer_of(DifferenceTest)
class DifferenceAnswer(Strict):
    """A statistic and the probability of one as large by chance."""


@answer_of(SeriesComparison)
class ComparisonAnswer(Strict):
    """Two series beside each other."""


@answer_of(SharingExplanation)
class ExplanationAnswer(Strict):
    """Life of the tests over the mean line of the curve, and what load sharing makes of it."""


@answer_of(PositionOutcome)
class PositionAnswer(Strict):
    """Tests beside a design curve, one entry a test."""


_OTHER_FORMS = ("range_mpa", "life_cycles", "knee_cycles", "step_at_knee", "cut_off_cycles")
_OTHER_SCATTER = ("scatter_index", "scatter_index_survival")


@answer_of(LivesTested)
class LivesTestedAnswer(Strict):
    """The tests behind the curve."""


@answer_of(user_defined_curve, omit=(*_OTHER_FORMS, *_OTHER_SCATTER))
class FittedCurve(Strict):
    """The characteristic line in the form in which every request takes a curve of the user's own."""


@answer_of(SnOutcome, omit=("design_curve",))
class SnAnswer(Strict):
    """The line of a series with its bounds, scatter and characteristic lines."""

    design_curve: FittedCurve = Field(description="the line of the rule, as a curve for every other request")
    comparison: ComparisonAnswer | None = Field(description="of the second series, where one was given")
    position: PositionAnswer | None = Field(description="beside the design curve, where one was given")
    range_per_load_mpa: float | None = Field(description="stress range of a unit of load, where loads were given")
    specimen_model: CheckAnswer | None = Field(description="check of the specimen's model, where one was given")
    growth: DescribedGrowthAnswer | None = Field(description="growth of the specimen's crack, where one was given")
    explanation: ExplanationAnswer | None = Field(description="of the position by load sharing")


@post(
    "trials/sn-line",
    SnRequest,
    SnAnswer,
    revision=3,
    summary="Line through fatigue tests",
    cost=sn_cost,
    bodies={"text/csv": csv_body(series_table)},
)
def sn_line(request: SnRequest) -> Reply:
    """Line, bounds, scatter and characteristic lines of a series of fatigue tests, with run-outs by maximum
    likelihood; a second series beside it, and a design curve under it."""
    with at("series"):
        made = series_of(request.series)
    series = made.series
    kind = _of_kind(request, made)
    found = call(evaluate_series, request, series=series)
    comparison, told = _compared(request, series)
    position, growth, explanation = _placed(request, series)
    parts = [part for part in (found, comparison, position, explanation) if part is not None]
    replies = [part for part in (made.model, growth) if part is not None]
    return reply(
        SnAnswer,
        replace(found, **_evidence(parts, replies, [*made.findings(), *kind, *told, *_of_growth(growth)])),
        design_curve=_as_request(found.design_curve),
        comparison=comparison,
        position=position,
        range_per_load_mpa=made.range_per_load_mpa,
        specimen_model=None if made.model is None else made.model.answer,
        growth=None if growth is None else growth.answer,
        explanation=explanation,
    )


def _evidence(parts: Sequence[Outcome], replies: Sequence[Reply], told: Sequence[Finding]) -> Evidence:
    return evidence(
        *parts,
        findings=told,
        sources=[key for each in replies for key in each.sources],
        tables=[key for each in replies for key in each.tables],
    )


def _compared(request: SnRequest, series: TrialSeries) -> tuple[SeriesComparison | None, tuple[Finding, ...]]:
    if request.compare_with is None:
        return None, ()
    with at("compare_with"):
        other = series_of(request.compare_with)
    try:
        found = call(compare_series, request, first=series, second=other.series)
    except FatcoreError as error:
        names = {"first": "series", "second": "compare_with"}
        error.path = tuple(names.get(str(step), step) for step in error.path)
        raise
    return found, (*other.findings(), *_of_kind(request, other))


def _of_kind(request: SnRequest, made: SeriesMade) -> tuple[Finding, ...]:
    """Whether the stress that is stated is that of the model of the specimen."""
    return () if made.basis is None else basis_findings(request.stress_kind, made.basis)


def _placed(
    request: SnRequest, series: TrialSeries
) -> tuple[PositionOutcome | None, Reply | None, SharingExplanation | None]:
    """The tests beside the curve, and how far the growth of the specimen's crack explains where they lie."""
    if request.curve is None:
        if request.growth is not None:
            raise InputError("growth explains where tests lie beside a curve: give one", "curve")
        return None, None, None
    with at("curve"):
        curve = curve_from(request.curve)
        position = position_of(series, curve)
        position = replace(position, findings=(*position.findings, *stress_kind_findings(request.stress_kind, curve)))
    if request.growth is None:
        return position, None, None
    refuse_document(request.growth, "growth")
    with at("growth"):
        growth = grow(request.growth)
    answer: Any = growth.answer
    if request.growth.sharing is None:
        raise InputError("a growth that explains anything shares its load: give sharing", "growth", "sharing")
    if answer.life_extension_factor is None:
        text = "the crack comes to rest, with sharing or without: no factor of its life follows"
        raise InputError(text, "growth", "loading")
    explained = explain_by_sharing(position, curve, series.failed, answer.life_extension_factor)
    return position, growth, replace(explained, findings=(*explained.findings, _of_loads(request.growth, series)))


def _of_loads(growth: GrowthRequest, series: TrialSeries) -> Finding:
    """That nothing ties the loads of the crack to those of the tests."""
    loading: Any = growth.loading.to_core()
    factor = float(np.max(loading.maximum - loading.minimum))
    ranges = np.asarray(series.range_mpa)[series.failed]
    text = (
        f"the crack grows under load factors whose largest range is {figure(factor)}, the tests failed at"
        f" {figure(ranges.min())} to {figure(ranges.max())} MPa: that one is the load of the other is not compared, and"
        " the factor of its life may depend on it"
    )
    return caution("growth-loads-not-compared", text, field="growth")


def _of_growth(growth: Reply | None) -> list[Finding]:
    told = () if growth is None else growth.findings
    return [replace(each, message=f"crack of the specimen: {each.message}") for each in told]


def _as_request(curve: Curve) -> dict[str, Any]:
    """The curve as `user_defined_curve` takes it."""
    assert curve.survival_probability is not None
    return {
        "name": curve.id,
        "origin": curve.title,
        "stress_kind": curve.stress_kind,
        "log10_constants": list(curve.log10_constants),
        "slopes": list(curve.slopes),
        "survival_probability": curve.survival_probability,
        "sd_log10_cycles": curve.sd_log10_cycles,
        "tested": curve.tested,
    }
