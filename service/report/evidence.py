"""What every report shows of the envelope: findings, sources with their status, record."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Any

from ..base.finding_rows import FindingRow, finding_rows
from ..base.text import number
from .markup import Html, facts, join_markup, table, tag

NAMES_SHOWN = 12
MOST_DOUBTS = 5
MOST_APART = 3  # notes of one kind that stand apart; more go together
MOST_NOTES = 40
WORDS = {"outside": "outside a validity limit", "caution": "caution", "note": "note"}


def count_line(found: Sequence[dict[str, Any]]) -> str:
    """How many findings there are of each severity, grouped as they are listed.

    >>> count_line([])
    'No findings.'
    """
    counted = Counter(row.severity for row in finding_rows(found))
    parts = [f"{count} {WORDS[key]}{_plural(key, count)}" for key, count in counted.items()]
    return f"Findings: {', '.join(parts)}; see below." if parts else "No findings."


def doubts(found: Sequence[dict[str, Any]]) -> list[str]:
    """The findings outside a validity limit as sentences with their lines, for the top of the page."""
    outside = [row for row in finding_rows(found) if row.severity == "outside"]
    texts = [f"{row.message} ({_names(row)})" if row.lines else row.message for row in outside]
    rest = len(texts) - MOST_DOUBTS
    return texts[:MOST_DOUBTS] + ([f"{rest} more, listed under Findings"] if rest > 0 else [])


def _names(row: FindingRow) -> str:
    rest = len(row.lines) - NAMES_SHOWN
    return ", ".join([*row.lines[:NAMES_SHOWN], *([f"{rest} more"] if rest > 0 else [])])


def _plural(key: str, count: int) -> str:
    return "s" if count > 1 and key != "outside" else ""


def findings(found: Sequence[dict[str, Any]]) -> Html:
    """The findings, the gravest first; one message of several lines stands once, with their names."""
    if not found:
        return tag("p", "None.")
    kinds: dict[tuple[str, str], list[FindingRow]] = {}
    for row in finding_rows(found):
        kinds.setdefault((row.severity, row.code), []).append(row)
    items: list[Html] = []
    for (severity, _), rows in kinds.items():
        if severity == "note" and len(rows) > MOST_APART:
            items.append(_notes_of_one_kind(rows))
        else:
            items += [_finding(row) for row in rows]
    return tag("ul", *items, class_="findings")


def _notes_of_one_kind(rows: Sequence[FindingRow]) -> Html:
    shown = [tag("li", row.message, " ", _end(row)) for row in rows[:MOST_NOTES]]
    rest = len(rows) - MOST_NOTES
    more = [tag("li", f"{rest} more of this kind are in the JSON answer.")] if rest > 0 else []
    head = tag("strong", "note", class_="severity note")
    return tag("li", head, f" {len(rows)} notes of one kind", tag("ul", *shown, *more, class_="small"))


def _finding(row: FindingRow) -> Html:
    word = tag("strong", row.severity, class_=f"severity {row.severity}")
    return tag("li", word, " ", row.message, " ", _end(row))


def _end(row: FindingRow) -> Html:
    parts = [row.code]
    if row.value is not None:
        parts.append(f"value {number(row.value)}{_limits(row.low, row.high)}")
    if row.count > row.places:
        parts.append(f"{row.count} times")
    if row.lines:
        parts.append(_names(row))
    if row.source:
        parts.append(f"source {row.source}")
    return tag("span", f"[{'; '.join(parts)}]", class_="code")


def _limits(low: float | None, high: float | None) -> str:
    if low is None:
        return "" if high is None else f", limit {number(high)}"
    return f", from {number(low)}" if high is None else f", limits {number(low)} to {number(high)}"


def sources(listed: Sequence[dict[str, Any]]) -> Html:
    """Publications with how far their figures were confirmed; the doubtful ones are marked."""
    if not listed:
        return tag("p", "None.")
    rows = [
        {
            "key": tag("code", item["key"]),
            "citation": join_markup([item["citation"], tag("br"), item["remark"]])
            if item["remark"]
            else item["citation"],
            "status": tag("span", item["status"], class_="status " + item["status"].replace(" ", "-")),
        }
        for item in listed
    ]
    lead = tag("p", "Status tells how far the figures taken from a source were confirmed.", class_="small")
    return join_markup([lead, table({"key": "key", "citation": "publication", "status": "status"}, rows)])


def record(kept: dict[str, Any]) -> Html:
    """What makes the answer reproducible."""
    tables = [tag("li", tag("code", f"{name} {print_}")) for name, print_ in kept["tables"].items()]
    return facts(
        {
            "calculation": f"{kept['calculation']}, revision {kept['revision']}",
            "toeline": f"version {kept['version']}",
            "input digest": tag("code", kept["input_digest"]),
            "tables of figures": tag("ul", *tables) if tables else None,
        },
        wide=True,
    )
