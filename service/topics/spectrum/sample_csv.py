"""Tables of samples as CSV texts, checked before memory is taken."""

from __future__ import annotations

import codecs
import io
import re
from collections.abc import Sequence

import numpy as np

from fatcore.figures import counted

from ...base.problems import Problem
from .sample_tables import (
    NOT_PICKED,
    ColumnChoice,
    SampleTable,
    guard_names,
    is_number,
    limited,
    numbered_names,
    refused,
)

LONGEST_SHOWN = 40  # of a cell

# a comma that cannot group thousands: behind a bare 0, or not before exactly three digits
_DECIMALS = re.compile(r"(?<!\d)0,\d|,\d{1,2}(?!\d)|,\d{4}|,(?!\d)|(?<!\d),")

_BLANK = re.compile(r"\n[^\S\n]*\n")  # a line without a number


def guard_picked(body: bytes) -> None:
    """Problem 422 for a CSV text of several columns, told by its line of names alone: others may hold words."""
    names = names_of_csv(body)
    if len(names) > 1:
        raise ColumnChoice(NOT_PICKED, names, f"there are {len(names)} columns: {numbered_names(names)}")


def names_of_csv(body: bytes) -> list[str]:
    """Names in the first line of a CSV text, whatever stands below."""
    first = body.removeprefix(codecs.BOM_UTF8).lstrip(b"\r\n").partition(b"\n")[0]
    return _names_in(first.decode(errors="replace"))[0]


def _names_in(first: str) -> tuple[list[str], str]:
    """Names in the first line of a CSV text, and what stands between them."""
    mark = next((mark for mark in (";", "\t", ",") if mark in first), ",")
    return [name.strip().strip('"') for name in first.split(mark)], mark


def read_csv(body: bytes) -> SampleTable:
    """A CSV text: a line of names, then one row a sample.

    Columns stand between semicolons, tabs or commas; where commas separate nothing they are decimal signs.
    A blank line is a missing row and refused, but for those at the end.
    """
    try:
        text = body.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise Problem(400, f"the table is not UTF-8 text (byte {error.start})", [("", "not UTF-8")]) from error
    if not text.strip():
        raise refused("the table is empty")
    first, _, rest = text.lstrip("\r\n").partition("\n")
    head, mark = _names_in(first)
    guard_names(head)
    limited(rest.count("\n") * len(head))
    if "," in rest and (mark != "," or len(head) == 1):
        rest = _with_points(rest)
    rest = rest.rstrip(" \r\n")
    if not rest.strip():
        raise refused("the table holds no sample")
    _guard_blank_lines(rest)
    try:
        table = np.loadtxt(io.StringIO(rest), delimiter=mark, ndmin=2, comments=None)
    except ValueError as error:
        raise _unreadable(head, mark, rest) from error
    if table.shape[1] != len(head):
        raise _unreadable(head, mark, rest)
    return SampleTable(rows=table.T, names=tuple(head))


def _unreadable(head: Sequence[str], mark: str, rest: str) -> Problem:
    """What is the first thing in the rows that is not as the line of names has it."""
    for number, line in enumerate(rest.splitlines(), start=1):
        cells, where = line.split(mark), f"row {number} under the line of names"
        if len(cells) != len(head):
            return refused(f"{where} has {counted(len(cells), 'cell')} where {counted(len(head), 'name')} stand above")
        for name, cell in zip(head, cells, strict=True):
            if not is_number(cell):
                return refused(
                    f"{where}: column {name!r} holds {_shortened(cell.strip())!r} where a number was expected"
                )
    return refused("the table cannot be read as numbers")


def _shortened(text: str) -> str:
    return text if len(text) <= LONGEST_SHOWN else f"{text[:LONGEST_SHOWN]}..."


def _guard_blank_lines(rest: str) -> None:
    """A blank line between numbers is a value that is missing; in a single column it is an empty cell."""
    lines = "\n" + rest.replace("\r\n", "\n").replace("\r", "\n")
    found = _BLANK.search(lines)
    if found is not None:
        row = lines.count("\n", 0, found.start()) + 1
        raise refused(f"row {row} under the line of names is blank: a value is missing there")


def _with_points(rest: str) -> str:
    """The rows with points for decimal commas, where commas separate no columns."""
    if "." in rest:
        raise refused("the table has numbers with commas and with points: use one decimal sign")
    if not _DECIMALS.search(rest):
        raise refused(
            "every comma stands before three digits and may group thousands as well as mark decimals: "
            "use points, or leave the groups out"
        )
    return rest.replace(",", ".")
