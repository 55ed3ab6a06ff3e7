"""Who is let in: keys are asked for only where the operator has set some."""

from __future__ import annotations

import logging
from collections.abc import Iterable

from starlette.requests import Request

from ..access.access import HEADER, Access
from ..access.addresses import LOGGERS, AddressFilter, words_of
from ..access.recording import call_of
from ..access.scopes import METRICS, require_allowed
from ..access.teams import KnownCaller
from .settings import Settings


def access_of(settings: Settings) -> Access:
    """The keys that the settings name; Problem where they cannot be read."""
    return Access(
        settings.keys_file or None,
        settings.api_keys,
        processes=settings.workers,
        retry_after_s=settings.retry_after_s,
    )


def admit(request: Request, name: str, access: Access, *, allow_query_key: bool) -> KnownCaller:
    """Who has sent a request for what has this name: a calculation, `batch` or `metrics`.

    Raises : Problem 401 without a known key where one is asked for, 403 where the key may not be used for it,
             429 beyond the rate of the team
    """
    call = call_of(request.scope)
    call.calculation = None if name == METRICS else name
    given = request.headers.get(HEADER, "")
    if not given and allow_query_key:
        given = request.query_params.get("key", "")
    caller = access.caller(given)
    call.team = caller.team if access.asks_key else None
    require_allowed(caller.scopes, name)
    caller.account.take()
    return caller


def hide_keys_in_log(routes: Iterable[object]) -> None:
    """Lets the log of the server show of addresses the words of the paths of routes only; may be called again."""
    keep = AddressFilter(words_of(routes))
    for name in LOGGERS:
        logger = logging.getLogger(name)
        for present in [each for each in logger.filters if isinstance(each, AddressFilter)]:
            logger.removeFilter(present)
        logger.addFilter(keep)
