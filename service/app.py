"""The application: one route a calculation, pages, problems; `create_app(settings)` and `app`."""

from __future__ import annotations

from collections.abc import Awaitable, Callable

from fastapi import FastAPI
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from fatcore import __version__
from service import batch, pages, registry
from service.admission import admit
from service.answering import cell_problem, respond
from service.common import Calculation
from service.metrics import Metrics
from service.middleware import BodyLimit, CellMethods, ConditionalGet, LastNet
from service.problems import Problem, problem_response
from service.settings import Settings

__all__ = ["app", "create_app"]

Endpoint = Callable[[Request], Awaitable[Response]]


def create_app(settings: Settings | None = None) -> FastAPI:
    """The whole service as an ASGI application.

    settings : None reads the environment
    """
    chosen = settings or Settings.from_environment()
    metrics = Metrics()
    web = FastAPI(title="toeline", version=__version__, openapi_url=None, docs_url=None, redoc_url=None)
    for calculation in registry.load().values():
        endpoint = _endpoint(calculation, chosen, metrics)
        web.router.routes.append(Route(calculation.path, endpoint, methods=[calculation.method]))
    web.router.routes.append(Route("/v1/batch", batch.endpoint(chosen, metrics), methods=["POST"]))
    web.router.routes.extend(pages.routes())
    web.router.routes.append(Route("/metrics", _metrics_endpoint(metrics)))
    web.add_exception_handler(HTTPException, _http_problem)
    web.add_exception_handler(Problem, _problem)
    web.add_middleware(BodyLimit, settings=chosen)
    web.add_middleware(ConditionalGet)
    web.add_middleware(CellMethods, routes=web.router.routes)
    web.add_middleware(LastNet)
    return web


def _endpoint(calculation: Calculation, settings: Settings, metrics: Metrics) -> Endpoint:
    async def endpoint(request: Request) -> Response:
        admit(request, settings, metrics)
        status = 500
        try:
            with metrics.timed(calculation.name):
                response = await respond(calculation, request)
            status = response.status_code
        except Problem as problem:
            status = problem.status
            raise
        finally:
            metrics.count(calculation.name, status)
        return response

    return endpoint


def _metrics_endpoint(metrics: Metrics) -> Endpoint:
    async def endpoint(_: Request) -> Response:
        return Response(metrics.text(), media_type="text/plain; version=0.0.4")

    return endpoint


async def _problem(request: Request, error: Exception) -> Response:
    assert isinstance(error, Problem)
    return _said(request, error)


def _said(request: Request, problem: Problem) -> Response:
    """A problem in the form the caller can show: a cell drops the body of an error status."""
    if request.method == "GET" and "only" in request.query_params:
        return cell_problem(problem)
    return problem_response(problem)


async def _http_problem(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    detail = {
        404: f"there is nothing at {request.url.path}",
        405: f"{request.url.path} does not take {request.method}",
    }.get(error.status_code, str(error.detail))
    headers = dict(error.headers or {})
    return _said(request, Problem(error.status_code, detail, headers=headers))


app = create_app()
