"""Checks and lines that hold the same as another one, and so may stand in for it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from .baseline import StoredCheck
from .result import Answered, CaseResult, Fault, LineResult, ordered

Digests = Mapping[str, frozenset[str]]


def twins_told(
    checks: Iterable[CaseResult], answers: Iterable[Answered], stored: Mapping[str, StoredCheck]
) -> list[CaseResult]:
    """The results in which a check, or a line of it, that holds what another one holds says so.

    It is a fault where the baseline has two different ones for the names: one of them is judged no more.
    Files that are not in this run count as the baseline has them.
    """
    before = {key: _stored(check) for key, check in stored.items()}
    now = {answer.key: frozenset({answer.request_digest}) for answer in answers}
    return [_told(check, now, before) if check.key in now else check for check in checks]


def _stored(check: StoredCheck) -> frozenset[str]:
    return frozenset(line.request_digest for line in check.lines.values())


def _told(check: CaseResult, now: Digests, before: Digests) -> CaseResult:
    lines = tuple(_line_told(line, check.lines) for line in check.lines)
    twins, other = _twins(check.key, now, before)
    text = f"holds the same as {', '.join(twins)}"
    if other:
        fault = Fault("vanished", f"{text}; the baseline has different checks for these names")
        return replace(check, lines=lines, faults=ordered([*check.faults, fault]))
    return replace(check, lines=lines, notes=(*check.notes, *([text] if twins else [])))


def _line_told(line: LineResult, lines: Iterable[LineResult]) -> LineResult:
    if line.now is None:
        return line
    now = {entry.name: frozenset({entry.now.line_digest}) for entry in lines if entry.now is not None}
    before = {
        entry.name: frozenset({entry.before.line_digest}) for entry in lines if entry.before is not None
    }
    twins, other = _twins(line.name, now, before)
    if not other:  # lines that are the same are common in a design that is symmetric
        return line
    text = f"holds the same as {', '.join(twins)}; the baseline has different lines for these names"
    return replace(line, faults=ordered([*line.faults, Fault("vanished", text)]))


def _twins(name: str, now: Digests, before: Digests) -> tuple[list[str], bool]:
    """Names that hold the same now, and whether the baseline has others for this and one of them."""
    held, own = {**before, **now}, before.get(name)
    twins = sorted(other for other, digests in held.items() if other != name and digests == now[name])
    replaced = own is not None and own != now[name] and any(before.get(twin, own) != own for twin in twins)
    return twins, replaced
