"""Inputs and outputs of one command: no file is both, and none is written twice."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

from ..base.problems import Problem
from .places import is_stream, target_of


def guard_apart(read: Iterable[Path], written: Sequence[Path]) -> None:
    """Refuses outputs that are read by the same command, by whatever links and names, or that are the same file.

    Pipes and devices are no file that something could be lost of.
    """
    targets = [path for path in written if not is_stream(path)]
    for number, target in enumerate(targets):
        if any(is_same(target, other) for other in targets[:number]):
            raise Problem(422, f"{target} is named for two outputs")
    for source in read if targets else ():
        for target in targets:
            if is_same(source, target):
                raise Problem(422, f"{target} is read by this command, and would be written over: name another output")


def is_same(one: Path, other: Path) -> bool:
    """Whether two paths lead to one file, also by links or by names that a file system takes for the same."""
    if target_of(one) == target_of(other):
        return True
    try:
        return one.samefile(other)
    except OSError:  # one of them is not there
        return False
