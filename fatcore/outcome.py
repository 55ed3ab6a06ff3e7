"""Base of every result: the numbers, and where they come from."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TypedDict

from fatcore.findings import Finding, merged


class Evidence(TypedDict):
    """The keyword arguments that every outcome takes besides its numbers."""

    findings: tuple[Finding, ...]
    sources: tuple[str, ...]
    tables: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outcome:
    """A result with its findings, the keys of its sources and the names of the data tables it used.

    Numbers in an outcome are finite; endless life is None (or a mask beside an array).
    """

    findings: tuple[Finding, ...] = ()
    sources: tuple[str, ...] = ()
    tables: tuple[str, ...] = ()


def evidence(
    *parts: Outcome,
    findings: Iterable[Finding] = (),
    sources: Iterable[str] = (),
    tables: Iterable[str] = (),
) -> Evidence:
    """Findings, sources and tables of the parts and of the caller, each once, in order of appearance."""
    return {
        "findings": merged([*(f for part in parts for f in part.findings), *findings]),
        "sources": tuple(dict.fromkeys([*(s for part in parts for s in part.sources), *sources])),
        "tables": tuple(dict.fromkeys([*(t for part in parts for t in part.tables), *tables])),
    }
