"""Around every request: its id goes in and out, and a calculation leaves its line in the audit log."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any

from .access import Access
from .audit import AuditLog, Call
from .request_id import HEADER, request_id

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

_CALL = "toeline.call"
_HEADER = HEADER.lower().encode()


def call_of(scope: Scope) -> Call:
    """What is known of the request that is answered."""
    call: Call = scope.get(_CALL) or Call(request_id="-")
    return call


class Recorded:
    """Plain ASGI middleware, outermost, so that answers of every kind have an id."""

    def __init__(self, app: App, access: Access, audit: AuditLog) -> None:
        self.app, self.access, self.audit = app, access, audit

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        given = dict(scope["headers"]).get(_HEADER, b"").decode("latin-1")
        call = Call(request_id=request_id(given, self.access.is_key))
        status = 0

        async def noted(message: Message) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
                message = {**message, "headers": [*message["headers"], (_HEADER, call.request_id.encode())]}
            await send(message)
            if message["type"] == "http.response.body" and not message.get("more_body", False):
                call.status = call.status or status

        try:
            await self.app({**scope, _CALL: call}, receive, noted)
        except Exception:
            call.status = 500
            raise
        finally:
            if call.calculation is not None:
                self.audit.write(call)
