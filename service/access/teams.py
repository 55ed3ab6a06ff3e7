"""Teams and what each may take from this process: a rate of requests, and places for heavy ones."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

from ..base.problems import Problem
from ..pool.lanes import Caller

BURST_S = 10.0  # seconds' worth of requests that may come at once where no burst is set [own choice]

Clock = Callable[[], float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What a team may take; None is without a limit.

    rate_per_s : requests a second in the long run; burst: requests at once after a rest
    places     : heavy requests under way at once
    """

    rate_per_s: float | None = None
    burst: int | None = None
    places: int | None = None

    def share(self, team: str, processes: int) -> Limits:
        """The part of one of several processes, so that all together stay within the limits of a team.

        Raises : ValueError where a process would have no place
        """
        places = None if self.places is None else self.places // processes
        if places == 0:
            raise ValueError(f"team {team} needs {processes} places or more, one for each process of the server")
        rate = None if self.rate_per_s is None else self.rate_per_s / processes
        burst = None if self.burst is None else max(1, self.burst // processes)
        return Limits(rate_per_s=rate, burst=burst, places=places)


class Team:
    """A team in one process: its name, its limits, and how much of them is taken.

    retry_after_s : what a team without a free place is asked to wait
    clock         : seconds from anywhere
    Used by the event loop alone, so that nothing is locked.
    """

    def __init__(self, name: str, *, retry_after_s: int = 2, clock: Clock = time.monotonic) -> None:
        self.name, self.limits, self.busy = name, Limits(), 0
        self._retry_after_s, self._clock = retry_after_s, clock
        self._left, self._seen = math.inf, clock()

    def take(self) -> None:
        """Takes a request from the rate; Problem 429 where none is left."""
        rate = self.limits.rate_per_s
        if rate is None:
            return
        now = self._clock()
        most = max(1.0, BURST_S * rate) if self.limits.burst is None else float(self.limits.burst)
        self._left = min(most, self._left + (now - self._seen) * rate)
        self._seen = now
        if self._left < 1.0:
            wait_s = math.ceil((1.0 - self._left) / rate)
            raise _too_many(f"team {self.name} has sent more requests than its rate allows", wait_s)
        self._left -= 1.0

    def charge(self, requests: int) -> None:
        """Takes more requests, which one that was let in turned out to be: what is too much is waited for later."""
        if self.limits.rate_per_s is not None:
            self._left -= requests

    @contextmanager
    def place(self) -> Iterator[None]:
        """A place for a heavy request while the block runs; Problem 429 where all are taken."""
        if self.limits.places is not None and self.busy >= self.limits.places:
            raise _too_many(f"team {self.name} has as many heavy requests under way as it may", self._retry_after_s)
        self.busy += 1
        try:
            yield
        finally:
            self.busy -= 1


def _too_many(text: str, wait_s: int) -> Problem:
    return Problem(429, f"{text}; try again in {wait_s} s", headers={"Retry-After": str(wait_s)})


@dataclass(frozen=True, slots=True)
class KnownCaller(Caller):
    """Who has sent a request: name and places of the team, what it has taken, and what the key may be used for.

    scopes : words of the file of keys; None is everything
    """

    account: Team = field(kw_only=True)
    scopes: frozenset[str] | None = None


def caller_of(team: Team, scopes: frozenset[str] | None = None) -> KnownCaller:
    """Who sends a key of a team."""
    return KnownCaller(team.name, team.limits.places, account=team, scopes=scopes)
