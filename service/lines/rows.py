"""Rows of a CSV table by column name, and the numbers in them."""

from __future__ import annotations

import csv
import io
import itertools
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence

import numpy as np

from fatcore.errors import InputError, did_you_mean
from fatcore.require import FloatArray

from ..topics.spectrum.sample_tables import numbered_names
from .map import Axes, StressColumns, TableLayout

Row = Mapping[str, str]
_MARKS = (",", ";", "\t", "|")  # between columns


def read_rows(text: str, layout: TableLayout) -> list[Row]:
    """Rows of a CSV text by column name, any line ends; blank ones may stand around the rows of a line only.

    Raises : InputError for a column of the layout that is missing or there twice, for a row of other length,
             for a blank row within a line
    """
    reader = csv.reader(io.StringIO(text.lstrip("\ufeff"), newline=None), delimiter=layout.delimiter)
    header, *rows = _all_from_header(reader) or [[]]
    names = [name.strip() for name in header]
    if not names:
        raise InputError("the table is empty", "table")
    for path, column in _places_of(layout):
        if names.count(column) != 1:
            raise InputError(_not_once(column, names, layout.delimiter), "table", *path)
    filled = {number: _row(names, cells, number) for number, cells in enumerate(rows, start=1) if _holds_text(cells)}
    if not filled:
        raise InputError("the table has no rows", "table")
    _guard_blank_rows(filled, [name for name in (layout.line, layout.case) if name])
    return list(filled.values())


def _not_once(column: str, names: Sequence[str], delimiter: str) -> str:
    """A column that is not there, or there twice: with the nearest one, and what stands between others."""
    if column in names:
        return f"the table has more than one column {column!r}"
    others = [mark for mark in _MARKS if mark != delimiter and len(names) == 1 and mark in names[0]]
    if others:
        return (
            f"the table has no column {column!r}: its first line is one name with {delimiter!r} between columns, "
            f"as delimiter has it, and holds {others[0]!r}"
        )
    return f"the table has no column {column!r}{did_you_mean(column, names)}; it has {numbered_names(names)}"


def _all_from_header(reader: Iterable[list[str]]) -> list[list[str]]:
    try:
        return list(itertools.dropwhile(lambda cells: not _holds_text(cells), reader))
    except csv.Error as error:
        raise InputError(f"the table is no CSV: {error}", "table") from error


def _holds_text(cells: list[str]) -> bool:
    return any(cell.strip() for cell in cells)


def _guard_blank_rows(rows: Mapping[int, Row], key: Sequence[str]) -> None:
    """A blank row between two of one line and load case is a station that is missing; between lines it is none.

    rows : by number under the header; key: columns that name line and load case
    """
    for (before, one), (after, other) in itertools.pairwise(rows.items()):
        if after > before + 1 and all(one[name].strip() == other[name].strip() for name in key):
            raise InputError(
                f"row {before + 1} under the header is blank, between rows of one line: a station is missing", "table"
            )


def _row(names: list[str], cells: list[str], number: int) -> Row:
    # cells beyond the header are harmless only when they are empty: else the columns have shifted
    if len(cells) < len(names) or any(cell.strip() for cell in cells[len(names) :]):
        raise InputError(
            f"row {number} under the header has {len(cells)} cells where {len(names)} were expected", "table"
        )
    return dict(zip(names, cells, strict=False))


def columns_of(layout: TableLayout) -> list[str]:
    """Names of the columns that a layout uses."""
    return [name for _, name in _places_of(layout)]


def _places_of(layout: TableLayout) -> Iterator[tuple[tuple[str, ...], str]]:
    """Place of every key of the layout that names a column, and the column."""
    for key in ("line", "order", "position_mm", "node_id", "case"):
        if getattr(layout, key):
            yield (key,), getattr(layout, key)
    groups: dict[tuple[str, ...], Axes | StressColumns | None] = {
        (key,): getattr(layout, key) for key in ("coordinates_mm", "tangent", "bisector", "plate_normal", "stress_mpa")
    }
    groups |= {("cases", name): each for name, each in layout.cases.items()}
    for path, group in groups.items():
        for key, name in group.model_dump().items() if group else ():
            if name:
                yield (*path, key), name


def vectors(rows: Sequence[Row], axes: Axes, layout: TableLayout) -> FloatArray:
    """The vectors of three columns, (n, 3)."""
    return numbers(rows, [axes.x, axes.y, axes.z], layout)


def numbers(rows: Sequence[Row], names: Sequence[str], layout: TableLayout) -> FloatArray:
    """The numbers of columns, (n, m); InputError for a cell that holds none."""
    return np.array([[_number(row[name], name, layout.decimal) for name in names] for row in rows])


def whole_numbers(rows: Sequence[Row], name: str) -> list[int]:
    """The whole numbers of a column; InputError for a cell that holds none."""
    for row in rows:
        if not (row[name].strip().isascii() and row[name].strip().isdigit()):
            raise InputError(f"column {name!r} holds {row[name]!r} where a whole number was expected", "table")
    return [int(row[name]) for row in rows]


def _number(text: str, column: str, decimal: str) -> float:
    try:
        # with a decimal comma a point can only separate thousands; Python would read an underscore as one
        foreign = "_" in text or (decimal == "," and "." in text)
        value = math.nan if foreign else float(text.strip().replace(decimal, "."))
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise InputError(f"column {column!r} holds {text!r} where a number was expected", "table")
    return value
