"""What the client raises: the service refused, could not be reached, or gave an unreadable answer."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

RETRIED_STATUS = frozenset({429, 502, 503, 504})
ABOUT_BLANK = "about:blank"


class ClientError(Exception):
    """Base of everything that the client raises for an exchange with the service."""


class UnreachableError(ClientError):
    """No answer came: no connection after all attempts, or a time limit ran out.

    attempts : how often the request was sent or tried
    """

    def __init__(self, message: str, attempts: int) -> None:
        super().__init__(message)
        self.attempts = attempts


class AnswerError(ClientError):
    """An answer came that is not what this version of the client can read."""


class ProblemError(ClientError):
    """The service refused; the fields are those of its problem document.

    errors : pairs of JSON pointer into the request, and message
    """

    def __init__(
        self,
        status: int,
        detail: str,
        errors: Sequence[tuple[str, str]] = (),
        *,
        title: str = "",
        kind: str = "about:blank",
    ) -> None:
        lines = [f"{status} {title}: {detail}" if title else f"{status}: {detail}"]
        lines += [f"  {where or '/'}: {message}" for where, message in errors]
        super().__init__("\n".join(lines))
        self.status, self.title, self.detail, self.kind = status, title, detail, kind
        self.errors = tuple(errors)


class BusyError(ProblemError):
    """The service, or something in front of it, stayed busy or absent through all attempts."""


def is_busy(status: int, content: bytes) -> bool:
    """Whether a later attempt may succeed: a problem with a type of its own does not go away by waiting."""
    if status not in RETRIED_STATUS:
        return False
    try:
        data = json.loads(content)
    except ValueError:
        return True
    return not isinstance(data, dict) or data.get("type", ABOUT_BLANK) == ABOUT_BLANK


def problem_from(status: int, content: bytes, *, busy: bool = False) -> ProblemError:
    """The exception of an answer that is no success, whether or not its body is a problem document."""
    family = BusyError if busy else ProblemError
    try:
        data = json.loads(content)
    except ValueError:
        data = None
    if not isinstance(data, dict) or "detail" not in data:
        return family(status, "the answer holds no problem document; is this address the service?")
    return problem_of(data, family, status)


def problem_of(
    data: dict[str, Any], family: type[ProblemError] = ProblemError, status: int | None = None
) -> ProblemError:
    """The exception of a problem document that was read already."""
    return family(
        int(data["status"]) if status is None else status,
        str(data["detail"]),
        [(str(item["pointer"]), str(item["message"])) for item in data.get("errors", ())],
        title=str(data.get("title", "")),
        kind=str(data.get("type", "about:blank")),
    )
