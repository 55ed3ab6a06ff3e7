"""What runs in a worker process: the work itself, within bounds of memory, and no longer than its server lives."""

from __future__ import annotations

import os
import signal
import sys
import threading
import time
import traceback
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from ..base.problems import Problem
from ..base.rules.active import under
from ..base.rules.policy import Policy

NICENESS = 10  # light requests, which the server answers itself, come first [own choice]
_WATCH_S = 1.0
MIB = 1 << 20
_begun = False


class UnforeseenError(Exception):
    """An error of the service's own in a worker, with its trace as text."""


@dataclass(frozen=True, slots=True)
class Bounds:
    """What a worker may use.

    memory_mib  : memory for the data of one calculation [MiB]
    server      : process that the worker works for; it ends with it
    make_policy : makes the policy that the work obeys, None for none
    """

    memory_mib: int
    server: int
    make_policy: Callable[[], Policy] | None = None


def call(bounds: Bounds, work: Callable[..., Any], *given: Any) -> Any:
    """The result of the work.

    Raises : Problem of the work; Problem 503 when it wanted more memory; UnforeseenError with the trace of any other
    """
    _begin(bounds)
    try:
        with under(None if bounds.make_policy is None else bounds.make_policy()):
            return work(*given)
    except Problem:
        raise
    except MemoryError as error:
        text = f"the calculation wants more memory than one may use here ({bounds.memory_mib} MiB)"
        raise Problem(503, text, kind="urn:toeline:out-of-memory") from error
    except Exception as error:
        raise UnforeseenError("".join(traceback.format_exception(error))) from None


def _begin(bounds: Bounds) -> None:
    global _begun
    if _begun or bounds.server == os.getpid():
        return
    _begun = True
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is meant for the server
    if hasattr(os, "nice"):
        os.nice(NICENESS)
    threading.Thread(target=_end_with, args=(bounds.server,), daemon=True).start()
    _bound_memory(bounds.memory_mib)


def _bound_memory(memory_mib: int) -> None:
    """Bounds what the process may take besides what it holds now; where the system cannot, nothing is bounded."""
    if not sys.platform.startswith("linux"):
        return
    import resource

    with open("/proc/self/statm", encoding="ascii") as stream:
        held = int(stream.read().split()[5]) * resource.getpagesize()
    resource.setrlimit(resource.RLIMIT_DATA, (held + memory_mib * MIB, resource.RLIM_INFINITY))


def _end_with(server: int) -> None:
    while os.getppid() == server:
        time.sleep(_WATCH_S)
    os._exit(1)
