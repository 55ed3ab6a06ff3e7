"""A gate for design models: check files against a limit and against their stored state."""

from __future__ import annotations

import contextvars
import json
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

from service.baseline import Baseline, key_of
from service.client_errors import ClientError
from service.commands.remote import exit_code
from service.commands.shared import BAD_INPUT, UNREACHABLE, request_in
from service.common import evaluate
from service.gate_files import Found
from service.gate_result import CheckResult, GateResult, Limits
from service.gate_rules import checked, vanished
from service.problems import Problem
from service.registry import find

__all__ = ["Calculate", "calculate_here", "run"]

Calculate = Callable[[Any], Mapping[str, Any]]


def calculate_here(request: Any) -> Mapping[str, Any]:
    """The envelope of a check, calculated in this process."""
    calculation = find("check")
    assert calculation is not None
    # in a context of its own, so that the check does not draw its own bar into that of the gate
    _, content = contextvars.Context().run(evaluate, calculation, request)
    envelope: Mapping[str, Any] = json.loads(content)
    return envelope


def run(
    found: Found,
    calculate: Calculate,
    limits: Limits,
    baseline: Baseline | None = None,
    folder: Path | None = None,
    told: Callable[[int], None] = lambda _: None,
) -> GateResult:
    """Runs every check file and judges it.

    calculate : request of a check -> its envelope
    folder    : the files are called by their paths as seen from here; default that of the baseline
    told      : is called with 1 after each file
    """
    base = folder or (Path() if baseline is None else baseline.folder)
    stored = {} if baseline is None else baseline.checks
    checks: list[CheckResult] = []
    for path in found.checks:
        key = key_of(path, base)
        unreachable = any(check.error_code == UNREACHABLE for check in checks)
        checks.append(_unasked(key) if unreachable else _one(path, key, calculate, limits, stored.get(key)))
        told(1)
    seen = {check.key for check in checks}
    missing = {key: entry for key, entry in sorted(stored.items()) if key not in seen}
    gone = [key for key in missing if not (base / key).exists()]
    checks += [vanished(key, missing[key], limits) for key in gone]
    return GateResult(
        checks=tuple(checks),
        limits=limits,
        compared=baseline is not None,
        notes=tuple(_notes(found, base, [key for key in missing if key not in gone])),
    )


def _one(path: Path, key: str, calculate: Calculate, limits: Limits, before: Any) -> CheckResult:
    try:
        request = request_in(path.read_bytes(), "check")
        envelope = calculate(request)
    except Problem as problem:
        return CheckResult(key=key, error=_refusal(problem), error_code=BAD_INPUT)
    except ClientError as error:
        return CheckResult(key=key, error=str(error), error_code=exit_code(error))
    except OSError as error:
        return CheckResult(key=key, error=error.strerror or str(error), error_code=BAD_INPUT)
    return checked(key, request.get("title", ""), envelope, before, limits)


def _refusal(problem: Problem) -> str:
    return "\n".join([problem.detail, *(f"  {where or '/'}: {text}" for where, text in problem.errors)])


def _unasked(key: str) -> CheckResult:
    return CheckResult(
        key=key, error="not asked, since the service gave no answer before", error_code=UNREACHABLE
    )


def _notes(found: Found, base: Path, left_out: list[str]) -> Iterator[str]:
    for path in found.skipped:
        yield f"{key_of(path, base)}: holds no check, left out"
    for key in left_out:
        yield f"{key}: in the baseline, but not among the files of this run"
