"""Plain ASGI middleware: body limit, HEAD and OPTIONS, ETag, and a last net for the unforeseen."""

from __future__ import annotations

import hashlib
import logging
from collections.abc import Awaitable, Callable, Iterable, MutableMapping, Sequence
from typing import Any

from starlette.requests import ClientDisconnect, Request
from starlette.routing import BaseRoute, Match

from fatcore import __version__

from ..access.recording import call_of
from ..base.problems import Problem, unforeseen
from ..base.rules.active import under
from ..base.rules.policy import POLICY_HEADER, Policy
from .answering import problem_reply
from .settings import Settings

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

WHOLE_BODIES = 4  # bodies of the largest size that may be under way together

log = logging.getLogger("toeline")


class LastNet:
    """Turns anything unforeseen into problem+json 500 and writes the trace to the log only.

    Sees every answer, and forbids browsers to take it for something else than it states.
    """

    def __init__(self, app: App) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        started = False

        async def watched(message: Message) -> None:
            nonlocal started
            if message["type"] == "http.response.start":
                started = True
                message = {**message, "headers": _with_fixed(message["headers"])}
            await send(message)

        try:
            await self.app(scope, receive, watched)
        except Problem as problem:
            await problem_reply(Request(scope), problem)(scope, receive, watched)
        except ClientDisconnect:
            log.info("the caller of request %s has left", call_of(scope).request_id)
        except Exception:
            call = call_of(scope)  # an address may hold a key
            log.exception("unforeseen error in request %s (%s)", call.request_id, call.calculation)
            if started:
                raise
            await problem_reply(Request(scope), unforeseen())(scope, receive, watched)


# every answer is what its Content-Type states, since answers may repeat texts of the caller; and says what made it
_FIXED = {b"x-content-type-options": b"nosniff", b"x-toeline-version": __version__.encode()}


def _with_fixed(headers: Iterable[tuple[bytes, bytes]]) -> list[tuple[bytes, bytes]]:
    return [*(pair for pair in headers if pair[0] not in _FIXED), *_FIXED.items()]


class BodyLimit:
    """Answers 413 by the announced length, or as soon as more than the limit has come.

    The bodies of all requests that are under way together are bounded as well: beyond that it answers 503.
    """

    def __init__(self, app: App, settings: Settings) -> None:
        self.app, self.limit, self.settings = app, settings.max_body_bytes, settings
        self.held = 0

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        announced = dict(scope["headers"]).get(b"content-length", b"0")
        if not announced.isdigit() or int(announced) > self.limit:
            raise self._too_large()
        received = 0

        async def counted() -> Message:
            nonlocal received
            message = await receive()
            size = len(message.get("body", b""))
            received, self.held = received + size, self.held + size
            if received > self.limit:
                raise self._too_large()
            if self.held > WHOLE_BODIES * self.limit:
                raise self._too_many()
            return message

        try:
            await self.app(scope, counted, send)
        finally:
            self.held -= received

    def _too_large(self) -> Problem:
        return Problem(413, f"the body may have {self.limit} bytes at the most")

    def _too_many(self) -> Problem:
        wait = {"Retry-After": str(self.settings.retry_after_s), "Connection": "close"}
        return Problem(503, "too many large requests are under way; try again", headers=wait)


class CellMethods:
    """HEAD is GET without its body; OPTIONS tells the methods of a path. Spreadsheets send both."""

    def __init__(self, app: App, routes: Sequence[BaseRoute]) -> None:
        self.app, self.routes = app, routes

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "http" and scope["method"] == "OPTIONS":
            await self._options(scope, send)
            return
        if scope["type"] != "http" or scope["method"] != "HEAD":
            await self.app(scope, receive, send)
            return

        async def bodiless(message: Message) -> None:
            if message["type"] == "http.response.body":
                message = {**message, "body": b""}
            await send(message)

        await self.app({**scope, "method": "GET"}, receive, bodiless)

    async def _options(self, scope: Scope, send: Send) -> None:
        allowed: set[str] = set()
        for route in self.routes:
            if route.matches(scope)[0] is not Match.NONE:
                allowed |= set(getattr(route, "methods", None) or {"GET"})
        if not allowed:
            raise Problem(404, f"there is nothing at {scope['path']}")
        allowed |= {"OPTIONS"} | ({"HEAD"} if "GET" in allowed else set())
        listed = ", ".join(sorted(allowed)).encode()
        await send({"type": "http.response.start", "status": 204, "headers": [(b"allow", listed)]})
        await send({"type": "http.response.body", "body": b""})


class ConditionalGet:
    """ETag on every answered GET, and 304 when the caller has it: cells ask again and again."""

    def __init__(self, app: App) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http" or scope["method"] != "GET":
            await self.app(scope, receive, send)
            return
        start: Message = {}
        body = bytearray()

        async def gathered(message: Message) -> None:
            if message["type"] == "http.response.start":
                start.update(message)
                return
            body.extend(message.get("body", b""))
            if not message.get("more_body", False):
                await self._finish(scope, start, bytes(body), send)

        await self.app(scope, receive, gathered)

    async def _finish(self, scope: Scope, start: Message, body: bytes, send: Send) -> None:
        headers = list(start["headers"])
        if start["status"] == 200:
            tag = b'"' + hashlib.sha256(body).hexdigest()[:32].encode() + b'"'
            headers += [(b"etag", tag), (b"cache-control", b"no-cache"), (b"vary", b"Accept")]
            known = dict(scope["headers"]).get(b"if-none-match", b"")
            if tag in known or known.strip() == b"*":
                kept = [pair for pair in headers if pair[0] not in {b"content-length", b"content-type"}]
                await send({"type": "http.response.start", "status": 304, "headers": kept})
                await send({"type": "http.response.body", "body": b""})
                return
        await send({**start, "headers": headers})
        await send({"type": "http.response.body", "body": body})


class UnderPolicy:
    """Holds the policy while a request is answered."""

    def __init__(self, app: App, policy: Policy) -> None:
        self.app, self.policy = app, policy
        self.header = (POLICY_HEADER.lower().encode(), policy.digest.encode())

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        async def marked(message: Message) -> None:
            if message["type"] == "http.response.start":
                message = {**message, "headers": [*message["headers"], self.header]}
            await send(message)

        with under(self.policy):
            await self.app(scope, receive, marked)
