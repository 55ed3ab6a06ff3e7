"""The audit log: one line of JSON a calculation, without what was calculated and without the key."""

from __future__ import annotations

import json
import logging
import os
import time
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any

from fatcore import __version__

from ..base.problems import Problem

log = logging.getLogger("toeline")


@dataclass(slots=True, kw_only=True)
class Call:
    """What is known of a request while it is answered.

    request_id   : by which caller and log mean the same request
    team         : None where no key, or none that is known, was sent
    calculation  : its name; None where the address is none of a calculation
    input_digest : of the answer's record; None where no input was accepted
    status       : of the answer, or of the problem in a cell; None where the caller left before it
    """

    request_id: str
    team: str | None = None
    calculation: str | None = None
    input_digest: str | None = None
    status: int | None = None
    began: float = field(default_factory=time.time)
    began_s: float = field(default_factory=time.perf_counter)

    def line(self) -> dict[str, Any]:
        """The fields of its line; the duration is the time until now."""
        return {
            "time": datetime.fromtimestamp(self.began, UTC).isoformat(timespec="milliseconds"),
            "request_id": self.request_id,
            "team": self.team,
            "calculation": self.calculation,
            "input_digest": self.input_digest,
            "version": __version__,
            "outcome": outcome(self.status),
            "status": self.status,
            "duration_s": round(time.perf_counter() - self.began_s, 6),
        }


def outcome(status: int | None) -> str:
    """What became of a request, by the status of its answer.

    >>> [outcome(status) for status in (200, 422, 429, 503, 500, None)]
    ['answered', 'refused', 'busy', 'busy', 'failed', 'left']
    """
    if status is None:
        return "left"
    if status in (429, 503):
        return "busy"
    return "answered" if status < 400 else "refused" if status < 500 else "failed"


class AuditLog:
    """A file to which several processes may append: a line is one write.

    path   : of the file, made for its owner alone where there is none; None keeps no log
    Raises : Problem when the file cannot be opened
    """

    def __init__(self, path: str | None) -> None:
        self._path, self._file, self._cut = path, -1, False
        if path is not None:
            try:
                self._file = _opened(path)
            except OSError as error:
                raise Problem(400, f"the audit log cannot be written: {path}: {error.strerror}") from error

    def write(self, call: Call) -> None:
        """Appends the line of a request; an error is logged, and the answer is given all the same."""
        if self._path is None:
            return
        line = json.dumps(call.line(), separators=(",", ":")).encode() + b"\n"
        try:
            whole = b"\n" * self._cut + line
            self._cut = os.write(self._file, whole) < len(whole)
        except OSError as error:
            log.error("request %s is not in the audit log: %s", call.request_id, error.strerror)
        else:
            if self._cut:
                log.error("request %s is in the audit log in part", call.request_id)

    def reopen(self) -> None:
        """Goes on in a new file where the old one was moved away; where there can be none, in the old one."""
        if self._path is None:
            return
        try:
            new = _opened(self._path)
        except OSError as error:
            log.error("the audit log stays as it was: %s", error.strerror)
            return
        os.close(self._file)
        self._file = new


def _opened(path: str) -> int:
    return os.open(path, os.O_WRONLY | os.O_APPEND | os.O_CREAT | os.O_CLOEXEC, 0o600)
