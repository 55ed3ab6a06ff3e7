"""The rules of a gate: the answer of one check against the limit and against its stored state."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import replace

from fatcore import __version__
from fatcore.figures import beside_limit

from .alike.locations import Fit, fits
from .alike.moves import Origin
from .alike.names import looking_alike
from .baseline import StoredCheck, StoredLine
from .check_rules import changed_words, rule_changes
from .growth import changed, fell_far, grown, life_changes, life_far, moved, shorter, stored_state, turned
from .load_reach import load_changes
from .result import (
    Answered,
    AnsweredLine,
    CaseResult,
    Fault,
    FaultKind,
    Limits,
    LineResult,
    location,
    order_faults,
)
from .since import compare_stored

NO_ORIGIN = Origin()


def compare_line(
    answer: Answered, before: StoredCheck | None, limits: Limits, origin: Origin = NO_ORIGIN
) -> CaseResult:
    """The result of one check file from its answer.

    origin : what it is compared with where `before` does not know it, or some of its lines
    """
    known = {} if before is None else before.lines
    new = {line.name: line.state for line in answer.lines if line.name not in known}
    fitting = fits(new, origin.formers, origin.lost) if new else {}
    found = (_known_or_new(answer.key, line, known, fitting, limits) for line in answer.lines)
    lines = [_with_rules(line, fitting.get(line.name), {answer.key, origin.key}, answer) for line in found]
    names = {line.name for line in lines}
    lines += [_gone(name, known[name], limits) for name in known if name not in names]
    was = before or origin.check
    changes = () if was is None else tuple(_changes(answer, was))
    lives = () if was is None else tuple(_life_changes(answer, was))
    return CaseResult(
        key=answer.key,
        title=answer.title,
        verdict=answer.verdict,
        input_digest=answer.input_digest,
        lines=tuple(lines),
        faults=order_faults([*_whole(answer), *_rules(was, answer)]),
        notes=(
            *_other_version(answer),
            *_moved(answer.key, before, origin),
            *_alike(names | {*known}),
            *_stored_state(was),
            *changes,
        ),
        changes=changes,
        needs_reason=lives if was is not None and life_far(answer.crack_life_repeats, was.crack_life_repeats) else (),
        doubts=answer.doubts,
        caution=answer.caution,
        policy=answer.policy,
        since=None if was is None else compare_stored(answer, was, lines, _called(before, origin)),
    )


def _called(before: StoredCheck | None, origin: Origin) -> str:
    """What the stored state is called in a comparison."""
    return "the baseline" if before is not None else f"the baseline ({origin.key})"


def _moved(key: str, before: StoredCheck | None, origin: Origin) -> Iterator[str]:
    """The check is compared with one of another path, or with one whose vanishing was accepted."""
    if before is None and origin.check is not None:
        if origin.key == key:
            yield "the check is back: compared with its state before its vanishing was accepted"
        else:
            yield f"compared with {origin.key}, which is checked no more"


def _stored_state(before: StoredCheck | None) -> Iterator[str]:
    """That a check is compared with a state which had not passed as a whole, where no line reports it."""
    if before is not None and before.verdict not in {"pass", *(line.verdict for line in before.lines.values())}:
        yield f"the stored state of the check was {before.verdict} as a whole: no accepted state"


def _alike(names: Collection[str]) -> Iterator[str]:
    for group in looking_alike(names):
        yield f"names of lines that read the same: {', '.join(map(ascii, group))}"


def _known_or_new(
    key: str,
    line: AnsweredLine,
    known: Mapping[str, StoredLine],
    fitting: Mapping[str, Fit],
    limits: Limits,
) -> LineResult:
    """A line against its stored state, or against that of the line that it continues under a new name."""
    fit = fitting.get(line.name)
    if fit is None:
        return _line(line, known.get(line.name), limits)
    found, former = _line(line, fit.former.state, limits), fit.former
    if (former.check, former.name) == (key, line.name):
        text = "the line is back: compared with its state before its vanishing was accepted"
    else:
        other = former.name if former.check == key else location(former.check, former.name)
        why = "whose vanishing was accepted" if former.accepted else "which is checked no more"
        text = f"compared with {other}, {why}: the same {fit.by}"
    other_name = None if former.name == line.name else former.name
    continues = former.check, former.name
    return replace(found, former=other_name, continues=continues, known_by=fit.by, notes=(text, *found.notes))


def _with_rules(line: LineResult, fit: Fit | None, own: Collection[str], answer: Answered) -> LineResult:
    """The line with what the rules of its check differ in from those of the other check that it comes from."""
    if fit is None or fit.former.check in own:
        return line
    changes = (Fault("rules", text) for text in rule_changes(fit.former.rules, answer.rules))
    return replace(line, faults=order_faults([*line.faults, *changes]))


def find_vanished(key: str, before: StoredCheck, limits: Limits) -> CaseResult:
    """The result of a check whose file is gone."""
    lines = tuple(_gone(name, line, limits) for name, line in before.lines.items())
    return CaseResult(key=key, title=before.title, lines=lines)


def _gone(name: str, before: StoredLine, limits: Limits) -> LineResult:
    text = "the baseline has this line, the check has it no more"
    if limits.accept_vanished:
        return LineResult(name=name, now=None, before=before, notes=(text,))
    return LineResult(name=name, now=None, before=before, faults=(Fault("vanished", text),))


def _whole(answer: Answered) -> Iterator[Fault]:
    """A crack that does not last, or another verdict of the check that no line stands for."""
    if answer.crack_fault is not None:
        yield Fault("limit", answer.crack_fault)
    elif answer.verdict != "pass" and all(line.state.verdict != answer.verdict for line in answer.lines):
        kind: FaultKind = "limit" if answer.verdict == "fail" else "undecided"
        yield Fault(kind, f"the check as a whole is {answer.verdict}: {_reasons(answer)}")


def _reasons(answer: Answered) -> str:
    return "; ".join(answer.doubts) or "its answer holds the reason"


def _rules(before: StoredCheck | None, answer: Answered) -> Iterator[Fault]:
    if before is not None:
        yield from (Fault("rules", text) for text in rule_changes(before.rules, answer.rules))


def _other_version(answer: Answered) -> Iterator[str]:
    if answer.version != __version__:
        yield f"calculated by toeline {answer.version}, this command is of {__version__}"


def _changes(answer: Answered, before: StoredCheck) -> Iterator[str]:
    """What changed of the check as a whole and fails nothing."""
    if before.title != answer.title:
        yield f"the title changed: {before.title!r} -> {answer.title!r}"
    for name, *texts in changed_words(before.words, answer.words):
        yield f"words for a reader changed: {name} {' -> '.join(texts)}"
    if before.load_digest != answer.load_digest:
        reach = "; ".join(load_changes(before.load_reach, answer.load_reach))
        yield f"the loads changed: {reach or 'their counts or their order, no load case reaches farther'}"
    yield from _life_changes(answer, before)
    old = {line.calculation for line in before.lines.values()}
    new = {line.state.calculation for line in answer.lines}
    if old and old != new:
        yield f"the baseline was calculated by {', '.join(sorted(old))}, now it is {', '.join(sorted(new))}"


def _life_changes(answer: Answered, before: StoredCheck) -> Iterator[str]:
    if before.rules.get("growth") is not None and answer.rules.get("growth") is not None:
        digests = {line.request_digest for line in before.lines.values()}
        same_input = digests == {answer.request_digest}
        yield from life_changes(answer.crack_life_repeats, before.crack_life_repeats, same_input)


def _line(line: AnsweredLine, before: StoredLine | None, limits: Limits) -> LineResult:
    faults, notes, changes = (
        [*_over_limit(line.state, limits), *_undecided(line, limits)],
        _unjudged(line, limits),
        [],
    )
    needs_reason: list[str] = []
    if before is not None:
        rules = [Fault("rules", text) for text in rule_changes(before.rules, line.state.rules)]
        turns, small_turns = turned(line, before)
        growth, small_growth = grown(line.state, before, limits)
        faults += [*rules, *turns, *growth]
        less, changes_of_number = [*shorter(line.state, before)], [*moved(line.state, before, limits)]
        notes += [*stored_state(before, limits), *small_turns, *small_growth, *less]
        notes += [] if growth or small_growth else changes_of_number
        needs_reason = [*small_growth, *less, *(changes_of_number if fell_far(line.state, before) else ())]
        changes = [*(fault.text for fault in (*rules, *turns)), *small_turns, *changed(line.state, before, limits)]
    return LineResult(
        name=line.name,
        now=line.state,
        before=before,
        place=line.place,
        equivalent_stress_mpa=line.equivalent_stress_mpa,
        allowable_stress_mpa=line.allowable_stress_mpa,
        faults=order_faults(faults),
        notes=tuple(notes),
        changes=tuple(changes),
        needs_reason=tuple(needs_reason),
    )


def _over_limit(now: StoredLine, limits: Limits) -> Iterator[Fault]:
    if now.utilisation > limits.utilisation or now.verdict == "fail":
        text = "utilisation {} is above the limit {}".format(*beside_limit(now.utilisation, limits.utilisation))
        yield Fault("limit", text)


def _undecided(line: AnsweredLine, limits: Limits) -> Iterator[Fault]:
    unjudged = line.state.unjudged_utilisation
    hidden = unjudged is not None and unjudged > limits.utilisation
    if line.state.verdict != "undecided" and not (hidden and line.given.exclude_ends_reason is None):
        return
    reasons = ["outside validity at the governing station: " + "; ".join(line.outside)] if line.outside else []
    if unjudged is not None and hidden and line.given.exclude_ends_reason is None:
        used = limits.used_text(unjudged)
        text = f"a station that is not judged has a utilisation of {used}, and no reason is given"
        reasons.append(text)
    yield Fault("undecided", "; ".join(reasons) or "the check calls it undecided")


def _unjudged(line: AnsweredLine, limits: Limits) -> list[str]:
    """Stations that are not judged, where a reason is given or where they carry more than the others."""
    unjudged, reason = line.state.unjudged_utilisation, line.given.exclude_ends_reason
    if unjudged is None or (reason is None and unjudged <= line.state.utilisation):
        return []
    used = limits.used_text(unjudged)
    return [f"stations not judged reach a utilisation of {used} ({reason or 'no reason given'})"]
