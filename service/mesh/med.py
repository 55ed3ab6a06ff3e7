"""MED files: the library reads mesh and nodal fields; numbers of nodes and fields of elements at their nodes here."""

from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from fatcore.require import FloatArray

from .corners import node_means

SOLIDS = ("TE4", "T10", "PY5", "P13", "PE6", "P15", "HE8", "H20")
_WHOLE = "MED_NO_PROFILE_INTERNAL"  # every element of a kind has a value


class MedFile(NamedTuple):
    """What a file holds.

    mesh    : of the library, with nodal fields only
    node_id : numbers of the nodes (n,), None where there are none
    corners : means (n, m) and jumps (n,) of the fields that solid elements have at their nodes, by name
    """

    mesh: Any
    node_id: NDArray[np.int64] | None
    corners: dict[str, tuple[FloatArray, FloatArray]]


def read_med(file: Path) -> MedFile:
    """Mesh, numbers and fields; values at points of integration are left out.

    The library does not open a file in which a field is on some kinds of elements only: it gets a copy without.
    """
    import h5py
    import meshio

    image = io.BytesIO(file.read_bytes())
    with h5py.File(image, "r+") as content:
        mesh = next(iter(content["ENS_MAA"].values()))
        mesh = mesh if "NOE" in mesh else next(iter(mesh.values()))  # in steps
        node_id = np.asarray(mesh["NOE"]["NUM"], dtype=np.int64) if "NUM" in mesh["NOE"] else None
        count = int(mesh["NOE"]["COO"].attrs["NBR"])
        corners = {
            name: node_means(*_corner_values(step, mesh, content), count)
            for name, step in _steps(content)
            if any(kind in step for kind in _supports())
        }
        _keep_nodal(content)
    return MedFile(meshio.med.read(image), node_id, corners)


def _supports() -> list[str]:
    return [f"NOE.{kind}" for kind in SOLIDS]


def _steps(content: Any) -> Iterator[tuple[str, Any]]:
    """Each step of each field by the name that the library gives it."""
    for name, field in content["CHA"].items() if "CHA" in content else ():
        keys = sorted(field)
        for place, key in enumerate(keys):
            step = field[key]
            yield (name if len(keys) == 1 else f"{name}[{place:d}] - {step.attrs['PDT']:g}"), step


def _corner_values(step: Any, mesh: Any, content: Any) -> tuple[FloatArray, NDArray[np.int64]]:
    """Values (k, m) of solid elements at their nodes, and the place of the node of each (k,)."""
    values, places = [], []
    for support in [name for name in _supports() if name in step]:
        nodes = mesh["MAI"][support.removeprefix("NOE.")]["NOD"]
        cells = np.reshape(nodes[()], (int(nodes.attrs["NBR"]), -1), order="F") - 1
        profile = step[support].attrs["PFL"].decode()
        if profile != _WHOLE:
            cells = cells[content["PROFILS"][profile]["PFL"][()] - 1]
        field = np.reshape(step[support][profile]["CO"][()], (*cells.shape, -1), order="F")
        values.append(field.reshape(cells.size, -1))
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
