"""What changed, for a terminal and as JSON."""

from __future__ import annotations

import json
from collections.abc import Iterator

from fatcore.figures import counted

from ..base.forms.printable import escaped
from .items import ItemChange
from .outputs import Changes
from .verdicts import VERDICTS

MOST_ITEMS, MOST_VALUES = 100, 5
UNKNOWN = (
    "no cause is recorded: what both hold of version, policy, revision and tables is the same; another machine or "
    "library may have made a number, an edit may have made a number, message, caution or citation"
)


def changes_text(found: Changes) -> str:
    """Each item that changed with what differs most, what was added and removed, the counts last; a line each."""
    lines = [line for change in found.changed[:MOST_ITEMS] for line in _item(change)]
    if len(found.changed) > MOST_ITEMS:
        lines.append(f"and {counted(len(found.changed) - MOST_ITEMS, 'changed item')} more")
    for word, names in _alone(found):
        lines += [f"{word}: item {name}" for name in names[:MOST_ITEMS]]
        lines += [f"and {len(names) - MOST_ITEMS:,} more {word}"] if len(names) > MOST_ITEMS else []
    lines += [f"cause: {text} (of {counted(count, 'item')})" for text, count in sorted(found.causes.items())]
    lines += [f"note: {text}" for text in found.remarks]
    return "\n".join(map(escaped, [*lines, summary(found)]))


def _alone(found: Changes) -> tuple[tuple[str, list[str]], ...]:
    return ("added", found.added), ("removed", found.removed), ("without an answer of before", found.unanswered)


def _item(change: ItemChange) -> Iterator[str]:
    yield f"item {change.name}{_verdict(change)}"
    yield from (f"  {each.text}" for each in change.differences[:MOST_VALUES])
    if len(change.differences) > MOST_VALUES:
        yield f"  and {counted(len(change.differences) - MOST_VALUES, 'value')} more"
    yield from (f"  came: {text}" for text in change.came)
    yield from (f"  went: {text}" for text in change.went)
    yield from (f"  since: {text}" for text in change.causes or (UNKNOWN,))


def _verdict(change: ItemChange) -> str:
    if not change.direction:
        return ""
    whole = change.verdict
    if whole is not None and whole[0] != whole[1] and {*whole} <= {*VERDICTS}:
        return f": verdict {' -> '.join(whole)}, {change.direction}"
    return f": a verdict of it {change.direction}"


def summary(found: Changes) -> str:
    """The counts in one line."""
    counts = [f"{found.same:,} the same", f"{len(found.changed):,} changed"]
    counts += [f"{len(found.of(word)):,} with a {word} verdict" for word in ("looser", "stricter") if found.of(word)]
    counts += [f"{len(names):,} {word}" for word, names in _alone(found) if names]
    return ", ".join(counts)


def changes_json(found: Changes) -> str:
    """The same for programs, every item and value in it."""
    content = {
        "same": found.same,
        "changed": [_data(change) for change in found.changed],
        "added": found.added,
        "removed": found.removed,
        "unanswered": found.unanswered,
        "causes": dict(sorted(found.causes.items())),
        "remarks": found.remarks,
    }
    return json.dumps(content, indent=1, ensure_ascii=False, allow_nan=False)


def _data(change: ItemChange) -> dict[str, object]:
    return {
        "item": change.name,
        "verdict": change.verdict,
        "direction": change.direction or None,
        "differences": [
            {"pointer": each.pointer, "before": each.before, "now": each.now, "relative": each.relative}
            for each in change.differences
        ],
        "came": change.came,
        "went": change.went,
        "causes": change.causes,
    }
