"""Findings of an answer as rows for readers: the gravest first, one message of several lines once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

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
