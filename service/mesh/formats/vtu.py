"""Reads VTU bodies within bounds: no entities, one piece, data of no more than a stated size.

The file format is open and simple; a reader of our own holds a body from the network to limits of time and
memory, and the service needs no mesh library for it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from xml.etree import ElementTree

import numpy as np

from fatcore.stress.weld_lines.solid.mesh import MAX_ELEMENTS, MAX_NODES

from ...base.problems import Problem
from ...base.refused.syntax import xml_words
from ..raw import Array, ArrayKey, RawMesh
from .cells import TENSOR6, Cells, by_kind, guard_ghosts, guard_names, is_ghosts, other_places, whole, within
from .packed import Packed, Reader, wrong

MAX_BYTES = 1 << 30  # of all arrays together


def read_vtu(
    body: bytes, limit_bytes: int = MAX_BYTES, most_nodes: int = MAX_NODES, most_cells: int = MAX_ELEMENTS
) -> RawMesh:
    """The mesh of a VTU file: ascii, binary or appended data, plain or zlib-compressed.

    limit_bytes : of all arrays together, in which a number counts with at least four bytes
    Raises      : InputError with what is wrong and where; Problem 413 for more nodes or cells than stated
    """
    root, appended = _parts(body)
    piece = _only(root, "UnstructuredGrid/Piece")
    for name, what, most in (("Points", "nodes", most_nodes), ("Cells", "cells", most_cells)):
        if (count := _count(piece, f"NumberOf{name}")) > most:
            raise Problem(413, f"the mesh has {count} {what}, more than {most}")
    reader = Reader(root, limit_bytes, appended)
    given = _only(piece, "Points/DataArray")
    places = reader.array(given)
    if places.ndim != 2 or places.shape[1] != 3 or len(places) != _count(piece, "NumberOfPoints"):
        raise wrong("Points must be NumberOfPoints rows of three")
    points = places.astype(np.float64)
    cells, other = _cells(piece, reader, len(points))
    found = [(element, reader.array(element)) for element in _named(piece, "PointData")]
    by_cell = [element for element in _named(piece, "CellData") if is_ghosts(_name(element))]
    guard_ghosts((_name(element), reader.array(element)) for element in by_cell)
    guard_ghosts((_name(element), array) for element, array in found)
    fitting = {_name(element): (element, array) for element, array in found if len(array) == len(points)}
    return RawMesh(
        points=points,
        cells=cells,
        other=other,
        point_data={name: array for name, (_, array) in fitting.items()},
        components={name: names for name, (element, _) in fitting.items() if (names := _component_names(element))},
        units={name: unit for name, (element, _) in fitting.items() if (unit := _unit(element))},
        length_unit=_unit(given),
        fixed=dict.fromkeys(_active_six(piece, fitting), TENSOR6),
        elsewhere={_name(element): "cells" for element in _named(piece, "CellData")}
        | {_name(each): other_places(len(a), len(points)) for each, a in found if _name(each) not in fitting},
        node_id=np.arange(len(points)),
        numbered="places in the file, from 0",
    )


def _parts(body: bytes) -> tuple[ElementTree.Element, Packed | None]:
    """The tree of the file, and the data behind it that arrays refer to by offset, which need not be XML."""
    opening = re.search(rb"<AppendedData[^>]*>\s*_", body)
    if opening is None:
        return _root(body), None
    content = body[opening.end() : body.rfind(b"</AppendedData>")]
    raw = re.search(rb"""\sencoding\s*=\s*["']raw["']""", opening.group()) is not None
    return _root(body[: opening.start()] + b"</VTKFile>"), Packed(content if raw else content.strip(), raw)


def _root(body: bytes) -> ElementTree.Element:
    try:  # text that the parser need not decode: what is declared in another encoding is seen as well
        text = body.decode("utf-8")
    except UnicodeDecodeError as error:
        raise wrong("it is not UTF-8") from error
    if "<!DOCTYPE" in text or "<!ENTITY" in text:
        raise wrong("it declares entities, which a mesh does not need")
    try:
        root = ElementTree.fromstring(text)
    except (ElementTree.ParseError, ValueError) as error:
        raise wrong(f"{xml_words(error)}; the file may be cut off") from error
    if root.tag != "VTKFile" or root.get("type") != "UnstructuredGrid":
        raise wrong("it holds no unstructured grid")
    return root


def _only(parent: ElementTree.Element, path: str) -> ElementTree.Element:
    found = parent.findall(path)
    if len(found) != 1:
        why = " (several pieces have their own nodes at their borders: write one piece)" if found else ""
        raise wrong(f"it has {len(found)} {path} where one is needed{why}")
    return found[0]


def _count(piece: ElementTree.Element, name: str) -> int:
    text = piece.get(name, "")
    if not text.isdecimal() or len(text) > 12:
        raise wrong(f"{name} is no number")
    return int(text)


def _named(piece: ElementTree.Element, where: str) -> list[ElementTree.Element]:
    """Arrays that have a name; of one name there may be one, whichever a reader would take."""
    sections = piece.findall(where)
    if len(sections) > 1:
        raise wrong(f"it has {len(sections)} times {where}, where one counts")
    found = [each for section in sections for each in section if each.tag == "DataArray" and _name(each)]
    guard_names(map(_name, found))
    return found


def _name(element: ElementTree.Element) -> str:
    return element.get("Name", "").strip()


def _unit(array: ElementTree.Element) -> tuple[str, ...]:
    """The label of its unit that an array carries."""
    keys = (key for key in array.iter("InformationKey") if key.get("name") == "UNITS_LABEL")
    return tuple(unit for key in keys if (unit := " ".join("".join(key.itertext()).split())))


def _active_six(piece: ElementTree.Element, arrays: Mapping[str, tuple[ElementTree.Element, Array]]) -> list[ArrayKey]:
    """The array that counts as the tensors of the nodes, where it has six numbers."""
    names = (each.get("Tensors", "").strip() for each in piece.findall("PointData"))
    return [name for name in names if name in arrays and arrays[name][1].shape[1:] == (6,)]


def _component_names(element: ElementTree.Element) -> tuple[str, ...]:
    """What the file calls the numbers of a node, each at its place; none where it names not one."""
    named = re.findall(r"\bComponentName(\d{1,3})\b", " ".join(element.attrib))
    wide = max(int(element.get("NumberOfComponents", "1")), *(1 + int(number) for number in named), 1)
    found = tuple(element.get(f"ComponentName{at}", "").strip() for at in range(wide))
    return found if any(found) else ()


def _cells(piece: ElementTree.Element, reader: Reader, points: int) -> Cells:
    arrays = {_name(element): reader.array(element) for element in _named(piece, "Cells")}
    missing = [name for name in ("connectivity", "offsets", "types") if name not in arrays]
    if missing:
        raise wrong(f"its cells have no {' and no '.join(missing)}")
    nodes, ends, types = (whole(arrays[name].ravel(), wrong) for name in ("connectivity", "offsets", "types"))
    if not len(ends) == len(types) == _count(piece, "NumberOfCells"):
        raise wrong("offsets and types must be NumberOfCells long")
    sizes = np.diff(ends, prepend=0)
    if (sizes < 0).any() or (len(ends) and ends[-1] != len(nodes)) or not within(nodes, points):
        raise wrong("connectivity and offsets contradict each other or the number of points")
    return by_kind(nodes, ends - sizes, sizes, types, wrong)
