"""Reads the package's own data files; nothing else of the core touches a file."""

from __future__ import annotations

import hashlib
import tomllib
from functools import cache
from importlib.resources import files
from typing import Any


@cache
def read_text(name: str) -> str:
    """Text of `fatcore/data/<name>`."""
    return files("fatcore").joinpath("data").joinpath(name).read_text(encoding="utf-8")


@cache
def read_toml(name: str) -> dict[str, Any]:
    """Parsed TOML of `fatcore/data/<name>`; callers must not change it."""
    return tomllib.loads(read_text(name))


@cache
def names(folder: str) -> tuple[str, ...]:
    """Sorted names of the TOML files in `fatcore/data/<folder>`, with the folder."""
    entries = files("fatcore").joinpath("data").joinpath(folder).iterdir()
    return tuple(sorted(f"{folder}/{entry.name}" for entry in entries if entry.name.endswith(".toml")))


@cache
def digest(name: str) -> str:
    """First 16 hexadecimal digits of the SHA-256 of a data file."""
    return hashlib.sha256(read_text(name).encode()).hexdigest()[:16]
