"""The door of the service: places, queue, slow and leaving callers, large bodies, keys in the log."""

from __future__ import annotations

import json
import logging
import socket
import threading
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import httpx
import pytest
from starlette.routing import Route

from service.base import parsing
from service.base.problems import Problem
from service.http import answering, tasks
from service.http import batch as batch_module
from service.http.security import hide_keys_in_log
from service.http.settings import Settings
from tests.api.conftest import Server
from tests.api.test_strictness import REQUEST, is_problem

JSON = {"content-type": "application/json"}
BODY = json.dumps(REQUEST).encode()


class Counted:
    """Stands in for calculations: counts how many run at once, and holds them until they are let go."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, module: Any) -> None:
        self.go, self._lock, self.running, self.most = threading.Event(), threading.Lock(), 0, 0
        self.true = module.calculated
        monkeypatch.setattr(module, "calculated", self)
        monkeypatch.setattr(answering, "LIGHT_S", 0.0)  # everything is heavy

    def __call__(self, *given: Any, **more: Any) -> Any:
        with self._lock:
            self.running += 1
            self.most = max(self.most, self.running)
        assert self.go.wait(20.0)
        with self._lock:
            self.running -= 1
        return self.true(*given, **more)

    def wait_for(self, number: int) -> None:
        """Waits until so many run."""
        deadline = time.monotonic() + 10.0
        while self.running < number:
            assert time.monotonic() < deadline, f"only {self.running} calculations started"
            time.sleep(0.01)


@pytest.fixture
def counted(monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest) -> Iterator[Counted]:
    stand_in = Counted(monkeypatch, request.param)
    yield stand_in
    stand_in.go.set()


def sent(url: str, path: str) -> int:
    if path == "check":
        return httpx.post(f"{url}/v1/check", content=BODY, headers=JSON, timeout=60.0).status_code
    item = {"id": 1, "calculation": "check", "input": REQUEST}
    return httpx.post(f"{url}/v1/batch", json=[item], timeout=60.0).status_code


@pytest.mark.parametrize(("counted", "path"), [(tasks, "check"), (batch_module, "batch")], indirect=["counted"])
def test_no_more_run_at_once_than_may(counted: Counted, path: str) -> None:
    with Server(Settings(max_running=2, max_wait_s=30)) as url, ThreadPoolExecutor(12) as pool:
        asked = [pool.submit(sent, url, path) for _ in range(12)]
        counted.wait_for(2)
        time.sleep(0.3)  # time for a third one to slip through
        assert httpx.get(f"{url}/health/live").status_code == 200
        counted.go.set()
        assert [answer.result() for answer in asked] == [200] * 12  # those beyond the places have waited
    assert counted.most == 2


@pytest.mark.parametrize("counted", [tasks], indirect=True)
def test_queue_has_an_end(counted: Counted) -> None:
    with Server(Settings(max_running=1, max_waiting=8, max_wait_s=30)) as url, ThreadPoolExecutor(14) as pool:
        asked = [pool.submit(sent, url, "check") for _ in range(14)]
        deadline = time.monotonic() + 20.0
        while sum(answer.done() for answer in asked) < 5:
            assert time.monotonic() < deadline
            time.sleep(0.01)
        counted.go.set()
        statuses = sorted(answer.result() for answer in asked)
        assert statuses == [200] * 9 + [503] * 5  # one runs, eight wait, nobody else
        pytest.importorskip("prometheus_client")
        assert 'calculation="check",status="503"} 5' in httpx.get(f"{url}/metrics").text


def opened(url: str) -> socket.socket:
    host, _, port = url.removeprefix("http://").partition(":")
    return socket.create_connection((host, int(port)))


def head(length: int) -> bytes:
    lines = ["POST /v1/check HTTP/1.1", "Host: here", "Content-Type: application/json"]
    return "\r\n".join([*lines, f"Content-Length: {length}", "", ""]).encode()


def test_slow_senders_keep_no_place_from_others() -> None:
    with Server(Settings(max_running=1, max_wait_s=0)) as url:
        slow = [opened(url) for _ in range(4)]
        for connection in slow:
            connection.sendall(head(len(BODY)) + BODY[:20])
        time.sleep(0.2)
        assert sent(url, "check") == 200
        for connection in slow:
            connection.close()


def test_body_that_does_not_come_ends_in_time() -> None:
    with Server(Settings(body_wait_s=1)) as url:
        connection = opened(url)
        connection.settimeout(10.0)
        connection.sendall(head(len(BODY)) + BODY[:20])
        answer = b""
        while part := connection.recv(65536):
            answer += part
        assert answer.startswith(b"HTTP/1.1 408 ")
        assert b"application/problem+json" in answer
        connection.close()


def test_caller_that_leaves_is_no_error(caplog: pytest.LogCaptureFixture) -> None:
    with Server(Settings()) as url, caplog.at_level(logging.INFO, logger="toeline"):
        connection = opened(url)
        connection.sendall(head(len(BODY)) + BODY[:20])
        time.sleep(0.1)
        connection.close()
        deadline = time.monotonic() + 10.0
        while not caplog.records:
            assert time.monotonic() < deadline, "nobody noticed that the caller left"
            time.sleep(0.01)
        assert [record.levelname for record in caplog.records] == ["INFO"]
        pytest.importorskip("prometheus_client")
        assert 'status="500"' not in httpx.get(f"{url}/metrics").text


def test_caller_that_takes_no_line_loses_its_place(monkeypatch: pytest.MonkeyPatch) -> None:
    line = batch_module.AnswerLine(200, b"x" * 1_000_000 + b"\n")
    monkeypatch.setattr(batch_module, "answer_alone", lambda *_: (None, line))
    items = json.dumps([{"id": n} for n in range(100)]).encode()
    with Server(Settings(max_running=1, max_wait_s=10, body_wait_s=1)) as url:
        connection = opened(url)
        connection.sendall(head(len(items)).replace(b"/v1/check", b"/v1/batch") + items)
        time.sleep(0.3)
        assert sent(url, "check") == 200
        connection.close()


def test_large_bodies_together_are_bounded() -> None:
    with Server(Settings(max_body_bytes=100_000)) as url:
        holding = []
        for _ in range(4):
            connection = opened(url)
            connection.sendall(head(100_000) + b" " * 99_000)
            holding.append(connection)
        time.sleep(0.3)
        answer = httpx.post(f"{url}/v1/check", content=b" " * 10_000 + BODY, headers=JSON)
        is_problem(answer, 503)
        assert "retry-after" in answer.headers
        for connection in holding:
            connection.close()
        deadline = time.monotonic() + 10.0
        while sent(url, "check") != 200:
            assert time.monotonic() < deadline, "the bytes of callers that left were never given back"


@pytest.mark.parametrize(
    ("name", "content"), [("MAX_VALUES", b'{"lines":[1,2,3]}'), ("MAX_GROUPS", b'{"lines":[[],[]]}')]
)
def test_many_tiny_values_are_refused(
    client: httpx.Client, monkeypatch: pytest.MonkeyPatch, name: str, content: bytes
) -> None:
    monkeypatch.setattr(parsing, name, 1)
    is_problem(client.post("/v1/check", content=content, headers=JSON), 413)
    is_problem(client.post("/v1/batch", content=content, headers={"content-type": "application/x-ndjson"}), 413)


@pytest.mark.parametrize(("values", "groups", "refused"), [(2, 3, 0), (3, 3, 1), (2, 4, 1), (0, 0, 0)])
def test_as_many_values_as_allowed_are_read(
    monkeypatch: pytest.MonkeyPatch, values: int, groups: int, refused: int
) -> None:
    monkeypatch.setattr(parsing, "MAX_VALUES", 2)
    monkeypatch.setattr(parsing, "MAX_GROUPS", 3)
    for opened in (b"[", b"{"):
        body = b"," * values + opened * groups
        if not refused:
            parsing.require_bounded(body)
            continue
        with pytest.raises(Problem) as caught:
            parsing.require_bounded(body)
        assert caught.value.status == 413


@pytest.mark.parametrize("path", ["check", "batch"])
def test_compressed_bodies_are_refused_by_name(client: httpx.Client, path: str) -> None:
    answer = client.post(f"/v1/{path}", content=BODY, headers={**JSON, "content-encoding": "gzip"})
    assert "gzip" in is_problem(answer, 415)["detail"]
    if path == "check":
        plain = client.post("/v1/check", content=BODY, headers={**JSON, "content-encoding": "identity"})
        assert plain.status_code == 200


def test_byte_order_mark_and_line_ends_of_other_systems(client: httpx.Client) -> None:
    marked = client.post("/v1/check", content=b"\xef\xbb\xbf" + BODY, headers=JSON)
    assert marked.content == client.post("/v1/check", content=BODY, headers=JSON).content
    lines = [json.dumps({"id": n, "calculation": "check", "input": REQUEST}).encode() for n in range(2)]
    content = b"\xef\xbb\xbf" + b"\r\n".join(lines) + b"\r\n"
    answer = client.post("/v1/batch", content=content, headers={"content-type": "application/x-ndjson"})
    assert [json.loads(line)["status"] for line in answer.content.splitlines()] == [200, 200]


def test_key_in_an_address_is_not_logged(caplog: pytest.LogCaptureFixture) -> None:
    hide_keys_in_log([Route("/v1/x", str)])
    access = logging.getLogger("uvicorn.access")
    before = len(access.filters)
    hide_keys_in_log([Route("/v1/x", str)])
    assert len(access.filters) == before
    with caplog.at_level(logging.INFO, logger="uvicorn.access"):
        access.info('%s - "%s %s HTTP/%s" %d', "127.0.0.1:1", "GET", "/v1/x?key=secret&only=a", "1.1", 200)
        access.info("started")
    assert [record.getMessage() for record in caplog.records] == [
        '127.0.0.1:1 - "GET /v1/x?... HTTP/1.1" 200',
        "started",
    ]


def test_key_is_in_no_answer_and_no_log(caplog: pytest.LogCaptureFixture) -> None:
    with caplog.at_level(logging.DEBUG), Server(Settings(api_keys=("right",), allow_query_key=True)) as url:
        for path in ("/v1/sources?key=sesame", "/v1/sources?only=caution&key=sesame", "/nothing?key=sesame"):
            answer = httpx.get(url + path)
            assert "sesame" not in answer.text + str(answer.headers)
        assert httpx.get(f"{url}/v1/sources", headers={"X-API-Key": "s\u00e9same".encode()}).status_code == 401
    served = [record.getMessage() for record in caplog.records if not record.name.startswith("http")]
    assert "sesame" not in "\n".join(served)
