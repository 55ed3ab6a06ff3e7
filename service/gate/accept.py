"""What enters a baseline: the state of a run merged into it, and changes that were accepted by name."""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from fatcore.figures import change, counted

from ..base.problems import Problem
from .baseline import Accepted, Baseline, StoredCheck, StoredLine, key_of
from .gate import Answers
from .result import Answered, CaseResult, GateResult, location


@dataclass(frozen=True, slots=True)
class Stored:
    """A baseline with a run in it, and what of some checks did not pass, by their keys.

    kept    : why the state of a check did not enter it; first: of one without an earlier state, which entered
    """

    baseline: Baseline
    kept: Mapping[str, str]
    first: Mapping[str, str]


def merged(baseline: Baseline, answers: Answers, result: GateResult, because: str | None) -> Stored:
    """The baseline with the answers in it; what the run does not hold stays, lines that are gone among it.

    A check that fails its limit or is undecided never replaces an earlier state of it. A number that is stored
    without a reason of its line does not raise what growth counts from.
    result  : the answers judged against this baseline
    because : reason for what --accept would need one for (growth, changed rules, one that stands for another),
              for growth below the floor, and for less than before: a number that fell far, a shorter line
    Raises  : Problem where such a reason is missing
    """
    checks, accepted = dict(baseline.checks), list(baseline.accepted)
    kept: dict[str, str] = {}
    first: dict[str, str] = {}
    judged = {check.key: check for check in result.checks}
    for answer in (check for check in answers.checks if isinstance(check, Answered)):
        check, before = judged[answer.key], checks.get(answer.key)
        failed = _unproved(check)
        if failed is not None:
            earlier = before is not None or _continues(check)
            (kept if earlier else first)[answer.key] = failed
            if earlier:
                continue
        changes = _needing_reason(check, because)
        if changes and because is not None:
            accepted.append(Accepted(check=answer.key, line=None, changes=changes, because=because))
        stored = stored_check(answer, {} if before is None else before.lines)
        checks[answer.key] = stored.model_copy(update={"lines": {**stored.lines, **_continued(check)}})
    return Stored(replace(baseline, checks=checks, accepted=tuple(accepted)), kept, first)


def _continued(check: CaseResult) -> dict[str, StoredLine]:
    """The lines that go on from a stored state without a reason of their own."""
    named = {name for name, _ in check.every_reason}
    return {
        line.name: line.now.stored_after(line.before)
        for line in check.lines
        if line.now is not None and line.before is not None and line.name not in named
    }


def _continues(check: CaseResult) -> bool:
    """Whether a check that the baseline does not know goes on from lines that it knows."""
    return any(line.now is not None and line.before is not None for line in check.lines)


def _unproved(check: CaseResult) -> str | None:
    """What keeps the state of a check from being stored."""
    return next((text_at(name, fault.text) for name, fault in check.every_fault if not fault.acceptable), None)


def text_at(line: str | None, text: str) -> str:
    """A text about a check, or about a line of it."""
    return text if line is None else f"{line}: {text}"


def _needing_reason(check: CaseResult, because: str | None) -> list[str]:
    gone = {line.name for line in check.lines if line.now is None}
    changes = [text_at(name, text) for name, text in check.every_reason if name not in gone]
    if changes and because is None:
        text = f"--write-baseline would store what needs a reason; give it with --because TEXT: {check.key}"
        raise Problem(422, f"{text}: {changes[0]}" + (f" (and {len(changes) - 1} more)" if changes[1:] else ""))
    return changes


def with_notes(result: GateResult, stored: Stored, notes: Sequence[str]) -> GateResult:
    """The result with what was not stored reported at its check, and more notes of the run."""
    words = {key: f"not stored, the earlier state stays: {text}" for key, text in stored.kept.items()}
    words |= {key: f"stored as a first state that does not pass: {text}" for key, text in stored.first.items()}
    checks = [
        replace(check, notes=(*check.notes, words[check.key])) if check.key in words else check
        for check in result.checks
    ]
    return replace(result, checks=tuple(checks), notes=(*result.notes, *notes))


