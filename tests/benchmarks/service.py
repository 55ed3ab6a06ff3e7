"""The service under load: overhead over the bare framework, light requests beside heavy ones, several workers."""

from __future__ import annotations

import asyncio
import copy
import json
import os
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from itertools import cycle, repeat
from pathlib import Path
from typing import Any

import httpx

from service.base.envelope import calculated, validated
from service.http.tasks import LIGHT_BYTES, LIGHT_S, cost_of
from service.jobs.in_order import cores
from service.topics.registry import load

from .load import Times, loaded, request_bytes, several

Row = tuple[str, float, float, float, float]
EXAMPLES = Path(__file__).parents[2] / "openapi_examples"
LIFE = "/v1/curves/iiw-2016-normal-steel-90/life?stress_range_mpa=100"
SERVE = ("-m", "service", "serve", "--host", "127.0.0.1", "--port")
BARE = ("-m", "uvicorn", "tests.benchmarks.bare:app", "--port")  # a line a request in its log, as ours
NEW = 8_000  # requests of which none is another one: more than are kept


def example(name: str) -> Any:
    """The request of an example."""
    return json.loads((EXAMPLES / f"{name}.json").read_text(encoding="utf-8"))["request"]


@contextmanager
def started(command: Sequence[str], ready: str, more: Sequence[str] = (), **variables: str) -> Iterator[str]:
    """Address of a server in a process of its own; variables: of its environment besides."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        address = f"127.0.0.1:{free.getsockname()[1]}"
    given = [sys.executable, *command, address.rpartition(":")[2], *more]
    environment = {**os.environ, **variables}
    quiet = subprocess.DEVNULL
    with subprocess.Popen(given, stdout=quiet, stderr=quiet, env=environment) as process:
        try:
            _wait_for(f"http://{address}{ready}")
            yield address
        finally:
            process.terminate()


def _wait_for(url: str) -> None:
    for _ in range(600):
        try:
            if httpx.get(url).status_code < 500:
                return
        except httpx.HTTPError:
            pass
        time.sleep(0.1)
    raise AssertionError("the server did not start")


def service(workers: int = 1, **variables: str) -> Any:
    """The service as `toeline serve` starts it."""
    return started(SERVE, "/health/ready", ("--workers", str(workers)), **variables)


def look_ups(path: str) -> list[bytes]:
    """Look-ups at many ranges."""
    return [request_bytes(f"{path}{50.0 + 0.02 * number:.2f}") for number in range(NEW)]


def posts(path: str, request: Any, change: Callable[[Any, int], None]) -> list[bytes]:
    """Many requests that differ in one number."""
    found = []
    for number in range(NEW):
        one = copy.deepcopy(request)
        change(one, number)
        found.append(request_bytes(path, json.dumps(one).encode()))
    return found


def _other_peak(request: Any, number: int) -> None:
    request["peaks_mpa"]["opening"][0] += 1e-3 * number


def _other_check(request: Any, number: int) -> None:
    request["loading"]["factors"]["pull"]["maximum"] += 1e-4 * number


def kinds() -> list[tuple[str, list[bytes], list[bytes], float]]:
    """Name, requests to the service, the same to the echo, and the largest ratio of their times."""
    path = LIFE.rpartition("=")[0] + "="
    peak, check = example("stress/peak-root"), example("check/one-toe-constant")
    return [
        ("curve look-up", look_ups(path), look_ups(path.removeprefix("/v1")), 1.0 / 0.7),
        (
            "small peak-stress request",
            posts("/v1/stress/peak", peak, _other_peak),
            posts("/peak", peak, _other_peak),
            1.0 / 0.7,
        ),
        ("small check", posts("/v1/check", check, _other_check), posts("/check", check, _other_check), 1.0 / 0.4),
    ]


def overhead_rows() -> list[Row]:
    """Time a request and the 99 % quantile against the echo of the framework with the same models.

    A spreadsheet asks the same again and again, a study something new each time: both are measured.
    """
    found: list[Row] = []
    with started(BARE, "/openapi.json") as bare, service() as ours:
        for name, contents, echoed, limit in kinds():
            for words, taken in (("new each time", NEW), ("again and again", 1)):
                one, echo = loaded(ours, contents[:taken]), loaded(bare, echoed[:taken])
                assert one.refused == echo.refused == 0, name
                title = f"{name}, {words}"
                found.append(
                    (f"{title}, ms, against an echo", one.each_ms, echo.each_ms, one.each_ms / echo.each_ms, limit)
                )
                slow, plain = one.quantile_ms(0.99), echo.quantile_ms(0.99)
                found.append((f"{title}, 99 % within ms, against the echo", slow, plain, slow / plain, 2.0))
    return found


def lane_rows() -> list[Row]:
    """Light answers, each a new one, while every worker computes and a hundred heavy requests wait."""
    section = json.dumps(example("stress/section-bracket-one-side")).encode()
    heavy, light = request_bytes("/v1/stress/section", section), look_ups(LIFE.rpartition("=")[0] + "=")

    async def run(address: str) -> tuple[Times, Times]:
        waiting = asyncio.create_task(several(address, repeat(heavy), connections=100 + cores(), count=1))
        await asyncio.sleep(1.0)
        quick = await several(address, iter(light), connections=50, count=20)
        return quick, await waiting

    with service(TOELINE_MAX_WAITING="100", TOELINE_MAX_WAIT_S="300") as address:
        quick, slow = asyncio.run(run(address))
    refused = quick.refused + slow.refused
    within = quick.quantile_ms(0.99)
    return [
        ("light, 99 % within ms beside 100 heavy ones that wait, against 50", within, 50.0, within / 50.0, 1.0),
        ("requests refused of 50 light connections and all heavy ones", float(refused), 0.0, float(refused), 0.0),
    ]


def worker_rows() -> list[Row]:
    """Two server processes against one, by small checks, each a new one."""
    contents = posts("/v1/check", example("check/one-toe-constant"), _other_check)
    with service() as address:
        one = loaded(address, contents, connections=16)
    with service(2) as address:
        two = loaded(address, contents, connections=16)
    return [("two server processes, ms, against one", two.each_ms, one.each_ms, two.each_ms / one.each_ms, 1.0 / 1.7)]


def memory_rows(few: int = 1_000, many: int = 100_000) -> list[Row]:
    """Memory of server and workers after many mixed requests, most of them new ones, against after few."""
    mixed: list[list[bytes]] = [contents for _, contents, _, _ in kinds()]
    mixed.append([request_bytes("/v1/curves/none/life?stress_range_mpa=100")])
    for name in ("spectrum/damage-blocks", "cracks/growth-tabled"):
        shown = json.loads((EXAMPLES / f"{name}.json").read_text(encoding="utf-8"))
        mixed.append([request_bytes(f"/v1/{shown['calculation']}", json.dumps(shown["request"]).encode())])
    given = [cycle(contents) for contents in mixed]
    with service() as address:
        for count in (few, many - few):
            before = _held_mib(address)
            for contents in given:
                asyncio.run(several(address, contents, connections=4, count=count // 4 // len(given)))
        after = _held_mib(address)
    name = f"memory after {many} mixed requests in MiB, against after {few}"
    return [(name, after, before, after / before, 1.1)]


def _held_mib(address: str) -> float:
    """Memory of the process that listens there and of all that it started [MiB]."""
    port = address.rpartition(":")[2]
    held: dict[int, tuple[int, float, str]] = {}
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            status = (folder / "status").read_text(encoding="utf-8")
            command = (folder / "cmdline").read_bytes().replace(b"\0", b" ").decode()
        except OSError:
            continue
        fields = dict(line.split(":", 1) for line in status.splitlines() if ":" in line)
        if "VmRSS" in fields:
            held[int(folder.name)] = (int(fields["PPid"]), int(fields["VmRSS"].split()[0]) / 1024.0, command)
    family = {pid for pid, (_, _, command) in held.items() if f"--port {port}" in command}
    while more := {pid for pid, (parent, _, _) in held.items() if parent in family} - family:
        family |= more
    return sum(held[pid][1] for pid in family)


def cost_rows() -> list[Row]:
    """Seconds estimated against seconds taken: nothing that is answered at once may take long."""
    slowest, of = 0.0, ""
    for path in sorted(EXAMPLES.glob("*/*.json")):
        shown = json.loads(path.read_text(encoding="utf-8"))
        found = load().get(("POST", shown.get("calculation", "")))
        if found is None:
            continue
        if len(json.dumps(shown["request"])) > LIGHT_BYTES:
            continue
        request = validated(found, shown["request"])
        taken = min(_seconds(found, request) for _ in range(3))
        if cost_of(found, request).seconds < LIGHT_S and taken > slowest:
            slowest, of = taken, path.stem
    return [(f"slowest light example, ms, against 10 ({of})", 1e3 * slowest, 10.0, slowest / 1e-2, 1.0)]


def _seconds(calculation: Any, request: Any) -> float:
    begun = time.perf_counter()
    calculated(calculation, request)
    return time.perf_counter() - begun


def rows() -> list[Row]:
    """All of them."""
    return [*cost_rows(), *overhead_rows(), *lane_rows(), *worker_rows(), *memory_rows()]
