"""Forty checks of the hanger bracket as a batch: two processes against one, with the same bytes."""

from __future__ import annotations

import json
import time
from pathlib import Path

from service.batch.file import local_answers
from service.jobs.in_order import cores, several

CHECKS, JOBS = 40, 2


def source() -> list[bytes]:
    """The check of the example again and again."""
    path = Path(__file__).parents[2] / "openapi_examples/check/bracket-hanger.json"
    request = json.loads(path.read_bytes())["request"]
    return [json.dumps({"id": n, "calculation": "check", "input": request}).encode() for n in range(CHECKS)]


def timed(lines: list[bytes], jobs: int) -> tuple[float, bytes]:
    """Seconds of the batch, the start of the processes among them, and its answer."""
    start = time.perf_counter()
    with several(jobs, of_server=False) as each:
        content = b"".join(line.content for line in local_answers(lines, set(), each))
    return time.perf_counter() - start, content


def rows() -> list[tuple[str, float, float, float, float]]:
    """Seconds of both; a machine of one core gains nothing."""
    lines = source()
    timed(lines[:1], 1)
    one, whole = timed(lines, 1)
    two, content = timed(lines, JOBS)
    if content != whole:
        raise AssertionError("another number of processes gave other bytes")
    limit = 0.75 if cores() >= JOBS else 1.2
    return [(f"{CHECKS} checks of the bracket, {JOBS} processes against one", two, one, two / one, limit)]
