"""MED files: the library reads mesh and nodal fields; numbers of nodes and fields of elements at their nodes here."""

from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from fatcore.errors import InputError
from fatcore.require import FloatArray

from .corners import node_means

SOLIDS = ("TE4", "T10", "PY5", "P13", "PE6", "P15", "HE8", "H20")
_WHOLE = "MED_NO_PROFILE_INTERNAL"  # every element of a kind has a value
_LARGEST = 2**53  # as far as whole numbers go through JSON


class MedFile(NamedTuple):
    """What a file holds.

    mesh       : of the library, with nodal fields only
    node_id    : numbers of the nodes (n,), None where there are none
    corners    : means (n, m) and jumps (n,) of the fields that solid elements have at their nodes, by name
    components : names of the components of each field, where the file has them
    """

    mesh: Any
    node_id: NDArray[np.int64] | None
    corners: dict[str, tuple[FloatArray, FloatArray]]
    components: dict[str, tuple[str, ...]]


def read_med(file: Path, most_bytes: int) -> MedFile:
    """Mesh, numbers and fields; values at points of integration are left out.

    The library does not open a file in which a field is on some kinds of elements only: it gets a copy without.
    Raises : InputError for numbers, profiles and fields that do not fit the mesh, and for more than most_bytes
    """
    import h5py
    import meshio

    image = io.BytesIO(file.read_bytes())
    with h5py.File(image, "r+") as content:
        _guard_size(content, most_bytes)
        name, mesh = next(iter(content["ENS_MAA"].items()))
        mesh = mesh if "NOE" in mesh else next(iter(mesh.values()))  # in steps
        count = int(mesh["NOE"]["COO"].attrs["NBR"])
        node_id = _numbers(mesh["NOE"]["NUM"], count) if "NUM" in mesh["NOE"] else None
        _guard_mesh(content, name)
        corners = {
            field: node_means(*_corner_values(field, step, mesh, content), count)
            for field, step, _ in _steps(content)
            if any(kind in step for kind in _supports())
        }
        components = {field: names for field, _, names in _steps(content) if names}
        _keep_nodal(content)
    return MedFile(meshio.med.read(image), node_id, corners, components)


def _guard_size(content: Any, most_bytes: int) -> None:
    """A few bytes of a compressed file may stand for any number."""
    sizes: list[int] = []
    content.visititems(
        lambda _, part: sizes.append(part.size * part.dtype.itemsize) if hasattr(part, "dtype") else None
    )
    if sum(sizes) > most_bytes:
        raise InputError(f"its arrays have {sum(sizes) >> 20} MiB, more than {most_bytes >> 20}", "mesh")


def _numbers(given: Any, count: int) -> NDArray[np.int64]:
    found = np.asarray(given)
    whole = found.ndim == 1 and found.dtype.kind in "iu" and len(found) == count
    if not whole or len(np.unique(found)) != count or found.min(initial=1) < 1 or found.max(initial=1) > _LARGEST:
        raise InputError("the numbers of its nodes are no different whole numbers from 1, one a node", "mesh")
    return found.astype(np.int64)


def _guard_mesh(content: Any, name: str) -> None:
    for field, given in content.get("CHA", {}).items():
        other = given.attrs.get("MAI", name.encode())
        if (other.decode() if isinstance(other, bytes) else str(other)).strip("\0 ") != name:
            raise InputError(f"field {field!r} belongs to another mesh than {name!r}, the first one", "mesh")


def _supports() -> list[str]:
    return [f"NOE.{kind}" for kind in SOLIDS]


def _steps(content: Any) -> Iterator[tuple[str, Any, tuple[str, ...]]]:
    """Each step of each field by the name that the library gives it, and the names of its components."""
    for name, field in content["CHA"].items() if "CHA" in content else ():
        keys = sorted(field)
        words = field.attrs.get("NOM", b"")
        parts = tuple((words.decode(errors="replace") if isinstance(words, bytes) else str(words)).split())
        for place, key in enumerate(keys):
            step = field[key]
            yield (name if len(keys) == 1 else f"{name}[{place:d}] - {step.attrs['PDT']:g}"), step, parts


def _corner_values(name: str, step: Any, mesh: Any, content: Any) -> tuple[FloatArray, NDArray[np.int64]]:
    """Values (k, m) of solid elements at their nodes, and the place of the node of each (k,).

    A file holds one component after the other, of each the elements in turn, of each of them its nodes.
    """
    values, places = [], []
    for support in [name for name in _supports() if name in step]:
        nodes = mesh["MAI"][support.removeprefix("NOE.")]["NOD"]
        cells = np.reshape(nodes[()], (int(nodes.attrs["NBR"]), -1), order="F") - 1
        profile = step[support].attrs["PFL"].decode()
        if profile != _WHOLE:
            chosen = np.asarray(content["PROFILS"][profile]["PFL"][()])
            if chosen.min(initial=1) < 1 or chosen.max(initial=1) > len(cells):
                raise InputError(f"field {name!r}: its profile {profile!r} names elements that there are not", "mesh")
            cells = cells[chosen - 1]
        held = step[support][profile]
        field = np.asarray(held["CO"][()])
        if int(held.attrs.get("NGA", cells.shape[1])) != cells.shape[1] or field.size % cells.size:
            raise InputError(f"field {name!r} has other values than one a node of its elements", "mesh")
        values.append(np.moveaxis(field.reshape(-1, *cells.shape), 0, -1).reshape(cells.size, -1))
        places.append(cells.ravel())
    return np.concatenate(values), np.concatenate(places)


def _keep_nodal(content: Any) -> None:
    """Drops fields of elements, and what has no other."""
    for name in list(content.get("CHA", ())):
        steps = content["CHA"][name]
        for step in steps.values():
            for support in [support for support in step if support != "NOE"]:
                del step[support]
        if not any("NOE" in step for step in steps.values()):
            del content["CHA"][name]
