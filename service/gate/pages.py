"""Reports of the checks that do not pass: one page each in a folder that holds those of the last run and no others."""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from fatcore.figures import counted

from ..base.parsing import request_in
from ..base.problems import Problem
from ..client.errors import ClientError
from ..files.writing import replace_file
from ..jobs.in_order import Each
from ..report.renderers import render, require_packages
from ..topics.check.models import CheckRequest
from .gate import Calculate, Prepare, unchanged
from .gravity import checks_by_gravity
from .result import CaseResult, GateResult

MOST_PAGES = 100  # of about half a megabyte, and a second of work each
LONGEST_NAME = 80
NAME = re.compile(r"[A-Za-z0-9_-]+-[0-9a-f]{12}\.html")
MARK = b'<meta name="generator" content="toeline gate">'  # as the page of a check that a gate stops has it
HEAD_BYTES = 1000


def page_name(key: str) -> str:
    """File name of the report of a check: letters of its path, and a digest, so that no two checks share one.

    >>> page_name("models/hanger A.json")
    'models-hanger-A-37499f225083.html'
    """
    words = re.sub(r"[^A-Za-z0-9_]+", "-", key.removesuffix(".json")).strip("-")[-LONGEST_NAME:].strip("-")
    return f"{words or 'check'}-{hashlib.sha256(key.encode()).hexdigest()[:12]}.html"


def prepare_folder(folder: Path) -> None:
    """Makes the folder.

    Raises : Problem where the packages of a report are missing, OSError where no folder can be there
    """
    require_packages("check")
    folder.mkdir(parents=True, exist_ok=True)


@dataclass(frozen=True, slots=True)
class _Task:
    path: Path
    check: CaseResult


def write_pages(
    folder: Path,
    result: GateResult,
    paths: Mapping[str, Path],
    calculate: Calculate,
    each: Each = map,
    prepare: Prepare = unchanged,
) -> GateResult:
    """Writes the report of every check that does not pass, and takes away those of former runs.

    Each is written whole or not at all, calculated once more from its file.
    paths   : file of a check, by its key; prepare: what is done to the request of a file first
    Returns : the result with the paths of the reports; what has none is reported
    """
    stopped = [check for check in checks_by_gravity(result) if not check.passed]
    tasks = [_Task(paths[check.key], check) for check in stopped if check.error is None and check.key in paths]
    notes = [f"{check.key}: no report, since there is no answer of it" for check in stopped if not _has(tasks, check)]
    if len(tasks) > MOST_PAGES:
        rest = counted(len(tasks) - MOST_PAGES, "check")
        notes.append(f"{rest} that did not pass without a report: the {MOST_PAGES} gravest have one")
    chosen = tasks[:MOST_PAGES]
    remove_pages(folder)
    written: dict[str, str] = {}
    for task, made in zip(chosen, each(partial(_make, calculate, prepare), chosen), strict=True):
        target = folder / page_name(task.check.key)
        problem = _written(target, made)
        if problem is None:
            written[task.check.key] = target.as_posix()
        else:
            notes.append(f"{task.check.key}: no report: {problem}")
    return replace(result, pages=written, notes=(*result.notes, *notes))


def _has(tasks: Sequence[_Task], check: CaseResult) -> bool:
    return any(task.check is check for task in tasks)


@dataclass(frozen=True, slots=True)
class _Made:
    """A page, or why there is none; both are texts, so that a process can hand them over."""

    page: str = ""
    problem: str | None = None


def _written(target: Path, made: _Made) -> str | None:
    """Writes a page; why there is none, where there is none."""
    if made.problem is not None:
        return made.problem
    try:
        replace_file(target, made.page.encode())
    except OSError as error:
        return error.strerror or str(error)
    return None


def _make(calculate: Calculate, prepare: Prepare, task: _Task) -> _Made:
    try:
        return _Made(_page(calculate, prepare, task))
    except Problem as problem:
        return _Made(problem=problem.detail)
    except (ClientError, OSError) as error:
        return _Made(problem=str(error))


def _page(calculate: Calculate, prepare: Prepare, task: _Task) -> str:
    data = prepare(request_in(task.path.read_bytes(), "check"))
    envelope = calculate(data)
    if envelope["record"]["input_digest"] != task.check.input_digest:
        raise Problem(422, "its file changed during the run")
    request = CheckRequest.model_validate(data)
    return render("check", request, envelope, changes=task.check.since, stopped=tuple(_reasons(task.check)))


def _reasons(check: CaseResult) -> Iterator[str]:
    yield from (fault.text if line is None else f"{line}: {fault.text}" for line, fault in check.every_fault)


def remove_pages(folder: Path) -> None:
    """Takes away the reports that a gate wrote here before; nothing else, whatever its name."""
    for path in sorted(folder.iterdir()):
        if NAME.fullmatch(path.name) and path.is_file() and not path.is_symlink() and _is_ours(path):
            with suppress(FileNotFoundError):
                os.unlink(path)


def _is_ours(path: Path) -> bool:
    with path.open("rb") as stream:
        return MARK in stream.read(HEAD_BYTES)
