"""Pages that need no internet: landing page, examples, API pages (scripts from an installed package)."""

from __future__ import annotations

import json
from collections.abc import Awaitable, Callable
from functools import cache
from importlib.resources import files
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute, Route

from fatcore import __version__, sources
from fatcore.curves.standards import catalogue

from ..base.problems import Problem
from ..report.policy import PAGE_HEADERS
from ..report.renderers import RENDERERS
from ..topics.registry import find
from .openapi import described, description, examples

PAGES = f"{__package__.rpartition('.')[0]}.pages"
CLOSED = "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
# inline styles are allowed, since the report inside the page brings its own; inline scripts are not
LANDING_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; connect-src 'self'; "
    f"img-src 'self' data:; frame-src 'self'; {CLOSED}"
)
# the package that lays out the API pages sets styles and draws its signs from data
DOCS_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; connect-src 'self'; "
    f"img-src 'self' data:; font-src 'self' data:; {CLOSED}"
)

ASSETS = {
    "swagger-ui-bundle.js": ("fastapi_offline", "static", "text/javascript"),
    "swagger-ui.css": ("fastapi_offline", "static", "text/css"),
    "docs.js": (__package__, "static", "text/javascript"),
    "docs.css": (__package__, "static", "text/css"),
    "landing.js": (__package__, "static", "text/javascript"),
    "landing.css": (__package__, "static", "text/css"),
    "toeline.svg": (PAGES, "templates", "image/svg+xml"),
}


async def _landing(_: Request) -> Response:
    return _static_page("index.html", LANDING_POLICY)


def _openapi(asks_key: bool, allow_query_key: bool) -> Callable[[Request], Awaitable[Response]]:
    async def endpoint(_: Request) -> Response:
        content = await run_in_threadpool(_description_text, asks_key, allow_query_key)
        return Response(content, media_type="application/json")

    return endpoint


@cache
def _description_text(asks_key: bool, allow_query_key: bool) -> str:
    return json.dumps(described(asks_key=asks_key, allow_query_key=allow_query_key))


async def _docs(_: Request) -> Response:
    return _static_page("docs.html", DOCS_POLICY)


def _static_page(name: str, policy: str) -> Response:
    content = files(__package__).joinpath("static").joinpath(name).read_bytes()
    headers = {**PAGE_HEADERS, "Content-Security-Policy": policy}
    return Response(content, headers=headers, media_type="text/html; charset=utf-8")


async def _asset(request: Request) -> Response:
    name = request.path_params["name"]
    if name not in ASSETS:
        raise Problem(404, f"there is no asset {name!r}")
    package, folder, kind = ASSETS[name]
    content = files(package).joinpath(folder).joinpath(name).read_bytes()
    return Response(content, headers={"X-Content-Type-Options": "nosniff"}, media_type=kind)


async def _example_list(_: Request) -> Response:
    return Response(json.dumps(await run_in_threadpool(_offered)), media_type="application/json")


def _offered() -> dict[str, list[dict[str, Any]]]:
    """What the form can run: every calculation that has a report, the names of its fields, its examples."""
    with_report = [calculation for name in RENDERERS if (calculation := find(name))]
    return {
        "calculations": [
            {"name": each.name, "title": each.summary, "fields": list(each.request.model_fields)}
            for each in with_report
        ],
        "examples": [
            {"name": name, "title": example["title"], "calculation": example["calculation"]}
            for name, example in examples().items()
            if example["calculation"] in RENDERERS
        ],
    }


async def _example(request: Request) -> Response:
    name = f"{request.path_params['topic']}/{request.path_params['case']}"
    if name not in examples():
        raise Problem(404, f"there is no example {name!r}")
    shown = {key: value for key, value in examples()[name].items() if key != "response"}
    return Response(json.dumps(shown), media_type="application/json")


async def _live(_: Request) -> Response:
    return Response('{"status":"live"}', media_type="application/json")


def _ready(ready: Callable[[], bool]) -> Callable[[Request], Awaitable[Response]]:
    async def endpoint(_: Request) -> Response:
        content = await run_in_threadpool(_readiness)
        if not ready():
            raise Problem(503, "as many calculations run and wait as this process may hold, or it is stopping")
        return Response(content, media_type="application/json")

    return endpoint


@cache
def _readiness() -> str:
    """Ready means: sources and design curves can be read, and the description can be built."""
    sources.all_sources()
    for curve in catalogue.all_ids():
        catalogue.find_curve(curve)
    paths = len(description()["paths"])
    return json.dumps({"status": "ready", "version": __version__, "paths": paths})


def routes(ready: Callable[[], bool], *, asks_key: bool, allow_query_key: bool) -> list[BaseRoute]:
    """Routes of the pages, health and description.

    ready    : whether the next heavy request would be taken
    asks_key : whether calculations need a key; allow_query_key: whether it may stand in the address
    """
    return [
        Route("/", _landing),
        Route("/openapi.json", _openapi(asks_key, allow_query_key)),
        Route("/docs", _docs),
        Route("/assets/{name}", _asset),
        Route("/examples", _example_list),
        Route("/examples/{topic}/{case}", _example),
        Route("/health/live", _live),
        Route("/health/ready", _ready(ready)),
    ]
