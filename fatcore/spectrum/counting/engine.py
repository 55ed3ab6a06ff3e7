"""Chooses how loops run: compiled when the optional compiler is installed, else by whole arrays.

Both ways give the same numbers to the last bit; `using("plain")` switches the compiled way off.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache
from importlib.util import find_spec
from typing import Any, Literal

from fatcore.errors import InputError

Engine = Literal["auto", "plain", "fast"]

_wanted: ContextVar[Engine] = ContextVar("spectrum_engine", default="auto")


@contextmanager
def using(name: Engine) -> Iterator[None]:
    """Count by this engine inside the block: `auto` (compiled when installed), `plain`, `fast`.

    Raises : InputError when `fast` is asked for and the compiler is not installed
    """
    if name == "fast" and not _installed():
        raise InputError("the engine 'fast' needs the optional dependency group 'fast'", "engine")
    token = _wanted.set(name)
    try:
        yield
    finally:
        _wanted.reset(token)


def chosen() -> Literal["plain", "fast"]:
    """The engine that counts now."""
    return "fast" if _wanted.get() != "plain" and _installed() else "plain"


def compiled(loop: Callable[..., Any]) -> Callable[..., Any] | None:
    """The compiled form of a loop, or None when the plain engine is chosen."""
    return _compile(loop) if chosen() == "fast" else None


@cache
def _installed() -> bool:
    return find_spec("numba") is not None


@cache
def _compile(loop: Callable[..., Any]) -> Callable[..., Any]:
    import numba

    try:
        return numba.njit(nogil=True, cache=True)(loop)  # type: ignore[no-any-return]
    except RuntimeError:  # no place to keep the compiled code, as in a read-only container
        return numba.njit(nogil=True)(loop)  # type: ignore[no-any-return]
