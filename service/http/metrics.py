"""Counters and latencies of the service over all its processes, in the open text exposition format."""

from __future__ import annotations

import asyncio
import os
import time
from collections.abc import AsyncIterator, Iterator
from contextlib import asynccontextmanager, contextmanager
from importlib.util import find_spec
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from starlette.requests import ClientDisconnect

from ..base.problems import Problem
from ..pool.lanes import Lanes

FOLDER = "PROMETHEUS_MULTIPROC_DIR"  # where several processes write what they count; named by the library
BUCKETS_S = (0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 30.0, 60.0, 300.0)
NOT_INSTALLED = "urn:toeline:metrics-not-installed"
_EVERY_S = 1.0


class Metrics:
    """Requests by calculation and status, their latency by calculation and team, and the heavy lane of one process.

    Without the packages of the extra 'metrics' nothing is counted. Where FOLDER is in the environment, the text holds
    what all processes have counted.

    lanes : of this process, whose places and queue are told
    """

    def __init__(self) -> None:
        self.lanes: Lanes | None = None
        self._counters = _Counters() if installed() else None

    @contextmanager
    def timed(self, name: str, team: str = "") -> Iterator[None]:
        """Counts a calculation as running and observes its seconds."""
        if self._counters is None:
            yield
            return
        begin = time.perf_counter()
        self._counters.running.inc()
        try:
            yield
        finally:
            self._counters.running.dec()
            self._counters.of(self._counters.seconds, name, team).observe(time.perf_counter() - begin)

    @contextmanager
    def counted(self, name: str) -> Iterator[None]:
        """Counts a request by how it ends: 200, the status of its problem, or 500; a caller that left not."""
        try:
            yield
        except Problem as problem:
            self.count(name, problem.status, problem.kind)
            raise
        except ClientDisconnect:
            raise
        except Exception:
            self.count(name, 500)
            raise
        self.count(name, 200)

    def count(self, name: str, status: int, kind: str = "") -> None:
        """Adds one finished request; kind: of its problem, which says more than the status."""
        if self._counters is None:
            return
        self._counters.of(self._counters.requests, name, str(status)).inc()
        if status >= 400:
            reason = kind.rpartition(":")[2] if kind.startswith("urn:") else str(status)
            self._counters.of(self._counters.refusals, name, reason).inc()

    def text(self) -> str:
        """All counters as text; Problem 503 without the packages of the extra."""
        if self._counters is None:
            text = (
                "counters need prometheus-client, which is not installed here: install toeline with its extra 'metrics'"
            )
            raise Problem(503, text, kind=NOT_INSTALLED, title="Optional extra not installed")
        self._tell()
        return self._counters.text()

    @asynccontextmanager
    async def told(self) -> AsyncIterator[None]:
        """Writes the state of the heavy lane down every second while the block runs, for other processes to tell."""
        if self._counters is None or FOLDER not in os.environ:
            yield
            return
        task = asyncio.ensure_future(self._tell_often())
        try:
            yield
        finally:
            task.cancel()

    async def _tell_often(self) -> None:
        while True:
            self._tell()
            await asyncio.sleep(_EVERY_S)

    def _tell(self) -> None:
        if self._counters is None or self.lanes is None:
            return
        places = self.lanes.places
        self._counters.places.set(places.count)
        self._counters.taken.set(places.running)
        self._counters.waiting.set(places.waiting)
        self._counters.replaced.set(self.lanes.replaced)


class _Counters:
    """What is counted, each under its name."""

    def __init__(self) -> None:
        from prometheus_client import CollectorRegistry, Counter, Gauge, Histogram, disable_created_metrics

        disable_created_metrics()
        self.registry = CollectorRegistry()
        self._known: dict[tuple[Any, ...], Any] = {}
        own = {"registry": self.registry}
        together = {"multiprocess_mode": "livesum", **own}
        by_end = ["calculation", "status"]
        self.requests = Counter("toeline_requests", "Requests by how they ended.", by_end, **own)
        by_reason = ["calculation", "reason"]
        self.refusals = Counter("toeline_refusals", "Problems by their type, or by status.", by_reason, **own)
        by_team = ["calculation", "team"]
        text = "Seconds from the body of a request to its answer, the wait for a place among them."
        self.seconds = Histogram("toeline_request_seconds", text, by_team, buckets=BUCKETS_S, **own)
        self.running = Gauge("toeline_running", "Requests that are worked on or wait for a place.", **together)
        self.places = Gauge("toeline_pool_places", "Worker processes for heavy calculations.", **together)
        self.taken = Gauge("toeline_pool_running", "Worker processes that compute.", **together)
        self.waiting = Gauge("toeline_pool_waiting", "Heavy requests that wait for a worker process.", **together)
        self.replaced = Gauge("toeline_pool_replaced", "Worker processes that were ended and replaced.", **together)

    def of(self, metric: Any, *labels: str) -> Any:
        """The one with these labels, which the library looks up slowly."""
        key = (metric, *labels)
        if key not in self._known:
            self._known[key] = metric.labels(*labels)
        return self._known[key]

    def text(self) -> str:
        """Everything, of all processes where they write it to a folder."""
        from prometheus_client import CollectorRegistry, generate_latest, multiprocess

        folder = os.environ.get(FOLDER)
        if folder is None:
            return str(generate_latest(self.registry), "utf-8")
        for pid in _gone(Path(folder)):
            multiprocess.mark_process_dead(pid, folder)
        together = CollectorRegistry()
        multiprocess.MultiProcessCollector(together, folder)
        return str(generate_latest(together), "utf-8")


@contextmanager
def counted_together(processes: int) -> Iterator[None]:
    """A folder for the counters of several processes of the server, as long as they run; one needs none."""
    if processes == 1 or FOLDER in os.environ:
        yield
        return
    with TemporaryDirectory(prefix="toeline-counters-", ignore_cleanup_errors=True) as folder:
        os.environ[FOLDER] = folder
        try:
            yield
        finally:
            del os.environ[FOLDER]


def installed() -> bool:
    """Whether the packages of the extra 'metrics' are there."""
    return find_spec("prometheus_client") is not None


def _gone(folder: Path) -> set[int]:
    """Processes that have left their state behind but run no more."""
    written = {int(path.stem.rpartition("_")[2]) for path in folder.glob("gauge_live*_*.db")}
    return {pid for pid in written if not _runs(pid)}


def _runs(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    except PermissionError:  # of another user
        return True
    return True
