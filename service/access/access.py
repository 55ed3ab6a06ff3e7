"""Who is let in: the keys of the operator, read at the start and again on request."""

from __future__ import annotations

import logging
import time
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from hmac import compare_digest
from ipaddress import ip_address
from typing import Any

from fatcore.figures import as_given

from ..base.problems import Problem
from .keys import digest_of, is_blank
from .keys_file import KeyEntry, read_keys_file
from .teams import Clock, KnownCaller, Limits, Team, caller_of

HEADER = "X-API-Key"
ANYONE, DEFAULT = "anyone", "default"  # teams of requests without a key, and of the keys of TOELINE_API_KEYS

log = logging.getLogger("toeline")


@dataclass(frozen=True, slots=True)
class _Known:
    """A key that is let in until it expires."""

    digest: str
    caller: KnownCaller
    expires: datetime | None


class Access:
    """The keys that are let in, with their teams.

    keys_file     : path of the file of keys; None where there is none
    api_keys      : keys of the team `default`, for every calculation and without limits
    processes     : of the server, which share the limits of a team
    retry_after_s : what a team without a free place is asked to wait
    now, clock    : time of day, and seconds from anywhere; tests give their own
    Raises        : Problem when the file cannot be read
    """

    def __init__(
        self,
        keys_file: str | None = None,
        api_keys: Sequence[str] = (),
        *,
        processes: int = 1,
        retry_after_s: int = 2,
        now: Clock = time.time,
        clock: Clock = time.monotonic,
    ) -> None:
        self._path, self._api_keys, self._processes = keys_file, tuple(api_keys), processes
        self._retry_after_s, self._now, self._clock = retry_after_s, now, clock
        self._teams: dict[str, Team] = {}
        self._anyone = caller_of(self._team(ANYONE))
        self._known: tuple[_Known, ...] = ()
        self._load()

    @property
    def asks_key(self) -> bool:
        """Whether a request needs a key."""
        return bool(self._known)

    def caller(self, key: str) -> KnownCaller:
        """Who has sent this key, an empty one where none was sent.

        Raises : Problem 401 where a key is asked for and this is none, or no more
        """
        if not self._known:
            return self._anyone
        found = self._find(key)
        if found is None:
            raise _unknown(f"give a known key in the header {HEADER}")
        if found.expires is not None and self._now() >= found.expires.timestamp():
            raise _unknown(f"this key of team {found.caller.team} expired at {found.expires.isoformat()}")
        return found.caller

    def is_key(self, text: str) -> bool:
        """Whether a text is one of the keys, which must not be repeated anywhere."""
        return self._find(text) is not None

    def _find(self, key: str) -> _Known | None:
        if is_blank(key):  # no key, whatever digests the file holds
            return None
        given, found = digest_of(key), None
        for known in self._known:  # to the end, so that the time taken reveals nothing
            if compare_digest(known.digest, given):
                found = known
        return found

    def reload(self) -> None:
        """Reads the file again; where it cannot be read the old keys stay and an error is logged.

        What the teams have taken stays taken.
        """
        try:
            self._load()
        except Problem as problem:
            log.error("the keys stay as they were: %s", "; ".join(problem.lines()))
        else:
            log.info("%d keys of %d teams", len(self._known), len({each.caller.team for each in self._known}))

    def _load(self) -> None:
        entries = () if self._path is None else read_keys_file(self._path)
        try:
            limits = {name: each.share(name, self._processes) for name, each in _limits(entries).items()}
        except ValueError as error:
            raise Problem(422, f"{self._path}: {error}") from error
        if any(map(is_blank, self._api_keys)):
            raise Problem(422, "TOELINE_API_KEYS: a key is blank")
        digests = [*(entry.sha256 for entry in entries), *map(digest_of, self._api_keys)]
        if len(set(digests)) < len(digests):
            raise Problem(422, f"{self._path or 'TOELINE_API_KEYS'}: a key is there twice")
        for name, each in limits.items():
            self._team(name).limits = each
        self._known = (*self._keys_in(entries), *self._keys_of_setting())

    def _keys_in(self, entries: Iterable[KeyEntry]) -> Iterator[_Known]:
        for entry in entries:
            if entry.expires is not None and entry.expires.timestamp() <= self._now():
                log.warning("a key of team %s expired at %s", entry.team, entry.expires.isoformat())
            yield _Known(entry.sha256, caller_of(self._team(entry.team), frozenset(entry.scopes)), entry.expires)

    def _keys_of_setting(self) -> Iterator[_Known]:
        for key in self._api_keys:
            yield _Known(digest_of(key), caller_of(self._team(DEFAULT)), None)

    def _team(self, name: str) -> Team:
        if name not in self._teams:
            self._teams[name] = Team(name, retry_after_s=self._retry_after_s, clock=self._clock)
        return self._teams[name]


def _limits(entries: Iterable[KeyEntry]) -> dict[str, Limits]:
    """The limits of every team, which may stand at any of its keys; ValueError where two contradict each other."""
    found: dict[str, dict[str, Any]] = {}
    for entry in entries:
        stated = found.setdefault(entry.team, {})
        for name in ("rate_per_s", "burst", "places"):
            value = getattr(entry, name)
            if value is not None and stated.setdefault(name, value) != value:
                both = f"{as_given(stated[name])}, {as_given(value)}"
                raise ValueError(f"team {entry.team} has two values of {name} at its keys: {both}")
    for team, stated in found.items():
        if "burst" in stated and "rate_per_s" not in stated:
            raise ValueError(f"team {team} has burst without rate_per_s")
    return {team: Limits(**stated) for team, stated in found.items()}


def _unknown(text: str) -> Problem:
    return Problem(401, text, headers={"WWW-Authenticate": "ApiKey"})


def require_guarded(host: str, *, asks_key: bool, open_on_purpose: bool) -> None:
    """Problem for an address that other machines reach, where no key is asked for and nobody said that it is meant."""
    if not (asks_key or open_on_purpose or _is_loopback(host)):
        text = (
            f"{host or 'every address'} can be reached from other machines and no key is asked for: set "
            "TOELINE_KEYS_FILE (toeline key new makes a key), or say --no-keys or TOELINE_NO_KEYS=1 where that is meant"
        )
        raise Problem(422, text)


def _is_loopback(host: str) -> bool:
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return host.lower() == "localhost"
