"""API keys: asked for only when the operator sets some."""

from __future__ import annotations

import hmac
import logging
import re

from starlette.requests import Request

from ..base.problems import Problem
from .settings import Settings

HEADER = "X-API-Key"
KEY_IN_ADDRESS = re.compile(r"([?&]key=)[^&\s]+", re.IGNORECASE)


def check_key(request: Request, settings: Settings) -> None:
    """Passes when no key is asked or a known one is given; Problem 401 otherwise."""
    if not settings.api_keys:
        return
    given = request.headers.get(HEADER, "")
    if not given and settings.allow_query_key:
        given = request.query_params.get("key", "")
    # every key is compared, so that the time taken reveals nothing
    matches = [hmac.compare_digest(given.encode(), key.encode()) for key in settings.api_keys]
    if not any(matches):
        raise Problem(401, f"give a known key in the header {HEADER}", headers={"WWW-Authenticate": "ApiKey"})


class _Hidden(logging.Filter):
    """Blanks the key in addresses that the server writes to its access log."""

    def filter(self, record: logging.LogRecord) -> bool:
        """Keeps every record, without the key."""
        if isinstance(record.args, tuple):
            record.args = tuple(
                KEY_IN_ADDRESS.sub(r"\1...", value) if isinstance(value, str) else value for value in record.args
            )
        return True


def hide_keys_in_log() -> None:
    """Lets the access log of the server show no key that stands in an address; may be called again."""
    access = logging.getLogger("uvicorn.access")
    if not any(isinstance(present, _Hidden) for present in access.filters):
        access.addFilter(_Hidden())
