"""Several workers under one rule: results in the order of the tasks, and only so many under way."""

from __future__ import annotations

import os
import signal
import sys
import threading
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future
from contextlib import AbstractContextManager, contextmanager, nullcontext
from functools import partial
from queue import SimpleQueue
from typing import Any, Protocol, TypeVar

from ..base.problems import Problem
from ..base.rules.active import active_policy, obey_from_now_on
from ..base.rules.policy import Policy

T = TypeVar("T")
R = TypeVar("R")
_Waiting = tuple[Future[Any], Callable[[Any], Any], Any]
MOST_JOBS = 60  # more processes one program cannot wait for on every system
AHEAD = 4  # tasks for each worker that are under way or done and not yet taken: these bound the memory


class Each(Protocol):
    """Like `map`: the results of a function of one argument, in the order of its arguments."""

    def __call__(self, work: Callable[[T], R], tasks: Iterable[T], /) -> Iterator[R]:
        """The results, each when it is asked for or before."""


def several(jobs: int, *, of_server: bool) -> AbstractContextManager[Each]:
    """A function like `map` that works with so many workers; with one it is `map` itself.

    of_server : the work waits for a service, so that threads do; else processes that need a picklable function
    """
    if jobs == 1:
        return nullcontext(map)
    return _threads(jobs) if of_server else _processes(jobs)


def cores() -> int:
    """Cores that this process may use."""
    usable = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    return min(usable, MOST_JOBS)


def in_order(submit: Callable[[T], Future[R]], ahead: int, tasks: Iterable[T]) -> Iterator[R]:
    """The results of submitted tasks in their order; not more than `ahead` of them are held."""
    held: deque[Future[R]] = deque()
    for task in tasks:
        held.append(submit(task))
        if len(held) >= ahead:
            yield held.popleft().result()
    while held:
        yield held.popleft().result()


@contextmanager
def _processes(jobs: int) -> Iterator[Each]:
    # imported here: other commands start without
    import multiprocessing
    from concurrent.futures.process import BrokenProcessPool, ProcessPoolExecutor

    # a copy of this process starts at once; where threads run, a copy could inherit a lock that nobody opens
    copies = sys.platform == "linux" and threading.active_count() == 1
    context = multiprocessing.get_context("fork" if copies else "spawn")
    others = set(multiprocessing.active_children())
    policy = active_policy()
    begin = partial(begin_worker, None if policy is None else policy.maker())
    pool = ProcessPoolExecutor(jobs, mp_context=context, initializer=begin)
    try:
        yield lambda work, tasks: in_order(partial(pool.submit, work), AHEAD * jobs, tasks)
    except BrokenProcessPool as error:
        text = "a process of the run ended by itself, perhaps for want of memory; try it with fewer --jobs"
        raise Problem(500, text) from error
    except BaseException:
        for worker in set(multiprocessing.active_children()) - others:
            worker.terminate()
        raise
    finally:
        pool.shutdown(cancel_futures=True)


def begin_worker(make_policy: Callable[[], Policy] | None = None) -> None:
    """A worker leaves Ctrl-C to the process that started it, ends with that, and obeys its policy."""
    if make_policy is not None:
        obey_from_now_on(make_policy())
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    import multiprocessing

    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


@contextmanager
def _threads(jobs: int) -> Iterator[Each]:
    # not those of an executor: the end of the program waits for them, and so would Ctrl-C for the service
    waiting: SimpleQueue[_Waiting | None] = SimpleQueue()
    stopped = threading.Event()

    def submit(work: Callable[[Any], Any], task: Any) -> Future[Any]:
        future: Future[Any] = Future()
        waiting.put((future, work, task))
        return future

    for _ in range(jobs):
        threading.Thread(target=_serve, args=(waiting, stopped), daemon=True).start()
    try:
        yield lambda work, tasks: in_order(partial(submit, work), AHEAD * jobs, tasks)
    finally:
        stopped.set()
        for _ in range(jobs):
            waiting.put(None)


def _serve(waiting: SimpleQueue[_Waiting | None], stopped: threading.Event) -> None:
    """Works off what waits, until there is None; after the stop nothing more begins."""
    while (given := waiting.get()) is not None:
        future, work, task = given
        if stopped.is_set():
            continue
        try:
            future.set_result(work(task))
        except BaseException as error:
            future.set_exception(error)
