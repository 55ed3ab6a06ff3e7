"""A series of tests as a request: ranges as they were measured, or loads and what a unit of load makes."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Annotated, Any

from pydantic import Field

from fatcore.bounds import Positive
from fatcore.errors import InputError, at
from fatcore.figures import as_given
from fatcore.findings import Finding, caution
from fatcore.trials.sn.series import MOST_TESTS, TrialSeries, series_from_loads

from ...base.common import Reply, Strict
from ...base.derive import Derived, call, request_of
from ...base.document import Titled
from ..check.models import CheckRequest
from ..check.routes import check

Column = Annotated[list[Positive], Field(min_length=1, max_length=MOST_TESTS)]
_SAME_LOAD = 0.01  # of the load range: more is another load, or an amplitude
_OF_LOADS = ("range_per_load_mpa", "range_per_load_origin", "specimen_model")


class SpecimenModel(Strict):
    """The specimen's model under one constant cycle of a known load range: its equivalent range at the place where a
    crack starts, for a unit of load."""

    check: CheckRequest = Field(description="the model under constant loading")
    load_range: Positive = Field(description="load range that its loading means, in the unit of the tests")


@request_of(TrialSeries, omit=("range_mpa", "origin"), rows=MOST_TESTS)
class SeriesInput(Derived):
    """Tests of one kind of specimen, one entry a test: range_mpa, or load_range with what a unit of load makes."""

    range_mpa: Column | None = None
    load_range: Column | None = Field(default=None, description="load range of each test, in a unit of the user's own")
    range_per_load_mpa: Positive | None = None
    range_per_load_origin: Annotated[str, Field(min_length=3, max_length=150)] | None = None
    specimen_model: SpecimenModel | None = Field(default=None, description="or the model of the specimen")


@dataclass(frozen=True, slots=True, kw_only=True)
class SeriesMade:
    """A series; range_per_load_mpa: of its loads; model: reply of the check of its specimen, where there is one, and
    basis: of the line that governs it."""

    series: TrialSeries
    range_per_load_mpa: float | None = None
    model: Reply | None = None
    basis: str | None = None
    told: tuple[Finding, ...] = ()

    def findings(self) -> tuple[Finding, ...]:
        """What the check of the specimen says, but of its life, which nobody asks for here."""
        told = () if self.model is None else self.model.findings
        return (*self.told, *(replace(each, message=f"model of the specimen: {each.message}") for each in told))


def series_of(given: SeriesInput) -> SeriesMade:
    """The series of a request.

    Raises : InputError for ranges and loads together, and for loads without one way to a range
    """
    extra = [name for name in _OF_LOADS if getattr(given, name) is not None]
    if (given.range_mpa is None) == (given.load_range is None):
        raise InputError("give range_mpa, or load_range with what a unit of load makes", "range_mpa")
    if given.load_range is None:
        if extra:
            raise InputError(f"{extra[0]} goes with load_range", extra[0])
        return SeriesMade(series=call(TrialSeries, given, range_mpa=given.range_mpa))
    if given.specimen_model is not None:
        return _by_model(given, given.specimen_model)
    if given.range_per_load_mpa is None or given.range_per_load_origin is None:
        raise InputError(
            "load_range needs range_per_load_mpa with range_per_load_origin, or specimen_model", "range_per_load_mpa"
        )
    return _made(given, given.range_per_load_mpa, given.range_per_load_origin)


def _by_model(given: SeriesInput, model: SpecimenModel) -> SeriesMade:
    for name in ("range_per_load_mpa", "range_per_load_origin"):
        if getattr(given, name) is not None:
            raise InputError(f"{name}: the model of the specimen gives it", name)
    _guard_model(model.check)
    with at("specimen_model", "check"):
        found = check(model.check)
    answer: Any = found.answer
    range_mpa = answer.equivalent_stress_mpa
    if range_mpa <= 0.0:
        raise InputError("the model of the specimen has no stress range", "specimen_model", "check")
    place = answer.governing
    origin = f"equivalent range of {place.line}, station {place.index}, by a check of the specimen's model"
    made = _made(given, range_mpa / model.load_range, origin)
    basis = next(line.basis for line in model.check.lines if line.name == place.line)
    return replace(made, model=found, basis=basis, told=_load_range_findings(model))


def _load_range_findings(model: SpecimenModel) -> tuple[Finding, ...]:
    """Compares the load range with the loading of the model: of one load case whose unit load is labelled.

    Raises : InputError where they contradict each other, as an amplitude does
    """
    loading: Any = model.check.loading
    labels = {line.unit_load.value for line in model.check.lines if line.unit_load is not None}
    factors = list(loading.factors.values())
    if len(factors) != 1 or len(labels) != 1:
        given = as_given(model.load_range)
        text = f"the load range {given} of the model is taken on faith: one load case with unit_load tells it"
        return (caution("load-range-on-faith", text, field="specimen_model"),)
    meant = abs(factors[0].maximum - factors[0].minimum) * labels.pop()
    if not math.isclose(meant, model.load_range, rel_tol=_SAME_LOAD):
        raise InputError(
            f"the loading of the model is a load range of {as_given(meant)}, not {as_given(model.load_range)}",
            "specimen_model",
            "load_range",
        )
    return ()


def _guard_model(check_request: CheckRequest) -> None:
    """One range for one load range, as the model has it."""
    inside = ("specimen_model", "check")
    if check_request.loading.kind != "constant":
        raise InputError("the model needs constant loading: one range for one load range", *inside, "loading")
    if check_request.target.load_factor != 1.0:
        text = "a factor on loads would put the tests at ranges that they did not have"
        raise InputError(text, *inside, "target", "load_factor")
    refuse_document(check_request, *inside)


def refuse_document(part: Titled, *path: str) -> None:
    """InputError for a title block in a part: the report has one, that of the whole."""
    if part.document is not None:
        raise InputError("the report has the title block of the whole request only", *path, "document")


def _made(given: SeriesInput, factor: float, origin: str) -> SeriesMade:
    assert given.load_range is not None
    series = call(series_from_loads, given, range_per_load_mpa=factor, origin=origin)
    return SeriesMade(series=series, range_per_load_mpa=factor)
