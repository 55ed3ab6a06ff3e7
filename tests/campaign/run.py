"""Runs cases one after the other in processes that are watched: what answers late is ended and counted."""

from __future__ import annotations

import asyncio
import json
import multiprocessing
import signal
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from multiprocessing.connection import Connection, wait

import httpx

from service.http.app import create_app
from service.http.settings import Settings

from .cases import Case, drawn_case, mutated_case

KINDS: dict[str, Callable[[int, int], Case]] = {"drawn": drawn_case, "mutated": mutated_case}
LONGEST_PROBLEM = 40_000  # bytes: twenty places of a request, whatever their names
ENDED = -1  # in place of a status: no answer in time


@dataclass(frozen=True, slots=True)
class Outcome:
    """How one case ended: status, seconds, and what is wrong with the answer."""

    kind: str
    place: int
    name: str
    status: int
    seconds: float
    fault: str = ""


async def answered(client: httpx.AsyncClient, case: Case) -> tuple[int, str]:
    """Status of a case, and what is wrong with its answer."""
    response = await client.request(case.method, case.url, content=case.body, headers=case.headers)
    kind = response.headers.get("content-type", "")
    if response.status_code == 500:
        return 500, "500"
    if response.status_code >= 400 and not kind.startswith("application/problem+json"):
        return response.status_code, f"a refusal as {kind}"
    if response.status_code >= 400 and len(response.content) > LONGEST_PROBLEM:
        return response.status_code, f"a refusal of {len(response.content)} bytes"
    if "json" in kind:
        return response.status_code, _odd_number(response.content)
    return response.status_code, ""


def _odd_number(content: bytes) -> str:
    """The word of a number that is none, in JSON."""
    found: list[str] = []
    json.loads(content, parse_constant=found.append)
    return f"{found[0]} in an answer" if found else ""


def outcomes(kind: str, seed: int, places: range) -> Iterator[Outcome]:
    """Runs cases in this process."""
    app = create_app(Settings())
    transport = httpx.ASGITransport(app, raise_app_exceptions=False)
    client = httpx.AsyncClient(transport=transport, base_url="http://campaign")
    serving = app.router.lifespan_context(app)
    with asyncio.Runner() as runner:
        runner.run(serving.__aenter__())
        for place in places:
            case = KINDS[kind](seed, place)
            begin = time.perf_counter()
            status, fault = runner.run(answered(client, case))
            yield Outcome(kind, place, case.name, status, time.perf_counter() - begin, fault)
        runner.run(serving.__aexit__(None, None, None))


def _send(pipe: Connection, kind: str, seed: int, places: range) -> None:
    for outcome in outcomes(kind, seed, places):
        pipe.send(outcome)


def watched(kind: str, seed: int, places: range, longest_s: float) -> Iterator[Outcome]:
    """Runs cases in a process of its own; one that takes longer ends with its process, and the next goes on."""
    while places:
        inner, outer = multiprocessing.Pipe(duplex=False)
        process = multiprocessing.get_context("spawn").Process(target=_send, args=(outer, kind, seed, places))
        process.start()
        outer.close()
        patience = longest_s + 60.0  # for the start
        while wait([inner], patience):
            try:
                yield inner.recv()
            except EOFError:
                break
            places, patience = places[1:], longest_s
        process.kill()
        process.join()
        if places:
            fault = "no answer in time" if process.exitcode == -signal.SIGKILL else "its process ended"
            yield Outcome(kind, places[0], KINDS[kind](seed, places[0]).name, ENDED, longest_s, fault)
            places = places[1:]
