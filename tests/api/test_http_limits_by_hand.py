"""Who may start a calculation, each limit from both sides with small settings: keys, settings, queue, waits."""

from __future__ import annotations

import asyncio
import gc
import logging

import pytest
from starlette.datastructures import Headers, QueryParams
from starlette.routing import Route

from service.base.problems import Problem
from service.http.admission import Admission
from service.http.app import create_app
from service.http.metrics import Metrics
from service.http.security import access_of, admit, hide_keys_in_log
from service.http.settings import Settings


class Asked:
    """What security reads of a request."""

    def __init__(self, headers: dict[str, str], query: str = "") -> None:
        self.headers, self.query_params, self.scope = Headers(headers), QueryParams(query), {}


def keyed(settings: Settings, headers: dict[str, str], query: str = "") -> int:
    """Status that the key of a request is answered with."""
    try:
        admit(Asked(headers, query), "check", access_of(settings), allow_query_key=settings.allow_query_key)  # type: ignore[arg-type]
    except Problem as problem:
        return problem.status
    return 200


def test_no_key_is_asked_for_where_none_is_set() -> None:
    assert keyed(Settings(), {}) == 200


def test_the_key_of_the_header_counts_before_that_of_the_address() -> None:
    settings = Settings(api_keys=("one", "two"), allow_query_key=True)
    assert keyed(settings, {"x-api-key": "two"}) == keyed(settings, {}, "key=one") == 200
    assert keyed(settings, {"x-api-key": "wrong"}, "key=one") == 401
    assert keyed(settings, {}) == keyed(settings, {}, "key=three") == 401
    assert keyed(Settings(api_keys=("one",)), {}, "key=one") == 401


def test_who_has_no_key_is_told_where_it_belongs() -> None:
    with pytest.raises(Problem, match=r"^give a known key in the header X-API-Key$") as caught:
        admit(Asked({}), "check", access_of(Settings(api_keys=("one",))), allow_query_key=True)  # type: ignore[arg-type]
    assert caught.value.headers == {"WWW-Authenticate": "ApiKey"}


def test_keys_in_logged_addresses_are_blanked_once_for_good(monkeypatch: pytest.MonkeyPatch) -> None:
    access, errors = logging.getLogger("uvicorn.access"), logging.getLogger("uvicorn.error")
    for logger in (access, errors):
        monkeypatch.setattr(logger, "filters", [])
    hide_keys_in_log([Route("/v1/a", str)])
    assert access.filters == errors.filters
    assert len(access.filters) == 1
    access.addFilter(lambda _: True)
    hide_keys_in_log([Route("/v1/a", str), Route("/v1/b/{c}", str), str])
    assert len(access.filters) == 2
    assert len(errors.filters) == 1
    address = "/v1/a?only=x&KEY=secret&b=1"
    record = logging.LogRecord(
        "uvicorn.access", 20, "", 0, '%s - "%s %s HTTP/%s" %d', ("::1:7", "GET", address, "1.1", 200), None
    )
    plain = logging.LogRecord("uvicorn.access", 20, "", 0, "started", None, None)
    assert access.filter(record)
    assert access.filter(plain)
    assert record.getMessage() == '::1:7 - "GET /v1/a?... HTTP/1.1" 200'
    assert plain.getMessage() == "started"


