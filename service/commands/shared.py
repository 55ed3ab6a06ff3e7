"""What the commands share: exit codes, reading of files, evaluation by the service's own path."""

from __future__ import annotations

import argparse
import codecs
import sys
from pathlib import Path
from typing import Any, Protocol

from service import progress
from service.common import Strict, evaluate
from service.parsing import strict_json
from service.problems import Problem
from service.registry import find

__all__ = [
    "BAD_INPUT",
    "FAILED",
    "PASSED",
    "UNREACHABLE",
    "Commands",
    "calculate",
    "read_bytes",
    "request_in",
    "text_in",
    "write_bytes",
    "write_text",
]

PASSED, FAILED, BAD_INPUT, UNREACHABLE = 0, 1, 2, 3


class Commands(Protocol):
    """What argparse returns for adding commands."""

    def add_parser(self, name: str, **details: Any) -> argparse.ArgumentParser:
        """Adds one command."""


def read_bytes(path: str) -> bytes:
    """Content of a file, or of standard input for '-'."""
    return sys.stdin.buffer.read() if path == "-" else Path(path).read_bytes()


def text_in(content: bytes, name: str) -> str:
    """The text of a file: UTF-8, or UTF-16 that says so by its first bytes.

    Raises : Problem for anything else, since a guess could change a name or a number
    """
    wide = content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))
    try:
        return content.decode("utf-16" if wide else "utf-8-sig")
    except UnicodeDecodeError as error:
        raise Problem(400, f"{name} is not UTF-8 text (byte {error.start}): save it as UTF-8") from error


def request_in(content: bytes, calculation: str) -> Any:
    """The request of a file: the request itself, or an example that holds it with its calculation.

    Raises : Problem when the file is no JSON, or an example of another calculation
    """
    data = strict_json(content)
    if isinstance(data, dict) and {"calculation", "request"} <= set(data):
        if data["calculation"] != calculation:
            raise Problem(422, f"the file is an example of {data['calculation']}, not of {calculation}")
        return data["request"]
    return data


def calculate(name: str, data: Any) -> tuple[Strict, bytes]:
    """The request and the answer of a calculation, the same bytes as the service gives."""
    calculation = find(name)
    if calculation is None:
        raise Problem(404, f"there is no calculation {name!r}")
    with progress.shown():
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
