"""Who may start a calculation, and when: the key, the time a body may take, the places of this process."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import Any, TypeVar

from starlette.requests import Request

from ..access.audit import AuditLog
from ..access.teams import KnownCaller
from ..base.problems import Problem
from ..pool.kept import Kept
from ..pool.lanes import Lanes
from ..pool.worker import MIB
from .metrics import Metrics
from .security import access_of, admit
from .settings import Settings
from .tasks import Answered, warm

T = TypeVar("T")


class Admission:
    """Admission to one process of the server, and its lanes.

    A body is read before a place is taken, so that slow senders keep no place from others.
    """

    def __init__(self, settings: Settings, metrics: Metrics) -> None:
        self.settings, self.metrics = settings, metrics
        self.lanes = Lanes(settings, warm)
        self.made = Kept[Answered](settings.keep_mib * MIB)
        self.access, self.audit = access_of(settings), AuditLog(settings.audit_log or None)

    def check(self, request: Request, name: str) -> KnownCaller:
        """Who asks for a calculation, `batch` or `metrics`; Problem 401, 403 or 429 where it is not let in."""
        return admit(request, name, self.access, allow_query_key=self.settings.allow_query_key)

    async def heavy(self, caller: KnownCaller, limit_s: float, work: Callable[..., T], *given: Any) -> T:
        """The result of heavy work in one of the places of the team; Problem 429 where it holds all."""
        with caller.account.place():
            return await self.lanes.heavy(caller, limit_s, work, *given)

    def reload(self) -> None:
        """Reads the keys again, and goes on with the audit log in a new file where the old one was moved away."""
        self.access.reload()
        self.audit.reopen()

    async def body(self, request: Request) -> bytes:
        """The body of a request; Problem 408 when it does not come in time."""
        try:
            async with asyncio.timeout(self.settings.body_wait_s):
                return await request.body()
        except TimeoutError as error:
            text = f"the body did not arrive within {self.settings.body_wait_s} s"
            raise Problem(408, text, headers={"Connection": "close"}) from error
