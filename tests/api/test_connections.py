"""Connections are bounded in number, in the time for the head of a request, and in the time for taking an answer."""

from __future__ import annotations

import asyncio
import resource
import socket
import time
from collections.abc import Iterator
from types import SimpleNamespace
from typing import Any

import httpx
import pytest

from service.http import connections
from service.http.connections import most_connections
from service.http.settings import Settings
from tests.api.conftest import Server

LIVE = b"GET /health/live HTTP/1.1\r\nHost: here\r\n"


@pytest.fixture
def bounded(monkeypatch: pytest.MonkeyPatch) -> Iterator[str]:
    settings = Settings(head_wait_s=1, body_wait_s=1, max_batch_s=2)
    monkeypatch.setattr(connections, "bounds", lambda: settings)
    monkeypatch.setattr(connections, "most_connections", lambda: 5)
    with Server(settings, keep_alive_s=1) as url:
        yield url


class Open:
    """Opens connections to a server, and closes all of them in the end."""

    def __init__(self, url: str) -> None:
        host, _, port = url.removeprefix("http://").partition(":")
        self.place, self.made = (host, int(port)), list[socket.socket]()

    def __call__(self, send: bytes = b"", taken: int | None = None) -> socket.socket:
        one = socket.socket()
        self.made.append(one)
        if taken is not None:
            one.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, taken)
        one.settimeout(10.0)
        one.connect(self.place)
        one.sendall(send)
        return one


@pytest.fixture
def opened(bounded: str) -> Iterator[Open]:
    found = Open(bounded)
    yield found
    for one in found.made:
        one.close()


def is_cut(one: socket.socket) -> bool:
    """Whether the server ends the connection without a word, in time."""
    try:
        return one.recv(10) == b""
    except ConnectionError:
        return True


def test_half_a_head_is_cut_off_and_one_too_many_at_once(bounded: str, opened: Open) -> None:
    halves = [opened(LIVE) for _ in range(5)]
    time.sleep(0.2)
    begun = time.monotonic()
    assert is_cut(opened())  # the sixth
    assert time.monotonic() - begun < 0.8
    assert all(is_cut(one) for one in halves)
    assert httpx.get(f"{bounded}/health/live").status_code == 200


def test_a_head_that_trickles_is_cut_off_also_behind_an_answer(opened: Open) -> None:
    one = opened(LIVE + b"\r\n")
    assert one.recv(20).startswith(b"HTTP/1.1 200 ")
    begun = time.monotonic()
    cut = False
    while not cut and time.monotonic() - begun < 8.0:
        try:
            one.sendall(b"G" if time.monotonic() - begun < 0.1 else b"E")
        except OSError:
            cut = True
        time.sleep(0.2)
    assert cut
    assert 0.5 < time.monotonic() - begun < 4.0


def test_who_keeps_sending_requests_is_not_cut_off(bounded: str) -> None:
    with httpx.Client(base_url=bounded) as one:
        for _ in range(6):
            assert one.get("/health/live").status_code == 200
            time.sleep(0.3)


def test_who_takes_no_answer_is_cut_off(opened: Open) -> None:
    one = opened(b"GET /openapi.json HTTP/1.1\r\nHost: here\r\n\r\n" * 40, taken=4096)
    time.sleep(2.5)
    one.setblocking(False)
    cut = False
    for _ in range(50):
        try:
            one.send(LIVE + b"\r\n")
        except BlockingIOError:
            pass
        except OSError:
            cut = True
        time.sleep(0.02)
    assert cut


def test_a_slow_reader_gets_it_all_and_an_idle_connection_is_closed(opened: Open) -> None:
    one = opened(b"GET /openapi.json HTTP/1.1\r\nHost: here\r\n\r\n", taken=4096)
    got, begun = b"", time.monotonic()
    while part := one.recv(30_000):
        got += part
        time.sleep(0.02 if time.monotonic() - begun < 1.5 else 0.0)
    head, _, body = got.partition(b"\r\n\r\n")
    assert f"content-length: {len(body)}".encode() in head.lower()


def test_the_times_of_a_connection_end_with_it() -> None:
    loop = asyncio.new_event_loop()
    cut: list[bool] = []

    class Transport:
        def abort(self) -> None:
            cut.append(True)

    one: Any = connections.BoundedConnection.__new__(connections.BoundedConnection)
    one.loop, one.transport, one._timers = loop, Transport(), {}
    one.flow = SimpleNamespace(pause_writing=list, resume_writing=list)
    one.pause_writing()
    assert set(one._timers) == {"stalled", "whole"}
    one.resume_writing()
    assert set(one._timers) == {"whole"}
    one._start("head", 0.01)
    one._start("head", 0.0)  # the first one counts
    one._stop("head")
    one._stop("head")
    loop.run_until_complete(asyncio.sleep(0.05))
    assert cut == []
    one._start("head", 0.0)
    loop.run_until_complete(asyncio.sleep(0.01))
    assert cut == [True]
    loop.close()


@pytest.mark.parametrize(("hard", "most"), [(500, 436), (10_000, 1000), (resource.RLIM_INFINITY, 1000), (10, 1)])
def test_there_are_no_more_connections_than_open_files(hard: int, most: int, monkeypatch: pytest.MonkeyPatch) -> None:
    set_to: list[tuple[int, int]] = []
    monkeypatch.setattr(resource, "getrlimit", lambda _: (100, hard))
    monkeypatch.setattr(resource, "setrlimit", lambda _, limits: set_to.append(limits))
    assert most_connections.__wrapped__() == most
    assert set_to == [(hard, hard)]


def test_where_the_system_has_no_such_limits_the_setting_counts(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(__import__("sys").modules, "resource", None)
    assert most_connections.__wrapped__() == 1000
