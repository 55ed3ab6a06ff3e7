"""What is counted of requests and of the heavy lane: in one process, in several, and without the library."""

from __future__ import annotations

import asyncio
import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import nullcontext
from pathlib import Path

import pytest
from starlette.requests import ClientDisconnect

from service.base.problems import Problem
from service.http import metrics as module
from service.http.metrics import FOLDER, Metrics, _gone, counted_together
from service.http.settings import Settings
from service.pool.lanes import Lanes

WITHOUT = pytest.mark.skipif(not module.installed(), reason="prometheus-client is not installed")


def lines(metrics: Metrics, begin: str) -> list[str]:
    """Samples whose name and labels begin so."""
    return [line for line in metrics.text().splitlines() if line.startswith(begin)]


@pytest.fixture
def alone(monkeypatch: pytest.MonkeyPatch) -> Iterator[Metrics]:
    monkeypatch.delenv(FOLDER, raising=False)
    return Metrics()


@WITHOUT
def test_requests_are_counted_by_their_end_and_refusals_by_their_reason(alone: Metrics) -> None:
    late = Problem(503, "x", kind="urn:toeline:deadline")
    for error in (None, None, Problem(422, "x"), late, KeyError("x"), ClientDisconnect()):
        with nullcontext() if error is None else pytest.raises(type(error)), alone.counted("check"):
            if error is not None:
                raise error
    alone.count("b", 200)
    assert lines(alone, "toeline_requests_total{") == [
        'toeline_requests_total{calculation="check",status="200"} 2.0',
        'toeline_requests_total{calculation="check",status="422"} 1.0',
        'toeline_requests_total{calculation="check",status="503"} 1.0',
        'toeline_requests_total{calculation="check",status="500"} 1.0',
        'toeline_requests_total{calculation="b",status="200"} 1.0',
    ]
    assert lines(alone, "toeline_refusals_total{") == [
        'toeline_refusals_total{calculation="check",reason="422"} 1.0',
        'toeline_refusals_total{calculation="check",reason="deadline"} 1.0',
        'toeline_refusals_total{calculation="check",reason="500"} 1.0',
    ]


@WITHOUT
def test_seconds_are_observed_by_calculation_and_team_also_where_the_work_fails(
    alone: Metrics, monkeypatch: pytest.MonkeyPatch
) -> None:
    ticks = iter([10.0, 10.5, 20.0, 22.0])
    monkeypatch.setattr("service.http.metrics.time.perf_counter", lambda: next(ticks))
    with alone.timed("a", "gates"):
        assert lines(alone, "toeline_running") == ["toeline_running 1.0"]
    with pytest.raises(ZeroDivisionError), alone.timed("a", "gates"):
        raise ZeroDivisionError
    assert lines(alone, "toeline_running") == ["toeline_running 0.0"]
    of_it = 'toeline_request_seconds_{}{{calculation="a",team="gates"}} {}'
    assert lines(alone, "toeline_request_seconds_sum") == [of_it.format("sum", 2.5)]
    assert lines(alone, "toeline_request_seconds_count") == [of_it.format("count", 2.0)]
    assert 'le="0.5",team="gates"} 1.0' in alone.text()
    assert 'le="2.0",team="gates"} 2.0' in alone.text()


@WITHOUT
def test_the_heavy_lane_is_told(alone: Metrics) -> None:
    assert lines(alone, "toeline_pool_places") == ["toeline_pool_places 0.0"]
    alone.lanes = Lanes(Settings(max_running=3), lambda: None)
    alone.lanes.replaced = 4

    async def taken() -> list[str]:
        assert alone.lanes is not None
        async with alone.told(), alone.lanes.places.taken("x"):
            return lines(alone, "toeline_pool")

    assert asyncio.run(taken()) == [
        "toeline_pool_places 3.0",
        "toeline_pool_running 1.0",
        "toeline_pool_waiting 0.0",
        "toeline_pool_replaced 4.0",
    ]


SEVERAL = """
import asyncio, sys
from service.http.metrics import Metrics
from service.http.settings import Settings
from service.pool.lanes import Lanes

metrics = Metrics()
metrics.lanes = Lanes(Settings(max_running=2), lambda: None)
with metrics.counted("check"), metrics.timed("check", "a"):
    pass

async def told():
    async with metrics.told():
        await asyncio.sleep(0)
        await asyncio.sleep(0)

asyncio.run(told())
print("ready", flush=True)
sys.stdin.readline()
print(metrics.text())
"""


@WITHOUT
def test_several_processes_are_counted_together_and_a_dead_one_holds_no_place(tmp_path: Path) -> None:
    root = Path(module.__file__).parents[2]
    environment = {**os.environ, FOLDER: str(tmp_path)}
    pipe = subprocess.PIPE
    command = [sys.executable, "-c", SEVERAL]
    first, second = (
        subprocess.Popen(command, cwd=root, env=environment, stdin=pipe, stdout=pipe, text=True) for _ in range(2)
    )
    assert [each.stdout.readline() for each in (first, second) if each.stdout] == ["ready\n"] * 2
    text = first.communicate("\n")[0]
    assert 'toeline_requests_total{calculation="check",status="200"} 2.0' in text
    assert 'toeline_request_seconds_count{calculation="check",team="a"} 2.0' in text
    assert "toeline_pool_places 4.0" in text
    text = second.communicate("\n")[0]
    assert 'toeline_requests_total{calculation="check",status="200"} 2.0' in text
    assert "toeline_pool_places 2.0" in text  # of the one that still runs


def test_what_a_process_leaves_behind_is_known_by_its_number(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for pid in (os.getpid(), 4_000_001, 4_000_002):
        (tmp_path / f"gauge_livesum_{pid}.db").touch()
        (tmp_path / f"counter_{pid}.db").touch()
    assert _gone(tmp_path) == {4_000_001, 4_000_002}

    def of_another_user(pid: int, _: int) -> None:
        raise PermissionError if pid == 4_000_001 else ProcessLookupError

    monkeypatch.setattr("os.kill", of_another_user)
    assert _gone(tmp_path) == {os.getpid(), 4_000_002}


def test_several_processes_of_a_server_have_a_folder_as_long_as_they_run(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv(FOLDER, raising=False)
    with counted_together(1):
        assert FOLDER not in os.environ
    with counted_together(2):
        folder = Path(os.environ[FOLDER])
        assert folder.is_dir()
        with counted_together(4):
            assert Path(os.environ[FOLDER]) == folder
    assert FOLDER not in os.environ
    assert not folder.exists()


def test_without_the_library_nothing_is_counted_and_the_text_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "installed", lambda: False)
    metrics = Metrics()
    metrics.lanes = Lanes(Settings(), lambda: None)
    with metrics.counted("check"), metrics.timed("check"):
        metrics.count("check", 422)

    async def told() -> None:
        async with metrics.told():
            metrics._tell()

    asyncio.run(told())
    with pytest.raises(Problem, match="extra 'metrics'") as caught:
        metrics.text()
    assert (caught.value.status, caught.value.kind) == (503, "urn:toeline:metrics-not-installed")
