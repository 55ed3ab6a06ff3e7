"""The clients against the real service, and against a network that misbehaves."""

from __future__ import annotations

import asyncio
import json
import math
from collections.abc import Callable, Iterator
from pathlib import Path
from types import MappingProxyType
from typing import Any

import httpx
import numpy as np
import pytest

import service
from service.client import routes as client_routes
from service.client.batch import BatchItem, batch_call, batch_results
from service.client.client import AsyncClient, Client
from service.client.errors import AnswerError, BusyError, ProblemError, UnreachableError
from service.client.methods import Routes
from service.client.retrying import Retry
from service.client.routes import call_of, method_name
from service.http.settings import Settings
from service.topics.curves.routes import LifeQuery, LifeRequest
from service.topics.registry import load
from tests.api.conftest import Server

EXAMPLES = Path(__file__).parents[2] / "openapi_examples"
CURVE = "peak-stress-opening"
LIFE = {"curve": CURVE, "stress_range_mpa": 90.0}


@pytest.fixture(scope="module")
def sync(base_url: str) -> Iterator[Client]:
    with Client(base_url) as connected:
        yield connected


def examples() -> list[Any]:
    """One example for every calculation that has one."""
    first: dict[tuple[str, str], Any] = {}
    for path in sorted(EXAMPLES.glob("*/*.json")):
        if path.parent.name != "data":
            example = json.loads(path.read_text(encoding="utf-8"))
            first.setdefault((example.get("method", "POST"), example["calculation"]), example)
    return [pytest.param(key, example, id=" ".join(key)) for key, example in first.items()]


def routes() -> dict[tuple[str, str], tuple[str, client_routes.Route[Any, Any]]]:
    listed = {name: route for name, route in vars(Routes).items() if isinstance(route, client_routes.Route)}
    return {(route.method, route.name): (name, route) for name, route in listed.items()}


def test_every_calculation_has_its_method() -> None:
    assert set(routes()) == set(load())


def test_methods_have_the_models_of_the_register() -> None:
    for key, (_, route) in routes().items():
        assert route.request is load()[key].request, key
        assert route.answer is load()[key].answer, key


def test_methods_are_named_by_one_rule() -> None:
    # two methods of one path keep one name each
    assert {name for name, _ in routes().values()} == {method_name(name) for _, name in load()}
    assert len(routes()) == len({name for name, _ in routes().values()})


@pytest.mark.parametrize(("key", "example"), examples())
def test_method_returns_the_envelope_of_the_example(
    sync: Client, key: tuple[str, str], example: dict[str, Any]
) -> None:
    name, _ = routes()[key]
    envelope = getattr(sync, name)(example["request"])
    assert envelope.record.calculation == key[1]
    assert envelope.record.input_digest == example["response"]["record"]["input_digest"]
    assert envelope.caution == example["response"]["caution"]


def test_request_by_fields_by_model_and_by_mapping_agree(sync: Client) -> None:
    model = LifeQuery(curve=CURVE, stress_range_mpa=90.0)
    by_fields = sync.curve_life(curve=CURVE, stress_range_mpa=90.0)
    assert sync.curve_life(model) == by_fields == sync.curve_life(LIFE)
    column = LifeRequest(curve=CURVE, stress_range_mpa=[90.0])
    assert sync.curves_life(column) == sync.curves_life(curve=CURVE, stress_range_mpa=np.array([90.0]))
    assert sync.curves_life(column).answer.life_cycles == [by_fields.answer.life_cycles]


def test_request_whole_and_by_fields_is_a_mistake(sync: Client) -> None:
    with pytest.raises(TypeError, match="not both"):
        sync.curve_life(LIFE, curve=CURVE)


def test_what_is_no_json_is_not_sent() -> None:
    with pytest.raises(ValueError, match="/stress_range_mpa/1 is NaN or infinite"):
        call_of("POST", "curves/life", {"stress_range_mpa": [1.0, math.nan]})
    with pytest.raises(TypeError, match="object cannot be sent"):
        call_of("POST", "curves/life", {"stress_range_mpa": object()})
    with pytest.raises(KeyError, match="curve"):
        call_of("GET", "curves/{curve}", {})


