"""Who may start a calculation, and when: the key, the time a body may take, the places of this process."""

from __future__ import annotations

import asyncio

from starlette.requests import Request

from ..base.problems import Problem
from ..pool.lanes import Caller, Lanes
from .metrics import Metrics
from .security import check_key
from .settings import Settings
from .tasks import warm


class Admission:
    """Admission to one process of the server, and its lanes.

    A body is read before a place is taken, so that slow senders keep no place from others.
    """

    def __init__(self, settings: Settings, metrics: Metrics) -> None:
        self.settings, self.metrics = settings, metrics
        self.lanes = Lanes(settings, warm)

    def check(self, request: Request) -> Caller:
        """Who asks, by a known key; Problem 401 otherwise."""
        check_key(request, self.settings)
        return Caller()

    async def body(self, request: Request) -> bytes:
        """The body of a request; Problem 408 when it does not come in time."""
        try:
            async with asyncio.timeout(self.settings.body_wait_s):
                return await request.body()
        except TimeoutError as error:
            text = f"the body did not arrive within {self.settings.body_wait_s} s"
            raise Problem(408, text, headers={"Connection": "close"}) from error
