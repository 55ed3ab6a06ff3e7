"""Keys, limits, ids and the audit log at the whole application, without a network."""

from __future__ import annotations

import argparse
import asyncio
import json
import os
import signal
import threading
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any
from urllib.parse import quote

import httpx
import pytest
import uvicorn
from fastapi import FastAPI
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from starlette.routing import Route

from service.access import keys_file
from service.access.access import Access
from service.access.audit import AuditLog
from service.access.hangup import Processes, copy_keys, on_hangup
from service.access.keys import digest_of
from service.access.keys_file import read_keys_file
from service.access.recording import Recorded, call_of
from service.base.problems import Problem
from service.cli import main
from service.commands.operator import serve
from service.http.app import create_app
from service.http.metrics import Metrics
from service.http.settings import Settings
from service.http.tasks import Answered
from tests.api.test_strictness import REQUEST, is_problem

SECRET = "tlk_a+b c%2Fd-secret"  # an old key may have letters that are encoded
LIFE = "/v1/curves/iiw-2016-normal-steel-71/life?stress_range_mpa=90"
Asked = Callable[[httpx.AsyncClient], Awaitable[Any]]


def entry(team: str, key: str, *scopes: str, **more: Any) -> str:
    line = {"team": team, "sha256": digest_of(key), "scopes": scopes or ["calculations"], "expires": "never", **more}
    return json.dumps(line) + "\n"


def app_of(tmp_path: Path, *entries: str, **more: Any) -> FastAPI:
    (tmp_path / "keys").write_text("".join(entries))
    named = {"keys_file": str(tmp_path / "keys")} if entries else {}
    return create_app(Settings(**named, audit_log=str(tmp_path / "audit"), worker_processes=False, **more))


def asked(app: FastAPI, work: Asked) -> Any:
    async def run() -> Any:
        network = httpx.ASGITransport(app)  # type: ignore[arg-type]
        async with httpx.AsyncClient(transport=network, base_url="http://here") as client:
            return await work(client)

    return asyncio.run(run())


def gets(app: FastAPI, *paths: str, **headers: str) -> list[httpx.Response]:
    async def work(client: httpx.AsyncClient) -> list[httpx.Response]:
        given = {name.replace("_", "-"): text for name, text in headers.items()}
        return [await client.get(path, headers=given) for path in paths]

    found: list[httpx.Response] = asked(app, work)
    return found


def audited(tmp_path: Path) -> list[dict[str, Any]]:
    return [json.loads(line) for line in (tmp_path / "audit").read_text().splitlines()]


def test_a_key_lets_in_to_its_scopes_only(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Metrics, "text", lambda _: "")  # which needs an extra
    app = app_of(tmp_path, entry("frames", "a", "curves"), entry("watch", "m", "metrics"))
    for key, statuses in (
        ("a", (200, 403, 403)),
        ("m", (403, 403, 200)),
        ("x", (401, 401, 401)),
        ("", (401, 401, 401)),
    ):
        answers = gets(app, LIFE, "/v1/sources", "/metrics", X_API_Key=key)
        assert tuple(answer.status_code for answer in answers) == statuses
    problem = is_problem(gets(app, "/v1/sources", X_API_Key="a")[0], 403)
    assert problem["title"] == "Key not meant for this"
    assert problem["detail"] == "this key may not be used for sources"
    assert [each.status_code for each in gets(app, "/", "/health/live", "/openapi.json", "/docs")] == [200] * 4
    assert gets(app, "/openapi.json")[0].json()["security"] == [{"key": []}]
    assert gets(app_of(tmp_path), "/openapi.json")[0].json()["security"] == [{"key": []}, {}]


