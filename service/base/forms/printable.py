"""Texts of the caller in every form: what moves a cursor, turns a line or is no character is shown as an escape."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import fields, is_dataclass, replace
from typing import Any

_TURNING = {chr(code) for code in (0x61C, 0x200E, 0x200F, *range(0x202A, 0x202F), *range(0x2066, 0x206A))}
_TURNING |= {"\ufffe", "\uffff"}  # no characters
_CONTROL = {"Cc", "Cs", "Zl", "Zp"}
LINES = "\n\t\r"  # kept where a text may have several
# two colons at the beginning of a line; two hashes and a bracket anywhere
_OF_RUNNERS = re.compile(r"^([^\S\n]*)::|##(?=\w*\[)", re.MULTILINE)
_OF_JSON = re.compile("[\x7f-\x9f\u2028\u2029" + "".join(sorted(_TURNING)) + "]|#(?=#\\w*\\[)")
_OF_LINES = {"error"}  # a refusal of several lines, made here


def escaped(text: str, keep: str = "") -> str:
    """A text without control characters and without those that turn the direction of writing.

    keep : control characters that stay

    >>> escaped("toe\\nverdict PASS\\x1b[2K"), escaped("a\\nb", keep="\\n")
    ('toe\\\\nverdict PASS\\\\x1b[2K', 'a\\nb')
    """
    if text.isprintable():
        return text
    return "".join(each if each in keep or not _moves(each) else as_escape(each) for each in text)


def for_terminal(text: str) -> str:
    """A text of several lines that neither moves the cursor nor gives a command to the runner of a pipeline.

    >>> for_terminal("::error::x"), for_terminal("a ##[b]"), for_terminal("a::b ## c")
    ('\\\\::error::x', 'a #\\\\#[b]', 'a::b ## c')
    """
    return inert(escaped(text, keep="\n"))


def inert(text: str) -> str:
    """A text in which a backslash parts what runners of pipelines take for a command in what a job prints."""
    return _OF_RUNNERS.sub(
        lambda found: f"{found[0][:-1]}\\{found[0][-1:]}" if "#" in found[0] else f"{found[1]}\\::", text
    )


def inert_json(text: str) -> str:
    """The same of JSON, which reads as before: what moves the cursor or gives a command is written by its number."""
    return _OF_JSON.sub(lambda found: f"\\u{ord(found[0]):04x}", text)


def _moves(letter: str) -> bool:
    return letter in _TURNING or unicodedata.category(letter) in _CONTROL


def as_escape(letter: str) -> str:
    """A character as its escape.

    >>> as_escape("\x1b")
    '\\\\x1b'
    """
    return letter.encode("unicode_escape").decode()


def printable(value: Any) -> Any:
    """The same with every text in it escaped, at any depth of plain data and dataclasses."""
    if isinstance(value, str):
        return escaped(value)
    if isinstance(value, Mapping):
        return {printable(key): printable(item) for key, item in value.items()}
    if isinstance(value, tuple) and not hasattr(value, "_fields"):
        return tuple(map(printable, value))
    if isinstance(value, list):
        return list(map(printable, value))
    if is_dataclass(value) and not isinstance(value, type):
        given = {each.name: getattr(value, each.name) for each in fields(value) if each.init}
        return replace(value, **{name: item if name in _OF_LINES else printable(item) for name, item in given.items()})
    return value
