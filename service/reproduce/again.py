"""Answers of before, calculated again."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Sequence
from typing import Any

from ..base.rules.active import active_policy
from ..base.rules.words import whole_words
from ..batch.file import Answers
from ..batch.lines import bare_words
from ..gate.accept import stored_check
from ..gate.baseline import Baseline, StoredCheck
from ..gate.gate import Answers as CheckAnswers
from ..gate.result import Answered
from ..http.batch import id_of, line_item
from .given import Asked
from .items import ItemChange, item_change
from .outputs import Changes

# of a stored line: what only its history knows, and what is compared by itself
HISTORY = {"reference_utilisation", "reference_unjudged_utilisation", "highest_utilisation"}
BESIDE = {*HISTORY, "calculation", "request_digest", "findings"}


def asked_again(asked: Asked, answers: Answers, finished: Callable[[int], None]) -> Changes:
    """What the answers of now say otherwise than those of before."""
    found = Changes()
    items = asked.items[: len(asked.answers)]
    for before, line in zip(asked.answers, answers(items, set()), strict=True):
        now = json.loads(line.content)
        edited = before.fits is False
        found.add(item_change(repr(before.said["id"]), before.said, now, asked=True, edited=edited))
        finished(1)
    bare = sum(line.fits is None for line in asked.answers)
    found.remarks += [bare_words(bare)] if bare else []
    found.unanswered = [repr(id_of(line_item(line))) for line in asked.items[len(items) :]]
    return found


def stored_again(baseline: Baseline, answers: CheckAnswers) -> Changes:
    """What checks answer now, beside what a baseline stores of them."""
    found = Changes()
    now = {each.key: each for each in answers.checks}
    for key, before in baseline.checks.items():
        answer = now.get(key)
        if isinstance(answer, Answered):
            found.add(_stored_change(key, before, stored_check(answer)))
        else:
            text = "its file is gone" if answer is None else str(answer.error)
            policy = active_policy()
            here = {} if policy is None else {"policy": whole_words(policy.record())}
            was = {"status": 200, "policy": before.rules.get("policy")}
            found.add(item_change(key, was, {"status": 422, "problem": text, **here}))
    return found


def _stored_change(key: str, before: StoredCheck, now: StoredCheck) -> ItemChange:
    lines = [_line_of(each, before.findings is not None) for each in (before, now)]
    return item_change(key, *lines)


def _line_of(check: StoredCheck, with_findings: bool) -> dict[str, Any]:
    """A stored check as the line of an answer: what is compared of it, and what it rests on."""
    lines = {name: line.model_dump(exclude=BESIDE) for name, line in check.lines.items()}
    answer = {**check.model_dump(exclude={"title", "findings", "lines"}), "lines": lines}
    findings = [*_findings(None, check.findings)] if with_findings else []
    findings += [each for name, line in check.lines.items() for each in _findings(name, line.findings) if with_findings]
    return {
        "status": 200,
        "policy": check.rules.get("policy"),
        "version": ", ".join(sorted({line.calculation for line in check.lines.values()})),
        "item_digest": ", ".join(sorted({line.request_digest for line in check.lines.values()})),
        "envelope": {"answer": answer, "findings": findings},
    }


def _findings(line: str | None, codes: Sequence[str] | None) -> Iterator[dict[str, Any]]:
    for each in codes or ():
        severity, code = each.split()
        yield {"severity": severity, "code": code, "line": line}
