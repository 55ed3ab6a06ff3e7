"""The command report, and what happens where the packages of the extra are missing."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import httpx
import pytest

from service.cli import main
from service.report import renderers
from tests.api.report_pages import FOLDER, PAGE, page_of, toe
from tests.api.test_strictness import is_problem


@pytest.mark.parametrize(
    ("error", "kind", "words"),
    [
        (
            ModuleNotFoundError("No module named 'jinja2'", name="jinja2"),
            "not-installed",
            "reports need jinja2, which is not installed here: install toeline with its extra 'report'",
        ),
        (OSError("no writable cache directory"), "without-folder", "set MPLCONFIGDIR"),
    ],
)
def test_page_without_its_packages_is_refused_in_words(
    client: httpx.Client, monkeypatch: pytest.MonkeyPatch, error: Exception, kind: str, words: str
) -> None:
    def missing(*_: object) -> None:
        raise error

    monkeypatch.setattr(renderers, "import_module", missing)
    problem = is_problem(client.post("/v1/check", json=toe(), headers=PAGE), 503)
    assert words in problem["detail"]
    assert problem["type"] == f"urn:toeline:report-{kind}"
    assert client.post("/v1/check", json=toe()).status_code == 200


@pytest.mark.parametrize("package", ["matplotlib", "jinja2"])
def test_json_answer_and_its_text_need_no_package_of_the_extra(tmp_path: Path, package: str) -> None:
    file = str(FOLDER / "check" / "one-toe-constant.json")
    code = (
        f"import sys; sys.modules[{package!r}] = None; from service.cli import main;"
        f"assert main(['check', {file!r}]) == 0; sys.stderr.write('checked\\n');"
        f"sys.exit(main(['report', {file!r}, '-o', {str(tmp_path / 'r.html')!r}]))"
    )
    told = subprocess.run([sys.executable, "-c", code], check=False, capture_output=True, text=True)
    assert told.stderr.startswith("checked\n"), told.stderr
    assert told.returncode == 2
    assert f"need {package}" in told.stderr
    assert "Traceback" not in told.stderr


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


def test_json_answer_does_not_load_the_packages_of_the_extra() -> None:
    file = str(FOLDER / "check" / "one-toe-constant.json")
    code = (
        "import json,sys; from service.base.envelope import evaluate; from service.topics.registry import find;"
        f"evaluate(find('check'), json.load(open({file!r}))['request']).content();"
        "sys.exit('matplotlib' in sys.modules or 'jinja2' in sys.modules)"
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
