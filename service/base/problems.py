"""Errors as one shape: RFC 9457 application/problem+json with JSON pointers into the request."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterator, Mapping, Sequence
from typing import Any

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails
from starlette.responses import Response

from fatcore.errors import FatcoreError, NotConvergedError, NotCoveredError, UnknownError

from .refused.unknown_keys import tag_needed_message, unknown_key_message
from .refused.words import joined, refusal
from .rules.refusal import PolicyError

MEDIA_TYPE = "application/problem+json"
MAX_ERRORS, MAX_READ = 20, 1000  # places that a problem names, and errors that are looked at for them
LONGEST_TEXT, LONGEST_POINTER = 2000, 500  # characters, for both may repeat names of the caller
_MOST_PLACES = 3  # that one message is about
_TAG_MISSING = "union_tag_not_found"

TITLES = {
    400: "Request cannot be read",
    401: "Key missing or unknown",
    403: "Key not meant for this",
    404: "Not found",
    405: "Method not allowed",
    406: "No such form of the answer",
    408: "Request took too long",
    413: "Request too large",
    415: "Media type not supported",
    422: "Input refused",
    429: "Too many requests",
    500: "Internal error",
    503: "Busy",
}


class Problem(Exception):  # noqa: N818 - the word of RFC 9457
    """An error that is answered to the caller as it is.

    errors : pairs of JSON pointer and message
    kind   : a type of its own, for what the status does not say; title: its words in place of those of the status
    """

    def __init__(
        self,
        status: int,
        detail: str,
        errors: Sequence[tuple[str, str]] = (),
        *,
        kind: str = "about:blank",
        title: str = "",
        headers: Mapping[str, str] | None = None,
    ) -> None:
        super().__init__(shortened(detail))
        self.status, self.detail, self.kind = status, shortened(detail), kind
        self.title = title
        self.errors = tuple((_near(where), shortened(message)) for where, message in errors[:MAX_ERRORS])
        self.headers = dict(headers or {})

    def __reduce__(self) -> tuple[Any, ...]:
        return _rebuilt, (self.status, self.detail, self.errors, self.kind, self.title, self.headers)

    def body(self) -> dict[str, Any]:
        """The problem as a JSON object."""
        return {
            "type": self.kind,
            "title": self.title or TITLES.get(self.status, "Error"),
            "status": self.status,
            "detail": self.detail,
            "errors": [{"pointer": where, "message": message} for where, message in self.errors],
        }

    def lines(self) -> list[str]:
        """The problem for a terminal: one of one place in one line, else what it is and every place."""
        (where, message), *others = self.errors or [("", self.detail)]
        if others or message not in self.detail:
            return [self.detail, *self._places()]
        return [self.detail if self.detail.startswith(where) else f"{where}: {self.detail}"]

    def _places(self) -> Iterator[str]:
        """Every message once, behind the places it is about; very many of them are counted."""
        places: dict[str, list[str]] = {}
        for where, message in self.errors:
            places.setdefault(message, []).append(where or "/")
        for message, pointers in places.items():
            more = f" and {len(pointers) - _MOST_PLACES} more" if len(pointers) > _MOST_PLACES else ""
            yield f"  {', '.join(pointers[:_MOST_PLACES])}{more}: {message}"

    def line(self) -> str:
        """The problem in one line, for a spreadsheet cell or a terminal."""
        parts = [f"{where or 'request'}: {message}" for where, message in self.errors[:3]]
        return "; ".join(parts) or self.detail


def _rebuilt(
    status: int, detail: str, errors: Sequence[tuple[str, str]], kind: str, title: str, headers: Mapping[str, str]
) -> Problem:
    """A problem that came from another process."""
    return Problem(status, detail, errors, kind=kind, title=title, headers=headers)


def pointer(path: Sequence[str | int]) -> str:
    """RFC 6901 JSON pointer of a path.

    >>> pointer(["lines", 0, "a/b"])
    '/lines/0/a~1b'
    """
    return "".join("/" + str(step).replace("~", "~0").replace("/", "~1") for step in path)


def unforeseen() -> Problem:
    """The problem of an error that is the service's own."""
    return Problem(500, "the service met an error of its own; the input may be fine")


def shortened(text: str, most: int = LONGEST_TEXT) -> str:
    """A text of so many characters at the most; what is left out is said by three dots."""
    return text if len(text) <= most else f"{text[: most - 4]} ..."


