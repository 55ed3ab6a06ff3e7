"""Reads VTU bodies within bounds: no entities, one piece, data of no more than a stated size.

The file format is open and simple; a reader of our own holds a body from the network to limits of time and
memory, and the service needs no mesh library for it.
"""

from __future__ import annotations

import base64
import binascii
import re
import zlib
from dataclasses import dataclass
from typing import Any
from xml.etree import ElementTree

import numpy as np

from fatcore.errors import InputError

from ...base.refused.syntax import xml_words
from ..raw import Array, RawMesh
from .cells import Cells, by_kind, guard_names, within

MAX_BYTES = 1 << 30  # of all arrays together
_MOST_COMPONENTS = 1000
_TYPES = {f"{kind}{bits}": f"{kind[0].lower()}{bits // 8}" for kind in ("Int", "UInt") for bits in (8, 16, 32, 64)}
_TYPES |= {"Float32": "f4", "Float64": "f8"}


def read_vtu(body: bytes, limit_bytes: int = MAX_BYTES) -> RawMesh:
    """The mesh of a VTU file: ascii, binary or appended data, plain or zlib-compressed.

    Raises : InputError with what is wrong and where
    """
    root, appended = _parts(body)
    piece = _only(root, "UnstructuredGrid/Piece")
    reader = _Reader(root, limit_bytes, appended)
    points = reader.array(_only(piece, "Points/DataArray")).astype(np.float64)
    if points.ndim != 2 or points.shape[1] != 3 or len(points) != _count(piece, "NumberOfPoints"):
        raise _wrong("Points must be NumberOfPoints rows of three")
    cells, other = _cells(piece, reader, len(points))
    found = [(element, reader.array(element)) for element in _named(piece, "PointData")]
    fitting = {_name(element): (element, array) for element, array in found if len(array) == len(points)}
    return RawMesh(
        points=points,
        cells=cells,
        other=other,
        point_data={name: array for name, (_, array) in fitting.items()},
        components={name: names for name, (element, _) in fitting.items() if (names := _component_names(element))},
        elsewhere={_name(element): "cells" for element in _named(piece, "CellData")},
        node_id=np.arange(len(points)),
        numbered="places in the file, from 0",
    )


def _wrong(message: str) -> InputError:
    return InputError(f"not a VTU file that can be read: {message}", "mesh")


def _parts(body: bytes) -> tuple[ElementTree.Element, _Packed | None]:
    """The tree of the file, and the data behind it that arrays refer to by offset, which need not be XML."""
    opening = re.search(rb"<AppendedData[^>]*>\s*_", body)
    if opening is None:
        return _root(body), None
    content = body[opening.end() : body.rfind(b"</AppendedData>")]
    raw = b'encoding="raw"' in opening.group()
    return _root(body[: opening.start()] + b"</VTKFile>"), _Packed(content if raw else content.strip(), raw)


def _root(body: bytes) -> ElementTree.Element:
    try:  # text that the parser need not decode: what is declared in another encoding is seen as well
        text = body.decode("utf-8")
    except UnicodeDecodeError as error:
        raise _wrong("it is not UTF-8") from error
    if "<!DOCTYPE" in text or "<!ENTITY" in text:
        raise _wrong("it declares entities, which a mesh does not need")
    try:
        root = ElementTree.fromstring(text)
    except (ElementTree.ParseError, ValueError) as error:
        raise _wrong(f"{xml_words(error)}; the file may be cut off") from error
    if root.tag != "VTKFile" or root.get("type") != "UnstructuredGrid":
        raise _wrong("it holds no unstructured grid")
    return root


def _only(parent: ElementTree.Element, path: str) -> ElementTree.Element:
    found = parent.findall(path)
    if len(found) != 1:
        why = " (several pieces have their own nodes at their borders: write one piece)" if found else ""
        raise _wrong(f"it has {len(found)} {path} where one is needed{why}")
    return found[0]


def _count(piece: ElementTree.Element, name: str) -> int:
    text = piece.get(name, "")
    if not text.isdecimal() or len(text) > 12:
        raise _wrong(f"{name} is no number")
    return int(text)


def _named(piece: ElementTree.Element, where: str) -> list[ElementTree.Element]:
    """Arrays that have a name; of one name there may be one, whichever a reader would take."""
    section = piece.find(where)
    found = [each for each in (() if section is None else section) if each.tag == "DataArray" and each.get("Name")]
    guard_names(map(_name, found))
    return found


def _name(element: ElementTree.Element) -> str:
    return element.get("Name", "").strip()


def _component_names(element: ElementTree.Element) -> tuple[str, ...]:
    """What the file calls the numbers of a node, each at its place; none where it names not one."""
    wide = int(element.get("NumberOfComponents", "1"))
    found = tuple(element.get(f"ComponentName{at}", "").strip() for at in range(wide))
    return found if any(found) else ()


def _cells(piece: ElementTree.Element, reader: _Reader, points: int) -> Cells:
    arrays = {element.get("Name"): reader.array(element) for element in piece.findall("Cells/DataArray")}
    missing = [name for name in ("connectivity", "offsets", "types") if name not in arrays]
    if missing:
        raise _wrong(f"its cells have no {' and no '.join(missing)}")
    nodes, ends, types = (arrays[name].ravel().astype(np.int64) for name in ("connectivity", "offsets", "types"))
    if not len(ends) == len(types) == _count(piece, "NumberOfCells"):
        raise _wrong("offsets and types must be NumberOfCells long")
    sizes = np.diff(ends, prepend=0)
    if (sizes < 0).any() or (len(ends) and ends[-1] != len(nodes)) or not within(nodes, points):
        raise _wrong("connectivity and offsets contradict each other or the number of points")
    return by_kind(nodes, ends - sizes, sizes, types, _wrong)


