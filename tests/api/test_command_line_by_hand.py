"""How the command line ends: exit codes, and what it says where it was stopped or refused."""

from __future__ import annotations

import argparse
import io
import sys
from typing import Any

import pytest

import service
from fatcore import __version__
from fatcore.errors import InputError
from service import cli
from service.base.problems import Problem
from service.client.errors import ProblemError, UnreachableError


def ended(monkeypatch: pytest.MonkeyPatch, error: BaseException | None = None, code: int = 0) -> int:
    """Exit code of a command that ends with an error, or with a code of its own."""

    class Command:
        def parse_args(self, arguments: Any) -> argparse.Namespace:
            def run(_: argparse.Namespace) -> int:
                if error is not None:
                    raise error
                return code

            return argparse.Namespace(run=run)

    monkeypatch.setattr(cli, "parser", Command)
    return cli.main(["x"])


@pytest.mark.parametrize(
    ("error", "code", "said"),
    [
        (InputError("too thin", "lines", 0), 2, "toeline: /lines/0: too thin\n"),
        (Problem(422, "d", [("", "one"), ("/a", "two")]), 2, "toeline: d\n  /: one\n  /a: two\n"),
        (Problem(422, "/a: two", [("/a", "two")]), 2, "toeline: /a: two\n"),
        (Problem(400, "the body", [("", "is empty")]), 2, "toeline: the body\n  /: is empty\n"),
        (ProblemError(422, "d"), 2, "toeline: 422: d\n"),
        (ProblemError(500, "d"), 3, "toeline: 500: d\n"),
        (UnreachableError("no connection", 4), 3, "toeline: no connection\n"),
        (FileNotFoundError(2, "No such file or directory", "a.csv"), 2, "toeline: a.csv: No such file or directory\n"),
        (OSError("odd"), 2, "toeline: odd\n"),
        (KeyboardInterrupt(), 130, "toeline: stopped\n"),
    ],
)
def test_an_error_ends_a_command_with_its_code_and_words(
    error: BaseException, code: int, said: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert ended(monkeypatch, error) == code
    assert capsys.readouterr().err == said


@pytest.mark.parametrize("code", [0, 1])
def test_a_command_that_ends_well_has_its_own_code(code: int, monkeypatch: pytest.MonkeyPatch) -> None:
    assert ended(monkeypatch, code=code) == code


def test_no_command_and_an_unknown_one_are_bad_input(capsys: pytest.CaptureFixture[str]) -> None:
    for arguments in ([], ["nothing-such"]):
        with pytest.raises(SystemExit) as stopped:
            cli.main(arguments)
        assert stopped.value.code == 2
        assert "COMMAND" in capsys.readouterr().err


def test_the_version_and_every_command_are_known(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as stopped:
        cli.main(["--version"])
    assert stopped.value.code == 0
    assert capsys.readouterr().out == f"toeline {__version__}\n"
    text = cli.parser().format_help()
    for command in ("check", "lines", "damage", "grow", "report", "picture", "gate", "batch", "demo", "serve"):
        assert f"    {command} " in text or f"    {command}\n" in text, command


def test_a_stream_of_few_letters_shows_the_others_as_escapes(monkeypatch: pytest.MonkeyPatch) -> None:
    out = io.TextIOWrapper(io.BytesIO(), encoding="ascii")
    monkeypatch.setattr(sys, "stdout", out)
    monkeypatch.setattr(sys, "stderr", io.StringIO())  # is no such stream: left as it is
    ended(monkeypatch)
    out.write("Δσ")
    out.flush()
    assert out.buffer.getvalue() == b"\\u0394\\u03c3"


def test_what_the_package_exports_is_taken_from_its_module() -> None:
    from service.client.client import Client
    from service.http.app import create_app

    assert service.Client is Client
    assert service.create_app is create_app
    with pytest.raises(AttributeError, match="module 'service' has no attribute 'nothing'"):
        _ = service.nothing
