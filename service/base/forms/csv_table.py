"""Columns as CSV for spreadsheet programs."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from typing import Any

FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r", "\n")


def csv_table(columns: Mapping[str, Sequence[Any]]) -> str:
    """Columns under their names, a shorter one with blank cells at its end.

    A life that is null is infinite and says so; a text that a program would take for a formula gets an
    apostrophe before it.

    >>> csv_table({"life_cycles": [2e6, None], "node_id": [None, 7]})
    'life_cycles,node_id\\r\\n2000000.0,\\r\\ninfinite,7\\r\\n'
    """
    rows = max(len(column) for column in columns.values())
    told = [
        [_cell(name, value) for value in column] + [None] * (rows - len(column)) for name, column in columns.items()
    ]
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(map(_inert, columns))
    writer.writerows(zip(*told, strict=True))
    return text.getvalue()


def _cell(name: str, value: Any) -> Any:
    return "infinite" if value is None and "life" in name else _inert(value)


def _inert(value: Any) -> Any:
    return f"'{value}" if isinstance(value, str) and value.startswith(FORMULA_SIGNS) else value
