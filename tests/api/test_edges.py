"""Corners that a request rarely reaches: other protocols, errors after the start, work limits, the module."""

from __future__ import annotations

import asyncio
import json
import runpy
import signal
import sys
from typing import Any

import httpx
import pytest

from fatcore import __version__
from fatcore.errors import NotConvergedError
from service import cli
from service.base.common import Strict
from service.base.envelope import evaluate
from service.base.problems import Problem, from_core
from service.commands import look_up
from service.http.middleware import BodyLimit, LastNet, _with_fixed
from service.http.settings import Settings
from service.topics.check import routes as check_module
from service.topics.registry import find
from tests.api.test_strictness import REQUEST, is_problem


def test_other_protocols_pass_through() -> None:
    seen: list[str] = []

    async def inner(scope: Any, receive: Any, send: Any) -> None:
        seen.append(scope["type"])

    for wrapped in (LastNet(inner), BodyLimit(inner, Settings())):
        asyncio.run(wrapped({"type": "lifespan"}, None, None))  # type: ignore[arg-type]
    assert seen == ["lifespan", "lifespan"]


def test_an_error_after_the_answer_began_is_raised() -> None:
    async def broken(scope: Any, receive: Any, send: Any) -> None:
        await send({"type": "http.response.start", "status": 200, "headers": []})
        raise RuntimeError("late")

    async def send(message: Any) -> None:
        assert message["type"] == "http.response.start"

    scope = {"type": "http", "method": "GET", "path": "/"}
    with pytest.raises(RuntimeError, match="late"):
        asyncio.run(LastNet(broken)(scope, None, send))  # type: ignore[arg-type]


def test_too_much_work_is_refused(client: httpx.Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(check_module, "MAX_WORK", 1)
    problem = is_problem(client.post("/v1/check", json=REQUEST), 422)
    assert problem["errors"][0]["pointer"] == "/loading"
    work = int(problem["detail"].partition("here ")[2].partition(";")[0])
    monkeypatch.setattr(check_module, "MAX_WORK", work)
    assert client.post("/v1/check", json=REQUEST).status_code == 200


def test_an_iteration_that_does_not_end_is_the_callers_problem() -> None:
    assert from_core(NotConvergedError("no root")).kind == "urn:toeline:not-converged"


def test_validation_that_runs_too_deep(monkeypatch: pytest.MonkeyPatch) -> None:
    def deep(cls: type[Strict], data: Any) -> Strict:
        raise RecursionError

    calculation = find("check")
    assert calculation is not None
    monkeypatch.setattr(calculation.request, "model_validate", classmethod(deep))
    with pytest.raises(Problem, match="deeply"):
        evaluate(calculation, {})


def test_calculate_any_calculation(tmp_path: Any, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "request.json"
    path.write_text(json.dumps(REQUEST), encoding="utf-8")
    assert cli.main(["calculate", "check", str(path)]) == 0
    assert json.loads(capsys.readouterr().out)["answer"]["verdict"] == "pass"
    with pytest.raises(Problem):
        look_up._get("no/such", {})


def test_the_module_is_the_command_line(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setattr(sys, "argv", ["toeline", "curves", "--json"])
    monkeypatch.delitem(sys.modules, "service.__main__", raising=False)
    before = signal.getsignal(signal.SIGINT)
    with pytest.raises(SystemExit) as ended:
        runpy.run_module("service", run_name="__main__")
    signal.signal(signal.SIGINT, before)
    assert ended.value.code == 0
    assert json.loads(capsys.readouterr().out)["answer"]["id"]


def test_the_kind_of_an_answer_is_fixed_once_and_other_headers_stay() -> None:
    fixed = (b"x-content-type-options", b"nosniff")
    others = [
        (b"content-type", b"text/csv"),
        (b"x-first", b"x-content-type-options"),
        (b"x-last", b"nosniff"),
    ]
    version = (b"x-toeline-version", __version__.encode())
    assert _with_fixed(others) == [*others, fixed, version]
    assert _with_fixed([(fixed[0], b"none"), *others, fixed, version]) == [*others, fixed, version]
