"""What every report shows of the envelope: findings, sources with their status, record."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Any

from ..base.text import number
from .markup import Html, facts, joined, table, tag

RANK = {"outside": 0, "caution": 1, "note": 2}
NAMES_SHOWN = 12
MOST_DOUBTS = 5
MOST_APART = 3  # notes of one kind that stand apart; more go together
MOST_NOTES = 40


def count_line(found: Sequence[dict[str, Any]]) -> str:
    """How many findings there are of each severity, grouped as they are listed.

    >>> count_line([])
    'No findings.'
    """
    counted = Counter(severity for severity, *_ in _grouped(found))
    words = {"outside": "outside a validity limit", "caution": "caution", "note": "note"}
    parts = [f"{counted[key]} {words[key]}{_plural(key, counted[key])}" for key in RANK if counted[key]]
    return f"Findings: {', '.join(parts)}; see below." if parts else "No findings."


def doubts(found: Sequence[dict[str, Any]]) -> list[str]:
    """The findings outside a validity limit as sentences with their lines, for the top of the page."""
    outside = [(key[2], members) for key, members in _grouped(found).items() if key[0] == "outside"]
    texts = [
        f"{message} ({', '.join(_names(members))})" if _names(members) else message
        for message, members in outside
    ]
    rest = len(texts) - MOST_DOUBTS
    return texts[:MOST_DOUBTS] + ([f"{rest} more, listed under Findings"] if rest > 0 else [])


def _names(members: Sequence[dict[str, Any]]) -> list[str]:
    names = list(dict.fromkeys(item["line"] for item in members if item["line"]))
    rest = len(names) - NAMES_SHOWN
    return names[:NAMES_SHOWN] + ([f"{rest} more"] if rest > 0 else [])


def _plural(key: str, count: int) -> str:
    return "s" if count > 1 and key != "outside" else ""


def findings(found: Sequence[dict[str, Any]]) -> Html:
    """The findings, the gravest first; one message of several lines stands once, with their names."""
    if not found:
        return tag("p", "None.")
    kinds: dict[tuple[str, str], list[tuple[tuple[str, ...], list[dict[str, Any]]]]] = {}
    for key, members in sorted(_grouped(found).items(), key=lambda entry: RANK[entry[0][0]]):
        kinds.setdefault((key[0], key[1]), []).append((key, members))
    items: list[Html] = []
    for (severity, code), entries in kinds.items():
        if severity == "note" and len(entries) > MOST_APART:
            items.append(_notes_of_one_kind(code, [members for _, members in entries]))
        else:
            items += [_finding(key, members) for key, members in entries]
    return tag("ul", *items, class_="findings")


def _notes_of_one_kind(code: str, entries: Sequence[Sequence[dict[str, Any]]]) -> Html:
    shown = [tag("li", entry[0]["message"], " ", _end(code, entry)) for entry in entries[:MOST_NOTES]]
    rest = len(entries) - MOST_NOTES
    more = [tag("li", f"{rest} more of this kind are in the JSON answer.")] if rest > 0 else []
    head = tag("strong", "note", class_="severity note")
    return tag("li", head, f" {len(entries)} notes of one kind", tag("ul", *shown, *more, class_="small"))


def _grouped(found: Sequence[dict[str, Any]]) -> dict[tuple[str, ...], list[dict[str, Any]]]:
    grouped: dict[tuple[str, ...], list[dict[str, Any]]] = {}
    for item in found:
        grouped.setdefault((item["severity"], item["code"], item["message"]), []).append(item)
    return grouped


def _finding(key: tuple[str, ...], members: Sequence[dict[str, Any]]) -> Html:
    severity, code, message = key
    word = tag("strong", severity, class_=f"severity {severity}")
    return tag("li", word, " ", message, " ", _end(code, members))


def _end(code: str, members: Sequence[dict[str, Any]]) -> Html:
    parts = [code, *_worst(members), *_places(members)]
    if members[0]["source"]:
        parts.append(f"source {members[0]['source']}")
    return tag("span", f"[{'; '.join(parts)}]", class_="code")


def _worst(members: Sequence[dict[str, Any]]) -> list[str]:
    values = [item["value"] for item in members if item["value"] is not None]
    if not values:
        return []
    low, high = members[0]["low"], members[0]["high"]
    beyond = [max((low or value) - value, value - (high if high is not None else value)) for value in values]
    return [f"value {number(values[beyond.index(max(beyond))])}{_limits(low, high)}"]


def _limits(low: float | None, high: float | None) -> str:
    if low is None:
        return "" if high is None else f", limit {number(high)}"
    return f", from {number(low)}" if high is None else f", limits {number(low)} to {number(high)}"


def _places(members: Sequence[dict[str, Any]]) -> list[str]:
    names = {item["line"] for item in members}
    count = sum(item["count"] for item in members)
    parts = [f"{count} times"] if count > len(names) else []
    return [*parts, ", ".join(_names(members))] if _names(members) else parts


def sources(listed: Sequence[dict[str, Any]]) -> Html:
    """Publications with how far their figures were confirmed; the doubtful ones are marked."""
    if not listed:
        return tag("p", "None.")
    rows = [
        {
            "key": tag("code", item["key"]),
            "citation": joined([item["citation"], tag("br"), item["remark"]])
            if item["remark"]
            else item["citation"],
            "status": tag("span", item["status"], class_="status " + item["status"].replace(" ", "-")),
        }
        for item in listed
    ]
    lead = tag("p", "Status tells how far the figures taken from a source were confirmed.", class_="small")
    return joined([lead, table({"key": "key", "citation": "publication", "status": "status"}, rows)])


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
