"""The option --fitted: curves and laws that tests gave, by name in a request."""

from __future__ import annotations

import argparse
import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import Any

from ...base.parsing import request_in, strict_json
from ...base.problems import Problem
from ...topics.trials.fitted import fitted_parts, guard_used, put_fitted, put_named
from ..shared import read_bytes
from ..texts.parser import InputFile
from ..texts.telling import tell


def add_fitted(command: argparse.ArgumentParser) -> None:
    """Adds the option."""
    text = "answer saved by fit-sn or fit-growth, whose curve (NAME) or law (NAME/mean, NAME/upper) the request names"
    command.add_argument(
        "--fitted", type=InputFile, action="append", default=[], metavar="FILE", help=f"{text}; repeatable"
    )


def fitted_in(files: Sequence[str]) -> dict[str, dict[str, Any]]:
    """What the files hold, by name.

    Raises : Problem 422 for a file without a fit, and for two of one name
    """
    parts: dict[str, dict[str, Any]] = {}
    for file in files:
        found = fitted_parts(strict_json(read_bytes(file), file), file)
        twice = parts.keys() & found.keys()
        if twice:
            raise Problem(422, f"{file}: {min(twice)!r} is there twice")
        parts |= found
    return parts


def with_fitted(data: Any, files: Sequence[str]) -> Any:
    """The request with what the files hold in place of its names.

    Raises : Problem 422 as `fitted_in`, and for a part that the request does not name
    """
    parts = fitted_in(files)
    return put_fitted(data, parts) if parts else data


def in_checks(files: Sequence[str], checks: Iterable[Path], *, whole: bool) -> Callable[[Any], Any] | None:
    """What puts the parts into the request of a check; None without files.

    whole  : whether the checks are all there are, and not one part of them

    Raises : Problem 422 as `fitted_in`, and for a part that none of the checks names
    """
    parts = fitted_in(files)
    if not parts:
        return None
    used: set[str] = set()
    for path in checks:
        try:
            used |= put_named(request_in(path.read_bytes(), "check"), parts)[1]
        except (Problem, OSError):  # refused where it is run, and nobody knows what it would have named
            used.update(parts)
    if whole:
        guard_used(parts, used, "the checks")
    return partial(_put_in, parts)


def _put_in(parts: Mapping[str, Mapping[str, Any]], data: Any) -> Any:
    return put_named(data, parts)[0]


def in_lines(files: Sequence[str], lines: Sequence[bytes]) -> Sequence[bytes]:
    """Lines of a batch with what the files hold in place of the names in their inputs.

    A line that cannot take them stays as it is, to be refused where it is run; the reason is told.

    Raises : Problem 422 as `fitted_in`, and for a part that no line names
    """
    parts = fitted_in(files)
    if not parts:
        return lines
    used: set[str] = set()
    found = [_in_line(number, line, parts, used) for number, line in enumerate(lines, start=1)]
    guard_used(parts, used, "the lines")
    return found


def _in_line(number: int, line: bytes, parts: Mapping[str, Mapping[str, Any]], used: set[str]) -> bytes:
    try:
        item = strict_json(line)
    except Problem:
        return line  # it is refused where it is run
    if not isinstance(item, dict) or "input" not in item:
        return line
    try:
        data, here = put_named(item["input"], parts)
    except Problem as problem:
        tell(f"line {number} (id {json.dumps(item.get('id'))}) is refused: {problem.detail}")
        used.update(parts)  # the line names one of them
        return line
    used |= here
    return json.dumps({**item, "input": data}).encode() if here else line
