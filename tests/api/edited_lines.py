"""Edits outputs of a batch: with the digest of each line made again, or left as it was."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

from service.base.forms.sealed import sealed_line


def resealed(line: bytes) -> bytes:
    """A line with the digest that fits, in place of the one that it holds."""
    data = json.loads(line)
    data.pop("line_digest", None)
    return sealed_line(json.dumps(data, ensure_ascii=False, separators=(",", ":")).encode())


def edited(content: bytes, change: Callable[[dict[str, Any]], object], *, sealed: bool = True, at: int = 0) -> bytes:
    """An output in which one line is edited; sealed: with the digest that fits, else with the old one."""
    lines = content.splitlines(keepends=True)
    data = json.loads(lines[at])
    change(data)
    line = json.dumps(data, ensure_ascii=False, separators=(",", ":")).encode() + b"\n"
    lines[at] = resealed(line) if sealed else line
    return b"".join(lines)
