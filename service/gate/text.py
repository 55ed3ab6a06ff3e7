"""The result of a gate for people and programs: terminal, Markdown for a merge request, JSON."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Sequence
from dataclasses import asdict
from typing import Any

from ..base.text import number, place_text, table_text
from .baseline import Accepted
from .result import SEVERITY, CaseResult, FaultKind, GateResult, LineResult, location
from .tolerance import same

MOST_NAMES = 3
NOT_PASSED = {"fail": "failed", "undecided": "undecided"}
COLUMNS = {
    "check": "check",
    "line": "weld line",
    "utilisation": "utilisation",
    "before": "baseline",
    "growth": "change",
    "curve": "curve",
    "place": "governing station",
    "result": "result",
}


def line_facts(line: LineResult) -> list[str]:
    """What a reader needs to know of one line: station, curve, stresses, utilisation, change."""
    facts = []
    if line.now is not None:
        facts = [
            f"governing point: {line.name}, {_place(line)}",
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
    if line.before.verdict != "pass":
        facts.append(f"baseline: {NOT_PASSED[line.before.verdict]}")
    reference = line.before.reference("utilisation")
    if reference is not None and not same(reference, line.before.utilisation):
        facts.append(f"growth counts from: utilisation {number(reference)}")
    return facts if line.growth_pct is None else [*facts, f"change: {_growth(line)}"]


def _place(line: LineResult) -> str:
    return "-" if line.place is None else place_text(line.place)


def _before(line: LineResult) -> str:
    """What growth counts from, and whether the stored state did not pass."""
    if line.before is None:
        return "-"
    failed = NOT_PASSED.get(line.before.verdict)
    return _value(line.before.reference("utilisation")) + (f" ({failed})" if failed else "")


def _value(value: float | None) -> str:
    return "-" if value is None else number(value)


def _growth(line: LineResult) -> str:
    return "-" if line.growth_pct is None else f"{line.growth_pct:+.2f} %"


def _state(check: CaseResult, line: LineResult, compared: bool) -> str:
    if line.now is None:
        return "VANISHED" if line.faults else "vanished"
    if not line.faults and check.faults:
        return "CHECK FAILED"  # as a whole: a line of it is not to be read as passed
    if not line.faults:
        return "passed, new" if compared and line.before is None else "passed"
    return "UNDECIDED" if _gravest(line) == "undecided" else "FAILED"


def _gravest(line: LineResult) -> FaultKind:
    """The gravest fault; a line that its check calls undecided is that, however large its number."""
    kind = line.faults[0].kind
    unproved = kind == "limit" and line.now is not None and line.now.verdict == "undecided"
    return "undecided" if unproved else kind


def _rows(result: GateResult) -> Iterator[dict[str, str]]:
    """A row a line; those with a fault first, the gravest before the others; of the same the most used."""
    pairs = [(check, line) for check in result.checks for line in check.lines]
    for check, line in sorted(pairs, key=lambda pair: _gravity(*pair)):
        now = line.now
        yield {
            "check": check.key,
            "line": line.name,
            "utilisation": _value(None if now is None else now.utilisation),
            "before": _before(line),
            "growth": _growth(line),
            "curve": "-" if now is None else now.curve,
            "place": _place(line),
            "result": _state(check, line, result.compared),
        }


def _gravity(check: CaseResult, line: LineResult) -> tuple[int, float]:
    rank = SEVERITY[_gravest(line)] if line.faults else len(SEVERITY) + (not check.faults)
    return rank, 0.0 if line.now is None else -line.now.utilisation


def _columns(result: GateResult) -> dict[str, str]:
    left_out = () if result.compared else ("before", "growth")
    return {key: head for key, head in COLUMNS.items() if key not in left_out}


def terminal_text(result: GateResult) -> str:
    """The run for a terminal: what is wrong first, the table, what else is to be reported, the verdict last."""
    parts = [f"{check.key}: {check.error}" for check in result.checks if check.error is not None]
    parts += [f"{location(check.key, line)}: {fault.text}" for check, line, fault in result.faults]
    rows = list(_rows(result))
    parts += [*([""] if parts else []), table_text(rows, _columns(result)), ""] if rows else []
    parts += [f"note: {note}" for note in _notes(result)]
    parts += [f"doubtful: {doubt}" for doubt in _doubts(result)]
    parts += _cautions(result)
    return "\n".join([*parts, f"{_word(result)}: {result.summary}{_bounds(result)}"])


def _word(result: GateResult) -> str:
    return {0: "PASSED", 1: "FAILED", 2: "INPUT REFUSED", 3: "NO ANSWER"}[result.exit_code]


def _notes(result: GateResult) -> Iterator[str]:
    """What is reported though it fails nothing; what was accepted is among it in every run."""
    for check in result.checks:
        yield from (f"{check.key}: {text}" for text in check.notes)
        yield from (f"{check.key}, {line.name}: {text}" for line in check.lines for text in line.notes)
    yield from (accepted_text(entry, result.returned(entry)) for entry in result.accepted)
    yield from result.notes


def accepted_text(entry: Accepted, returned: Sequence[str] = ()) -> str:
    """An accepted change in one line, with its reason.

    returned : lines that were accepted as vanished and are there again
    """
    changes = "; ".join([*entry.changes, *(f"{name} is back" for name in returned)])
    return f"{location(entry.check, entry.line)}: accepted because {entry.because} ({changes})"


def _doubts(result: GateResult) -> list[str]:
    """Each doubt of the answers once, with the checks that have it."""
    keys: dict[str, list[str]] = {}
    for check in result.checks:
        for text in check.doubts:
            keys.setdefault(text, []).append(check.key)
    several = {text: f"{len(found)} checks" for text, found in keys.items() if len(found) > MOST_NAMES}
    return [f"{several.get(text) or ', '.join(found)}: {text}" for text, found in keys.items()]


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
    limits, text = result.limits, f" (limit {number(result.limits.utilisation)}"
    if not result.compared:
        return text + ")"
    return text + f", growth up to {number(limits.growth_pct)} % above {number(limits.growth_floor)})"


def _cells(cells: Any) -> str:
    return "| " + " | ".join(cells) + " |"


def _escaped(text: str) -> str:
    """Names may hold anything; none of it may become markup or break the table."""
    return re.sub(r"([\\`*_\[\]<>|#@!~&])", r"\\\1", " ".join(text.split()))


def _markdown_faults(result: GateResult) -> Iterator[str]:
    errors = [check for check in result.checks if check.error is not None]
    if errors or result.faults:
        yield from ("", "### What is wrong", "")
    for check in errors:
        yield f"- **{_escaped(check.key)}**: {_escaped(check.error or '')}"
    lines = {(check.key, line.name): line for check in result.checks for line in check.lines}
    grouped: dict[tuple[str, str | None], list[str]] = {}
    for check, name, fault in result.faults:
        grouped.setdefault((check.key, name), []).append(fault.text)
    for (key, name), texts in grouped.items():
        facts = [] if name is None else line_facts(lines[key, name])
        yield f"- **{_escaped(location(key, name))}**"
        yield from (f"  - {_escaped(text)}" for text in [*texts, *facts])


def _markdown_doubts(result: GateResult) -> Iterator[str]:
    notes, doubts = list(_notes(result)), _doubts(result)
    if notes:
        yield from ("", "### To be known", "")
        yield from (f"- {_escaped(note)}" for note in notes)
    if doubts:
        yield from ("", "<details><summary>What the answers call doubtful</summary>", "")
        yield from (f"- {_escaped(text)}" for text in doubts)
        yield from ("", "</details>")


def json_text(result: GateResult) -> str:
    """The run as JSON for programs; sorted, the same result gives the same text."""
    content = {
        "exit_code": result.exit_code,
        "verdict": _word(result).lower(),
        "compared": result.compared,
        "limits": asdict(result.limits),
        "notes": list(result.notes),
        "accepted": [entry.model_dump() for entry in result.accepted],
        "accepted_texts": [accepted_text(entry, result.returned(entry)) for entry in result.accepted],
        "not_run": result.not_run,
        "checks": [_check_data(check) for check in result.checks],
        "caution": " ".join(_cautions(result)),
    }
    return json.dumps(content, indent=1, ensure_ascii=False, allow_nan=False)


def _check_data(check: CaseResult) -> dict[str, Any]:
    return {
        "check": check.key,
        "title": check.title,
        "verdict": check.verdict or None,
        "input_digest": check.input_digest,
        "passed": check.passed,
        "error": check.error,
        "faults": [asdict(fault) for fault in check.faults],
        "notes": list(check.notes),
        "doubts": list(check.doubts),
        "lines": [_line_data(line) for line in check.lines],
    }


def _line_data(line: LineResult) -> dict[str, Any]:
    return {
        "name": line.name,
        "passed": not line.faults,
        "now": None if line.now is None else line.now.model_dump(),
        "before": None if line.before is None else line.before.model_dump(),
        "governing": None if line.place is None else dict(line.place),
        "growth_pct": line.growth_pct,
        "equivalent_stress_mpa": line.equivalent_stress_mpa,
        "allowable_stress_mpa": line.allowable_stress_mpa,
        "faults": [asdict(fault) for fault in line.faults],
        "notes": list(line.notes),
    }
