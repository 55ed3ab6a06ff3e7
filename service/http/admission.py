"""Who may start a calculation, and when: the key, the time a body may take, the slots of this process."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

from starlette.requests import Request

from ..base.problems import Problem
from .metrics import Metrics
from .security import check_key
from .settings import Settings

WAITING_A_SLOT = 8  # requests that may wait for each slot; more are turned away at once


class Admission:
    """Admission to one process: `max_running` slots, and a short queue before them.

    A body is read before a slot is taken, so that slow senders keep no slot from others.
    """

    def __init__(self, settings: Settings, metrics: Metrics) -> None:
        self.settings, self.metrics = settings, metrics
        self._slots = asyncio.Semaphore(settings.max_running)
        self._waiting = 0

    def check(self, request: Request) -> None:
        """Passes a request with a known key; Problem 401 otherwise."""
        check_key(request, self.settings)

    async def body(self, request: Request) -> bytes:
        """The body of a request; Problem 408 when it does not come in time."""
        try:
            async with asyncio.timeout(self.settings.body_wait_s):
                return await request.body()
        except TimeoutError as error:
            text = f"the body did not arrive within {self.settings.body_wait_s} s"
            raise Problem(408, text, headers={"Connection": "close"}) from error

    @asynccontextmanager
    async def slot(self, name: str) -> AsyncIterator[None]:
        """One of the slots while the block runs; Problem 503 when none is free in time."""
        await self._enter()
        try:
            with self.metrics.timed(name):
                yield
        finally:
            self._slots.release()

    async def _enter(self) -> None:
        if self._waiting >= WAITING_A_SLOT * self.settings.max_running and self._slots.locked():
            raise self._busy()
        self._waiting += 1
        try:
            async with asyncio.timeout(self.settings.max_wait_s):
                await self._slots.acquire()
        except TimeoutError as error:
            raise self._busy() from error
        finally:
            self._waiting -= 1

    def _busy(self) -> Problem:
        wait = {"Retry-After": str(self.settings.retry_after_s)}
        return Problem(503, "as many calculations run as this process may; try again", headers=wait)
