"""What a command prints for a person is at most 100 columns wide, whatever it is about."""

from __future__ import annotations

from pathlib import Path

import pytest

from service.base.text import WIDTH, sentence_lines
from service.cli import main

EXAMPLES = Path(__file__).parents[2] / "openapi_examples"
COMMANDS = (
    ["curves"],
    ["curves", "iiw-2016-normal-steel-71"],
    ["findings"],
    ["grow", str(EXAMPLES / "cracks/growth-surface-blocks.json")],
    ["check", str(EXAMPLES / "check/one-toe-constant.json")],
    ["damage", str(EXAMPLES / "spectrum/damage-blocks.json")],
    ["fit-growth", str(EXAMPLES / "trials/growth-rate-plate.json")],
)


@pytest.mark.parametrize("command", COMMANDS, ids=" ".join)
def test_no_line_is_wider_than_a_terminal(command: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    main(command)
    lines = capsys.readouterr().out.splitlines()
    assert max(map(len, lines)) <= WIDTH == 100


def test_no_value_of_a_curve_is_written_as_a_program_has_it(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["curves", "iiw-2016-normal-steel-71"]) == 0
    shown = " ".join(capsys.readouterr().out.split())
    assert "{" not in shown
    assert "fail-safe (loss-of-secondary-part 1, loss-of-structure 1.15, loss-of-life 1.3)" in shown


def test_gate_is_no_wider_than_a_terminal_and_breaks_no_path(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    name = f"{'a-long-name-of-a-check' * 3}.json"
    Path(name).write_bytes((EXAMPLES / "check/one-toe-constant.json").read_bytes())
    assert main(["gate", name, "--limit", "0.01"]) == 1
    shown = capsys.readouterr().out
    assert name in shown
    assert max(map(len, shown.splitlines())) <= WIDTH


def test_sentences_keep_their_lines_and_whole_words() -> None:
    long = "x" * 120
    assert list(sentence_lines([f"one {long}\n  two"], "  ")) == [f"  one\n      {long}", "    two"]
