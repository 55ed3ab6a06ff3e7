"""Names of the weld lines of a mesh: by a point nearby, a box, a node set, or their own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from fatcore.errors import InputError, at
from fatcore.figures import figure
from fatcore.stress.weld_lines.solid.lines import SolidLine

from .layout import LineName
from .raw import RawMesh

_CLEARLY_NEARER = 2.0  # times: the next line is so much farther from the point
_REACH = 5.0  # mesh sizes: a point farther from every node names nothing
_SHARE_OF_SET = 0.8


def name_lines(
    lines: Sequence[SolidLine], names: Sequence[LineName], raw: RawMesh, drop_unnamed: bool
) -> tuple[SolidLine, ...]:
    """The lines under the names of the map; the others keep theirs, or are dropped.

    Raises : InputError at the name that fits no line or several, or a line that has a name already
    """
    given: dict[str, str] = {}
    taken = {name.name for name in names}
    for index, name in enumerate(names):
        with at("mesh", "names", index):
            line = _named(lines, name, raw)
            if line.name in given or name.name in given.values():
                raise InputError(f"{line.name} has the name {given.get(line.name, name.name)!r} already", "name")
            given[line.name] = name.name
    for line in lines:
        if line.name not in given and line.name in taken:
            raise InputError(f"{line.name!r} is the name of another line, which nobody named", "mesh", "names")
    kept = [line for line in lines if line.name in given or not drop_unnamed]
    return tuple(replace(line, name=given.get(line.name, line.name)) for line in kept)


def _named(lines: Sequence[SolidLine], name: LineName, raw: RawMesh) -> SolidLine:
    among = [line for line in lines if name.kind in (None, line.kind)]
    if not among:
        raise InputError(f"the mesh has no {name.kind or 'line'}", "kind")
    if name.near_mm is not None:
        return _nearest(among, name.near_mm)
    if name.box_mm is not None:
        low, high = np.min(name.box_mm, axis=0), np.max(name.box_mm, axis=0)
        inside = [line for line in among if ((line.coordinates_mm >= low) & (line.coordinates_mm <= high)).all()]
        return _only(inside, "lie in the box", "box_mm")
    assert name.node_set is not None
    nodes = _nodes_of_set(raw, name.node_set)
    fitting = [line for line in among if np.isin(line.node_index, nodes).mean() >= _SHARE_OF_SET]
    return _only(fitting, "have four fifths of their nodes in the set", "node_set")


def _nodes_of_set(raw: RawMesh, name: str) -> NDArray[np.int64]:
    """Nodes of the set of this name, or of the only one that is called so in letters of another size."""
    alike = [known for known in raw.node_sets if known.casefold() == name.casefold()]
    found = [name] if name in alike else alike
    if len(found) != 1:
        known = ", ".join(sorted(raw.node_sets)) or "none"
        raise InputError(f"the file has no node set {name!r}; it has {known}", "node_set")
    return raw.node_sets[found[0]]


def _only(fitting: Sequence[SolidLine], what: str, where: str) -> SolidLine:
    if len(fitting) != 1:
        names = ", ".join(line.name for line in fitting) or "no lines"
        raise InputError(f"{names} {what}, where one is needed", where)
    return fitting[0]


def _nearest(lines: Sequence[SolidLine], point: Sequence[float]) -> SolidLine:
    distances = [float(np.linalg.norm(line.coordinates_mm - np.array(point), axis=1).min()) for line in lines]
    order = np.argsort(distances, kind="stable")
    first: SolidLine = lines[int(order[0])]
    if distances[order[0]] > _REACH * first.mesh_size_mm:
        raise InputError(
            f"the nearest line, {first.name}, is {figure(distances[order[0]])} mm from the point: give a point "
            "on a line",
            "near_mm",
        )
    if len(lines) > 1 and distances[order[1]] < _CLEARLY_NEARER * max(distances[order[0]], 0.1 * first.mesh_size_mm):
        second = lines[int(order[1])].name
        raise InputError(
            f"{first.name} and {second} are about as near: give a point on the line, or the kind", "near_mm"
        )
    return first
