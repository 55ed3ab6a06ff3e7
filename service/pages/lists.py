"""Sources, findings and verification cases, whole and in an order to read."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

from ..base.finding_rows import SEVERITIES
from .page import answered, laid_out

STATUS = {
    "read": "seen in the publication itself",
    "from memory": "recalled without the publication at hand: confirm it there before you rely on it",
    "derived": "follows by calculation from what is stated",
    "common practice": "used widely, stated by no publication named here",
    "own choice": "a default of this product",
}
SEVERITY = {
    "outside": "A validity limit is left, or a choice decides: a check has no verdict by it.",
    "caution": "Something is doubtful: look at it before you use the number.",
    "note": "How the number was made.",
}


@cache
def sources_page() -> str:
    """Every publication with its status, those that were not read first."""
    listed = answered("sources", {})["answer"]["sources"]
    order = ("from memory", "own choice", "common practice", "derived", "read")
    groups = [(status, STATUS[status], [row for row in listed if row["status"] == status]) for status in order]
    return laid_out("sources.html", "pages/sources", groups=groups, count=len(listed))


def findings_page(*, text: str = "") -> str:
    """Every code of a finding, the gravest first; the words of a filter stand in the code or the meaning."""
    words = text.strip().lower()
    every = _finding_kinds()
    kept = [row for row in every if words in f"{row['code']} {row['meaning']} {row['to_do']}".lower()]
    groups = [(word, SEVERITY[word], [row for row in kept if row["severity"] == word]) for word in SEVERITIES]
    counts = {"count": len(kept), "every": len(every)}
    return laid_out("finding_kinds.html", "pages/findings", groups=groups, words=text.strip(), **counts)


@cache
def _finding_kinds() -> list[dict[str, str]]:
    """The catalogue with what a code means and what to do apart."""
    return [_parted(row) for row in answered("findings", {})["answer"]["finding_kinds"]]


def _parted(row: Mapping[str, str]) -> dict[str, str]:
    """A meaning ends at its semicolon, and what to do follows.

    >>> _parted({"code": "a", "meaning": "The mesh is coarse; refine it."})
    {'code': 'a', 'meaning': 'The mesh is coarse.', 'to_do': 'Refine it.'}
    """
    meaning, _, to_do = row["meaning"].partition("; ")
    return {**row, "meaning": f"{meaning}.", "to_do": to_do[:1].upper() + to_do[1:]}


@cache
def validation_page() -> str:
    """Every verification case: those that fail first, then by where the number comes from."""
    answer = answered("validation", {})["answer"]
    groups: dict[str, list[Any]] = {"failed": [], **{each["kind"]: [] for each in answer["kinds"]}}
    for row in answer["verification_cases"]:
        groups[row["kind"] if row["passed"] else "failed"].append(row)
    return laid_out("validation.html", "pages/validation", answer=answer, groups=groups)
