"""Sources, findings, validation: what answers rest on and may say, and the live proof of their numbers."""

from __future__ import annotations

from functools import cache

from pydantic import Field

from fatcore import sources
from fatcore.findings import Severity, catalogue
from fatcore.verification.case import KINDS, CaseResult, run

from ..base.common import Reply, SourceItem, Strict, get


class Nothing(Strict):
    """A request without parameters."""


class SourcesAnswer(Strict):
    """Every registered publication."""

    sources: list[SourceItem]


class FindingKindItem(Strict):
    """One code that findings of any answer may have."""

    code: str
    severity: Severity
    topic: str = Field(description="lowest topic that says it")
    meaning: str = Field(description="what it means and what to do")


class FindingsAnswer(Strict):
    """Every code that a finding can have, sorted."""

    finding_kinds: list[FindingKindItem]


class ValidationItem(Strict):
    """One number against the computed one; kind says where the number comes from."""

    id: str
    kind: str
    title: str
    expected: str
    computed: float
    tolerance: float
    source: str
    where: str
    why: str
    passed: bool


class KindCount(Strict):
    """Cases of one kind."""

    kind: str
    count: int
    failed: int


class ValidationAnswer(Strict):
    """Result of all verification cases of the core, counted by kind."""

    count: int
    failed: int
    all_passed: bool
    kinds: list[KindCount]
    verification_cases: list[ValidationItem]


@get("sources", Nothing, SourcesAnswer, revision=1, summary="Publications and how far they were confirmed")
def sources_list(_: Nothing) -> Reply:
    """Lists every publication with its citation and status."""
    items = [
        SourceItem(key=s.key, citation=s.citation, status=s.status, remark=s.remark)
        for s in sources.all_sources().values()
    ]
    return Reply(answer=SourcesAnswer(sources=items))


@get("findings", Nothing, FindingsAnswer, revision=1, summary="Every code of a finding, and what to do")
def findings_list(_: Nothing) -> Reply:
    """Lists every code that an answer may say, each with its one severity."""
    items = [
        FindingKindItem(code=k.code, severity=k.severity, topic=k.topic, meaning=k.meaning)
        for k in catalogue().values()
    ]
    return Reply(answer=FindingsAnswer(finding_kinds=items))


@get("validation", Nothing, ValidationAnswer, revision=2, summary="Verification cases, run now")
def validation(_: Nothing) -> Reply:
    """Runs the verification cases: numbers read in publications, recalled from them, or derived here."""
    items = [_item(result) for result in validation_results()]
    failed = sum(not item.passed for item in items)
    answer = ValidationAnswer(
        count=len(items),
        failed=failed,
        all_passed=failed == 0,
        kinds=[_counted(kind, items) for kind in KINDS.values()],
        verification_cases=items,
    )
    return Reply(answer=answer, sources=tuple(dict.fromkeys(item.source for item in items)))


@cache
def validation_results() -> tuple[CaseResult, ...]:
    """Every verification case, computed once in this process."""
    # imported here: the cases pull in every topic, which a small command does not need
    from fatcore.verification import CASES

    return tuple(run(CASES))


def _counted(kind: str, items: list[ValidationItem]) -> KindCount:
    of_kind = [item for item in items if item.kind == kind]
    return KindCount(kind=kind, count=len(of_kind), failed=sum(not item.passed for item in of_kind))


def _item(result: CaseResult) -> ValidationItem:
    case = result.case
    return ValidationItem(
        id=case.id,
        kind=case.kind,
        title=case.title,
        expected=case.expected,
        computed=result.computed,
        tolerance=result.tolerance,
        source=case.source,
        where=case.where,
        why=case.why,
        passed=result.passed,
    )
