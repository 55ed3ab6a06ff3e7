"""SIGHUP: keys are read again and the audit log goes on in a new file, in every process of the server."""

from __future__ import annotations

import asyncio
import logging
import os
import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from socket import socket

from uvicorn import Config
from uvicorn.supervisors.multiprocess import Multiprocess

from ..base.problems import Problem
from .keys_file import MAX_BYTES, unreadable

log = logging.getLogger("toeline")


@contextmanager
def on_hangup(reload: Callable[[], None]) -> Iterator[None]:
    """Calls a function on SIGHUP while the block runs, where the system and this thread have signals."""
    loop = asyncio.get_running_loop()
    try:
        loop.add_signal_handler(signal.SIGHUP, reload)
    except (AttributeError, NotImplementedError, RuntimeError, ValueError):
        yield
        return
    try:
        yield
    finally:
        loop.remove_signal_handler(signal.SIGHUP)


def copy_keys(path: str, target: str, check: Callable[[str], object]) -> None:
    """Copies a file of keys that passes a check, so that processes that start later read what the others have read.

    check  : of a path; what it refuses leaves the target as it was
    Raises : Problem that names the file
    """
    new = f"{target}.new"
    try:
        with Path(path).open("rb") as file:
            Path(new).write_bytes(file.read(MAX_BYTES + 1))
        check(new)
    except OSError as error:
        raise unreadable(path, error) from error
    except Problem as problem:
        raise Problem(problem.status, problem.detail.replace(new, path)) from problem
    os.replace(new, target)


class Processes(Multiprocess):
    """The processes of the server; SIGHUP goes on to each of them, where it would start them all anew else.

    renew : what they read, before they do; a Problem of it is logged, and they read what was there before
    """

    def __init__(self, config: Config, sockets: list[socket], renew: Callable[[], None]) -> None:
        super().__init__(config, sockets)
        self._renew = renew

    def handle_hup(self) -> None:
        """Passes SIGHUP on: work that is under way goes on, and a broken file changes nothing.

        A process that is still starting ends by it, and the one in its place reads the new keys.
        """
        try:
            self._renew()
        except Problem as problem:
            log.error("the keys stay as they were: %s", "; ".join(problem.lines()))
        for process in self.processes:
            if process.pid is not None:
                os.kill(process.pid, signal.SIGHUP)