def test_any_mapping_is_sent() -> None:
    inner = MappingProxyType({"opening": np.arange(2)})
    call = call_of("POST", "stress/peak", MappingProxyType({"peaks_mpa": inner}))
    assert call.content == b'{"peaks_mpa":{"opening":[0,1]}}'


def test_path_parameters_are_quoted() -> None:
    call = call_of("GET", "curves/{curve}/life", {"curve": "a/b ?", "life_cycles": 2, "sample_size": None})
    assert (call.path, dict(call.query)) == ("/v1/curves/a%2Fb%20%3F/life", {"life_cycles": "2"})


def test_unknown_name_is_a_problem_with_its_pointer(sync: Client) -> None:
    with pytest.raises(ProblemError) as caught:
        sync.curve_life(curve="none-such", stress_range_mpa=90.0)
    problem = caught.value
    assert (problem.status, problem.title, problem.kind) == (404, "Not found", "urn:toeline:unknown")
    assert problem.errors[0][0] == "/curve"
    assert "/curve: unknown curve 'none-such'" in str(problem)


def test_other_forms_of_the_answer(sync: Client) -> None:
    table = sync.text("curves/life", {"curve": CURVE, "stress_range_mpa": [90.0, 120.0]}, "text/csv")
    assert table.splitlines()[0].startswith("curve,life_cycles")
    assert len(table.splitlines()) == 3
    assert sync.calculate("curves/{curve}/life", LIFE, "GET")["answer"]["life_cycles"] > 1e6


def test_key_is_sent() -> None:
    with Server(Settings(api_keys=("secret",))) as url:
        with Client(url) as nobody, pytest.raises(ProblemError, match="401 Key missing"):
            nobody.curves()
        with Client(url, api_key="secret") as somebody:
            assert CURVE in somebody.curves().answer.id


def test_awaiting_client_gives_the_same(sync: Client, base_url: str) -> None:
    async def work() -> list[Any]:
        async with AsyncClient(base_url) as client:
            both = await asyncio.gather(client.curve_life(LIFE), client.curves_life(column))
            plain = await client.calculate("curves/{curve}/life", LIFE, "GET")
            return [*both, plain, await client.text("curves/life", column, "text/csv")]

    column = {"curve": CURVE, "stress_range_mpa": [90.0, 120.0]}
    one, many, plain, table = asyncio.run(work())
    assert one == sync.curve_life(LIFE)
    assert many == sync.curves_life(column)
    assert plain == sync.calculate("curves/{curve}/life", LIFE, "GET")
    assert table == sync.text("curves/life", column, "text/csv")


# --- batches


def items(count: int) -> list[BatchItem]:
    return [
        BatchItem(
            id=f"r{n}",
            calculation="curves/life",
            input={"curve": CURVE if n % 5 else "none-such", "stress_range_mpa": [80.0 + n]},
        )
        for n in range(count)
    ]


def test_batch_keeps_order_and_isolates_problems(sync: Client, base_url: str) -> None:
    told: list[tuple[int, int]] = []
    results = sync.batch(items(23), chunk=4, concurrency=3, progress=lambda *state: told.append(state))
    assert [result.id for result in results] == [f"r{n}" for n in range(23)]
    for n, result in enumerate(results):
        if n % 5:
            alone = sync.curves_life(curve=CURVE, stress_range_mpa=[80.0 + n])
            assert result.envelope is not None
            assert result.envelope["answer"]["life_cycles"] == alone.answer.life_cycles
            assert (result.status, result.problem) == (200, None)
        else:
            assert (result.status, result.envelope) == (422, None)
            assert isinstance(result.problem, ProblemError)
            assert result.problem.errors[0][0] == "/curve"
    assert told[-1] == (23, 23)
    assert len(told) == 6
    assert [done for done, _ in told] == sorted(done for done, _ in told)

    told_waiting: list[tuple[int, int]] = []

    async def work() -> Any:
        async with AsyncClient(base_url) as client:
            said = told_waiting.append
            return await client.batch(items(23), chunk=4, concurrency=3, progress=lambda *now: said(now))

    awaited = asyncio.run(work())
    assert (told_waiting[-1], len(told_waiting)) == ((23, 23), 6)
    assert [(r.id, r.status, r.envelope) for r in awaited] == [(r.id, r.status, r.envelope) for r in results]


def test_batch_without_items_asks_nothing(sync: Client) -> None:
    assert sync.batch([]) == []


