"""Two outputs of a batch, compared item by item."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from ..base.parsing import strict_json
from ..batch.lines import OutputLine, lines_of, read_line
from .items import ItemChange, item_change

Key = tuple[Any, int]


@dataclass(slots=True)
class Changes:
    """Items that were compared: how many are the same, what changed of the others, which are in one of two only.

    unanswered : those that were asked and have no answer of before
    """

    same: int = 0
    changed: list[ItemChange] = field(default_factory=list)
    added: list[str] = field(default_factory=list)
    removed: list[str] = field(default_factory=list)
    unanswered: list[str] = field(default_factory=list)
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
        return not (self.changed or self.added or self.removed or self.unanswered)


def compare_outputs(before: Path, now: Path) -> Changes:
    """What changed from one output to another, item by item in the order of the later one.

    Items are found by their ids; one without, by the digest of what was sent. The first output is not held in memory.
    Raises : Problem where a line is none of a batch answer, the last one was cut short, or a file cannot be read twice
    """
    places = {key: (place, read.fits) for key, place, read in _lines(before)}
    found = Changes()
    with before.open("rb") as stream:
        for key, _, read in _lines(now):
            place, fits = places.pop(key, (None, None))
            if place is None:
                found.added.append(name_of_key(key))
                continue
            stream.seek(place)
            old = strict_json(stream.readline().rstrip(b"\r\n"))
            edited = False in (fits, read.fits)
            found.add(item_change(name_of_key(key), old, read.said, edited=edited))
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


def _lines(path: Path) -> Iterator[tuple[Key, int, OutputLine]]:
    """Key, place in the file and content of every line."""
    place, seen = 0, Counter[Any]()
    for number, line in lines_of(path):
        read = read_line(path, number, line)
        item_id = read.said["id"]
        item_id = (str(read.said.get("item_digest")),) if item_id is None else item_id
        seen[item_id] += 1
        yield (item_id, seen[item_id]), place, read
        place += len(line)
