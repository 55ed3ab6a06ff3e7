"""Columns as CSV for spreadsheet programs."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping, Sequence
from typing import Any

from .printable import LINES, escaped

_UNSEEN = r"[\s\0-\x1f\x7f\xad\u200b-\u200f\u202a-\u202e\u2060-\u206f\ufeff]*"  # blanks, and what a program drops
_SIGNS = r"[=+\-@\uff1d\uff0b\uff0d\uff20]"  # the wide forms as well, which some programs take for the others
# also behind what parts the cells for a program with other separators
_FORMULA = re.compile(rf"^(?=[\t\r\n]|{_UNSEEN}{_SIGNS})|(?<=[;\t\r\n|])(?={_UNSEEN}{_SIGNS})")


def csv_table(columns: Mapping[str, Sequence[Any]]) -> str:
    """Columns under their names, a shorter one with blank cells at its end.

    A life that is null is infinite and says so; where a program would take a text for a formula it gets an
    apostrophe, also behind blanks and behind the separators of other programs.

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
    return escaped(_FORMULA.sub("'", value), keep=LINES) if isinstance(value, str) else value