def test_every_address_of_a_calculation_asks_for_a_key(tmp_path: Path) -> None:
    app = app_of(tmp_path, entry("frames", "a"))
    routes = [route for route in app.routes if isinstance(route, Route) and route.path.startswith(("/v1/", "/metrics"))]
    assert len(routes) > 30

    async def work(client: httpx.AsyncClient) -> set[tuple[str, int]]:
        methods = {route.path: next(iter((route.methods or {"GET"}) - {"HEAD"})) for route in routes}
        return {(path, (await client.request(method, path)).status_code) for path, method in methods.items()}

    assert {path for path, status in asked(app, work) if status != 401} == set()


@pytest.mark.parametrize("blank", ["", " ", "\t"])
def test_no_key_is_no_key_whatever_the_keys_are(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, blank: str) -> None:
    monkeypatch.setattr(keys_file, "_NO_KEYS", frozenset())  # a digest that its list does not know
    app = app_of(tmp_path, entry("frames", blank), allow_query_key=True)
    got = [
        *gets(app, LIFE, f"{LIFE}&key={quote(blank)}"),
        *gets(app, LIFE, f"{LIFE}&key={quote(blank)}", X_API_Key=blank),
    ]
    assert [answer.status_code for answer in got] == [401] * 4

    async def batch(client: httpx.AsyncClient) -> httpx.Response:
        return await client.post("/v1/batch", content=b"{}", headers={"X-API-Key": blank})

    assert asked(app, batch).status_code == 401
    with pytest.raises(Problem, match="TOELINE_API_KEYS: a key is blank"):
        Access(api_keys=(blank,))


def test_an_item_of_a_batch_is_let_in_like_a_request_of_its_own(tmp_path: Path) -> None:
    app = app_of(tmp_path, entry("frames", "a", "curves", "metrics"), entry("watch", "m", "metrics"))
    life = {"curve": "iiw-2016-normal-steel-71", "stress_range_mpa": 90.0}
    items = [
        {"id": 1, "calculation": "curves/{curve}/life", "input": life},
        {"id": 2, "calculation": "check", "input": REQUEST},
        {"id": 3, "calculation": SECRET, "input": {}},
        {"id": 4},
    ]

    async def work(client: httpx.AsyncClient) -> list[httpx.Response]:
        return [await client.post("/v1/batch", json=items, headers={"X-API-Key": key}) for key in ("a", "m")]

    answer, refused = asked(app, work)
    lines = [json.loads(line) for line in answer.text.splitlines()]
    assert [line["status"] for line in lines] == [200, 403, 404, 422]
    assert refused.status_code == 403
    *told, whole, other = audited(tmp_path)
    assert [(line["calculation"], line["status"]) for line in told] == [
        ("curves/{curve}/life", 200),
        ("check", 403),
        (None, 404),
        (None, 422),
    ]
    assert told[0]["input_digest"] == lines[0]["envelope"]["record"]["input_digest"]
    assert [line["input_digest"] for line in told[1:]] == [None] * 3
    assert {line["request_id"] for line in (*told, whole)} == {answer.headers["x-request-id"]}
    assert (whole["calculation"], whole["outcome"], whole["team"]) == ("batch", "answered", "frames")
    assert (other["calculation"], other["outcome"], other["team"]) == ("batch", "refused", "watch")


def test_a_team_beyond_its_rate_waits_and_others_do_not(tmp_path: Path) -> None:
    app = app_of(
        tmp_path, entry("frames", "a", rate_per_s=0.001, burst=3), entry("frames", "b"), entry("gates", "c"), workers=1
    )
    first = gets(app, LIFE, LIFE, X_API_Key="a")
    assert [answer.status_code for answer in first] == [200, 200]
    assert gets(app, LIFE, X_API_Key="b")[0].status_code == 200  # of the same team
    refused = gets(app, LIFE, f"{LIFE}&only=answer.life_cycles", X_API_Key="a")
    assert is_problem(refused[0], 429)["title"] == "Too many requests"
    assert 990 <= int(refused[0].headers["retry-after"]) <= 1000
    assert refused[1].text.startswith("#ERR: team frames has sent more requests than its rate allows; try again in ")
    assert 990 <= int(refused[1].headers["retry-after"]) <= 1000
    assert gets(app, LIFE, X_API_Key="c")[0].status_code == 200
    assert gets(app, "/v1/sources", X_API_Key="x")[0].status_code == 401  # takes nothing from anybody
    busy = [line for line in audited(tmp_path) if line["outcome"] == "busy"]
    assert [(line["team"], line["status"]) for line in busy] == [("frames", 429)] * 2


