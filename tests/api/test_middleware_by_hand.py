"""What stands around every answer, each limit from both sides: size of bodies, tags, HEAD, the last net, counters."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from typing import Any

import httpx
import pytest
from starlette.requests import ClientDisconnect
from starlette.routing import Route

from service.base.problems import Problem
from service.http.middleware import WHOLE_BODIES, BodyLimit, CellMethods, ConditionalGet, LastNet
from service.http.settings import Settings

Message = dict[str, Any]


def scope(method: str = "GET", **headers: str) -> dict[str, Any]:
    pairs = [(name.replace("_", "-").encode(), text.encode()) for name, text in headers.items()]
    return {"type": "http", "method": method, "path": "/v1/x", "headers": pairs, "query_string": b""}


async def reader(_: Any, receive: Callable[[], Awaitable[Message]], __: Any) -> None:
    """Reads a body to its end."""
    while (await receive()).get("more_body"):
        pass


def limited(limit: BodyLimit, *parts: int, announced: str = "0") -> int:
    """Status of a body that comes in parts of so many bytes, 200 where nothing is said against it."""
    left = [{"body": b"x" * size, "more_body": index < len(parts) - 1} for index, size in enumerate(parts)]

    async def receive() -> Message:
        return left.pop(0)

    try:
        asyncio.run(limit(scope("POST", content_length=announced), receive, None))  # type: ignore[arg-type]
    except Problem as problem:
        return problem.status
    return 200


def test_a_body_may_have_as_many_bytes_as_its_limit() -> None:
    limit = BodyLimit(reader, Settings(max_body_bytes=10))  # type: ignore[arg-type]
    assert [limited(limit, 1, announced=said) for said in ("10", "11", "-1", "x")] == [200, 413, 413, 413]
    assert [limited(limit, *parts) for parts in ((10,), (11,), (5, 5), (5, 5, 1), (0,))] == [200, 413, 200, 413, 200]
    assert limit.held == 0


def test_four_largest_bodies_may_be_under_way_together() -> None:
    limit = BodyLimit(reader, Settings(max_body_bytes=10, retry_after_s=5))  # type: ignore[arg-type]
    limit.held = 30  # of others
    assert limited(limit, 10) == 200
    assert limit.held == 30
    limit.held = 31
    assert limited(limit, 10) == 503
    assert limit.held == 31
    assert limit._too_many().headers == {"Retry-After": "5", "Connection": "close"}
    assert limit._too_large().detail == "the body may have 10 bytes at the most"
    assert WHOLE_BODIES == 4


def answered(
    app: Any, asked: dict[str, Any], status: int = 200, bodies: tuple[bytes, ...] = (b"ab", b"c")
) -> list[Message]:
    """What a middleware sends on for an answer that comes in parts."""
    sent: list[Message] = []

    async def inner(_: Any, __: Any, send: Any) -> None:
        await send({"type": "http.response.start", "status": status, "headers": [(b"content-type", b"text/plain")]})
        for number, body in enumerate(bodies):
            more = {"more_body": True} if number < len(bodies) - 1 else {}
            await send({"type": "http.response.body", "body": body, **more})

    async def send(message: Message) -> None:
        sent.append(message)

    asyncio.run(app(inner)(asked, None, send))
    return sent


TAG = '"ba7816bf8f01cfea414140de5dae2223"'  # SHA-256 of "abc" (FIPS 180-4, example of one block), 32 digits


def test_an_answered_get_has_the_tag_of_its_content() -> None:
    start, body = answered(ConditionalGet, scope())
    assert (start["type"], start["status"]) == ("http.response.start", 200)
    assert body == {"type": "http.response.body", "body": b"abc"}
    head = [(b"content-type", b"text/plain")]
    more = [(b"etag", TAG.encode()), (b"cache-control", b"no-cache"), (b"vary", b"Accept")]
    assert start["headers"] == head + more
    for known in (TAG, f'"other", W/{TAG}', " * "):
        start, body = answered(ConditionalGet, scope(if_none_match=known))
        assert start == {"type": "http.response.start", "status": 304, "headers": more}
        assert body == {"type": "http.response.body", "body": b""}
    assert answered(ConditionalGet, scope(if_none_match='"other"'))[0]["status"] == 200


def test_refusals_and_other_methods_have_no_tag() -> None:
    start, body = answered(ConditionalGet, scope(if_none_match="*"), status=404)
    assert (start["status"], start["headers"], body["body"]) == (404, [(b"content-type", b"text/plain")], b"abc")
    sent = answered(ConditionalGet, scope("POST"))
    assert [message.get("body") for message in sent] == [None, b"ab", b"c"]
    assert len(answered(ConditionalGet, {**scope(), "type": "websocket"})) == 3


def test_head_is_get_without_its_body() -> None:
    asked: list[str] = []

    def noting(app: Any) -> Any:
        async def inner(given: Any, receive: Any, send: Any) -> None:
            asked.append(given["method"])
            await app(given, receive, send)

        return CellMethods(inner, [])

    assert [message.get("body") for message in answered(noting, scope("HEAD"))] == [None, b"", b""]
    assert [message.get("body") for message in answered(noting, scope("POST"))] == [None, b"ab", b"c"]
    assert [m.get("body") for m in answered(noting, {**scope("HEAD"), "type": "websocket"})] == [None, b"ab", b"c"]
    assert asked == ["GET", "POST", "HEAD"]


def test_options_tell_the_methods_of_a_path() -> None:
    routes = [Route("/v1/x", reader, methods=["GET"]), Route("/v1/x", reader, methods=["POST"])]
    routes += [Route("/v1/y", reader, methods=["PUT"])]

    def told(given: dict[str, Any]) -> list[Message]:
        return answered(lambda app: CellMethods(app, routes), given)

    start = {"type": "http.response.start", "status": 204, "headers": [(b"allow", b"GET, HEAD, OPTIONS, POST")]}
    assert told(scope("OPTIONS")) == [start, {"type": "http.response.body", "body": b""}]
    assert told({**scope("OPTIONS"), "path": "/v1/y"})[0]["headers"] == [(b"allow", b"OPTIONS, PUT")]
    with pytest.raises(Problem, match="there is nothing at /v1/z") as caught:
        told({**scope("OPTIONS"), "path": "/v1/z"})
    assert caught.value.status == 404
    assert len(told({**scope("OPTIONS"), "type": "websocket"})) == 3


def failing(error: Exception) -> list[Message]:
    async def inner(_: Any, __: Any, ___: Any) -> None:
        raise error

    sent: list[Message] = []

    async def send(message: Message) -> None:
        sent.append(message)

    asyncio.run(LastNet(inner)({**scope(), "server": ("a", 1)}, None, send))  # type: ignore[arg-type]
    return sent


def test_the_unforeseen_is_in_the_log_with_its_trace_and_a_caller_who_left_without(
    caplog: pytest.LogCaptureFixture,
) -> None:
    caplog.set_level("INFO", logger="toeline")
    failing(RuntimeError("a secret path"))
    failing(ClientDisconnect())
    failing(Problem(413, "too large"))
    trace, left = caplog.records
    assert (trace.levelname, trace.getMessage()) == ("ERROR", "unforeseen error in request - (None)")
    assert "a secret path" in str(trace.exc_info)
    assert (left.levelname, left.getMessage()) == ("INFO", "the caller of request - has left")
    assert left.exc_info is None


def test_the_last_net_answers_problems_and_the_unforeseen_and_no_one_who_has_left() -> None:
    start, body = failing(Problem(413, "too large"))
    assert (start["status"], b"too large" in body["body"]) == (413, True)
    assert start["headers"][-2] == (b"x-content-type-options", b"nosniff")
    start, body = failing(RuntimeError("a secret path"))
    assert (start["status"], b"secret" in body["body"], b"may be fine" in body["body"]) == (500, False, True)
    assert failing(ClientDisconnect()) == []


def test_a_cell_that_is_refused_is_tagged_like_any_other(client: httpx.Client) -> None:
    refused = client.get("/v1/curves/none-such", params={"only": "answer.id"})
    assert (refused.status_code, refused.text[:5]) == (200, "#ERR:")
    again = client.get(str(refused.url), headers={"If-None-Match": refused.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")
    assert refused.headers["x-content-type-options"] == "nosniff"
