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
    """Least seconds of three runs each, taken in turns; a machine of one core gains nothing."""
    lines = source()
    timed(lines[:1], 1)
    runs = [(timed(lines, 1), timed(lines, JOBS)) for _ in range(3)]
    if len({content for pair in runs for _, content in pair}) != 1:
        raise AssertionError("another number of processes gave other bytes")
    one, two = (min(pair[which][0] for pair in runs) for which in (0, 1))
    limit = 0.75 if cores() >= JOBS else 1.2
    return [(f"{CHECKS} checks of the bracket, {JOBS} processes against one", two, one, two / one, limit)]
