"""Writing of files: what was there stays whole until the new content is on the disk."""

from __future__ import annotations

import errno
import os
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from io import FileIO
from pathlib import Path

from .locking import locked
from .places import beside, descriptor_of, is_stream, naming, target_of

# no room: of the disk, of the share of a user, of the length that a file may have
_NO_ROOM = {errno.ENOSPC, errno.EFBIG, getattr(errno, "EDQUOT", errno.ENOSPC)}
_NOT_TO_DISK = {errno.EINVAL, errno.ENOTSUP}  # of what has no disk below it


def lacks_room(error: OSError) -> bool:
    """Whether nothing can be written since there is no room for it."""
    return error.errno in _NO_ROOM


def replace_file(path: Path, content: bytes) -> None:
    """Writes a file whole or not at all: beside it first, to the disk, then in its place.

    A pipe or a device is written to as it is.
    Raises : OSError that names the file; Problem where another run writes it
    """
    replace_by(path, (content,))


def replace_by(path: Path, contents: Iterable[bytes]) -> None:
    """The same of a content in parts, each made when it is asked for."""
    with naming(path):
        if is_stream(path):
            with streaming(path) as write:
                for content in contents:
                    write(content)
            return
        with locked(path):
            _replace(target_of(path), contents)


def _replace(target: Path, contents: Iterable[bytes]) -> None:
    part = beside(target, "part")
    try:
        with FileIO(part, "w") as stream:
            for content in contents:
                write_all(stream, content)
            _keep_rights(target, stream)
            sync(stream.fileno())
        move(part, target)
    finally:
        with suppress(FileNotFoundError):
            part.unlink()


def move(part: Path, target: Path) -> None:
    """Puts a whole file in the place of another one, for good."""
    part.replace(target)
    sync_folder(target.parent)


def write_all(stream: FileIO, content: bytes) -> None:
    """Writes every byte; a system may take some only at a time."""
    left = memoryview(content)
    while left:
        left = left[stream.write(left) :]


def _keep_rights(target: Path, stream: FileIO) -> None:
    """A file keeps who may read and write it."""
    with suppress(FileNotFoundError, AttributeError):  # a new one; a system without
        os.fchmod(stream.fileno(), target.stat().st_mode & 0o7777)


@contextmanager
def streaming(path: Path) -> Iterator[Callable[[bytes], None]]:
    """A function that writes a part to a pipe or a device."""
    number = descriptor_of(path)
    with FileIO(os.open(path, os.O_WRONLY) if number is None else os.dup(number), "w") as stream:
        yield lambda content: write_all(stream, content)


@contextmanager
def appending(path: Path) -> Iterator[Callable[[bytes], None]]:
    """A function that adds a part to a file: on the disk before it returns, and whole or not at all.

    To a pipe or a device it is written as it is.
    """
    if is_stream(path):
        with naming(path), streaming(path) as write:
            yield write
        return
    with naming(path):
        stream = FileIO(path, "a")
        sync_folder(path.parent)
    with stream:

        def append(content: bytes) -> None:
            size = stream.tell()
            with naming(path):
                try:
                    write_all(stream, content)
                    sync(stream.fileno())
                except OSError:
                    with suppress(OSError):
                        stream.truncate(size)
                    raise

        yield append


def sync(handle: int) -> None:
    """Waits until what was written is on the disk."""
    try:
        os.fsync(handle)
    except OSError as error:
        if error.errno not in _NOT_TO_DISK:
            raise


def sync_folder(folder: Path) -> None:
    """Waits until the names in a folder are on the disk; nothing where a system does not open folders."""
    with suppress(PermissionError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            sync(handle)
        finally:
            os.close(handle)
