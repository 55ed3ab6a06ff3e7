"""The rules of a gate: the answer of one check against the limit and against its stored state."""

from __future__ import annotations

from collections.abc import Iterator

from fatcore import __version__
from service.baseline import StoredCheck, StoredLine
from service.check_rules import rule_changes
from service.gate_result import (
    SEVERITY,
    Answered,
    AnsweredLine,
    CheckResult,
    Fault,
    FaultKind,
    Limits,
    LineResult,
)
from service.text import number

__all__ = ["checked", "vanished"]

NOISE = 1e-9  # relative difference that another processor may make in the same answer
FALL_PCT = 20.0  # a utilisation that falls by more is told: something may have been left out
SAME_INPUT = "the input is the same, so the calculation has changed"
SHORTER = 0.01  # share of its length by which a line may become shorter without a word


def checked(answer: Answered, before: StoredCheck | None, limits: Limits) -> CheckResult:
    """The result of one check file from its answer."""
    known = {} if before is None else before.lines
    lines = [_line(line, known.get(line.name), limits) for line in answer.lines]
    names = {line.name for line in lines}
    lines += [_gone(name, known[name], limits) for name in known if name not in names]
    return CheckResult(
        key=answer.key,
        title=answer.title,
        verdict=answer.verdict,
        input_digest=answer.input_digest,
        lines=tuple(lines),
        faults=_ordered([*_whole(answer), *_rules(before, answer)]),
        notes=tuple(_check_notes(answer, before)),
        doubts=answer.doubts,
        caution=answer.caution,
    )


def vanished(key: str, before: StoredCheck, limits: Limits) -> CheckResult:
    """The result of a check whose file is gone."""
    lines = tuple(_gone(name, line, limits) for name, line in before.lines.items())
    return CheckResult(key=key, title=before.title, lines=lines)


def _gone(name: str, before: StoredLine, limits: Limits) -> LineResult:
    text = "the baseline has this line, the check has it no more"
    if limits.accept_vanished:
        return LineResult(name=name, now=None, before=before, notes=(text,))
    return LineResult(name=name, now=None, before=before, faults=(Fault("vanished", text),))


def _ordered(faults: list[Fault]) -> tuple[Fault, ...]:
    return tuple(sorted(faults, key=lambda fault: SEVERITY[fault.kind]))


def _whole(answer: Answered) -> Iterator[Fault]:
    """A crack that does not last, or another verdict of the check that no line stands for."""
    if answer.crack_fault is not None:
        yield Fault("limit", answer.crack_fault)
    elif answer.verdict != "pass" and all(line.state.verdict != answer.verdict for line in answer.lines):
        kind: FaultKind = "limit" if answer.verdict == "fail" else "undecided"
        yield Fault(kind, f"the check as a whole is {answer.verdict}: {_reasons(answer)}")


def _reasons(answer: Answered) -> str:
    return "; ".join(answer.doubts) or "its answer tells why"


def _rules(before: StoredCheck | None, answer: Answered) -> Iterator[Fault]:
    if before is not None:
        yield from (Fault("rules", text) for text in rule_changes(before.rules, answer.rules))


def _check_notes(answer: Answered, before: StoredCheck | None) -> Iterator[str]:
    if answer.version != __version__:
        yield f"calculated by toeline {answer.version}, this command is of {__version__}"
    if before is None:
        return
    if before.title != answer.title:
        yield f"the title changed: {before.title!r} -> {answer.title!r}"
    if _shorter_life(answer, before):
        lives = f"{number(before.crack_life_repeats)} -> {number(answer.crack_life_repeats)} repeats"
        yield f"the life of the crack is shorter: {lives}"
    old = {line.calculation for line in before.lines.values()}
    new = {line.state.calculation for line in answer.lines}
    if old and old != new:
        yield f"the baseline was calculated by {', '.join(sorted(old))}, now it is {', '.join(sorted(new))}"


def _shorter_life(answer: Answered, before: StoredCheck) -> bool:
    now, was = answer.crack_life_repeats, before.crack_life_repeats
    known = before.rules.get("growth") is not None
    return known and now is not None and (was is None or now < (1.0 - NOISE) * was)