def test_the_items_of_a_batch_are_taken_from_the_rate(tmp_path: Path) -> None:
    app = app_of(tmp_path, entry("frames", "a", rate_per_s=0.01, burst=2))
    items = [{"id": number} for number in range(5)]

    async def work(client: httpx.AsyncClient) -> list[int]:
        answers = [await client.post("/v1/batch", json=items, headers={"X-API-Key": "a"}) for _ in range(2)]
        return [answers[0].text.count("\n"), answers[1].status_code, int(answers[1].headers["retry-after"])]

    assert asked(app, work)[:2] == [5, 429]


def test_a_team_holds_no_more_heavy_work_than_its_places(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("service.http.tasks.LIGHT_BYTES", 0)  # all work is heavy
    monkeypatch.setattr("service.http.answering.work", waiting)
    app = app_of(tmp_path, entry("frames", "a", places=1), entry("gates", "b"), retry_after_s=7)
    batch = [{"id": 1}]

    async def work(client: httpx.AsyncClient) -> list[httpx.Response]:
        Held.go.clear()
        first = asyncio.create_task(client.post("/v1/check", json=REQUEST, headers={"X-API-Key": "a"}))
        while Held.running == 0:
            await asyncio.sleep(0.01)
        second = await client.post("/v1/check", json=REQUEST, headers={"X-API-Key": "a"})
        third = await client.post("/v1/batch", json=batch, headers={"X-API-Key": "a"})
        other = await client.post("/v1/batch", json=batch, headers={"X-API-Key": "b"})
        Held.go.set()
        done = await first
        after = await client.post("/v1/batch", json=batch, headers={"X-API-Key": "a"})
        return [done, second, third, other, after]

    answers = asked(app, work)
    assert [answer.status_code for answer in answers] == [200, 429, 429, 200, 200]
    assert answers[1].headers["retry-after"] == "7"
    assert "has as many heavy requests under way as it may" in is_problem(answers[2], 429)["detail"]


class Held:
    """Work that waits until it is let go."""

    go, running = threading.Event(), 0


def waiting(*_: object) -> Answered:
    """Stands in for the work of a heavy request."""
    Held.running += 1
    assert Held.go.wait(20.0)
    return Answered(content=b"{}", media_type="application/json", digest="sha256:held")


def test_an_id_comes_back_with_every_answer_and_a_wrong_one_is_replaced(tmp_path: Path) -> None:
    app = app_of(tmp_path, entry("frames", "key-1"))
    paths = ("/", "/nothing", LIFE, "/v1/check", "/health/live", "/v1/curves/none?only=answer.id")
    for key in ("key-1", "x"):
        answers = gets(app, *paths, X_Request_ID="build-7.3", X_API_Key=key)
        assert {answer.headers["x-request-id"] for answer in answers} == {"build-7.3"}
    for wrong in ("a b", "key-1", "tlk_x", "", "a" * 65):
        (answer,) = gets(app, LIFE, X_Request_ID=wrong, X_API_Key="key-1")
        new = answer.headers["x-request-id"]
        assert len(new) == 32
        assert audited(tmp_path)[-1]["request_id"] == new
    many = {answer.headers["x-request-id"] for answer in gets(app, *[LIFE] * 5)}
    assert len(many) == 5
    known = gets(app, LIFE, X_API_Key="key-1")[0].headers["etag"]
    (same,) = gets(app, LIFE, X_API_Key="key-1", If_None_Match=known, X_Request_ID="again")
    assert (same.status_code, same.headers["x-request-id"]) == (304, "again")
    last = audited(tmp_path)[-1]
    assert (last["outcome"], last["status"], last["request_id"]) == ("answered", 304, "again")


def test_the_audit_log_tells_of_a_calculation_what_its_record_tells(tmp_path: Path) -> None:
    app = app_of(tmp_path)
    answer, table, cell, refused, _, _ = gets(
        app,
        LIFE,
        f"{LIFE}&only=answer.life_cycles",
        f"{LIFE}&only=answer.nothing",
        "/v1/curves/none/life?stress_range_mpa=90",
        "/health/live",
        "/nothing",
    )
    lines = audited(tmp_path)
    assert [line["calculation"] for line in lines] == ["curves/{curve}/life"] * 4
    assert {line["team"] for line in lines} == {None}
    assert [line["status"] for line in lines] == [200, 200, 422, 404]
    assert [line["outcome"] for line in lines] == ["answered", "answered", "refused", "refused"]
    digest = answer.json()["record"]["input_digest"]
    assert [line["input_digest"] for line in lines] == [digest, digest, None, None]
    assert [table.status_code, cell.status_code, refused.status_code] == [200, 200, 404]
    assert [line["request_id"] for line in lines] == [
        each.headers["x-request-id"] for each in (answer, table, cell, refused)
    ]


def test_an_error_of_the_service_is_one_in_the_audit_log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr("service.http.answering.finish", broken)
    app = app_of(tmp_path)
    assert is_problem(gets(app, LIFE)[0], 500)["title"] == "Internal error"
    assert [(line["outcome"], line["status"]) for line in audited(tmp_path)] == [("failed", 500)]


def test_a_caller_who_goes_before_the_end_is_one_in_the_audit_log(tmp_path: Path) -> None:
    app = app_of(tmp_path)
    head = [(b"content-type", b"application/json")]
    scope = {"type": "http", "method": "POST", "path": "/v1/check", "headers": head, "query_string": b""}

    async def receive() -> dict[str, Any]:
        return {"type": "http.disconnect"}

    async def send(_: object) -> None:
        raise AssertionError

    asyncio.run(app(scope, receive, send))  # type: ignore[arg-type]
    assert [(line["outcome"], line["status"]) for line in audited(tmp_path)] == [("left", None)]


PLACES = (
    "/v1/curves/x/life?key={}",
    "/v1/curves/x/life?%6bey={}&only=answer",
    "/v1/curves/{}/life?stress_range_mpa=9",
    "/v1/curves/x/life?stress_range_mpa={}",
    "/v1/sources?key={}&key={}",
)


@pytest.fixture(scope="module")
def open_app(tmp_path_factory: pytest.TempPathFactory) -> tuple[FastAPI, Path]:
    folder = tmp_path_factory.mktemp("audit")
    log = folder / "audit"
    keyed = Settings(api_keys=(SECRET,), allow_query_key=True, audit_log=str(log), worker_processes=False)
    return create_app(keyed), log


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    place=st.sampled_from(PLACES),
    ways=st.lists(st.sampled_from(["quote", "hex", "plus", "double"]), min_size=1, max_size=3),
)
def test_no_key_and_no_input_is_in_the_audit_log(open_app: tuple[FastAPI, Path], place: str, ways: list[str]) -> None:
    app, log = open_app
    text = SECRET
    for way in ways:
        text = {
            "quote": lambda t: httpx.URL("http://h", params={"a": t}).query.decode()[2:],
            "hex": lambda t: "".join(f"%{byte:02X}" for byte in t.encode()),
            "plus": lambda t: t.replace(" ", "+"),
            "double": lambda t: t.replace("%", "%25"),
        }[way](text)
    before = log.stat().st_size
    answer = gets(app, place.replace("{}", text), X_Request_ID="r")
    written = log.read_bytes()[before:].decode()
    assert "secret" not in written.lower()
    assert "tlk" not in written.lower()
    lines = [json.loads(line) for line in written.splitlines()]
    assert len(lines) == 1 or ("{}" in place.partition("?")[0] and answer[0].status_code == 404)  # no such address
    for line in lines:
        assert line["calculation"] in {"curves/{curve}/life", "sources"}
        assert line["status"] in {200, 401, 404, 422}
        assert line["team"] in {None, "default"}
    assert answer[0].headers["x-request-id"] == "r"


