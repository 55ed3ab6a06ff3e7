"""Which policy holds: that of a `with` block or of a request of the service, else that of the process; None without."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import Context, ContextVar
from typing import ParamSpec, TypeVar

from .policy import Policy

P = ParamSpec("P")
T = TypeVar("T")
_held: ContextVar[tuple[Policy | None] | None] = ContextVar("policy", default=None)
_of_process: list[Policy | None] = [None]  # also for threads and contexts that know nothing of the one who began them


def active_policy() -> Policy | None:
    """The policy that holds here and now."""
    held = _held.get()
    return _of_process[-1] if held is None else held[0]


@contextmanager
def under(policy: Policy | None) -> Iterator[None]:
    """What is calculated in this context within the block obeys the policy, and no other one; None: none."""
    token = _held.set((policy,))
    try:
        yield
    finally:
        _held.reset(token)


@contextmanager
def process_under(policy: Policy | None) -> Iterator[None]:
    """Every calculation of this process within the block obeys the policy, where no context has another one."""
    _of_process.append(policy)
    try:
        yield
    finally:
        _of_process.pop()


def run_apart(work: Callable[P, T], *given: P.args, **named: P.kwargs) -> T:
    """What work returns in a context of its own, which knows of the one here no more than its policy."""
    policy = active_policy()

    def obeying() -> T:
        with under(policy):
            return work(*given, **named)

    return Context().run(obeying)


def obey_from_now_on(policy: Policy | None) -> None:
    """A process that works for another one obeys its policy until it ends."""
    _of_process[-1] = policy
