"""From an HTTP request to the answer in the form the caller asked for: JSON, CSV, a page or one number."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from fatcore.errors import FatcoreError

from ..base.common import Calculation
from ..base.envelope import Evaluation, evaluate
from ..base.finding_rows import SEVERITIES
from ..base.forms.csv_table import csv_table
from ..base.parsing import query_data, strict_json
from ..base.problems import Problem, from_core, problem_response
from ..comparison.changes import Comparison
from ..comparison.compare import compare
from ..comparison.older import BASELINE, answer_of, older_answer
from ..report.file_name import disposition, file_name
from ..report.policy import REPORT_HEADERS
from ..report.renderers import RENDERERS, render

JSON = "application/json"
FINDINGS = "X-Toeline-Findings"
MAX_CODES = 20  # a header must stay short
PLACE = re.compile(r"[0-9]{1,9}")


@dataclass(frozen=True, slots=True)
class Cell:
    """What `only` asks for: one value of the answer, and whether also where a validity limit is left."""

    path: str
    accept_outside: bool


async def respond(calculation: Calculation, request: Request, body: bytes = b"") -> Response:
    """Answers one HTTP request of a calculation, whose body has been read, in the form it asks for."""
    query = query_data(request.query_params.multi_items())
    query.pop("key", None)
    only = _only(query)
    accept = request.headers.get("accept", "")
    wanted = JSON if only is not None else media_type_wanted(accept, calculation)
    kind = kind_of(request)
    path = dict(request.path_params)
    try:
        return await run_in_threadpool(_work, calculation, kind, body, query, path, only, wanted)
    except Problem as problem:
        not_found(problem, path)
        raise


def kind_of(request: Request) -> str:
    """Media type of a request's body, without its parameters.

    Raises : Problem 415 for a compressed body, which would get round the limit of its size
    """
    coding = request.headers.get("content-encoding", "identity").strip().lower()
    if coding not in {"", "identity"}:
        raise Problem(415, f"send the body as it is, without Content-Encoding {coding}")
    return request.headers.get("content-type", "").partition(";")[0].strip().lower()


def problem_reply(request: Request, problem: Problem) -> Response:
    """A problem in the form the caller can show: a spreadsheet cell, which sends GET, drops the body of an error."""
    if request.method in {"GET", "HEAD"} and "only" in request.query_params:
        return Response(f"#ERR: {problem.line()}", 200, media_type="text/plain; charset=utf-8")
    return problem_response(problem)


def not_found(problem: Problem, path: dict[str, Any]) -> None:
    # an unknown name in the path of the URL is 404, in a body or query 422
    if problem.kind == "urn:toeline:unknown" and any(
        where == f"/{name}" for name in path for where, _ in problem.errors
    ):
        problem.status = 404


def _work(
    calculation: Calculation,
    kind: str,
    body: bytes,
    query: dict[str, str],
    path: dict[str, Any],
    only: Cell | None,
    wanted: str,
) -> Response:
    older = None
    if calculation.method == "GET":
        found = evaluate(calculation, {**query, **path}, strings=True)
    else:
        data = _data(calculation, kind, body, query)
        if wanted == "text/html" and isinstance(data, dict):  # other forms refuse it, as any unknown key
            older = data.pop(BASELINE, None)
        found = evaluate(calculation, data)
    if only is None and wanted == JSON:
        return Response(found.content(), media_type=JSON)
    envelope = found.envelope()
    if wanted == "text/html":
        changes = None if older is None else _changes(older, found, calculation)
        page = render(calculation.name, found.request, envelope, changes=changes)
        named = {"Content-Disposition": disposition(file_name(calculation.name, found.request))}
        return Response(page, headers={**REPORT_HEADERS, **named}, media_type="text/html; charset=utf-8")
    headers = {FINDINGS: findings_header(envelope["findings"])}
    if only is not None:
        text = cell_text(envelope, only.path, accept_outside=only.accept_outside)
        return Response(text, headers=headers, media_type="text/plain; charset=utf-8")
    return Response(csv_text(calculation, envelope), headers=headers, media_type="text/csv; charset=utf-8")


def _changes(older: Any, found: Evaluation, calculation: Calculation) -> Comparison:
    """What changed since the older answer that stands beside the request of a report."""
    return compare(older_answer("the older answer", older, calculation), answer_of("this answer", found))


def _data(calculation: Calculation, kind: str, body: bytes, query: dict[str, str]) -> Any:
    if kind in calculation.bodies:
        try:
            return calculation.bodies[kind](body, query)
        except FatcoreError as error:
            raise from_core(error) from error
    if query:
        raise Problem(422, "this calculation takes no query parameters", [("/" + next(iter(query)), "unknown")])
    if kind != JSON and not kind.endswith("+json"):
        known = ", ".join([JSON, *calculation.bodies])
        raise Problem(415, f"send Content-Type {known}, not {kind or 'none'}")
    return strict_json(body)


def media_type_wanted(accept: str, calculation: Calculation) -> str:
    """The first media type of an Accept header that the calculation can answer; JSON where there is none.

    Raises : Problem 406 when the calculation has nothing of what is asked for
    """
    offered = [JSON, "text/csv"] + (["text/html"] if calculation.name in RENDERERS else [])
    ranked = sorted(enumerate(accept.split(",")), key=lambda entry: (-_quality(entry[1]), entry[0]))
    for _, entry in ranked:
        name = entry.partition(";")[0].strip().lower()
        fitting = [kind for kind in offered if name in {kind, "*/*", kind.partition("/")[0] + "/*"}]
        if fitting and _quality(entry) > 0.0:
            return fitting[0]
    if accept.strip():
        raise Problem(406, f"this calculation answers {', '.join(offered)}; ask for one of them in Accept")
    return JSON


def _quality(entry: str) -> float:
    for parameter in entry.split(";")[1:]:
        name, _, value = parameter.partition("=")
        if name.strip() == "q":
            try:
                return float(value)
            except ValueError:
                return 0.0
    return 1.0


def _only(query: dict[str, str]) -> Cell | None:
    """What is asked for with `only`, taken from the query with the word that goes with it."""
    if "only" not in query:
        return None
    word = query.pop("accept_outside", None)
    if word not in (None, "1"):
        raise Problem(422, "accept_outside can be 1 only", [("/accept_outside", "1, or left out")])
    return Cell(query.pop("only"), word == "1")


def findings_header(findings: Sequence[Mapping[str, Any]]) -> str:
    """Severity and code of the findings, each once, the gravest first, for forms that have no room for them.

    >>> findings_header([{"severity": "note", "code": "b"}, {"severity": "outside", "code": "a"}])
    'outside:a, note:b'
    """
    ranked = sorted(findings, key=lambda finding: SEVERITIES.index(finding["severity"]))
    words = list(dict.fromkeys(f"{finding['severity']}:{finding['code']}" for finding in ranked))
    shown = words[:MAX_CODES]
    return ", ".join([*shown, *(["..."] if len(words) > len(shown) else [])]) or "none"


def cell_text(envelope: Mapping[str, Any], dotted: str, *, accept_outside: bool = False) -> str:
    """The value at a dotted path of the answer as bare text, for spreadsheet cells and studies.

    accept_outside : give the value also where a validity limit is left; else its code stands instead of it

    >>> cell_text({"answer": {"life_cycles": [2e6, None]}, "findings": []}, "answer.life_cycles.0")
    '2000000.0'
    """
    value: Any = envelope
    for step in dotted.split("."):
        if isinstance(value, Mapping) and step in value:
            value = value[step]
        elif isinstance(value, list) and PLACE.fullmatch(step) and int(step) < len(value):
            value = value[int(step)]
        else:
            raise Problem(422, f"the answer has no {dotted!r}", [("/only", f"nothing named {step!r}")])
    if isinstance(value, Mapping | list):
        raise Problem(422, f"{dotted!r} is not one value", [("/only", "name one value of the answer")])
    left = [f["code"] for f in envelope["findings"] if f["severity"] == "outside"]
    if left and dotted.startswith("answer.") and not accept_outside:
        return f"#OUTSIDE: {', '.join(dict.fromkeys(left[:MAX_CODES]))}"
    if value is None:
        return "infinite" if "life" in dotted else "none"
    return {True: "TRUE", False: "FALSE"}[value] if isinstance(value, bool) else str(value)


def csv_text(calculation: Calculation, envelope: Mapping[str, Any]) -> str:
    """The columns of an answer as CSV with a header line; single values stand in the first row only.

    Raises : Problem 422 when the answer holds no column
    """
    answer = envelope["answer"]
    columns = dict(calculation.csv(answer)) if calculation.csv else _flat_columns(answer)
    if not columns:
        raise Problem(422, "this answer has no columns; ask for application/json")
    return csv_table(columns)


def _flat_columns(answer: Mapping[str, Any]) -> dict[str, list[Any]]:
    columns: dict[str, list[Any]] = {}
    for name, value in answer.items():
        if isinstance(value, Mapping):
            columns.update({f"{name}.{key}": column for key, column in _flat_columns(value).items()})
        elif not isinstance(value, list):
            columns[name] = [value]
        elif not any(isinstance(item, Mapping | list) for item in value):
            columns[name] = value
        elif all(isinstance(item, Mapping) for item in value):
            columns.update({f"{name}.{key}": column for key, column in _object_columns(value).items()})
    return columns


def _object_columns(rows: list[Mapping[str, Any]]) -> dict[str, list[Any]]:
    """Columns of a list of objects; what is no single value in some row is left out."""
    keys = dict.fromkeys(key for row in rows for key in row)
    columns = {key: [row.get(key) for row in rows] for key in keys}
    return {
        key: column for key, column in columns.items() if not any(isinstance(item, Mapping | list) for item in column)
    }
