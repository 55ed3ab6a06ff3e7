"""From an HTTP request to its answer: what it asks for, where it is computed, and the response."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from starlette.requests import Request
from starlette.responses import Response

from ..access.recording import call_of
from ..access.teams import KnownCaller
from ..base.common import Calculation
from ..base.parsing import query_data
from ..base.problems import Problem, pointer, problem_response
from ..pool.lanes import while_connected
from ..report.renderers import RENDERERS
from .admission import Admission
from .forms import Cell
from .tasks import BESIDE_BYTES, CSV, HTML, JSON, LIGHT_S, Answered, Task, finish, guard_cost, prepare, work

ENDED = {"urn:toeline:deadline", "urn:toeline:too-costly"}


async def respond(
    calculation: Calculation, admission: Admission, caller: KnownCaller, request: Request, body: bytes = b""
) -> Answered:
    """Answers one HTTP request of a calculation, whose body has been read, in the form it asks for.

    What is estimated to be light is computed at once, or was lately; the rest by a worker process, for as long as its
    caller stays.
    """
    task = task_of(calculation, request, body)
    limit_s = admission.settings.max_run_s
    try:
        if task.small:
            made = admission.made.get(task.key)
            if made is not None:
                return made
            prepared = prepare(calculation, task)
            guard_cost(prepared.cost, limit_s)
            if prepared.cost.seconds < LIGHT_S:
                made = finish(task, prepared)
                admission.made.put(task.key, made, len(task.body) + len(made.content) + BESIDE_BYTES)
                return made
        heavy = admission.heavy(caller, limit_s, work, task, limit_s)
        return await while_connected(request.receive, heavy)
    except Problem as problem:
        not_found(problem, task.path)
        if problem.kind in ENDED:
            problem.detail += "; an item of a batch may take longer"
        raise


def task_of(calculation: Calculation, request: Request, body: bytes) -> Task:
    """What a request asks for; Problem for a form that there is not."""
    query = query_data(request.query_params.multi_items())
    query.pop("key", None)
    cell = _only(query)
    accept = request.headers.get("accept", "")
    return Task(
        method=calculation.method,
        name=calculation.name,
        kind=kind_of(request),
        body=body,
        query=query,
        path=dict(request.path_params),
        cell=cell,
        wanted=JSON if cell is not None else media_type_wanted(accept, calculation),
    )


def response_of(answered: Answered) -> Response:
    """An answer as HTTP response."""
    return Response(answered.content, headers=dict(answered.headers), media_type=answered.media_type)


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
    call_of(request.scope).status = problem.status
    if request.method in {"GET", "HEAD"} and "only" in request.query_params:
        waits = {name: text for name, text in problem.headers.items() if name == "Retry-After"}
        return Response(f"#ERR: {problem.line()}", 200, waits, "text/plain; charset=utf-8")
    return problem_response(problem)


def not_found(problem: Problem, path: Mapping[str, object]) -> None:
    # an unknown name in the path of the URL is 404, in a body or query 422
    if problem.kind == "urn:toeline:unknown" and any(
        where == f"/{name}" for name in path for where, _ in problem.errors
    ):
        problem.status = 404


def media_type_wanted(accept: str, calculation: Calculation) -> str:
    """The first media type of an Accept header that the calculation can answer; JSON where there is none.

    Raises : Problem 406 when the calculation has nothing of what is asked for
    """
    offered = [JSON, CSV] + ([HTML] if calculation.name in RENDERERS else [])
    return _chosen(accept, offered, "this calculation")


def guard_form(request: Request, offered: str) -> None:
    """Refuses what an endpoint of one form would drop: a query, and a wish for another form.

    offered : media type that it answers
    Raises  : Problem 422 with the names of the query, 406 for another form
    """
    query = query_data(request.query_params.multi_items())
    query.pop("key", None)
    if query:
        text = "the items say it, not the address"
        raise Problem(422, f"no query is taken here: {text}", [(pointer([name]), text) for name in query])
    _chosen(request.headers.get("accept", ""), [offered], "a batch")


def _chosen(accept: str, offered: Sequence[str], who: str) -> str:
    ranked = sorted(enumerate(accept.split(",")), key=lambda entry: (-_quality(entry[1]), entry[0]))
    for _, entry in ranked:
        name = entry.partition(";")[0].strip().lower()
        fitting = [kind for kind in offered if name in {kind, "*/*", kind.partition("/")[0] + "/*"}]
        if fitting and _quality(entry) > 0.0:
            return fitting[0]
    if accept.strip():
        one = "that" if len(offered) == 1 else "one of them"
        raise Problem(406, f"{who} answers {', '.join(offered)}; ask for {one} in Accept")
    return offered[0]


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
