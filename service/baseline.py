"""The stored state of checks that a gate compares with: utilisation of every weld line, by file and line."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from pydantic import Field, ValidationError

from fatcore import __version__
from service.common import NonNegative, Strict
from service.parsing import strict_json
from service.problems import Problem, from_validation

__all__ = ["Baseline", "StoredCheck", "StoredLine", "key_of", "read", "text_of"]


class StoredLine(Strict):
    """One weld line as it was."""

    utilisation: NonNegative
    verdict: Literal["pass", "fail", "undecided"]
    curve: str
    index: int
    position_mm: float


class StoredCheck(Strict):
    """One check file as it was."""

    title: str
    input_digest: str
    lines: dict[str, StoredLine] = Field(min_length=1)


class BaselineFile(Strict):
    """The file as it is written."""

    kind: Literal["toeline baseline"]
    version: str
    checks: dict[str, StoredCheck]


@dataclass(frozen=True, slots=True)
class Baseline:
    """Checks by key; a key is the path of the file as seen from the folder of the baseline."""

    folder: Path
    checks: Mapping[str, StoredCheck]


def key_of(path: Path, folder: Path) -> str:
    """Path of a check file as seen from a folder, with forward slashes, the same on every machine.

    Bytes of a name that are no text are written as escapes; a file on another drive goes by its whole path.
    """
    try:
        seen = Path(os.path.relpath(path.absolute(), folder.absolute()))
    except ValueError:  # there is no relative path from one drive to another
        seen = path.absolute()
    return os.fsencode(seen.as_posix()).decode("utf-8", "backslashreplace")


def read(path: Path) -> Baseline:
    """The baseline in a file.

    Raises : Problem when it is no baseline, OSError when it cannot be read
    """
    data = strict_json(path.read_bytes())
    try:
        stored = BaselineFile.model_validate(data)
    except ValidationError as error:
        problem = from_validation(error, data)
        raise Problem(422, f"{path} is no baseline of a gate", problem.errors) from error
    return Baseline(path.parent, stored.checks)


def text_of(checks: Mapping[str, StoredCheck]) -> str:
    """The text of a baseline file: sorted, one value a line, so that its changes read well in a review."""
    content: dict[str, Any] = {
        "kind": "toeline baseline",
        "version": __version__,
        "checks": {key: check.model_dump() for key, check in checks.items()},
    }
    return json.dumps(content, indent=1, sort_keys=True, ensure_ascii=False) + "\n"
