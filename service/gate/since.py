"""What changed since the state that a baseline stores, in the form of every comparison."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from fatcore.figures import coordinate

from ..comparison.changes import Change, Comparison, LineChange, LineState, Revision, two_lives, two_numbers
from ..comparison.looser import judges_looser
from .baseline import StoredCheck, StoredLine
from .check_rules import changed_rules, changed_words
from .load_reach import changed_reach
from .result import Answered, LineResult

KEPT = "a baseline keeps rules, how far the loads reach and figures of every line, but not the request"
OLD_FORMAT = "the stored state is of an older format, without lives and findings: they are not compared"


def compare_stored(answer: Answered, before: StoredCheck, lines: Sequence[LineResult], name: str) -> Comparison:
    """Everything that changed of a check since its stored state.

    lines : of the check, each with the state that it is compared with
    name  : of the stored state
    """
    renamed = {line.former for line in lines}
    lines = [line for line in lines if line.now is not None or line.name not in renamed]
    old = [line.before for line in lines if line.before is not None]
    new = [line.now for line in lines if line.now is not None]
    return Comparison(
        before=_revision(name, old),
        now=_revision(answer.key, new),
        inputs=tuple(_inputs(answer, before, lines)),
        rules=tuple(_rules(answer, before, lines)),
        results=tuple(_results(answer, before)),
        lines=tuple(sorted(map(line_change, lines), key=lambda line: line.gravity)),
        came=tuple(sorted({*answer.findings} - {*(before.findings or answer.findings)})),
        went=tuple(sorted({*(before.findings or ())} - {*answer.findings})),
        remarks=(KEPT, *((OLD_FORMAT,) if before.findings is None else ())),
    )


def _revision(name: str, lines: Sequence[StoredLine]) -> Revision:
    digests, calculations = ({getattr(line, key) for line in lines} for key in ("request_digest", "calculation"))
    return Revision(name=name, input_digest=", ".join(sorted(digests)), calculated_by=", ".join(sorted(calculations)))


def line_change(line: LineResult) -> LineChange:
    """A line of a result before and now."""
    return LineChange(name=line.name, before=_state(line.before), now=_state(line.now))


def _state(line: StoredLine | None) -> LineState | None:
    if line is None:
        return None
    return LineState(
        verdict=line.verdict,
        utilisation=line.utilisation,
        curve=line.curve,
        place=f"station {line.index}, {coordinate(line.position_mm)} mm",
        life_cycles=line.life_cycles,
        findings=None if line.findings is None else frozenset(line.findings),
    )


def _inputs(answer: Answered, before: StoredCheck, lines: Sequence[LineResult]) -> Iterator[Change]:
    for case, old, new in changed_reach(before.load_reach, answer.load_reach):
        looser = _within(new, old)
        yield Change(pointer="/loading", words=f"loads of {case}, reach", before=old, now=new, looser=looser)
    if before.load_digest != answer.load_digest and before.load_reach == answer.load_reach:
        yield Change(
            pointer="/loading", words="loads, their counts or their order", before="as stored", now="other ones"
        )
    titles = () if before.title == answer.title else (("title", before.title, answer.title),)
    for name, old, new in (*titles, *changed_words(before.words, answer.words)):
        pointer = f"/{name.replace('.', '/')}"
        yield Change(pointer=pointer, words=f"words for a reader, {name}", before=old, now=new)
    for line in lines:
        if line.former is not None:
            words = f"the name of a weld line (the same {line.known_by})"
            yield Change(pointer=line.name, words=words, before=line.former, now=line.name)
        if line.now is not None and line.before is not None:
            yield from _geometry(line.name, line.before, line.now)


def _within(new: str, old: str) -> bool:
    """Whether a load case reaches less far; 'none' reaches nowhere."""
    ends = [[float(end) for end in reach.split(" to ")] if " to " in reach else [0.0, 0.0] for reach in (new, old)]
    return ends[0][1] - ends[0][0] < ends[1][1] - ends[1][0]


def _geometry(name: str, before: StoredLine, now: StoredLine) -> Iterator[Change]:
    if before.pattern != now.pattern:
        yield Change(pointer=name, words=f"{name}, course of the stresses", before="as stored", now="another one")
    for words, old, new, unit in (
        ("stations", before.stations, now.stations, ""),
        ("length", before.length_mm, now.length_mm, "mm"),
    ):
        texts = two_numbers(old, new)
        if texts[0] != texts[1]:
            words = f"{name}, {words}"
            yield Change(pointer=name, words=words, before=texts[0], now=texts[1], unit=unit, looser=new < old)


def _rules(answer: Answered, before: StoredCheck, lines: Sequence[LineResult]) -> Iterator[Change]:
    for rule in changed_rules(before.rules, answer.rules):
        looser = judges_looser(rule.path, rule.before, rule.now)
        yield Change(pointer=rule.path, words=rule.path, before=rule.texts[0], now=rule.texts[1], looser=looser)
    for line in lines:
        if line.now is None or line.before is None:
            continue
        for rule in changed_rules(line.before.rules, line.now.rules):
            looser = judges_looser(f"lines.{rule.path}", rule.before, rule.now)
            words = f"{line.name}, {rule.path}"
            yield Change(pointer=words, words=words, before=rule.texts[0], now=rule.texts[1], looser=looser)


def _results(answer: Answered, before: StoredCheck) -> Iterator[Change]:
    pairs: list[tuple[str, tuple[str, str]]] = [("verdict", (before.verdict, answer.verdict))]
    if answer.rules["growth"] is not None and before.rules.get("growth") is not None:
        lives = two_lives(before.crack_life_repeats, answer.crack_life_repeats)
        pairs.append(("life of the crack in repeats", lives))
    for words, (old, new) in pairs:
        if old != new:
            yield Change(pointer=words, words=words, before=old, now=new)
