"""Base of every result: the numbers, and where they come from."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields, is_dataclass
from functools import cache
from typing import Any, TypedDict

import numpy as np
from numpy.typing import NDArray

from fatcore.findings import Finding, merge

_AS_THEY_ARE = (str, int, bool, type(None))


class Evidence(TypedDict):
    """The keyword arguments that every outcome takes besides its numbers."""

    findings: tuple[Finding, ...]
    sources: tuple[str, ...]
    tables: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outcome:
    """A result with its findings, the keys of its sources and the names of the data tables it used.

    Numbers in an outcome are finite; an infinite life is None (or a mask beside an array).
    """

    findings: tuple[Finding, ...] = ()
    sources: tuple[str, ...] = ()
    tables: tuple[str, ...] = ()

    def to_dict(self) -> dict[str, Any]:
        """Everything as plain Python for JSON: arrays as lists, infinity as None, parts as dictionaries."""
        return {each.name: plain(getattr(self, each.name)) for each in fields(self)}

    def columns(self) -> dict[str, NDArray[Any]]:
        """The columns of the most common length by name: `pandas.DataFrame(outcome.columns())`."""
        values = {each.name: getattr(self, each.name) for each in fields(self)}
        arrays = {name: v for name, v in values.items() if isinstance(v, np.ndarray) and v.ndim == 1}
        sizes = [value.size for value in arrays.values()]
        usual = max(sizes, key=sizes.count, default=0)
        return {name: value for name, value in arrays.items() if value.size == usual}


def plain(value: Any) -> Any:
    """A value of an outcome as plain Python: arrays as lists, positive infinity (an infinite life) as None.

    >>> plain((np.array([1.0, np.inf]), np.float64(2.0), np.inf))
    [[1.0, None], 2.0, None]
    """
    kind = type(value)
    if kind in _AS_THEY_ARE or (kind is float and value != np.inf):
        return value
    if isinstance(value, np.ndarray):
        if value.dtype.kind == "f" and np.isposinf(value).any():
            infinite, value = np.isposinf(value), value.astype(object)
            value[infinite] = None
        return value.tolist()
    if isinstance(value, np.generic):
        value = value.item()
    if isinstance(value, float) and value == np.inf:
        return None
    if isinstance(value, Mapping):
        return {key: plain(item) for key, item in value.items()}
    if isinstance(value, tuple | list):
        return [plain(item) for item in value]
    if is_dataclass(value) and not isinstance(value, type):
        return {name: plain(getattr(value, name)) for name in names_of(type(value))}
    return value


@cache
def names_of(kind: Any) -> tuple[str, ...]:
    """Names of the fields of a dataclass, in order."""
    return tuple(each.name for each in fields(kind))


def evidence(
    *parts: Outcome,
    findings: Iterable[Finding] = (),
    sources: Iterable[str] = (),
    tables: Iterable[str] = (),
) -> Evidence:
    """Findings, sources and tables of the parts and of the caller, each once, in order of appearance."""
    return {
        "findings": merge([*(f for part in parts for f in part.findings), *findings]),
        "sources": tuple(dict.fromkeys([*(s for part in parts for s in part.sources), *sources])),
        "tables": tuple(dict.fromkeys([*(t for part in parts for t in part.tables), *tables])),
    }
