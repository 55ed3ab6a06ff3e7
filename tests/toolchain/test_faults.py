"""Faults of callers, workers and the machine against the service as `toeline serve` starts it: nobody else notices."""

from __future__ import annotations

import json
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import httpx
import pytest

ROOT = Path(__file__).parents[2]
EXAMPLES = ROOT / "openapi_examples"
LIFE = "/v1/curves/iiw-2016-normal-steel-90/life?stress_range_mpa=100"
pytestmark = [
    pytest.mark.toolchain,
    pytest.mark.skipif(not sys.platform.startswith("linux"), reason="processes are looked at in /proc"),
]


def example(name: str) -> Any:
    return json.loads((EXAMPLES / f"{name}.json").read_text(encoding="utf-8"))["request"]


SLOW = {**example("cracks/scatter-toe-crack"), "samples": 200_000}  # some seconds
SECTION = example("stress/section-bracket-one-side")


@dataclass
class Service:
    """A service in processes of its own, and its log."""

    url: str
    process: subprocess.Popen[bytes]
    log: Path

    def children(self) -> dict[int, float]:
        """CPU seconds of every process that it started."""
        return {pid: cpu for pid, (parent, cpu) in processes().items() if parent == self.process.pid}


def processes() -> dict[int, tuple[int, float]]:
    """Parent and CPU seconds of every process."""
    found = {}
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            fields = (folder / "stat").read_text(encoding="utf-8").rpartition(")")[2].split()
        except OSError:
            continue
        found[int(folder.name)] = (int(fields[1]), (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK"))
    return found


@contextmanager
def served(log: Path, **settings: int) -> Iterator[Service]:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    given = {f"TOELINE_{name.upper()}": str(value) for name, value in settings.items()}
    command = [sys.executable, "-m", "service", "serve", "--port", str(port)]
    with (
        log.open("wb") as stream,
        subprocess.Popen(command, cwd=ROOT, env={**os.environ, **given}, stdout=stream, stderr=stream) as process,
    ):
        try:
            url = f"http://127.0.0.1:{port}"
            until(lambda: status(f"{url}/health/ready") == 200, 40.0)
            yield Service(url, process, log)
        finally:
            process.kill()


def status(url: str) -> int:
    try:
        return httpx.get(url, timeout=10.0).status_code
    except httpx.HTTPError:
        return 0


def status_of_slow(url: str) -> int:
    try:
        return httpx.post(f"{url}/v1/cracks/scatter", json=SLOW, timeout=60.0).status_code
    except httpx.HTTPError:
        return 0


def until(reached: Callable[[], bool], seconds: float) -> None:
    ends = time.monotonic() + seconds
    while not reached():
        assert time.monotonic() < ends, "not reached in time"
        time.sleep(0.1)


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    log = tmp_path_factory.mktemp("faults") / "log"
    with served(log, max_running=2, head_wait_s=3, max_run_s=15) as running:
        assert httpx.post(f"{running.url}/v1/stress/section", json=SECTION, timeout=30.0).status_code == 200
        yield running


def test_work_whose_caller_has_left_is_ended(service: Service) -> None:
    for _ in range(3):
        until(lambda: len(service.children()) >= 2, 30.0)
        before = set(service.children())
        with pytest.raises(httpx.TimeoutException):
            httpx.post(f"{service.url}/v1/cracks/scatter", json=SLOW, timeout=2.0)
        until(lambda held=before: held - set(service.children()), 10.0)  # type: ignore[misc]
    assert httpx.post(f"{service.url}/v1/stress/section", json=SECTION, timeout=30.0).status_code == 200


def test_light_requests_are_answered_while_heavy_ones_wait(service: Service) -> None:
    with ThreadPoolExecutor(140) as pool:
        heavy = [pool.submit(httpx.post, f"{service.url}/v1/cracks/scatter", json=SLOW, timeout=60.0) for _ in range(6)]
        time.sleep(1.0)
        cells = list(
            pool.map(lambda _: httpx.get(f"{service.url}{LIFE}&only=answer.life_cycles", timeout=30.0), range(100))
        )
        assert {(cell.status_code, cell.text) for cell in cells} == {(200, cells[0].text)}
        assert float(cells[0].text) > 1e6
        assert not all(each.done() for each in heavy)


def busy(service: Service, since: dict[int, float], least_s: float) -> list[int]:
    """Workers that have computed for so long since they were looked at."""
    return [pid for pid, cpu in service.children().items() if cpu - since.get(pid, 0.0) > least_s]


def at_rest(service: Service) -> bool:
    since = service.children()
    time.sleep(1.0)
    return len(since) >= 2 and since.keys() == service.children().keys() and not busy(service, since, 0.05)


def test_a_worker_that_is_killed_costs_its_own_request_only(service: Service) -> None:
    until(lambda: at_rest(service), 40.0)  # a worker that only starts would cost nobody anything
    since = service.children()
    slow = {**SLOW, "samples": 100_000}
    with ThreadPoolExecutor(2) as pool:
        asked = [pool.submit(httpx.post, f"{service.url}/v1/cracks/scatter", json=slow, timeout=60.0) for _ in range(2)]
        until(lambda: bool(busy(service, since, 0.3)), 20.0)
        os.kill(busy(service, since, 0.3)[0], signal.SIGKILL)
        found = sorted(one.result().status_code for one in asked)
    assert found == [200, 503]
    assert httpx.post(f"{service.url}/v1/stress/section", json=SECTION, timeout=30.0).status_code == 200


def is_cut(one: socket.socket) -> bool:
    one.settimeout(5.0)
    try:
        return one.recv(10) == b""
    except ConnectionError:
        return True


def test_half_sent_heads_keep_nobody_out(service: Service) -> None:
    address = ("127.0.0.1", int(service.url.rpartition(":")[2]))
    halves = [socket.create_connection(address) for _ in range(300)]
    for one in halves:
        one.sendall(b"GET /v1/curves HTTP/1.1\r\nHost:")
    assert status(f"{service.url}/health/live") == 200
    time.sleep(4.0)
    for one in halves:
        assert is_cut(one)
        one.close()
    assert service.log.stat().st_size < 100_000


def test_what_wants_too_much_time_is_told_so(tmp_path: Path) -> None:
    with served(tmp_path / "log", max_running=1, max_run_s=3) as short:
        late = httpx.post(f"{short.url}/v1/cracks/scatter", json=SLOW, timeout=60.0)
        assert (late.status_code, late.json()["type"]) == (503, "urn:toeline:deadline")
        assert status(f"{short.url}{LIFE}") == 200


def test_what_wants_too_much_memory_is_told_so(tmp_path: Path) -> None:
    history = {"history_mpa": [k * 7919 % 1000 + 0.125 for k in range(1_000_000)], "residue": "closed"}
    with served(tmp_path / "log", max_running=1, worker_memory_mib=120) as small:
        large = httpx.post(f"{small.url}/v1/spectrum/cycles", json=history, timeout=60.0)
        assert large.status_code == 503
        assert large.json()["type"] in {"urn:toeline:out-of-memory", "urn:toeline:worker-died"}
        assert status(f"{small.url}{LIFE}") == 200


def test_a_service_that_is_told_to_stop_ends_in_time_and_one_that_is_killed_leaves_nobody(tmp_path: Path) -> None:
    for how in (signal.SIGTERM, signal.SIGKILL):
        with served(tmp_path / how.name, max_running=2, stop_s=3) as running, ThreadPoolExecutor(2) as pool:
            asked = pool.submit(status_of_slow, running.url)
            time.sleep(1.5)
            workers = set(running.children())
            assert workers
            begun = time.monotonic()
            running.process.send_signal(how)
            running.process.wait(15.0)
            assert time.monotonic() - begun < 8.0
            until(lambda left=workers: not left & set(processes()), 10.0)
            assert asked.result() in {0, 500, 503}
