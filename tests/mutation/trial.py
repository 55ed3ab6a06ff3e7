"""Runs the tests against a mutant in a copy of the tree; the working tree stays as it is."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from .mutant import Mutant
from .reach import Reach, is_snapshot

Verdict = Literal["noticed", "snapshot", "survived", "stillborn"]
FIRST_BATCH = 120
_GUESTS = ("numpy", "scipy.optimize", "scipy.integrate", "scipy.special", "scipy.interpolate", "scipy.stats")
_GUESTS += ("fastapi", "httpx", "uvicorn", "hypothesis", "mpmath", "pytest", "_pytest.doctest")
_TOO_LONG = "infinite"
_OWN = ("tests", "fatcore", "service")


@dataclass(frozen=True)
class Outcome:
    """verdict, number of tests that could run, seconds; by: the first test that failed."""

    mutant: Mutant
    verdict: Verdict
    tests: int
    seconds: float
    by: str = ""


def copy_tree(root: Path, target: Path) -> Path:
    """The files of the working tree that git knows or would add, copied to a new folder."""
    command = ["git", "ls-files", "-co", "--exclude-standard", "-z"]
    listed = subprocess.run(command, cwd=root, capture_output=True, check=True).stdout.decode()
    for name in filter(None, listed.split("\0")):
        if (root / name).is_file():
            (target / name).parent.mkdir(parents=True, exist_ok=True)
            (target / name).write_bytes((root / name).read_bytes())
    return target


def preload() -> None:
    """Imports what every trial needs once, before the trials fork off."""
    for name in _GUESTS:
        __import__(name)


def try_out(mutant: Mutant, tree: Path, reach: Reach, time_limit: float) -> Outcome:
    """Writes the mutant into the tree, runs its tests until one fails, puts the file back."""
    start, tests = time.monotonic(), reach.tests_of(mutant)
    try:
        if mutant.file.endswith(".py"):
            compile(mutant.text, mutant.file, "exec", dont_inherit=True)
    except SyntaxError:
        return Outcome(mutant, "stillborn", 0, 0.0)
    target = tree / mutant.file
    target.write_text(mutant.text, encoding="utf-8")
    try:
        for batch in _batches(tests):
            left = time_limit - (time.monotonic() - start)
            infinite = 30.0 + 10.0 * sum(map(reach.seconds, batch))
            by = _first_failure(tree, batch, min(left, infinite)) if left > 0.0 else ""
            if by == _TOO_LONG and left < infinite:
                return Outcome(mutant, "survived", len(tests), time_limit, "not all tests ran in time")
            if by:
                verdict: Verdict = "snapshot" if is_snapshot(batch[0]) else "noticed"
                return Outcome(mutant, verdict, len(tests), time.monotonic() - start, by)
    finally:
        target.write_text(mutant.source, encoding="utf-8")
    return Outcome(mutant, "survived", len(tests), time.monotonic() - start)


def check(tree: Path, reach: Reach) -> None:
    """The unchanged copy must pass the fastest tests; RuntimeError with the one that fails."""
    fastest = sorted(reach.names, key=reach.tests.__getitem__)[:FIRST_BATCH]
    if by := _first_failure(tree, fastest, 600.0):
        raise RuntimeError(f"the unchanged copy fails: {by}")


def _batches(tests: Sequence[str]) -> Iterator[Sequence[str]]:
    plain = [name for name in tests if not is_snapshot(name)]
    replays = [name for name in tests if is_snapshot(name)]
    near, far = plain[:FIRST_BATCH], plain[FIRST_BATCH:]
    yield from (batch for batch in (near[:30], near[30:], far[:400], far[400:], replays) if batch)


def _first_failure(tree: Path, tests: Sequence[str], limit: float) -> str:
    """Name of the first test that fails, 'time limit', or nothing; in a process of its own."""
    said = tree / "first_failure.txt"
    said.unlink(missing_ok=True)
    child = os.fork()
    if child == 0:
        _run_in_child(tree, tests, said)
    deadline = time.monotonic() + limit
    while (ended := os.waitpid(child, os.WNOHANG))[0] == 0:
        if time.monotonic() > deadline:
            os.killpg(child, signal.SIGKILL)
            os.waitpid(child, 0)
            return _TOO_LONG
        time.sleep(0.02)
    if ended[1] == 0:
        return ""
    return said.read_text(encoding="utf-8") if said.exists() else "import or collection"


def _run_in_child(tree: Path, tests: Sequence[str], said: Path) -> None:
    code = 3
    try:
        os.setsid()
        os.chdir(tree)
        quiet = os.open(os.devnull, os.O_RDWR)
        for stream in (0, 1, 2):
            os.dup2(quiet, stream)
        for name in [name for name in sys.modules if name.partition(".")[0] in _OWN]:
            del sys.modules[name]
        sys.path[:] = [str(tree), *(p for p in sys.path if p and not (Path(p) / "fatcore").is_dir())]
        sys.dont_write_bytecode = True
        os.environ |= {"PYTHONPATH": str(tree), "PYTHONDONTWRITEBYTECODE": "1"}
        os.environ["PYTEST_DISABLE_PLUGIN_AUTOLOAD"] = "1"  # guests are imported already: no rewriting
        import pytest

        files = list(dict.fromkeys(name.partition("::")[0] for name in tests))
        options = ["-x", "-q", "-p", "no:cacheprovider", "-c", str(tree / "pyproject.toml")]
        code = int(pytest.main([*options, *files], plugins=[_Chosen(tests, said)]))
    finally:
        os._exit(code)


class _Chosen:
    """Keeps the chosen tests, in the given order, and writes down the first that fails."""

    def __init__(self, tests: Sequence[str], said: Path) -> None:
        self.place = {name: index for index, name in enumerate(tests)}
        self.said = said

    def pytest_collection_modifyitems(self, items: list[Any]) -> None:
        places = {item: self.place_of(item.nodeid) for item in items}
        kept = [item for item in items if places[item] is not None]
        items[:] = sorted(kept, key=places.__getitem__)

    def place_of(self, name: str) -> int | None:
        """Of the test, or of its whole file."""
        return self.place.get(name, self.place.get(name.partition("::")[0]))

    def pytest_runtest_logreport(self, report: Any) -> None:
        if report.failed and not self.said.exists():
            self.said.write_text(report.nodeid, encoding="utf-8")
