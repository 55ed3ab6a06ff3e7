"""Reads XDMF files: one grid, or one series in time on it, with numbers in the text, in HDF5 or in binary files."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
from numpy.typing import NDArray

from fatcore.errors import InputError

from ...base.refused.syntax import xml_words
from ..raw import Array, ArrayKey, RawMesh
from .cells import Cells, by_kind, guard_ghosts, guard_names, is_ghosts, whole, within
from .items import Items, in_rows, product, wrong

Element = ElementTree.Element
_TOPOLOGIES = {  # name of the format: number of nodes, number in VTK
    "tetrahedron": (4, 10),
    "pyramid": (5, 14),
    "wedge": (6, 13),
    "hexahedron": (8, 12),
    "tetrahedron_10": (10, 24),
    "tet_10": (10, 24),
    "pyramid_13": (13, 27),
    "wedge_15": (15, 26),
    "hexahedron_20": (20, 25),
    "hex_20": (20, 25),
    "triangle": (3, 5),
    "quadrilateral": (4, 9),
    "triangle_6": (6, 22),
    "tri_6": (6, 22),
    "quadrilateral_8": (8, 23),
    "quad_8": (8, 23),
    "quadrilateral_9": (9, 28),
    "quad_9": (9, 28),
    "edge_3": (3, 21),
    "polyvertex": (1, 1),
    "polyline": (2, 3),
}
# in mixed rows a number stands before the nodes of each cell; 1 to 3 say how many nodes follow
_MIXED = {4: (3, 5), 5: (4, 9), 6: (4, 10), 7: (5, 14), 8: (6, 13), 9: (8, 12), 34: (3, 21), 35: (9, 28), 36: (6, 22)}
_MIXED |= {37: (8, 23), 38: (10, 24), 39: (13, 27), 40: (15, 26), 48: (20, 25)}
_COUNTED = {1: 2, 2: 4, 3: 7}
TENSOR6 = ("XX", "XY", "XZ", "YY", "YZ", "ZZ")  # the format fixes the order of its symmetric tensors
_WIDTHS = {"vector": 3, "tensor": 9, "tensor6": 6}
_LEAST_OF_TENSOR = 6  # numbers; points of the plane have vectors of two
_PARTS = ("Topology", "Geometry")
_OWN_PART = re.compile(
    r"xpointer\(((?:/Xdmf/Domain/|//).+)/(?:Topology|Geometry|\*\[self::Topology or self::Geometry\])\)"
)


def read_xdmf(file: Path, most_bytes: int) -> RawMesh:
    """The mesh of an XDMF file, with the arrays of each step where it has a series in time.

    Raises : InputError for several grids or series, a mesh that changes from step to step, and what cannot be read
    """
    try:
        return _mesh(_root(file), Items(file.parent, most_bytes))
    except InputError:
        raise
    except (ValueError, OverflowError, OSError, KeyError) as error:
        raise wrong("a number of it cannot be read, or a file beside it is missing or cut off") from error


def _root(file: Path) -> Element:
    text = file.read_bytes()
    if b"<!ENTITY" in text:
        raise wrong("it declares entities, which a mesh does not need")
    try:
        root = ElementTree.fromstring(text)
    except ElementTree.ParseError as error:
        raise wrong(f"{xml_words(error)}; the file may be cut off") from error
    if root.tag != "Xdmf" or len(root.findall("Domain")) != 1:
        raise wrong("it has no domain, or several")
    return root


def _mesh(root: Element, items: Items) -> RawMesh:
    domain = root.findall("Domain")[0]
    for grid in domain.iter("Grid"):
        _guard_type(grid)
    series = [grid for grid in domain.iter("Grid") if grid.get("CollectionType", "").lower() == "temporal"]
    leaves = [grid for grid in domain.iter("Grid") if _is_leaf(grid)]
    if len(series) > 1:
        raise wrong(f"it has {len(series)} series in time: write one, with all arrays")
    steps = series[0].findall("Grid") if series else []
    if any(not _is_leaf(step) for step in steps):
        raise wrong("a step in time has several grids: write one grid with one set of nodes")
    others = [grid for grid in leaves if grid not in steps]
    if len(others) > 1:
        raise wrong(f"it has {len(others)} grids, which have their own nodes where they touch: write one grid")
    holders = [grid for grid in (*others, *steps) if all(grid.find(name) is not None for name in _PARTS)]
    if not holders:
        raise wrong("it has no grid with topology and geometry")
    _guard_includes(root, holders)
    points, (cells, other) = _geometry(holders[0], items), _topology(holders[0], items)
    by_cell = [each for grid in (*others, *steps) for each in _attributes(grid, nodal=False) if is_ghosts(_name(each))]
    guard_ghosts((_name(each), items.array(_item(each))) for each in by_cell)
    if not all(within(nodes, len(points)) for _, nodes in cells):
        raise wrong("its elements name points that there are not")
    for grid in (*others, *steps):
        _guard_same(holders[0], grid, points, (cells, other), items)
    times = _times(series[0], steps, items) if series else []
    alone = others[0] if others else None
    found = [_arrays(step, items, len(points)) for step in steps]
    return RawMesh(
        points=points,
        cells=cells,
        other=other,
        point_data={} if alone is None else _arrays(alone, items, len(points)),
        fixed=_fixed(steps, alone),
        elsewhere=_elsewhere([*steps, *others]),
        node_id=np.arange(len(points)),
        numbered="places in the file, from 0",
        steps=tuple(zip(times, found, strict=True)),
        doubts=tuple(items.unread(root)),
    )


def _is_leaf(grid: Element) -> bool:
    return grid.get("GridType", "Uniform").lower() == "uniform"


def _guard_type(grid: Element) -> None:
    kind, collection = grid.get("GridType", "Uniform").lower(), grid.get("CollectionType", "Spatial").lower()
    if kind not in ("uniform", "collection", "tree") or collection not in ("spatial", "temporal"):
        raise wrong(f"grids of type {kind!r} of {collection!r} are not read: write uniform grids")


def _guard_includes(root: Element, holders: Sequence[Element]) -> None:
    """A grid may include topology and geometry of the one mesh of its file; no other include is followed."""
    for parent in root.iter():
        for each in parent:
            if each.tag.rpartition("}")[2] == "include" and not (parent.tag == "Grid" and _is_own(root, each, holders)):
                given = f"{each.get('href', '')} {each.get('xpointer', '')}".strip()
                raise wrong(f"it includes {given[:120]!r}, which is not the mesh of this file: write it out")


def _is_own(root: Element, given: Element, holders: Sequence[Element]) -> bool:
    """Whether an include names topology and geometry of a grid that has the mesh."""
    found = _OWN_PART.fullmatch(given.get("xpointer", "").strip())
    if found is None or given.get("href"):
        return False
    try:
        return any(grid in holders for grid in root.findall("." + found[1].removeprefix("/Xdmf")))
    except (SyntaxError, KeyError):
        return False


def _guard_same(first: Element, grid: Element, points: NDArray[np.float64], cells: Cells, items: Items) -> None:
    """What a grid has of a mesh must be that of the first, whether it has all of it or a part."""
    own = {name: grid.find(name) is not None and not _is_text(first, grid, name) for name in _PARTS}
    same = not own["Geometry"] or np.array_equal(_geometry(grid, items), points)
    if not same or (own["Topology"] and not _alike(_topology(grid, items), cells)):
        raise wrong("the mesh changes from step to step: its steps cannot be load cases of one mesh")


def _is_text(first: Element, grid: Element, name: str) -> bool:
    """Whether a part stands there in the same words."""
    one, other = (ElementTree.tostring(_part(each, name)).strip() for each in (first, grid))
    return one == other


def _alike(one: Cells, other: Cells) -> bool:
    pairs = zip(one[0], other[0], strict=False)
    same = all(kind == known and np.array_equal(nodes, held) for (kind, nodes), (known, held) in pairs)
    return same and one[1] == other[1] and len(one[0]) == len(other[0])


def _times(series: Element, steps: Sequence[Element], items: Items) -> list[float]:
    listed = series.find("Time")
    found = own = [float(time.get("Value", "nan")) for step in steps if (time := step.find("Time")) is not None]
    if listed is not None and listed.get("TimeType", "Single").lower() == "list":
        found = [float(value) for value in items.array(_item(listed)).ravel()]
        if own and own != found:
            raise wrong("times of its steps contradict its list of them")
    if len(found) != len(steps) or not np.isfinite(found).all():
        raise wrong("not every step has a time: give each grid of the series its Time")
    return found


def _part(grid: Element, name: str) -> Element:
    found = grid.findall(name)
    if len(found) != 1:
        raise wrong(f"a grid has {len(found)} times {name}, where one counts")
    return found[0]


def _geometry(grid: Element, items: Items) -> NDArray[np.float64]:
    geometry = _part(grid, "Geometry")
    kind = geometry.get("GeometryType", geometry.get("Type", "XYZ")).upper()
    columns = [items.array(item).astype(np.float64) for item in geometry.findall("DataItem")]
    if kind == "X_Y_Z" and len(columns) == 3:
        return np.column_stack([column.ravel() for column in columns])
    if kind not in ("XYZ", "XY") or len(columns) != 1:
        raise wrong(f"geometry {kind}: write the points as XYZ")
    points = in_rows(columns[0], len(kind), "points")
    return np.column_stack([points, np.zeros((len(points), 3 - len(kind)))])


def _topology(grid: Element, items: Items) -> Cells:
    topology = _part(grid, "Topology")
    name = topology.get("TopologyType", topology.get("Type", "")).lower()
    if topology.get("BaseOffset", "0") != "0":
        raise wrong("its elements count the points from another number than 0")
    if (order := topology.get("Order", "").split()) != [str(at) for at in range(len(order))]:
        raise wrong("its topology has an order of its own: write the nodes in that of the format")
    held = whole(items.array(_item(topology)), wrong)
    if name == "mixed":
        nodes, sizes, types = _mixed(held.ravel().tolist())
    elif name in _TOPOLOGIES:
        size = int(topology.get("NodesPerElement", _TOPOLOGIES[name][0]))
        rows = in_rows(held, size, "elements")
        sizes = np.full(len(rows), size, dtype=np.int64)
        nodes, types = rows.ravel(), np.full(len(rows), _TOPOLOGIES[name][1], dtype=np.int64)
    else:
        raise wrong(f"a topology of {name or 'no type'}; known are mixed, {', '.join(_TOPOLOGIES)}")
    stated = topology.get("NumberOfElements", topology.get("Dimensions"))
    if stated is not None and product(stated) != len(types):
        raise wrong(f"it announces {stated} elements, and holds {len(types)}")
    return by_kind(nodes, np.cumsum(sizes) - sizes, sizes, types, wrong)


def _mixed(flat: list[int]) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    nodes, sizes, types, at = list[int](), list[int](), list[int](), 0
    while at < len(flat):
        number = flat[at]
        if number in _COUNTED and at + 1 < len(flat):
            size, kind, begin = flat[at + 1], _COUNTED[number], at + 2
        elif number in _MIXED:
            (size, kind), begin = _MIXED[number], at + 1
        else:
            raise wrong(f"cells of type {number} in a mixed topology")
        if size < 1 or begin + size > len(flat):
            raise wrong("its mixed topology is cut off")
        nodes += flat[begin : begin + size]
        sizes.append(size)
        types.append(kind)
        at = begin + size
    return np.array(nodes, dtype=np.int64), np.array(sizes, dtype=np.int64), np.array(types, dtype=np.int64)


def _attributes(grid: Element, *, nodal: bool) -> list[Element]:
    return [each for each in grid.findall("Attribute") if (each.get("Center", "Node").lower() == "node") is nodal]


def _name(attribute: Element) -> str:
    return attribute.get("Name", "").strip()


def _arrays(grid: Element, items: Items, count: int) -> dict[str, Array]:
    found = _attributes(grid, nodal=True)
    guard_names(map(_name, found))
    arrays = {_name(each): _in_rows(items.array(_item(each)), each, count) for each in found}
    for name, values in arrays.items():
        if not count or values.shape[:1] != (count,):
            raise wrong(f"array {name!r} has {len(values)} rows where the mesh has {count} points")
    shaped = {name: values.reshape(count, -1) for name, values in arrays.items()}
    guard_ghosts(shaped.items())
    return {name: values[:, 0] if values.shape[1] == 1 else values for name, values in shaped.items()}


def _in_rows(values: Array, attribute: Element, count: int) -> Array:
    """Numbers in one row as rows of the type of the attribute."""
    wide = _WIDTHS.get(_kind(attribute), 0)
    if wide >= _LEAST_OF_TENSOR and values.size != count * wide and values.shape[:1] == (count,):
        raise wrong(f"array {_name(attribute)!r} is a {_kind(attribute)}, and has not {wide} numbers at each point")
    return values.reshape(count, wide) if values.shape == (count * wide,) else values


def _kind(attribute: Element) -> str:
    return attribute.get("AttributeType", attribute.get("Type", "")).lower()


def _fixed(steps: Sequence[Element], alone: Element | None) -> dict[ArrayKey, tuple[str, ...]]:
    """By array and step, since another step may have another type of the same name."""
    found: dict[ArrayKey, tuple[str, ...]] = {(at, name): TENSOR6 for at, s in enumerate(steps) for name in _six(s)}
    return found | ({} if alone is None else dict.fromkeys(_six(alone), TENSOR6))


def _six(grid: Element) -> list[str]:
    return [_name(each) for each in _attributes(grid, nodal=True) if _kind(each) == "tensor6"]


def _elsewhere(grids: Iterable[Element]) -> dict[str, str]:
    attributes = [attribute for grid in grids for attribute in _attributes(grid, nodal=False)]
    return {_name(each): f"{each.get('Center', '').lower()}s" for each in attributes}


def _item(parent: Element) -> Element:
    found = parent.findall("DataItem")
    if len(found) != 1:
        raise wrong(f"{parent.tag} {_name(parent)!r} has {len(found)} data items where one is needed")
    return found[0]