def test_batch_size_must_be_positive(sync: Client) -> None:
    with pytest.raises(ValueError, match="at least one item"):
        sync.batch(items(1), chunk=0)


def test_awaiting_batch_keeps_its_bound() -> None:
    running, most = 0, 0

    async def handler(request: httpx.Request) -> httpx.Response:
        nonlocal running, most
        running += 1
        most = max(most, running)
        await asyncio.sleep(0.002)
        running -= 1
        ids = [item["id"] for item in json.loads(request.content)]
        return httpx.Response(
            200, text="".join(json.dumps({"id": i, "status": 200, "envelope": {}}) + "\n" for i in ids)
        )

    async def work() -> None:
        async with AsyncClient("http://service", transport=httpx.MockTransport(handler)) as client:
            assert len(await client.batch(items(20), chunk=1, concurrency=3)) == 20

    asyncio.run(work())
    assert most == 3


@pytest.mark.parametrize("content", [b"", b'{"id":"other","status":200,"envelope":{}}\n', b"{", b"{}\n", b"1\n"])
def test_batch_answer_that_does_not_fit_is_noticed(content: bytes) -> None:
    with pytest.raises(AnswerError, match="batch answer"):
        batch_results(items(1), content)


def test_batch_call_takes_models() -> None:
    model = LifeRequest(curve=CURVE, stress_range_mpa=[90.0])
    call = batch_call([BatchItem(id=1, calculation="curves/life", input=model)])
    assert call.content is not None
    assert json.loads(call.content)[0]["input"]["stress_range_mpa"] == [90.0]


# --- a network that misbehaves

BUSY = json.dumps({"type": "about:blank", "title": "Busy", "status": 503, "detail": "full", "errors": []})
Step = httpx.Response | Exception


def played(steps: list[Step], **retry: Any) -> tuple[Client, list[httpx.Request], list[float]]:
    """A client whose network plays these steps, with the requests it made and the waits it waited."""
    seen: list[httpx.Request] = []
    waits: list[float] = []
    left = iter(steps)

    def handler(request: httpx.Request) -> httpx.Response:
        seen.append(request)
        step = next(left)
        if isinstance(step, Exception):
            raise step
        return step

    chosen = Retry(random=lambda: 0.5, **retry)
    client = Client("http://service", retry=chosen, transport=httpx.MockTransport(handler), sleep=waits.append)
    return client, seen, waits


@pytest.fixture(scope="module")
def good(base_url: str) -> Callable[[], httpx.Response]:
    content = httpx.get(f"{base_url}/v1/curves/{CURVE}/life?stress_range_mpa=90").content
    return lambda: httpx.Response(200, content=content)


@pytest.mark.parametrize("status", [429, 502, 503, 504])
def test_busy_service_is_asked_again(status: int, good: Callable[[], httpx.Response]) -> None:
    client, seen, waits = played([httpx.Response(status), httpx.Response(status), good()])
    assert client.curve_life(LIFE).answer.life_cycles is not None
    assert len(seen) == 3
    assert waits == [0.25, 0.5]  # half of 0.5 s and of 1 s, by the jitter of 0.5


@pytest.mark.parametrize("error", [httpx.ConnectError("refused"), httpx.ReadError(""), httpx.ConnectTimeout("")])
def test_lost_connection_is_tried_again(error: Exception, good: Callable[[], httpx.Response]) -> None:
    client, seen, _ = played([error, good()])
    assert client.curve_life(LIFE).answer.below_cutoff is False
    assert len(seen) == 2


@pytest.mark.parametrize("status", [400, 401, 404, 413, 422, 500, 501])
def test_refusal_is_not_tried_again(status: int) -> None:
    client, seen, waits = played([httpx.Response(status, text=BUSY)])
    with pytest.raises(ProblemError) as caught:
        client.curves()
    assert (caught.value.status, type(caught.value), len(seen), waits) == (status, ProblemError, 1, [])


def test_read_time_out_is_not_tried_again() -> None:
    client, seen, _ = played([httpx.ReadTimeout("")])
    with pytest.raises(UnreachableError, match=r"no answer in time after 1 attempt: ReadTimeout"):
        client.curves()
    assert len(seen) == 1


