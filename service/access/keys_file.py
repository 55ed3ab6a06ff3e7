"""The file of keys: one entry a key, as tables of TOML or as lines of JSON."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated, Any

from pydantic import AfterValidator, BeforeValidator, Field, ValidationError

from ..base.common import Strict
from ..base.parsing import strict_json, toml_of
from ..base.problems import Problem, from_validation
from .keys import digest_of
from .scopes import require_known

MAX_KEYS = 1_000  # every one is compared with the key of each request
MAX_BYTES = 1024 * 1024
NEVER = "never"
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}")
_DIGEST = re.compile(r"[0-9a-f]{64}")
_BLANKS = ("", *(sign * count for sign in (" ", "\t", "\n", "\r\n", "\0") for count in range(1, 65)), " \n", '""', "''")
_NO_KEYS = frozenset(digest_of(text) for text in _BLANKS)  # what scripts hash where they have none


def team_name(text: str) -> str:
    """The name as it is; ValueError for one that has no place in a log, a counter or a terminal."""
    if not _NAME.fullmatch(text):
        raise ValueError("must be a name of at most 64 letters, digits, dots, hyphens and underscores")
    return text


def moment(value: Any) -> datetime | None:
    """The moment that a text, or a value of TOML, stands for; None for `never`.

    >>> moment("2027-06-30T12:00:00+02:00").isoformat()
    '2027-06-30T10:00:00+00:00'
    """
    if value == NEVER:
        return None
    try:
        found = datetime.fromisoformat(value) if isinstance(value, str) else value
        if isinstance(found, datetime) and found.tzinfo is not None:
            return found.astimezone(UTC)
    except (ValueError, OverflowError):
        pass  # to be told
    raise ValueError(f'must be a date and time with its offset, like 2027-06-30T00:00:00Z, or "{NEVER}"')


def _digest(text: str) -> str:
    if not _DIGEST.fullmatch(text):
        raise ValueError("must be the SHA-256 of the key as 64 hexadecimal digits, as `toeline key new` prints it")
    if text in _NO_KEYS or len(set(text)) == 1:
        raise ValueError("must be the SHA-256 of a key, and this is that of no key: toeline key new makes one")
    return text


class KeyEntry(Strict):
    """One key.

    team       : who has it; a team may have several keys
    sha256     : of the key
    scopes     : calculations, metrics, topics and names of calculations that it may be used for
    expires    : moment from which it is refused, None for a key that never expires
    rate_per_s : requests a second of the team in the long run, an item of a batch being one; None without a limit
    burst      : requests of the team at once after a rest, a batch being one; None for those of ten seconds
    places     : heavy requests of the team under way at once; None without a limit
    """

    team: Annotated[str, AfterValidator(team_name)]
    sha256: Annotated[str, AfterValidator(_digest)]
    scopes: Annotated[list[str], Field(min_length=1, max_length=200), AfterValidator(require_known)]
    expires: Annotated[datetime | None, BeforeValidator(moment)]
    rate_per_s: Annotated[float, Field(ge=0.001, le=1e6)] | None = None
    burst: Annotated[int, Field(ge=1, le=1_000_000)] | None = None
    places: Annotated[int, Field(ge=1, le=10_000)] | None = None


def _json_in(line: str, place: str) -> Any:
    try:
        return strict_json(line.encode(), place)
    except Problem as problem:
        told = "; ".join(problem.lines())
        raise Problem(problem.status, told if told.startswith(place) else f"{place}: {told}") from problem


def key_entry(data: Any, place: str) -> KeyEntry:
    """The entry in plain data; Problem that names the place where it is none."""
    try:
        return KeyEntry.model_validate(data)
    except ValidationError as error:
        problem = from_validation(error, data, KeyEntry)
        raise Problem(422, f"{place}: " + "; ".join(message for _, message in problem.errors)) from error


def read_keys_file(path: str) -> tuple[KeyEntry, ...]:
    """The entries of a file.

    Raises : Problem that names the file and the entry at fault, also for a file that holds none
    """
    entries = tuple(key_entry(data, place) for place, data in _parts(_text_of(path), path))
    if not entries:
        raise Problem(422, f"{path} holds no key")
    if len(entries) > MAX_KEYS:
        raise Problem(422, f"{path} may hold {MAX_KEYS} keys, not {len(entries)}")
    return entries


def unreadable(path: str, error: OSError) -> Problem:
    """The problem of a file that cannot be opened or read."""
    return Problem(400, f"the file of keys cannot be read: {path}: {error.strerror}")


def _text_of(path: str) -> str:
    try:
        with Path(path).open("rb") as file:
            content = file.read(MAX_BYTES + 1)
        if len(content) > MAX_BYTES:
            raise Problem(413, f"{path}: more than {MAX_BYTES} bytes")
        return content.decode("utf-8-sig")
    except OSError as error:
        raise unreadable(path, error) from error
    except UnicodeDecodeError as error:
        raise Problem(400, f"{path} is not UTF-8 text (byte {error.start}): save it as UTF-8") from error


def _parts(text: str, path: str) -> Iterator[tuple[str, Any]]:
    """Every entry with its place; a brace at the beginning, which begins no TOML, tells lines of JSON."""
    if text.lstrip().startswith("{"):
        for number, line in enumerate(text.split("\n"), start=1):
            if line.strip():
                place = f"{path}, line {number}"
                yield place, _json_in(line, place)
        return
    tables = toml_of(text, path)
    if set(tables) - {"key"} or not isinstance(tables.get("key", []), list):
        raise Problem(422, f"{path}: a file of keys has tables [[key]] and nothing else")
    for number, table in enumerate(tables.get("key", ()), start=1):
        yield f"{path}, key {number}", table