def test_hangup_reads_keys_again_and_begins_a_new_audit_log(tmp_path: Path) -> None:
    app = app_of(tmp_path, entry("frames", "a"))

    async def work(client: httpx.AsyncClient) -> list[int]:
        async with app.router.lifespan_context(app):
            (tmp_path / "keys").write_text(entry("frames", "b"))
            (tmp_path / "audit").rename(tmp_path / "moved")
            os.kill(os.getpid(), signal.SIGHUP)
            await asyncio.sleep(0.05)
            return [(await client.get(LIFE, headers={"X-API-Key": key})).status_code for key in ("a", "b")]

    assert asked(app, work) == [401, 200]
    assert [line["status"] for line in audited(tmp_path)] == [401, 200]
    assert (tmp_path / "moved").read_text() == ""


def test_a_system_without_the_signal_serves_all_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    async def work() -> str:
        monkeypatch.delattr(signal, "SIGHUP")
        with on_hangup(lambda: None):
            return "served"

    assert asyncio.run(work()) == "served"


def test_the_signal_goes_on_to_every_process(monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture) -> None:
    sent: list[tuple[int, int]] = []
    monkeypatch.setattr(os, "kill", lambda *given: sent.append(given))
    monkeypatch.setattr(signal, "signal", lambda *_: None)

    def broken() -> None:
        raise Problem(400, "keys: no")

    for renew in (lambda: sent.append((0, 0)), broken):
        processes = Processes(uvicorn.Config("x:y", workers=2), [], renew)
        processes.processes = [argparse.Namespace(pid=pid) for pid in (11, None, 12)]  # type: ignore[misc]
        processes.handle_hup()
    both = [(11, signal.SIGHUP), (12, signal.SIGHUP)]
    assert sent == [(0, 0), *both, *both]
    assert caplog.messages == ["the keys stay as they were: keys: no"]


