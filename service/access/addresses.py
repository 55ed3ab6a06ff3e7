"""Addresses in logs: the words of the service's own paths, and nothing that a caller wrote."""

from __future__ import annotations

import logging
import re
from collections.abc import Iterable

HIDDEN = "..."
LOGGERS = ("uvicorn.access", "uvicorn.error")
_NO_ADDRESS = re.compile(r"[A-Z]{1,10}|[0-9a-f.:]*")  # a method, a version, where a caller comes from


def words_of(routes: Iterable[object]) -> frozenset[str]:
    """The words of the paths of routes, without what a caller puts in their place."""
    paths = (str(getattr(route, "path", "")) for route in routes)
    return frozenset(word for path in paths for word in path.split("/") if "{" not in word)


class AddressFilter(logging.Filter):
    """Leaves of an address the words that are allowed, so that no key or input gets into a log in any encoding.

    words : the parts of the paths that the service has
    """

    def __init__(self, words: Iterable[str]) -> None:
        super().__init__()
        self.words = frozenset(words)

    def filter(self, record: logging.LogRecord) -> bool:
        """Keeps every record, its addresses shown by `shown`."""
        if isinstance(record.args, tuple):
            record.args = tuple(self._argument(each) for each in record.args)
        return True

    def _argument(self, value: object) -> object:
        if not isinstance(value, str) or _NO_ADDRESS.fullmatch(value):
            return value
        return self.shown(value) if "/" in value or "?" in value else value

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
