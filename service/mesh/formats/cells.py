"""Cells by the numbers of the VTK formats, and what readers of several formats hold alike."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fatcore.errors import InputError
from fatcore.stress.weld_lines.solid.elements import SolidElement, node_count

Cells = tuple[tuple[tuple[SolidElement, NDArray[np.int64]], ...], dict[str, int]]  # solids; others by name and number

VTK_KINDS: dict[int, SolidElement] = {
    10: "tet4",
    12: "brick8",
    13: "wedge6",
    14: "pyramid5",
    24: "tet10",
    25: "brick20",
    26: "wedge15",
    27: "pyramid13",
}
TENSOR6 = ("XX", "YY", "ZZ", "XY", "YZ", "XZ")  # the VTK formats fix the order of their symmetric tensors
_LARGEST = 2.0**53  # as far as floats hold every whole number
_GHOSTS = ("vtkGhostType", "vtkGhostLevels")
# cells that lie on or beside a solid and carry no volume, by the numbers of the open format
_NO_SOLIDS = {1: "points", 2: "points", 3: "lines", 4: "lines", 21: "lines", 35: "lines", 68: "lines"}
_NO_SOLIDS |= dict.fromkeys((5, 6, 22, 34, 69), "triangles") | dict.fromkeys((7, 8, 9, 23, 28, 30, 36, 70), "quads")


def within(nodes: NDArray[np.int64], points: int) -> bool:
    """Whether all nodes are among so many points."""
    return not nodes.size or bool(nodes.min() >= 0 and nodes.max() < points)


def whole(values: NDArray[Any], wrong: Callable[[str], InputError]) -> NDArray[np.int64]:
    """Numbers of nodes or of elements, which a file may hold as floats."""
    if values.dtype.kind == "f" and not (np.abs(values) < _LARGEST).all():
        raise wrong("its elements name nodes by numbers that are none")
    found = values.astype(np.int64)
    if (found != values).any():
        raise wrong("its elements name nodes by numbers that are not whole")
    return found


def other_places(rows: int, nodes: int) -> str:
    """Where an array lies that is called one of the nodes, and has another length."""
    return f"{rows} places that are not its {nodes} nodes"


def guard_names(names: Iterable[str]) -> None:
    """InputError for two arrays of one name, of which a reader would take either."""
    seen = set[str]()
    for name in names:
        if name in seen:
            text = f"array {name!r} is there more than once, as steps in time are: write each under a name of its own"
            raise InputError(text, "mesh")
        seen.add(name)


def is_ghosts(name: str) -> bool:
    """Whether an array marks nodes or elements."""
    return name in _GHOSTS


def guard_ghosts(arrays: Iterable[tuple[str, NDArray[Any]]]) -> None:
    """InputError for nodes or elements that a file marks as hidden or as copies of others."""
    for name, array in arrays:
        if is_ghosts(name) and array.any():
            text = f"array {name!r} marks nodes or elements as hidden or as copies: write those of the part alone"
            raise InputError(text, "mesh")


def by_kind(
    nodes: NDArray[np.int64],
    starts: NDArray[np.int64],
    sizes: NDArray[np.int64],
    types: NDArray[np.int64],
    wrong: Callable[[str], InputError],
) -> Cells:
    """Cells whose nodes stand in one row, by their kind."""
    solids: list[tuple[SolidElement, NDArray[np.int64]]] = []
    other: dict[str, int] = {}
    for number in np.unique(types).tolist():
        rows = types == number
        if number in VTK_KINDS:
            kind = VTK_KINDS[number]
            if (sizes[rows] != node_count(kind)).any():
                raise wrong(f"a cell of {kind} has not {node_count(kind)} nodes")
            solids.append((kind, nodes[starts[rows][:, np.newaxis] + np.arange(node_count(kind))]))
        elif number in _NO_SOLIDS:
            other[_NO_SOLIDS[number]] = other.get(_NO_SOLIDS[number], 0) + int(rows.sum())
        else:
            raise wrong(f"cells of type {number} are none of the solids read here ({', '.join(VTK_KINDS.values())})")
    return tuple(solids), other