def overwritten(result: GateResult, kept: Container[str]) -> tuple[str, ...]:
    """Everything that a baseline which is written over this result does not hold any more, old -> new.

    kept : checks whose earlier state stays
    """
    texts: list[str] = []
    for check in result.checks:
        if check.key in kept:
            continue
        whole = [fault.text for fault in check.faults if fault.acceptable]
        texts += [f"{location(check.key, None)}: replaced in the baseline: {text}" for text in (*whole, *check.changes)]
        for line in check.lines:
            texts += [f"{location(check.key, line.name)}: replaced in the baseline: {text}" for text in line.changes]
    return tuple(texts)


def stored_check(answer: Answered, kept: Mapping[str, StoredLine] | None = None) -> StoredCheck:
    """A check as a baseline stores it; kept: stored lines of it that this answer may lack."""
    lines = {**(kept or {}), **{line.name: line.state for line in answer.lines}}
    names = [name for name in StoredCheck.model_fields if name != "lines"]
    return StoredCheck(**{name: getattr(answer, name) for name in names}, lines=lines)


def accepted(baseline: Baseline, answers: Answers, result: GateResult, names: Sequence[str], because: str) -> Baseline:
    """The baseline in which growth, changed rules and vanished lines of the named ones are the stored state.

    result : the answers judged against this baseline
    names  : CHECK for the whole of it with every line, CHECK:LINE for one line
    Raises : Problem when a name is unknown, nothing is to be accepted there, or what is there never can be
    """
    targets = {_named(name, baseline, result): name for name in names}
    for (key, line), name in targets.items():
        check = next(check for check in result.checks if check.key == key)
        changes, last = _acceptable(name, check, line), _last(baseline.checks.get(key), check, line)
        record = Accepted(check=key, line=line, changes=changes, because=because, last=last)
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
    named = [(where, text) for where, text in check.every_reason if line is None or where == line]
    if never:
        text = f"--accept {name}: what is over its limit or undecided cannot be accepted: {never[0]}"
        raise Problem(422, text)
    if not named:
        raise Problem(422, f"--accept {name}: there is nothing to accept")
    changes = [text if where == line else f"{where}: {text}" for where, text in named]
    return changes + (_moved(check) if line is None else [])


def _last(before: StoredCheck | None, check: CaseResult, line: str | None) -> StoredCheck | None:
    """The lines that are accepted as vanished as they were, to be compared with should they come back."""
    gone = {entry.name for entry in check.lines if entry.now is None and line in {None, entry.name}}
    if before is None or not gone:
        return None
    lines = {name: state for name, state in before.lines.items() if name in gone}
    return before.model_copy(update={"lines": lines})


def _moved(check: CaseResult) -> list[str]:
    """The lines without a fault whose numbers are replaced with the whole check."""
    moved = [line.growth_pct for line in check.lines if not line.faults and line.growth_pct]
    if not moved:
        return []
    return [f"{counted(len(moved), 'other line')} moved by {change(min(moved))} to {change(max(moved))}"]


def _with(baseline: Baseline, key: str, line: str | None, answer: Answered | None) -> Baseline:
    checks = dict(baseline.checks)
    before = checks.pop(key, None)
    if line is None:
        if answer is not None:
            checks[key] = stored_check(answer)
        return replace(baseline, checks=checks)
    lines = {} if before is None else {name: state for name, state in before.lines.items() if name != line}
    now = () if answer is None else answer.lines
    lines |= {entry.name: entry.state for entry in now if entry.name == line}
    if before is not None and (lines or answer is not None):
        checks[key] = before.model_copy(update={"lines": lines})
    elif before is None and answer is not None:  # a check that came back, or goes by another path now
        checks[key] = stored_check(answer).model_copy(update={"lines": lines})
    return replace(baseline, checks=checks)
