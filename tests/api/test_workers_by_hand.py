"""Workers and batches without processes or a network: how many are under way, what a request holds, what is counted."""

from __future__ import annotations

import concurrent.futures.process
import json
import multiprocessing
import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from fatcore import __version__
from service.base.problems import Problem
from service.batch.file import Count, answered_before, answers_of_server, parts, resume
from service.client.errors import AnswerError
from service.http.batch import AnswerLine, line_item
from service.jobs import in_order as jobs

# workers


def counted(tasks: Sequence[int], taken: list[int]) -> Iterator[int]:
    for task in tasks:
        taken.append(task)
        yield task


def test_four_tasks_a_thread_are_under_way_before_the_first_result_is_taken() -> None:
    taken: list[int] = []
    with jobs.several(3, of_server=True) as each:
        assert each is not map
        results = each(abs, counted(range(50), taken))
        assert (next(results), len(taken)) == (0, 12)
        assert (next(results), len(taken)) == (1, 13)


def test_threads_are_as_many_as_asked_for_and_end_with_the_work() -> None:
    before = set(threading.enumerate())
    with jobs.several(3, of_server=True) as each:
        assert list(each(abs, [-1, -2])) == [1, 2]
        begun = set(threading.enumerate()) - before
        assert len(begun) == 3
        assert all(thread.daemon for thread in begun)
    for thread in begun:
        thread.join(30.0)
    assert not any(thread.is_alive() for thread in begun)


class Pool:
    """A pool of processes that works at once, and remembers how it was asked."""

    made: list[Pool]
    ends: bool = False

    def __init__(self, workers: int, *, mp_context: Any, initializer: Callable[[], None]) -> None:
        self.asked = (workers, mp_context.get_start_method(), initializer)
        self.shut: list[bool] = []
        Pool.made.append(self)

    def submit(self, work: Callable[[Any], Any], task: Any) -> Future[Any]:
        if Pool.ends:
            raise concurrent.futures.process.BrokenProcessPool
        future: Future[Any] = Future()
        future.set_result(work(task))
        return future

    def shutdown(self, *, cancel_futures: bool) -> None:
        self.shut.append(cancel_futures)


class Process:
    def __init__(self, name: str, ended: list[str]) -> None:
        self.terminate = lambda: ended.append(name)


@pytest.fixture
def pool(monkeypatch: pytest.MonkeyPatch) -> type[Pool]:
    monkeypatch.setattr(Pool, "made", [], raising=False)
    monkeypatch.setattr(Pool, "ends", False)
    monkeypatch.setattr(concurrent.futures.process, "ProcessPoolExecutor", Pool)
    monkeypatch.setattr(multiprocessing, "active_children", list)
    return Pool


@pytest.mark.parametrize(
    ("platform", "threads", "method"),
    [("linux", 1, "fork"), ("linux", 2, "spawn"), ("darwin", 1, "spawn"), ("win32", 2, "spawn")],
)
def test_processes_are_copies_only_where_no_thread_could_hold_a_lock(
    pool: type[Pool], monkeypatch: pytest.MonkeyPatch, platform: str, threads: int, method: str
) -> None:
    monkeypatch.setattr(sys, "platform", platform)
    monkeypatch.setattr(threading, "active_count", lambda: threads)
    taken: list[int] = []
    with jobs.several(2, of_server=False) as each:
        results = each(abs, counted(range(50), taken))
        assert (next(results), len(taken)) == (0, 8)
    (made,) = pool.made
    count, started_by, begin = made.asked
    assert (count, started_by, begin.func, begin.args) == (2, method, jobs.begin_worker, (None,))
    assert made.shut == [True]


def test_a_stop_ends_the_processes_of_the_run_alone(pool: type[Pool], monkeypatch: pytest.MonkeyPatch) -> None:
    ended: list[str] = []
    one, other, older = (Process(name, ended) for name in ("one", "other", "older"))
    living = [older]
    monkeypatch.setattr(multiprocessing, "active_children", lambda: list(living))

    def stopped() -> None:
        with jobs.several(2, of_server=False):
            living.extend([one, other])
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        stopped()
    assert sorted(ended) == ["one", "other"]
    assert pool.made[0].shut == [True]


