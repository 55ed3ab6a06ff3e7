"""Reads mesh files by their suffix: VTU by our own reader, the other open formats through meshio."""

from __future__ import annotations

import contextlib
import io
from collections.abc import Mapping
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import numpy as np
from numpy.typing import NDArray

from fatcore.errors import FatcoreError, InputError
from fatcore.stress.weld_lines.solid.elements import SolidElement, node_count

from ..base.problems import Problem
from ..base.refused.syntax import xml_words
from .med import read_med
from .numbers import node_data_of_msh, numbers_of_file
from .raw import OF_FILE, Array, RawMesh
from .vtu import read_vtu

# suffix -> name of the format in meshio, number of the first node
FORMATS = {".vtk": ("vtk", 0), ".msh": ("gmsh", 1), ".med": ("med", 1), ".xdmf": ("xdmf", 0), ".inp": ("abaqus", 1)}
NOT_INSTALLED = "urn:toeline:mesh-not-installed"
SUFFIXES = (".vtu", *FORMATS)
_MAX_FILE_BYTES = 4 << 30
_KINDS: dict[str, SolidElement] = {
    "tetra": "tet4",
    "tetra10": "tet10",
    "hexahedron": "brick8",
    "hexahedron20": "brick20",
    "wedge": "wedge6",
    "wedge15": "wedge15",
    "pyramid": "pyramid5",
    "pyramid13": "pyramid13",
}
_NO_SOLIDS = ("vertex", "line", "triangle", "quad", "polygon")


def is_mesh_file(path: str) -> bool:
    """Whether the suffix is that of a mesh."""
    return Path(path).suffix.lower() in SUFFIXES


def read_mesh_file(path: str) -> RawMesh:
    """The mesh of a file.

    Raises : Problem for a file that is missing or too large, a missing package; InputError for its content
    """
    file, suffix = Path(path), Path(path).suffix.lower()
    try:
        size = file.stat().st_size
        if size > _MAX_FILE_BYTES:
            raise Problem(413, f"{path} has {size >> 20} MiB, more than {_MAX_FILE_BYTES >> 20}")
        if suffix == ".vtu":
            return read_vtu(file.read_bytes(), _MAX_FILE_BYTES)
    except OSError as error:
        raise Problem(404, f"{path}: {error.strerror}") from error
    if suffix not in FORMATS:
        raise Problem(415, f"{path}: no mesh by its suffix; known are {', '.join(SUFFIXES)}")
    return _by_library(file, suffix)


def _by_library(file: Path, suffix: str) -> RawMesh:
    try:
        import meshio
    except ModuleNotFoundError as error:
        missing = f"{suffix} files are read by meshio: pip install 'toeline[mesh]'"
        raise Problem(503, missing, kind=NOT_INSTALLED, title="Optional extra not installed") from error
    form, first = FORMATS[suffix]
    quiet = io.StringIO()
    try:
        with contextlib.redirect_stdout(quiet), contextlib.redirect_stderr(quiet):
            med = read_med(file, _MAX_FILE_BYTES) if suffix == ".med" else None
            steps = _time_steps(meshio, file) if suffix == ".xdmf" else None
            found = med.mesh if med else steps[0] if steps else meshio.read(file, file_format=form)
    except (Exception, SystemExit) as error:  # the library lets anything through that its parsers meet
        reason = " ".join(_reader_words(error).split())[:200] or type(error).__name__
        raise InputError(f"{file.name} is no {suffix} mesh that can be read: {reason}", "mesh") from error
    points = np.asarray(found.points, dtype=np.float64)
    cells, other = _cells(found.cells)
    ids = med.node_id if med else _numbers(file, len(points))
    corners = med.corners if med else {}
    nodal = _in_order(file, found.point_data, ids) if suffix == ".msh" else found.point_data
    twice = sorted(corners.keys() & found.point_data.keys())
    if twice:
        raise InputError(f"array {twice[0]!r} is given at the nodes and by element at its nodes: which counts?", "mesh")
    return RawMesh(
        points=points if points.shape[1:] == (3,) else np.column_stack([points, np.zeros(len(points))]),
        cells=cells,
        other=other,
        point_data=_point_data({**nodal, **{name: means for name, (means, _) in corners.items()}}),
        components=med.components if med else {},
        jumps={name: jump for name, (_, jump) in corners.items()},
        node_id=np.arange(first, first + len(points)) if ids is None else ids,
        numbered=f"places in the file, from {first}" if ids is None else OF_FILE,
        steps=() if steps is None else steps[1],
        node_sets={str(name): np.asarray(nodes, dtype=np.int64) for name, nodes in (found.point_sets or {}).items()},
    )


