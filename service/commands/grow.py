"""toeline grow: the life of a crack from a file."""

from __future__ import annotations

import argparse
import json

from service.commands.shared import (
    PASSED,
    Commands,
    calculate,
    read_bytes,
    request_in,
    write_bytes,
    write_text,
)
from service.text import growth_text

__all__ = ["add"]


def add(commands: Commands) -> None:
    """Adds the command grow."""
    grow = commands.add_parser("grow", help="follow a crack from its first flaw to its end")
    grow.add_argument("file", help="request of cracks/growth (JSON) or example; - for standard input")
    grow.add_argument("--json", action="store_true", help="write the answer exactly as the service gives it")
    grow.set_defaults(run=_grow)


def _grow(given: argparse.Namespace) -> int:
    _request, content = calculate("cracks/growth", request_in(read_bytes(given.file), "cracks/growth"))
    if given.json:
        write_bytes(content, None)
    else:
        write_text(growth_text(json.loads(content)))
    return PASSED
