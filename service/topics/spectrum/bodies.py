"""Histories as bodies of their own: arrays in NPY format and tables in CSV, checked before memory is
taken.
"""

from __future__ import annotations

import io
import json
import math
import re
from collections.abc import Callable
from typing import Any

import numpy as np

from fatcore.require import FloatArray

from ...base.problems import Problem
from ...base.units import find_stated_unit, guard_mpa, guard_quantity

MAX_SAMPLES = 20_000_000
LARGEST = 1e30  # as for numbers in JSON

# the only header that numpy itself writes for an array of numbers; nothing in it is evaluated
_HEADER = re.compile(
    rb"\{'descr': '([<>|](?:f[248]|[iu][1248]))', 'fortran_order': (True|False), "
    rb"'shape': \((\d{1,12}),(?: (\d{1,12}))?\), \} *\n"
)

# a comma that cannot group thousands: behind a bare 0, or not before exactly three digits
_DECIMALS = re.compile(r"(?<!\d)0,\d|,\d{1,2}(?!\d)|,\d{4}|,(?!\d)|(?<!\d),")

_BLANK = re.compile(r"\n[^\S\n]*\n")  # a line without a number

Store = Callable[[dict[str, Any], FloatArray, list[str]], None]


def npy_body(store: Store) -> Callable[[bytes, dict[str, str]], dict[str, Any]]:
    """Reader of application/x-npy: one history, or histories as rows named by `columns` in the query.

    store : puts the array (rows x samples) and the names of its rows into the data of the request
    """

    def read(body: bytes, query: dict[str, str]) -> dict[str, Any]:
        data, names = _data_of(query)
        values = _npy(body)
        rows = values.reshape(1, -1) if values.ndim == 1 else values
        if names and len(names) != len(rows):
            raise refused(f"the array has {len(rows)} row(s) where {len(names)} name(s) are given", "/columns")
        for name in names:
            guard_mpa(name)
        _put(store, data, _checked(rows), names)
        return {**data, **_unstated(names)}

    return read


def csv_body(store: Store) -> Callable[[bytes, dict[str, str]], dict[str, Any]]:
    """Reader of text/csv: a line of names, then one row a sample; `columns` in the query picks some of them.

    Columns stand between semicolons, tabs or commas; where commas separate nothing they are decimal signs.
    A blank line is a missing row and refused, but for those at the end.
    """

    def read(body: bytes, query: dict[str, str]) -> dict[str, Any]:
        data, wanted = _data_of(query)
        head, table = _csv(body)
        names = wanted or head
        for name in () if wanted else head:
            guard_quantity(name)
        for name in names:
            if name not in head:
                raise refused(f"the table has no column {name!r}; it has {', '.join(head)}", "/columns")
            guard_mpa(name)
        _put(store, data, _checked(table[:, [head.index(name) for name in names]].T), names)
        return {**data, **_unstated(names)}

    return read


def _put(store: Store, data: dict[str, Any], rows: FloatArray, names: list[str]) -> None:
    """Puts the numbers into the data of the request, where nothing else may have put any."""
    rest = dict(data)
    store(data, rows, names)
    for name, value in rest.items():
        if data[name] is not value:
            raise refused("the table itself gives this", f"/{name}")


def _unstated(names: list[str]) -> dict[str, bool]:
    """The field of the request that says that no unit is named, where a name or all of them lack it."""
    stated = bool(names) and all(find_stated_unit(name) is not None for name in names)
    return {} if stated else {"unit_stated": False}


def refused(message: str, pointer: str = "") -> Problem:
    """Problem 422 about a body or the query that belongs to it."""
    return Problem(422, message, [(pointer, message)])


def _data_of(query: dict[str, str]) -> tuple[dict[str, Any], list[str]]:
    """The rest of the request from the query: JSON where it reads as such, else text; and the column
    names.
    """
    rest = dict(query)
    names = [name.strip() for name in rest.pop("columns", "").split(",") if name.strip()]
    if len(set(names)) < len(names):
        raise refused("a column is named twice", "/columns")
    return {name: _value(text) for name, text in rest.items()}, names


def _value(text: str) -> Any:
    try:
        return json.loads(text)
    except (ValueError, RecursionError):
        return text


def _npy(body: bytes) -> FloatArray:
    start = _header_end(body)
    found = _HEADER.fullmatch(body[10 if body[6:7] == b"\x01" else 12 : start])
    if found is None:
        raise refused("the array must be one history, or rows of histories, of real numbers of at most 8 bytes")
    kind = np.dtype(found[1].decode())
    shape = tuple(int(size) for size in found.groups()[2:] if size is not None)
    if min(shape) < 1:
        raise refused("the array holds no sample")
    claimed, there = math.prod(shape) * kind.itemsize, len(body) - start
    if claimed != there:
        raise refused(f"the header claims {claimed} bytes of numbers, the body holds {there}")
    _limited(math.prod(shape))
    flat = np.frombuffer(body, dtype=kind, offset=start)
    return flat.reshape(shape, order="F" if found[2] == b"True" else "C").astype(np.float64)


def _header_end(body: bytes) -> int:
    """Where the numbers begin; the length that the body states for its header is checked against the body."""
    sizes = {b"\x01\x00": 2, b"\x02\x00": 4}
    if body[:6] != b"\x93NUMPY" or body[6:8] not in sizes:
        raise Problem(400, "the body is no array in NPY format 1.0 or 2.0", [("", "not readable")])
    at = 8 + sizes[body[6:8]]
    end = at + int.from_bytes(body[8:at], "little")
    if end > len(body):
        raise Problem(400, "the body ends within its header", [("", "not readable")])
    return end


def _csv(body: bytes) -> tuple[list[str], FloatArray]:
    try:
        text = body.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise Problem(400, f"the body is not UTF-8 (byte {error.start})", [("", "not UTF-8")]) from error
    first, _, rest = text.lstrip("\r\n").partition("\n")
    mark = next((mark for mark in (";", "\t", ",") if mark in first), ",")
    head = [name.strip().strip('"') for name in first.split(mark)]
    if any(_is_number(name) for name in head) or not all(head) or len(set(head)) < len(head):
        raise refused("the first line must name every column, each once")
    _limited(rest.count("\n") * len(head))
    if "," in rest and (mark != "," or len(head) == 1):
        rest = _with_points(rest)
    rest = rest.rstrip(" \r\n")
    if not rest.strip():
        raise refused("the table holds no sample")
    _guard_blank_lines(rest)
    try:
        table = np.loadtxt(io.StringIO(rest), delimiter=mark, ndmin=2, comments=None)
    except ValueError as error:
        raise refused(f"the table cannot be read: {error}") from error
    if table.shape[1] != len(head):
        raise refused(f"rows of {table.shape[1]} numbers stand under {len(head)} names")
    return head, table


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


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def _limited(samples: int) -> None:
    if samples > MAX_SAMPLES:
        raise Problem(413, f"{samples} numbers are more than the {MAX_SAMPLES} taken at once")


def _checked(rows: FloatArray) -> FloatArray:
    """The rows, when all numbers are finite and of a size that JSON bodies may have as well."""
    bad = ~(np.abs(rows) <= LARGEST)
    if bad.any():
        row, sample = (int(k[0]) for k in np.nonzero(bad))
        raise refused(f"sample {sample} of row {row} is not finite or beyond {LARGEST:g}", f"/{row}/{sample}")
    return np.ascontiguousarray(rows)
