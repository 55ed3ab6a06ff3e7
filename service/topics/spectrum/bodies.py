"""Histories as bodies of their own: arrays in NPY format and tables in CSV, with the rest in the query."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

from fatcore.require import FloatArray

from ...base.units import find_stated_unit, guard_mpa, reads_as_no_stress
from .sample_csv import guard_picked, read_csv
from .sample_tables import NOT_PICKED, SampleTable, checked, read_npy, refused

Store = Callable[[dict[str, Any], FloatArray, list[str]], None]


def npy_body(store: Store, *, several: bool = False) -> Callable[[bytes, dict[str, str]], dict[str, Any]]:
    """Reader of application/x-npy: one history, or several, which `columns` in the query names or picks.

    store   : puts the array (rows x samples) and the names of its rows into the data of the request
    several : whether all columns may be meant where `weights` are given and none is picked
    """

    def read(body: bytes, query: dict[str, str]) -> dict[str, Any]:
        data, wanted = _data_of(query)
        count = None if any(name.isdecimal() for name in wanted) else len(wanted)
        return _read(store, data, wanted, read_npy(body, count or None), several=several)

    return read


def csv_body(store: Store, *, several: bool = False) -> Callable[[bytes, dict[str, str]], dict[str, Any]]:
    """Reader of text/csv: a line of names, then one row a sample; `columns` in the query picks some of them."""

    def read(body: bytes, query: dict[str, str]) -> dict[str, Any]:
        data, wanted = _data_of(query)
        if not wanted and not (several and "weights" in data):
            guard_picked(body)
        return _read(store, data, wanted, read_csv(body), several=several)

    return read


def _read(
    store: Store, data: dict[str, Any], wanted: list[str], table: SampleTable, *, several: bool
) -> dict[str, Any]:
    if not wanted and len(table.rows) > 1 and not (several and table.names and "weights" in data):
        raise table.choice(NOT_PICKED)
    index, names = table.pick(wanted) if wanted else (list(range(len(table.rows))), list(table.names))
    for name in names:
        if table.names and name not in wanted and reads_as_no_stress(name):  # read without its name
            raise table.choice(f"column {name!r} is named like no stress: name the columns to read (`columns`)")
        guard_mpa(name)
    _put(store, data, checked(table.rows[index], names or [str(row + 1) for row in index]), names)
    return {**data, **_unstated(names)}


def _put(store: Store, data: dict[str, Any], rows: FloatArray, names: list[str]) -> None:
    """Puts the numbers into the data of the request, where nothing else may have put any."""
    rest = dict(data)
    store(data, rows, names)
    for name, value in rest.items():
        if data[name] is not value:
            raise refused("the table itself gives this", f"/{name}")


def _unstated(names: list[str]) -> dict[str, bool]:
    """The field of the request that says that no unit is named, where a name or all of them lack it."""
    stated = bool(names) and all(find_stated_unit(name) is not None for name in names)
    return {} if stated else {"unit_stated": False}


def _data_of(query: dict[str, str]) -> tuple[dict[str, Any], list[str]]:
    """The rest of the request from the query: JSON where it reads as such, else text; and the column
    names.
    """
    rest = dict(query)
    names = [name.strip() for name in rest.pop("columns", "").split(",") if name.strip()]
    if len(set(names)) < len(names):
        raise refused("a column is named twice", "/columns")
    return {name: _value(text) for name, text in rest.items()}, names


def _value(text: str) -> Any:
    try:
        return json.loads(text)
    except (ValueError, RecursionError):
        return text
