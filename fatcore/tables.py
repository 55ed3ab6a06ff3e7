"""Strict loader of the numbers in data/: one file per standard and edition."""

from __future__ import annotations

from typing import Any

from fatcore import _resources
from fatcore.errors import UnknownError
from fatcore.sources import source


def table_names(folder: str) -> tuple[str, ...]:
    """Names of the tables in a folder of data/, like 'curves/en_1993_1_9_2005'."""
    return tuple(name.removesuffix(".toml") for name in _resources.names(folder))


def load(name: str) -> dict[str, Any]:
    """Content of a table. Every table states `revision` (int) and `source` (a registered key).

    Raises : UnknownError for an unknown table or source, RuntimeError when the head is incomplete
    """
    folder = name.rpartition("/")[0]
    if f"{name}.toml" not in _resources.names(folder):
        raise UnknownError("table", name, table_names(folder))
    content = _resources.read_toml(f"{name}.toml")
    if not isinstance(content.get("revision"), int) or "source" not in content:
        raise RuntimeError(f"table {name!r} states no revision or no source")
    source(content["source"])
    return content


def fingerprint(name: str) -> str:
    """Revision and digest of a table for the record of an answer: 'rev 1 sha256:0123456789abcdef'."""
    return f"rev {load(name)['revision']} sha256:{_resources.digest(f'{name}.toml')}"
