"""Worker processes: work comes back, and whatever it does it ends, alone."""

from __future__ import annotations

import asyncio
import logging
import os
import sys
import threading
import time
from collections.abc import Awaitable
from pathlib import Path
from typing import Any

import pytest
from starlette.requests import ClientDisconnect

from service.base.problems import Problem
from service.http import tasks
from service.http.settings import Settings
from service.http.tasks import warm
from service.pool import worker
from service.pool.lanes import Caller, Lanes, while_connected
from service.pool.worker import Bounds, UnforeseenError, call
from service.report.renderers import RENDERERS

CALLER = Caller()
ROOT = Path(__file__).parents[2]


def died() -> None:
    """Work that ends its process."""
    os._exit(3)


def refused_work() -> None:
    """Work that refuses its input."""
    raise Problem(422, "no", [("/x", "wrong")], kind="urn:k", title="T", headers={"H": "1"})


def greedy(mib: int) -> int:
    """Work that takes memory."""
    return len(bytearray(mib << 20))


def unforeseen() -> None:
    """Work with an error of its own."""
    raise ZeroDivisionError("secret")


async def fate(work: Awaitable[Any]) -> Any:
    """The result, or the problem's status and kind."""
    try:
        return await work
    except Problem as problem:
        return problem.status, problem.kind


@pytest.mark.skipif(sys.platform != "linux", reason="memory of a process is bounded on Linux only")
def test_work_ends_whatever_it_does_and_the_next_one_runs(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.syspath_prepend(str(ROOT))
    lanes = Lanes(Settings(max_running=2, worker_memory_mib=300), time.perf_counter)

    async def run() -> None:
        assert await lanes.heavy(CALLER, 60.0, pow, 2, 10) == 1024
        pid = await lanes.heavy(CALLER, 60.0, os.getpid)
        assert pid != os.getpid()
        slow = asyncio.create_task(fate(lanes.heavy(CALLER, 0.3, time.sleep, 60)))
        assert await lanes.heavy(CALLER, 60.0, pow, 2, 3) == 8  # beside it
        begun = time.monotonic()
        assert await slow == (503, "urn:toeline:deadline")
        assert time.monotonic() - begun < 10.0
        assert await fate(lanes.heavy(CALLER, 60.0, died)) == (503, "urn:toeline:worker-died")
        assert await fate(lanes.heavy(CALLER, 60.0, greedy, 1000)) == (503, "urn:toeline:out-of-memory")
        assert await lanes.heavy(CALLER, 60.0, greedy, 100) == 100 << 20
        with pytest.raises(Problem) as caught:
            await lanes.heavy(CALLER, 60.0, refused_work)
        told = caught.value
        assert (told.status, told.errors, told.kind, told.title) == (422, (("/x", "wrong"),), "urn:k", "T")
        assert told.headers == {"H": "1"}
        with pytest.raises(UnforeseenError, match=r"(?s)unforeseen.*ZeroDivisionError: secret"):
            await lanes.heavy(CALLER, 60.0, unforeseen)
        leaving = asyncio.create_task(lanes.heavy(CALLER, 60.0, time.sleep, 60))
        await asyncio.sleep(0.2)
        leaving.cancel()
        await asyncio.gather(leaving, return_exceptions=True)
        assert lanes.places.running == 0
        assert lanes.replaced == 3
        await lanes.warm()
        lanes.stopping = True

    with caplog.at_level(logging.ERROR, logger="toeline"):
        asyncio.run(run())
    assert [record.getMessage() for record in caplog.records] == ["a worker process has died"]


def test_without_processes_work_runs_here() -> None:
    lanes = Lanes(Settings(worker_processes=False), warm)

    async def run() -> None:
        assert await lanes.heavy(CALLER, 60.0, os.getpid) == os.getpid()
        await lanes.warm()
        assert lanes.ready
        lanes.stopping = True
        assert not lanes.ready

    asyncio.run(run())


def test_a_new_worker_imports_what_it_will_need(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[str] = []
    monkeypatch.setattr(tasks, "_WARM_S", 0.0)
    monkeypatch.setattr(tasks, "require_packages", asked.append)
    warm()
    assert asked == list(RENDERERS)


def test_a_worker_that_cannot_be_started_is_logged(caplog: pytest.LogCaptureFixture) -> None:
    lanes = Lanes(Settings(max_running=1), warm)

    async def broken(*_: object) -> None:
        raise OSError("no process")

    lanes._run = broken  # type: ignore[method-assign]

    async def run() -> None:
        lanes.begin_warming()
        while lanes._warming:
            await asyncio.sleep(0)

    asyncio.run(run())
    assert "a worker process could not be started" in caplog.text


async def never() -> dict[str, str]:
    await asyncio.sleep(60.0)
    return {}


async def gone() -> dict[str, str]:
    return {"type": "http.disconnect"}


def test_work_is_for_a_caller_who_stays() -> None:
    async def quick() -> int:
        return 3

    async def slow() -> int:
        await asyncio.sleep(60.0)
        return 4

    assert asyncio.run(while_connected(never, quick())) == 3
    with pytest.raises(ClientDisconnect):
        asyncio.run(while_connected(gone, slow()))

    async def broken() -> int:
        raise Problem(422, "no")

    with pytest.raises(Problem):
        asyncio.run(while_connected(never, broken()))


def test_a_worker_keeps_to_its_bounds_and_ends_with_its_server(monkeypatch: pytest.MonkeyPatch) -> None:
    done: list[Any] = []
    monkeypatch.setattr(worker, "_begun", False)
    monkeypatch.setattr(worker.signal, "signal", lambda *given: done.append("signal"))
    monkeypatch.setattr(worker.os, "nice", lambda by: done.append(by))
    monkeypatch.setattr(worker, "_bound_memory", lambda mib: done.append(mib))
    monkeypatch.setattr(worker.os, "_exit", lambda code: done.append(("exit", code)))
    monkeypatch.setattr(worker, "_WATCH_S", 0.0)
    parents = iter([77, 77, 1])
    monkeypatch.setattr(worker.os, "getppid", lambda: next(parents))
    assert call(Bounds(5, 77), pow, 2, 2) == 4
    assert call(Bounds(5, 77), pow, 2, 3) == 8  # bounded once
    for thread in threading.enumerate():
        if thread is not threading.current_thread() and thread.name.endswith("(_end_with)"):
            thread.join(5.0)
    assert done[:3] == ["signal", worker.NICENESS, 5] or sorted(map(str, done)) == sorted(
        map(str, ["signal", worker.NICENESS, 5, ("exit", 1)])
    )
    assert ("exit", 1) in done


def test_memory_is_bounded_from_what_is_held(monkeypatch: pytest.MonkeyPatch) -> None:
    import resource

    asked: list[tuple[int, tuple[int, int]]] = []
    monkeypatch.setattr(resource, "setrlimit", lambda what, limits: asked.append((what, limits)))
    worker._bound_memory(10)
    ((what, (soft, hard)),) = asked
    assert what == resource.RLIMIT_DATA
    assert soft > 10 << 20
    assert hard == resource.RLIM_INFINITY
    monkeypatch.setattr(worker.sys, "platform", "darwin")
    worker._bound_memory(10)
    assert len(asked) == 1


def test_memory_that_is_wanted_and_not_there_is_a_problem() -> None:
    def wanting() -> None:
        raise MemoryError

    with pytest.raises(Problem, match=r"one may use here \(7 MiB\)"):
        call(Bounds(7, os.getpid()), wanting)
