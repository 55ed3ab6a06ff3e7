"""Findings of an answer for readers: the gravest first, one message of several lines once, one kind together."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fatcore.figures import DIGITS, against, as_given, figure, rounded_down

SEVERITIES = ("outside", "caution", "note")  # the gravest first


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingRow:
    """One message with everything that answers say of it, in whatever form it is shown.

    lines : names of the weld lines that have it, each once
    count : elements touched; places: weld lines and the answer as a whole, those that have it
    value : the farthest beyond the limits low and high, None where none is given
    """

    severity: str
    code: str
    message: str
    lines: tuple[str, ...]
    count: int
    places: int
    value: float | None
    low: float | None
    high: float | None
    source: str | None


def finding_rows(findings: Iterable[Mapping[str, Any]]) -> list[FindingRow]:
    """A row a message, the gravest first, else in the order of the answer.

    >>> one = {"severity": "note", "code": "a", "message": "m", "line": "L", "count": 1}
    >>> one |= {"value": None, "low": None, "high": None, "source": None}
    >>> [(row.lines, row.count) for row in finding_rows([one, {**one, "line": "M", "count": 2}])]
    [(('L', 'M'), 3)]
    """
    grouped: dict[tuple[str, str, str], list[Mapping[str, Any]]] = {}
    for item in findings:
        grouped.setdefault((item["severity"], item["code"], item["message"]), []).append(item)
    rows = [_row(members) for members in grouped.values()]
    return sorted(rows, key=lambda row: SEVERITIES.index(row.severity))


def _row(members: list[Mapping[str, Any]]) -> FindingRow:
    first = members[0]
    names = dict.fromkeys(item["line"] for item in members)
    return FindingRow(
        severity=first["severity"],
        code=first["code"],
        message=first["message"],
        lines=tuple(name for name in names if name),
        count=sum(item["count"] for item in members),
        places=len(names),
        value=_worst([item["value"] for item in members], first["low"], first["high"]),
        low=first["low"],
        high=first["high"],
        source=first["source"],
    )


def _worst(values: list[float | None], low: float | None, high: float | None) -> float | None:
    given = [value for value in values if value is not None]

    def beyond(value: float) -> float:
        below = 0.0 if low is None else low - value
        return max(below, 0.0 if high is None else value - high)

    return max(given, key=beyond, default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingGroup:
    """Messages of one kind that differ in figures only.

    text    : the message; figures that differ between the rows stand as <a>, <b> and so on
    lines   : names of the weld lines that have it, each once
    remarks : what else is known: value, limits, how many elements
    heads   : of the columns of figures, none where there is one message
    rows    : the lines of each message and its figures as texts, in the order of the heads
    """

    severity: str
    code: str
    text: str
    lines: tuple[str, ...]
    remarks: tuple[str, ...]
    source: str | None
    heads: tuple[str, ...] = ()
    rows: tuple[tuple[tuple[str, ...], tuple[str, ...]], ...] = ()


def finding_groups(findings: Iterable[Mapping[str, Any]], first: Collection[str] = ()) -> list[FindingGroup]:
    """Findings by kind: the gravest first, among equals those of the check as a whole and of the lines named first.

    >>> one = {"severity": "caution", "code": "a", "line": "L", "count": 1, "source": None}
    >>> one |= {"value": None, "low": None, "high": None}
    >>> found = [{**one, "message": "used 0.3 of 1"}, {**one, "message": "used 0.2 of 1", "line": "M"}]
    >>> [(group.text, group.heads, group.rows) for group in finding_groups(found)]
    [('used <a> of 1', ('a',), ((('L',), ('0.3',)), (('M',), ('0.2',))))]
    """
    alike: dict[tuple[Any, ...], list[FindingRow]] = {}
    for row in finding_rows(findings):
        frame = tuple(_FIGURE.split(row.message))
        alike.setdefault((row.severity, row.code, frame, row.source, row.low, row.high), []).append(row)
    groups = [_group(rows) for rows in alike.values()]
    return sorted(groups, key=lambda group: (SEVERITIES.index(group.severity), not _touches(group, first)))


# figures that stand by themselves: no part of a name like tet10 or iiw-2016
_FIGURE = re.compile(r"(?<![\w.,/<-])-?(?:\d{1,3}(?:,\d{3})+|\d+)(?:\.\d+)?(?:e-?\d+)?(?![\w/-]|[.,]\d)")


def _touches(group: FindingGroup, first: Collection[str]) -> bool:
    return not group.lines or any(name in first for name in group.lines)


def _group(rows: Sequence[FindingRow]) -> FindingGroup:
    top = rows[0]
    lines = tuple(dict.fromkeys(name for row in rows for name in row.lines))
    given: dict[str, Any] = {"severity": top.severity, "code": top.code, "lines": lines, "source": top.source}
    if len(rows) == 1:
        return FindingGroup(text=top.message, remarks=tuple(_remarks(top)), **given)
    figures = [_FIGURE.findall(row.message) for row in rows]
    moving = [at for at, column in enumerate(zip(*figures, strict=True)) if len(set(column)) > 1]
    columns = {_LETTERS[at]: [row[place] for row in figures] for at, place in enumerate(moving[: len(_LETTERS)])}
    columns |= _beside(rows)
    return FindingGroup(
        text=_framed(top.message, moving),
        remarks=tuple(_limits(top)),
        heads=tuple(columns),
        rows=tuple((row.lines, tuple(texts)) for row, *texts in zip(rows, *columns.values(), strict=True)),
        **given,
    )


_LETTERS = "abcdefghijklmnopqrstuvwxyz"


def _beside(rows: Sequence[FindingRow]) -> dict[str, list[str]]:
    """Columns of what the messages do not say themselves."""
    found = {}
    values = [_value_text(row) for row in rows]
    if any(value and value not in row.message for value, row in zip(values, rows, strict=True)):
        found["value"] = values
    if any(row.count > row.places for row in rows):
        found["times"] = [str(row.count) for row in rows]
    return found


def _framed(message: str, moving: Sequence[int]) -> str:
    """The message with letters in place of the figures that differ."""
    letters = dict(zip(moving, _LETTERS, strict=False))
    ends, parts = 0, []
    for place, found in enumerate(_FIGURE.finditer(message)):
        if place in letters:
            parts += [message[ends : found.start()], f"<{letters[place]}>"]
            ends = found.end()
    return "".join([*parts, message[ends:]])


def _remarks(row: FindingRow) -> Iterator[str]:
    """What a message does not say itself."""
    value = _value_text(row)
    if value and value not in row.message:
        yield f"value {value}"
    yield from _limits(row)
    if row.count > row.places:
        yield f"{row.count} times"


def _value_text(row: FindingRow) -> str:
    """The value with as many digits as show that it is beyond its limit."""
    if row.value is None:
        return ""
    form = rounded_down if "life" in row.code else figure
    for limit, beyond in ((row.high, 1.0), (row.low, -1.0)):
        if limit is not None and beyond * (row.value - limit) > 0.0:
            return against(row.value, limit, form)
    return form(row.value, DIGITS)


def _limits(row: FindingRow) -> Iterator[str]:
    low, high = (None if end is None else as_given(end) for end in (row.low, row.high))
    if all(end is None or end in row.message for end in (low, high)):
        return
    if low is not None and high is not None:
        yield f"limits {low} to {high}"
    else:
        yield f"limit {high}" if low is None else f"from {low}"
