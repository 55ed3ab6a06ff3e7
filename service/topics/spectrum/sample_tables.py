"""Tables of samples and their columns; arrays in NPY format, checked before memory is taken."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fatcore.errors import did_you_mean
from fatcore.figures import as_given, counted
from fatcore.require import FloatArray

from ...base.problems import Problem

MAX_SAMPLES = 20_000_000
LARGEST = 1e30  # as for numbers in JSON
MOST_LISTED = 40
NOT_PICKED = "which column is to be read is not said: name it in `columns`"

# the only headers that numpy itself writes for arrays of numbers, plain or with a name for each column;
# nothing in them is evaluated
_KIND = rb"'([<>|](?:f[248]|[iu][1248]))'"
_HEADER = re.compile(
    rb"\{'descr': " + _KIND + rb", 'fortran_order': (True|False), 'shape': \((\d{1,12}),(?: (\d{1,12}))?\), \} *\n"
)
_NAMED = re.compile(
    rb"\{'descr': \[((?:\('[^'\\\n]{1,100}', '[^'\n]{1,8}'\)(?:, )?){1,1000})\], 'fortran_order': (?:True|False),"
    rb" 'shape': \((\d{1,12}),\), \} *\n"
)
_FIELD = re.compile(rb"\('([^'\\\n]{1,100})', " + _KIND + rb"\)")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SampleTable:
    """Histories sampled together, as rows (k, samples); names: of each, none for an array without names."""

    rows: FloatArray
    names: tuple[str, ...]

    def pick(self, wanted: Sequence[str], where: str = "/columns") -> tuple[list[int], list[str]]:
        """Indices and names of columns that are asked for by name or by number, counted from 1.

        Names for all histories of an array that has none name them in its order.
        Raises : Problem 422 for one that is not there, or there twice; where: its pointer
        """
        numbered = all(name.isdecimal() for name in wanted)
        if not self.names and not numbered:
            if len(wanted) != len(self.rows):
                text = f"the array has {counted(len(self.rows), 'row')} where {counted(len(wanted), 'name')} are given"
                raise refused(f"{text}; a number picks one", where)
            return list(range(len(self.rows))), list(wanted)
        found = [self.index(name, where) for name in wanted]
        if len(set(found)) < len(found):
            raise refused("a column is named twice", where)
        return found, [self.names[index] if self.names else str(index + 1) for index in found]

    def index(self, wanted: str, where: str = "/columns") -> int:
        """Where the column of a name or a number is; Problem 422 for one that is not there."""
        if wanted.isdecimal() and 1 <= int(wanted) <= len(self.rows):
            return int(wanted) - 1
        if wanted not in self.names:
            raise self.choice(f"there is no column {wanted!r}{did_you_mean(wanted, self.names)}", where)
        return self.names.index(wanted)

    def choice(self, what: str, where: str = "/columns") -> ColumnChoice:
        """The problem of a wrong choice, with the columns there are."""
        known = self.names or [str(number) for number in range(1, len(self.rows) + 1)]
        return ColumnChoice(what, known, self.listed(), where)

    def listed(self) -> str:
        """What columns there are, in words."""
        size = f"{len(self.rows)} columns of {self.rows.shape[1]} samples"
        if not self.names:
            return f"there are {size}, without names: 1 to {len(self.rows)}"
        return f"there are {size}: {numbered_names(self.names)}"


def numbered_names(names: Sequence[str]) -> str:
    """Columns by number and name; very many are cut.

    >>> numbered_names(["time", "stress"])
    '1 time, 2 stress'
    """
    shown = [f"{number} {name}" for number, name in enumerate(names[:MOST_LISTED], start=1)]
    return ", ".join([*shown, *(["..."] if len(names) > MOST_LISTED else [])])


class ColumnChoice(Problem):
    """Problem 422: columns have to be picked, or one is that is not there.

    what: is wrong with the choice; known: names of the columns, their numbers where they have none; listed: in words
    """

    def __init__(self, what: str, known: Sequence[str], listed: str, where: str = "/columns") -> None:
        self.what, self.known = what, tuple(known)
        message = f"{what}; {listed}"
        super().__init__(422, message, [(where, message)])


def refused(message: str, pointer: str = "") -> Problem:
    """Problem 422 about a table or what is asked of it."""
    return Problem(422, message, [(pointer, message)])


def read_npy(body: bytes, count: int | None = None) -> SampleTable:
    """An array in NPY format: one history, a history a row or a column, or named columns.

    count : how many histories are known to be there, which tells rows from columns; else the longer side of
            an array is time
    """
    start = _header_end(body)
    header = body[10 if body[6:7] == b"\x01" else 12 : start]
    named = _NAMED.fullmatch(header)
    if named is not None:
        return _named_columns(named[1], int(named[2]), body, start)
    values = _npy(header, body, start)
    return SampleTable(rows=values.reshape(1, -1) if values.ndim == 1 else _histories(values, count), names=())


def _histories(values: FloatArray, count: int | None) -> FloatArray:
    rows, columns = values.shape
    if count is not None and count in (rows, columns):
        return values if rows == count else values.T
    if rows == columns and rows > 1:
        raise refused(f"an array of {rows} by {columns} does not tell which side is time: name its rows", "/columns")
    return values if columns > rows else values.T


def _named_columns(described: bytes, size: int, body: bytes, start: int) -> SampleTable:
    fields = _FIELD.findall(described)
    names = [name.decode("latin-1").strip() for name, _ in fields]
    if len(fields) != described.count(b"('"):
        raise refused("every column of the array must hold real numbers of at most 8 bytes")
    guard_names(names)
    kind = np.dtype([(str(index), code.decode()) for index, (_, code) in enumerate(fields)])
    _guard_size(size, kind.itemsize, body, start)
    limited(size * len(names))
    table = np.frombuffer(body, dtype=kind, offset=start)
    return SampleTable(rows=np.stack([table[str(i)].astype(np.float64) for i in range(len(names))]), names=tuple(names))


def _guard_size(count: int, itemsize: int, body: bytes, start: int) -> None:
    if count < 1:
        raise refused("the array holds no sample")
    if count * itemsize != len(body) - start:
        raise refused(f"the header claims {count * itemsize} bytes of numbers, the body holds {len(body) - start}")


def guard_names(names: Sequence[str]) -> None:
    """Problem 422 unless every column has a name of its own."""
    if any(is_number(name) for name in names):
        raise refused("a column is named by a number: the first line, or the array, must name every column")
    if not all(names):
        raise refused("a column has no name: the first line, or the array, must name every column")
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice is not None:
        raise refused(f"more than one column is named {twice!r}")


def _npy(header: bytes, body: bytes, start: int) -> FloatArray:
    found = _HEADER.fullmatch(header)
    if found is None:
        raise refused("the array must be one history, or rows of histories, of real numbers of at most 8 bytes")
    kind = np.dtype(found[1].decode())
    shape = tuple(int(size) for size in found.groups()[2:] if size is not None)
    _guard_size(math.prod(shape), kind.itemsize, body, start)
    limited(math.prod(shape))
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


def is_number(text: str) -> bool:
    """Whether a text is a number, as every program would read it."""
    try:
        float(text)
    except ValueError:
        return False
    return "_" not in text  # which Python would leave out


def limited(samples: int) -> None:
    """Problem 413 for more numbers than are taken at once."""
    if samples > MAX_SAMPLES:
        raise Problem(413, f"{samples} numbers are more than the {MAX_SAMPLES} taken at once")


def checked(rows: FloatArray, names: Sequence[str]) -> FloatArray:
    """The rows of histories of these names, when all numbers are finite and of a size that JSON may have as well."""
    bad = ~(np.abs(rows) <= LARGEST)
    if bad.any():
        row, sample = (int(k[0]) for k in np.nonzero(bad))
        why = f"beyond {as_given(LARGEST)}" if np.isfinite(rows[row, sample]) else "no finite number"
        raise refused(f"sample {sample + 1} of column {names[row]!r} is {why}", f"/{row}/{sample}")
    return np.ascontiguousarray(rows)
