"""Several workers: the same bytes whatever their number, in order, bounded, and gone after a stop."""

from __future__ import annotations

import json
import multiprocessing
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from concurrent.futures import Future
from pathlib import Path
from typing import Any

import pytest

from service.base.problems import Problem
from service.batch import file as batch_file
from service.cli import main
from service.client.client import Client
from service.jobs import in_order as jobs

EXAMPLE = Path(__file__).parents[2] / "openapi_examples/check/one-toe-constant.json"
CHECK: dict[str, Any] = json.loads(EXAMPLE.read_text())["request"]
CURVE = "peak-stress-opening"


@pytest.fixture(autouse=True)
def importable(monkeypatch: pytest.MonkeyPatch) -> None:
    """A process that is started anew looks for the package by its path alone, which `pytest` does not set."""
    monkeypatch.syspath_prepend(str(Path(__file__).parents[2]))


def item(number: Any, curve: str = CURVE) -> bytes:
    data = {"id": number, "calculation": "curves/life", "input": {"curve": curve, "stress_range_mpa": [80.0]}}
    return json.dumps(data).encode()


def mixed() -> bytes:
    """Good items, a refused one, ids that are taken or no ids, and a line that is no JSON."""
    lines = [item(n) for n in range(45)]
    lines[3], lines[7], lines[30], lines[40] = item(3, "none-such"), item(2), item(5), b"{"
    return b"\n".join([*lines, item(True), item(None), item("x"), item(44)]) + b"\n"


def run(*words: str, folder: Path) -> subprocess.CompletedProcess[bytes]:
    command = [sys.executable, "-m", "service", *words]
    root = str(Path(__file__).parents[2])
    return subprocess.run(command, cwd=folder, env={**os.environ, "PYTHONPATH": root}, capture_output=True, timeout=300)


# --- the rule


def test_results_come_in_order_and_only_so_many_are_held() -> None:
    started: list[int] = []
    taken = 0

    def submit(task: int) -> Future[int]:
        started.append(task)
        assert len(started) - taken <= 3
        future: Future[int] = Future()
        future.set_result(10 * task)
        return future

    for result in jobs.in_order(submit, 3, range(8)):
        assert result == 10 * taken
        taken += 1
    assert taken == 8


def test_one_worker_is_map_itself() -> None:
    with jobs.several(1, of_server=False) as each:
        assert each is map
    assert 1 <= jobs.cores() <= jobs.MOST_JOBS


def test_threads_work_at_once_but_no_more_than_asked_for() -> None:
    meet, lock = threading.Barrier(3, timeout=30.0), threading.Lock()
    running, most = 0, 0

    def work(task: int) -> int:
        nonlocal running, most
        with lock:
            running += 1
            most = max(most, running)
        meet.wait()
        with lock:
            running -= 1
        return -task

    with jobs.several(3, of_server=True) as each:
        assert list(each(work, range(9))) == [-task for task in range(9)]
    assert most == 3


def test_what_a_thread_raises_stands_at_its_place_and_no_further_task_begins() -> None:
    begun: list[int] = []
    hold = threading.Event()

    def work(task: int) -> int:
        begun.append(task)
        if task == 1:
            raise OSError("lost")
        if task > 1:
            hold.wait(30.0)
        return task

    def all_of_them() -> Iterator[int]:
        with jobs.several(2, of_server=True) as each:
            yield from each(work, range(20))

    results = all_of_them()
    assert next(results) == 0
    with pytest.raises(OSError, match="lost"):
        next(results)
    hold.set()
    time.sleep(0.1)
    assert len(begun) <= 4


def test_processes_answer_in_order() -> None:
    with jobs.several(2, of_server=False) as each:
        assert list(each(abs, [-n for n in range(20)])) == list(range(20))


def test_a_process_that_ends_by_itself_is_a_problem_in_words() -> None:
    with pytest.raises(Problem, match="fewer --jobs"), jobs.several(2, of_server=False) as each:
        list(each(os._exit, [1]))


