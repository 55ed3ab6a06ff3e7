"""One small change to one file of the tree."""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from pathlib import PurePosixPath

TOPICS = ("stress", "curves", "spectrum", "cracks", "check")


@dataclass(frozen=True, slots=True, kw_only=True)
class Mutant:
    """A file with one change.

    file     : path from the root of the tree
    lines    : lines of the statement that is changed
    operator : kind of change
    source, text : content of the file before and after
    name     : what the statement binds, where it runs at import (the readers of the name reach it)
    """

    file: str
    lines: tuple[int, ...]
    operator: str
    source: str
    text: str
    name: str | None = None

    @property
    def topic(self) -> str:
        return topic_of(self.file)

    def key(self) -> tuple[str, str, str]:
        """File, the lines before and the lines after, without line numbers: lasts when the file grows."""
        before = "\n".join(each[2:] for each in self.diff() if each.startswith("-"))
        after = "\n".join(each[2:] for each in self.diff() if each.startswith("+"))
        return self.file, before, after

    def diff(self) -> list[str]:
        """The lines that changed, without context: '- before', '+ after'."""
        found = difflib.unified_diff(self.source.splitlines(), self.text.splitlines(), lineterm="", n=0)
        return [f"{each[0]} {each[1:].strip()}" for each in list(found)[2:] if not each.startswith("@@")]


def topic_of(file: str) -> str:
    """Topic of a path: the folder of the core, of the data, or of the service."""
    parts = PurePosixPath(file).parts
    if parts[:2] == ("fatcore", "data"):
        return parts[2]
    if parts[0] == "fatcore":
        return parts[1] if len(parts) > 2 else "ground"
    if parts[1] == "topics" and len(parts) > 3:
        return parts[2]
    return {"lines": "check", "gate": "gate", "report": "report"}.get(parts[1], "service")
