"""Readable pages of the catalogues: curves, findings, sources, verification.

They ask for no key, as the form and the API pages ask for none: they show what every installation holds, and nothing
of a caller. So that nobody keeps a server busy with them, one is made at a time, besides the calculations, and those
that need work (a picture, the verification cases) are kept.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from dataclasses import dataclass

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute, Route

from ..base.parsing import query_data
from ..base.problems import Problem
from ..pool.places import Places
from ..report.policy import PAGE_HEADERS
from ..report.renderers import page_module
from .answering import not_found
from .metrics import Metrics
from .settings import Settings

# nothing may be run or fetched; the filters are sent to this server only
POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; "
    "base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
)
HEADERS = {**PAGE_HEADERS, "Content-Security-Policy": POLICY}
PACKAGE = f"{__package__.rpartition('.')[0]}.pages"


@dataclass(frozen=True, slots=True)
class Page:
    """A page: the function of the package that makes it, from its path and the query parameters that it takes."""

    module: str
    function: str
    takes: frozenset[str] = frozenset()


PAGES = {
    "curves": Page(".curves", "curves_page", frozenset({"document", "stress_kind", "material", "environment", "text"})),
    "curves/{curve}": Page(".curves", "curve_page", frozenset({"loading"})),
    "findings": Page(".lists", "findings_page", frozenset({"text"})),
    "sources": Page(".lists", "sources_page"),
    "validation": Page(".lists", "validation_page"),
}


def routes(settings: Settings, metrics: Metrics) -> list[BaseRoute]:
    """Routes of the pages, which share one place of their own."""
    one = Places(
        1, most_waiting=settings.max_waiting, max_wait_s=settings.max_wait_s, retry_after_s=settings.retry_after_s
    )
    return [Route(f"/pages/{name}", _endpoint(f"pages/{name}", page, one, metrics)) for name, page in PAGES.items()]


def _endpoint(name: str, page: Page, one: Places, metrics: Metrics) -> Callable[[Request], Awaitable[Response]]:
    async def endpoint(request: Request) -> Response:
        with metrics.counted(name), metrics.timed(name):
            async with one.taken(""):
                return await run_in_threadpool(_answer, name, page, request)

    return endpoint


def _answer(name: str, page: Page, request: Request) -> Response:
    """The page, or a page of what was refused; without the packages that make either, the problem itself."""
    path = dict(request.path_params)
    try:
        return _html(_made(page, path, request), 200)
    except Problem as problem:
        not_found(problem, path)
        if problem.status == 503:
            raise
        return _html(page_module(".page", PACKAGE).problem_page(problem.body(), name), problem.status)


def _made(page: Page, path: dict[str, str], request: Request) -> str:
    query = query_data(request.query_params.multi_items())
    query.pop("key", None)
    unknown = [(f"/{name}", "unknown") for name in query if name not in page.takes]
    if unknown:
        raise Problem(422, "this page takes nothing of this name", unknown)
    made: str = getattr(page_module(page.module, PACKAGE), page.function)(**path, **query)
    return made


def _html(page: str, status: int) -> Response:
    return Response(page, status, HEADERS, "text/html; charset=utf-8")