@dataclass(frozen=True, slots=True)
class _Packed:
    """Data as bytes, or as base64 of them."""

    content: bytes
    raw: bool

    def at(self, start: int, size: int) -> bytes:
        """So many bytes from a place in the content, or fewer at its end."""
        part = self.content[start : start + self.length(size)]
        return part if self.raw else _base64(part)[:size]

    def length(self, size: int) -> int:
        """How much of the content so many bytes take."""
        return size if self.raw else 4 * -(-size // 3)


def _base64(text: bytes) -> bytes:
    try:
        return base64.b64decode(text, validate=True)
    except (binascii.Error, ValueError) as error:
        raise _wrong(f"{error}") from error


@dataclass(slots=True)
class _Reader:
    """Arrays of one file; `left` bytes may still be taken."""

    root: ElementTree.Element
    left: int
    appended: _Packed | None

    def array(self, element: ElementTree.Element) -> Array:
        """The numbers of a DataArray, rows of its components where it has several."""
        kind = _TYPES.get(element.get("type", ""))
        if kind is None:
            raise _wrong(f"array {element.get('Name')!r} is of type {element.get('type')!r}")
        values = self._values(element, np.dtype(f"{self._order()}{kind}"))
        width = element.get("NumberOfComponents", "1")
        if not width.isdecimal() or not 1 <= int(width) <= _MOST_COMPONENTS or values.size % int(width):
            raise _wrong(f"array {element.get('Name')!r} is no whole number of rows")
        return values if width == "1" else values.reshape(-1, int(width))

    def _order(self) -> str:
        return ">" if self.root.get("byte_order") == "BigEndian" else "<"

    def _values(self, element: ElementTree.Element, dtype: np.dtype[Any]) -> Array:
        form, text = element.get("format", "ascii"), element.text or ""
        if form == "ascii":
            return self._ascii(text, dtype)
        if form == "binary":
            content = self._decoded(_Packed(text.strip().encode(), raw=False), 0)
        elif form == "appended" and self.appended is not None:
            content = self._decoded(self.appended, _offset(element))
        else:
            raise _wrong(f"data format {form!r}")
        if len(content) % dtype.itemsize:
            raise _wrong(f"array {element.get('Name')!r} is cut off")
        return np.frombuffer(content, dtype=dtype)

    def _ascii(self, text: str, dtype: np.dtype[Any]) -> Array:
        words = text.split()
        self._take(dtype.itemsize * len(words))
        try:
            return np.array(words, dtype=dtype)
        except (ValueError, OverflowError) as error:
            raise _wrong(str(error)) from error

    def _take(self, size: int) -> None:
        self.left -= size
        if self.left < 0:
            raise InputError("the arrays of the mesh are larger than the limit", "mesh")

    def _decoded(self, packed: _Packed, start: int) -> bytes:
        """Bytes of one array: a header of sizes, then the data, plain or in compressed parts."""
        item = 8 if self.root.get("header_type") == "UInt64" else 4
        compressor = self.root.get("compressor", "")
        if compressor not in ("", "vtkZLibDataCompressor"):
            raise _wrong(f"compressor {compressor!r}; write it plain or with zlib")
        return self._inflated(packed, start, item) if compressor else self._plain(packed, start, item)

    def _sizes(self, content: bytes, item: int, count: int) -> list[int]:
        if len(content) != item * count:
            raise _wrong("a header is cut off")
        sizes: list[int] = np.frombuffer(content, dtype=f"{self._order()}u{item}").tolist()
        return sizes

    def _plain(self, packed: _Packed, start: int, item: int) -> bytes:
        """In base64 header and data share one text, or have one each, which padding tells."""
        (size,) = self._sizes(packed.at(start, item), item, 1)
        self._take(size)
        behind = start + packed.length(item)
        if packed.raw or packed.content[behind - 1 : behind] == b"=":
            return _whole(packed.at(behind, size), size)
        return _whole(packed.at(start, item + size)[item:], size)

    def _inflated(self, packed: _Packed, start: int, item: int) -> bytes:
        (count,) = self._sizes(packed.at(start, item), item, 1)
        if count > len(packed.content):
            raise _wrong("a header is cut off")
        _, block, last, *lengths = self._sizes(packed.at(start, item * (3 + count)), item, 3 + count)
        data = _whole(packed.at(start + packed.length(item * (3 + count)), sum(lengths)), sum(lengths))
        parts, begin = [], 0
        for number, length in enumerate(lengths):
            full = last if last and number == count - 1 else block
            self._take(full)
            parts.append(_unzipped(data[begin : begin + length], full))
            begin += length
        return b"".join(parts)


def _offset(element: ElementTree.Element) -> int:
    text = element.get("offset", "")
    if not text.isdecimal() or len(text) > 12:
        raise _wrong("an offset into the appended data is no number")
    return int(text)


def _whole(content: bytes, size: int) -> bytes:
    if len(content) != size:
        raise _wrong("data is cut off")
    return content


def _unzipped(content: bytes, size: int) -> bytes:
    """Never takes more memory than was announced."""
    try:
        return _whole(zlib.decompressobj().decompress(content, size + 1), size)
    except zlib.error as error:
        raise _wrong(f"{error}") from error
