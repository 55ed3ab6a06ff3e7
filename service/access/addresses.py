"""Addresses in logs: the words of the service's own paths, and nothing that a caller wrote."""

from __future__ import annotations

import logging
from collections.abc import Iterable
from contextlib import suppress
from ipaddress import ip_address

HIDDEN = "..."
LOGGERS = ("uvicorn.access", "uvicorn.error")
METHODS = frozenset(("CONNECT", "DELETE", "GET", "HEAD", "OPTIONS", "PATCH", "POST", "PUT", "TRACE"))  # RFC 9110, 5789
_VERSIONS = frozenset(("1.0", "1.1", "2"))


def words_of(routes: Iterable[object]) -> frozenset[str]:
    """The words of the paths of routes, without what a caller puts in their place."""
    paths = (str(getattr(route, "path", "")) for route in routes)
    return frozenset(word for path in paths for word in path.split("/") if "{" not in word)


def shown_method(method: str) -> str:
    """The method, `...` for one that is none: a caller may write anything there.

    >>> shown_method("GET"), shown_method("TLK")
    ('GET', '...')
    """
    return method if method in METHODS else HIDDEN


def shown_caller(client: str) -> str:
    """Where a caller comes from, `...` for what is no network address: proxies hand on what they were given.

    >>> shown_caller("127.0.0.1:50000"), shown_caller("::1:7"), shown_caller("deadbeef:7")
    ('127.0.0.1:50000', '::1:7', '...')
    """
    host, _, port = client.rpartition(":")
    with suppress(ValueError):
        return f"{ip_address(host.strip('[]').partition('%')[0])}:{int(port)}"
    return HIDDEN if client else ""


class AddressFilter(logging.Filter):
    """Leaves of an address the words that are allowed, so that no key or input gets into a log in any encoding.

    words : the parts of the paths that the service has
    """

    def __init__(self, words: Iterable[str]) -> None:
        super().__init__()
        self.words = frozenset(words)

    def filter(self, record: logging.LogRecord) -> bool:
        """Keeps every record; what a caller wrote is shown by its place in it."""
        if isinstance(record.args, tuple):
            of_request = record.name == LOGGERS[0] or '"WebSocket' in str(record.msg)
            record.args = (self._of_request if of_request else self._of_server)(record.args)
        return True

    def _of_request(self, args: tuple[object, ...]) -> tuple[object, ...]:
        """Caller and address, between and behind them method, version and status; all else is hidden."""
        texts = [str(each) for each in args]
        if len(args) == 2:
            return shown_caller(texts[0]), self.shown(texts[1])
        if len(args) != 5:
            return tuple(HIDDEN if isinstance(each, str) else each for each in args)
        version = texts[3] if texts[3] in _VERSIONS else HIDDEN
        return shown_caller(texts[0]), shown_method(texts[1]), self.shown(texts[2]), version, args[4]

    def _of_server(self, args: tuple[object, ...]) -> tuple[object, ...]:
        return tuple(self.shown(each) if isinstance(each, str) and {*each} & {*"/?"} else each for each in args)

    def shown(self, address: str) -> str:
        """The address with `...` for every part that is no word of a path, and for the query.

        >>> AddressFilter(["v1", "check"]).shown("/v1/check?key=secret")
        '/v1/check?...'
        >>> AddressFilter(["v1", "check"]).shown("/v1/%6bey%3Dsecret")
        '/v1/...'
        """
        path, mark, _ = address.partition("?")
        parts = [part if part in self.words or not part else HIDDEN for part in path.split("/")]
        return "/".join(parts) + (mark + HIDDEN if mark else "")
