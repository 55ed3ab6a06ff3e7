"""The keys of both kinds of map, for a terminal, for a program and for the guides."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any

from ..lines.keys import MapKey, keys_markdown, keys_text, map_keys, request_keys
from ..lines.map import REQUIRED, TableMap
from .layout import NEEDED, MeshMap

TITLES = {
    "table": "Map of a table",
    "mesh": "Map of a solid mesh",
    "request": "The request in a map of either kind",
}
INTRODUCTION = """# Keys of a map

Every key that `toeline lines --map` takes, out of the models that validate it; `toeline lines --keys` prints the
same, with `--json` for a program. `[]` stands for every entry of a list, `<name>` for a name of yours.
How they go together is told in
[weld lines](weld_lines.md).
"""


def all_keys() -> Mapping[str, Sequence[MapKey]]:
    """Keys of a map by its part."""
    return {"table": map_keys(TableMap, REQUIRED), "mesh": map_keys(MeshMap, tuple(NEEDED)), "request": request_keys()}


def keys_json() -> dict[str, list[dict[str, Any]]]:
    """The keys as plain data."""
    return {name: [asdict(row) for row in rows] for name, rows in all_keys().items()}


def all_keys_text() -> str:
    """The keys for a terminal."""
    return "\n\n".join(f"{TITLES[name]}\n\n{keys_text(rows)}" for name, rows in all_keys().items())


def guide() -> str:
    """The page of the guides."""
    parts = [f"## {TITLES[name]}\n\n{keys_markdown(rows)}\n" for name, rows in all_keys().items()]
    return "\n".join([INTRODUCTION, *parts])