def test_a_pool_that_broke_is_a_problem_of_the_machine(pool: type[Pool]) -> None:
    pool.ends = True
    broken = pytest.raises(Problem, match=r"a process of the run ended by itself.*fewer --jobs")
    with broken as problem, jobs.several(2, of_server=False) as each:
        next(each(abs, [1]))
    assert problem.value.status == 500
    assert pool.made[0].shut == [True]


@pytest.mark.parametrize(("usable", "expected"), [(1, 1), (5, 5), (60, 60), (61, 60)])
def test_cores_are_those_of_this_process_up_to_sixty(
    monkeypatch: pytest.MonkeyPatch, usable: int, expected: int
) -> None:
    monkeypatch.setattr(os, "sched_getaffinity", lambda process: range(usable if process == 0 else 99), raising=False)
    assert jobs.cores() == expected


@pytest.mark.parametrize(("count", "expected"), [(3, 3), (None, 1), (99, 60)])
def test_cores_are_those_of_the_machine_where_no_others_are_known(
    monkeypatch: pytest.MonkeyPatch, count: int | None, expected: int
) -> None:
    monkeypatch.delattr(os, "sched_getaffinity", raising=False)
    monkeypatch.setattr(os, "cpu_count", lambda: count)
    assert jobs.cores() == expected


def test_a_worker_waits_for_its_parent_in_a_thread_that_holds_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    begun: list[Any] = []
    monkeypatch.setattr(signal, "signal", lambda *given: begun.append(given))
    monkeypatch.setattr(
        threading, "Thread", lambda **given: SimpleNamespace(start=lambda: begun.append((given["daemon"], given)))
    )
    jobs.begin_worker()
    (handled, (daemon, given)) = begun
    assert handled == (signal.SIGINT, signal.SIG_IGN)
    assert daemon is True
    monkeypatch.setattr(multiprocessing, "parent_process", lambda: None)
    monkeypatch.setattr(os, "_exit", lambda code: begun.append(code))
    given["target"]()
    assert len(begun) == 2


# batches


def test_a_request_holds_twenty_lines() -> None:
    assert [len(part) for part in parts([b"a"] * 41)] == [20, 20, 1]


@pytest.mark.parametrize(("longer", "sizes"), [(0, [1, 2]), (1, [1, 1, 1])])
def test_a_request_holds_eight_mebibytes_with_the_ends_of_its_lines(longer: int, sizes: list[int]) -> None:
    """A line of 4 MiB, its end, and a line of one byte less than 4 MiB; and the same behind a part that was full."""
    half = 4 * 1024 * 1024
    lines = [bytes(2 * half), bytes(half), bytes(half - 1 + longer)]
    assert [len(part) for part in parts(lines)] == sizes
    assert [len(part) for part in parts(lines[1:])] == sizes[1:]


def test_three_lines_count_three_ends() -> None:
    third = (8 * 1024 * 1024 - 2) // 3
    assert [len(part) for part in parts([bytes(third)] * 3)] == [3]
    assert [len(part) for part in parts([bytes(third), bytes(third), bytes(third + 1)])] == [2, 1]


def test_nothing_is_counted_before_something_ends() -> None:
    assert Count() == Count(resumed=0, answered=0, problems=0)
    count = Count()
    for status in (200, 201, 422):
        count.add(status)
    assert count == Count(resumed=0, answered=1, problems=2)


def line(number: Any) -> bytes:
    return json.dumps({"id": number, "calculation": "none", "input": {}}).encode()


def answer_of(number: Any, status: int) -> bytes:
    known: dict[str, Any] = {"item_digest": line_item(line(number)).digest, "version": __version__, "policy": None}
    known["problem" if status != 200 else "value"] = {} if status != 200 else "1"
    return json.dumps({"id": number, "status": status, **known}).encode() + b"\n"


def test_whole_lines_are_kept_and_a_line_cut_short_is_removed(tmp_path: Path) -> None:
    target, source = tmp_path / "out.ndjson", [line("a"), line("b"), line(3)]
    whole = answer_of("a", 200) + answer_of("b", 422)
    target.write_bytes(whole + b'{"id":3')
    assert [entry.said["id"] for entry in answered_before(source, target)] == ["a", "b"]
    assert target.read_bytes() == whole
    target.write_bytes(b'{"id":"a')
    assert answered_before(source, target) == []
    assert target.read_bytes() == b""
    assert answered_before(source, tmp_path / "none") == []


