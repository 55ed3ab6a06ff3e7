"""Tables of tests and readings as CSV bodies, with the rest of the request in the query."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable, Sequence
from typing import Any

from ...base.problems import Problem

MOST_ROWS, LONGEST_CELL = 20_000, 200
_WORDS = {"true": True, "yes": True, "1": True, "false": False, "no": False, "0": False}
_ABOUT_SERIES = ("name", "range_per_load_mpa", "range_per_load_origin")
_COLUMNS = ("range_mpa", "load_range", "life_cycles", "run_out", "load_ratio")

Table = dict[str, list[Any]]
Store = Callable[[Table, dict[str, Any]], dict[str, Any]]


def csv_body(store: Store) -> Callable[[bytes, dict[str, str]], dict[str, Any]]:
    """Reader of text/csv: a line of names, then a row a test or reading; the query holds the rest of the request."""

    def read(body: bytes, query: dict[str, str]) -> dict[str, Any]:
        return store(read_table(body), {name: _value(text) for name, text in query.items()})

    return read


def read_table(body: bytes) -> Table:
    """Columns by name, as texts.

    Raises : Problem for a text that is none, for names that are missing or there twice, rows of another width
    """
    try:
        text = body.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise Problem(400, f"the table is not UTF-8 text (byte {error.start})") from error
    first = text.partition("\n")[0]
    delimiter = max(",;\t", key=first.count)
    if delimiter == ";" and "," in text:
        text = _with_points(text)
    rows = list(csv.reader(io.StringIO(text), delimiter=delimiter, strict=True)) if text.strip() else []
    rows = [[cell.strip() for cell in row] for row in rows if any(cell.strip() for cell in row)]
    if len(rows) < 2:
        raise refused("the table has no rows: a line of names, then one row a test")
    names, *content = rows
    _guard_names(names)
    if len(content) > MOST_ROWS:
        raise refused(f"the table has {len(content)} rows, more than {MOST_ROWS}")
    for number, row in enumerate(content, start=2):
        if len(row) != len(names):
            raise refused(f"line {number} has {len(row)} cells where {len(names)} were expected")
    return {name: [row[place] for row in content] for place, name in enumerate(names)}


def _with_points(text: str) -> str:
    """Commas are the decimal sign where semicolons part the columns.

    Raises : Problem 422 for points beside them, which may part thousands
    """
    for number, line in enumerate(text.splitlines()[1:], start=2):
        if "." in line:
            raise refused(f"line {number} has a point where commas are the decimal sign: which one parts thousands?")
    return text.replace(",", ".")


def _guard_names(names: Sequence[str]) -> None:
    for place, name in enumerate(names):
        if not name or name in names[:place] or len(name) > LONGEST_CELL:
            raise refused(
                f"column {place + 1} has {'no name' if not name else f'a name that is there twice: {name!r}'}"
            )


def refused(message: str, pointer: str = "") -> Problem:
    """Problem 422 about a table or what is asked of it."""
    return Problem(422, message, [(pointer, message)])


def numbers(table: Table, name: str) -> list[float]:
    """A column as numbers; Problem 422 with its line for a cell that is none."""
    found = []
    for line, cell in enumerate(table[name], start=2):
        try:
            found.append(float(cell))
        except ValueError:
            raise refused(f"column {name!r}, line {line}: {cell[:LONGEST_CELL]!r} is no number", f"/{name}") from None
    return found


def flags(table: Table, name: str) -> list[bool]:
    """A column as yes or no; Problem 422 with its line for a cell that is neither, or empty."""
    found = []
    for line, cell in enumerate(table[name], start=2):
        if cell.lower() not in _WORDS:
            raise refused(f"column {name!r}, line {line}: write yes or no, not {cell[:LONGEST_CELL]!r}", f"/{name}")
        found.append(_WORDS[cell.lower()])
    return found


def guard_columns(table: Table, known: Sequence[str], needed: Sequence[str]) -> None:
    """Problem 422 for a column that nothing uses, and for one that is missing."""
    unused = [name for name in table if name not in known]
    if unused:
        raise refused(f"column {unused[0]!r} is not used; known are {', '.join(known)}", f"/{unused[0]}")
    missing = [name for name in needed if name not in table]
    if missing:
        raise refused(f"the table needs the column {missing[0]}", f"/{missing[0]}")


def series_table(table: Table, rest: dict[str, Any]) -> dict[str, Any]:
    """A series of tests from its table; what the query gives of the series is beside it."""
    guard_columns(table, _COLUMNS, ("life_cycles",))
    given = {name: flags(table, name) if name == "run_out" else numbers(table, name) for name in table}
    about = {key: rest.pop(key) for key in _ABOUT_SERIES if key in rest}
    if "series" in rest:
        raise refused("the table itself gives the series", "/series")
    return {**rest, "series": {**about, **given}}


def _value(text: str) -> Any:
    try:
        return json.loads(text)
    except (ValueError, RecursionError):
        return text
