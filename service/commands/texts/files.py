"""The files that a command line names: which are read, which are written, and that none is both."""

from __future__ import annotations

import argparse
import os
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from ...base.problems import Problem
from ...files.apart import guard_apart
from .parser import STREAM, InputFile, OutputFile
from .under_policy import VARIABLE


def outputs_of(given: argparse.Namespace) -> list[Path]:
    """The files that the command writes; a result that has no file yet stands beside its request.

    Raises : Problem where one of them is read as well, two are the same, or standard input is to be read twice
    """
    _settle(given)
    read = [each for each in _named(given) if isinstance(each, InputFile)]
    if read.count(InputFile(STREAM)) > 1:
        raise Problem(400, "standard input is named for two inputs, and can be read once")
    written = [Path(each) for each in _named(given) if isinstance(each, OutputFile) and each != STREAM]
    guard_apart([*(Path(each) for each in read if each != STREAM), *_policy(given)], written)
    return written


def guard_read(given: argparse.Namespace, found: Iterable[Path]) -> None:
    """Refuses files that the command reads besides those it names, where it would write over one."""
    guard_apart(found, [Path(each) for each in _named(given) if isinstance(each, OutputFile) and each != STREAM])


def _settle(given: argparse.Namespace) -> None:
    """The output of a command whose result stands beside its request, and none where standard output is named."""
    suffix = getattr(given, "suffix", None)
    if suffix is not None and given.output is None and Path(given.file).name:
        beside = given.file if given.file == STREAM else str(Path(given.file).with_suffix(suffix))
        given.output = OutputFile(beside)
    if getattr(given, "output", None) == STREAM:
        given.output = None


def _named(given: argparse.Namespace) -> Iterator[Any]:
    for value in vars(given).values():
        yield from value if isinstance(value, list) else [value]


def _policy(given: argparse.Namespace) -> Iterator[Path]:
    """The policy that the environment names, which is read like one that an option names."""
    path = os.environ.get(VARIABLE, "")
    if path.strip() and getattr(given, "policy", "") is None:
        yield Path(path)
