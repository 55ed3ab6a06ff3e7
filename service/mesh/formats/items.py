"""Data items of an XDMF file: numbers in the text, in HDF5 or in binary files beside it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import numpy as np

from fatcore.errors import InputError
from fatcore.findings import Finding, caution

from ..raw import Array

Element = ElementTree.Element
_SIZES = {"f": ("4", "8"), "i": ("1", "2", "4", "8"), "u": ("1", "2", "4", "8")}
_DIGITS = 12  # of a number that something is counted by


def wrong(message: str) -> InputError:
    """An error of this format."""
    return InputError(f"not an XDMF file that can be read: {message}", "mesh")


def product(dimensions: str) -> int:
    """How many numbers dimensions stand for."""
    size = 1
    for word in dimensions.split():
        if not word.isdecimal() or len(word) > _DIGITS:
            raise wrong(f"dimensions {dimensions[:40]!r}")
        size *= int(word)
    return size


def in_rows(values: Array, wide: int, what: str) -> Array:
    """Rows of so many numbers, which stand in one row or in such rows."""
    if values.ndim > 1 and values.shape[-1] != wide:
        raise wrong(f"its {what} stand in rows of {values.shape[-1]}, where they have {wide} numbers")
    if wide < 1 or values.size % wide:
        raise wrong(f"its {what} are no whole number of rows of {wide}")
    return values.reshape(-1, wide)


@dataclass(slots=True)
class Items:
    """Numbers of data items; `left` bytes may still be taken."""

    folder: Path
    left: int

    def array(self, item: Element) -> Array:
        """The numbers in the shape that the item states."""
        if item.get("ItemType", "Uniform").lower() != "uniform" or item.get("Reference") is not None:
            raise wrong("a data item is put together of others: write its numbers")
        shape = [int(word) for word in item.get("Dimensions", "").split()]
        dtype = self._dtype(item)
        size = product(item.get("Dimensions", ""))
        self._take(size * dtype.itemsize)
        form = item.get("Format", "XML").upper()
        if form == "XML":
            found: Array = np.array((item.text or "").split(), dtype=dtype)
        elif form == "HDF":
            found = self._of_hdf((item.text or "").strip())
        elif form == "BINARY":
            found = self._of_binary(item, dtype, size)
        else:
            raise wrong(f"data format {form!r}")
        if found.size != size:
            raise wrong(f"a data item announces {size} numbers, and holds {found.size}")
        if found.ndim > 1 and _rows(found.shape) != _rows(shape):
            held = " ".join(map(str, found.shape))
            raise wrong(f"a data item is stated as {item.get('Dimensions')}, and its file holds {held}")
        return found.reshape(shape)

    def unread(self, root: Element) -> Iterator[Finding]:
        """What no data item takes of a binary file, so that nothing tells whether they begin where they should."""
        spans: dict[Path, set[tuple[int, int]]] = {}
        for item in root.iter("DataItem"):
            if item.get("Format", "").upper() == "BINARY" and self._file(item).is_file():
                size = product(item.get("Dimensions", "")) * self._dtype(item).itemsize
                spans.setdefault(self._file(item), set()).add((_seek(item), size))
        for file, parts in spans.items():
            taken, held = sum(size for _, size in parts), file.stat().st_size
            if taken != held:
                text = f"data items take {taken} of the {held} bytes of the binary file {file.name!r}"
                yield caution("bytes-not-read", f"{text}, at the places that they state")

    def _file(self, item: Element) -> Path:
        return self.folder / (item.text or "").strip()

    def _take(self, size: int) -> None:
        self.left -= size
        if self.left < 0:
            raise InputError("the arrays of the mesh are larger than the limit", "mesh")

    def _dtype(self, item: Element) -> np.dtype[Any]:
        kind = item.get("NumberType", item.get("DataType", "Float")).lower()
        letter = {"float": "f", "int": "i", "uint": "u"}.get(kind)
        size = {"char": "1", "uchar": "1"}.get(kind, item.get("Precision", "4"))
        letter = {"char": "i", "uchar": "u"}.get(kind, letter)
        endian = item.get("Endian", "native").lower()
        order = {"big": ">", "little": "<", "native": "="}.get(endian)
        if order is None:
            raise wrong(f"bytes in the order {endian!r}: write big or little")
        if letter is None or size not in _SIZES[letter]:
            raise wrong(f"numbers of type {kind!r} in {size[:10]} bytes")
        return np.dtype(f"{order}{letter}{size}")

    def _of_hdf(self, text: str) -> Array:
        import h5py

        name, _, inside = text.partition(":")
        called = f"the HDF5 file {name!r}"
        if "|" in inside:
            raise wrong(f"a data item takes a part of a dataset of {called}: write it on its own")
        if not (self.folder / name).is_file():
            raise wrong(f"{called} is not there")
        if not h5py.is_hdf5(self.folder / name):
            raise wrong(f"{called} is none, or cut off")
        with h5py.File(self.folder / name) as content:
            held = content.get(inside)
            if not isinstance(held, h5py.Dataset) or held.dtype.kind not in "iuf":
                raise wrong(f"{called} has no dataset of numbers {inside!r}")
            self._take(held.size * held.dtype.itemsize)
            return np.asarray(held[()])

    def _of_binary(self, item: Element, dtype: np.dtype[Any], size: int) -> Array:
        if item.get("Compression", "Raw").lower() != "raw":
            raise wrong("a binary file is compressed: write it plain")
        file, taken = self._file(item), size * dtype.itemsize
        if not file.is_file():
            raise wrong(f"the binary file {file.name!r} is not there")
        held = file.stat().st_size
        if item.get("Seek") is None and taken != held:
            text = f"the binary file {file.name!r} has {held} bytes where a data item takes {taken}"
            raise wrong(f"{text}: state by Seek at which byte it begins")
        return np.fromfile(file, dtype, size, offset=_seek(item))


def _seek(item: Element) -> int:
    text = item.get("Seek", "0")
    if not text.isdecimal() or len(text) > _DIGITS:
        raise wrong(f"Seek {text[:40]!r} is no whole number of bytes")
    return int(text)


def _rows(shape: Sequence[int]) -> int:
    """How many rows there are, whatever stands in one."""
    return next((count for count in shape if count > 1), 1)
