"""Vanished lines that go on under another name, or in another check: their fault says as what."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from ..result import CaseResult, Fault, LineResult, location

GOES_ON = "; it goes on as {} (the same {}): accept its vanishing by name"


def say_what_goes_on(checks: Iterable[CaseResult]) -> list[CaseResult]:
    """The checks, whose vanished lines name the line that was compared with their state."""
    found = list(checks)
    going_on = {
        line.continues: (check.key, line.name, line.known_by)
        for check in found
        for line in check.lines
        if line.continues is not None
    }
    return [replace(check, lines=tuple(_said(check.key, line, going_on) for line in check.lines)) for check in found]


def _said(key: str, line: LineResult, going_on: Mapping[tuple[str, str], tuple[str, str, str]]) -> LineResult:
    if line.now is not None or (key, line.name) not in going_on:
        return line
    check, name, known_by = going_on[key, line.name]
    more = GOES_ON.format(name if check == key else location(check, name), known_by)
    faults = tuple(Fault(fault.kind, fault.text + more) for fault in line.faults)
    return replace(line, faults=faults, notes=tuple(note + more for note in line.notes))
