"""The id of a request, by which caller, log and answer mean the same one."""

from __future__ import annotations

import re
import secrets
from collections.abc import Callable

from .keys import PREFIX

HEADER = "X-Request-ID"
_FORM = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}")


def request_id(given: str, is_key: Callable[[str], bool]) -> str:
    """The id that the caller gives, or a new one where it has another form or could be a key.

    >>> request_id("build-7.3", lambda text: False)
    'build-7.3'
    """
    usable = _FORM.fullmatch(given) and PREFIX not in given and not is_key(given)
    return given if usable else secrets.token_hex(16)
