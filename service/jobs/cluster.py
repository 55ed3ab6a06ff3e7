"""Work by an existing Dask cluster: the results of local work, in its order, whichever worker ends meanwhile."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache, partial
from typing import Any, TypeVar

from fatcore import __version__

from ..base.problems import Problem
from ..base.rules.active import active_policy, under
from ..base.rules.policy import Policy
from .in_order import AHEAD, Each, in_order

T = TypeVar("T")
R = TypeVar("R")
MakePolicy = Callable[[], Policy]
_WAIT_S = 30  # for the scheduler and its first worker, and for a new one where all have ended
_LOOK_S = 5  # between two looks whether anybody works


@contextmanager
def on_cluster(address: str) -> Iterator[Each]:
    """A function like `map` that works on the cluster whose scheduler has this address.

    A worker that ends gives its work to another one; work at which several end is given up.
    Raises : Problem where the cluster cannot be reached, has no worker, or ends
    """
    try:
        from distributed import Client, KilledWorker
    except ImportError as error:
        text = "--dask needs the extra distributed: pip install '.[distributed]' in a clone, and on the workers"
        raise Problem(503, text) from error
    try:
        client = Client(address, timeout=_WAIT_S, set_as_default=False)
        client.wait_for_workers(1, timeout=_WAIT_S)
    except (OSError, ValueError, TimeoutError) as error:
        raise Problem(503, f"the cluster at {address} cannot be reached, or has no worker: {error}") from error
    policy = active_policy()
    make = None if policy is None else policy.maker()
    try:
        with client:
            yield lambda work, tasks: map(_same_version, in_order(_submit(client, make, work), _ahead(client), tasks))
    except KilledWorker as error:
        text = "several workers of the cluster ended at the same item, perhaps for want of memory"
        raise Problem(500, text) from error


def _ahead(client: Any) -> int:
    threads: int = sum(client.nthreads().values())
    return AHEAD * max(1, threads)


def _submit(client: Any, make: MakePolicy | None, work: Callable[[T], R]) -> Callable[[T], Any]:
    # not pure: a task runs again in every run, and is not told by its content
    return lambda task: _Awaited(client, client.submit(partial(work_there, make, work), task, pure=False))


@dataclass(frozen=True, slots=True)
class _Awaited:
    """Work that is under way; the cluster itself would wait for ever for workers that do not come back."""

    client: Any
    future: Any

    def result(self) -> Any:
        """Its result; Problem where no worker is left."""
        waited_s = 0
        while True:
            try:
                return self.future.result(timeout=_LOOK_S)
            except TimeoutError:
                if self.future.done():  # it is the work itself that says so
                    raise
            waited_s = 0 if self.client.nthreads() else waited_s + _LOOK_S
            if waited_s >= _WAIT_S:
                text = f"every worker of the cluster has ended, and no other came within {_WAIT_S} s"
                raise Problem(503, f"{text}: look at their logs, then resume")


def work_there(make: MakePolicy | None, work: Callable[[T], R], task: T) -> tuple[str, R]:
    """Version and result of a task, on a worker; it obeys the policy of who asked."""
    with under(None if make is None else _made(make.func, *make.args)):  # type: ignore[attr-defined]
        return __version__, work(task)


@lru_cache(maxsize=4)
def _made(remake: Callable[[bytes], Policy], text: bytes) -> Policy:
    return remake(text)


def _same_version(found: tuple[str, R]) -> R:
    version, result = found
    if version != __version__:
        raise Problem(500, f"a worker of the cluster has toeline {version}, this is {__version__}: install the same")
    return result
