"""The option --fitted: curves and laws that tests gave, by name in a request."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from typing import Any

from ...base.parsing import strict_json
from ...base.problems import Problem
from ...topics.trials.fitted import fitted_parts, put_fitted
from ..shared import read_bytes


def add_fitted(command: argparse.ArgumentParser) -> None:
    """Adds the option."""
    text = "answer saved by fit-sn or fit-growth, whose curve (NAME) or law (NAME/mean, NAME/upper) the request names"
    command.add_argument("--fitted", action="append", default=[], metavar="FILE", help=f"{text}; repeatable")


def with_fitted(data: Any, files: Sequence[str]) -> Any:
    """The request with what the files hold in place of its names.

    Raises : Problem 422 for a file without a fit, for two of one name, and for one that the request does not name
    """
    parts: dict[str, dict[str, Any]] = {}
    for file in files:
        found = fitted_parts(strict_json(read_bytes(file), file), file)
        twice = parts.keys() & found.keys()
        if twice:
            raise Problem(422, f"{file}: {min(twice)!r} is there twice")
        parts |= found
    return put_fitted(data, parts) if parts else data
