"""A gate for design models: check files against a limit and against their stored state."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any, cast

from ..base.envelope import evaluate, prepared, validated
from ..base.parsing import request_in
from ..base.problems import Problem
from ..base.rules.active import run_apart
from ..client.errors import ClientError
from ..client.exit_codes import BAD_INPUT, UNREACHABLE, exit_code
from ..jobs.in_order import Each
from ..jobs.shard import Shard
from ..topics.check.models import CheckRequest
from ..topics.registry import find, load
from ..units.request import without_wish
from .alike.continued import say_what_goes_on
from .alike.moves import origins
from .alike.names import looking_alike
from .alike.twins import find_twins
from .answers import answer_check
from .baseline import Baseline, key_of
from .files import Found
from .result import Answered, CaseResult, GateResult, Limits
from .rules import compare_line, find_vanished

Calculate = Callable[[Any], Mapping[str, Any]]
Prepare = Callable[[Any], Any]


@dataclass(frozen=True, slots=True)
class Answers:
    """What every check file answered, before it is compared: an answer, or a result that holds the error."""

    checks: Sequence[Answered | CaseResult]
    skipped: Sequence[str] = ()

    @property
    def whole(self) -> bool:
        """Whether every check has an answer."""
        return all(isinstance(check, Answered) for check in self.checks)

    @property
    def policies(self) -> set[str | None]:
        """Digests of the policies that the answers obey, None among them where one obeys none."""
        answered = (check for check in self.checks if isinstance(check, Answered))
        return {None if check.policy is None else check.policy["digest"] for check in answered}


def calculate_here(request: Any) -> Mapping[str, Any]:
    """The envelope of a check, calculated in this process."""
    calculation = find("check")
    assert calculation is not None
    # in a context of its own, so that the check does not draw its bar into that of the gate
    return run_apart(evaluate, calculation, request).envelope()


def unchanged(request: Any) -> Any:
    """The request of a file as it is."""
    return request


def ask_checks(
    found: Found,
    calculate: Calculate,
    folder: Path,
    finished: Callable[[int], None] = lambda _: None,
    each: Each = map,
    prepare: Prepare = unchanged,
) -> Answers:
    """Runs every check file.

    calculate : request of a check -> its envelope
    folder    : the files are called by their paths as seen from here
    finished  : is called with 1 after each file
    each      : how the files are worked off, in their order
    prepare   : what is done to the request of a file first
    """
    checks: list[Answered | CaseResult] = []
    unreachable = False
    named = [(path, key_of(path, folder)) for path in found.checks]
    answers = each(partial(_one, calculate, prepare), named)
    for _, key in named:
        checks.append(_unasked(key) if unreachable else next(answers))
        unreachable = unreachable or _code(checks[-1]) == UNREACHABLE
        finished(1)
    return Answers(checks, [key_of(path, folder) for path in found.skipped])


def _code(check: Answered | CaseResult) -> int:
    return check.error_code if isinstance(check, CaseResult) else 0


def _one(calculate: Calculate, prepare: Prepare, named: tuple[Path, str]) -> Answered | CaseResult:
    path, key = named
    try:
        data = prepare(without_wish(request_in(path.read_bytes(), "check")))
        request = _validated(data)
        return answer_check(key, request, calculate(data))
    except Problem as problem:
        return CaseResult(key=key, error=_refusal(problem), error_code=BAD_INPUT)
    except ClientError as error:
        return CaseResult(key=key, error=str(error), error_code=exit_code(error))
    except OSError as error:
        return CaseResult(key=key, error=error.strerror or str(error), error_code=BAD_INPUT)


def _validated(data: Any) -> CheckRequest:
    """The request with what a policy puts into it, whose rules are compared too."""
    return cast(CheckRequest, prepared(validated(load()["POST", "check"], data))[0])


def _refusal(problem: Problem) -> str:
    return "\n".join(problem.lines())


def _unasked(key: str) -> CaseResult:
    return CaseResult(key=key, error="not calculated, since the service gave no answer before", error_code=UNREACHABLE)


def judge(answers: Answers, limits: Limits, baseline: Baseline | None = None, shard: Shard | None = None) -> GateResult:
    """Judges the answers against the limits and the baseline.

    shard : the part that the answers are of; checks of the baseline that are in another one are no matter of this run
    """
    stored = {} if baseline is None else baseline.checks
    seen = {check.key for check in answers.checks}
    missing = {key: entry for key, entry in sorted(stored.items()) if key not in seen}
    gone = [] if baseline is None else [key for key in missing if not (baseline.folder / key).exists()]
    run = [check for check in answers.checks if isinstance(check, Answered)]
    accepted = {} if baseline is None else baseline.gone
    former = origins(run, stored, {key: missing[key] for key in gone}, accepted)
    checks = [
        check
        if isinstance(check, CaseResult)
        else compare_line(check, stored.get(check.key), limits, former[check.key])
        for check in answers.checks
    ]
    checks = find_twins(checks, run, stored)
    missing = {key: entry for key, entry in missing.items() if shard is None or shard.holds(key)}
    checks += [find_vanished(key, missing[key], limits) for key in gone if key in missing]
    left_out = [key for key in missing if key not in gone]
    if baseline is not None:
        checks += [*_unfit(baseline, left_out, limits)]
    return GateResult(
        checks=tuple(say_what_goes_on(checks)),
        limits=limits,
        compared=baseline is not None,
        notes=tuple(_notes(answers, left_out)),
        accepted=() if baseline is None else baseline.accepted,
        not_run=len(left_out),
    )


def _unfit(baseline: Baseline, keys: Sequence[str], limits: Limits) -> Iterator[CaseResult]:
    """Files that are not in this run, read for their shape: those that hold no check or lost a line."""
    for key in keys:
        try:
            request = _validated(without_wish(request_in((baseline.folder / key).read_bytes(), "check")))
        except (Problem, OSError) as error:
            text = _refusal(error) if isinstance(error, Problem) else error.strerror or str(error)
            yield CaseResult(key=key, error=f"not in this run, and no check any more: {text}", error_code=BAD_INPUT)
            continue
        left = {line.name for line in request.lines}
        before = baseline.checks[key]
        lost = {name: line for name, line in before.lines.items() if name not in left}
        if lost:
            yield find_vanished(key, before.model_copy(update={"lines": lost}), limits)


def _notes(answers: Answers, left_out: list[str]) -> Iterator[str]:
    for key in answers.skipped:
        yield f"{key}: holds no check, left out"
    for group in looking_alike([*(check.key for check in answers.checks), *left_out]):
        yield f"names of files that read the same: {', '.join(map(ascii, group))}"
    for key in left_out:
        yield f"{key}: in the baseline, but not among the files of this run"
