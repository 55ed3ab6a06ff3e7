"""Reads what an operator names: a file as it lies there, never more of it than is meant to be."""

from __future__ import annotations

import os
import stat
from pathlib import Path

from ..base.problems import Problem

_AT_ONCE = getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)  # a pipe that nobody writes to is not waited for


def read_bounded(path: str | Path, most_bytes: int, what: str) -> bytes:
    """The content of a file.

    what   : the file is to be, in words
    Raises : Problem for a device or a pipe, which may not end, and for a larger file; OSError as `open`
    """
    with open(os.open(path, os.O_RDONLY | _AT_ONCE), "rb") as stream:
        if not stat.S_ISREG(os.fstat(stream.fileno()).st_mode):
            raise Problem(422, f"{path} is no file: {what} is read from one")
        content = stream.read(most_bytes + 1)
    if len(content) > most_bytes:
        raise Problem(413, f"{path}: {what} may have {most_bytes} bytes, this has more")
    return content
