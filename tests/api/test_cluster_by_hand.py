"""A cluster without a network: what is sent to it, what comes back, and what is said when it fails."""

from __future__ import annotations

import sys
from collections.abc import Callable
from concurrent.futures import Future
from types import SimpleNamespace
from typing import Any

import pytest

from fatcore import __version__
from service import cli
from service.base.problems import Problem
from service.base.rules.active import active_policy
from service.jobs import cluster


class KilledWorker(Exception):  # noqa: N818 - as the library calls it
    """Several workers ended."""


class Client:
    """A cluster of two workers with three threads that works at once."""

    fails: type[Exception] | None = None
    works = True
    threads: tuple[dict[str, int], ...] = ({"a": 1, "b": 2},)  # one look after the other
    sent: list[Any]

    def __init__(self, address: str, **options: Any) -> None:
        assert options == {"timeout": 30, "set_as_default": False}
        if address == "none":
            raise OSError("no such place")
        Client.sent = []

    def wait_for_workers(self, count: int, timeout: int) -> None:
        assert (count, timeout) == (1, 30)

    def nthreads(self) -> dict[str, int]:
        now, *later = Client.threads
        Client.threads = tuple(later) or (now,)
        return now

    def submit(self, work: Callable[[Any], Any], task: Any, *, pure: bool) -> Future[Any]:
        assert pure is False
        Client.sent.append(task)
        future: Future[Any] = Future()
        if not Client.works:
            return future
        if Client.fails is not None:
            future.set_exception(Client.fails())
        else:
            future.set_result(work(task))
        return future

    def __enter__(self) -> Client:
        return self

    def __exit__(self, *_: object) -> None:
        Client.sent.append("closed")


@pytest.fixture(autouse=True)
def library(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Client, "fails", None)
    monkeypatch.setitem(sys.modules, "distributed", SimpleNamespace(Client=Client, KilledWorker=KilledWorker))


def test_results_come_in_order_and_four_tasks_a_thread_are_under_way() -> None:
    with cluster.on_cluster("tcp://x:1") as each:
        results = each(abs, range(-50, 0))
        assert next(results) == 50
        assert len(Client.sent) == 12
        assert list(results) == list(range(49, 0, -1))
    assert Client.sent[-1] == "closed"


def test_a_worker_obeys_the_policy_of_who_asked() -> None:
    held: Any = SimpleNamespace(digest="d")
    make: Any = SimpleNamespace(func=lambda text: held, args=(b"text",))
    assert cluster.work_there(make, lambda _: active_policy(), 1) == (__version__, held)
    assert cluster.work_there(None, lambda _: active_policy(), 1) == (__version__, None)


def test_a_cluster_that_fails_is_a_problem_of_the_machine(monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(Problem, match="cannot be reached, or has no worker: no such place"), cluster.on_cluster("none"):
        pass
    monkeypatch.setattr(Client, "fails", KilledWorker)
    ended = pytest.raises(Problem, match="several workers of the cluster ended at the same item")
    with ended, cluster.on_cluster("tcp://x:1") as each:
        next(each(abs, [1]))
    monkeypatch.setattr(Client, "fails", None)
    monkeypatch.setattr(cluster, "work_there", lambda make, work, task: ("0.1", work(task)))
    other = pytest.raises(Problem, match=rf"has toeline 0\.1, this is {__version__}")
    with other, cluster.on_cluster("tcp://x:1") as each:
        next(each(abs, [1]))
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(Problem, match="--dask needs the extra distributed"), cluster.on_cluster("x"):
        pass


def test_a_cluster_without_workers_is_given_up_unless_one_comes_back(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cluster, "_LOOK_S", 0.001)
    monkeypatch.setattr(cluster, "_WAIT_S", 0.002)
    monkeypatch.setattr(Client, "__init__", lambda self, address, **options: setattr(Client, "sent", []))
    monkeypatch.setattr(Client, "wait_for_workers", lambda self, count, timeout: None)
    monkeypatch.setattr(Client, "works", False)
    looks: tuple[dict[str, int], ...] = ({"a": 1}, {}, {"a": 1}, {}, {}, {"never": 1})
    monkeypatch.setattr(Client, "threads", looks)
    lost = pytest.raises(Problem, match="every worker of the cluster has ended, and no other came")
    with lost, cluster.on_cluster("tcp://x:1") as each:
        next(each(abs, [1]))
    assert Client.threads == ({"never": 1},)


def test_work_that_says_it_is_late_is_not_taken_for_a_lost_worker(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Client, "fails", TimeoutError)
    with pytest.raises(TimeoutError), cluster.on_cluster("tcp://x:1") as each:
        next(each(abs, [1]))


def test_a_batch_by_a_cluster_is_the_same(
    tmp_path: Any, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    lines = (f'{{"id":{n},"calculation":"sources","input":{{}},"only":"record.version"}}' for n in range(9))
    (tmp_path / "in").write_text("\n".join(lines))
    assert cli.main(["batch", "in", "-o", "here"]) == 0
    assert cli.main(["batch", "in", "-o", "there", "--dask", "tcp://x:1"]) == 0
    assert (tmp_path / "there").read_bytes() == (tmp_path / "here").read_bytes()
    assert cli.main(["batch", "in", "--dask", "x", "--jobs", "2"]) == 2
    assert "--dask goes without --server and --jobs" in capsys.readouterr().err
