"""Help of every command: examples that the parser takes, defaults, choices, and no line beyond 100 columns."""

from __future__ import annotations

import argparse
import re
import shlex
from pathlib import Path
from typing import Any

import pytest

from service import cli

# the order of the job: try it, from a model and its loads to a check, papers, guard, many at once, look up
ORDER = [
    *("demo", "lines", "count", "curves", "damage", "check", "grow", "fit-sn", "fit-growth"),
    *("report", "picture", "gate", "batch", "compare", "verify", "calculate", "serve", "key", "findings", "validate"),
]


def commands() -> dict[str, argparse.ArgumentParser]:
    (found,) = [each for each in cli.parser()._actions if isinstance(each, argparse._SubParsersAction)]
    return dict(found.choices)


def options() -> list[tuple[str, argparse.Action]]:
    return [(name, each) for name, command in commands().items() for each in command._actions if each.dest != "help"]


@pytest.fixture
def wide(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "200")


@pytest.mark.usefixtures("wide")
def test_commands_are_listed_in_the_order_of_the_job() -> None:
    listed = re.findall(r"^    ([\w-]+) +\w", cli.parser().format_help(), re.MULTILINE)
    assert listed == ORDER == list(commands())


@pytest.mark.usefixtures("wide")
@pytest.mark.parametrize("name", [None, *ORDER])
def test_help_fits_a_hundred_columns_and_a_narrow_terminal(name: str | None, monkeypatch: pytest.MonkeyPatch) -> None:
    shown = (cli.parser() if name is None else commands()[name]).format_help().splitlines()
    assert max(map(len, shown)) <= 100
    monkeypatch.setenv("COLUMNS", "70")
    described = commands()[name or "check"].format_help().split("options:")[1].split("example")[0].splitlines()
    assert max(map(len, described)) <= 70


@pytest.mark.parametrize("name", ORDER)
def test_every_command_shows_command_lines_that_it_takes(name: str) -> None:
    shown = re.findall(r"^  toeline (.+)$", str(commands()[name].epilog), re.MULTILINE)
    assert shown
    for line in shown:
        assert cli.parser().parse_args(shlex.split(line)).command == name
        assert line.split()[0] == name


@pytest.mark.parametrize("name", ORDER)
def test_every_command_says_what_it_does(name: str) -> None:
    text = str(commands()[name].description)
    assert text[0].isupper()
    assert text.endswith(".")


def default_words(default: Any) -> str:
    return f"(default {default:g})" if isinstance(default, float) else f"(default {default})"


@pytest.mark.parametrize(("command", "option"), options(), ids=lambda each: getattr(each, "dest", each))
def test_options_say_what_they_are_their_default_and_their_choices(command: str, option: argparse.Action) -> None:
    shown = " ".join(commands()[command].format_help().split())
    assert option.help
    if option.default not in (None, False, []):
        assert default_words(option.default) in option.help
    for choice in option.choices or ():
        assert str(choice) in shown


# defaults that the service gives to what is left out: of the models of its requests
@pytest.mark.parametrize(
    ("command", "option", "words"),
    [
        ("count", "--rule", "(default rainflow)"),
        ("count", "--residue", "(default closed)"),
        ("count", "--classes", "(default 64)"),
        ("count", "--hysteresis-threshold-mpa", "in MPa (default 0)"),
        ("damage", "--residue", "(default closed)"),
        ("damage", "--repeats", "(default 1)"),
        ("damage", "--damage-limit", "(default: that of the curve's document)"),
        ("damage", "--damage-limit-rule", "iiw-2016/general, "),
        ("gate", "--growth-pct", "in %% (default 0)"),
        ("gate", "--timeout", "in s (default 300)"),
        ("report", "--calculation", "one of check, cracks/growth, spectrum/damage, "),
        ("report", "--length-factor", "to mm, 1000 for metres (default 1)"),
        ("lines", "--length-factor", "to mm, 1000 for metres (default 1)"),
        ("lines", "--output", "(default standard output)"),
        ("picture", "--output", "(default: beside the request)"),
    ],
)
def test_defaults_of_the_service_and_units_are_named(command: str, option: str, words: str) -> None:
    (found,) = [each for name, each in options() if name == command and option in each.option_strings]
    assert words in str(found.help)


@pytest.mark.usefixtures("wide")
def test_names_are_not_broken_at_hyphens() -> None:
    assert "fkm-guideline/steel-not-welded" in commands()["damage"].format_help()


def test_the_readme_names_every_command() -> None:
    text = Path("README.md").read_text(encoding="utf-8")
    assert [name for name in ORDER if f"`toeline {name}`" not in text] == []
