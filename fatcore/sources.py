"""Register of publications: every formula and table names one by its key."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal, cast, get_args

from fatcore import _resources
from fatcore.errors import UnknownError

Status = Literal["read", "from memory", "derived", "common practice", "own choice"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """A publication and how far its figures here were confirmed.

    status : read (seen in the publication), from memory (recalled, not re-read), derived (follows
             mathematically), common practice (no publication), own choice (a default of this product)
    """

    key: str
    citation: str
    status: Status
    remark: str = ""


@cache
def all_sources() -> dict[str, Source]:
    """Every registered source by key, from data/sources/<topic>.toml."""
    register: dict[str, Source] = {}
    for name in _resources.names("sources"):
        for key, entry in _resources.read_toml(name).items():
            if key in register or entry["status"] not in get_args(Status):
                raise RuntimeError(f"{name}: source {key!r} is listed twice or has no known status")
            register[key] = Source(key=key, **cast("dict[str, str]", entry))  # type: ignore[arg-type]
    return register


def source(key: str) -> Source:
    """The source with this key; UnknownError when it is not registered."""
    register = all_sources()
    if key not in register:
        raise UnknownError("source", key, register)
    return register[key]
