"""A request as a task that any process can do: bytes and texts in, the bytes of the answer out."""

from __future__ import annotations

import time
from collections.abc import Hashable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Any

from fatcore.errors import FatcoreError

from ..base.common import Calculation, Cost, Strict
from ..base.envelope import Evaluation, calculated, validated
from ..base.parsing import strict_json
from ..base.problems import Problem, from_core, pointer, refused_parts
from ..base.rules.active import active_policy
from ..base.text import number
from ..comparison.changes import Comparison
from ..comparison.compare import compare
from ..comparison.older import BASELINE, answer_of, older_answer
from ..report.file_name import disposition, file_name
from ..report.policy import REPORT_HEADERS
from ..report.renderers import RENDERERS, render, require_packages
from ..topics.registry import find, load
from .forms import Cell, cell_text, csv_text, findings_header

JSON, HTML, CSV, TEXT = "application/json", "text/html", "text/csv", "text/plain"
FINDINGS = "X-Toeline-Findings"
LIGHT_S = 5e-3  # what is estimated below is answered at once [own choice]
LIGHT_BYTES = 12_000  # a body that is read and validated in less
BESIDE_BYTES = 4_000  # what a kept answer holds besides its body and its content
_WARM_S = 0.05  # so that workers that are warmed together are different ones
_SMALL_S = 1e-3  # a calculation without an estimate of its own, in a small body


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """One request of a calculation.

    kind   : media type of the body; wanted: media type of the answer; cell: the one value that is asked for
    """

    method: str
    name: str
    kind: str
    body: bytes
    query: Mapping[str, str]
    path: Mapping[str, Any]
    cell: Cell | None
    wanted: str

    @property
    def key(self) -> Hashable:
        """All that its answer depends on, the rules of the company among it: the same key, the same bytes."""
        policy = active_policy()
        rules = None if policy is None else policy.digest
        of_url = (*self.query.items(), *self.path.items())
        return (self.method, self.name, self.kind, self.body, of_url, self.cell, self.wanted, rules)

    @property
    def small(self) -> bool:
        """Whether it is read and validated in no time, so that its cost can be estimated at once."""
        readable = self.method == "GET" or self.kind == JSON or self.kind.endswith("+json")
        return readable and len(self.body) <= LIGHT_BYTES and self.wanted != HTML


@dataclass(frozen=True, slots=True)
class Prepared:
    """A task that has been read: its calculation, the validated request, and an older answer that stands beside."""

    calculation: Calculation
    request: Strict
    older: Any

    @property
    def cost(self) -> Cost:
        """What it will take."""
        return cost_of(self.calculation, self.request)


@dataclass(frozen=True, slots=True, kw_only=True)
class Answered:
    """An answer in the form that was asked for.

    digest : of the request, as in the record
    """

    content: bytes
    media_type: str
    digest: str
    headers: Mapping[str, str] = field(default_factory=dict)


def warm() -> None:
    """Imports what calculations and their reports need, so that the first one does not wait for it."""
    load()
    with suppress(Problem):  # the extra of the reports may be missing
        for calculation in RENDERERS:
            require_packages(calculation)
    time.sleep(_WARM_S)


def prepare(calculation: Calculation, task: Task) -> Prepared:
    """The task, read and validated; Problem for what is refused."""
    if task.method == "GET":
        _guard_query(task)
        given = {**task.query, **task.path}
        return Prepared(calculation, validated(calculation, given, strings=True, elsewhere=task.path.keys()), None)
    data = _data(calculation, task)
    older = None
    if task.wanted == HTML and isinstance(data, dict):  # other forms refuse it, as any unknown key
        older = data.pop(BASELINE, None)
    return Prepared(calculation, validated(calculation, data), older)


def _guard_query(task: Task) -> None:
    """Problem 422 for a query parameter of something that stands in the path: one of both would be lost."""
    twice = [(pointer([name]), "stands in the path: give it there alone") for name in task.query if name in task.path]
    if twice:
        raise refused_parts(twice, "query parameters stand in the path")


def cost_of(calculation: Calculation, request: Strict) -> Cost:
    """What a request will take."""
    return Cost(_SMALL_S, "", "") if calculation.cost is None else calculation.cost(request)


def guard_cost(cost: Cost, limit_s: float) -> None:
    """Problem 422 for what cannot end in time."""
    if cost.seconds > limit_s:
        text = (
            f"{cost.what} are estimated to take {number(cost.seconds)} s, and a calculation may take "
            f"{number(limit_s)} s here: make it smaller, or use the command line"
        )
        raise Problem(422, text, [(cost.pointer, text)], kind="urn:toeline:too-costly")


def work(task: Task, limit_s: float) -> Answered:
    """The answer of a task, all of it; for a worker process."""
    calculation = find(task.name, task.method)
    assert calculation is not None, task.name
    prepared = prepare(calculation, task)
    guard_cost(prepared.cost, limit_s)
    return finish(task, prepared)


def finish(task: Task, prepared: Prepared) -> Answered:
    """The answer of a task that has been read."""
    found = calculated(prepared.calculation, prepared.request)
    digest = found.beside["record"]["input_digest"]
    if task.cell is None and task.wanted == JSON:
        return Answered(content=found.content(), media_type=JSON, digest=digest)
    envelope = found.envelope()
    if task.wanted == HTML:
        changes = None if prepared.older is None else _changes(prepared.older, found, prepared.calculation)
        page = render(prepared.calculation.name, found.request, envelope, changes=changes)
        named = {"Content-Disposition": disposition(file_name(prepared.calculation.name, found.request))}
        headers = {**REPORT_HEADERS, **named}
        return Answered(content=page.encode(), media_type=_utf8(HTML), digest=digest, headers=headers)
    headers = {FINDINGS: findings_header(envelope["findings"])}
    if task.cell is not None:
        text = cell_text(found.answered(), task.cell.path, accept_outside=task.cell.accept_outside)
        return Answered(content=text.encode(), media_type=_utf8(TEXT), digest=digest, headers=headers)
    table = csv_text(prepared.calculation, envelope, found)
    return Answered(content=table.encode(), media_type=_utf8(CSV), digest=digest, headers=headers)


def _utf8(media_type: str) -> str:
    return f"{media_type}; charset=utf-8"


def _changes(older: Any, found: Evaluation, calculation: Calculation) -> Comparison:
    """What changed since the older answer that stands beside the request of a report."""
    return compare(older_answer("the older answer", older, calculation), answer_of("this answer", found))


def _data(calculation: Calculation, task: Task) -> Any:
    if task.kind in calculation.bodies:
        try:
            return calculation.bodies[task.kind](task.body, dict(task.query))
        except FatcoreError as error:
            raise from_core(error) from error
    if task.query:
        raise Problem(422, "this calculation takes no query parameters", [("/" + next(iter(task.query)), "unknown")])
    if task.kind != JSON and not task.kind.endswith("+json"):
        known = ", ".join([JSON, *calculation.bodies])
        raise Problem(415, f"send Content-Type {known}, not {task.kind or 'none'}")
    return strict_json(task.body)