def _reader_words(error: BaseException) -> str:
    """Why a reader ends, as far as its own words need knowledge of it."""
    if isinstance(error, SystemExit):
        return "its reader stops"
    if isinstance(error, ElementTree.ParseError):
        return xml_words(error)
    if isinstance(error, OSError) and "signature not found" in str(error):
        return "it is no HDF5 file, or cut off"
    return str(error)


def _numbers(file: Path, count: int) -> NDArray[np.int64] | None:
    """Numbers of the nodes as the file has them; None where it has none, or other ones than nodes were read."""
    try:
        found = numbers_of_file(file)
    except FatcoreError:
        raise
    except (ValueError, KeyError, IndexError) as error:
        raise InputError(f"{file.name}: the numbers of its nodes cannot be read", "mesh") from error
    return found if found is not None and len(found) == count else None


def _in_order(file: Path, arrays: Mapping[str, Any], ids: NDArray[np.int64] | None) -> dict[str, Any]:
    """Arrays of an MSH file with their rows in the order of the nodes, by the numbers that they carry.

    Raises : InputError for two arrays of one name, as steps in time are, for other nodes than the mesh has, and
             where the numbers of its nodes are not known
    """
    sections = node_data_of_msh(file)
    found = dict(arrays)
    for place, (name, numbers) in enumerate(sections):
        if name in {each.name for each in sections[:place]}:
            text = f"array {name!r} is there more than once, as steps in time are: write each under a name of its own"
            raise InputError(text, "mesh")
        if ids is None:
            text = f"array {name!r}: the numbers of the nodes are not read of this version: write version 4.1 or 2"
            raise InputError(text, "mesh")
        order = np.argsort(numbers, kind="stable")
        at = order[np.minimum(np.searchsorted(numbers[order], ids), len(numbers) - 1)]
        if len(ids) != len(numbers) or (numbers[at] != ids).any():
            raise InputError(f"array {name!r} is given at other nodes than the mesh has", "mesh")
        found[name] = np.asarray(arrays[name])[at]
    return found


def _time_steps(meshio: Any, file: Path) -> tuple[Any, tuple[tuple[float, Mapping[str, Array]], ...]] | None:
    """Mesh, and time with arrays of each step, of a file with a series in time; None for any other."""
    if b'"Temporal"' not in file.read_bytes():
        return None
    with meshio.xdmf.TimeSeriesReader(file) as reader:
        points, cells = reader.read_points_cells()
        read = [reader.read_data(step) for step in range(reader.num_steps)]
    steps = tuple((float(time), _point_data(point_data)) for time, point_data, _ in read)
    return meshio.Mesh(points, cells), steps


def _cells(blocks: Any) -> tuple[tuple[tuple[SolidElement, NDArray[np.int64]], ...], dict[str, int]]:
    solids: list[tuple[SolidElement, NDArray[np.int64]]] = []
    other: dict[str, int] = {}
    for block in blocks:
        kind = _KINDS.get(block.type)
        if kind is not None:
            solids.append((kind, np.asarray(block.data, dtype=np.int64).reshape(-1, node_count(kind))))
        elif block.type.startswith(_NO_SOLIDS):
            other[block.type] = other.get(block.type, 0) + len(block.data)
        else:
            raise InputError(f"cells {block.type!r} are none of {', '.join(_KINDS.values())}", "mesh")
    return tuple(solids), other


def _point_data(arrays: Mapping[str, Any]) -> dict[str, Array]:
    found = {str(name): np.asarray(values) for name, values in arrays.items()}
    return {name: values.reshape(len(values), -1) if values.ndim > 2 else values for name, values in found.items()}
