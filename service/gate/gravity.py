"""Which lines and checks of a result are the gravest."""

from __future__ import annotations

from .result import SEVERITY, CaseResult, FaultKind, GateResult, LineResult


def gravity_of(check: CaseResult, line: LineResult) -> tuple[int, float]:
    """Order of lines: those with a fault first, the gravest before the others; of the same the most used."""
    rank = SEVERITY[gravest_of(line)] if line.faults else len(SEVERITY) + (not check.faults)
    return rank, 0.0 if line.now is None else -line.now.utilisation


def gravest_of(line: LineResult) -> FaultKind:
    """The gravest fault; a line that its check calls undecided is that, however large its number."""
    kind = line.faults[0].kind
    unproved = kind == "limit" and line.now is not None and line.now.verdict == "undecided"
    return "undecided" if unproved else kind


def lines_by_gravity(result: GateResult) -> list[tuple[CaseResult, LineResult]]:
    """Every line with its check, the gravest first."""
    pairs = [(check, line) for check in result.checks for line in check.lines]
    return sorted(pairs, key=lambda pair: gravity_of(*pair))


def checks_by_gravity(result: GateResult) -> list[CaseResult]:
    """The checks in the order of their gravest lines; those without a line last."""
    keys = [check.key for check, _ in lines_by_gravity(result)]
    order = {key: place for place, key in enumerate(dict.fromkeys([*keys, *(check.key for check in result.checks)]))}
    return sorted(result.checks, key=lambda check: order[check.key])
