"""The rules of a gate: the answer of one check against the limit and against its stored state."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from service.baseline import StoredCheck, StoredLine
from service.gate_result import CheckResult, Fault, Limits, LineResult
from service.text import number

__all__ = ["checked", "vanished"]

NOISE = 1e-9  # relative difference that another processor may make in the same answer


def checked(
    key: str, title: str, envelope: Mapping[str, Any], before: StoredCheck | None, limits: Limits
) -> CheckResult:
    """The result of one check file from the envelope of its answer."""
    digest = str(envelope["record"]["input_digest"])
    same_input = before is not None and before.input_digest == digest
    known = {} if before is None else before.lines
    findings = envelope["findings"]
    lines = [
        _line(line, known.get(line["name"]), findings, limits, same_input)
        for line in envelope["answer"]["lines"]
    ]
    names = {line.name for line in lines}
    lines += [_gone(name, known[name], limits) for name in known if name not in names]
    doubts = [finding["message"] for finding in findings if finding["severity"] != "note"]
    return CheckResult(
        key=key,
        title=title,
        input_digest=digest,
        lines=tuple(lines),
        doubts=tuple(dict.fromkeys(doubts)),
        caution=envelope["caution"],
    )


def vanished(key: str, before: StoredCheck, limits: Limits) -> CheckResult:
    """The result of a check whose file is gone."""
    lines = tuple(_gone(name, line, limits) for name, line in before.lines.items())
    return CheckResult(key=key, title=before.title, lines=lines)


def _gone(name: str, before: StoredLine, limits: Limits) -> LineResult:
    text = "the baseline has this line, the check has it no more"
    faults = () if limits.accept_vanished else (Fault("vanished", text),)
    return LineResult(name=name, now=None, before=before, faults=faults)


def _line(
    line: Mapping[str, Any],
    before: StoredLine | None,
    findings: Sequence[Mapping[str, Any]],
    limits: Limits,
    same_input: bool,
) -> LineResult:
    at = line["governing_index"]
    now = StoredLine(
        utilisation=line["governing_utilisation"],
        verdict=line["verdict"],
        curve=line["curve"],
        index=at,
        position_mm=line["position_mm"][at],
    )
    faults = [
        *_undecided(now, line["name"], findings),
        *_over_limit(now, limits),
        *_growth(now, before, limits, same_input),
    ]
    return LineResult(
        name=line["name"],
        now=now,
        before=before,
        equivalent_stress_mpa=line["equivalent_stress_mpa"][at],
        allowable_stress_mpa=line["allowable_stress_mpa"],
        faults=tuple(faults),
    )


def _undecided(now: StoredLine, name: str, findings: Sequence[Mapping[str, Any]]) -> list[Fault]:
    if now.verdict != "undecided":
        return []
    outside = [f["message"] for f in findings if f["severity"] == "outside" and f["line"] in {name, None}]
    return [Fault("undecided", "outside validity at the governing station: " + "; ".join(outside))]


def _over_limit(now: StoredLine, limits: Limits) -> list[Fault]:
    if now.utilisation <= limits.utilisation and now.verdict != "fail":
        return []
    text = f"utilisation {number(now.utilisation)} is above the limit {number(limits.utilisation)}"
    return [Fault("limit", text)]


def _growth(now: StoredLine, before: StoredLine | None, limits: Limits, same_input: bool) -> list[Fault]:
    if before is None:
        return []
    allowed = before.utilisation * (1.0 + limits.growth_pct / 100.0)
    if now.utilisation <= allowed * (1.0 + NOISE):
        return []
    text = f"utilisation grew from {number(before.utilisation)} to {number(now.utilisation)}"
    if before.utilisation > 0.0:
        text += f" ({100.0 * (now.utilisation / before.utilisation - 1.0):+.3g} %"
        text += f", allowed {limits.growth_pct:+.3g} %)"
    if same_input:
        text += "; the input is the same, so the calculation has changed"
    return [Fault("growth", text)]
