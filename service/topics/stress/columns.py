"""What the stress routes ask of a request beyond its schema: one of several, all of a group, one length."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any

import numpy as np

from fatcore.errors import FatcoreError, InputError, at
from fatcore.require import FloatArray, one_length


def stack_columns(name: str, columns: Mapping[str, list[float] | None]) -> FloatArray:
    """Columns of one length side by side; a column left out is zero."""
    with at(name):
        size = one_length(**{key: column for key, column in columns.items() if column is not None})
    rows = [[0.0] * size if column is None else column for column in columns.values()]
    return np.ascontiguousarray(np.array(rows, dtype=np.float64).T)


def required(request: Any, name: str) -> Any:
    """The field of the request; InputError when it was left out."""
    value = getattr(request, name)
    if value is None:
        raise InputError(f"{name} is needed here", name)
    return value


def none_of(request: Any, why: str, *names: str) -> None:
    """InputError when one of the fields is given."""
    for name in names:
        if getattr(request, name) is not None:
            raise InputError(f"{name}: {why}", name)


def one_of(request: Any, *names: str) -> str:
    """Name of the only field that is given; InputError when it is none or more."""
    given = [name for name in names if getattr(request, name) is not None]
    if len(given) != 1:
        raise InputError(f"give exactly one of {', '.join(names)}", *given[1:2])
    return given[0]


@contextmanager
def map_error_path(**places: str) -> Iterator[None]:
    """Prefixes the path of a core error with the object of the request that holds the input."""
    try:
        yield
    except FatcoreError as error:
        prefix = places.get(str(error.path[0])) if error.path else None
        error.path = (prefix, *error.path) if prefix else error.path
        raise
