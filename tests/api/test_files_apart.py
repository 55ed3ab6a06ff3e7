"""What a command reads it does not write over, no file is written twice, and streams are written as they are."""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import threading
from collections.abc import Callable
from pathlib import Path

import pytest

from service import cli
from service.base import progress
from service.batch.file import local_answers, resume, start_over
from service.commands.texts.parser import InputFile
from service.commands.texts.telling import tell
from service.files.apart import is_same
from service.files.places import descriptor_of, is_stream
from service.files.writing import replace_file

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "openapi_examples" / "check" / "one-toe-constant.json"
ITEM = {"id": 1, "calculation": "curves/life", "input": {"curve": "peak-stress-opening", "stress_range_mpa": [90.0]}}
READ = "is read by this command, and would be written over: name another output"
# what names no file, though it takes a text
WORDS = {
    *("help", "command", "column", "columns", "title", "document", "kind", "material", "environment", "curve", "code"),
    *("calculation", "action", "team", "scope", "expires", "symmetry", "server", "shard", "dask", "because", "accept"),
    *("name", "stress_kind", "range_per_load_origin", "damage_limit_rule", "host", "reports", "files"),
}


def actions() -> list[tuple[str, argparse.Action]]:
    (found,) = [each for each in cli.parser()._actions if isinstance(each, argparse._SubParsersAction)]
    return [(name, each) for name, command in found.choices.items() for each in command._actions]


@pytest.mark.parametrize(("command", "action"), actions())
def test_every_text_of_a_command_line_is_a_file_or_is_known_to_be_none(command: str, action: argparse.Action) -> None:
    if action.nargs == 0 or action.choices is not None or action.type is not None:
        return
    assert action.dest in WORDS, f"{command}: type=InputFile or OutputFile, or a word of this list"


@pytest.mark.parametrize(
    ("command", "dest"), [("gate", "checks"), ("count", "files"), ("verify", "files"), ("check", "policy")]
)
def test_files_that_are_read_are_known_as_such(command: str, dest: str) -> None:
    assert [each.type for name, each in actions() if (name, each.dest) == (command, dest)] == [InputFile]


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    check = json.dumps(json.loads(EXAMPLE.read_bytes())["request"])
    for name in ("check.json", "check.html", "check.svg"):
        Path(name).write_text(check)
    Path("in.ndjson").write_text(json.dumps(ITEM))
    Path("part").write_text("part\n")
    Path("base.json").write_text("{}")
    Path("policy.toml").write_text("")
    Path("fitted.json").write_text("{}")
    Path("mesh.vtu").write_text("mesh")
    Path("table.csv").write_text("a\n1\n")
    Path("map.toml").write_text("")
    Path("link").symlink_to("check.json")
    Path("hard").hardlink_to("in.ndjson")
    Path("checks").mkdir()
    Path("checks/a.json").write_text(check)
    return tmp_path


