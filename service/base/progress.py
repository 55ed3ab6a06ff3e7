"""How far a long calculation has come: the command line listens, the service does not."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import TextIO

Listener = Callable[[int, int], None]
_current: ContextVar[Listener | None] = ContextVar("progress", default=None)


def listener(total: int) -> Callable[[int], None] | None:
    """A function that takes finished parts of `total`, or None when nobody listens."""
    receiver = _current.get()
    if receiver is None:
        return None
    done = 0

    def finished(parts: int) -> None:
        nonlocal done
        done += parts
        receiver(done, total)

    return finished


@contextmanager
def show_progress(stream: TextIO | None = None, *, always: bool = False) -> Iterator[None]:
    """Draws a bar on a terminal while calculations inside report; nothing on a pipe or file."""
    out = sys.stderr if stream is None else stream
    if out is None or not (always or out.isatty()):
        yield
        return
    token = _current.set(lambda done, total: _draw(out, done, total))
    try:
        yield
    finally:
        _current.reset(token)
        out.write("\r" + " " * 60 + "\r")
        out.flush()


def _draw(out: TextIO, done: int, total: int) -> None:
    share = done / max(total, 1)
    out.write(f"\r[{'#' * int(40 * share):<40}] {100 * share:3.0f} % of {total}")
    out.flush()
