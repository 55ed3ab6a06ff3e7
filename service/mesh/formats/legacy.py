"""Reads legacy VTK files, text or binary: the grid, its arrays at nodes, and names of their components."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path
from typing import Any
from urllib.parse import unquote

import numpy as np
from numpy.typing import NDArray

from fatcore.errors import InputError

from ..raw import Array, ArrayKey, RawMesh
from .cells import TENSOR6, Cells, by_kind, guard_ghosts, guard_names, other_places, whole, within

_TYPES = {
    "float": "f4",
    "double": "f8",
    "int": "i4",
    "unsigned_int": "u4",
    "long": "i8",
    "unsigned_long": "u8",
    "short": "i2",
    "unsigned_short": "u2",
    "char": "i1",
    "signed_char": "i1",
    "unsigned_char": "u1",
    "vtkidtype": "i4",
    "vtktypeint64": "i8",
    "vtktypeuint64": "u8",
    "vtktypeint32": "i4",
    "vtktypeuint32": "u4",
}
_WIDTHS = {"VECTORS": 3, "NORMALS": 3, "TENSORS": 9, "TENSORS6": 6, "GLOBAL_IDS": 1, "PEDIGREE_IDS": 1}
_ONCE = ("DATASET", "POINTS", "CELLS", "CELL_TYPES")


def read_vtk(file: Path) -> RawMesh:
    """The mesh of a legacy VTK file.

    Raises : InputError with what is wrong
    """
    text = _Text(file.read_bytes())
    version = re.match(rb"# vtk DataFile Version (\d+)\.\d+", text.line())
    text.line()
    form = text.line().strip().upper()
    if version is None or form not in (b"ASCII", b"BINARY"):
        raise _wrong("it does not begin as one does")
    text.binary = form == b"BINARY"
    grid = _Grid(text, new=int(version[1]) >= 5)
    try:
        while words := text.words():
            grid.take(words)
    except InputError:
        raise
    except (ValueError, IndexError, OverflowError, UnicodeDecodeError) as error:
        raise _wrong(f"what stands before byte {text.at} is no number, or the file is cut off") from error
    return grid.mesh()


def _wrong(message: str) -> InputError:
    return InputError(f"not a legacy VTK file that can be read: {message}", "mesh")


@dataclass(slots=True)
class _Text:
    """Lines and numbers one after the other."""

    content: bytes
    at: int = 0
    binary: bool = False

    def line(self) -> bytes:
        """The next line, empty behind the last."""
        end = self.content.find(b"\n", self.at)
        end = len(self.content) if end < 0 else end
        found, self.at = self.content[self.at : end], min(end + 1, len(self.content))
        return found

    def words(self) -> list[str]:
        """Words of the next line that has some; none at the end."""
        while self.at < len(self.content):
            if words := self.line().decode().split():
                return words
        return []

    def peek(self) -> str:
        """The first word of the next line that has one."""
        at = self.at
        words = self.words()
        self.at = at
        return words[0] if words else ""

    def numbers(self, name: str, count: int) -> Array:
        """So many numbers of a type."""
        kind = _TYPES.get(name.lower())
        if kind is None:
            raise _wrong(f"numbers of type {name!r}")
        dtype: np.dtype[Any] = np.dtype(f">{kind}")
        if count < 0 or count > len(self.content):
            raise _wrong(f"it announces {count} numbers, more than it can hold")
        return self._packed(dtype, count) if self.binary else self._written(dtype, count)

    def _packed(self, dtype: np.dtype[Any], count: int) -> Array:
        found = np.frombuffer(self.content, dtype, count, self.at)
        self.at += found.nbytes
        return found

    def _written(self, dtype: np.dtype[Any], count: int) -> Array:
        found: list[bytes] = []
        while len(found) < count and self.at < len(self.content):
            found += self.line().split()
        if len(found) != count:
            raise _wrong(f"{len(found)} numbers before byte {self.at} where {count} are announced")
        return np.array(found, dtype=dtype)


@dataclass(slots=True)
class _Grid:
    """What was read of the file so far."""

    text: _Text
    new: bool
    points: NDArray[np.float64] = field(default_factory=lambda: np.empty((0, 3)))
    nodes: NDArray[np.int64] = field(default_factory=lambda: np.empty(0, dtype=np.int64))
    ends: NDArray[np.int64] = field(default_factory=lambda: np.empty(0, dtype=np.int64))
    types: NDArray[np.int64] = field(default_factory=lambda: np.empty(0, dtype=np.int64))
    arrays: list[tuple[str, str, Array]] = field(default_factory=list)  # where, name, numbers
    names: dict[ArrayKey, tuple[str, ...]] = field(default_factory=dict)
    fixed: dict[ArrayKey, tuple[str, ...]] = field(default_factory=dict)
    units: dict[str, tuple[str, ...]] = field(default_factory=dict)  # of the points without a name
    sections: set[str] = field(default_factory=set)
    elsewhere: dict[str, str] = field(default_factory=dict)
    where: str = ""
    rows: int = 0
    last: tuple[str, str, int] = ("CELL", "", 0)  # where, name and width of the array before, which what follows is of

    def take(self, words: list[str]) -> None:
        """A section with its numbers."""
        key = words[0].upper()
        if key != "METADATA":
            self.last = ("CELL", "", 0)
        if key in _WIDTHS:
            self._array(words[1], words[2], _WIDTHS[key])
            if key == "TENSORS6":
                self.fixed[unquote(words[1]).strip()] = TENSOR6
            return
        parts: dict[str, Callable[[list[str]], None]] = {
            "DATASET": self._dataset,
            "POINTS": self._points,
            "CELLS": self._cells,
            "CELL_TYPES": self._cell_types,
            "POINT_DATA": self._data,
            "CELL_DATA": self._data,
            "SCALARS": self._scalars,
            "COLOR_SCALARS": self._colours,
            "LOOKUP_TABLE": self._colour_table,
            "TEXTURE_COORDINATES": lambda each: self._array(each[1], each[3], int(each[2])),
            "FIELD": self._field,
            "METADATA": self._metadata,
        }
        if key not in parts:
            raise _wrong(f"its section {words[0][:40]!r} is not known here")
        if key in self.sections and key in _ONCE:
            raise _wrong(f"its section {key} is there twice")
        self.sections.add(key)
        parts[key](words)

    def mesh(self) -> RawMesh:
        """The mesh, once all sections are read."""
        arrays = {place: [(name, row) for at, name, row in self.arrays if at == place] for place in ("POINT", "CELL")}
        guard_names(name for name, _ in arrays["POINT"])
        guard_ghosts((name, row) for _, name, row in self.arrays)
        cells, other = self._kinds()
        return RawMesh(
            points=self.points,
            cells=cells,
            other=other,
            point_data=dict(arrays["POINT"]),
            components=self.names,
            fixed=self.fixed,
            units={name: unit for name, unit in self.units.items() if name},
            length_unit=self.units.get("", ()),
            elsewhere={name: "cells" for name, _ in arrays["CELL"]} | self.elsewhere,
            node_id=np.arange(len(self.points)),
            numbered="places in the file, from 0",
        )

    def _kinds(self) -> Cells:
        sizes = np.diff(self.ends, prepend=0)
        if len(self.ends) != len(self.types) or (sizes < 0).any() or not within(self.nodes, len(self.points)):
            raise _wrong("its cells, their types and its points contradict each other")
        return by_kind(self.nodes, self.ends - sizes, sizes, self.types, _wrong)

    def _dataset(self, words: list[str]) -> None:
        if words[1].upper() != "UNSTRUCTURED_GRID":
            raise _wrong(f"it holds a dataset {words[1]}, and no unstructured grid")

    def _points(self, words: list[str]) -> None:
        self.points = self.text.numbers(words[2], 3 * int(words[1])).astype(np.float64).reshape(-1, 3)
        self.last = ("", "", 3)

    def _cells(self, words: list[str]) -> None:
        count, size = int(words[1]), int(words[2])
        if self.new:
            offsets = whole(self.text.numbers(self.text.words()[1], count), _wrong)
            self.nodes = whole(self.text.numbers(self.text.words()[1], size), _wrong)
            self.ends = offsets[1:]
            if offsets[:1].any() or offsets[-1:].tolist() not in ([size], []):
                raise _wrong("the offsets of its cells do not go from 0 to their nodes")
            return
        self._counted(self.text.numbers("int", size).astype(np.int64), count)

    def _counted(self, flat: NDArray[np.int64], count: int) -> None:
        """Before the nodes of each cell stands their number."""
        starts, at, row = [], 0, flat.tolist()
        while at < len(row):
            starts.append(at)
            at += 1 + max(row[at], 0)
        if at != len(row) or len(starts) != count:
            raise _wrong(f"it announces {count} cells, and holds {len(starts)}")
        keep = np.ones(len(row), dtype=bool)
        keep[starts] = False
        self.nodes, self.ends = flat[keep], np.cumsum(np.maximum(flat[starts], 0))

    def _cell_types(self, words: list[str]) -> None:
        self.types = self.text.numbers("int", int(words[1])).astype(np.int64)

    def _data(self, words: list[str]) -> None:
        self.where, self.rows = words[0].upper().removesuffix("_DATA"), int(words[1])
        known = len(self.points) if self.where == "POINT" else len(self.types)
        if self.rows != known:
            raise _wrong(f"{words[0]} has {self.rows} rows where the mesh has {known}")

    def _array(self, name: str, kind: str, width: int) -> None:
        values = self.text.numbers(kind, self.rows * width)
        self._keep(name, values if width == 1 else values.reshape(-1, width), width)

    def _keep(self, name: str, values: Array, width: int) -> None:
        self.last = (self.where, unquote(name).strip(), width)
        self.arrays.append((*self.last[:2], values))

    def _scalars(self, words: list[str]) -> None:
        if self.text.peek().upper() == "LOOKUP_TABLE":
            self.text.words()
        self._array(words[1], words[2], int(words[3]) if len(words) > 3 else 1)

    def _colours(self, words: list[str]) -> None:
        self._array(words[1], "unsigned_char" if self.text.binary else "float", int(words[2]))

    def _colour_table(self, words: list[str]) -> None:
        self.text.numbers("unsigned_char" if self.text.binary else "float", 4 * int(words[2]))

    def _field(self, words: list[str]) -> None:
        for _ in range(int(words[2])):
            name, wide, rows, kind = self.text.words()
            values = self.text.numbers(kind, int(wide) * int(rows))
            if self.where and int(rows) == self.rows:
                self._keep(name, values if wide == "1" else values.reshape(self.rows, int(wide)), int(wide))
            else:
                self.last = ("CELL", "", 0)
                if self.where == "POINT":
                    self.elsewhere[unquote(name).strip()] = other_places(int(rows), self.rows)
            if self.text.peek().upper() == "METADATA":
                self._metadata(self.text.words())

    def _metadata(self, _given: list[str]) -> None:
        """Up to an empty line; names of components are those of the array before."""
        lines: list[str] = []
        while words := self.text.line().strip():
            lines.append(unquote(words.decode()))
        place, name, width = self.last
        if lines[:1] == ["COMPONENT_NAMES"] and place == "POINT":
            self.names[name] = tuple(lines[1 : 1 + width])
        for line, label in pairwise(lines):
            if line.split()[:2] == ["NAME", "UNITS_LABEL"] and place != "CELL":
                self.units[name] = (label.removeprefix("DATA").strip(),)
