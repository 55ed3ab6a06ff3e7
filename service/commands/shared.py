"""What the commands share: exit codes, reading of files, evaluation by the service's own path."""

from __future__ import annotations

import codecs
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

from ..base import progress
from ..base.envelope import Evaluation, evaluate
from ..base.parsing import MAX_BODY_BYTES
from ..base.problems import Problem
from ..topics.registry import find


def read_bytes(path: str) -> bytes:
    """Content of a file, or of standard input for '-'."""
    return sys.stdin.buffer.read() if path == "-" else Path(path).read_bytes()


def reader_beside(path: str) -> Callable[[str], bytes]:
    """Reader of files whose paths are relative to the folder of another file; '-' stands in the current one."""
    folder = Path() if path == "-" else Path(path).parent

    def read(name: str) -> bytes:
        found = folder / name
        if found.stat().st_size > MAX_BODY_BYTES:
            raise Problem(413, f"{found.stat().st_size} bytes are more than the {MAX_BODY_BYTES} taken at once")
        return found.read_bytes()

    return read


def text_in(content: bytes, name: str) -> str:
    """The text of a file: UTF-8, or UTF-16 that says so by its first bytes.

    Raises : Problem for anything else, since a guess could change a name or a number
    """
    wide = content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))
    try:
        return content.decode("utf-16" if wide else "utf-8-sig")
    except UnicodeDecodeError as error:
        raise Problem(400, f"{name} is not UTF-8 text (byte {error.start}): save it as UTF-8") from error


def calculate(name: str, data: Any) -> Evaluation:
    """The request and the answer of a calculation, the same as the service gives."""
    calculation = find(name)
    if calculation is None:
        raise Problem(404, f"there is no calculation {name!r}")
    with progress.show_progress():
        return evaluate(calculation, data)


def write_bytes(content: bytes, path: str | None) -> None:
    """Writes an answer to a file, or to standard output with a newline."""
    if path:
        Path(path).write_bytes(content)
        return
    sys.stdout.buffer.write(content + b"\n")
    sys.stdout.flush()


def write_text(text: str) -> None:
    """Writes text for a person to standard output."""
    sys.stdout.write(text.rstrip("\n") + "\n")
