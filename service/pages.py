"""Pages that need no internet: the API pages (their scripts come from an installed package)."""

from __future__ import annotations

import json
from importlib.resources import files

from fastapi.openapi.docs import get_swagger_ui_html
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute, Route

from fatcore import __version__
from service.openapi import description
from service.problems import Problem

__all__ = ["routes"]

ASSETS = {
    "swagger-ui-bundle.js": "text/javascript",
    "swagger-ui.css": "text/css",
    "favicon.png": "image/png",
}


async def _openapi(_: Request) -> Response:
    return Response(json.dumps(description()), media_type="application/json")


async def _docs(_: Request) -> Response:
    return get_swagger_ui_html(
        openapi_url="openapi.json",
        title="toeline API",
        swagger_js_url="assets/swagger-ui-bundle.js",
        swagger_css_url="assets/swagger-ui.css",
        swagger_favicon_url="assets/favicon.png",
        swagger_ui_parameters={"defaultModelsExpandDepth": -1, "docExpansion": "none", "validatorUrl": None},
    )


async def _asset(request: Request) -> Response:
    name = request.path_params["name"]
    if name not in ASSETS:
        raise Problem(404, f"there is no asset {name!r}")
    content = files("fastapi_offline").joinpath("static").joinpath(name).read_bytes()
    return Response(content, media_type=ASSETS[name])


async def _live(_: Request) -> Response:
    return Response('{"status":"live"}', media_type="application/json")


async def _ready(_: Request) -> Response:
    # ready means: the data tables can be read and the description can be built
    paths = len(description()["paths"])
    text = json.dumps({"status": "ready", "version": __version__, "paths": paths})
    return Response(text, media_type="application/json")


def routes() -> list[BaseRoute]:
    """Routes of the pages, health and description."""
    return [
        Route("/openapi.json", _openapi),
        Route("/docs", _docs),
        Route("/assets/{name}", _asset),
        Route("/health/live", _live),
        Route("/health/ready", _ready),
    ]
