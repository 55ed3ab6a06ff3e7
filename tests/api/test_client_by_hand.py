"""Single rules of the clients, free of any network: problems, waits, exit codes, requests."""

from __future__ import annotations

import asyncio
import json
import math
from typing import Any

import httpx
import pytest

from service.base.common import Strict
from service.client.client import AsyncClient, Client, _options
from service.client.errors import (
    AnswerError,
    BusyError,
    ClientError,
    ProblemError,
    UnreachableError,
    is_busy,
    problem_from,
    problem_of,
)
from service.client.exit_codes import BAD_INPUT, FAILED, PASSED, STOPPED, UNREACHABLE, exit_code
from service.client.retrying import Call, Pause, Retry, exchange
from service.client.routes import call_of, plain_envelope, plain_json, value_call


class Part(Strict):
    """A model within a request."""

    size_mm: float
    name: str | None = None


@pytest.mark.parametrize(
    ("status", "content", "busy"),
    [
        (503, b"{}", True),
        (503, b"[1]", True),
        (503, b"<html>", True),
        (503, b'{"type":"about:blank"}', True),
        (503, b'{"type":"urn:toeline:unknown"}', False),
        (429, b"", True),
        (502, b"", True),
        (504, b"", True),
        (428, b"", False),
        (430, b"", False),
        (500, b"", False),
        (501, b"", False),
        (505, b"", False),
        (200, b"", False),
    ],
)
def test_a_later_attempt_is_worth_it_for_four_statuses_without_a_type_of_their_own(
    status: int, content: bytes, busy: bool
) -> None:
    assert is_busy(status, content) is busy


def test_a_problem_document_becomes_an_exception_with_all_its_parts() -> None:
    document = {"type": "urn:x", "title": "Refused", "status": 422, "detail": "wrong"}
    document |= {"errors": [{"pointer": "/a", "message": "one"}, {"pointer": "", "message": "two"}]}
    error = problem_from(418, json.dumps(document).encode())
    assert type(error) is ProblemError
    assert (error.status, error.title, error.detail, error.kind) == (418, "Refused", "wrong", "urn:x")
    assert error.errors == (("/a", "one"), ("", "two"))
    assert str(error) == "418 Refused: wrong\n  /a: one\n  /: two"
    assert problem_of(document).status == 422
    plain = problem_of({"status": 400, "detail": "d"})
    assert (str(plain), plain.kind, plain.errors) == ("400: d", "about:blank", ())
    assert type(problem_from(503, b'{"detail":"full"}', busy=True)) is BusyError


@pytest.mark.parametrize("content", [b"<html>", b"[]", b"{}", b'"detail"', b""])
def test_an_answer_without_a_problem_document_asks_whether_it_is_the_service(content: bytes) -> None:
    error = problem_from(502, content)
    assert (error.status, error.errors) == (502, ())
    assert error.detail == "the answer holds no problem document; is this address the service?"


@pytest.mark.parametrize(
    ("error", "code"),
    [
        (ProblemError(400, ""), 2),
        (ProblemError(428, ""), 2),
        (ProblemError(429, ""), 3),
        (ProblemError(430, ""), 2),
        (ProblemError(499, ""), 2),
        (ProblemError(500, ""), 3),
        (BusyError(503, ""), 3),
        (UnreachableError("", 1), 3),
        (AnswerError(""), 3),
    ],
)
def test_a_refusal_ends_with_two_and_no_answer_with_three(error: ClientError, code: int) -> None:
    assert exit_code(error) == code


def test_exit_codes_are_those_of_the_guide() -> None:
    assert (PASSED, FAILED, BAD_INPUT, UNREACHABLE, STOPPED) == (0, 1, 2, 3, 130)


def test_waits_double_up_to_the_longest_and_end_with_the_attempts() -> None:
    retry = Retry(attempts=4, first_wait_s=0.5, longest_wait_s=1.5, random=lambda: 1.0, now=lambda: 100.0)
    assert [retry.wait_s(attempt) for attempt in (1, 2, 3, 4, 5)] == [0.5, 1.0, 1.5, None, None]
    assert [retry.wait_s(1, asked) for asked in ("0", " 1 ", "1.5", "-1", "x")] == [0.5, 1.5, 0.5, 0.5, 0.5]
    at_101 = "Thu, 01 Jan 1970 00:01:41 GMT"
    assert [retry.wait_s(2, asked) for asked in (at_101, "2")] == [1.5, None]  # one second, and half a one on top
    assert retry.wait_s(1, "Thu, 01 Jan 1970 00:01:42 GMT") is None


def test_waits_are_by_default_four_attempts_from_half_a_second_to_a_minute() -> None:
    retry = Retry()
    assert (retry.attempts, retry.first_wait_s, retry.longest_wait_s) == (4, 0.5, 60.0)
    assert Retry(attempts=1).wait_s(1) is None


def steps(retry: Retry, *answers: httpx.Response | httpx.TransportError) -> tuple[list[Any], Any]:
    """What an exchange yields while it is given these answers, and how it ends."""
    call = Call(method="GET", path="/")
    running, seen, left = exchange(call, retry), [], list(answers)
    step: Any = next(running)
    try:
        while True:
            seen.append("call" if step is call else step)
            step = running.send(None if isinstance(step, Pause) else left.pop(0))
    except StopIteration as end:
        return seen, end.value
    except ClientError as error:
        return seen, error


