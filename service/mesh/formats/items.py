"""Data items of an XDMF file: numbers in the text, in HDF5 or in binary files beside it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import numpy as np

from fatcore.errors import InputError

from ..raw import Array

Element = ElementTree.Element


def wrong(message: str) -> InputError:
    """An error of this format."""
    return InputError(f"not an XDMF file that can be read: {message}", "mesh")


def product(dimensions: str) -> int:
    """How many numbers dimensions stand for."""
    size = 1
    for word in dimensions.split():
        if not word.isdecimal() or len(word) > 12:
            raise wrong(f"dimensions {dimensions[:40]!r}")
        size *= int(word)
    return size


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
        return found.reshape(shape)

    def _take(self, size: int) -> None:
        self.left -= size
        if self.left < 0:
            raise InputError("the arrays of the mesh are larger than the limit", "mesh")

    def _dtype(self, item: Element) -> np.dtype[Any]:
        kind = item.get("NumberType", item.get("DataType", "Float")).lower()
        letter = {"float": "f", "int": "i", "uint": "u"}.get(kind)
        size = {"char": "1", "uchar": "1"}.get(kind, item.get("Precision", "4"))
        letter = {"char": "i", "uchar": "u"}.get(kind, letter)
        order = {"big": ">", "little": "<"}.get(item.get("Endian", "native").lower(), "=")
        if letter is None or size not in ("1", "2", "4", "8"):
            raise wrong(f"numbers of type {kind!r}")
        return np.dtype(f"{order}{letter}{size}")

    def _of_hdf(self, text: str) -> Array:
        import h5py

        name, _, inside = text.partition(":")
        with h5py.File(self.folder / name) as content:
            held = content[inside]
            self._take(held.size * held.dtype.itemsize)
            return np.asarray(held[()])

    def _of_binary(self, item: Element, dtype: np.dtype[Any], size: int) -> Array:
        if item.get("Compression", "Raw").lower() != "raw":
            raise wrong("a binary file is compressed: write it plain")
        file = self.folder / (item.text or "").strip()
        if not file.is_file():
            raise wrong(f"the binary file {file.name!r} is not there")
        return np.fromfile(file, dtype, size, offset=int(item.get("Seek", "0")))
