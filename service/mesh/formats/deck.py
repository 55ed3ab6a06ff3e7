"""Reads decks of keywords (INP): nodes, elements and node sets, and nothing that would make others beside them."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fatcore.errors import InputError
from fatcore.stress.weld_lines.solid.elements import SolidElement, node_count

from ..raw import OF_FILE, RawMesh

_MOST_INCLUDED = 10  # files within files
_SOLID = re.compile(r"C3D(4|5|6|8|10|13|15|20)([A-Z]*)")
_KINDS: dict[str, SolidElement] = {
    "4": "tet4",
    "5": "pyramid5",
    "6": "wedge6",
    "8": "brick8",
    "10": "tet10",
    "13": "pyramid13",
    "15": "wedge15",
    "20": "brick20",
}
_MORE_NODES = "V"  # a variable number of nodes; other letters are of the integration and of what is solved for
_NO_SOLIDS = re.compile(
    r"(T[23]D|B[23]\d|PIPE|S\d|STRI|DS|CPS|CPE|CPEG|CAX|CGAX|SAX|R[23]D|RAX|M3D|SFM3D|MASS|ROTARYI|HEATCAP|SPRING|DASHPOT|CONN"
    r"|JOINTC|GAP|DCOUP|DGAP|FRAME|ELBOW|ITT|ITS|LS|PSI|DRAG)"
)
# what makes, moves or takes away nodes and elements that are not in the rows of *NODE and *ELEMENT
_UNREAD = {
    **dict.fromkeys(("NGEN", "NFILL", "NCOPY", "NMAP"), "makes or moves nodes"),
    **dict.fromkeys(("ELGEN", "ELCOPY"), "makes elements"),
    **dict.fromkeys(("IMPORT", "IMPORT NODESET", "IMPORT ELSET"), "takes a mesh from another file"),
    "REFINE MESH": "makes nodes and elements",
    "MODEL CHANGE": "takes elements away",
    "SYMMETRIC MODEL GENERATION": "makes nodes and elements",
    "PARAMETER": "puts names in place of numbers",
}
_NO_NUMBERS = re.compile(r"[^-+0-9.,eEdD \t]")
_OWN_SYSTEM = "nodes of a deck are read as x, y, z: it gives them in a system of their own"


@dataclass(frozen=True, slots=True)
class _Block:
    """A keyword with its options, and the rows below it."""

    key: str
    options: Mapping[str, str]
    rows: list[str]


@dataclass(slots=True)
class _Deck:
    """What was gathered from the blocks."""

    points: dict[int, tuple[float, float, float]] = field(default_factory=dict)
    elements: dict[str, list[list[int]]] = field(default_factory=dict)
    element_id: set[int] = field(default_factory=set)
    other: dict[str, int] = field(default_factory=dict)
    sets: dict[str, list[int | str]] = field(default_factory=dict)


def read_deck(file: Path) -> RawMesh:
    """The mesh of a deck.

    Raises : InputError for what would make, move or take away nodes or elements, for rows that are none, numbers
             that stand for two nodes or elements, and nodes that there are not
    """
    deck, parts, instances = _Deck(), 0, 0
    for block in _blocks(_lines(file)):
        parts += block.key == "PART"
        instances += block.key == "INSTANCE"
        if parts > 1 or instances > 1:
            raise _wrong("it holds several parts, or a part several times: write the assembly as one mesh")
        _guard(block)
        try:
            _take(block, deck)
        except InputError:
            raise
        except ValueError as error:
            row = next((row for row in block.rows if _NO_NUMBERS.search(row)), block.rows[0])
            raise _wrong(f"below *{block.key} a row is no list of numbers: {row[:80]!r}") from error
    return _mesh(deck)


def _wrong(message: str) -> InputError:
    return InputError(f"deck not read: {message}", "mesh")


def _lines(file: Path, depth: int = 0) -> Iterator[str]:
    """Lines without comments and blanks, those of included files in their place."""
    with file.open(encoding="utf-8", errors="replace") as lines:
        for number, line in enumerate(lines):
            if "\0" in line:
                raise _wrong(f"line {number + 1} of {file.name} is no text")
            text = line.strip()
            if not text or text.startswith("**"):
                continue
            if _key(text) == "INCLUDE":
                yield from _included(file, text, depth)
            else:
                yield text


def _included(file: Path, text: str, depth: int) -> Iterator[str]:
    name = _options(text).get("INPUT", "").strip("\"'")
    other = file.parent / name
    if depth >= _MOST_INCLUDED or not name or not other.is_file():
        raise _wrong(f"the file of {text!r} is not there, or includes others without end")
    return _lines(other, depth + 1)


def _key(text: str) -> str:
    return " ".join(text.partition(",")[0].removeprefix("*").upper().split()) if text.startswith("*") else ""


def _options(text: str) -> dict[str, str]:
    pairs = (word.partition("=") for word in text.split(",")[1:])
    return {name.strip().upper(): value.strip() for name, _, value in pairs if name.strip()}


def _blocks(lines: Iterator[str]) -> Iterator[_Block]:
    """Keywords with their rows; an option may stand on the line below one that ends with a comma."""
    head, rows = "", list[str]()
    for line in lines:
        if head and not rows and head.endswith(",") and not line.startswith("*"):
            head += line
        elif not line.startswith("*"):
            rows.append(line)
        else:
            yield _Block(_key(head), _options(head), rows)
            head, rows = line, []
    yield _Block(_key(head), _options(head), rows)


def _guard(block: _Block) -> None:
    system = block.options.get("SYSTEM", "R") if block.key == "NODE" else "R"
    if block.key == "SYSTEM" or system.upper() != "R":
        raise InputError(_OWN_SYSTEM, "mesh")
    if block.key == "INSTANCE" and block.rows:
        raise InputError("an instance of a part that is moved is not read: write the assembly as one mesh", "mesh")
    if block.key in _UNREAD:
        raise _wrong(f"*{block.key} {_UNREAD[block.key]}, which is not done here: write the mesh out in full")
    if block.key in ("NODE", "ELEMENT") and "INPUT" in block.options:
        raise _wrong(f"the rows of *{block.key} lie in a file of their own: write them into the deck, or *INCLUDE it")


def _take(block: _Block, deck: _Deck) -> None:
    if block.key == "NODE":
        _take_nodes(block, deck)
    elif block.key == "ELEMENT":
        _take_elements(block, deck)
    elif block.key == "NSET":
        _take_set(block, deck)


def _take_nodes(block: _Block, deck: _Deck) -> None:
    for row in block.rows:
        number, *places = row.rstrip(",").split(",")
        node, (x, y, z) = int(number), (*map(_float, places[:3]), 0.0, 0.0, 0.0)[:3]
        if node in deck.points:
            raise InputError("a node number stands for two nodes, as in several parts: number them in one row", "mesh")
        deck.points[node] = (x, y, z)
        if "NSET" in block.options:
            deck.sets.setdefault(block.options["NSET"], []).append(node)


def _float(text: str) -> float:
    return float(text.strip().upper().replace("D", "E") or 0.0)


def _take_elements(block: _Block, deck: _Deck) -> None:
    """Rows of solids are whole numbers one after the other, an element on as many lines as it needs."""
    name = block.options.get("TYPE", "").upper()
    solid = _SOLID.fullmatch(name)
    if solid is None or _MORE_NODES in solid[2]:
        _count_other(name, block, deck)
        return
    kind = _KINDS[solid[1]]
    numbers = [int(word) for row in block.rows for word in row.split(",") if word.strip()]
    size = 1 + node_count(kind)
    if len(numbers) % size:
        raise _wrong(f"the rows of *ELEMENT, TYPE={name} hold no whole number of elements of {size - 1} nodes")
    rows = [numbers[at : at + size] for at in range(0, len(numbers), size)]
    before = len(deck.element_id)
    deck.element_id.update(row[0] for row in rows)
    if len(deck.element_id) - before < len(rows):
        raise _wrong("an element number stands for two elements")
    deck.elements.setdefault(kind, []).extend(row[1:] for row in rows)


def _count_other(name: str, block: _Block, deck: _Deck) -> None:
    if not _NO_SOLIDS.match(name):
        known = ", ".join(f"C3D{count}" for count in _KINDS)
        raise _wrong(f"elements of TYPE={name or '(none)'} are not known; solids are {known} with their variants")
    ends = sum(not row.endswith(",") for row in block.rows[:-1]) + bool(block.rows)
    deck.other[name] = deck.other.get(name, 0) + ends


def _take_set(block: _Block, deck: _Deck) -> None:
    words = [[word.strip() for word in row.split(",") if word.strip()] for row in block.rows]
    members = deck.sets.setdefault(block.options.get("NSET", ""), [])
    for row in words:
        if "GENERATE" in block.options:
            first, last, step = (*map(int, row), 1)[:3]
            members.append(first)
            members.extend(range(first + step, last + 1, step))
        else:
            members.extend(int(word) if word.isdecimal() else word for word in row)


def _mesh(deck: _Deck) -> RawMesh:
    ids = np.array(list(deck.points), dtype=np.int64)
    place = {node: at for at, node in enumerate(deck.points)}
    return RawMesh(
        points=np.array(list(deck.points.values()), dtype=np.float64).reshape(-1, 3),
        cells=tuple((_kind(kind), _placed(rows, place, "an element")) for kind, rows in deck.elements.items()),
        other=deck.other,
        node_id=ids,
        numbered=OF_FILE,
        node_sets={name: _placed(_members(name, deck), place, f"set {name!r}") for name in deck.sets if name},
    )


def _kind(kind: str) -> SolidElement:
    return next(known for known in _KINDS.values() if known == kind)


def _placed(nodes: object, place: Mapping[int, int], what: str) -> NDArray[np.int64]:
    numbers = np.array(nodes, dtype=np.int64)
    try:
        return np.array([place[node] for node in numbers.ravel().tolist()], dtype=np.int64).reshape(numbers.shape)
    except KeyError as error:
        raise _wrong(f"{what} names node {error.args[0]}, which the deck does not have") from error


def _members(name: str, deck: _Deck, within: tuple[str, ...] = ()) -> list[int]:
    """Nodes of a set, those of the sets that it names among them."""
    found = list[int]()
    for member in deck.sets[name]:
        if isinstance(member, int):
            found.append(member)
        elif member in deck.sets and member not in (*within, name):
            found += _members(member, deck, (*within, name))
        else:
            raise _wrong(f"set {name!r} names {member!r}, which is no node and no other set")
    return found
