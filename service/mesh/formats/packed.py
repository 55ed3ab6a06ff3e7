"""Arrays of a VTU file: ascii, binary or appended, plain or in compressed parts, within limits of a body."""

from __future__ import annotations

import base64
import binascii
import zlib
from dataclasses import dataclass, field
from typing import Any
from xml.etree import ElementTree

import numpy as np

from fatcore.errors import InputError

from ..raw import Array

_COUNTS_AS = 4  # bytes at least of each number, since those of one byte are widened behind the limit
_PART_BYTES, _FEW_PARTS = 4096, 1000  # so many compressed parts are enough for any data
_MOST_COMPONENTS = 1000
_LAYOUTS = {"byte_order": ("LittleEndian", "BigEndian"), "header_type": ("UInt32", "UInt64")}
_TYPES = {f"{kind}{bits}": f"{kind[0].lower()}{bits // 8}" for kind in ("Int", "UInt") for bits in (8, 16, 32, 64)}
_TYPES |= {"Float32": "f4", "Float64": "f8"}


def wrong(message: str) -> InputError:
    return InputError(f"not a VTU file that can be read: {message}", "mesh")


@dataclass(frozen=True, slots=True)
class Packed:
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
        raise wrong(f"{error}") from error


@dataclass(slots=True)
class Reader:
    """Arrays of one file; `left` bytes may still be taken."""

    root: ElementTree.Element
    left: int
    appended: Packed | None
    parts: int = field(init=False)  # compressed ones that may still be read
    used: int = field(init=False, default=0)  # of the appended data
    offsets: set[int] = field(init=False, default_factory=set)
    weight: int = field(init=False, default=1)  # of a byte of the array that is read

    def __post_init__(self) -> None:
        """Parts in proportion to the data that may be; InputError for bytes in a layout that is not known."""
        for name, known in _LAYOUTS.items():
            if (given := self.root.get(name, known[0])) not in known:
                raise wrong(f'a layout of bytes that is not known here: {name}="{given[:40]}"')
        self.parts = _FEW_PARTS + self.left // _PART_BYTES

    def array(self, element: ElementTree.Element) -> Array:
        """The numbers of a DataArray, rows of its components where it has several."""
        kind = _TYPES.get(element.get("type", ""))
        if kind is None:
            raise wrong(f"array {element.get('Name')!r} is of type {element.get('type')!r}")
        values = self._values(element, np.dtype(f"{self._order()}{kind}"))
        width = element.get("NumberOfComponents", "1")
        if not width.isdecimal() or not 1 <= int(width) <= _MOST_COMPONENTS or values.size % int(width):
            raise wrong(f"array {element.get('Name')!r} is no whole number of rows")
        rows = values.size // int(width)
        if (stated := element.get("NumberOfTuples", str(rows))) != str(rows):
            raise wrong(f"array {element.get('Name')!r} announces {stated[:20]} rows, and holds {rows}")
        return values if width == "1" else values.reshape(-1, int(width))

    def _order(self) -> str:
        return ">" if self.root.get("byte_order") == "BigEndian" else "<"

    def _values(self, element: ElementTree.Element, dtype: np.dtype[Any]) -> Array:
        form, text = element.get("format", "ascii"), element.text or ""
        if any((part.tail or "").strip() for part in element):
            raise wrong(f"array {element.get('Name')!r} has numbers behind a part of it")
        self.weight = max(1, _COUNTS_AS // dtype.itemsize)
        if form == "ascii":
            return self._ascii(text, dtype)
        if form == "binary":
            packed = Packed(text.strip().encode(), raw=False)
            content, end = self._decoded(packed, 0)
            if end != len(packed.content):
                raise wrong(f"array {element.get('Name')!r} goes on behind what it announces")
        elif form == "appended" and self.appended is not None:
            content = self._of_appended(self.appended, _offset(element))
        else:
            raise wrong(f"data format {form!r}")
        if len(content) % dtype.itemsize:
            raise wrong(f"array {element.get('Name')!r} is cut off")
        return np.frombuffer(content, dtype=dtype)

    def _of_appended(self, packed: Packed, start: int) -> bytes:
        """Every array has its own place, so that reading all of them takes the data once."""
        content, end = self._decoded(packed, start)
        self.used += end - start
        if start in self.offsets or self.used > len(packed.content):
            raise wrong("several arrays lie at one place of the appended data")
        self.offsets.add(start)
        return content

    def _ascii(self, text: str, dtype: np.dtype[Any]) -> Array:
        words = text.split()
        self._take(dtype.itemsize * len(words))
        try:
            return np.array(words, dtype=dtype)
        except (ValueError, OverflowError) as error:
            raise wrong(str(error)) from error

    def _take(self, size: int) -> None:
        self.left -= size * self.weight
        if self.left < 0:
            raise InputError("the arrays of the mesh are larger than the limit", "mesh")

    def _decoded(self, packed: Packed, start: int) -> tuple[bytes, int]:
        """Bytes of one array, and where it ends: a header of sizes, then the data, plain or in compressed parts."""
        item = 8 if self.root.get("header_type") == "UInt64" else 4
        compressor = self.root.get("compressor", "")
        if compressor not in ("", "vtkZLibDataCompressor"):
            raise wrong(f"compressor {compressor!r}; write it plain or with zlib")
        return self._inflated(packed, start, item) if compressor else self._plain(packed, start, item)

    def _sizes(self, content: bytes, item: int, count: int) -> list[int]:
        if len(content) != item * count:
            raise wrong("a header is cut off")
        sizes: list[int] = np.frombuffer(content, dtype=f"{self._order()}u{item}").tolist()
        return sizes

    def _plain(self, packed: Packed, start: int, item: int) -> tuple[bytes, int]:
        """In base64 header and data share one text, or have one each, which padding tells."""
        (size,) = self._sizes(packed.at(start, item), item, 1)
        self._take(size)
        behind = start + packed.length(item)
        if packed.raw or packed.content[behind - 1 : behind] == b"=":
            return _whole(packed.at(behind, size), size), behind + packed.length(size)
        return _whole(packed.at(start, item + size)[item:], size), start + packed.length(item + size)

    def _inflated(self, packed: Packed, start: int, item: int) -> tuple[bytes, int]:
        (count,) = self._sizes(packed.at(start, item), item, 1)
        self.parts -= count
        if count > len(packed.content) or self.parts < 0:
            raise wrong("a header is cut off, or it has more compressed parts than its data need")
        if not count:
            return b"", start + packed.length(item)
        _, block, last, *lengths = self._sizes(packed.at(start, item * (3 + count)), item, 3 + count)
        if not block:
            raise wrong("its data come in compressed parts of no size")
        behind = start + packed.length(item * (3 + count))
        data = _whole(packed.at(behind, sum(lengths)), sum(lengths))
        parts, begin = [], 0
        for number, length in enumerate(lengths):
            full = last if last and number == count - 1 else block
            self._take(full)
            parts.append(_unzipped(data[begin : begin + length], full))
            begin += length
        return b"".join(parts), behind + packed.length(sum(lengths))


def _offset(element: ElementTree.Element) -> int:
    text = element.get("offset", "")
    if not text.isdecimal() or len(text) > 12:
        raise wrong("an offset into the appended data is no number")
    return int(text)


def _whole(content: bytes, size: int) -> bytes:
    if len(content) != size:
        raise wrong("data is cut off")
    return content


def _unzipped(content: bytes, size: int) -> bytes:
    """Never takes more memory than was announced."""
    try:
        return _whole(zlib.decompressobj().decompress(content, size + 1), size)
    except zlib.error as error:
        raise wrong(f"{error}") from error
