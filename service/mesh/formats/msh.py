"""Reads MSH files of the versions 2 and 4.1, text or binary: nodes by their numbers, elements, arrays at nodes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from fatcore.errors import InputError
from fatcore.require import FloatArray
from fatcore.stress.weld_lines.solid.elements import SolidElement

from ..raw import OF_FILE, Array, RawMesh
from .cells import Cells, guard_names
from .sections import MshFile, Part, wrong

Numbers = NDArray[np.int64]
Content = TypeVar("Content")
_SOLIDS: dict[int, tuple[SolidElement, list[int]]] = {  # with places of our order among those of the format
    4: ("tet4", list(range(4))),
    5: ("brick8", list(range(8))),
    6: ("wedge6", list(range(6))),
    7: ("pyramid5", list(range(5))),
    11: ("tet10", [*range(8), 9, 8]),
    17: ("brick20", [*range(8), 8, 11, 13, 9, 16, 18, 19, 17, 10, 12, 14, 15]),
    18: ("wedge15", [*range(6), 6, 9, 7, 12, 14, 13, 8, 10, 11]),
    19: ("pyramid13", [*range(5), 5, 8, 10, 6, 7, 9, 11, 12]),
}
_NO_SOLIDS = {
    1: ("line", 2),
    2: ("triangle", 3),
    3: ("quad", 4),
    8: ("line3", 3),
    9: ("triangle6", 6),
    10: ("quad9", 9),
    15: ("vertex", 1),
    16: ("quad8", 8),
    21: ("triangle10", 10),
    26: ("line4", 4),
    27: ("line5", 5),
    20: ("triangle9", 9),
    36: ("quad16", 16),
}


def read_msh(file: Path) -> RawMesh:
    """The mesh of an MSH file.

    Raises : InputError for a number that stands for two nodes, nodes that there are not, two arrays of one name or
             one on other nodes than the mesh has, and what cannot be read
    """
    try:
        return _mesh(MshFile(file.read_bytes()))
    except InputError:
        raise
    except (ValueError, IndexError, OverflowError, UnicodeDecodeError, MemoryError) as error:
        raise wrong("a section is no row of numbers as announced; the file may be cut off") from error


def _mesh(file: MshFile) -> RawMesh:
    version, binary = file.begin()
    new = version == "4.1"
    read_nodes, read_elements = (_nodes_of_blocks, _elements_of_blocks) if new else (_nodes, _elements)
    nodes = [_whole(part, read_nodes(part)) for part in file.sections("Nodes", binary=binary)]
    elements = [_whole(part, read_elements(part)) for part in file.sections("Elements", binary=binary)]
    ids, points = _only(nodes, "nodes")
    if len(np.unique(ids)) < len(ids):
        raise wrong("a node number stands for two nodes")
    placed = _Places(ids)
    cells, other = _cells(_only(elements, "elements"), placed)
    arrays = [_whole(part, _node_data(part, binary)) for part in file.sections("NodeData")]
    guard_names(name for name, *_ in arrays)
    lying = {"elements, at their nodes": "ElementNodeData", "elements": "ElementData"}
    return RawMesh(
        points=points,
        cells=cells,
        other=other,
        point_data={name: _in_order(name, numbers, rows, placed) for name, numbers, rows in arrays},
        elsewhere={_name(part): where for where, key in lying.items() for part in file.sections(key)},
        node_id=ids,
        numbered=OF_FILE,
    )


def _whole(part: Part, content: Content) -> Content:
    """The content, once the section ends where it is read to."""
    part.end()
    return content


def _only(sections: list[Any], what: str) -> Any:
    """The section, which writers that add arrays to a file repeat."""
    if not sections:
        raise wrong(f"it has no section of {what}")
    first, *others = sections
    if any(not _alike(first, other) for other in others):
        raise InputError(f"the file has {len(sections)} sections of {what} that differ", "mesh")
    return first


def _alike(one: Any, other: Any) -> bool:
    if isinstance(one, Mapping):
        return one.keys() == other.keys() and all(np.array_equal(one[key], other[key]) for key in one)
    return all(np.array_equal(a, b) for a, b in zip(one, other, strict=True))


@dataclass(slots=True)
class _Places:
    """Places of nodes by their numbers."""

    ids: Numbers

    def of(self, numbers: Numbers) -> Numbers | None:
        """Places; None where there is no such node."""
        order = np.argsort(self.ids, kind="stable")
        if not len(order):
            return None if numbers.size else numbers
        at = order[np.minimum(np.searchsorted(self.ids[order], numbers), len(order) - 1)]
        return np.asarray(at) if (self.ids[at] == numbers).all() else None


def _nodes(part: Part) -> tuple[Numbers, FloatArray]:
    count = int(part.line())
    if part.binary:
        record = np.frombuffer(part.content, np.dtype([("id", "i4"), ("at", "f8", 3)]), count, part.at)
        part.at += record.nbytes
        return record["id"].astype(np.int64), record["at"].astype(np.float64)
    rows = [part.line().split() for _ in range(_bounded(part, count))]
    if any(len(row) != 4 for row in rows):
        raise wrong("a node has no three coordinates, or a section ends before all that it announces")
    places = np.array([row[1:] for row in rows], dtype=np.float64).reshape(-1, 3)
    return np.array([row[0] for row in rows], dtype=np.int64), places


def _bounded(part: Part, count: int) -> int:
    if not 0 <= count <= len(part.content):
        raise wrong(f"it announces {count} rows, more than it can hold")
    return count


def _nodes_of_blocks(part: Part) -> tuple[Numbers, FloatArray]:
    """Blocks of nodes, each with its numbers, then the coordinates, and parameters behind them."""
    blocks, total, _, _ = part.take("u8", 4).tolist()
    ids, points = list[Numbers](), list[FloatArray]()
    for _ in range(_bounded(part, blocks)):
        dimension, _, parametric = part.take("i4", 3).tolist()
        count = int(part.take("u8", 1)[0])
        wide = 3 + (dimension if parametric else 0)
        ids.append(part.take("u8", count).astype(np.int64))
        points.append(part.take("f8", count * wide).reshape(count, wide)[:, :3])
    numbers = np.concatenate([np.empty(0, dtype=np.int64), *ids])
    if len(numbers) != total:
        raise wrong(f"it announces {total} nodes, and holds {len(numbers)}")
    return numbers, np.concatenate([np.empty((0, 3)), *points])


Rows = dict[int, Numbers]  # by the format's number of a kind, numbers of the element and its nodes (n, 1 + size)


def _size(kind: int) -> int:
    if kind in _SOLIDS:
        return len(_SOLIDS[kind][1])
    if kind in _NO_SOLIDS:
        return _NO_SOLIDS[kind][1]
    known = ", ".join(name for name, _ in _SOLIDS.values())
    raise wrong(f"elements of type {kind} are none of {known}")


def _elements(part: Part) -> Rows:
    """Of version 2: a line an element, or blocks of elements with as many tags."""
    count, found = int(part.line()), dict[int, list[list[int]]]()
    if part.binary:
        return _elements_of_records(part, count)
    for _ in range(_bounded(part, count)):
        words = part.line().split()
        if words[:1] and words[0].startswith(b"$"):
            raise wrong("the elements end before all that are announced")
        number, kind, tags, *rest = map(int, words)
        if len(rest) != tags + _size(kind):
            raise wrong(f"an element of type {kind} has not {_size(kind)} nodes")
        found.setdefault(kind, []).append([number, *rest[tags:]])
    return {kind: np.array(rows, dtype=np.int64) for kind, rows in found.items()}


def _elements_of_records(part: Part, count: int) -> Rows:
    found, seen = dict[int, list[Array]](), 0
    while seen < count:
        kind, several, tags = part.take("i4", 3).tolist()
        wide = 1 + tags + _size(kind)
        rows = part.take("i4", several * wide).reshape(several, wide)
        found.setdefault(kind, []).append(np.delete(rows, slice(1, 1 + tags), axis=1))
        seen += max(several, 1)
    if seen != count:
        raise wrong(f"it announces {count} elements, and holds {seen}")
    return {kind: np.concatenate(rows).astype(np.int64) for kind, rows in found.items()}


def _elements_of_blocks(part: Part) -> Rows:
    blocks, total, _, _ = part.take("u8", 4).tolist()
    found, seen = dict[int, list[Array]](), 0
    for _ in range(_bounded(part, blocks)):
        _, _, kind = part.take("i4", 3).tolist()
        count = int(part.take("u8", 1)[0])
        wide = 1 + _size(kind)
        found.setdefault(kind, []).append(part.take("u8", count * wide).reshape(count, wide))
        seen += count
    if seen != total:
        raise wrong(f"it announces {total} elements, and holds {seen}")
    return {kind: np.concatenate(rows).astype(np.int64) for kind, rows in found.items()}


def _cells(rows: Rows, placed: _Places) -> Cells:
    solids, other = list[tuple[SolidElement, Numbers]](), dict[str, int]()
    own = np.concatenate([np.empty(0, dtype=np.int64), *(each[:, 0] for each in rows.values())])
    if len(np.unique(own)) < len(own):
        raise wrong("an element number stands for two elements")
    for kind, numbers in rows.items():
        if kind in _NO_SOLIDS:
            other[_NO_SOLIDS[kind][0]] = len(numbers)
            continue
        places = placed.of(numbers[:, 1:])
        if places is None:
            raise wrong("an element names a node that there is not")
        solids.append((_SOLIDS[kind][0], places[:, _SOLIDS[kind][1]]))
    return tuple(solids), other


def _name(part: Part) -> str:
    """The first of the texts at the head of an array, in quotes, which may have quotes within."""
    texts = [part.line() for _ in range(_bounded(part, int(part.line())))]
    name = texts[0].decode(errors="replace") if texts else ""
    return (name[1:-1] if len(name) > 1 and name[0] == name[-1] == '"' else name).strip()


def _node_data(part: Part, binary: bool) -> tuple[str, Numbers, Array]:
    """Name, numbers of nodes (n,) and rows; tags are texts, numbers and whole numbers, a line each."""
    name = _name(part)
    _, whole = ([part.line() for _ in range(_bounded(part, int(part.line())))] for _ in range(2))
    wide, count = int(whole[1]), _bounded(part, int(whole[2]))
    if binary:
        record = np.dtype([("id", "i4"), ("values", "f8", (wide,))])
        found = np.frombuffer(part.content, record, count, part.at)
        part.at += found.nbytes
        return name, found["id"].astype(np.int64), found["values"].astype(np.float64)
    rows = [part.line().split() for _ in range(count)]
    if any(len(row) != 1 + wide for row in rows):
        raise wrong(f"array {name!r} has not {wide} numbers at each of {count} nodes")
    numbers = np.array([row[0] for row in rows], dtype=np.int64)
    return name, numbers, np.array([row[1:] for row in rows], dtype=np.float64).reshape(count, wide)


def _in_order(name: str, numbers: Numbers, rows: Array, placed: _Places) -> Array:
    """Rows in the order of the nodes, nan where a node has none."""
    places = placed.of(numbers)
    if places is None or len(np.unique(numbers)) < len(numbers):
        raise InputError(f"array {name!r} is given at other nodes than the mesh has, or at one twice", "mesh")
    found = np.full((len(placed.ids), rows.shape[1]), np.nan)
    found[places] = rows
    return found[:, 0] if found.shape[1] == 1 else found
