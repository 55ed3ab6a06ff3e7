"""Sources and validation: what the answers rest on, and the live proof that the core reproduces it."""

from __future__ import annotations

from functools import cache

from fatcore import sources
from fatcore.verification import case as published
from fatcore.verification.case import CaseResult

from ..base.common import Reply, SourceItem, Strict, get


class Nothing(Strict):
    """A request without parameters."""


class SourcesAnswer(Strict):
    """Every registered publication."""

    sources: list[SourceItem]


class ValidationItem(Strict):
    """One published number against the computed one."""

    id: str
    title: str
    expected: str
    computed: float
    tolerance: float
    source: str
    where: str
    status: str
    why: str
    passed: bool


class ValidationAnswer(Strict):
    """Result of all published checks of the core."""

    count: int
    failed: int
    all_passed: bool
    checks: list[ValidationItem]


@get("sources", Nothing, SourcesAnswer, revision=1, summary="Publications and how far they were confirmed")
def sources_list(_: Nothing) -> Reply:
    """Lists every publication with its citation and status."""
    items = [
        SourceItem(key=s.key, citation=s.citation, status=s.status, remark=s.remark)
        for s in sources.all_sources().values()
    ]
    return Reply(answer=SourcesAnswer(sources=items))


@get("validation", Nothing, ValidationAnswer, revision=1, summary="Published checks, run now")
def validation(_: Nothing) -> Reply:
    """Runs the published checks of the core and returns expected, computed, tolerance, source, status."""
    items = [_item(result) for result in validation_results()]
    failed = sum(not item.passed for item in items)
    answer = ValidationAnswer(count=len(items), failed=failed, all_passed=failed == 0, checks=items)
    return Reply(answer=answer, sources=tuple(dict.fromkeys(item.source for item in items)))


@cache
def validation_results() -> tuple[CaseResult, ...]:
    """Every published check, computed once in this process."""
    # imported here: the cases pull in every topic, which a small command does not need
    from fatcore.verification import CASES

    return tuple(published.run(CASES))


def _item(result: CaseResult) -> ValidationItem:
    check = result.check
    return ValidationItem(
        id=check.id,
        title=check.title,
        expected=check.expected,
        computed=result.computed,
        tolerance=result.tolerance,
        source=check.source,
        where=check.where,
        status=check.status,
        why=check.why,
        passed=result.passed,
    )
