"""What the demo suggests to do next can be done, in an empty folder and in this order."""

from __future__ import annotations

import json
import shlex
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
import uvicorn

from service import cli
from service.commands import demo

Out = pytest.CaptureFixture[str]


@pytest.fixture(autouse=True)
def empty(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def suggested(capsys: Out) -> list[list[str]]:
    """The words of the commands that the demo ends with."""
    assert cli.main(["demo"]) == 0
    end = capsys.readouterr().out.split("Where to go from here:\n")[1]
    return [shlex.split(line) for line in end.splitlines() if not line.startswith("  #")]


def test_every_suggested_command_runs(capsys: Out, monkeypatch: pytest.MonkeyPatch) -> None:
    served: list[str] = []
    monkeypatch.setattr(uvicorn, "run", lambda app, **_: served.append(app))
    monkeypatch.setattr(demo, "_program", lambda: "toeline")
    commands = suggested(capsys)
    assert [words[:2] for words in commands] == [["toeline", name] for name in ("demo", "lines", "check", "serve")]
    for _, *words in commands:
        assert cli.main(words) == 0, words
    assert served == ["service.http.app:app"]
    assert "PASS" in capsys.readouterr().out
    assert json.loads(Path("bracket/check.json").read_text(encoding="utf-8")) == demo.bracket_request()


def test_files_that_somebody_changed_stay(capsys: Out) -> None:
    assert cli.main(["demo", "--files", "new/folder"]) == 0
    assert capsys.readouterr().out.splitlines() == [
        f"written: {Path('new/folder') / name}" for name in ("notch_lines_d0p75.csv", "lines.toml")
    ]
    assert cli.main(["demo", "--files", "new/folder"]) == 0
    Path("new/folder/lines.toml").write_text("mine", encoding="utf-8")
    Path("new/folder/notch_lines_d0p75.csv").unlink()
    assert cli.main(["demo", "--files", "new/folder"]) == 2
    assert "lines.toml is there already, and another one" in capsys.readouterr().err
    assert [path.name for path in Path("new/folder").iterdir()] == ["lines.toml"]


@pytest.fixture
def python_at(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Callable[..., Path]:
    """Plays an interpreter with or without the program beside it, and what a shell finds."""

    def play(folder: str, *, script: bool = True, found: str | None = None) -> Path:
        place = tmp_path / folder
        place.mkdir(parents=True)
        if script:
            (place / "toeline").touch()
        monkeypatch.setattr(sys, "executable", str(place / "python"))
        monkeypatch.setattr(demo.shutil, "which", lambda _: found and str(tmp_path / found))
        return place

    return play


def test_the_program_is_called_as_it_can_be_called_here(
    python_at: Callable[..., Path], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    inside = tmp_path / "work"
    inside.mkdir()
    monkeypatch.chdir(inside)
    python_at("work/.venv/bin", found="work/.venv/bin/toeline")
    assert demo._program() == ".venv/bin/toeline"
    python_at("a/bin", found="a/bin/toeline")
    assert demo._program() == "toeline"
    place = python_at("b b/bin", found="a/bin/toeline")
    assert demo._program() == f"'{place}/toeline'"
    place = python_at("c/bin")
    assert demo._program() == f"{place}/toeline"
    place = python_at("d/bin", script=False)
    assert demo._program() == f"{place}/python -m service"
