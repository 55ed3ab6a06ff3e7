"""Exit codes of the commands, and which one an exchange with a service ends with."""

from __future__ import annotations

from .errors import ClientError, ProblemError

PASSED, FAILED, BAD_INPUT, UNREACHABLE = 0, 1, 2, 3
NO_ROOM = 4  # an output could not be written since the disk is full; what was there is whole
STOPPED = 130  # by Ctrl-C, as shells number it


def exit_code(error: ClientError) -> int:
    """Exit code of an exchange that failed: 2 when the request was refused, 3 when no answer came."""
    refused = isinstance(error, ProblemError) and error.status < 500 and error.status != 429
    return BAD_INPUT if refused else UNREACHABLE
