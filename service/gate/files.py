"""Which check files a gate takes: files, folders, patterns, and what its baseline knows of them."""

from __future__ import annotations

import glob
import os
from collections.abc import Collection, Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any

from ..base.parsing import strict_json
from ..base.problems import Problem
from ..topics.registry import load
from .baseline import key_of

CHECK_KEYS = {"lines", "loading"}


class Found:
    """The check files, and JSON files of folders that were left out since they hold no check."""

    def __init__(self, checks: Iterable[Path], skipped: Iterable[Path]) -> None:
        self.checks, self.skipped = tuple(checks), tuple(skipped)


def find(names: Sequence[str], ignored: Path | None = None, known: Collection[str] = ()) -> Found:
    """Check files in the order of their names, each once, however it is named.

    names   : files, folders (all *.json below that hold a check), patterns like models/**/*.json
    ignored : a file that is never a check, such as the baseline
    known   : checks of the baseline, as seen from its folder: such a file must hold a check, whatever is
              in it, and one below a folder that is named is always taken
    Raises  : Problem when a name fits nothing, or there is no check at all
    """
    base = Path() if ignored is None else ignored.parent
    checks: dict[str, Path] = {}
    skipped: dict[str, Path] = {}
    for name in names:
        for path, chosen in [*_paths(name), *_known_below(Path(name), base, known)]:
            if ignored is not None and path.resolve() == ignored.resolve():
                continue
            taken = chosen or key_of(path, base) in known or _may_be_check(path)
            (checks if taken else skipped).setdefault(os.path.abspath(path), path)
    if not checks:
        raise Problem(422, "no check file in " + ", ".join(names))
    left_out = (path for full, path in skipped.items() if full not in checks)
    return Found(sorted(checks.values()), sorted(left_out))


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


def _known_below(folder: Path, base: Path, known: Collection[str]) -> Iterator[tuple[Path, bool]]:
    """Files of the baseline below a folder: a search does not look into a folder that is a link, for one."""
    if not folder.is_dir():
        return
    above = Path(os.path.abspath(folder))
    for key in known:
        path = base / key
        if path.exists() and Path(os.path.abspath(path)).is_relative_to(above):
            yield path, True


def _may_be_check(path: Path) -> bool:
    """False only for a file that is plainly something else; a broken check must not slip through."""
    try:
        data = strict_json(path.read_bytes())
    except Problem:
        return True
    if not isinstance(data, dict):
        return _holds_check(data)
    if "calculation" in data:
        others = {name for _, name in load()} - {"check"}
        return data["calculation"] not in others
    return bool(CHECK_KEYS & set(data)) or _holds_check(list(data.values()))


def _holds_check(values: Any) -> bool:
    """Whether a check is wrapped in something; such a file is refused, which is better than a note."""
    listed = values if isinstance(values, list) else []
    return any(isinstance(value, dict) and set(value) >= CHECK_KEYS for value in listed)
