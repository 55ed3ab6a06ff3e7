"""The envelope of an answer: findings and the record around it, and how a request becomes one."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from pydantic import Field, ValidationError, create_model
from pydantic_core import to_json

from fatcore import __version__, sources, tables
from fatcore.errors import FatcoreError
from fatcore.findings import Finding, merge
from fatcore.outcome import names_of
from fatcore.sources import Source

from ..units.kinds import Unit
from . import problems
from .common import Calculation, Reply, Strict
from .derive import answer_of
from .document import document_findings
from .extremes import overflow_problem
from .forms.other_units import as_given, findings_of, request_in_core_units, shown_answer, stated_in
from .problems import Problem
from .refused.plain_numbers import guard_plain_numbers
from .rules.active import active_policy

_LIMITS = ("value", "low", "high")
CAUTION = (
    "Fatigue assessment needs engineering judgement: check inputs, findings and validity limits, follow the "
    "codes that apply where the part is used, and have the result approved by a qualified engineer."
)


@answer_of(Finding)
class FindingItem(Strict):
    """One remark on the answer."""


@answer_of(sources.Source)
class SourceItem(Strict):
    """A publication that the answer rests on, and how far its figures were confirmed."""


class PolicyItem(Strict):
    """The rules of a company that the answer obeys; digest: of their content."""

    name: str
    version: str
    digest: str = Field(description="SHA-256 of what the policy says")


class Record(Strict):
    """What makes the answer reproducible; policy is null where no rules of a company hold."""

    calculation: str
    revision: int
    version: str
    input_digest: str
    policy: PolicyItem | None = Field(description="rules of the company that the answer obeys, null without any")
    tables: dict[str, str]
    sources: list[SourceItem]


def envelope_model(calculation: Calculation) -> type[Strict]:
    """Model of the whole answer of a calculation."""
    return create_model(
        f"{calculation.answer.__name__}Envelope",
        __base__=Strict,
        __doc__="The answer with its findings and record.",
        answer=(calculation.answer, ...),
        findings=(list[FindingItem], ...),
        record=(Record, ...),
        caution=(str, ...),
    )


@dataclass(frozen=True, slots=True)
class Evaluation:
    """A request and its answer, with what stands beside the answer in the envelope.

    wish : units of the answer that the request asks for, by quantity; shown: the answer in them
    """

    request: Strict
    answer: Strict
    beside: Mapping[str, Any]
    wish: Mapping[str, Unit] = field(default_factory=dict)
    shown: Mapping[str, Any] | None = None

    def envelope(self) -> dict[str, Any]:
        """The whole answer as plain data, in MPa and mm."""
        return {"answer": self.answer.model_dump(mode="json"), **self.beside}

    def answered(self) -> dict[str, Any]:
        """The whole answer as plain data, equal to what a reader of its bytes gets."""
        return self.envelope() if self.shown is None else {"answer": self.shown, **self.beside}

    def content(self) -> bytes:
        """The whole answer as the bytes that the service sends; ValueError for a finding with a number that is none."""
        limits = (found[name] for found in self.beside["findings"] for name in _LIMITS)
        if not all(limit is None or math.isfinite(limit) for limit in limits):
            raise ValueError("a finding has a number that is not finite")
        if self.shown is not None:
            return to_json(self.answered())
        return b'{"answer":' + self.answer.model_dump_json().encode() + b"," + to_json(self.beside)[1:]


def evaluate(calculation: Calculation, data: Any, *, strings: bool = False) -> Evaluation:
    """Validates the data and calculates; raises what `validated` and `calculated` raise."""
    return calculated(calculation, validated(calculation, data, strings=strings))


def validated(calculation: Calculation, data: Any, *, strings: bool = False, elsewhere: Collection[str] = ()) -> Strict:
    """The request that the data are.

    strings   : the data are texts of a URL, numbers among them
    elsewhere : inputs that stand in its path, so that they are not offered for its query
    Raises    : Problem 422 with pointers for every input that is refused
    """
    try:
        model = calculation.request
        if strings:
            guard_plain_numbers(model, data)
        return model.model_validate_strings(data) if strings else model.model_validate(data)
    except ValidationError as error:  # perhaps for keys of other units
        found = request_in_core_units(model, data, strings=strings)
        if found is not None:
            return found
        raise problems.from_validation(error, data, model, elsewhere) from error
    except RecursionError as error:
        raise Problem(422, "the request is nested too deeply") from error


def calculated(calculation: Calculation, request: Strict) -> Evaluation:
    """The answer to a request that has been validated.

    Raises : Problem 422 for every input that is refused, also by the policy, and where numbers overflow
    """
    stated = stated_in(request)
    if stated is None:
        return _calculated(calculation, request)
    try:
        found = _calculated(calculation, request, findings_of(stated))
        shown = shown_answer(calculation.answer, found.answer, stated)
    except Problem as problem:
        raise as_given(problem, stated) from problem
    return replace(found, wish=stated.wish, shown=shown)


def _calculated(calculation: Calculation, request: Strict, said: Sequence[Finding] = ()) -> Evaluation:
    request, told = prepared(request)
    try:
        with np.errstate(over="raise"):  # what may overflow harmlessly says so where it does
            result = calculation.run(request)
    except FatcoreError as error:
        raise problems.from_core(error) from error
    except (ArithmeticError, ValidationError) as error:
        raise overflow_problem(error, request.model_dump()) from error
    beside = {
        "findings": [
            _fields_of(finding) for finding in merge([*said, *told, *result.findings, *document_findings(request)])
        ],
        "record": _record(calculation, request, result),
        "caution": CAUTION,
    }
    return Evaluation(request, result.answer, beside)


def prepared(request: Strict) -> tuple[Strict, list[Finding]]:
    """A validated request with what the policy puts into it, which is what is calculated, and the findings that say so.

    Raises : Problem 422 for what a rule of the policy refuses
    """
    policy = active_policy()
    if policy is None:
        return request, []
    try:
        return policy.prepare(policy, request)
    except FatcoreError as error:
        raise problems.from_core(error) from error


def _fields_of(item: Finding | Source) -> dict[str, Any]:
    """Its fields by name; all are numbers or texts, so that nothing is copied in depth."""
    kind: Any = type(item)
    return {name: getattr(item, name) for name in names_of(kind)}


def canonical(request: Strict) -> bytes:
    """The request with its defaults as JSON without blanks, names in alphabetical order: what its digest is of."""
    return canonical_json(request.model_dump(mode="json"))


def canonical_json(data: Any) -> bytes:
    """Plain data as JSON without blanks, names in alphabetical order."""
    return to_json(_by_name(data))


def _by_name(data: Any) -> Any:
    if type(data) is dict:
        return {name: _by_name(data[name]) for name in sorted(data)}
    if type(data) is list and data and type(data[0]) in (dict, list):
        row = data[0]  # tables of numbers hold no names
        plain = type(row) is list and row and type(row[0]) in (float, int)
        return data if plain else [_by_name(each) for each in data]
    return data


def _record(calculation: Calculation, request: Strict, result: Reply) -> dict[str, Any]:
    """The fields of `Record`."""
    keys = dict.fromkeys([*result.sources, *(f.source for f in result.findings if f.source)])
    listed = [sources.source(key) for key in keys]
    policy = active_policy()
    return {
        "calculation": calculation.name,
        "revision": calculation.revision,
        "version": __version__,
        "input_digest": "sha256:" + hashlib.sha256(canonical(request)).hexdigest(),
        "policy": None if policy is None else policy.record(),
        "tables": {name.replace("/", "_"): tables.fingerprint(name) for name in result.tables},
        "sources": [_fields_of(item) for item in listed],
    }