def _near(where: str) -> str:
    """A pointer, or that of the part around it where names of the caller make it too long."""
    if len(where) <= LONGEST_POINTER:
        return where
    end = where[: LONGEST_POINTER + 1].rfind("/")
    return where[:end] if end >= 0 else where[:LONGEST_POINTER]


def problem_response(problem: Problem) -> Response:
    """The problem as HTTP response."""
    content = json.dumps(problem.body()).encode()
    return Response(content, problem.status, problem.headers, MEDIA_TYPE)


def from_core(error: FatcoreError) -> Problem:
    """Core errors are the caller's input: 422 with the pointer of their path."""
    kind = "about:blank"
    for family, name in ((UnknownError, "unknown"), (NotCoveredError, "not-covered"), (PolicyError, "policy")):
        if isinstance(error, family):
            kind = f"urn:toeline:{name}"
    if isinstance(error, NotConvergedError):
        kind = "urn:toeline:not-converged"
    return Problem(422, error.message, [(pointer(error.path), error.message)], kind=kind)


def from_validation(
    error: ValidationError, data: Any, model: type[BaseModel], elsewhere: Collection[str] = ()
) -> Problem:
    """Schema errors with pointers that exist in what the caller sent; the input itself is not echoed.

    elsewhere : names of the model that are given in another place, so that they are not offered
    """
    places: dict[tuple[str | int, ...], list[str]] = {}
    listed: set[tuple[str | int, ...]] = set()  # where the allowed names were said
    many = error.error_count() > MAX_READ
    for item in error.errors(include_url=False)[:MAX_READ]:
        where = tuple(_locate(item, data))
        places.setdefault(where, []).append(_message(item, model, where[:-1] not in listed, elsewhere))
        if item["type"] == "extra_forbidden":
            listed.add(where[:-1])
    errors = [(pointer(path), joined(_name(path), messages)) for path, messages in places.items()]
    return refused_parts(errors, "inputs are refused", more=many)


def refused_parts(errors: Sequence[tuple[str, str]], what: str, *, more: bool = False) -> Problem:
    """Problem 422 of several places, which are counted; one alone says what is wrong.

    more : there are others, which were not looked at
    """
    count = f"more than {len(errors)}" if more else f"{len(errors)}"
    return Problem(422, errors[0][1] if len(errors) == 1 and not more else f"{count} {what}", errors)


def _name(path: Sequence[str | int]) -> str:
    name = next((step for step in reversed(path) if isinstance(step, str)), "the request")
    return f"an entry of {name}" if path and isinstance(path[-1], int) else name


def _message(item: ErrorDetails, model: type[BaseModel], listed: bool, elsewhere: Collection[str]) -> str:
    if item["type"] == "extra_forbidden":
        return unknown_key_message(model, item["loc"], listed=listed, elsewhere=elsewhere)
    if item["type"] == _TAG_MISSING:
        return tag_needed_message(model, item["loc"], _discriminator(item))
    return refusal(item["type"], item.get("ctx", {}), item["input"], str(item["msg"]))


def _discriminator(item: ErrorDetails) -> str:
    """The key that says which of several models is meant."""
    return str(item["ctx"]["discriminator"]).strip("'")


def _locate(item: ErrorDetails, data: Any) -> list[str | int]:
    """The location without the names of union branches, which are not part of the caller's input."""
    location, missing = item["loc"], item["type"] in ("missing", _TAG_MISSING)
    if item["type"] in ("union_tag_invalid", _TAG_MISSING):  # what names the branch is wrong, not what it stands in
        location = (*location, _discriminator(item))
    found = _match(location, data, missing)
    while found is None:  # what ends with a branch is wrong where the branch begins
        location = location[:-1]
        found = _match(location, data, missing)
    return found


def _match(location: tuple[str | int, ...], data: Any, missing: bool) -> list[str | int] | None:
    """Steps that lead through the data to the last one, which may be a missing key; else None.

    A branch may be called like a key beside it: a step is taken first, and left out when that leads nowhere.
    """
    if not location or isinstance(data, str | float | int | None):  # below a number or text there are branches only
        return []
    step, rest = location[0], location[1:]
    if _holds(data, step):
        inner = _match(rest, data[step], missing)
        if inner is not None:
            return [step, *inner]
    if rest:
        return _match(rest, data, missing)
    return [step] if missing and isinstance(step, str) is isinstance(data, dict) else None


def _holds(data: Any, step: str | int) -> bool:
    if isinstance(data, list):
        return isinstance(step, int) and step < len(data)
    return isinstance(data, dict) and step in data
