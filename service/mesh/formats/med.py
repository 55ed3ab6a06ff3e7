"""Reads MED files: mesh, numbers of nodes, fields at nodes and of elements at their nodes, with units and names."""

from __future__ import annotations

import io
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from fatcore.errors import InputError
from fatcore.figures import as_given
from fatcore.require import FloatArray
from fatcore.stress.weld_lines.solid.elements import SolidElement, node_count

from ..corners import node_means
from ..raw import OF_FILE, Array, RawMesh
from .cells import Cells, within

SOLIDS: dict[str, SolidElement] = {
    "TE4": "tet4",
    "T10": "tet10",
    "PY5": "pyramid5",
    "P13": "pyramid13",
    "PE6": "wedge6",
    "P15": "wedge15",
    "HE8": "brick8",
    "H20": "brick20",
}
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
_WHOLE = "MED_NO_PROFILE_INTERNAL"  # every node or element has a value
_LARGEST = 2**53  # as far as whole numbers go through JSON
_WIDE = 16  # characters of each name and unit
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
        raise _wrong("it is none, it is cut off, or a part of it is missing") from error


def _wrong(message: str) -> InputError:
    return InputError(f"not a MED file that can be read: {message}", "mesh")


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
        raise _wrong(f"it has {len(meshes)} meshes: write one")
    ((name, whole),) = meshes.items()
    if (system := int(whole.attrs.get("REP", 0))) != 0:
        raise _wrong(f"its coordinates are {_SYSTEMS.get(system, 'of an unknown system')}: write x, y, z")
    mesh = whole
    if "NOE" not in whole:  # in steps
        if len(whole) != 1:
            raise _wrong(f"its mesh has {len(whole)} steps in time: write one")
        (mesh,) = whole.values()
    _guard_mesh(content, name)
    points = _points(mesh["NOE"]["COO"], int(whole.attrs["ESP"]))
    cells, other = _cells(mesh, len(points))
    node_id = _numbers(mesh["NOE"]["NUM"], len(points)) if "NUM" in mesh["NOE"] else None
    fields = _Fields(content, mesh, len(points))
    fields.read()
    return RawMesh(
        points=points,
        cells=cells,
        other=other,
        point_data=fields.arrays,
        jumps=fields.jumps,
        components=fields.components,
        units=fields.units,
        length_unit=_words(whole.attrs.get("UNI", b"")),
        elsewhere=fields.elsewhere,
        node_id=np.arange(1, 1 + len(points)) if node_id is None else node_id,
        numbered="places in the file, from 1" if node_id is None else OF_FILE,
        steps=fields.steps(),
        step_names=fields.step_names,
    )


def _points(given: Any, wide: int) -> FloatArray:
    count = int(given.attrs["NBR"])
    points = np.asarray(given[()], dtype=np.float64)
    if wide not in (2, 3) or points.size != count * wide:
        raise _wrong(f"it announces {count} nodes in {wide} dimensions, and holds {points.size} coordinates")
    columns = points.reshape(count, wide, order="F")
    return np.column_stack([columns, np.zeros((count, 3 - wide))])


def _cells(mesh: Any, count: int) -> Cells:
    solids, other = [], {}
    for name, group in mesh["MAI"].items():
        if name in _NO_SOLIDS:
            held = group["NOD"].attrs if "NOD" in group else {}
            other[_NO_SOLIDS[name]] = int(held.get("NBR", 1))
        elif name in SOLIDS:
            solids.append((SOLIDS[name], _nodes(group["NOD"], name, count)))
        else:
            raise _wrong(f"cells {name} are none of {', '.join(SOLIDS)}")
    return tuple(solids), other


def _nodes(given: Any, name: str, count: int) -> NDArray[np.int64]:
    cells, size = int(given.attrs["NBR"]), node_count(SOLIDS[name])
    if given.size != cells * size:
        raise _wrong(f"it announces {cells} cells {name}, and holds {given.size} nodes of them")
    nodes = np.asarray(given[()], dtype=np.int64).reshape(cells, size, order="F") - 1
    if not within(nodes, count):
        raise _wrong(f"cells {name} name nodes that there are not")
    return nodes


def _numbers(given: Any, count: int) -> NDArray[np.int64]:
    found = np.asarray(given)
    whole = found.ndim == 1 and found.dtype.kind in "iu" and len(found) == count
    if not whole or len(np.unique(found)) != count or found.min(initial=1) < 1 or found.max(initial=1) > _LARGEST:
        raise InputError("the numbers of its nodes are no different whole numbers from 1, one a node", "mesh")
    return found.astype(np.int64)


def _guard_mesh(content: Any, name: str) -> None:
    for each, given in content.get("CHA", {}).items():
        if _text(given.attrs.get("MAI", name)) != name:
            raise InputError(f"field {each!r} belongs to another mesh than {name!r}, the first one", "mesh")


def _text(given: Any) -> str:
    return (given.decode(errors="replace") if isinstance(given, bytes) else str(given)).strip("\0 ")


