"""Clients of the service: `Client` blocks, `AsyncClient` awaits; both share routes, retries and batches."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Awaitable, Callable, Iterable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from itertools import chain
from typing import Any, Self

import httpx

from fatcore import __version__

from ..base.common import Strict
from .batch import (
    BatchItem,
    BatchResult,
    Progress,
    batch_call,
    batch_items,
    batch_results,
    chunks,
    counter,
    first_of_ids,
    in_order,
)
from .methods import Routes
from .retrying import Call, Exchange, Pause, Retry, exchange
from .routes import AsyncMethod, Method, call_of, plain_envelope, same_policy, value_call

Request = Strict | Mapping[str, Any]


def _options(base_url: str, api_key: str | None, timeout_s: float, transport: Any) -> dict[str, Any]:
    headers = {"User-Agent": f"toeline/{__version__}"}
    if api_key is not None:
        headers["X-API-Key"] = api_key
    return {
        "base_url": base_url,
        "headers": headers,
        "timeout": httpx.Timeout(timeout_s, connect=min(timeout_s, 10.0)),
        "transport": transport,
    }


class Client(Routes):
    """Asks the service and blocks until the answer is there; may be used by several threads.

    base_url  : address of the service, like http://127.0.0.1:8000
    api_key   : sent in the header X-API-Key
    timeout_s : limit of every wait for the service [s]
    retry     : attempts and waits; None takes the defaults
    policy_digest : digest of the policy that every answer must obey, else AnswerError; None takes what comes
    transport : of httpx, for tests or special networks
    sleep     : how a wait is waited

    Every calculation is a method: `client.check(request)`,
    `client.curve_life(curve="...", stress_range_mpa=90.0)`.
    """

    method_type = Method

    def __init__(
        self,
        base_url: str,
        *,
        api_key: str | None = None,
        timeout_s: float = 300.0,
        retry: Retry | None = None,
        policy_digest: str | None = None,
        transport: httpx.BaseTransport | None = None,
        sleep: Callable[[float], object] = time.sleep,
    ) -> None:
        self._http = httpx.Client(**_options(base_url, api_key, timeout_s, transport))
        self._retry, self._sleep, self._policy_digest = retry or Retry(), sleep, policy_digest

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Closes the connections."""
        self._http.close()

    def send(self, call: Call) -> httpx.Response:
        """Sends one call with its retries; for routes that have no method of their own."""
        steps: Exchange = exchange(call, self._retry)
        got: httpx.Response | httpx.TransportError | None = None
        while True:
            try:
                step = steps.send(got)
            except StopIteration as end:
                return same_policy(end.value, self._policy_digest)
            got = self._done(step)

    def _done(self, step: Call | Pause) -> httpx.Response | httpx.TransportError | None:
        try:
            if isinstance(step, Call):
                return self._http.request(**_request(step))
            self._sleep(step.seconds)
            return None
        except httpx.TransportError as error:
            return error

    def calculate(self, name: str, request: Request, method: str = "POST") -> dict[str, Any]:
        """The envelope of any calculation by its name, as plain data."""
        return plain_envelope(self.send(call_of(method, name, request)))

    def value(self, name: str, request: Request, only: str, *, accept_outside: bool = False) -> str:
        """One value of the answer of a POST calculation as text, like `answer.governing.node_id`.

        accept_outside : also where a validity limit is left, which else is answered by `#OUTSIDE:` and its code
        """
        return self.send(value_call(name, request, only, accept_outside=accept_outside)).text

    def text(self, name: str, request: Request, accept: str, method: str = "POST") -> str:
        """The answer in another form: text/csv, or text/html where a calculation has a report."""
        return self.send(call_of(method, name, request, accept=accept)).text

    def batch(
        self,
        items: Iterable[BatchItem | Mapping[str, Any]],
        *,
        concurrency: int = 4,
        chunk: int = 20,
        progress: Progress | None = None,
    ) -> list[BatchResult]:
        """Answers of many items in their order; a problem of one is in its result and does not raise.

        items       : `BatchItem`s or mappings of their fields; a second one of an id is refused
        concurrency : requests under way at the same time
        chunk       : items in one request
        progress    : is called with finished and all items after every request
        """
        listed = batch_items(items)
        parts = chunks(first_of_ids(listed), chunk)
        count = counter(parts, progress)

        def one(part: Sequence[BatchItem]) -> list[BatchResult]:
            results = batch_results(part, self.send(batch_call(part)).content)
            count(len(part))
            return results

        with ThreadPoolExecutor(concurrency) as pool:
            return in_order(listed, chain.from_iterable(pool.map(one, parts)))