def test_processes_read_a_copy_of_the_keys_that_is_never_broken(tmp_path: Path) -> None:
    source, target = tmp_path / "source", tmp_path / "keys"
    source.write_text(entry("frames", "a"))
    copy_keys(str(source), str(target), read_keys_file)
    good = source.read_text()
    assert target.read_text() == good
    for content, said in (
        ("", f"{source} holds no key"),
        (None, f"the file of keys cannot be read: {source}: No such"),
    ):
        source.unlink()
        if content is not None:
            source.write_text(content)
        with pytest.raises(Problem) as caught:
            copy_keys(str(source), str(target), read_keys_file)
        assert caught.value.detail.startswith(said)
        assert target.read_text() == good


@pytest.fixture
def started(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Which way servers are started, in place of servers."""
    for name in [name for name in os.environ if name.startswith("TOELINE_")]:
        monkeypatch.delenv(name)
    monkeypatch.setattr(serve.os, "environ", dict(os.environ))
    found: list[str] = []
    monkeypatch.setattr(uvicorn, "run", lambda app, **given: found.append(f"one on {given['host']}"))
    monkeypatch.setattr("service.access.listening.listening", lambda _: None)

    def many(_: Processes, config: uvicorn.Config, __: object, renew: Callable[[], None]) -> None:
        renew()
        found.append(f"{config.workers} on {config.host}")

    monkeypatch.setattr(Processes, "__init__", many)
    monkeypatch.setattr(Processes, "run", lambda _: None)
    return found


def test_the_service_starts_on_a_public_address_with_keys_or_when_told(tmp_path: Path, started: list[str]) -> None:
    (tmp_path / "keys").write_text(entry("frames", "a", places=2))
    public = ("serve", "--host", "0.0.0.0")
    assert main(public) == 2
    assert main((*public, "--no-keys")) == 0
    assert serve.os.environ.pop("TOELINE_NO_KEYS") == "1"
    serve.os.environ["TOELINE_KEYS_FILE"] = str(tmp_path / "keys")
    assert main((*public, "--workers", "2")) == 0
    assert serve.os.environ["TOELINE_WORKERS"] == "2"
    assert serve.os.environ["TOELINE_KEYS_FILE"] != str(tmp_path / "keys")  # a copy, which is gone
    serve.os.environ["TOELINE_KEYS_FILE"] = str(tmp_path / "keys")
    assert main(("serve",)) == 0
    del serve.os.environ["TOELINE_KEYS_FILE"]
    assert main(("serve", "--workers", "3")) == 0
    assert started == ["one on 0.0.0.0", "2 on 0.0.0.0", "one on 127.0.0.1", "3 on 127.0.0.1"]


@pytest.mark.parametrize(
    ("variables", "options", "said"),
    [
        ({"KEYS_FILE": "none"}, (), "the file of keys cannot be read: none: No such file or directory"),
        ({"KEYS_FILE": ""}, (), "TOELINE_KEYS_FILE must name a file"),
        ({"API_KEYS": ","}, (), "TOELINE_API_KEYS must hold a key"),
        ({"API_KEYS": "a"}, ("--no-keys",), "TOELINE_NO_KEYS says that no key is asked for, and keys are set"),
        ({"AUDIT_LOG": "/none/audit"}, (), "the audit log cannot be written: /none/audit: No such file or directory"),
        ({}, ("--workers", "0"), "--workers must be 1 or more"),
        ({}, ("--host", "::"), ":: can be reached from other machines and no key is asked for"),
        ({"KEYS_FILE": "keys"}, ("--workers", "3"), "keys: team frames needs 3 places or more"),
    ],
)
def test_the_service_does_not_start_with_what_was_not_meant(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    started: list[str],
    variables: dict[str, str],
    options: tuple[str, ...],
    said: str,
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("keys").write_text(entry("frames", "a", places=2))
    serve.os.environ.update({f"TOELINE_{name}": text for name, text in variables.items()})
    assert main(("serve", *options)) == 2
    assert said in capsys.readouterr().err
    assert started == []


def test_an_application_that_was_meant_to_have_keys_is_not_made_without(tmp_path: Path) -> None:
    (tmp_path / "keys").write_text("")
    with pytest.raises(Problem, match="holds no key"):
        create_app(Settings(keys_file=str(tmp_path / "keys")))


def recorded(inner: Any, scope_type: str, log: Path) -> list[dict[str, Any]]:
    """What goes out around an application."""
    sent: list[dict[str, Any]] = []

    async def send(message: Any) -> None:
        sent.append(message)

    scope = {"type": scope_type, "headers": []}
    asyncio.run(Recorded(inner, Access(), AuditLog(str(log)))(scope, None, send))  # type: ignore[arg-type]
    return sent


def test_what_is_no_request_of_http_has_no_id(tmp_path: Path) -> None:
    async def inner(scope: Any, _: Any, send: Any) -> None:
        await send(dict(scope))

    assert recorded(inner, "lifespan", tmp_path / "log") == [{"type": "lifespan", "headers": []}]


def test_an_answer_that_breaks_off_is_a_failure_in_the_audit_log(tmp_path: Path) -> None:
    async def inner(scope: Any, _: Any, send: Any) -> None:
        call_of(scope).calculation = "check"
        await send({"type": "http.response.start", "status": 200, "headers": []})
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        recorded(inner, "http", tmp_path / "audit")
    assert [(line["outcome"], line["status"]) for line in audited(tmp_path)] == [("failed", 500)]
