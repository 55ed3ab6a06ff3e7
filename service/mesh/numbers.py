"""Numbers of the nodes in files whose numbers the library that reads them drops."""

from __future__ import annotations

import mmap
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fatcore.errors import InputError

Numbers = NDArray[np.int64]


def numbers_of_file(file: Path) -> Numbers | None:
    """Numbers of all nodes in the order of the file; None for a format, or a version of it, that has none."""
    read = _READERS.get(file.suffix.lower())
    return None if read is None else read(file)


def _of_deck(file: Path) -> Numbers:
    """Of a deck of keywords: first column below each *NODE.

    Raises : InputError for what moves or repeats nodes, which the library does not see
    """
    numbers, reading, before = [], False, ""
    parts = 0
    with file.open(encoding="utf-8", errors="replace") as lines:
        for line in lines:
            if line.startswith("**"):
                continue
            if line.startswith("*"):
                key, *options = (word.strip() for word in line.upper().split(","))
                parts += key == "*PART"
                reading, before = key == "*NODE", key
                if key == "*SYSTEM" or (reading and any(word.startswith("SYSTEM") for word in options)):
                    raise InputError(
                        "nodes of a deck are read as x, y, z: it gives them in a system of their own", "mesh"
                    )
            elif reading and line.strip():
                numbers.append(int(line.split(",")[0]))
            elif before == "*INSTANCE" and line.strip():
                raise InputError(
                    "an instance of a part that is moved is not read: write the assembly as one mesh", "mesh"
                )
    if parts > 1 or len(set(numbers)) != len(numbers):
        raise InputError("a node number stands for two nodes, as in several parts: number them in one row", "mesh")
    return np.array(numbers, dtype=np.int64)


def _of_msh(file: Path) -> Numbers | None:
    """Of the versions 2 and 4.1, as text or binary in the order of bytes of this machine."""
    with _mapped(file) as content:
        version, binary = _form(content)
        read = _of_version(version, binary)
        found = [] if read is None else [read(content, start) for start in _sections(content, b"Nodes")]
    if any(not np.array_equal(found[0], other) for other in found[1:]):
        raise InputError(f"the file has {len(found)} sections of nodes that differ", "mesh")
    return found[0] if found else None


def _of_version(version: bytes, binary: bool) -> Callable[[mmap.mmap, int], Numbers] | None:
    if version == b"4.1":
        return _of_blocks if binary else _of_block_text
    return (_counted if binary else _of_lines) if version.startswith(b"2") else None


@contextmanager
def _mapped(file: Path) -> Iterator[mmap.mmap]:
    with file.open("rb") as stream, mmap.mmap(stream.fileno(), 0, access=mmap.ACCESS_READ) as content:
        yield content


def _form(content: mmap.mmap) -> tuple[bytes, bool]:
    """Version, and whether the file is binary."""
    words = content[: content.find(b"$EndMeshFormat")].split(maxsplit=4)
    return words[1], words[2] == b"1"


def _sections(content: mmap.mmap, name: bytes) -> list[int]:
    """Where the content of each section of this name begins; binary content hardly holds one."""
    found = re.finditer(rb"^\$" + name + rb"[ \t]*\r?\n", content, re.MULTILINE)
    return [each.end() for each in found]


def _text(content: mmap.mmap, start: int) -> list[bytes]:
    return content[start : content.find(b"$End", start)].splitlines()


class NodeData(NamedTuple):
    """An array of a file: its name, and the number of the node of each of its rows (n,)."""

    name: str
    node_id: Numbers


def node_data_of_msh(file: Path) -> list[NodeData]:
    """The arrays at nodes, whose own numbers the library drops; it keeps the order of their rows."""
    with _mapped(file) as content:
        _, binary = _form(content)
        return [_node_data(content, start, binary) for start in _sections(content, b"NodeData")]


def _node_data(content: mmap.mmap, start: int, binary: bool) -> NodeData:
    """Tags that are texts, numbers and whole numbers, a line each below their number; then the rows."""
    content.seek(start)
    texts, _, (_, wide, count, *_) = (_tags(content) for _ in range(3))
    rows, width = int(count), int(wide)
    if binary:
        record = np.dtype([("number", "i4"), ("values", "f8", width)])
        found = np.frombuffer(content, record, rows, content.tell())["number"].astype(np.int64)
    else:
        found = np.array([content.readline().split(maxsplit=1)[0] for _ in range(rows)], dtype=np.int64)
    return NodeData(texts[0].decode(errors="replace").strip().strip('"'), found)


def _tags(content: mmap.mmap) -> list[bytes]:
    return [content.readline() for _ in range(int(content.readline()))]


def _of_lines(content: mmap.mmap, start: int) -> Numbers:
    lines = _text(content, start)
    count = int(lines[0])
    return np.array([line.split(maxsplit=1)[0] for line in lines[1 : count + 1]], dtype=np.int64)


def _counted(content: mmap.mmap, start: int) -> Numbers:
    """From 1: the library refuses others in these files."""
    return np.arange(1, 1 + int(content[start : content.find(b"\n", start)]), dtype=np.int64)


def _of_block_text(content: mmap.mmap, start: int) -> Numbers:
    lines = _text(content, start)
    found, at, blocks = list[bytes](), 1, int(lines[0].split()[0])
    for _ in range(blocks):
        count = int(lines[at].split()[3])
        found += lines[at + 1 : at + 1 + count]
        at += 1 + 2 * count
    return np.array(found, dtype=np.int64)


def _of_blocks(content: mmap.mmap, start: int) -> Numbers:
    """Blocks of nodes, each with three integers and its size, then the numbers, then the coordinates."""
    blocks = int(np.frombuffer(content, "u8", 1, start)[0])
    found, at = [], start + 32
    for _ in range(blocks):
        dimension, _, parametric = np.frombuffer(content, "i4", 3, at)
        count = int(np.frombuffer(content, "u8", 1, at + 12)[0])
        found.append(np.frombuffer(content, "u8", count, at + 20).astype(np.int64))
        at += 20 + 8 * count * (1 + 3 + (int(dimension) if parametric else 0))
    return np.concatenate([np.empty(0, dtype=np.int64), *found])


_READERS: dict[str, Callable[[Path], Numbers | None]] = {".inp": _of_deck, ".msh": _of_msh}