class AsyncClient(Routes):
    """The same for asynchronous programs: `await client.check(request)`; arguments as for `Client`."""

    method_type = AsyncMethod

    def __init__(
        self,
        base_url: str,
        *,
        api_key: str | None = None,
        timeout_s: float = 300.0,
        retry: Retry | None = None,
        policy_digest: str | None = None,
        transport: httpx.AsyncBaseTransport | None = None,
        sleep: Callable[[float], Awaitable[object]] = asyncio.sleep,
    ) -> None:
        self._http = httpx.AsyncClient(**_options(base_url, api_key, timeout_s, transport))
        self._retry, self._sleep, self._policy_digest = retry or Retry(), sleep, policy_digest

    async def __aenter__(self) -> Self:
        return self

    async def __aexit__(self, *_: object) -> None:
        await self.close()

    async def close(self) -> None:
        """Closes the connections."""
        await self._http.aclose()

    async def send(self, call: Call) -> httpx.Response:
        """Sends one call with its retries; for routes that have no method of their own."""
        steps: Exchange = exchange(call, self._retry)
        got: httpx.Response | httpx.TransportError | None = None
        while True:
            try:
                step = steps.send(got)
            except StopIteration as end:
                return same_policy(end.value, self._policy_digest)
            got = await self._done(step)

    async def _done(self, step: Call | Pause) -> httpx.Response | httpx.TransportError | None:
        try:
            if isinstance(step, Call):
                return await self._http.request(**_request(step))
            await self._sleep(step.seconds)
            return None
        except httpx.TransportError as error:
            return error

    async def calculate(self, name: str, request: Request, method: str = "POST") -> dict[str, Any]:
        """The envelope of any calculation by its name, as plain data."""
        return plain_envelope(await self.send(call_of(method, name, request)))

    async def value(self, name: str, request: Request, only: str, *, accept_outside: bool = False) -> str:
        """One value of the answer of a POST calculation as text, arguments as for `Client.value`."""
        return (await self.send(value_call(name, request, only, accept_outside=accept_outside))).text

    async def text(self, name: str, request: Request, accept: str, method: str = "POST") -> str:
        """The answer in another form: text/csv, or text/html where a calculation has a report."""
        return (await self.send(call_of(method, name, request, accept=accept))).text

    async def batch(
        self,
        items: Iterable[BatchItem | Mapping[str, Any]],
        *,
        concurrency: int = 4,
        chunk: int = 20,
        progress: Progress | None = None,
    ) -> list[BatchResult]:
        """Answers of many items in their order; arguments as for `Client.batch`."""
        listed = batch_items(items)
        parts = chunks(first_of_ids(listed), chunk)
        count = counter(parts, progress)
        free = asyncio.Semaphore(concurrency)

        async def one(part: Sequence[BatchItem]) -> list[BatchResult]:
            async with free:
                results = batch_results(part, (await self.send(batch_call(part))).content)
            count(len(part))
            return results

        return in_order(listed, chain.from_iterable(await asyncio.gather(*map(one, parts))))


def _request(call: Call) -> dict[str, Any]:
    return {
        "method": call.method,
        "url": call.path,
        "params": dict(call.query),
        "content": call.content,
        "headers": dict(call.headers),
    }
