"""Refusals of what options say: in the words of the command line, where the service has those of a request."""

from __future__ import annotations

import re
from collections.abc import Collection

from ...base.problems import Problem

_OF_MODES = re.compile(r"\b(modes_mpa|weights)\b")
_FIELD = re.compile(r"(?<![\w.])[a-z]+(?:_[a-z]+)+\b")  # no name of a rule, which stands behind its table


def as_options(problem: Problem, path: str, given: Collection[str], beside: str | None) -> Problem:
    """The problem of a table with the options it came from, or the file of further keys, in place of pointers.

    path : of the table; given: fields of the request that options say; beside: file of the other fields
    """
    told = [_told(pointer, message, path, given, beside) for pointer, message in problem.errors if pointer]
    detail = f"{path}: {problem.detail}".replace(": the body ", " ")
    return Problem(problem.status, "\n".join(dict.fromkeys(told)) or detail)


def _told(pointer: str, message: str, path: str, given: Collection[str], beside: str | None) -> str:
    field = pointer.split("/")[1]
    said = message.removeprefix(f"{field} ")
    if said == "is needed" and beside is None:
        return f"{option_of(field)} is needed"
    if field in given:
        return f"{option_of(field)}{' ' if said != message else ': '}{_with_options(said, given)}"
    if beside is not None and not field.isdecimal():
        return f"{beside}: {pointer}: {message}"
    return f"{path}: {_with_options(message, given)}"


def _with_options(text: str, given: Collection[str]) -> str:
    """The text with options in place of fields that one word cannot be taken for."""
    if "modes_mpa" in text:
        return _OF_MODES.sub(lambda found: "several columns" if found[0] == "modes_mpa" else "--weights", text)
    return _FIELD.sub(lambda found: option_of(found[0]) if found[0] in given else found[0], text)


def option_of(field: str) -> str:
    """The option of a field of the request.

    >>> option_of("damage_limit_rule"), option_of("columns")
    ('--damage-limit-rule', '--column')
    """
    return "--column" if field == "columns" else f"--{field.replace('_', '-')}"