@pytest.mark.parametrize(
    "command",
    [
        "batch in.ndjson -o in.ndjson",
        "batch in.ndjson -o in.ndjson --anew",
        "batch in.ndjson -o ./checks/../in.ndjson --anew",
        "batch in.ndjson -o hard",
        "batch in.ndjson -o in.ndjson --merge part",
        "batch in.ndjson -o part --merge part",
        "batch in.ndjson -o fitted.json --fitted fitted.json",
        "batch in.ndjson -o policy.toml --policy policy.toml",
        "check check.json -o check.json",
        "check check.json -o link",
        "check link -o check.json",
        "check check.json --csv check.json",
        "check check.json -o fitted.json --fitted fitted.json",
        "report check.json -o check.json",
        "report check.json -o base.json --baseline base.json",
        "report check.html",
        "report check.json --mesh check.html",
        "picture check.json -o check.json",
        "picture check.svg",
        "picture check.json -o mesh.vtu --mesh mesh.vtu",
        "lines mesh.vtu --list --picture mesh.vtu",
        "lines table.csv --map map.toml -o table.csv",
        "lines table.csv --map map.toml -o map.toml",
        "lines mesh.vtu --map map.toml --table table.csv -o table.csv",
        "fit-sn table.csv --save table.csv",
        "fit-sn table.csv --report part --compare part",
        "fit-growth table.csv --specimen part --save part",
        "gate check.json --junit check.json",
        "gate check.json --markdown check.json",
        "gate checks --junit checks/a.json",
        "gate checks/*.json --markdown checks/a.json",
        "gate check.json --baseline base.json --junit base.json",
        "gate check.json --baseline base.json --markdown base.json --write-baseline",
        "gate check.json --shard 1/2 --write-baseline --part base.json --baseline base.json",
        "gate check.json --shard 1/2 --write-baseline --part check.json --baseline none.json",
    ],
)
def test_no_command_writes_over_what_it_reads(command: str, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = {path.name: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    assert cli.main(command.split()) == 2
    assert READ in capsys.readouterr().err
    assert {path.name: path.read_bytes() for path in folder.rglob("*") if path.is_file()} == before


def test_a_policy_that_the_environment_names_is_read_too(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("TOELINE_POLICY", "policy.toml")
    assert cli.main(["check", "check.json", "-o", "policy.toml"]) == 2
    assert READ in capsys.readouterr().err
    assert cli.main(["check", "check.json", "-o", "policy.toml", "--policy", "part"]) == 2
    assert "part" in capsys.readouterr().err


@pytest.mark.parametrize(
    "command",
    ["check check.json -o a --csv a", "check check.json -o a --csv ./a", "gate check.json --junit a --markdown a"],
)
def test_no_file_is_written_twice(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(command.split()) == 2
    assert "a is named for two outputs" in capsys.readouterr().err


def test_files_are_the_same_by_links_and_names(folder: Path) -> None:
    assert is_same(Path("link"), Path("check.json"))
    assert is_same(Path("hard"), Path("in.ndjson"))
    assert is_same(Path("none"), folder / "checks" / ".." / "none")
    assert not is_same(Path("none"), Path("check.json"))


def test_standard_input_is_read_once(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["check", "-", "--fitted", "-"]) == 2
    assert capsys.readouterr().err == "toeline: standard input is named for two inputs, and can be read once\n"


@pytest.mark.parametrize(
    ("command", "text"),
    [
        ("check check.json --csv -", "--csv takes a file, not -: standard output is where the result goes"),
        ("check check.json -o -", "-o/--output takes a file, not -"),
        ("gate check.json --junit -", "--junit takes a file, not -"),
        ("check check.json -o=", "takes the name of a file, not nothing"),
        ("batch in.ndjson --output=", "takes the name of a file, not nothing"),
    ],
)
def test_a_file_beside_the_result_is_a_file(command: str, text: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        cli.main(command.split())
    assert ended.value.code == 2
    assert text in capsys.readouterr().err


def test_a_hyphen_is_standard_output_for_every_result(capsys: pytest.CaptureFixture[str]) -> None:
    for command in (["batch", "in.ndjson"], ["report", "check.json"], ["lines", "--keys"]):
        assert cli.main([*command, "-o", "-"]) == 0
        assert len(capsys.readouterr().out) > 100
    assert not Path("-").exists()
    assert cli.main(["batch", "in.ndjson", "--merge", "part", "-o", "-"]) == 2
    assert "--merge goes with -o alone" in capsys.readouterr().err


ITEMS = [json.dumps({**ITEM, "id": number}).encode() for number in range(3)]


def read_from_pipe(write: Callable[[Path], object]) -> bytes:
    """What comes through a named pipe while a function writes to it."""
    os.mkfifo("pipe")
    found: list[bytes] = []
    reader = threading.Thread(target=lambda: found.append(Path("pipe").read_bytes()), daemon=True)
    reader.start()
    write(Path("pipe"))
    reader.join(20)
    assert is_stream(Path("pipe"))
    return found[0]


@pytest.mark.parametrize("run", [resume, start_over])
def test_a_batch_to_a_pipe_is_written_and_never_read_back(run: Callable[..., object]) -> None:
    resume(ITEMS, Path("out"), local_answers)
    assert read_from_pipe(lambda pipe: run(ITEMS, pipe, local_answers)) == Path("out").read_bytes()


def test_a_file_that_is_written_whole_goes_through_a_pipe_as_well() -> None:
    assert read_from_pipe(lambda pipe: replace_file(pipe, b"content")) == b"content"


@pytest.mark.parametrize("more", [[], ["--anew"]])
def test_a_batch_to_a_device_leaves_it_and_is_not_continued(
    more: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.main(["batch", "in.ndjson", "-o", "/dev/null", *more]) == 0
    assert Path("/dev/null").is_char_device()
    assert "1 answered, 0 with a problem (0 of them" in capsys.readouterr().err


def test_a_full_device_is_want_of_room(capsys: pytest.CaptureFixture[str]) -> None:
    for command in (["batch", "in.ndjson"], ["check", "check.json"]):
        assert cli.main([*command, "-o", "/dev/full"]) == 4
        assert capsys.readouterr().err == "toeline: /dev/full: No space left on device\n"


def test_paths_of_open_streams_are_streams_whatever_they_lead_to() -> None:
    names = ["/dev/stdin", "/dev/stdout", "/dev/stderr", "/dev/fd/7", "/proc/self/fd/1", "/dev/./stdout"]
    assert [descriptor_of(Path(name)) for name in names] == [0, 1, 2, 7, 1, 1]
    assert [descriptor_of(Path(name)) for name in ("/dev/null", "stdout", "/dev/fd/x", "/dev/fd")] == [None] * 4
    assert is_stream(Path("/dev/fd/999"))


def toeline(command: str) -> subprocess.CompletedProcess[bytes]:
    """A command line by a shell."""
    words = f"cd {Path.cwd()} && PYTHONPATH={ROOT} {sys.executable} -m service {command}"
    return subprocess.run(["/bin/sh", "-c", words], check=False, capture_output=True, timeout=60)


def test_standard_output_that_leads_to_a_file_is_written_where_it_stands() -> None:
    done = toeline("batch in.ndjson -o /dev/stdout > out; echo code $? >> out")
    lines = Path("out").read_bytes().splitlines()
    assert done.stderr.endswith(b": /dev/stdout\n")
    assert json.loads(lines[0])["id"] == 1
    assert lines[1:] == [b"code 0"]


def test_closed_streams_are_told_and_end_nothing_by_a_fault(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for command in (["verify", str(EXAMPLE)], ["check", "check.json", "--json"]):
        with monkeypatch.context() as patched:
            patched.setattr(sys, "stdout", None)
            assert cli.main(command) == 2
        assert capsys.readouterr().err == "toeline: standard output is closed\n"
    with monkeypatch.context() as patched:
        patched.setattr(sys, "stdout", None)
        assert cli.main(["batch", "in.ndjson", "-o", "out"]) == 0  # all that it says is on standard error
        patched.setattr(sys, "stderr", None)
        tell("nobody hears this")
        with progress.show_progress():
            assert progress.listener(3) is None