def test_an_exchange_is_calls_and_pauses_until_its_answer() -> None:
    retry = Retry(attempts=3, random=lambda: 1.0)
    good, busy, wrong = httpx.Response(299), httpx.Response(503, headers={"Retry-After": "2"}), httpx.Response(404)
    assert steps(retry, good) == (["call"], good)
    assert steps(retry, busy, httpx.PoolTimeout(""), good) == (["call", Pause(2.5), "call", Pause(1.0), "call"], good)
    assert steps(retry, wrong)[0] == ["call"]
    seen, error = steps(retry, busy, busy, busy)
    assert (len(seen), type(error)) == (5, BusyError)
    seen, error = steps(retry, httpx.RemoteProtocolError("gone"), httpx.ReadTimeout("late"))
    assert (seen, str(error), error.attempts) == (
        ["call", Pause(0.5), "call"],
        "no answer in time after 2 attempts: late",
        2,
    )
    assert str(steps(Retry(attempts=1), httpx.ConnectError("")).__getitem__(1)) == (
        "no connection after 1 attempt: ConnectError"
    )


def test_a_connection_waits_ten_seconds_at_the_most_and_an_answer_as_long_as_asked() -> None:
    assert _options("u", None, 300.0, None)["timeout"] == httpx.Timeout(300.0, connect=10.0)
    assert _options("u", None, 4.0, None)["timeout"] == httpx.Timeout(4.0)
    assert _options("u", "k", 4.0, None)["headers"]["X-API-Key"] == "k"
    assert "X-API-Key" not in _options("u", None, 4.0, None)["headers"]
    assert Client("http://service")._http.timeout.read == 300.0
    assert AsyncClient("http://service")._http.timeout.read == 300.0


def test_a_value_is_asked_for_without_what_lies_outside_unless_it_is_wanted() -> None:
    asked: list[str] = []

    def handler(request: httpx.Request) -> httpx.Response:
        asked.append(request.url.query.decode())
        return httpx.Response(200, text="7")

    async def work() -> list[str]:
        async with AsyncClient("http://service", transport=httpx.MockTransport(handler)) as awaiting:
            plain = await awaiting.value("check", {}, "answer.x")
            return [plain, await awaiting.value("check", {}, "answer.x", accept_outside=True)]

    with Client("http://service", transport=httpx.MockTransport(handler)) as client:
        assert client.value("check", {}, "answer.x") == "7"
        assert client.value("check", {}, "answer.x", accept_outside=True) == "7"
    assert asyncio.run(work()) == ["7", "7"]
    assert asked == ["only=answer.x", "only=answer.x&accept_outside=1"] * 2


def test_clients_close_their_connections() -> None:
    with Client("http://service") as client:
        assert not client._http.is_closed
    assert client._http.is_closed

    async def work() -> AsyncClient:
        async with AsyncClient("http://service") as awaiting:
            assert not awaiting._http.is_closed
        return awaiting

    assert asyncio.run(work())._http.is_closed


def test_the_call_of_a_calculation_has_its_body_or_its_query() -> None:
    post = call_of("POST", "check", Part(size_mm=1.0))
    assert (post.path, post.content, dict(post.query)) == ("/v1/check", b'{"size_mm":1.0}', {})
    assert post.headers == {"Accept": "application/json", "Content-Type": "application/json"}
    get = call_of("GET", "curves/{name}/life", Part(size_mm=1.5, name="a b"), accept="text/csv")
    assert (get.path, dict(get.query), get.content) == ("/v1/curves/a%20b/life", {"size_mm": "1.5"}, None)
    assert get.headers == {"Accept": "text/csv"}
    assert "name" not in call_of("GET", "x", Part(size_mm=1.5)).query
    assert value_call("check", {}, "answer.x").query == {"only": "answer.x"}
    assert value_call("check", {}, "a", accept_outside=True).query == {"only": "a", "accept_outside": "1"}


@pytest.mark.parametrize(
    ("value", "where"),
    [
        (math.nan, "/"),
        ({"a": [1.0, {"b": (2, math.inf)}]}, "/a/1/b/1"),
        ({"a": None, "b": "x", "c": True, "d": -math.inf}, "/d"),
    ],
)
def test_a_number_that_json_has_no_word_for_is_named_by_its_pointer(value: Any, where: str) -> None:
    with pytest.raises(ValueError, match=f"^{where} is NaN or infinite, which no request may hold$"):
        plain_json(value)


def test_a_circle_is_no_request() -> None:
    circle: dict[str, Any] = {}
    circle["a"] = circle
    with pytest.raises(ValueError, match="Circular"):
        plain_json(circle)


def test_an_envelope_is_whole_or_no_answer() -> None:
    whole = {"answer": {}, "findings": [], "record": {}, "caution": ""}
    address = httpx.Request("GET", "http://service/v1/x")
    assert plain_envelope(httpx.Response(200, json=whole, request=address)) == whole
    more = {**whole, "more": 1}
    assert plain_envelope(httpx.Response(200, json=more, request=address)) == more
    for wrong in ({**whole, "answer": 1}, [1], "x"):
        if isinstance(wrong, dict):
            del wrong["caution"]
        with pytest.raises(AnswerError, match=r"^http://service/v1/x gave no answer of a calculation"):
            plain_envelope(httpx.Response(200, json=wrong, request=address))


def test_an_answer_in_other_units_is_read_by_calculate_and_a_method_says_so() -> None:
    answer = {"stress_range_ksi": [10.0]}
    told = {"code": "units-of-answer", "severity": "note", "message": "the answer has stress in ksi"}
    content = {"answer": answer, "findings": [told], "record": {}, "caution": ""}
    with pytest.raises(AnswerError, match=r"curves/strength answers in the units that `units` asks for, .*calculate\("):
        Client.curves_strength.read(httpx.Response(200, json=content))
    with pytest.raises(AnswerError, match="does not fit this version of the client"):
        Client.curves_strength.read(httpx.Response(200, json={**content, "findings": []}))
