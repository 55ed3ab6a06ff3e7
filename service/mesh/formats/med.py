"""Reads MED files: mesh, numbers of nodes, and their fields."""

from __future__ import annotations

import io
import re
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fatcore.errors import InputError
from fatcore.require import FloatArray

from ..raw import OF_FILE, RawMesh
from .cells import Cells
from .med_fields import SOLIDS, Fields, nodes_of, text_of, words_of, wrong

_NO_SOLIDS = {
    "PO1": "vertex",
    "SE2": "line",
    "SE3": "line3",
    "SE4": "line4",
    "TR3": "triangle",
    "TR6": "triangle6",
    "TR7": "triangle7",
    "QU4": "quad",
    "QU8": "quad8",
    "QU9": "quad9",
    "POG": "polygon",
    "PG2": "polygon",
}
_LARGEST = 2**53  # as far as whole numbers go through JSON
_AXES = "xyz"
_SYSTEMS = {1: "cylindrical", 2: "spherical"}


def read_med(file: Path, most_bytes: int) -> RawMesh:
    """The mesh of a MED file; values at points of integration are left out, by name.

    Raises : InputError for several meshes, other coordinates than x, y, z, numbers, profiles and fields that do not
             fit the mesh, and for more than most_bytes
    """
    import h5py

    try:
        with h5py.File(io.BytesIO(file.read_bytes())) as content:
            _guard_size(content, most_bytes)
            return _mesh(content)
    except InputError:
        raise
    except (OSError, KeyError, ValueError, TypeError, RuntimeError, AttributeError) as error:
        raise wrong("it is none, it is cut off, or a part of it is missing") from error


def _guard_size(content: Any, most_bytes: int) -> None:
    """A few bytes of a compressed file may stand for any number."""
    sizes: list[int] = []
    content.visititems(
        lambda _, part: sizes.append(part.size * part.dtype.itemsize) if hasattr(part, "dtype") else None
    )
    if sum(sizes) > most_bytes:
        raise InputError(f"its arrays have {sum(sizes) >> 20} MiB, more than {most_bytes >> 20}", "mesh")


def _mesh(content: Any) -> RawMesh:
    meshes = content["ENS_MAA"]
    if len(meshes) != 1:
        raise wrong(f"it has {len(meshes)} meshes: write one")
    ((name, whole),) = meshes.items()
    if (system := int(whole.attrs.get("REP", 0))) != 0:
        raise wrong(f"its coordinates are {_SYSTEMS.get(system, 'of an unknown system')}: write x, y, z")
    _guard_axes(words_of(whole.attrs.get("NOM", b"")))
    mesh = whole
    if "NOE" not in whole:  # in steps
        if len(whole) != 1:
            raise wrong(f"its mesh has {len(whole)} steps in time: write one")
        (mesh,) = whole.values()
    _guard_mesh(content, name)
    points = _points(mesh["NOE"]["COO"], int(whole.attrs["ESP"]))
    cells, other = _cells(mesh, len(points))
    node_id = _numbers(mesh["NOE"]["NUM"], len(points)) if "NUM" in mesh["NOE"] else None
    fields = Fields(content, mesh, len(points))
    fields.read()
    return RawMesh(
        points=points,
        cells=cells,
        other=other,
        point_data=fields.arrays,
        jumps=fields.jumps,
        in_part=fields.in_part,
        components=fields.components,
        units=fields.units,
        length_unit=words_of(whole.attrs.get("UNI", b"")),
        elsewhere=fields.elsewhere,
        node_id=np.arange(1, 1 + len(points)) if node_id is None else node_id,
        numbered="places in the file, from 1" if node_id is None else OF_FILE,
        series=fields.series(),
    )


def _guard_axes(names: tuple[str, ...]) -> None:
    """Refuses axes with names of other coordinates, or in another order."""
    for name, axis in zip(names, _AXES, strict=False):
        if name and set(re.findall("[xyz]", re.sub("axis|axe", "", name.lower()))) != {axis}:
            raise wrong(f"it calls its axes {', '.join(names)}: write x, y, z")


def _points(given: Any, wide: int) -> FloatArray:
    count = int(given.attrs["NBR"])
    points = np.asarray(given[()], dtype=np.float64)
    if wide not in (2, 3) or points.size != count * wide:
        raise wrong(f"it announces {count} nodes in {wide} dimensions, and holds {points.size} coordinates")
    columns = points.reshape(count, wide, order="F")
    return np.column_stack([columns, np.zeros((count, 3 - wide))])


def _cells(mesh: Any, count: int) -> Cells:
    solids, other = [], {}
    for name, group in mesh["MAI"].items():
        if name in _NO_SOLIDS:
            held = group["NOD"].attrs if "NOD" in group else {}
            other[_NO_SOLIDS[name]] = int(held.get("NBR", 1))
        elif name in SOLIDS:
            solids.append((SOLIDS[name], nodes_of(group["NOD"], name, count)))
        else:
            raise wrong(f"cells {name} are none of {', '.join(SOLIDS)}")
    return tuple(solids), other


def _numbers(given: Any, count: int) -> NDArray[np.int64]:
    found = np.asarray(given)
    whole = found.ndim == 1 and found.dtype.kind in "iu" and len(found) == count
    if not whole or len(np.unique(found)) != count or found.min(initial=1) < 1 or found.max(initial=1) > _LARGEST:
        raise InputError("the numbers of its nodes are no different whole numbers from 1, one a node", "mesh")
    return found.astype(np.int64)


def _guard_mesh(content: Any, name: str) -> None:
    for each, given in content.get("CHA", {}).items():
        if text_of(given.attrs.get("MAI", name)) != name:
            raise InputError(f"field {each!r} belongs to another mesh than {name!r}, the first one", "mesh")