@pytest.mark.parametrize(
    ("name", "text", "value"),
    [
        ("MAX_BODY_BYTES", "1", 1),
        ("MAX_RUNNING", "999999999999999", 999_999_999_999_999),
        ("MAX_WAIT_S", "0", 0),
        ("RETRY_AFTER_S", "0", 0),
        ("BODY_WAIT_S", "007", 7),
        ("ALLOW_QUERY_KEY", "TRUE", True),
        ("ALLOW_QUERY_KEY", "1", True),
        ("ALLOW_QUERY_KEY", "0", False),
        ("ALLOW_QUERY_KEY", "False", False),
        ("API_KEYS", " a ,, b c ,", ("a", "b c")),
        ("KEYS_FILE", "/run/keys", "/run/keys"),
        ("AUDIT_LOG", "a b", "a b"),
        ("NO_KEYS", "1", True),
        ("WORKERS", "4", 4),
    ],
)
def test_a_setting_is_read_from_its_variable(name: str, text: str, value: object) -> None:
    settings = Settings.from_environment({f"TOELINE_{name}": text, name: "3"})
    assert getattr(settings, name.lower()) == value


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("MAX_BODY_BYTES", "0", "a whole number of at least 1"),
        ("MAX_RUNNING", "0", "a whole number of at least 1"),
        ("BODY_WAIT_S", "0", "a whole number of at least 1"),
        ("MAX_WAIT_S", "-1", "a whole number of at least 0"),
        ("MAX_WAIT_S", "1.5", "a whole number of at least 0"),
        ("MAX_WAIT_S", "", "a whole number of at least 0"),
        ("MAX_WAIT_S", "\u0661", "a whole number of at least 0"),  # a decimal digit of another script
        ("MAX_RUNNING", "1000000000000000", "a whole number of at least 1"),
        ("ALLOW_QUERY_KEY", "yes", "0, 1, true or false"),
        ("NO_KEYS", "", "0, 1, true or false"),
        ("WORKERS", "0", "a whole number of at least 1"),
    ],
)
def test_a_setting_that_cannot_be_read_is_named(name: str, text: str, said: str) -> None:
    with pytest.raises(ValueError, match=f"^TOELINE_{name} must be {said}$"):
        Settings.from_environment({f"TOELINE_{name}": text})


@pytest.mark.parametrize(
    ("variables", "said"),
    [
        ({"API_KEYS": ""}, "TOELINE_API_KEYS must hold a key"),
        ({"API_KEYS": " , ,"}, "TOELINE_API_KEYS must hold a key"),
        ({"KEYS_FILE": ""}, "TOELINE_KEYS_FILE must name a file, or not be set"),
        ({"KEYS_FILE": " "}, "TOELINE_KEYS_FILE must name a file, or not be set"),
        ({"AUDIT_LOG": ""}, "TOELINE_AUDIT_LOG must name a file, or not be set"),
        ({"NO_KEYS": "1", "API_KEYS": "a"}, "TOELINE_NO_KEYS says that no key is asked for, and keys are set"),
        ({"NO_KEYS": "1", "KEYS_FILE": "a"}, "TOELINE_NO_KEYS says that no key is asked for, and keys are set"),
    ],
)
def test_keys_that_were_meant_and_are_not_there_are_refused(variables: dict[str, str], said: str) -> None:
    with pytest.raises(ValueError, match=f"^{said}$"):
        Settings.from_environment({f"TOELINE_{name}": text for name, text in variables.items()})


def test_the_environment_of_the_process_is_read(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TOELINE_MAX_RUNNING", "9")
    assert Settings.from_environment().max_running == 9
    assert Settings.from_environment({}).max_running == 2


def test_what_an_operator_does_not_set_is_as_documented() -> None:
    assert Settings() == Settings(
        max_body_bytes=67_108_864,
        max_running=2,
        max_waiting=64,
        max_run_s=30,
        max_item_s=300,
        max_batch_s=3600,
        worker_memory_mib=2048,
        worker_processes=True,
        keys_file="",
        api_keys=(),
        no_keys=False,
        workers=1,
        audit_log="",
        allow_query_key=False,
        retry_after_s=2,
        max_wait_s=30,
        max_connections=1000,
        head_wait_s=10,
        stop_s=30,
        body_wait_s=120,
    )


def test_a_body_that_does_not_come_in_time_is_a_408() -> None:
    class Slow:
        async def body(self) -> bytes:
            await asyncio.sleep(60.0)
            return b""

    class Quick:
        async def body(self) -> bytes:
            return b"x"

    admission = Admission(Settings(body_wait_s=0.01), Metrics())  # type: ignore[arg-type]
    assert asyncio.run(admission.body(Quick())) == b"x"  # type: ignore[arg-type]
    with pytest.raises(Problem) as caught:
        asyncio.run(admission.body(Slow()))  # type: ignore[arg-type]
    assert (caught.value.status, caught.value.headers) == (408, {"Connection": "close"})
    assert caught.value.detail == "the body did not arrive within 0.01 s"


def test_garbage_is_looked_for_seldom_while_the_service_runs_and_as_before_then() -> None:
    before, frozen = gc.get_threshold(), gc.get_freeze_count()
    app = create_app(Settings(worker_processes=False))

    async def run() -> None:
        async with app.router.lifespan_context(app):
            assert gc.get_threshold() == (50_000, *before[1:])
            assert gc.get_freeze_count() > frozen

    asyncio.run(run())
    assert gc.get_threshold() == before
    assert gc.get_freeze_count() == 0