def test_attempts_end() -> None:
    client, seen, waits = played([httpx.Response(503, text=BUSY)] * 3, attempts=3)
    with pytest.raises(BusyError, match="503 Busy: full"):
        client.curves()
    assert (len(seen), len(waits)) == (3, 2)
    client, seen, _ = played([httpx.ConnectError("refused")] * 3, attempts=3)
    with pytest.raises(UnreachableError, match="no connection after 3") as caught:
        client.curves()
    assert caught.value.attempts == len(seen) == 3


def test_retry_after_is_the_least_wait(good: Callable[[], httpx.Response]) -> None:
    seconds = httpx.Response(503, headers={"Retry-After": "7"})
    date = httpx.Response(429, headers={"Retry-After": "Thu, 01 Jan 1970 00:01:40 GMT"})
    past = httpx.Response(429, headers={"Retry-After": "Thu, 01 Jan 1970 00:00:01 GMT"})
    client, _, waits = played([seconds, date, past, good()], now=lambda: 90.0)
    client.curve_life(LIFE)
    assert waits == [7.25, 10.25, 0.25]  # jitter of half the first wait on top


def test_unreadable_retry_after_counts_as_none(good: Callable[[], httpx.Response]) -> None:
    client, _, waits = played([httpx.Response(503, headers={"Retry-After": "soon"}), good()])
    client.curve_life(LIFE)
    assert waits == [0.25]


def test_too_long_a_retry_after_ends_the_attempts() -> None:
    client, seen, waits = played([httpx.Response(503, headers={"Retry-After": "3600"})])
    with pytest.raises(BusyError):
        client.curves()
    assert (len(seen), waits) == (1, [])


def test_waits_are_bounded_and_spread() -> None:
    retry = Retry(attempts=20, first_wait_s=1.0, longest_wait_s=8.0, random=lambda: 1.0)
    assert [retry.wait_s(attempt) for attempt in range(1, 6)] == [1.0, 2.0, 4.0, 8.0, 8.0]
    drawn = {Retry().wait_s(1) for _ in range(20)}
    assert len(drawn) > 10
    assert all(wait is not None and 0.0 <= wait <= 0.5 for wait in drawn)


def test_no_attempt_is_no_retry() -> None:
    with pytest.raises(ValueError, match="at least one attempt"):
        Retry(attempts=0)


def test_address_of_something_else_is_said() -> None:
    page = httpx.Response(404, text="<html>not here</html>")
    with pytest.raises(ProblemError, match="is this address the service"):
        played([page])[0].curves()
    for content in ("<html>", '{"ok": true}'):
        with pytest.raises(AnswerError, match="is this address the service"):
            played([httpx.Response(200, text=content)])[0].calculate("curves", {}, "GET")


def test_answer_of_another_version_is_said() -> None:
    client, _, _ = played([httpx.Response(200, json={"answer": {"id": 3}})])
    with pytest.raises(AnswerError, match=r"curves does not fit this version of the client \(at answer/id\)"):
        client.curves()
    client, _, _ = played([httpx.Response(200, text="")])
    with pytest.raises(AnswerError, match="at its start"):
        client.curves()


def test_awaiting_client_retries_alike(good: Callable[[], httpx.Response]) -> None:
    waits: list[float] = []
    left: Iterator[Step] = iter([httpx.ConnectError("refused"), httpx.Response(503), good()])

    def handler(request: httpx.Request) -> httpx.Response:
        step = next(left)
        if isinstance(step, Exception):
            raise step
        return step

    async def wait(seconds: float) -> None:
        waits.append(seconds)

    async def work() -> Any:
        transport = httpx.MockTransport(handler)
        retry = Retry(random=lambda: 0.5)
        async with AsyncClient("http://service", retry=retry, transport=transport, sleep=wait) as client:
            return await client.curve_life(LIFE)

    assert asyncio.run(work()).answer.life_cycles is not None
    assert waits == [0.25, 0.5]


def test_real_service_that_is_not_there() -> None:
    client = Client("http://127.0.0.1:9", retry=Retry(attempts=2), sleep=lambda _: None)
    with client, pytest.raises(UnreachableError, match="no connection after 2 attempt"):
        client.curves()


def test_the_package_exports_what_a_script_needs() -> None:
    for name in service.__all__:
        assert getattr(service, name).__name__ == name
    with pytest.raises(AttributeError, match="nothing_such"):
        _ = service.nothing_such
