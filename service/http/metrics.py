"""Counters of the running process in the open text exposition format."""

from __future__ import annotations

import threading
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager

from starlette.requests import ClientDisconnect

from ..base.problems import Problem


class Metrics:
    """Requests by calculation and status, and the seconds spent, of one process."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._requests: Counter[tuple[str, int]] = Counter()
        self._seconds: Counter[str] = Counter()
        self.running = 0

    @contextmanager
    def timed(self, name: str) -> Iterator[None]:
        """Counts a calculation as running and adds its seconds."""
        begin = time.perf_counter()
        self.running += 1
        try:
            yield
        finally:
            self.running -= 1
            with self._lock:
                self._seconds[name] += time.perf_counter() - begin  # type: ignore[assignment]

    @contextmanager
    def counted(self, name: str) -> Iterator[None]:
        """Counts a request by how it ends: 200, the status of its problem, or 500; a caller that left not."""
        try:
            yield
        except Problem as problem:
            self.count(name, problem.status)
            raise
        except ClientDisconnect:
            raise
        except Exception:
            self.count(name, 500)
            raise
        self.count(name, 200)

    def count(self, name: str, status: int) -> None:
        """Adds one finished request."""
        with self._lock:
            self._requests[name, status] += 1

    def text(self) -> str:
        """All counters as text."""
        lines = ["# TYPE toeline_requests_total counter"]
        for (name, status), number in sorted(self._requests.items()):
            lines.append(f'toeline_requests_total{{calculation="{name}",status="{status}"}} {number}')
        lines.append("# TYPE toeline_seconds_total counter")
        for name, seconds in sorted(self._seconds.items()):
            lines.append(f'toeline_seconds_total{{calculation="{name}"}} {seconds:.6f}')
        lines += ["# TYPE toeline_running gauge", f"toeline_running {self.running}", ""]
        return "\n".join(lines)
