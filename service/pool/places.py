"""Places for heavy work in one process of the server, shared fairly: teams take turns, whoever asks more often."""

from __future__ import annotations

import asyncio
from collections import Counter, deque
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

from ..base.problems import Problem


class Places:
    """So many places, and a queue of bounded length before them, one line for each team.

    A team of which nobody waits may always have one wait, however many others do.

    count         : places
    most_waiting  : requests that may wait; one more is turned away at once
    max_wait_s    : how long a request may wait
    retry_after_s : what a request that is turned away is told to wait
    """

    def __init__(self, count: int, *, most_waiting: int, max_wait_s: float, retry_after_s: int) -> None:
        self.count, self.most_waiting = count, most_waiting
        self._max_wait_s, self._retry_after_s = max_wait_s, retry_after_s
        self._free = count
        self._running: Counter[str] = Counter()
        self._lines: dict[str, deque[tuple[asyncio.Future[None], int]]] = {}

    @property
    def waiting(self) -> int:
        """Requests that wait for a place."""
        return sum(len(line) for line in self._lines.values())

    @property
    def running(self) -> int:
        """Places that are taken."""
        return self.count - self._free

    @property
    def full(self) -> bool:
        """Whether the next request would be turned away at once."""
        return self._free == 0 and self.waiting >= self.most_waiting

    @asynccontextmanager
    async def taken(self, team: str, most: int | None = None) -> AsyncIterator[None]:
        """A place while the block runs.

        most   : places that this team may hold at a time; None is all of them
        Raises : Problem 503 when the queue is full or no place was free in time
        """
        await self._enter(team, self.count if most is None else most)
        try:
            yield
        finally:
            self._leave(team)

    async def _enter(self, team: str, most: int) -> None:
        if self._free and self._running[team] < most:
            self._start(team)
            return
        waits = bool(self._lines.get(team))
        if self.waiting >= self.most_waiting and (waits or not self.waiting):
            raise self.busy("as many calculations run and wait as this process may hold; try again")
        mine: asyncio.Future[None] = asyncio.get_running_loop().create_future()
        self._lines.setdefault(team, deque()).append((mine, most))
        try:
            async with asyncio.timeout(self._max_wait_s):
                await mine
        except BaseException as error:
            self._give_up(team, mine)
            if isinstance(error, TimeoutError):
                raise self.busy("as many calculations run as this process may; try again") from error
            raise

    def _give_up(self, team: str, mine: asyncio.Future[None]) -> None:
        if mine.done() and not mine.cancelled():  # the place came while the request was leaving
            self._leave(team)
            return
        line = self._lines.get(team, deque())
        self._lines[team] = deque(entry for entry in line if entry[0] is not mine)
        self._forget(team)

    def _start(self, team: str) -> None:
        self._free -= 1
        self._running[team] += 1

    def _leave(self, team: str) -> None:
        self._free += 1
        self._running[team] -= 1
        self._running += Counter()  # forgets teams that hold none
        self._next()

    def _next(self) -> None:
        """Gives the free place to the first team in turn that may have one more."""
        for team in list(self._lines):
            mine, most = self._lines[team][0]
            if self._running[team] < most:
                self._lines[team].popleft()
                rest = self._lines.pop(team)
                if rest:
                    self._lines[team] = rest  # behind the others
                self._start(team)
                mine.set_result(None)
                return

    def _forget(self, team: str) -> None:
        if not self._lines.get(team):
            self._lines.pop(team, None)

    def busy(self, text: str) -> Problem:
        """The problem of a request that is turned away for now."""
        return Problem(503, text, headers={"Retry-After": str(self._retry_after_s)})
