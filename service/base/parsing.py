"""Reads request bodies strictly: JSON without duplicate keys, query strings without repetition."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterable
from typing import Any

from pydantic_core import from_json

from .problems import Problem, pointer, refused_parts
from .refused.syntax import json_words, toml_words

MAX_VALUES, MAX_GROUPS = 12_000_000, 2_500_000
MAX_BODY_BYTES = 64 * 1024 * 1024  # of a body where the operator sets no other, and of a file that stands for a part


class _Twice(dict[str, Any]):
    """An object of the request in which a key occurs more than once."""

    key: str


def strict_json(body: bytes, name: str = "the body") -> Any:
    """The JSON value of a body; Problem 400 when it is no JSON, 422 with a pointer for a repeated key.

    name : of the body, in what is said of it
    """
    require_bounded(body)
    try:
        quick = from_json(body)
        # a colon for each value of a name, and no other: no key occurs twice, for it would be lost
        if _count_names(quick) == body.count(b":"):
            return quick
    except ValueError:
        pass  # to be told in full
    return _told(body, name)


def _count_names(data: Any) -> int:
    """How many values of objects there are at any depth, but in lists and tables that begin with a number or text."""
    count, left = 0, [data]
    while left:
        part = left.pop()
        if type(part) is dict:
            count += len(part)
            part = part.values()
        elif not _holds_names(part):
            continue
        left += [value for value in part if type(value) in (dict, list)]
    return count


def _holds_names(part: Any) -> bool:
    if type(part) is not list or not part or type(part[0]) not in (dict, list):
        return False
    row = part[0]
    return type(row) is dict or not row or type(row[0]) in (dict, list)


def _told(body: bytes, name: str) -> Any:
    """The value of a body as the standard library reads it, or what is wrong and where."""
    found: list[_Twice] = []

    def collect(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        content = dict(pairs)
        if len(content) == len(pairs):
            return content
        twice = _Twice(content)
        twice.key = _first_repeated(key for key, _ in pairs)
        found.append(twice)
        return twice

    try:
        # a byte order mark may be ignored (RFC 8259, section 8.1); editors and shells write it
        data = json.loads(body.decode("utf-8-sig"), object_pairs_hook=collect)
    except UnicodeDecodeError as error:
        text = f"not UTF-8 text (byte {error.start})"
        raise Problem(400, f"{name} is {text}: save it as UTF-8", [("", text)]) from error
    except RecursionError as error:
        raise Problem(400, f"{name} is nested too deeply", [("", "nested too deeply")]) from error
    except ValueError as error:
        message = json_words(error) if isinstance(error, json.JSONDecodeError) else "a number has too many digits"
        raise Problem(400, f"{name} is not JSON: {message}", [("", message)]) from error
    if found:
        places = [
            (pointer([*path, twice.key]), "this key occurs more than once in one object") for path, twice in _walk(data)
        ]
        raise refused_parts(places, "keys occur more than once in one object")
    return data


def toml_of(text: str, name: str = "the map") -> dict[str, Any]:
    """The data of a TOML text; Problem 400 when it is none; name: of the text, in what is said of it."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise Problem(400, f"{name} is not TOML: {toml_words(text, str(error))}") from error
    except RecursionError as error:
        raise Problem(400, f"{name} is nested too deeply") from error


def require_bounded(body: bytes) -> None:
    """Problem 413 for a body whose values would fill the memory: tiny ones take many times their text."""
    values, groups = body.count(b","), body.count(b"[") + body.count(b"{")
    if values > MAX_VALUES or groups > MAX_GROUPS:
        text = f"a body may hold {MAX_VALUES} values and {MAX_GROUPS} arrays and objects at the most"
        raise Problem(413, text, [("", "too many values")])


def _first_repeated(keys: Iterable[str]) -> str:
    seen: set[str] = set()
    return next(key for key in keys if key in seen or seen.add(key))  # type: ignore[func-returns-value]


def _walk(data: Any, path: tuple[str | int, ...] = ()) -> Iterable[tuple[tuple[str | int, ...], _Twice]]:
    if isinstance(data, _Twice):
        yield path, data
    items = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for step, value in items:
        yield from _walk(value, (*path, step))


def query_data(pairs: Iterable[tuple[str, str]]) -> dict[str, str]:
    """Query parameters as a mapping; Problem 422 when one is given twice."""
    data: dict[str, str] = {}
    for key, value in pairs:
        if key in data:
            raise Problem(422, f"query parameter {key!r} is given twice", [(pointer([key]), "given twice")])
        data[key] = value
    return data


def request_in(content: bytes, calculation: str, name: str = "the file") -> Any:
    """The request of a file: the request itself, or an example that holds it with its calculation.

    name   : of the file, in what is said of it
    Raises : Problem when the file is no JSON, or an example of another calculation
    """
    data = strict_json(content, name)
    if isinstance(data, dict) and {"calculation", "request"} <= set(data):
        if data["calculation"] != calculation:
            raise Problem(422, f"{name} is an example of {data['calculation']}, not of {calculation}")
        return data["request"]
    return data