@pytest.mark.parametrize("cut", [b'{"id":"b"', b'{"id":"a","calculation":"none","input":{}}', b"text", b"{}"])
def test_a_file_that_ends_without_a_line_end_and_holds_something_else_is_kept(tmp_path: Path, cut: bytes) -> None:
    target = tmp_path / "out.ndjson"
    target.write_bytes(cut)
    with pytest.raises(Problem, match=r"out.ndjson, line 1: no line of a batch answer; give another output file"):
        answered_before([line("a")], target)
    target.write_bytes(answer_of("a", 200) + cut)
    with pytest.raises(Problem, match="answers of another input: it is longer"):
        answered_before([line("a")], target)
    assert target.read_bytes() == answer_of("a", 200) + cut


@pytest.mark.parametrize("foreign", [b'{"id":1}', b'{"status":200}', b'["id","status"]', b"{"])
def test_a_foreign_line_is_refused_by_its_number_from_one(tmp_path: Path, foreign: bytes) -> None:
    target = tmp_path / "out.ndjson"
    target.write_bytes(foreign + b"\n")
    with pytest.raises(Problem) as refused:
        answered_before([line(1)], target)
    assert refused.value.detail.startswith(f"{target}, line 1: no line of a batch answer: ")
    assert target.read_bytes() == foreign + b"\n"


def test_a_batch_says_how_many_were_done_and_then_each(tmp_path: Path) -> None:
    target = tmp_path / "out.ndjson"
    target.write_bytes(answer_of(0, 200) + answer_of(1, 422))
    given: list[Any] = []

    def answers(lines: Sequence[bytes], used: set[Any]) -> Iterator[AnswerLine]:
        given.append((list(lines), set(used)))
        yield from (AnswerLine(200, b'{"id":9,"status":200}\n') for _ in lines)

    finished: list[int] = []
    source = [line(n) for n in range(4)]
    assert resume(source, target, answers, finished.append) == Count(resumed=2, answered=3, problems=1, bare=2)
    assert finished == [2, 1, 1]
    assert given == [(source[2:], {0, 1})]


class Service:
    """Answers each line with its id; remembers what it was sent."""

    def __init__(self, lose: int = 0) -> None:
        self.sent: list[Any] = []
        self.lose = lose

    def send(self, call: Any) -> SimpleNamespace:
        assert (call.method, call.path) == ("POST", "/v1/batch")
        assert call.headers == {"Content-Type": "application/x-ndjson", "Accept": "application/x-ndjson"}
        ids = [json.loads(each)["id"] for each in call.content.splitlines()]
        self.sent.append(ids)
        kept = ids[: len(ids) - self.lose]
        return SimpleNamespace(content=b"".join(b'{"id":%d,"status":%d}\n' % (n, 200 + n) for n in kept))


def answered(service: Any, source: Sequence[bytes], used: set[Any]) -> list[AnswerLine]:
    return list(answers_of_server(service)(source, used))


def test_a_service_is_sent_what_has_no_answer_and_ids_that_are_taken_are_refused_here() -> None:
    service = Service()
    found = answered(service, [line(n) for n in (*range(22), 3, 30)], {30, 5})
    assert service.sent == [[*range(5), *range(6, 20)], [20, 21]]
    assert [each.status for each in found] == [
        *(200 + n for n in range(5)),
        422,
        *(200 + n for n in range(6, 22)),
        422,
        422,
    ]
    assert found[0].content == b'{"id":0,"status":200}\n'
    assert b"is taken by an item before" in found[-1].content


def test_a_part_of_taken_ids_alone_is_not_sent() -> None:
    service = Service()
    assert [each.status for each in answered(service, [line(1), line(1)], {1})] == [422, 422]
    assert service.sent == []


def test_a_service_that_loses_a_line_is_noticed() -> None:
    with pytest.raises(AnswerError, match=r"^the batch answer has 2 lines for 3 items"):
        answered(Service(lose=1), [line(n) for n in range(3)], set())
