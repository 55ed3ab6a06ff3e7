"""The application: one route a calculation, pages, problems; `create_app(settings)` and `app`."""

from __future__ import annotations

import gc
from collections.abc import AsyncIterator, Awaitable, Callable, Iterator
from contextlib import asynccontextmanager, contextmanager
from functools import partial

from fastapi import FastAPI
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from fatcore import __version__

from ..access.hangup import on_hangup
from ..access.recording import Recorded, call_of
from ..access.scopes import METRICS
from ..base.common import Calculation
from ..base.problems import Problem
from ..policy.reading import policy_at
from ..topics import registry
from . import batch, catalogues, pages
from .admission import Admission
from .answering import problem_reply, respond, response_of
from .metrics import Metrics
from .middleware import BodyLimit, CellMethods, ConditionalGet, LastNet, UnderPolicy
from .security import hide_keys_in_log
from .settings import Settings
from .telemetry.tracing import trace

_MADE_BEFORE_LOOKING = 50_000  # objects; an answer of a check makes some thousands [own choice]

Endpoint = Callable[[Request], Awaitable[Response]]


def create_app(settings: Settings | None = None) -> FastAPI:
    """The whole service as an ASGI application.

    settings : None reads the environment
    """
    chosen = settings or Settings.from_environment()
    metrics = Metrics()
    admission = Admission(chosen, metrics)
    metrics.lanes = admission.lanes
    web = FastAPI(
        title="toeline",
        version=__version__,
        openapi_url=None,
        docs_url=None,
        redoc_url=None,
        redirect_slashes=False,  # a wrong path is a problem to be reported, not an empty redirection
        lifespan=partial(_lifespan, admission),
    )
    for calculation in sorted(registry.load().values(), key=_asked_less):
        endpoint = _endpoint(calculation, admission)
        web.router.routes.append(Route(calculation.path, endpoint, methods=[calculation.method]))
    web.router.routes.append(Route("/v1/batch", batch.endpoint(admission), methods=["POST"]))
    keys = {"asks_key": admission.access.asks_key, "allow_query_key": chosen.allow_query_key}
    web.router.routes.extend(pages.routes(lambda: admission.lanes.ready, **keys))
    web.router.routes.extend(catalogues.routes(chosen, metrics))
    web.router.routes.append(Route("/metrics", _metrics_endpoint(admission)))
    hide_keys_in_log(web.router.routes)
    web.add_exception_handler(HTTPException, _http_problem)
    web.add_exception_handler(Problem, _problem)
    web.add_middleware(BodyLimit, settings=chosen)
    web.add_middleware(ConditionalGet)
    web.add_middleware(CellMethods, routes=web.router.routes)
    web.add_middleware(LastNet)
    policy = policy_at(chosen.policy, chosen.policy_digest)
    if policy is not None:
        web.add_middleware(UnderPolicy, policy=policy)
    web.add_middleware(Recorded, access=admission.access, audit=admission.audit)
    web.state.end_of_traces = trace(web)
    return web


def _asked_less(calculation: Calculation) -> bool:
    # a route is found by going through them in order, and cells ask by GET
    return calculation.method != "GET"


@asynccontextmanager
async def _lifespan(admission: Admission, web: FastAPI) -> AsyncIterator[None]:
    """Starts the worker processes before the first request asks for one."""
    admission.lanes.begin_warming()
    async with admission.metrics.told():
        with _rarely_collecting(), on_hangup(admission.reload):
            yield
    admission.lanes.stopping = True
    web.state.end_of_traces()


@contextmanager
def _rarely_collecting() -> Iterator[None]:
    """Looks for cycles of garbage seldom while serving: an answer makes many objects and hardly a cycle.

    What was there before is not looked through at all.
    """
    before = gc.get_threshold()
    gc.collect()
    gc.freeze()
    gc.set_threshold(_MADE_BEFORE_LOOKING, *before[1:])
    yield
    gc.set_threshold(*before)
    gc.unfreeze()


def _endpoint(calculation: Calculation, admission: Admission) -> Endpoint:
    async def endpoint(request: Request) -> Response:
        with admission.metrics.counted(calculation.name):
            caller = admission.check(request, calculation.name)
            body = await admission.body(request) if calculation.method == "POST" else b""
            with admission.metrics.timed(calculation.name, caller.team):
                answered = await respond(calculation, admission, caller, request, body)
            call_of(request.scope).input_digest = answered.digest
            return response_of(answered)

    return endpoint


def _metrics_endpoint(admission: Admission) -> Endpoint:
    async def endpoint(request: Request) -> Response:
        admission.check(request, METRICS)
        return Response(admission.metrics.text(), media_type="text/plain; version=0.0.4")

    return endpoint


async def _problem(request: Request, error: Exception) -> Response:
    assert isinstance(error, Problem)
    return problem_reply(request, error)


async def _http_problem(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    detail = {
        404: f"there is nothing at {request.url.path}",
        405: f"{request.url.path} does not take {request.method}",
    }.get(error.status_code, str(error.detail))
    headers = dict(error.headers or {})
    return problem_reply(request, Problem(error.status_code, detail, headers=headers))


app = create_app()
