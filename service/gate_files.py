"""Which check files a gate takes: files, folders, patterns."""

from __future__ import annotations

import glob
from collections.abc import Iterable, Sequence
from pathlib import Path

from service.parsing import strict_json
from service.problems import Problem

__all__ = ["Found", "find"]

CHECK_KEYS = {"lines", "loading"}


class Found:
    """The check files, and JSON files of folders that were left out since they hold no check."""

    def __init__(self, checks: Iterable[Path], skipped: Iterable[Path]) -> None:
        self.checks, self.skipped = tuple(checks), tuple(skipped)


def find(names: Sequence[str], ignored: Path | None = None) -> Found:
    """Check files in the order of their names, each once.

    names   : files, folders (all *.json below that hold a check), patterns like models/**/*.json
    ignored : a file that is never a check, such as the baseline
    Raises  : Problem when a name fits nothing, or there is no check at all
    """
    checks: set[Path] = set()
    skipped: set[Path] = set()
    for name in names:
        for path, chosen in _paths(name):
            if ignored is not None and path.resolve() == ignored.resolve():
                continue
            (checks if chosen or _may_be_check(path) else skipped).add(path)
    if not checks:
        raise Problem(422, "no check file in " + ", ".join(names))
    return Found(sorted(checks), sorted(skipped - checks))


def _paths(name: str) -> list[tuple[Path, bool]]:
    """Paths of one name, and whether the user named the file itself."""
    path = Path(name)
    if path.is_dir():
        return [(found, False) for found in path.rglob("*.json")]
    if path.exists():
        return [(path, True)]
    matched = [Path(found) for found in glob.glob(name, recursive=True)]
    if not matched:
        raise Problem(422, f"{name}: there is no such file or folder, and no file fits the pattern")
    return [(found, False) for found in matched if found.is_file()]


def _may_be_check(path: Path) -> bool:
    """False only for a file that is plainly something else; a broken check must not slip through."""
    try:
        data = strict_json(path.read_bytes())
    except Problem:
        return True
    if not isinstance(data, dict):
        return False
    if "calculation" in data:
        return bool(data["calculation"] == "check")
    return bool(CHECK_KEYS & set(data))
