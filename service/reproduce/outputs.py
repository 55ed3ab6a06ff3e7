"""Two outputs of a batch, compared item by item."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from ..base.problems import Problem
from .items import ItemChange, Line, item_change

Key = tuple[Any, int]


@dataclass(slots=True)
class Changes:
    """Items that were compared: how many are the same, what changed of the others, which are in one of two only."""

    same: int = 0
    changed: list[ItemChange] = field(default_factory=list)
    added: list[str] = field(default_factory=list)
    removed: list[str] = field(default_factory=list)
    causes: Counter[str] = field(default_factory=Counter)
    remarks: list[str] = field(default_factory=list)

    def add(self, change: ItemChange) -> None:
        """Counts one item that is there before and now."""
        self.causes.update(change.causes)
        if change.same:
            self.same += 1
        else:
            self.changed.append(change)

    def of(self, direction: str) -> list[ItemChange]:
        """Items whose verdict became looser, or stricter."""
        return [change for change in self.changed if change.direction == direction]

    @property
    def nothing(self) -> bool:
        """Whether every item is there twice and says the same."""
        return not (self.changed or self.added or self.removed)


def compare_outputs(before: Path, now: Path) -> Changes:
    """What changed from one output to another, item by item in the order of the later one.

    Items are found by their ids; one without, by the digest of what was sent. The first output is not held in memory.
    Raises : Problem where a line is none of a batch answer, or the last one was cut short
    """
    places = {key: place for key, place, _ in _lines(before)}
    found = Changes()
    with before.open("rb") as stream:
        for key, _, line in _lines(now):
            place = places.pop(key, None)
            if place is None:
                found.added.append(name_of_key(key))
                continue
            stream.seek(place)
            found.add(item_change(name_of_key(key), json.loads(stream.readline()), line))
    found.removed = [name_of_key(key) for key in places]
    return found


def name_of_key(key: Key) -> str:
    """What an item is called.

    >>> name_of_key(("a", 1)), name_of_key((3, 2)), name_of_key((("sha256:12", ), 1))
    ("'a'", '3 (the 2. of this id)', 'without an id, sha256:12')
    """
    item_id, count = key
    name = f"without an id, {item_id[0]}" if isinstance(item_id, tuple) else repr(item_id)
    return name if count == 1 else f"{name} (the {count}. of this id)"


def _lines(path: Path) -> Iterator[tuple[Key, int, Line]]:
    """Key, place in the file and content of every line."""
    place, seen = 0, Counter[Any]()
    with path.open("rb") as stream:
        for number, line in enumerate(stream, start=1):
            entry = line_of_answer(path, number, line)
            item_id = (str(entry.get("item_digest")),) if entry["id"] is None else entry["id"]
            seen[item_id] += 1
            yield (item_id, seen[item_id]), place, entry
            place += len(line)


def line_of_answer(path: Path, number: int, line: bytes) -> dict[str, Any]:
    """A line of a batch answer; Problem where it is none."""
    try:
        entry = json.loads(line)
    except ValueError:
        entry = None
    if not line.endswith(b"\n"):
        raise Problem(422, f"{path} ends within line {number}: its run was stopped; the same command goes on")
    if not isinstance(entry, dict) or not {"id", "status"} <= set(entry):
        raise Problem(422, f"{path}, line {number}: no line of a batch answer")
    return entry
