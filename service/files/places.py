"""Where a file is written to, and what stands beside it meanwhile."""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

STANDARD = {"stdin": 0, "stdout": 1, "stderr": 2}
_DESCRIPTOR = re.compile(r"/(?:dev|proc/self)/(?:fd/([0-9]{1,9})|(stdin|stdout|stderr))")
_LONGEST_NAME = 40  # characters of the target's name in that of a file beside it: 255 bytes are the most


def target_of(path: Path) -> Path:
    """The file itself, where a path leads to it by links: a link stays a link."""
    return Path(os.path.realpath(path))


def is_stream(path: Path) -> bool:
    """Whether a path is a pipe, a device or an open stream: written to, and neither read back, replaced nor locked."""
    return descriptor_of(path) is not None or (path.exists() and not path.is_file() and not path.is_dir())


def descriptor_of(path: Path) -> int | None:
    """The number of the open stream that a path names, whatever it leads to; None for any other path.

    >>> descriptor_of(Path("/dev/stdout")), descriptor_of(Path("/dev/fd/63")), descriptor_of(Path("/dev/null"))
    (1, 63, None)
    """
    found = _DESCRIPTOR.fullmatch(os.path.abspath(path))
    return None if found is None else int(found[1] or STANDARD[found[2]])


def beside(target: Path, kind: str) -> Path:
    """A hidden file of a target in its folder: of one name for each target and kind, however long its name is.

    >>> beside(Path("out/answers.ndjson"), "lock").name
    '.answers.ndjson.93f32a4f.lock'
    """
    digest = hashlib.sha256(os.fsencode(target.name)).hexdigest()[:8]
    return target.with_name(f".{target.name[:_LONGEST_NAME]}.{digest}.{kind}")


@contextmanager
def naming(path: Path) -> Iterator[None]:
    """What goes wrong with a file beside a target is said of the target, which the user knows."""
    try:
        yield
    except OSError as error:
        raise OSError(error.errno, error.strerror or str(error), str(path)) from error
