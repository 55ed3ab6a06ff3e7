"""Connections of the server: nobody holds one without sending a request or taking its answer."""

from __future__ import annotations

import asyncio
import logging
from functools import cache
from typing import Any

from uvicorn.protocols.http.auto import AutoHTTPProtocol

from .settings import Settings

_SPARE_FILES = 64  # open files besides connections: workers, logs, pages [own choice]

log = logging.getLogger("toeline")


@cache
def bounds() -> Settings:
    """The settings that connections keep to, with no more connections than the system gives open files."""
    return Settings.from_environment()


@cache
def most_connections() -> int:
    """Connections at a time: as set, but not more than files may be open; what may be is raised as far as it goes."""
    wanted = bounds().max_connections
    try:
        import resource
    except ImportError:  # a system without such limits
        return wanted
    _, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    resource.setrlimit(resource.RLIMIT_NOFILE, (hard, hard))
    return wanted if hard == resource.RLIM_INFINITY else max(1, min(wanted, hard - _SPARE_FILES))


class WrittenTogether:
    """A transport that hands over at once what is written in one step of the loop.

    Head and body of an answer leave together, or not at all where the process is killed: a proxy that has seen the head
    cannot ask another replica any more.
    """

    def __init__(self, transport: Any, loop: asyncio.AbstractEventLoop) -> None:
        self._transport, self._loop = transport, loop
        self._held: list[bytes] = []

    def write(self, data: bytes) -> None:
        """Takes bytes, to be sent when the step ends."""
        if not self._held:
            self._loop.call_soon(self._flush)
        self._held.append(data)

    def close(self) -> None:
        """Closes after what has been written."""
        self._flush()
        self._transport.close()

    def abort(self) -> None:
        """Cuts the connection; what has not been sent is lost."""
        self._held.clear()
        self._transport.abort()

    def _flush(self) -> None:
        if self._held:
            held, self._held = self._held, []
            self._transport.write(b"".join(held))

    def __getattr__(self, name: str) -> Any:
        return getattr(self._transport, name)


class BoundedConnection(AutoHTTPProtocol):  # type: ignore[misc,valid-type]
    """A connection with a time for the head of each request, and for taking the answer.

    The head of a request must have come `head_wait_s` after its first byte, that of the first one after the connection
    was made. A caller who does not take an answer is cut off after `body_wait_s` without taking anything, and after
    `max_batch_s` in all.
    """

    def connection_made(self, transport: asyncio.Transport) -> None:
        """Counts the connection; one too many is cut at once."""
        self._timers: dict[str, asyncio.TimerHandle] = {}
        super().connection_made(WrittenTogether(transport, self.loop))
        if len(self.connections) > most_connections():
            self.transport.abort()
        else:
            self._start("head", bounds().head_wait_s)

    def data_received(self, data: bytes) -> None:
        """Takes bytes; the time for a head runs while one is on its way."""
        super().data_received(data)
        if self.cycle is not None and not self.cycle.response_complete:
            self._stop("head")
        else:
            self._start("head", bounds().head_wait_s)

    def pause_writing(self) -> None:
        """The caller takes less than is sent."""
        super().pause_writing()
        self._start("stalled", bounds().body_wait_s)
        self._start("whole", bounds().max_batch_s)

    def resume_writing(self) -> None:
        """The caller has taken most of what was sent."""
        super().resume_writing()
        self._stop("stalled")

    def on_response_complete(self) -> None:
        """The answer has left the application; its last bytes may still be on their way."""
        super().on_response_complete()
        self._stop("whole")

    def timeout_keep_alive_handler(self) -> None:
        """Closes an idle connection; one whose last bytes nobody takes is cut."""
        super().timeout_keep_alive_handler()
        self._start("stalled", bounds().body_wait_s)

    def connection_lost(self, exc: Exception | None) -> None:
        """Forgets the times of a connection that is gone."""
        super().connection_lost(exc)
        for name in list(self._timers):
            self._stop(name)

    def _start(self, name: str, seconds: float) -> None:
        """Cuts the connection after so long, unless the time runs already."""
        if name not in self._timers:
            self._timers[name] = self.loop.call_later(seconds, self.transport.abort)

    def _stop(self, name: str) -> None:
        timer = self._timers.pop(name, None)
        if timer is not None:
            timer.cancel()
