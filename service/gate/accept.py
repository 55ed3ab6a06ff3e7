"""What enters a baseline: the state of a run merged into it, and changes that were accepted by name."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from ..base.problems import Problem
from .baseline import Accepted, Baseline, StoredCheck, StoredLine, key_of
from .gate import Answers
from .result import Answered, CaseResult, GateResult
from .text import place


def merged(baseline: Baseline, answers: Answers) -> Baseline:
    """The baseline with the answers in it; what the run does not hold stays, lines that are gone among it."""
    checks = dict(baseline.checks)
    for answer in answers.checks:
        if isinstance(answer, Answered):
            before = checks.get(answer.key)
            checks[answer.key] = _stored(answer, {} if before is None else before.lines)
    return replace(baseline, checks=checks)


def overwritten(result: GateResult) -> tuple[str, ...]:
    """Everything that a baseline which is written over this result does not hold any more, old -> new."""
    texts: list[str] = []
    for check in result.checks:
        whole = [fault.text for fault in check.faults if fault.acceptable]
        texts += [f"{place(check.key, None)}: stored anew: {text}" for text in (*whole, *check.changes)]
        for line in check.lines:
            texts += [f"{place(check.key, line.name)}: stored anew: {text}" for text in line.changes]
    return tuple(texts)


def _stored(answer: Answered, kept: Mapping[str, StoredLine]) -> StoredCheck:
    lines = {**kept, **{line.name: line.state for line in answer.lines}}
    return StoredCheck(
        title=answer.title,
        crack_life_repeats=answer.crack_life_repeats,
        load_reach=answer.load_reach,
        load_digest=answer.load_digest,
        rules=answer.rules,
        lines=lines,
    )


def accepted(
    baseline: Baseline, answers: Answers, result: GateResult, names: Sequence[str], because: str
) -> Baseline:
    """The baseline in which growth, changed rules and vanished lines of the named ones are the stored state.

    result : the answers judged against this baseline
    names  : CHECK for the whole of it with every line, CHECK:LINE for one line
    Raises : Problem when a name is unknown, nothing is to be accepted there, or what is there never can be
    """
    targets = {_named(name, baseline, result): name for name in names}
    for (key, line), name in targets.items():
        check = next(check for check in result.checks if check.key == key)
        record = Accepted(check=key, line=line, changes=_acceptable(name, check, line), because=because)
        answer = next((a for a in answers.checks if isinstance(a, Answered) and a.key == key), None)
        baseline = _with(baseline, key, line, answer)
        baseline = replace(baseline, accepted=(*baseline.accepted, record))
    return baseline


def _named(name: str, baseline: Baseline, result: GateResult) -> tuple[str, str | None]:
    checks = {check.key: check for check in result.checks}
    for head, line in _splits(name):
        for key in (head, key_of(Path(head), baseline.folder)):
            if key in checks and (line is None or line in {entry.name for entry in checks[key].lines}):
                return key, line
    raise Problem(422, f"--accept {name}: there is no such check or line; the checks are {', '.join(checks)}")


def _splits(name: str) -> Iterator[tuple[str, str | None]]:
    """The name as a whole, then cut at each colon: paths and names of lines may hold colons themselves."""
    yield name, None
    for at, letter in enumerate(name):
        if letter == ":":
            yield name[:at], name[at + 1 :]


def _acceptable(name: str, check: CaseResult, line: str | None) -> list[str]:
    faults = [(where, fault) for where, fault in check.every_fault if line is None or where == line]
    never = [fault.text for _, fault in faults if not fault.acceptable]
    if never:
        text = f"--accept {name}: what is over its limit or undecided cannot be accepted: {never[0]}"
        raise Problem(422, text)
    if not faults:
        raise Problem(422, f"--accept {name}: there is nothing to accept")
    changes = [fault.text if where == line else f"{where}: {fault.text}" for where, fault in faults]
    return changes + (_moved(check) if line is None else [])


def _moved(check: CaseResult) -> list[str]:
    """The lines without a fault whose numbers are stored anew with the whole check."""
    moved = [line.growth_pct for line in check.lines if not line.faults and line.growth_pct]
    if not moved:
        return []
    return [f"{len(moved)} other line(s) moved by {min(moved):+.3g} % to {max(moved):+.3g} %"]


def _with(baseline: Baseline, key: str, line: str | None, answer: Answered | None) -> Baseline:
    checks = dict(baseline.checks)
    before = checks.pop(key, None)
    if line is None:
        if answer is not None:
            checks[key] = _stored(answer, {})
    elif before is not None:
        lines = {name: state for name, state in before.lines.items() if name != line}
        now = () if answer is None else answer.lines
        lines |= {entry.name: entry.state for entry in now if entry.name == line}
        if lines or answer is not None:
            checks[key] = before.model_copy(update={"lines": lines})
    return replace(baseline, checks=checks)
