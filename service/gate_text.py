"""The result of a gate for people and programs: terminal, Markdown for a merge request, JSON."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import asdict
from typing import Any

from service.gate_result import CheckResult, GateResult, LineResult
from service.text import number, table_text

__all__ = ["json_text", "line_facts", "markdown_text", "terminal_text"]

COLUMNS = {
    "check": "check",
    "line": "weld line",
    "utilisation": "utilisation",
    "before": "baseline",
    "growth": "change",
    "position": "at mm",
    "curve": "curve",
    "result": "result",
}


def line_facts(line: LineResult) -> list[str]:
    """What a reader needs to know of one line: station, curve, stresses, utilisation, change."""
    facts = []
    if line.now is not None:
        facts = [
            f"governing station: {line.now.index} at {number(line.now.position_mm)} mm",
            f"curve: {line.now.curve}",
            f"equivalent range: {_value(line.equivalent_stress_mpa)} MPa",
            f"allowable range: {_value(line.allowable_stress_mpa)} MPa",
            f"utilisation: {number(line.now.utilisation)}",
        ]
    if line.before is None:
        return [*facts, "baseline: none"]
    before = f"baseline: utilisation {number(line.before.utilisation)}"
    before += f" at station {line.before.index} ({number(line.before.position_mm)} mm), {line.before.curve}"
    facts.append(before)
    return facts if line.growth_pct is None else [*facts, f"change: {_growth(line)}"]


def _value(value: float | None) -> str:
    return "-" if value is None else number(value)


def _growth(line: LineResult) -> str:
    return "-" if line.growth_pct is None else f"{line.growth_pct:+.2f} %"


def _state(line: LineResult, compared: bool) -> str:
    if line.now is None:
        return "VANISHED" if line.faults else "vanished"
    if not line.faults:
        return "passed, new" if compared and line.before is None else "passed"
    return "UNDECIDED" if line.faults[0].kind == "undecided" else "FAILED"


def _rows(result: GateResult) -> Iterator[dict[str, str]]:
    for check in result.checks:
        for line in check.lines:
            now, before = line.now, line.before
            yield {
                "check": check.key,
                "line": line.name,
                "utilisation": _value(None if now is None else now.utilisation),
                "before": _value(None if before is None else before.utilisation),
                "growth": _growth(line),
                "position": _value(None if now is None else now.position_mm),
                "curve": "-" if now is None else now.curve,
                "result": _state(line, result.compared),
            }


def _columns(result: GateResult) -> dict[str, str]:
    left_out = () if result.compared else ("before", "growth")
    return {key: head for key, head in COLUMNS.items() if key not in left_out}


def terminal_text(result: GateResult) -> str:
    """The run for a terminal: table, faults, what was left out, the verdict last."""
    rows = list(_rows(result))
    parts = [table_text(rows, _columns(result)), ""] if rows else []
    parts += [f"{check.key}: {check.error}" for check in result.checks if check.error is not None]
    for check, line in _failed(result):
        parts += [f"{check.key}, {line.name}: {fault.text}" for fault in line.faults]
    parts += [f"note: {note}" for note in result.notes]
    parts += _cautions(result)
    return "\n".join([*parts, f"{_word(result)}: {result.summary}"])


def _word(result: GateResult) -> str:
    return {0: "PASSED", 1: "FAILED", 2: "INPUT REFUSED", 3: "NO ANSWER"}[result.exit_code]


def _failed(result: GateResult) -> list[tuple[CheckResult, LineResult]]:
    return [(check, line) for check in result.checks for line in check.lines if line.faults]


def _cautions(result: GateResult) -> list[str]:
    return list(dict.fromkeys(check.caution for check in result.checks if check.caution))


def markdown_text(result: GateResult) -> str:
    """The run as Markdown, short enough for the comment of a merge request."""
    columns = _columns(result)
    parts = [f"## Weld gate: {_word(result).lower()}", "", result.summary + _bounds(result) + "."]
    rows = list(_rows(result))
    if rows:
        parts += ["", _cells(columns.values()), _cells("---" for _ in columns)]
        parts += [_cells(_escaped(row[key]) for key in columns) for row in rows]
    parts += list(_markdown_faults(result))
    parts += list(_markdown_doubts(result))
    parts += [line for caution in _cautions(result) for line in ("", f"*{caution}*")]
    return "\n".join(parts) + "\n"


def _bounds(result: GateResult) -> str:
    text = f" (limit {number(result.limits.utilisation)}"
    return text + (f", growth up to {number(result.limits.growth_pct)} %)" if result.compared else ")")


def _cells(cells: Any) -> str:
    return "| " + " | ".join(cells) + " |"


def _escaped(text: str) -> str:
    """Names may hold anything; none of it may become markup or break the table."""
    return re.sub(r"([\\`*_\[\]<>|#@!~&])", r"\\\1", " ".join(text.split()))


def _markdown_faults(result: GateResult) -> Iterator[str]:
    errors = [check for check in result.checks if check.error is not None]
    if errors or _failed(result):
        yield from ("", "### What is wrong", "")
    for check in errors:
        yield f"- **{_escaped(check.key)}**: {_escaped(check.error or '')}"
    for check, line in _failed(result):
        yield f"- **{_escaped(check.key)}, {_escaped(line.name)}**"
        yield from (f"  - {_escaped(fault.text)}" for fault in line.faults)
        yield from (f"  - {_escaped(fact)}" for fact in line_facts(line))


def _markdown_doubts(result: GateResult) -> Iterator[str]:
    doubts = [(check.key, text) for check in result.checks for text in check.doubts]
    if result.notes:
        yield from ("", "### Left out", "")
        yield from (f"- {_escaped(note)}" for note in result.notes)
    if doubts:
        yield from ("", "<details><summary>What the answers call doubtful</summary>", "")
        yield from (f"- {_escaped(key)}: {_escaped(text)}" for key, text in doubts)
        yield from ("", "</details>")


def json_text(result: GateResult) -> str:
    """The run as JSON for programs; sorted, the same result gives the same text."""
    content = {
        "exit_code": result.exit_code,
        "verdict": _word(result).lower(),
        "compared": result.compared,
        "limits": asdict(result.limits),
        "notes": list(result.notes),
        "checks": [_check_data(check) for check in result.checks],
        "caution": " ".join(_cautions(result)),
    }
    return json.dumps(content, indent=1, ensure_ascii=False, allow_nan=False)


def _check_data(check: CheckResult) -> dict[str, Any]:
    return {
        "check": check.key,
        "title": check.title,
        "input_digest": check.input_digest,
        "passed": check.passed,
        "error": check.error,
        "doubts": list(check.doubts),
        "lines": [_line_data(line) for line in check.lines],
    }


def _line_data(line: LineResult) -> dict[str, Any]:
    return {
        "name": line.name,
        "passed": not line.faults,
        "now": None if line.now is None else line.now.model_dump(),
        "before": None if line.before is None else line.before.model_dump(),
        "growth_pct": line.growth_pct,
        "equivalent_stress_mpa": line.equivalent_stress_mpa,
        "allowable_stress_mpa": line.allowable_stress_mpa,
        "faults": [asdict(fault) for fault in line.faults],
    }
