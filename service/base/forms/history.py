"""Some rows of a crack's history, with cycles that agree with the life beside them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from fatcore.figures import lowered


def history_rows(growth: Mapping[str, Any], most: int) -> list[dict[str, Any]]:
    """Rows of the history, the first and the last among them, each with the cycles that are left before its end.

    growth  : its last row has the life, which is written with the digits of a life: neighbours with a life that
              reads the same are told apart by what is left of it
    Returns : columns that this crack does not have are None; so is what is left of an infinite life

    >>> history = {"elapsed_cycles": [0.0, 10929361.2, 10929814.7], "depth_mm": [1.0, 2.0, 3.0], "size_kind": "depth"}
    >>> [list(row.values()) for row in history_rows({"life_cycles": 10929814.7, "history": history}, 2)]
    [[0.0, 1.0, 10929814.7], [10929814.7, 3.0, 0.0]]
    """
    history = growth["history"]
    elapsed = history["elapsed_cycles"]
    points = len(elapsed)
    columns = {name: column for name, column in history.items() if column is None or _is_of(column, points)}
    chosen = sorted({round(step * (points - 1) / (most - 1)) for step in range(most)})
    rows = [{name: column[at] if column else None for name, column in columns.items()} for at in chosen]
    for at, row in zip(chosen, rows, strict=True):
        row["elapsed_cycles"] = lowered(elapsed[at])
        row["cycles_left"] = None if growth["life_cycles"] is None else lowered(elapsed[-1] - elapsed[at])
    return rows


def _is_of(column: Any, points: int) -> bool:
    return isinstance(column, list) and len(column) == points


def heads_of(rows: list[dict[str, Any]], columns: Mapping[str, str]) -> dict[str, str]:
    """The columns that a crack has, from key to heading."""
    return {name: head for name, head in columns.items() if rows[0][name] is not None}
