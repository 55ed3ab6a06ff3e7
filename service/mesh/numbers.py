"""Numbers of the nodes in files whose numbers the library that reads them drops."""

from __future__ import annotations

import mmap
from collections.abc import Callable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.int64]

_NODES = b"$Nodes\n"


def numbers_of_file(file: Path) -> Numbers | None:
    """Numbers of all nodes in the order of the file; None for a format, or a version of it, that has none."""
    read = _READERS.get(file.suffix.lower())
    return None if read is None else read(file)


def _of_deck(file: Path) -> Numbers:
    """Of a deck of keywords: first column below each *NODE."""
    numbers, reading = [], False
    with file.open(encoding="utf-8", errors="replace") as lines:
        for line in lines:
            if line.startswith("*"):
                reading = reading if line.startswith("**") else line.upper().split(",")[0].strip() == "*NODE"
            elif reading and line.strip():
                numbers.append(int(line.split(",")[0]))
    return np.array(numbers, dtype=np.int64)


def _of_msh(file: Path) -> Numbers | None:
    """Of the versions 2 and 4.1, as text or binary in the order of bytes of this machine."""
    with file.open("rb") as stream, mmap.mmap(stream.fileno(), 0, access=mmap.ACCESS_READ) as content:
        form = content[: content.find(b"\n$EndMeshFormat")].split(maxsplit=4)
        start = content.find(_NODES) + len(_NODES)
        version, binary = form[1], form[2] == b"1"
        if version == b"4.1":
            return _of_blocks(content, start) if binary else _of_block_text(_text(content, start))
        if version.startswith(b"2"):
            return _counted(content, start) if binary else _of_lines(_text(content, start))
    return None


def _text(content: mmap.mmap, start: int) -> list[bytes]:
    return content[start : content.find(b"$EndNodes", start)].split(b"\n")


def _of_lines(lines: list[bytes]) -> Numbers:
    count = int(lines[0])
    return np.array([line.split(maxsplit=1)[0] for line in lines[1 : count + 1]], dtype=np.int64)


def _counted(content: mmap.mmap, start: int) -> Numbers:
    """From 1: the library refuses others in these files."""
    return np.arange(1, 1 + int(content[start : content.find(b"\n", start)]), dtype=np.int64)


def _of_block_text(lines: list[bytes]) -> Numbers:
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
