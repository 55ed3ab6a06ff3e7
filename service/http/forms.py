"""Forms of an answer besides JSON: one value as text, columns as CSV, the codes of the findings as a header."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ..base.common import Calculation
from ..base.envelope import Evaluation
from ..base.finding_rows import SEVERITIES
from ..base.forms.csv_table import csv_table
from ..base.problems import Problem
from ..units.answer import columns_in_units

MAX_CODES = 20  # a header must stay short
PLACE = re.compile(r"[0-9]{1,9}")


@dataclass(frozen=True, slots=True)
class Cell:
    """What `only` asks for: one value of the answer, and whether also where a validity limit is left."""

    path: str
    accept_outside: bool


def findings_header(findings: Sequence[Mapping[str, Any]]) -> str:
    """Severity and code of the findings, each once, the gravest first, for forms that have no room for them.

    >>> findings_header([{"severity": "note", "code": "b"}, {"severity": "outside", "code": "a"}])
    'outside:a, note:b'
    """
    ranked = sorted(findings, key=lambda finding: SEVERITIES.index(finding["severity"]))
    words = list(dict.fromkeys(f"{finding['severity']}:{finding['code']}" for finding in ranked))
    shown = words[:MAX_CODES]
    return ", ".join([*shown, *(["..."] if len(words) > len(shown) else [])]) or "none"


def cell_text(envelope: Mapping[str, Any], dotted: str, *, accept_outside: bool = False) -> str:
    """The value at a dotted path of the answer as bare text, for spreadsheet cells and studies.

    accept_outside : give the value also where a validity limit is left; else its code stands instead of it

    >>> cell_text({"answer": {"life_cycles": [2e6, None]}, "findings": []}, "answer.life_cycles.0")
    '2000000.0'
    """
    value: Any = envelope
    for step in dotted.split("."):
        if isinstance(value, Mapping) and step in value:
            value = value[step]
        elif isinstance(value, list) and PLACE.fullmatch(step) and int(step) < len(value):
            value = value[int(step)]
        else:
            raise Problem(422, f"the answer has no {dotted!r}", [("/only", f"nothing named {step!r}")])
    if isinstance(value, Mapping | list):
        raise Problem(422, f"{dotted!r} is not one value", [("/only", "name one value of the answer")])
    left = [f["code"] for f in envelope["findings"] if f["severity"] == "outside"]
    if left and dotted.startswith("answer.") and not accept_outside:
        return f"#OUTSIDE: {', '.join(dict.fromkeys(left[:MAX_CODES]))}"
    if value is None:
        return "infinite" if "life" in dotted else "none"
    return {True: "TRUE", False: "FALSE"}[value] if isinstance(value, bool) else str(value)


def csv_text(calculation: Calculation, envelope: Mapping[str, Any], found: Evaluation | None = None) -> str:
    """The columns of an answer as CSV with a header line; single values stand in the first row only.

    envelope : in MPa and mm; found: whose request may ask for other units
    Raises   : Problem 422 when the answer holds no column
    """
    answer, shown = envelope["answer"], None if found is None else found.shown
    if calculation.csv is None:
        columns = _flat_columns(answer if shown is None else shown)
    else:
        columns = columns_in_units(calculation.csv(answer), {} if found is None else found.wish)
    if not columns:
        raise Problem(422, "this answer has no columns; ask for application/json")
    return csv_table(columns)


def _flat_columns(answer: Mapping[str, Any]) -> dict[str, list[Any]]:
    columns: dict[str, list[Any]] = {}
    for name, value in answer.items():
        if isinstance(value, Mapping):
            columns.update({f"{name}.{key}": column for key, column in _flat_columns(value).items()})
        elif not isinstance(value, list):
            columns[name] = [value]
        elif not any(isinstance(item, Mapping | list) for item in value):
            columns[name] = value
        elif all(isinstance(item, Mapping) for item in value):
            columns.update({f"{name}.{key}": column for key, column in _object_columns(value).items()})
    return columns


def _object_columns(rows: list[Mapping[str, Any]]) -> dict[str, list[Any]]:
    """Columns of a list of objects; what is no single value in some row is left out."""
    keys = dict.fromkeys(key for row in rows for key in row)
    columns = {key: [row.get(key) for row in rows] for key in keys}
    return {
        key: column for key, column in columns.items() if not any(isinstance(item, Mapping | list) for item in column)
    }
