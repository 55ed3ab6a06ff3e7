"""One exchange with the service, with its attempts and waits, free of any input or output.

An exchange is a generator: it yields a `Call` to be sent or a `Pause` to be waited, and is given back the
response or the transport error. The clients only drive it, one by blocking, the other by awaiting.
"""

from __future__ import annotations

import random
import re
import time
from collections.abc import Callable, Generator, Mapping
from dataclasses import dataclass, field
from email.utils import parsedate_to_datetime

import httpx

from fatcore.figures import counted

from .errors import UnreachableError, is_busy, problem_from

# the request was not answered; a read time-out is not among them, since the service may be computing still
RETRIED_ERRORS = (httpx.NetworkError, httpx.RemoteProtocolError, httpx.ConnectTimeout, httpx.PoolTimeout)


@dataclass(frozen=True, slots=True, kw_only=True)
class Call:
    """A request to be sent."""

    method: str
    path: str
    query: Mapping[str, str] = field(default_factory=dict)
    content: bytes | None = None
    headers: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Pause:
    """Seconds to be waited."""

    seconds: float


Exchange = Generator[Call | Pause, "httpx.Response | httpx.TransportError | None", httpx.Response]


@dataclass(frozen=True, slots=True, kw_only=True)
class Retry:
    """When and how long to wait before the next attempt.

    attempts       : how often a request is sent at the most, the first time included
    first_wait_s   : upper bound of the first wait; it doubles with every attempt
    longest_wait_s : upper bound of any wait; a Retry-After beyond it ends the attempts
    random, now    : sources of jitter (0 to 1) and of the time of day [s]; tests give their own
    """

    attempts: int = 4
    first_wait_s: float = 0.5
    longest_wait_s: float = 60.0
    random: Callable[[], float] = random.random
    now: Callable[[], float] = time.time

    def __post_init__(self) -> None:
        if self.attempts < 1:
            raise ValueError("a request needs at least one attempt")

    def wait_s(self, attempt: int, retry_after: str | None = None) -> float | None:
        """Seconds to wait after this attempt (1 is the first); None when no further one is worth it.

        Retry-After is the least wait, and jitter comes on top; without it the wait is drawn between nothing
        and a bound that doubles, so that many clients do not come back together.
        """
        if attempt >= self.attempts:
            return None
        bound = min(self.longest_wait_s, self.first_wait_s * 2.0 ** (attempt - 1))
        asked = self._asked_s(retry_after)
        if asked is None:
            return self.random() * bound
        return None if asked > self.longest_wait_s else asked + self.random() * self.first_wait_s

    def _asked_s(self, retry_after: str | None) -> float | None:
        if retry_after is None:
            return None
        if retry_after.strip().isdecimal():
            return float(retry_after)
        try:
            return max(0.0, parsedate_to_datetime(retry_after).timestamp() - self.now())
        except ValueError:
            return None


def exchange(call: Call, retry: Retry) -> Exchange:
    """Sends a call until it is answered for good, and returns the successful response.

    Raises : ProblemError (BusyError when it stayed busy), UnreachableError
    """
    attempt = 0
    while True:
        attempt += 1
        got = yield call
        if isinstance(got, httpx.Response):
            if got.is_success:
                return got
            busy = is_busy(got.status_code, got.content)
            wait = retry.wait_s(attempt, got.headers.get("retry-after")) if busy else None
            if wait is None:
                raise problem_from(got.status_code, got.content, busy=busy)
        else:
            assert isinstance(got, httpx.TransportError)
            wait = retry.wait_s(attempt) if isinstance(got, RETRIED_ERRORS) else None
            if wait is None:
                raise _unreachable(got, attempt) from got
        yield Pause(wait)


def _unreachable(error: httpx.TransportError, attempts: int) -> UnreachableError:
    what = "no answer in time" if isinstance(error, httpx.TimeoutException) else "no connection"
    text = re.sub(r"^\[Errno -?\d+\] ", "", str(error)) or type(error).__name__
    return UnreachableError(f"{what} after {counted(attempts, 'attempt')}: {text}", attempts)
