"""The result of a gate for a terminal, and as JSON for programs."""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import Any

from ...base.text import sentence_lines, table_text
from ..result import CaseResult, GateResult, LineResult, location
from .rows import (
    accepted_text,
    bounds_text,
    cautions_of,
    changes_of,
    columns_of,
    doubts_of,
    line_rows,
    notes_of,
    policies_of,
    run_notes_of,
    verdict_word,
)


def terminal_text(result: GateResult) -> str:
    """The run for a terminal: what is wrong first, the table, what else is to be reported, the verdict last."""
    wrong = [f"{check.key}: {check.error}" for check in result.checks if check.error is not None]
    wrong += [f"{location(check.key, line)}: {fault.text}" for check, line, fault in result.faults]
    rows = list(line_rows(result))
    table = [table_text(rows, columns_of(result)), ""] if rows else []
    pages = [f"report of {key}: {path}" for key, path in result.pages.items()]
    told = [f"note: {note}" for note in (*notes_of(result), *run_notes_of(result))]
    told += [f"doubtful: {doubt}" for doubt in doubts_of(result)]
    told += [*policies_of(result), *cautions_of(result)]
    told.append(f"{verdict_word(result)}: {result.summary}{bounds_text(result)}")
    before = [*sentence_lines(wrong), *([""] if wrong and rows else []), *table, *_changes(result)]
    return "\n".join([*before, *sentence_lines(pages), *([""] if pages else []), *sentence_lines(told)])


def _changes(result: GateResult) -> list[str]:
    """Everything that changed since the stored state, a row a line."""
    found = [(check.key, *each) for check in result.checks for each in changes_of(check)]
    if not found:
        return []
    return [
        "changes since the baseline",
        *sentence_lines((f"{location(key, line)}: {'; '.join(texts)}" for key, line, texts in found), "  "),
        "",
    ]


def json_text(result: GateResult) -> str:
    """The run as JSON for programs; sorted, the same result gives the same text."""
    content = {
        "exit_code": result.exit_code,
        "verdict": verdict_word(result).lower(),
        "compared": result.compared,
        "limits": asdict(result.limits),
        "notes": list(result.notes),
        "accepted": [entry.model_dump() for entry in result.accepted],
        "accepted_texts": [accepted_text(entry, result.returned(entry)) for entry in result.accepted],
        "not_run": result.not_run,
        "checks": [{**_check_data(check), "report": result.pages.get(check.key)} for check in result.checks],
        "caution": " ".join(cautions_of(result)),
    }
    return json.dumps(content, indent=1, ensure_ascii=False, allow_nan=False)


def _check_data(check: CaseResult) -> dict[str, Any]:
    return {
        "check": check.key,
        "title": check.title,
        "verdict": check.verdict or None,
        "input_digest": check.input_digest,
        "policy": None if check.policy is None else dict(check.policy),
        "passed": check.passed,
        "error": check.error,
        "faults": [asdict(fault) for fault in check.faults],
        "notes": list(check.notes),
        "doubts": list(check.doubts),
        "changes": [{"line": line, "texts": texts} for line, texts in changes_of(check)],
        "judges_more_leniently": [] if check.since is None else check.since.looser,
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
