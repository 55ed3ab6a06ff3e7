"""Which tests run which line, and how long each takes: one covered run of the suite, kept in `.mutation/`."""

from __future__ import annotations

import hashlib
import json
import os
import re
import subprocess
import sys
import time
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from .durations import TARGET
from .mutant import Mutant

KEPT = ".mutation/reach.json"
SNAPSHOTS = ("tests/api/test_examples.py",)  # these replay answers that the program itself once gave
# tests of every table, limit, default and choice: they read what modules hold rather than run its lines
RULES = ("test_transcripts.py", "test_every_limit.py", "test_defaults.py", "test_every_choice.py")
STATUSES = "tests/api/test_problem_statuses.py"  # reads the source of the service
LEFT_OUT = ("tests/toolchain", "tests/mutation")
FEW = 5  # tests that run a line: others may read what it kept in a cache
SHARED = -1  # stands for the tests that share a fixture which runs the line


@dataclass(frozen=True)
class Reach:
    """tests: seconds by test; lines: by file and line the numbers of its tests; digests: of the files."""

    tests: dict[str, float]
    lines: dict[str, dict[str, list[int]]]
    digests: dict[str, str]
    newer: tuple[str, ...] = ()  # files of tests that were written or changed after the map
    root: Path = Path()

    @classmethod
    def read(cls, root: Path) -> Reach:
        """The map as kept; FileNotFoundError when it was never built."""
        kept, built = json.loads((root / KEPT).read_text(encoding="utf-8")), (root / KEPT).stat().st_mtime
        files = [path for path in (root / "tests").rglob("test_*.py") if path.stat().st_mtime > built]
        newer = {path.relative_to(root).as_posix() for path in files}
        return cls(**kept, newer=tuple(sorted(each for each in newer if not each.startswith(LEFT_OUT))), root=root)

    @cached_property
    def names(self) -> list[str]:
        return list(self.tests)

    def is_stale(self, mutant: Mutant) -> bool:
        """Whether the file has changed since the map was built: then the whole file counts as touched."""
        return self.digests.get(mutant.file) != digest(mutant.source)

    def tests_of(self, mutant: Mutant) -> list[str]:
        """The tests that can notice, best first: the nearest by name, then the fastest; snapshots last."""
        numbers = {index for line in self._lines(mutant) for index in line}
        found = {self.names[index] for index in numbers - {SHARED}}
        if not found or SHARED in numbers or mutant.operator == "default":
            near = (
                "tests/verification/",
                "tests/api/" if mutant.topic == "service" else "tests/verification/",
            )
            found |= {name for name in self.names if name.startswith(near) or _is_of(mutant, name)}
        if len(found) <= FEW or mutant.name:
            naming = self._files_naming(mutant)
            found |= {name for name in self.names if name.partition("::")[0] in naming}
        if mutant.topic == "service" and mutant.operator == "constant":
            found |= {name for name in self.names if name.startswith(STATUSES)}
        files = {name.partition("::")[0] for name in found}
        found |= {file for file in self.newer if file in files or _is_of(mutant, file)}
        return sorted(found, key=lambda name: (is_snapshot(name), -_nearness(mutant, name), self.seconds(name)))

    def _files_naming(self, mutant: Mutant) -> set[str]:
        """Files of tests in which the changed module is named, or what it holds."""
        path = Path(mutant.file)
        names = [path.parent.name if path.stem == "__init__" else path.stem, *([mutant.name] if mutant.name else [])]
        word = re.compile(rf"\b({'|'.join(map(re.escape, names))})\b")
        files = (file for file in (self.root / "tests").rglob("test_*.py") if word.search(file.read_text("utf-8")))
        return {file.relative_to(self.root).as_posix() for file in files}

    def seconds(self, name: str) -> float:
        """What a test takes; a guess for a whole file that the map does not know."""
        return self.tests.get(name, 1.0)

    def _lines(self, mutant: Mutant) -> list[list[int]]:
        known = self.lines.get(mutant.file, {})
        wanted = [] if self.is_stale(mutant) else [known[str(n)] for n in mutant.lines if str(n) in known]
        if not any(wanted) and mutant.name and not self.is_stale(mutant):
            word = re.compile(rf"\b{mutant.name}\b")
            numbers = [n for n, line in enumerate(mutant.source.splitlines(), 1) if word.search(line)]
            wanted = [known[str(n)] for n in numbers if str(n) in known]
        return wanted if any(wanted) else list(known.values())


def is_snapshot(test: str) -> bool:
    return test.startswith(SNAPSHOTS)


def _is_of(mutant: Mutant, test: str) -> bool:
    """Whether a test carries the topic of the mutant in its file name, or holds the tables."""
    file = test.partition("::")[0].rpartition("/")[2]
    topic = rf"test_(properties_|unsafe_|choices_)?{mutant.topic.rstrip('s')}"
    return bool(re.match(topic, file)) or file in RULES


def _nearness(mutant: Mutant, test: str) -> int:
    """Words that the path of the changed file and the name of the test share."""
    ours, theirs = ({w.rstrip("s") for w in re.split(r"[\W_]+", name)} for name in (mutant.file, test))
    return len((ours & theirs) - {"py"})


def digest(source: str) -> str:
    return hashlib.sha256(source.encode()).hexdigest()[:16]


def build(tree: Path, root: Path, processes: int) -> Reach:
    """Runs the suite in a copy of the tree and keeps the map under the root; failed tests are left out."""
    times, covered, start = tree / "durations.json", tree / "coverage.sqlite", time.time()
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", "-n", str(processes)]
    command += ["-p", "tests.mutation.durations", "--cov", "--cov-context=test", "--cov-report="]
    command += [f"--ignore={folder}" for folder in LEFT_OUT]
    places = {"PYTHONPATH": str(tree), TARGET: str(times), "COVERAGE_FILE": str(covered)}
    subprocess.run(command, cwd=tree, env={**os.environ, **places}, check=False)
    reach = _gathered(tree, covered, json.loads(times.read_text(encoding="utf-8")))
    (root / KEPT).parent.mkdir(exist_ok=True)
    (root / KEPT).write_text(
        json.dumps({"tests": reach.tests, "lines": reach.lines, "digests": reach.digests}), encoding="utf-8"
    )
    os.utime(root / KEPT, (start, start))  # what is written while the suite runs is newer
    return reach


def _gathered(tree: Path, covered: Path, times: dict[str, dict[str, Any]]) -> Reach:
    from coverage import CoverageData

    tests = {name: round(each["seconds"], 4) for name, each in times.items() if not each["failed"]}
    number = {name: index for index, name in enumerate(tests)}

    def of(context: str) -> int | None:
        name, _, phase = context.partition("|")
        return SHARED if phase == "setup" else number.get(name)

    data = CoverageData(str(covered))
    data.read()
    lines: dict[str, dict[str, list[int]]] = {}
    for path in data.measured_files():
        by_line = data.contexts_by_lineno(path)
        file = str(Path(path).relative_to(tree))
        lines[file] = {str(n): sorted(set(map(of, contexts)) - {None}) for n, contexts in by_line.items()}
    digests = {file: digest((tree / file).read_text(encoding="utf-8")) for file in lines}
    return Reach(tests, lines, digests)
