"""Reads mesh files by their suffix."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from fatcore.errors import InputError

from ..base.problems import Problem
from .formats.deck import read_deck
from .formats.legacy import read_vtk
from .formats.med import read_med
from .formats.msh import read_msh
from .formats.vtu import read_vtu
from .formats.xdmf import read_xdmf
from .raw import RawMesh

NOT_INSTALLED = "urn:toeline:mesh-not-installed"
_MAX_FILE_BYTES = 4 << 30
_READERS: dict[str, Callable[[Path, int], RawMesh]] = {
    ".vtu": lambda file, most: read_vtu(file.read_bytes(), most),
    ".vtk": lambda file, _: read_vtk(file),
    ".msh": lambda file, _: read_msh(file),
    ".med": read_med,
    ".xdmf": read_xdmf,
    ".inp": lambda file, _: read_deck(file),
}
SUFFIXES = tuple(_READERS)


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
        if suffix not in _READERS:
            raise Problem(415, f"{path}: no mesh by its suffix; known are {', '.join(SUFFIXES)}")
        return _READERS[suffix](file, _MAX_FILE_BYTES)
    except OSError as error:
        raise Problem(404, f"{path}: {error.strerror}") from error
    except InputError as error:
        raise InputError(f"{file.name}: {error}", *error.path) from error
    except ModuleNotFoundError as error:
        missing = f"{suffix} files need h5py: pip install 'toeline[mesh]'"
        raise Problem(503, missing, kind=NOT_INSTALLED, title="Optional extra not installed") from error
