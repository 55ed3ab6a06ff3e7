"""Sections of a text that has room for so many characters: cut by whole rows, and what is left out is counted."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass

MOST_CHARACTERS = 60_000  # a comment of the usual hosts takes 65,536 and more
RESERVED = 600  # for what a section says of the rows that it leaves out
MOST_NAMED = 200  # characters of names in it


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a table or list, and the check that it is of.

    rank : 0 for the first one of its check, which is kept before the others
    """

    text: str
    check: str = ""
    rank: int = 0


@dataclass(frozen=True, slots=True)
class Section:
    """Rows under a heading.

    kind       : what its rows are called where they are left out
    head       : lines before the rows, as of a table; start, end : around all of it
    most       : so many rows are shown at the most
    grave      : the first row of each of its checks comes before everything else
    """

    kind: str
    rows: Sequence[Row]
    start: Sequence[str]
    head: Sequence[str] = ()
    end: Sequence[str] = ()
    most: int | None = None
    grave: bool = False

    @property
    def least(self) -> int:
        """Room that it takes without its rows, and with what is said of them."""
        return _size([*self.start, *self.head, *self.end]) + RESERVED

    def lines(self, kept: Collection[int], elsewhere: str) -> list[str]:
        """Its lines with the rows that are kept; the others are counted."""
        rows = [row.text for at, row in enumerate(self.rows) if at in kept]
        rest = [row for at, row in enumerate(self.rows) if at not in kept]
        cut = [*([""] if rows else []), left_out(rest, len(self.rows), self.kind, elsewhere)] if rest else []
        return [*self.start, *(self.head if rows else ()), *rows, *cut, *self.end]

    def order(self) -> Iterator[tuple[int, int, int]]:
        """Phase, rank and place of the rows that it may show; what is left for the second phase is less grave."""
        ranked = sorted((row.rank, at) for at, row in enumerate(self.rows))
        for rank, at in ranked[: self.most]:
            yield int(rank > 0 or not self.grave), rank, at


def _size(lines: Sequence[str]) -> int:
    return sum(len(line) + 1 for line in lines)


def fit(sections: Sequence[Section], room: int, elsewhere: str) -> list[str]:
    """All sections in so much room: first a row of every grave check, then the others, section by section."""
    given = [section for section in sections if section.rows]
    left = room - sum(section.least for section in given)
    kept: list[set[int]] = [set() for _ in given]
    order = sorted((phase, place, rank, at) for place, each in enumerate(given) for phase, rank, at in each.order())
    for _, place, _, at in order:
        left -= len(given[place].rows[at].text) + 1
        if left < 0:
            break
        kept[place].add(at)
    return [line for place, each in enumerate(given) for line in each.lines(kept[place], elsewhere)]


def left_out(rest: Sequence[Row], of: int, kind: str, elsewhere: str) -> str:
    """How many rows of what kind find no room, of which checks, and where they are."""
    counts = Counter(row.check for row in rest if row.check)
    named: list[str] = []
    for key, count in counts.items():
        if sum(map(len, named)) + len(key) > MOST_NAMED:
            break
        named.append(f"{key} {count:,}")
    more = len(counts) - len(named)
    named += [f"{more:,} {'more ' if named else ''}{'check' if more == 1 else 'checks'}"] if more else []
    text = f"**{len(rest):,} of {of:,} {kind} left out**"
    return text + (f" ({', '.join(named)})" if named else "") + f": see {elsewhere}."
