"""Names that a terminal or the runner of a pipeline would take for commands: printed, they are texts."""

from __future__ import annotations

import json
import re
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from service import cli
from service.base.forms.printable import for_terminal, inert_json

EXAMPLE = Path(__file__).parents[2] / "openapi_examples" / "check" / "one-toe-constant.json"
NAMES = ("::error::stop", "##[command]x", "a\n::set-output name=a::b", "a\x1b[2K\x9b2K\u202e ##vso[task.x]")
COMMAND = re.compile(r"^\s*::|##\w*\[|[\x00-\x09\x0b-\x1f\x7f-\x9f\u202e]", re.MULTILINE)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Checks whose paths, titles and lines have such names; the last one is refused with its name."""
    monkeypatch.chdir(tmp_path)
    checks = tmp_path / "::warning::checks"
    checks.mkdir()
    for number, name in enumerate(NAMES):
        data = json.loads(EXAMPLE.read_bytes())["request"]
        data["title"] = data["lines"][0]["name"] = name
        (checks / f"{'::error::' if number else '##[x]'}{number}.json").write_text(json.dumps(data))
    (checks / "::error::refused.json").write_text(json.dumps({"lines": [], "loading": {}, "\n::error::key": 1}))
    return checks


def test_what_a_gate_prints_and_writes_holds_no_command(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    given = ["gate", folder.name, "--junit", "a.xml", "--markdown", "a.md"]
    cli.main(given)
    printed = capsys.readouterr()
    cli.main([*given, "--json"])
    as_json = capsys.readouterr().out
    read = "\n".join(each for node in ET.parse("a.xml").iter() for each in (node.text or "", *node.attrib.values()))
    for text in (printed.out, printed.err, as_json, read, Path("a.md").read_text()):
        assert not COMMAND.search(text), COMMAND.search(text)
    assert NAMES[0] in as_json
    assert NAMES[3] in {line["name"] for check in json.loads(as_json)["checks"] for line in check["lines"]}


def test_other_commands_print_no_command_either(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for path in (*map(str, sorted(folder.iterdir())), "::error::none"):
        for command in (["check", path], ["check", path, "--json"], ["check", path, "--findings"], ["batch", path]):
            cli.main(command)
            printed = capsys.readouterr()
            assert not COMMAND.search(printed.out + printed.err)
    with pytest.raises(SystemExit):
        cli.main(["check", "x", "\n::error::x"])
    assert not COMMAND.search(capsys.readouterr().err)


def test_json_reads_as_before() -> None:
    for name in NAMES:
        text = json.dumps({name: name}, ensure_ascii=False)
        assert json.loads(inert_json(text)) == {name: name}
    assert inert_json('{"a":"# ## ##a [ ä"}') == '{"a":"# ## ##a [ ä"}'


@pytest.mark.parametrize(
    ("text", "printed"),
    [
        ("::a::", "\\::a::"),
        (" \t::a", " \\t::a"),
        ("\u3000::a", "\u3000\\::a"),
        ("x\n  ::a\n\n::b", "x\n  \\::a\n\n\\::b"),
        ("a::b", "a::b"),
        ("##[a]##vso[b]", "#\\#[a]#\\#vso[b]"),
        ("## a [b]", "## a [b]"),
    ],
)
def test_commands_are_parted_by_a_backslash(text: str, printed: str) -> None:
    assert for_terminal(text) == printed
