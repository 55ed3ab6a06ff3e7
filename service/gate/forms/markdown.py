"""The result of a gate as Markdown, short enough for the comment of a merge request."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from itertools import groupby
from urllib.parse import quote

from fatcore.figures import change, counted

from ...base.forms.printable import as_escape
from ...comparison.changes import two_utilisations
from ..gravity import checks_by_gravity, lines_by_gravity
from ..result import CaseResult, Fault, GateResult, Limits, LineResult
from ..since import line_change
from .fitting import MOST_CHARACTERS, Row, Section, fit
from .rows import (
    bounds_text,
    cautions_of,
    doubts_of,
    notes_of,
    place_of,
    policies_of,
    run_notes_of,
    state_of,
    verdict_word,
)

MOST_IN_CELL = 400
MOST_OPEN, MOST_LISTED = 10, 100  # remarks and doubts that are not folded, and that are listed
MOST_PASSING = 40  # rows of passing lines in the fold; the most used ones
WHOLE = "*the check as a whole*"
HEADS = ("check", "weld line", "result", "utilisation", "why", "curve", "governing station")
SHORT = ("check", "weld line", "result", "utilisation", "governing station")
# nothing that cannot be seen or that turns the direction of what follows
FORBIDDEN = re.compile(
    "[\x00-\x1f\x7f-\x9f\xad\u061c\u180e\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff\ud800-\udfff\ufffe\uffff]"
)
Pair = tuple[CaseResult, LineResult]


def markdown_text(
    result: GateResult, *, elsewhere: str = "what the run prints", links: Mapping[str, str] | None = None
) -> str:
    """The run as Markdown of at most MOST_CHARACTERS: what fails first, what passes folded to one line.

    elsewhere : where the rows are that find no room
    links     : path of the report of a check as seen from where this text is shown, by its key
    """
    top = [f"## Weld gate: {verdict_word(result).lower()}", "", result.summary + bounds_text(result) + "."]
    top += [line for policy in policies_of(result) for line in ("", _escaped(policy))]
    end = [line for caution in cautions_of(result) for line in ("", f"*{caution}*")]
    room = MOST_CHARACTERS - sum(len(line) + 1 for line in (*top, *end))
    body = fit(list(_sections(result, links or {})), room, _escaped(elsewhere))
    return "\n".join([*top, *body, *end]) + "\n"


def _sections(result: GateResult, links: Mapping[str, str]) -> Iterator[Section]:
    """The gravest first."""
    rows, head = _Rows(result, links), (_cells(HEADS), _cells(["---"] * len(HEADS)))
    failing, undecided = list(rows.of({"FAILED", "VANISHED"})), list(rows.of({"UNDECIDED"}))
    yield Section("checks without an answer", list(rows.errors()), _heading("No answer"), grave=True)
    yield Section("failing rows", failing, _heading("Failing"), head, grave=True)
    yield Section("undecided rows", undecided, _heading("Undecided"), head, grave=True)
    yield _listed("doubt", _heading("What the answers call doubtful"), doubts_of(result))
    yield _listed("remark", _heading("To be known"), [*run_notes_of(result), *notes_of(result)])
    yield from rows.folded()


def _listed(kind: str, heading: tuple[str, ...], texts: Sequence[str]) -> Section:
    """Texts that decide nothing: folded where there are many."""
    rows = [Row(f"- {_item(text)}") for text in texts]
    if len(rows) <= MOST_OPEN:
        return Section(f"{kind}s", rows, heading)
    start = (*heading, f"<details><summary>{counted(len(rows), kind)}</summary>", "")
    return Section(f"{kind}s", rows, start, end=("", "</details>"), most=MOST_LISTED)


def _heading(words: str) -> tuple[str, ...]:
    return ("", f"### {words}", "")


class _Rows:
    """Rows of the tables, the check with the gravest line first; its failing as a whole stands before its lines."""

    def __init__(self, result: GateResult, links: Mapping[str, str]) -> None:
        self.compared, self.links, self.limits = result.compared, links, result.limits
        self.pairs, self.checks = lines_by_gravity(result), checks_by_gravity(result)

    def errors(self) -> Iterator[Row]:
        for check in self.checks:
            if check.error is not None:
                yield Row(f"- **{_escaped(check.key)}**: {_escaped(check.error)}", _escaped(check.key))

    def of(self, states: Collection[str]) -> Iterator[Row]:
        """Rows of the lines in one of these states, each check with what else of it changed in its first row."""
        lines: dict[str, list[LineResult]] = {}
        for check, line in self.pairs:
            if state_of(check, line, self.compared) in states:
                lines.setdefault(check.key, []).append(line)
        for check in self.checks:
            rows = [*_whole(check, states), *(self._line(check, line) for line in lines.get(check.key, ()))]
            for rank, (name, state, used, why, *rest) in enumerate(rows):
                key, texts = _escaped(check.key), [*why, *(() if rank else _of_check(check))]
                shown_key = key if rank else key + self._link(check.key)
                yield Row(_cells([shown_key, name, state, used, _escaped("; ".join(texts)), *rest]), key, rank)

    def _link(self, key: str) -> str:
        return f" ([report]({quote(self.links[key])}))" if key in self.links else ""

    def _line(self, check: CaseResult, line: LineResult) -> tuple[str, str, str, Sequence[str], str, str]:
        curve = "-" if line.now is None else _escaped(line.now.curve)
        state = state_of(check, line, self.compared)
        changed = () if None in (line.now, line.before) else line_change(line).beside
        why = [*_texts(line.faults), *changed]
        return (_escaped(line.name), state, _utilisation(line, self.limits), why, curve, _escaped(place_of(line)))

    def folded(self) -> Iterator[Section]:
        """Lines without a fault, in one line each for those of passing checks and the others."""
        pairs = [pair for pair in self.pairs if not pair[1].faults]
        whole = "without a fault of their own, in checks that fail as a whole"
        for failed, words in ((False, "passing"), (True, whole)):
            chosen = [pair for pair in pairs if bool(pair[0].faults) == failed]
            if chosen:
                yield self._fold(chosen, words)

    def _fold(self, pairs: Sequence[Pair], words: str) -> Section:
        most = max((line.now.utilisation for _, line in pairs if line.now is not None), default=0.0)
        checks = len({check.key for check, _ in pairs})
        title = f"{counted(len(pairs), 'weld line')} {words}, of {counted(checks, 'check')}"
        title += f": largest utilisation {self.limits.used_text(most)}"
        start = ("", f"<details><summary>{title}</summary>", "")
        head = (_cells(SHORT), _cells(["---"] * len(SHORT)))
        rows = [Row(_cells(self._short(*pair)), _escaped(pair[0].key)) for pair in pairs]
        return Section(f"rows of lines {words}", rows, start, head, ("", "</details>"), most=MOST_PASSING)

    def _short(self, check: CaseResult, line: LineResult) -> list[str]:
        name, state, used, _, _, place = self._line(check, line)
        return [_escaped(check.key), name, state, used, place]


def _whole(check: CaseResult, states: Collection[str]) -> Iterator[tuple[str, str, str, Sequence[str], str, str]]:
    """A check that fails as a whole, or is undecided."""
    if check.faults:
        state = "UNDECIDED" if check.faults[0].kind == "undecided" else "FAILED"
        if state in states:
            yield WHOLE, state, "-", _texts(check.faults), "-", "-"


def _of_check(check: CaseResult) -> Iterator[str]:
    """What of the check changed, loads among it, and what of that makes it judge more leniently."""
    yield from check.changes
    if check.since is not None and check.since.looser:
        yield f"judges more leniently by {', '.join(check.since.looser)}"


def _texts(faults: Sequence[Fault]) -> list[str]:
    """What is wrong; the changed rules together behind one word."""
    texts: list[str] = []
    for kind, group in groupby(faults, key=lambda fault: fault.kind):
        found = [fault.text for fault in group]
        if kind == "rules":
            found = ["rules changed: " + ", ".join(text.removeprefix("rules changed: ") for text in found)]
        texts += found
    return texts


def _utilisation(line: LineResult, limits: Limits) -> str:
    """Old -> new, with the change."""
    now = None if line.now is None else line.now.utilisation
    before = None if line.before is None else line.before.reference("utilisation")
    texts = two_utilisations(before, now, limits.utilisation)
    if before is None:
        return "-" if now is None else texts[1]
    if texts[0] == texts[1]:
        return f"{texts[1]}, as before"
    growth = "" if line.growth_pct is None else f" ({change(line.growth_pct)})"
    return " -\\> ".join(texts) + growth


def _cells(cells: Sequence[str]) -> str:
    return "| " + " | ".join(cells) + " |"


def _escaped(text: str) -> str:
    """Names may hold anything; none of it may become markup or break the table. A long text says what it leaves out."""
    plain = FORBIDDEN.sub(lambda found: as_escape(found[0]), " ".join(text.split()))
    if len(plain) > MOST_IN_CELL:
        plain = f"{plain[:MOST_IN_CELL]}... ({len(plain) - MOST_IN_CELL:,} characters more)"
    return re.sub(r"([\\`*_\[\]<>|#@!~&$]|:(?=//)|(?<=[wW]{3})\.)", r"\\\1", plain)


def _item(text: str) -> str:
    """A text of a list, which must not begin a list of its own."""
    return re.sub(r"^(\d*)([-+.)])", r"\1\\\2", _escaped(text))
