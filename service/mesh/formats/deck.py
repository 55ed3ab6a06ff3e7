"""Reads decks of keywords (INP): nodes, elements and node sets, and nothing that would make others beside them."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fatcore.errors import InputError
from fatcore.findings import Finding, caution
from fatcore.stress.weld_lines.solid.elements import SolidElement, node_count

from ..raw import OF_FILE, RawMesh
from .deck_sets import Members, placed, resolved
from .keywords import UNREAD, Block, label_of, read_blocks, wrong

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
_NO_NUMBERS = re.compile(r"[^-+0-9.,eEdD \t]")
_OWN_SYSTEM = "nodes of a deck are read as x, y, z: it gives them in a system of their own"
_LARGEST = 2**53  # as far as whole numbers go through JSON
_COORDINATES, _OFF_UNIT = 3, 0.01  # what may follow are direction cosines of a normal, of length one
_SCOPES = {
    "PART": "PART",
    "ASSEMBLY": "ASSEMBLY",
    "INSTANCE": "INSTANCE",
    "END PART": "",
    "END INSTANCE": "ASSEMBLY",
    "END ASSEMBLY": "",
}
# what moves nodes before the analysis; contact of all surfaces closes what overlaps a little unless it is told not to
# (common practice of solvers, from memory)
_MOVING = (
    "IMPERFECTION",
    "ADJUST",
    "ADAPTIVE MESH",
    "CONTACT",
    "CONTACT INITIALIZATION DATA",
    "CONTACT INITIALIZATION ASSIGNMENT",
)
_OF_ASSEMBLY = "nodes of the assembly itself"


@dataclass(slots=True)
class _Deck:
    """What was gathered from the blocks; scope: the part, the instance or the assembly that they stand in."""

    points: dict[int, tuple[float, float, float]] = field(default_factory=dict)
    elements: dict[str, list[list[int]]] = field(default_factory=dict)
    element_id: set[int] = field(default_factory=set)
    other: dict[str, int] = field(default_factory=dict)
    sets: dict[str, Members] = field(default_factory=dict)
    names: dict[str, str] = field(default_factory=dict)  # of the sets as they were written first
    scope: str = ""
    local: dict[str, None] = field(default_factory=dict)
    moved: dict[str, None] = field(default_factory=dict)

    def members(self, label: str) -> Members:
        """Of a set, whose name may stand in quotes and in letters of any size."""
        name = label_of(label)
        self.names.setdefault(name.upper(), name)
        return self.sets.setdefault(name.upper(), [])


def read_deck(file: Path) -> RawMesh:
    """The mesh of a deck.

    Raises : InputError for what would make, move or take away nodes or elements, for rows that are none, numbers
             that stand for two nodes or elements, and nodes that there are not
    """
    deck, parts, instances = _Deck(), 0, 0
    for block in read_blocks(file):
        parts += block.key == "PART"
        instances += block.key == "INSTANCE"
        if parts > 1 or instances > 1:
            raise wrong("it holds several parts, or a part several times: write the assembly as one mesh")
        _guard(block)
        deck.scope = _SCOPES.get(block.key, deck.scope)
        _doubt(block, deck)
        try:
            _take(block, deck)
        except InputError:
            raise
        except ValueError as error:
            row = next((row for row in block.rows if _NO_NUMBERS.search(row)), block.rows[0])
            raise wrong(f"below *{block.key} a row is no list of numbers: {row[:80]!r}") from error
    return _mesh(deck)


def _guard(block: Block) -> None:
    system = block.options.get("SYSTEM", "R") if block.key == "NODE" else "R"
    if block.key == "SYSTEM" or system.upper() != "R":
        raise InputError(_OWN_SYSTEM, "mesh")
    if block.key == "INSTANCE" and any(map(_moves, block.rows)):
        raise InputError("an instance of a part that is moved is not read: write the assembly as one mesh", "mesh")
    if block.key in UNREAD and not (block.key == "MODEL CHANGE" and _type(block) == "CONTACT PAIR"):
        raise wrong(f"*{block.key} {UNREAD[block.key]}, which is not done here: write the mesh out in full")
    if block.key in ("NODE", "ELEMENT") and "INPUT" in block.options:
        raise wrong(f"the rows of *{block.key} lie in a file of their own: write them into the deck, or *INCLUDE it")


def _type(block: Block) -> str:
    return " ".join(block.options.get("TYPE", "").upper().split())


def _moves(row: str) -> bool:
    """Whether a row below an instance has anything but zeros."""
    return re.fullmatch(r"[-+0., \t]*", row) is None


def _doubt(block: Block, deck: _Deck) -> None:
    """Marks what turns the directions of results, or moves nodes before the analysis begins."""
    turned = any(len(option) > 1 and "ORIENTATION".startswith(option) for option in block.options)
    layers = any(len(option) > 1 and "COMPOSITE".startswith(option) for option in block.options)
    if block.key == "TRANSFORM" or (block.key == "SOLID SECTION" and (turned or layers)):
        deck.local[f"*{block.key}" + ", ORIENTATION" * turned + ", COMPOSITE" * layers] = None
    tied = block.key == "TIE" or "TIED" in block.options
    adjusted = block.options.get("ADJUST", "YES" if tied else "NO").upper() != "NO"
    if block.key in _MOVING or (block.key in ("TIE", "CONTACT PAIR") and adjusted):
        deck.moved[f"*{block.key}"] = None


def _doubts(deck: _Deck) -> Iterator[Finding]:
    if deck.local:
        text = "results may be in directions of their own, and are taken as those of x, y, z"
        yield caution("stresses-may-be-local", f"the deck has {'; '.join(deck.local)}: {text}")
    if deck.moved:
        text = "nodes may be moved from where the deck has them, which is where they are taken"
        yield caution("nodes-may-be-moved", f"the deck has {'; '.join(deck.moved)}: {text}")


def _take(block: Block, deck: _Deck) -> None:
    if block.key == "NODE" and deck.scope == "ASSEMBLY":
        deck.other[_OF_ASSEMBLY] = deck.other.get(_OF_ASSEMBLY, 0) + len(block.rows)
    elif block.key == "NODE":
        _take_nodes(block, deck)
    elif block.key == "ELEMENT":
        _take_elements(block, deck)
    elif block.key == "NSET" and (deck.scope != "ASSEMBLY" or "INSTANCE" in block.options):
        _take_set(block, deck)


def _guard_numbers(rows: list[str]) -> None:
    if any(map(_NO_NUMBERS.search, rows)):
        raise ValueError


def _take_nodes(block: Block, deck: _Deck) -> None:
    _guard_numbers(block.rows)
    for row in block.rows:
        number, *places = row.rstrip(", \t").split(",")
        node, (x, y, z) = int(number), (*map(_float, places[:_COORDINATES]), 0.0, 0.0, 0.0)[:3]
        if not 1 <= node <= _LARGEST:
            raise wrong(f"a node has the number {number.strip()[:30]}, which is none from 1 to 2^53")
        if node in deck.points:
            raise InputError("a node number stands for two nodes, as in several parts: number them in one row", "mesh")
        _guard_normal(row, [_float(place) for place in places[_COORDINATES:]])
        deck.points[node] = (x, y, z)
        if "NSET" in block.options:
            deck.members(block.options["NSET"]).append(node)


def _guard_normal(row: str, cosines: list[float]) -> None:
    if cosines and (len(cosines) > _COORDINATES or abs(sum(c * c for c in cosines) - 1.0) > _OFF_UNIT):
        raise wrong(f"a node has more numbers than three coordinates and a normal: {row[:80]!r}")


def _float(text: str) -> float:
    return float(text.strip().upper().replace("D", "E") or 0.0)


def _take_elements(block: Block, deck: _Deck) -> None:
    """Rows of solids are whole numbers one after the other, an element on as many lines as it needs."""
    name = _type(block)
    solid = _SOLID.fullmatch(name)
    if solid is None or _MORE_NODES in solid[2]:
        _count_other(name, block, deck)
        return
    if deck.scope == "ASSEMBLY":
        raise wrong("solid elements of the assembly itself are not read: write the assembly as one mesh")
    kind = _KINDS[solid[1]]
    _guard_numbers(block.rows)
    numbers = [int(word) for row in block.rows for word in row.split(",") if word.strip()]
    size = 1 + node_count(kind)
    if len(numbers) % size:
        raise wrong(f"the rows of *ELEMENT, TYPE={name} hold no whole number of elements of {size - 1} nodes")
    if numbers and not 1 <= min(numbers) <= max(numbers) <= _LARGEST:
        raise wrong(f"below *ELEMENT, TYPE={name} a number is none from 1 to 2^53")
    rows = [numbers[at : at + size] for at in range(0, len(numbers), size)]
    before = len(deck.element_id)
    deck.element_id.update(row[0] for row in rows)
    if len(deck.element_id) - before < len(rows):
        raise wrong("an element number stands for two elements")
    deck.elements.setdefault(kind, []).extend(row[1:] for row in rows)


def _count_other(name: str, block: Block, deck: _Deck) -> None:
    if not _NO_SOLIDS.match(name):
        known = ", ".join(f"C3D{count}" for count in _KINDS)
        raise wrong(f"elements of TYPE={name or '(none)'} are not known; solids are {known} with their variants")
    ends = sum(not row.endswith(",") for row in block.rows[:-1]) + bool(block.rows)
    deck.other[name] = deck.other.get(name, 0) + ends


def _take_set(block: Block, deck: _Deck) -> None:
    """A set of the nodes of elements is none that a line can be named by."""
    if "ELSET" in block.options:
        return
    words = [[word.strip() for word in row.split(",") if word.strip()] for row in block.rows]
    members = deck.members(block.options.get("NSET", ""))
    for row in words:
        if "GENERATE" in block.options:
            first, last, step = (*map(int, row), 1)[:3]
            members.append(range(first, first + 1))
            members.append(range(first + step, last + 1, step))
        else:
            members.extend(int(word) if word.isdecimal() else label_of(word).upper() for word in row)


def _mesh(deck: _Deck) -> RawMesh:
    ids = np.array(list(deck.points), dtype=np.int64)
    place = {node: at for at, node in enumerate(deck.points)}
    return RawMesh(
        points=np.array(list(deck.points.values()), dtype=np.float64).reshape(-1, 3),
        cells=tuple((_kind(kind), _nodes(rows, place)) for kind, rows in deck.elements.items()),
        other=deck.other,
        node_id=ids,
        numbered=OF_FILE,
        node_sets={deck.names[key]: nodes for key, nodes in resolved(deck.sets, deck.names, place).items() if key},
        doubts=tuple(_doubts(deck)),
    )


def _kind(kind: str) -> SolidElement:
    return next(known for known in _KINDS.values() if known == kind)


def _nodes(rows: list[list[int]], place: Mapping[int, int]) -> NDArray[np.int64]:
    return placed([node for row in rows for node in row], place, "an element").reshape(len(rows), -1)
