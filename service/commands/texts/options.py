"""Refusals of what options say: in the words of the command line, where the service has those of a request."""

from __future__ import annotations

from collections.abc import Collection

from ...base.problems import Problem


def as_options(problem: Problem, path: str, options: Collection[str], beside: str | None) -> Problem:
    """The problem of a table with the options it came from, or the file of further keys, in place of pointers.

    path : of the table; options: fields of the request that are options; beside: file of the other fields
    """
    told = [_told(pointer, message, path, options, beside) for pointer, message in problem.errors]
    return Problem(problem.status, "\n".join(dict.fromkeys(told)) or f"{path}: {problem.detail}")


def _told(pointer: str, message: str, path: str, options: Collection[str], beside: str | None) -> str:
    field = pointer.split("/")[1] if pointer else ""
    if field in options:
        said = message.removeprefix(f"{field} ")
        return f"{option_of(field)}{' ' if said != message else ': '}{said}"
    if beside is not None and field and not field.isdecimal():
        return f"{beside}: {pointer}: {message}"
    return f"{path}: {message}"


def option_of(field: str) -> str:
    """The option of a field of the request.

    >>> option_of("damage_limit_rule"), option_of("columns")
    ('--damage-limit-rule', '--column')
    """
    return "--column" if field == "columns" else f"--{field.replace('_', '-')}"
