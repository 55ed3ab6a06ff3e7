"""The command report, and what happens where the pictures' package is missing."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from types import ModuleType
from typing import Any

import httpx
import pytest

from service.base.envelope import evaluate
from service.base.problems import Problem
from service.cli import main
from service.report import (
    check_page,
    style,
)
from service.topics.check.models import CheckRequest
from service.topics.registry import find
from tests.api.report_pages import FOLDER, page_of, toe


def test_report_without_matplotlib_is_refused_in_words(monkeypatch: pytest.MonkeyPatch) -> None:
    style._drawing.cache_clear()
    monkeypatch.setitem(sys.modules, "matplotlib", None)
    calculation = find("check")
    assert calculation is not None
    request, content = evaluate(calculation, toe())
    assert isinstance(request, CheckRequest)
    with pytest.raises(Problem, match="need matplotlib") as caught:
        check_page.check_page(request, content)
    assert caught.value.status == 503
    assert caught.value.kind == "urn:toeline:report-not-installed"
    style._drawing.cache_clear()


class Unwritable(ModuleType):
    """Stands in for a package that finds no folder to write to."""

    def __getattr__(self, name: str) -> Any:
        raise OSError("no writable cache directory")


def test_picture_without_a_writable_folder_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    style._drawing()  # the package is loaded whole before a part of it is replaced
    style._drawing.cache_clear()
    monkeypatch.setitem(sys.modules, "matplotlib.backends", Unwritable("matplotlib.backends"))
    with pytest.raises(Problem, match="set MPLCONFIGDIR") as caught:
        style.figure(lambda _: None, "nothing")
    assert caught.value.status == 503
    style._drawing.cache_clear()


def test_report_without_a_writable_folder_is_refused_in_words(tmp_path: Path) -> None:
    file = str(FOLDER / "check" / "one-toe-constant.json")
    code = (
        "import sys, tempfile; tempfile.tempdir = '/proc/none'; from service.cli import main;"
        f"sys.exit(main(['report', {file!r}, '-o', {str(tmp_path / 'r.html')!r}]))"
    )
    environment = {**os.environ, "MPLCONFIGDIR": "/proc/none"}
    done = subprocess.run([sys.executable, "-c", code], check=False, env=environment, capture_output=True, text=True)
    assert done.returncode == 2
    assert "set MPLCONFIGDIR" in done.stderr
    assert "Traceback" not in done.stderr


def test_json_answer_does_not_load_matplotlib() -> None:
    file = str(FOLDER / "check" / "one-toe-constant.json")
    code = (
        "import json,sys; from service.base.envelope import evaluate; from service.topics.registry import find;"
        f"evaluate(find('check'), json.load(open({file!r}))['request']);"
        "sys.exit('matplotlib' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_command_writes_the_page_beside_the_request(tmp_path: Path) -> None:
    file = tmp_path / "toe.json"
    file.write_text(json.dumps(toe()), encoding="utf-8")
    assert main(["report", str(file)]) == 0
    assert "<h1>" in (tmp_path / "toe.html").read_text(encoding="utf-8")


def test_command_takes_examples_and_names(tmp_path: Path, client: httpx.Client) -> None:
    out = tmp_path / "r.html"
    served = page_of(client, toe())
    assert main(["report", str(FOLDER / "check" / "one-toe-constant.json"), "-o", str(out)]) == 0
    assert out.read_text(encoding="utf-8") == served
    file = tmp_path / "toe.json"
    file.write_text(json.dumps(toe()), encoding="utf-8")
    assert main(["report", str(file), "--calculation", "check", "-o", str(out)]) == 0


def test_command_writes_to_standard_output(tmp_path: Path, capfdbinary: pytest.CaptureFixture[bytes]) -> None:
    assert main(["report", str(FOLDER / "check" / "one-toe-constant.json"), "-o", "-"]) == 0
    assert capfdbinary.readouterr().out.startswith(b"<!DOCTYPE html>")


@pytest.mark.parametrize(
    ("data", "more", "message"),
    [
        ({"a": 1}, [], "name the calculation"),
        ([1], [], "name the calculation"),
        ({"a": 1}, ["--calculation", "curves/life"], "has no report"),
        ({"calculation": "curves/life", "request": {}}, [], "has no report"),
    ],
)
def test_command_refuses_what_has_no_report(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], data: Any, more: list[str], message: str
) -> None:
    file = tmp_path / "x.json"
    file.write_text(json.dumps(data), encoding="utf-8")
    assert main(["report", str(file), *more]) == 2
    assert message in capsys.readouterr().err
