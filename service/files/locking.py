"""One run at a time writes a file: a lock file beside it, which a run that was killed gives back as well."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path

from ..base.problems import Problem
from .places import beside, is_stream, naming, target_of

_held: set[Path] = set()  # targets that this process has locked


@contextmanager
def locked(*paths: Path) -> Iterator[None]:
    """Keeps other runs from writing these files, those of this process that write them meanwhile excepted.

    Raises : Problem where another run writes one of them, or two of them are the same; OSError for a folder that
             is not there or may not be written to
    """
    targets = [target_of(path) for path in paths if not is_stream(path)]
    twice = [target for target in targets if targets.count(target) > 1]
    if twice:
        raise Problem(422, f"{twice[0]} is named for two outputs")
    with ExitStack() as stack:
        for target in targets:
            if target not in _held:
                stack.enter_context(_alone(target))
        yield


@contextmanager
def _alone(target: Path) -> Iterator[None]:
    path = beside(target, "lock")
    with naming(target):
        handle = _acquire(path, target)
    _held.add(target)
    try:
        yield
    finally:
        _held.discard(target)
        with suppress(OSError):  # some systems do not remove what is open
            path.unlink()
        os.close(handle)


def _acquire(path: Path, target: Path) -> int:
    while True:
        handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o666)
        try:
            _lock(handle)
            if _is_still_there(handle, path):
                return handle
        except BlockingIOError:
            os.close(handle)
            raise Problem(422, f"{target} is being written by another run; wait for its end") from None
        except BaseException:
            os.close(handle)
            raise
        os.close(handle)  # the run before removed it between opening and locking


def _is_still_there(handle: int, path: Path) -> bool:
    try:
        return os.path.samestat(os.fstat(handle), path.stat())
    except FileNotFoundError:
        return False


if sys.platform == "win32":  # pragma: no cover - of another system
    import msvcrt

    def _lock(handle: int) -> None:
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except OSError as error:
            raise BlockingIOError(*error.args) from error

else:
    import fcntl

    def _lock(handle: int) -> None:
        # of this process alone: workers do not keep it when the process is killed
        try:
            fcntl.lockf(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except PermissionError as error:  # what some systems say of a lock that another process has
            raise BlockingIOError(*error.args) from error
