"""The whole check of a bracket-size model under histories, against a straightforward loop over stations."""

from __future__ import annotations

import json
import os
import resource
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import httpx
import numpy as np

from fatcore.check.complete import CheckOutcome, check_lines
from fatcore.check.line import Mesh, Notch, WeldLine
from fatcore.check.loading import BlockLoading, HistoryLoading
from fatcore.check.several import check_lines_apart
from fatcore.check.strength.resistance import Resistance, Target
from fatcore.curves.standards import catalogue
from fatcore.require import FloatArray
from fatcore.spectrum.counting import engine
from fatcore.stress.peak.peak_weights import peak_weights
from service.topics.check.models import CheckRequest
from service.topics.check.routes import lines_and_loading
from service.topics.check.settings import settings_of, target_of

from .load import loaded, request_bytes

BRACKET = Path(__file__).parents[2] / "openapi_examples" / "check" / "bracket-hanger.json"
LINES, STATIONS, CHANNELS, SAMPLES = 10, 200, 3, 100_000
ROOT = Notch(kind="root", opening_angle_deg=0.0, notch_size_mm=5.0)
MESH = Mesh(element="quad4", element_size_mm=0.3)


def bracket_size() -> tuple[list[WeldLine], HistoryLoading]:
    """Invented lines and invented band-limited channels, seeded."""
    rng = np.random.default_rng(7)
    cases = [f"channel {number}" for number in range(CHANNELS)]
    lines = [
        WeldLine(
            name=f"line {number}",
            position_mm=np.arange(STATIONS) * 0.75,
            cases={case: rng.normal(size=(STATIONS, 3)) * [10.0, 2.0, 2.0] for case in cases},
            notch=ROOT,
            mesh=MESH,
        )
        for number in range(LINES)
    ]
    spectrum = 1.0 / (1.0 + (np.arange(SAMPLES // 2 + 1) / 2_000.0) ** 4)
    channels = {case: np.fft.irfft(np.fft.rfft(rng.normal(size=SAMPLES)) * spectrum, SAMPLES) for case in cases}
    return lines, HistoryLoading(channels=channels)


def checked(lines: list[WeldLine], loading: HistoryLoading) -> CheckOutcome:
    """The check on the pair of peak-stress curves."""
    pair = Resistance(
        rule="biaxiality",
        curve=catalogue.find_curve("peak-stress-opening"),
        shear_curve=catalogue.find_curve("peak-stress-shear"),
    )
    return check_lines(lines, loading, pair, Target())


def loop(lines: list[WeldLine], loading: HistoryLoading, stations: int) -> float:
    """Seconds a station of a plain loop: superpose, count the governing mode sample by sample with a list."""
    weights = peak_weights(opening_angle_deg=0.0, element="quad4", element_size_mm=0.3, notch_size_mm=5.0).as_array()
    channels = np.stack(list(loading.channels.values()))
    start = time.perf_counter()
    for station in range(stations):
        unit = np.stack([lines[0].cases[case][station] for case in loading.channels], axis=-1)
        history = unit @ channels
        governing = int(np.argmax(np.ptp(history * weights[:, None], axis=1)))
        _count(history[governing])
    return (time.perf_counter() - start) / stations


def _count(values: FloatArray) -> list[tuple[float, float]]:
    stack: list[float] = []
    found = []
    for value in values.tolist():
        stack.append(value)
        while len(stack) >= 3:
            newest, last = abs(stack[-1] - stack[-2]), abs(stack[-2] - stack[-3])
            if newest < last:
                break
            if len(stack) == 3:
                found.append((last, 0.5))
                stack.pop(0)
            else:
                found.append((last, 1.0))
                del stack[-3:-1]
    return found


def _seconds(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def bracket_core() -> tuple[Callable[[], object], Callable[[], object]]:
    """The check of the example of twelve lines and three blocks, and its sums by bare arrays without findings."""
    example = json.loads(BRACKET.read_text(encoding="utf-8"))["request"]
    request = CheckRequest.model_validate(example)
    lines, loading = lines_and_loading(request)
    assert isinstance(loading, BlockLoading)
    settings, target = settings_of(request), target_of(request)
    floor = _floor(lines, loading)
    return lambda: check_lines_apart(lines, loading, settings, target), floor


def _floor(lines: list[WeldLine], loading: BlockLoading) -> Callable[[], object]:
    """Equivalent ranges and damage of the blocks and of every pair of their states, nothing chosen or said."""
    unit = np.concatenate([np.stack([line.cases[name] for name in loading.names()], axis=-1) for line in lines])
    states = np.concatenate(loading.states())
    first, second = np.triu_indices(len(states), 1)
    counts = np.ones(first.size)
    opening, shear = (catalogue.find_curve(f"peak-stress-{kind}") for kind in ("opening", "shear"))

    def run() -> object:
        stress = np.einsum("nmk,bk->nbm", unit, states)
        energy = np.square(stress[:, first] - stress[:, second])
        equivalent = np.sqrt(energy.sum(axis=-1))
        each = [
            equivalent ** curve.slopes[0] * 10.0 ** -curve.log10_constants[0] * counts for curve in (opening, shear)
        ]
        return np.maximum(*each).sum(axis=-1)

    return run


def least(work: Callable[[], object], times: int = 40) -> float:
    """Milliseconds of the fastest of some runs."""
    work()
    return 1e3 * min(_seconds(work) for _ in range(times))


@contextmanager
def served() -> Iterator[str]:
    """Host and port of the service in a process of its own, with one process that computes what is heavy."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [sys.executable, "-m", "service", "serve", "--host", "127.0.0.1", "--port", str(port)]
    quiet, one = subprocess.DEVNULL, {**os.environ, "TOELINE_MAX_RUNNING": "1"}
    with subprocess.Popen(command, stdout=quiet, stderr=quiet, env=one) as process:
        try:
            _wait_until_ready(f"127.0.0.1:{port}")
            yield f"127.0.0.1:{port}"
        finally:
            process.terminate()


def _wait_until_ready(address: str) -> None:
    for _ in range(300):
        try:
            httpx.get(f"http://{address}/health/ready").raise_for_status()
        except httpx.HTTPError:
            time.sleep(0.1)
        else:
            return
    raise AssertionError("the service did not start")


def over_http(body: bytes) -> tuple[float, float]:
    """Milliseconds a check: of one caller who asks one after the other, and of four who ask at once."""
    contents = [request_bytes("/v1/check", body)]
    with served() as address:
        found = [loaded(address, contents, connections=count, count=200 // count) for count in (1, 4)]
    if any(each.refused for each in found):
        raise AssertionError("a check was refused")
    return 1e3 * min(found[0].seconds), found[1].each_ms


def bracket_rows() -> list[tuple[str, float, float, float, float]]:
    """Twelve lines in at most 15 ms, three of them 200 times a second, in ms; over HTTP 100 times a second."""
    core, floor = bracket_core()
    example = json.loads(BRACKET.read_text(encoding="utf-8"))["request"]
    three = {**example, "lines": example["lines"][::4]}
    request = CheckRequest.model_validate(three)
    lines, loading = lines_and_loading(request)
    settings, target = settings_of(request), target_of(request)
    small = least(lambda: check_lines_apart(lines, loading, settings, target))
    alone, together = over_http(json.dumps(three).encode())
    twelve, bare = least(core), least(floor)
    return [
        ("bracket of 12 lines, 3 blocks, core, ms, against 15", twelve, 15.0, twelve / 15.0, 1.0),
        ("the same against bare arrays without findings, ms", twelve, bare, twelve / bare, 60.0),
        ("3 lines, 3 blocks, core, ms, against 5", small, 5.0, small / 5.0, 1.0),
        (
            "3 lines, 3 blocks, HTTP, one worker, four callers, ms each, against 10",
            together,
            10.0,
            together / 10.0,
            1.0,
        ),
        ("the fastest of one caller, ms, against 10", alone, 10.0, alone / 10.0, 1.0),
    ]


def rows() -> list[tuple[str, float, float, float, float]]:
    """Plain and fast engine, 2,000 stations; limits of 60 s and 10 s, and of 1 GiB."""
    found = bracket_rows()
    lines, loading = bracket_size()
    straight = loop(lines, loading, 5) * LINES * STATIONS
    with engine.using("plain"):
        plain = _seconds(lambda: checked(lines, loading))
    with engine.using("fast"):
        checked(lines[:1], HistoryLoading(channels={c: v[:100] for c, v in loading.channels.items()}))
        fast = _seconds(lambda: checked(lines, loading))
    size = f"{LINES * STATIONS} stations x {SAMPLES} samples x {CHANNELS} channels"
    gibibytes = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2**20
    return [
        *found,
        (f"{size}, plain, against 60 s", plain, 60.0, plain / 60.0, 1.0),
        (f"{size}, fast, against 10 s", fast, 10.0, fast / 10.0, 1.0),
        ("the same, plain, against a loop over stations (5 timed)", plain, straight, plain / straight, 1.0),
        ("the same, fast, against the loop", fast, straight, fast / straight, 1.0),
        ("peak memory of the process in GiB, against 1", gibibytes, 1.0, gibibytes, 1.0),
    ]
