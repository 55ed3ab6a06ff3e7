"""README: short, its Python runs, its links lead somewhere, its commands do what is printed."""

from __future__ import annotations

import doctest
import re
from pathlib import Path

import pytest

from service.cli import main

ROOT = Path(__file__).parents[1]
README = ROOT / "README.md"
PAGES = [README, ROOT / "DEVELOPERS.md", *sorted((ROOT / "service" / "guides").glob("*.md"))]


def test_readme_is_short() -> None:
    assert len(README.read_text(encoding="utf-8").splitlines()) <= 150


def test_python_of_readme_runs_and_takes_few_lines() -> None:
    text = README.read_text(encoding="utf-8")
    (block,) = re.findall(r"```python\n(.*?)```", text, re.DOTALL)
    assert len([line for line in block.splitlines() if line.startswith((">>>", "..."))]) <= 12
    example = doctest.DocTestParser().get_doctest(block, {}, "README.md", str(README), 0)
    found = doctest.DocTestRunner(optionflags=doctest.NORMALIZE_WHITESPACE).run(example)
    assert found.attempted >= 6
    assert found.failed == 0


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_links_lead_to_files_that_exist(page: Path) -> None:
    for target in re.findall(r"\]\(([^)#:]+)\)", page.read_text(encoding="utf-8")):
        assert (page.parent / target).exists(), target


def test_the_example_of_ones_own_model_passes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    text = README.read_text(encoding="utf-8")
    part = text[text.index("## Your own model") : text.index("## A check over HTTP")]
    folder, *commands = re.findall(r"^    (.+)$", part, re.MULTILINE)
    (tmp_path / "openapi_examples").symlink_to(ROOT / "openapi_examples")
    monkeypatch.chdir(tmp_path)
    for command in commands:
        words = command.replace("$D", folder.removeprefix("D=")).split()
        assert words[0] == "toeline"
        assert main(words[1:]) == 0
    assert "PASS" in capsys.readouterr().out
