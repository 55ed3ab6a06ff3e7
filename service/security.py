"""API keys: asked for only when the operator sets some."""

from __future__ import annotations

import hmac

from starlette.requests import Request

from service.problems import Problem
from service.settings import Settings

__all__ = ["HEADER", "check_key"]

HEADER = "X-API-Key"


def check_key(request: Request, settings: Settings) -> None:
    """Passes when no key is asked or a known one is given; Problem 401 otherwise."""
    if not settings.api_keys:
        return
    given = request.headers.get(HEADER, "")
    if not given and settings.allow_query_key:
        given = request.query_params.get("key", "")
    # every key is compared, so that the time taken tells nothing
    matches = [hmac.compare_digest(given.encode(), key.encode()) for key in settings.api_keys]
    if not any(matches):
        raise Problem(401, f"give a known key in the header {HEADER}", headers={"WWW-Authenticate": "ApiKey"})