def test_a_stop_does_not_wait_for_what_is_under_way() -> None:
    def stopped() -> None:
        with jobs.several(2, of_server=False) as each:
            next(each(time.sleep, [0.0, *[600.0] * 7]))
            raise KeyboardInterrupt

    started = time.monotonic()
    with pytest.raises(KeyboardInterrupt):
        stopped()
    assert time.monotonic() - started < 120.0


def test_a_worker_leaves_the_stop_to_its_parent_and_ends_with_it(monkeypatch: pytest.MonkeyPatch) -> None:
    ended = threading.Event()
    codes: list[int] = []
    handled: list[tuple[int, Any]] = []

    def ends(code: int) -> None:
        codes.append(code)
        ended.set()

    class Parent:
        def join(self) -> None:
            """The parent has ended."""

    monkeypatch.setattr(signal, "signal", lambda number, how: handled.append((number, how)))
    monkeypatch.setattr(multiprocessing, "parent_process", Parent)
    monkeypatch.setattr(os, "_exit", ends)
    jobs.begin_worker()
    assert ended.wait(30.0)
    assert (codes, handled) == ([1], [(signal.SIGINT, signal.SIG_IGN)])


# --- batch


@pytest.mark.parametrize("number", ["2", "0"])
def test_a_batch_has_the_same_bytes_and_is_resumed_to_them(tmp_path: Path, number: str) -> None:
    (tmp_path / "in.ndjson").write_bytes(mixed())
    assert run("batch", "in.ndjson", "-o", "one.ndjson", folder=tmp_path).returncode == 1
    whole = (tmp_path / "one.ndjson").read_bytes()
    assert whole.count(b"\n") == 49
    assert whole.count(b"is taken by an item before") == 3
    several = run("batch", "in.ndjson", "--jobs", number, folder=tmp_path)
    assert (several.returncode, several.stdout) == (1, whole)
    (tmp_path / "two.ndjson").write_bytes(whole[: len(whole) // 2])
    again = run("batch", "in.ndjson", "-o", "two.ndjson", "--jobs", number, folder=tmp_path)
    assert (again.returncode, (tmp_path / "two.ndjson").read_bytes()) == (1, whole)


def test_a_service_is_asked_several_times_at_once(
    tmp_path: Path, base_url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(batch_file, "LINES_A_REQUEST", 4)
    Path("in.ndjson").write_bytes(mixed())
    assert main(["batch", "in.ndjson", "-o", "one.ndjson", "--server", base_url]) == 1
    assert main(["batch", "in.ndjson", "-o", "two.ndjson", "--server", base_url, "--jobs", "3"]) == 1
    here = b"".join(line.content for line in batch_file.local_answers(mixed().splitlines(), set()))
    assert Path("two.ndjson").read_bytes() == Path("one.ndjson").read_bytes() == here


def children(process: int) -> list[int]:
    return [int(word) for word in Path(f"/proc/{process}/task/{process}/children").read_text().split()]


def alive(process: int) -> bool:
    try:
        return "\nState:\tZ" not in Path(f"/proc/{process}/status").read_text()
    except OSError:
        return False


def stopped_by_the_signal() -> None:
    """What runs in the background of a shell ignores the signal, and so would its children."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="the processes are looked up in /proc")
@pytest.mark.parametrize("sign", [signal.SIGINT, signal.SIGKILL])
def test_a_stopped_batch_leaves_no_process_and_is_resumed(tmp_path: Path, sign: signal.Signals) -> None:
    given, target = tmp_path / "in.ndjson", tmp_path / "out.ndjson"
    lines = [item(n) for n in range(20_000)]
    given.write_bytes(b"\n".join(lines))
    command = [sys.executable, "-m", "service", "batch", str(given), "-o", str(target), "--jobs", "2"]
    running = subprocess.Popen(command, stderr=subprocess.PIPE, preexec_fn=stopped_by_the_signal)
    deadline = time.monotonic() + 120.0
    while (not target.exists() or target.stat().st_size < 20_000) and time.monotonic() < deadline:
        time.sleep(0.01)
    workers = children(running.pid)
    assert len(workers) == 2
    running.send_signal(sign)
    _, said = running.communicate(timeout=120.0)
    if sign == signal.SIGINT:
        assert (running.returncode, said) == (130, b"toeline: stopped\n")
    deadline = time.monotonic() + 60.0
    while any(map(alive, workers)) and time.monotonic() < deadline:
        time.sleep(0.05)
    assert not any(map(alive, workers))
    done = target.read_bytes().count(b"\n")
    assert 0 < done < len(lines)
    given.write_bytes(b"\n".join(lines[: done + 5]))
    assert main(["batch", str(given), "-o", str(target)]) == 0
    ids = [json.loads(line)["id"] for line in target.read_bytes().splitlines()]
    assert ids == list(range(done + 5))


def test_a_stop_has_a_code_of_its_own(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def stopped(*_: Any) -> None:
        raise KeyboardInterrupt

    (tmp_path / "in.ndjson").write_bytes(item(1))
    monkeypatch.setattr(batch_file, "answer_line", stopped)
    assert main(["batch", str(tmp_path / "in.ndjson")]) == 130
    assert capsys.readouterr().err == "toeline: stopped\n"


# --- gate


@pytest.fixture
def models(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Five checks, one of them refused, one no JSON."""
    monkeypatch.chdir(tmp_path)
    folder = tmp_path / "models"
    folder.mkdir()
    for number in range(5):
        target = {**CHECK.get("target", {}), "repeats": 1.0 + number}
        content = {**CHECK, "target": target} if number != 3 else {**CHECK, "loading": {"kind": "none"}}
        (folder / f"{number}.json").write_text(json.dumps(content))
    (folder / "broken.json").write_text("{")
    return tmp_path


def test_a_gate_has_the_same_result(models: Path) -> None:
    options = ("gate", "models", "--json", "--junit", "j.xml", "--markdown", "m.md")
    one = run(*options, folder=models)
    files = [Path(name).read_bytes() for name in ("j.xml", "m.md")]
    several = run(*options, "--jobs", "2", folder=models)
    assert (several.returncode, several.stdout) == (one.returncode, one.stdout)
    assert one.returncode == 2
    assert [Path(name).read_bytes() for name in ("j.xml", "m.md")] == files


def test_a_gate_asks_a_service_several_times_at_once(
    models: Path, base_url: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["gate", "models", "--json"]) == 2
    here = capsys.readouterr().out
    assert main(["gate", "models", "--json", "--server", base_url, "--jobs", "3"]) == 2
    assert capsys.readouterr().out == here


def test_a_service_that_is_gone_gives_the_same_words(
    models: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    defaults = {**Client.__init__.__kwdefaults__, "sleep": lambda _: None}
    monkeypatch.setattr(Client.__init__, "__kwdefaults__", defaults)
    shown = []
    for number in ("1", "3"):
        assert main(["gate", "models", "--server", "http://127.0.0.1:9", "--jobs", number]) == 3
        shown.append(capsys.readouterr().out)
    assert shown[0] == shown[1]
    assert "models/1.json: not calculated" in shown[0]


@pytest.mark.parametrize("number", ["-1", "61"])
@pytest.mark.parametrize("command", ["batch", "gate"])
def test_a_number_of_workers_that_cannot_be_is_refused(
    models: Path, command: str, number: str, capsys: pytest.CaptureFixture[str]
) -> None:
    (models / "in.ndjson").write_bytes(item(1))
    given = {"batch": "in.ndjson", "gate": "models"}[command]
    assert main([command, given, f"--jobs={number}"]) == 2
    assert "--jobs takes a whole number from 0 (all cores) to 60" in capsys.readouterr().err