def _words(given: Any) -> tuple[str, ...]:
    """Names or units, each in so many characters; none where all are blank."""
    text = given.decode(errors="replace") if isinstance(given, bytes) else str(given)
    found = tuple(text[at : at + _WIDE].strip("\0 ") for at in range(0, len(text.rstrip("\0 ")), _WIDE))
    return found if any(found) else ()


class _Step(NamedTuple):
    """A step of a field: the name of the field, the step, and the name by which its array is known."""

    of: str
    key: tuple[int, int, float]
    held: Any
    name: str


@dataclass(slots=True)
class _Fields:
    """Fields of a file, as they are read."""

    content: Any
    mesh: Any
    count: int
    arrays: dict[str, Array] = field(default_factory=dict)
    jumps: dict[str, FloatArray] = field(default_factory=dict)
    components: dict[str, tuple[str, ...]] = field(default_factory=dict)
    units: dict[str, tuple[str, ...]] = field(default_factory=dict)
    elsewhere: dict[str, str] = field(default_factory=dict)
    step_names: dict[tuple[int, str], str] = field(default_factory=dict)

    def read(self) -> None:
        """Takes every step of every field."""
        for step in self._steps():
            corners = any(f"NOE.{kind}" in step.held for kind in SOLIDS)
            if corners and "NOE" in step.held:
                text = f"array {step.name!r} is given at the nodes and by element at its nodes: which counts?"
                raise InputError(text, "mesh")
            if "NOE" in step.held:
                self.arrays[step.name] = self._nodal(step)
            elif corners:
                means, jump = node_means(*self._corner_values(step), self.count)
                self.arrays[step.name], self.jumps[step.name] = means, jump
            else:
                self.elsewhere[step.name] = "elements or their points of integration"
            attributes = self.content["CHA"][step.of].attrs
            for words, key in ((self.components, "NOM"), (self.units, "UNI")):
                if found := _words(attributes.get(key, b"")):
                    words[step.name] = found

    def steps(self) -> tuple[tuple[float, Mapping[str, Array]], ...]:
        """Time and arrays of each step of the file, where a field has several."""
        steps = [step for step in self._steps() if step.name in self.arrays]
        if all(step.name == step.of for step in steps):
            return ()
        keys = sorted({step.key for step in steps})
        self.step_names.update({(keys.index(step.key), step.of): step.name for step in steps})
        return tuple((key[2], {s.of: self.arrays[s.name] for s in steps if s.key == key}) for key in keys)

    def _steps(self) -> Iterator[_Step]:
        for name, held in self.content["CHA"].items() if "CHA" in self.content else ():
            keys = sorted(held)
            for place, key in enumerate(keys):
                at = held[key].attrs
                order = (int(at.get("NDT", place)), int(at.get("NOR", -1)), float(at.get("PDT", 0.0)))
                known = name if len(keys) == 1 else f"{name}[{place}] - {as_given(order[2])}"
                yield _Step(name, order, held[key], known)

    def _nodal(self, step: _Step) -> Array:
        support = step.held["NOE"]
        profile = _text(support.attrs["PFL"])
        values = np.asarray(support[profile]["CO"][()], dtype=np.float64)
        rows = np.arange(self.count) if profile == _WHOLE else self._profile(step.name, profile, self.count)
        if not len(rows) or values.size % len(rows):
            raise InputError(f"field {step.name!r} has other values than one a node", "mesh")
        held = values.reshape(len(rows), -1, order="F")
        found = np.full((self.count, held.shape[1]), np.nan)
        found[rows] = held
        return found[:, 0] if found.shape[1] == 1 else found

    def _profile(self, name: str, profile: str, count: int) -> NDArray[np.int64]:
        chosen = np.asarray(self.content["PROFILS"][profile]["PFL"][()], dtype=np.int64)
        if not within(chosen - 1, count) or len(np.unique(chosen)) != len(chosen):
            text = f"field {name!r}: its profile {profile!r} names nodes or elements that there are not, or one twice"
            raise InputError(text, "mesh")
        return chosen - 1

    def _corner_values(self, step: _Step) -> tuple[FloatArray, NDArray[np.int64]]:
        """Values (k, m) of solid elements at their nodes, and the place of the node of each (k,).

        A file holds one component after the other, of each the elements in turn, of each of them its nodes.
        """
        values, places = [], []
        for kind in [kind for kind in SOLIDS if f"NOE.{kind}" in step.held]:
            support = step.held[f"NOE.{kind}"]
            cells = _nodes(self.mesh["MAI"][kind]["NOD"], kind, self.count)
            profile = _text(support.attrs["PFL"])
            if profile != _WHOLE:
                cells = cells[self._profile(step.name, profile, len(cells))]
            held = support[profile]
            found = np.asarray(held["CO"][()])
            if int(held.attrs.get("NGA", cells.shape[1])) != cells.shape[1] or found.size % cells.size:
                raise InputError(f"field {step.name!r} has other values than one a node of its elements", "mesh")
            values.append(np.moveaxis(found.reshape(-1, *cells.shape), 0, -1).reshape(cells.size, -1))
            places.append(cells.ravel())
        return np.concatenate(values), np.concatenate(places)