def _line(line: AnsweredLine, before: StoredLine | None, limits: Limits) -> LineResult:
    faults = [*_over_limit(line.state, limits), *_undecided(line, limits)]
    notes = [*_unjudged(line)]
    if before is not None:
        faults += [Fault("rules", text) for text in rule_changes(before.rules, line.state.rules)]
        grown = _growth(line.state, before, limits)
        if grown is not None and line.state.utilisation > limits.growth_floor:
            faults.append(Fault("growth", grown))
        elif grown is not None:
            notes.append(f"{grown}; fails nothing up to {number(limits.growth_floor)}")
        else:
            notes += _moved(line.state, before)
        notes += _shorter(line.state, before)
    return LineResult(
        name=line.name,
        now=line.state,
        before=before,
        equivalent_stress_mpa=line.equivalent_stress_mpa,
        allowable_stress_mpa=line.allowable_stress_mpa,
        faults=_ordered(faults),
        notes=tuple(notes),
    )


def _over_limit(now: StoredLine, limits: Limits) -> Iterator[Fault]:
    if now.utilisation > limits.utilisation or now.verdict == "fail":
        text = f"utilisation {number(now.utilisation)} is above the limit {number(limits.utilisation)}"
        yield Fault("limit", text)


def _undecided(line: AnsweredLine, limits: Limits) -> Iterator[Fault]:
    unjudged = line.unjudged_utilisation
    hidden = unjudged is not None and unjudged > limits.utilisation and line.exclude_ends_reason is None
    if line.state.verdict != "undecided" and not hidden:
        return
    reasons = (
        ["outside validity at the governing station: " + "; ".join(line.outside)] if line.outside else []
    )
    if hidden and unjudged is not None:
        text = f"a station that is not judged has a utilisation of {number(unjudged)}, and no reason is given"
        reasons.append(text)
    yield Fault("undecided", "; ".join(reasons) or "the check calls it undecided")


def _unjudged(line: AnsweredLine) -> Iterator[str]:
    """Stations that are not judged, where a reason is given or where they carry more than the others."""
    unjudged, reason = line.unjudged_utilisation, line.exclude_ends_reason
    if unjudged is not None and (reason is not None or unjudged > line.state.utilisation):
        text = f"stations not judged reach a utilisation of {number(unjudged)}"
        yield f"{text} ({reason or 'no reason given'})"


def _growth(now: StoredLine, before: StoredLine, limits: Limits) -> str | None:
    """The growth in words where it is more than allowed."""
    allowed = before.utilisation * (1.0 + limits.growth_pct / 100.0)
    if now.utilisation <= allowed * (1.0 + NOISE):
        return None
    text = f"utilisation grew from {number(before.utilisation)} to {number(now.utilisation)}"
    if before.utilisation > 0.0:
        text += f" ({_change_pct(now, before):+.3g} %"
        text += f", allowed {limits.growth_pct:+.3g} %)"
    return text + (f"; {SAME_INPUT}" if _same_input(now, before) else "")


def _change_pct(now: StoredLine, before: StoredLine) -> float:
    return 100.0 * (now.utilisation / before.utilisation - 1.0)


def _same_input(now: StoredLine, before: StoredLine) -> bool:
    return now.request_digest == before.request_digest


def _moved(now: StoredLine, before: StoredLine) -> Iterator[str]:
    """A number that moved though its input did not, or fell so far that something may be missing."""
    text = f"utilisation {number(before.utilisation)} -> {number(now.utilisation)}"
    if _same_input(now, before):
        if abs(now.utilisation - before.utilisation) > NOISE * before.utilisation:
            yield f"{text}; {SAME_INPUT}"
    elif before.utilisation > 0.0 and _change_pct(now, before) < -FALL_PCT:
        text += f" ({_change_pct(now, before):+.3g} %) fell far"
        yield f"{text}: is all of the load and of the line still there?"


def _shorter(now: StoredLine, before: StoredLine) -> Iterator[str]:
    if now.length_mm < (1.0 - SHORTER) * before.length_mm:
        yield f"the line is shorter: {number(before.length_mm)} -> {number(now.length_mm)} mm"
    if now.stations < before.stations:
        yield f"the line has fewer stations: {before.stations} -> {now.stations}"
