"""Load on a server: keep-alive connections that ask one request after the other, and the times of the answers."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import cycle

import numpy as np


@dataclass
class Times:
    """Times of the answers of one kind of request [s], and how many were not 200."""

    seconds: list[float] = field(default_factory=list)
    refused: int = 0
    wall_s: float = 0.0

    @property
    def each_ms(self) -> float:
        """Milliseconds a request, by how many were answered in the whole time."""
        return 1e3 * self.wall_s / len(self.seconds)

    def quantile_ms(self, share: float) -> float:
        """Time that this share of the answers stays below."""
        return 1e3 * float(np.quantile(self.seconds, share))


def request_bytes(path: str, body: bytes | None = None) -> bytes:
    """A request as it is sent."""
    lines = [f"{'GET' if body is None else 'POST'} {path} HTTP/1.1", "Host: here"]
    if body is not None:
        lines += ["Content-Type: application/json", f"Content-Length: {len(body)}"]
    return "\r\n".join([*lines, "", ""]).encode() + (body or b"")


async def ask(address: str, contents: Iterator[bytes], times: Times, count: int) -> None:
    """Asks so many times on one connection, the next request each time."""
    host, _, port = address.partition(":")
    reader, writer = await asyncio.open_connection(host, int(port))
    for _ in range(count):
        begun = time.perf_counter()
        writer.write(next(contents))
        head = await reader.readuntil(b"\r\n\r\n")
        length = next(int(line.split(b":")[1]) for line in head.lower().split(b"\r\n") if b"content-length" in line)
        await reader.readexactly(length)
        times.seconds.append(time.perf_counter() - begun)
        times.refused += b" 200 " not in head[:15]
    writer.close()
    await writer.wait_closed()


async def several(address: str, contents: Iterator[bytes], *, connections: int, count: int) -> Times:
    """Requests on several connections at once, so many on each."""
    times = Times()
    begun = time.perf_counter()
    await asyncio.gather(*(ask(address, contents, times, count) for _ in range(connections)))
    times.wall_s = time.perf_counter() - begun
    return times


def loaded(address: str, contents: Sequence[bytes], *, connections: int = 8, count: int = 250, runs: int = 3) -> Times:
    """The best of some runs, by the time a request; the requests one after the other, then again from the first."""
    given = cycle(contents)
    asyncio.run(several(address, given, connections=connections, count=20))
    found = [asyncio.run(several(address, given, connections=connections, count=count)) for _ in range(runs)]
    return min(found, key=lambda times: times.each_ms)
