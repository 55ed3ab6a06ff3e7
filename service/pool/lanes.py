"""Heavy work in worker processes, each with a deadline: it ends, whatever it computes, and nobody else notices."""

from __future__ import annotations

import asyncio
import logging
import os
from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from typing import Any, Protocol, TypeVar

import anyio
from anyio import to_process
from starlette.concurrency import run_in_threadpool
from starlette.requests import ClientDisconnect
from starlette.types import Message

from fatcore.figures import figure

from ..base.problems import Problem
from ..base.rules.active import active_policy
from .places import Places
from .worker import Bounds, call

T = TypeVar("T")
log = logging.getLogger("toeline")


class PoolSettings(Protocol):
    """What the pool needs of the settings of the service."""

    @property
    def max_running(self) -> int:
        """Worker processes."""

    @property
    def max_waiting(self) -> int:
        """Requests that may wait for one."""

    @property
    def max_wait_s(self) -> int:
        """How long they may wait."""

    @property
    def retry_after_s(self) -> int:
        """What those are told that may not."""

    @property
    def worker_memory_mib(self) -> int:
        """Memory for the data of one calculation."""

    @property
    def worker_processes(self) -> bool:
        """Whether heavy work runs in processes of its own."""


@dataclass(frozen=True, slots=True)
class Caller:
    """Who asks: the team, and the places that it may hold at a time (None: all)."""

    team: str = ""
    places: int | None = None


class Lanes:
    """The heavy lane of one process of the server; light work needs none.

    warm : imports what the work needs, in a worker that has just been started
    """

    def __init__(self, settings: PoolSettings, warm: Callable[[], None]) -> None:
        self.places = Places(
            settings.max_running,
            most_waiting=settings.max_waiting,
            max_wait_s=settings.max_wait_s,
            retry_after_s=settings.retry_after_s,
        )
        self.stopping = False
        self.replaced = 0
        self._settings, self._warm = settings, warm
        self._warming: set[asyncio.Task[None]] = set()

    @property
    def ready(self) -> bool:
        """Whether the next heavy request would be taken."""
        return not (self.stopping or self.places.full)

    async def heavy(self, caller: Caller, limit_s: float, work: Callable[..., T], *given: Any) -> T:
        """The result of the work, from a worker process.

        work, given : go to the other process, so that they must be picklable
        Raises      : Problem of the work; 503 past the deadline, beyond the memory, or when the worker dies
        """
        async with self.places.taken(caller.team, caller.places):
            try:
                with anyio.fail_after(limit_s):
                    return await self._run(work, given)
            except TimeoutError as error:
                self._replace()
                raise _too_long(limit_s) from error
            except anyio.BrokenWorkerProcess as error:
                self._replace()
                log.error("a worker process has died")
                text = "the process of the calculation has died, perhaps for want of memory; a new one takes its place"
                raise Problem(503, text, kind="urn:toeline:worker-died") from error
            except asyncio.CancelledError:
                self._replace()
                raise

    async def _run(self, work: Callable[..., T], given: tuple[Any, ...]) -> T:
        policy = active_policy()
        maker = None if policy is None else policy.maker()
        bounds = Bounds(self._settings.worker_memory_mib, os.getpid(), maker)
        if not self._settings.worker_processes:
            return await run_in_threadpool(call, bounds, work, *given)
        limiter = anyio.CapacityLimiter(1)  # the places bound how many there are
        return await to_process.run_sync(call, bounds, work, *given, cancellable=True, limiter=limiter)

    async def warm(self) -> None:
        """Starts the worker processes that are missing."""
        if not self._settings.worker_processes:
            return
        missing = self.places.count - self.places.running
        async with anyio.create_task_group() as group:
            for _ in range(missing):
                group.start_soon(self._run, self._warm, ())

    def _replace(self) -> None:
        """Starts a worker for the one that was ended, beside what else goes on."""
        self.replaced += 1
        if self._settings.worker_processes and not self.stopping:
            self.begin_warming()

    def begin_warming(self) -> None:
        """Starts missing workers in the background."""
        task = asyncio.get_running_loop().create_task(self._warmed())
        self._warming.add(task)
        task.add_done_callback(self._warming.discard)

    async def _warmed(self) -> None:
        try:
            await self.warm()
        except Exception:
            log.exception("a worker process could not be started")


async def while_connected(receive: Callable[[], Awaitable[Message]], work: Awaitable[T]) -> T:
    """The result of the work; the work is cancelled when the caller leaves.

    receive : of the request, whose body has been read
    Raises  : ClientDisconnect when the caller has left
    """
    task = asyncio.ensure_future(work)
    watch = asyncio.ensure_future(_left(receive))
    try:
        await asyncio.wait({task, watch}, return_when=asyncio.FIRST_COMPLETED)
        if not task.done():
            raise ClientDisconnect
        return task.result()
    finally:
        for each in (task, watch):
            each.cancel()
        await asyncio.gather(task, watch, return_exceptions=True)


async def _left(receive: Callable[[], Awaitable[Message]]) -> None:
    while (await receive())["type"] != "http.disconnect":
        pass


def _too_long(limit_s: float) -> Problem:
    text = (
        f"the calculation was ended after {figure(limit_s)} s, which is what it had here; make it smaller, or compute "
        "it with the command line"
    )
    return Problem(503, text, kind="urn:toeline:deadline")
