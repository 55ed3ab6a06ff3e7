"""toeline batch: from file to file, resumed after every kind of stop."""

from __future__ import annotations

import io
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from stat import S_ISDIR
from typing import Any

import httpx
import pytest

from fatcore import __version__
from service.base import progress
from service.base.problems import Problem
from service.batch import file as batch_file
from service.batch.file import Count, MadeBy, answered_before, answers_of_server, local_answers, resume
from service.cli import main
from service.client.client import Client
from service.client.errors import AnswerError
from service.http.batch import Item, line_item
from tests.api.edited_lines import resealed

CURVE = "peak-stress-opening"


def source(count: int, bad: int | None = None) -> list[bytes]:
    return [
        json.dumps(
            {
                "id": n,
                "calculation": "curves/life",
                "input": {"curve": CURVE if n != bad else "none", "stress_range_mpa": [80.0 + n]},
            }
        ).encode()
        for n in range(count)
    ]


@pytest.fixture
def files(tmp_path: Path) -> tuple[Path, Path]:
    given = tmp_path / "in.ndjson"
    given.write_bytes(b"\n".join(source(6)) + b"\n")
    return given, tmp_path / "out.ndjson"


@pytest.fixture
def whole(tmp_path: Path) -> bytes:
    """The answer that was never stopped."""
    target = tmp_path / "whole.ndjson"
    resume(source(6), target, local_answers)
    return target.read_bytes()


def test_every_item_is_answered(files: tuple[Path, Path], capsys: pytest.CaptureFixture[str]) -> None:
    given, target = files
    assert main(["batch", str(given), "-o", str(target)]) == 0
    lines = [json.loads(line) for line in target.read_bytes().splitlines()]
    assert [(line["id"], line["status"]) for line in lines] == [(n, 200) for n in range(6)]
    assert "6 answered, 0 with a problem (0 of them from an earlier run)" in capsys.readouterr().err


def test_item_with_a_problem_gives_code_1(files: tuple[Path, Path], capsys: pytest.CaptureFixture[str]) -> None:
    given, target = files
    given.write_bytes(b"\n".join(source(3, bad=1)))
    assert main(["batch", str(given), "-o", str(target)]) == 1
    assert main(["batch", str(given), "-o", str(target)]) == 1  # the problem of the earlier run counts
    assert "2 answered, 1 with a problem (3 of them" in capsys.readouterr().err
    assert main(["batch", str(given)]) == 1


def test_without_a_file_the_lines_are_printed(
    files: tuple[Path, Path], whole: bytes, capfdbinary: pytest.CaptureFixture[bytes]
) -> None:
    assert main(["batch", str(files[0])]) == 0
    assert capfdbinary.readouterr().out == whole


def test_stop_at_any_byte_is_resumed_to_the_same_file(tmp_path: Path, whole: bytes) -> None:
    target = tmp_path / "out.ndjson"
    ends = [place + 1 for place, byte in enumerate(whole) if byte == 10]
    cuts = {
        0,
        1,
        len(whole) - 1,
        len(whole),
        *ends,
        *(end - 1 for end in ends),
        *(end + 7 for end in ends[:-1]),
    }
    for cut in sorted(cuts):
        target.write_bytes(whole[:cut])
        asked: list[int] = []

        def counted(lines: Sequence[bytes], used: set[Any], asked: list[int] = asked) -> Iterator[bytes]:
            asked.append(len(lines))
            return local_answers(lines, used)

        count = resume(source(6), target, counted)
        done = whole[:cut].count(b"\n")
        assert target.read_bytes() == whole, cut
        assert asked == [6 - done]
        assert (count.resumed, count.answered, count.problems) == (done, 6, 0)


@pytest.mark.parametrize(("status", "again"), [(429, True), (500, True), (503, True), (422, False), (404, False)])
def test_what_was_not_answered_for_a_reason_of_the_moment_is_asked_again(
    tmp_path: Path, whole: bytes, status: int, again: bool
) -> None:
    lines = whole.splitlines(keepends=True)
    entry = {**json.loads(lines[1]), "status": status, "problem": {}}
    del entry["envelope"]
    target = tmp_path / "out.ndjson"
    target.write_bytes(lines[0] + resealed(json.dumps(entry).encode()) + lines[2])
    count = resume(source(len(lines)), target, local_answers)
    assert count.resumed == (1 if again else 3)
    assert (target.read_bytes() == whole) is again


def test_lines_are_on_the_disk_one_by_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    target = tmp_path / "out.ndjson"
    sizes: list[int] = []
    monkeypatch.setattr(
        os,
        "fsync",
        lambda handle: None if S_ISDIR(os.fstat(handle).st_mode) else sizes.append(os.fstat(handle).st_size),
    )
    resume(source(3), target, local_answers)
    ends = [place + 1 for place, byte in enumerate(target.read_bytes()) if byte == 10]
    assert sizes == ends  # each line was whole before the next began


def test_killed_process_is_resumed(tmp_path: Path) -> None:
    given, target = tmp_path / "in.ndjson", tmp_path / "out.ndjson"
    lines = source(20_000)
    given.write_bytes(b"\n".join(lines))
    command = [sys.executable, "-m", "service", "batch", str(given), "-o", str(target)]
    running = subprocess.Popen(command, stderr=subprocess.DEVNULL)
    deadline = time.monotonic() + 120.0
    while (not target.exists() or target.stat().st_size < 20_000) and time.monotonic() < deadline:
        time.sleep(0.005)
    running.send_signal(signal.SIGKILL)
    assert running.wait() == -signal.SIGKILL
    done = target.read_bytes().count(b"\n")
    assert 0 < done < len(lines)
    shorter = lines[: done + 5]
    given.write_bytes(b"\n".join(shorter))
    assert main(["batch", str(given), "-o", str(target)]) == 0
    ids = [json.loads(line)["id"] for line in target.read_bytes().splitlines()]
    assert ids == list(range(done + 5))


def test_anew_starts_over(files: tuple[Path, Path], whole: bytes) -> None:
    given, target = files
    target.write_text("something else\n")
    assert main(["batch", str(given), "-o", str(target)]) == 2
    assert target.read_text() == "something else\n"
    assert main(["batch", str(given), "-o", str(target), "--anew"]) == 0
    assert target.read_bytes() == whole


@pytest.mark.parametrize("line", [b"{\n", b"[1]\n", b'{"id": 1}\n', b"\n", b"\xff\n"])
def test_foreign_file_is_refused_and_kept(tmp_path: Path, whole: bytes, line: bytes) -> None:
    target = tmp_path / "out.ndjson"
    content = whole[: whole.index(b"\n") + 1] + line + b'{"id":'
    target.write_bytes(content)
    with pytest.raises(Problem, match="line 2: no line of a batch answer"):
        answered_before(source(6), target)
    assert target.read_bytes() == content


def test_answers_of_another_input_are_refused(tmp_path: Path, whole: bytes) -> None:
    target = tmp_path / "out.ndjson"
    target.write_bytes(whole)
    for other in (source(6)[::-1], source(5)):
        with pytest.raises(Problem, match="answers of another input"):
            resume(other, target, local_answers)
    assert target.read_bytes() == whole


def test_id_taken_before_the_stop_is_still_taken(tmp_path: Path) -> None:
    lines = [*source(2), source(1)[0], b"{"]
    at_once, stopped = tmp_path / "a", tmp_path / "b"
    resume(lines, at_once, local_answers)
    stopped.write_bytes(b"".join(at_once.read_bytes().splitlines(keepends=True)[:2]))
    count = resume(lines, stopped, local_answers)
    assert stopped.read_bytes() == at_once.read_bytes()
    assert (count.answered, count.problems) == (2, 2)
    again = resume(lines, stopped, local_answers)
    assert (again.resumed, again.problems) == (4, 2)


def test_service_answers_the_same_lines(
    files: tuple[Path, Path], whole: bytes, base_url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    given, target = files
    monkeypatch.setattr(batch_file, "LINES_A_REQUEST", 4)
    assert main(["batch", str(given), "-o", str(target), "--server", base_url]) == 0
    assert target.read_bytes() == whole
    target.write_bytes(whole[:-9])
    assert main(["batch", str(given), "-o", str(target), "--server", base_url]) == 0
    assert target.read_bytes() == whole


def test_service_refuses_an_id_of_an_earlier_request(
    tmp_path: Path, base_url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(batch_file, "LINES_A_REQUEST", 1)
    line = source(1)[0]
    given, here, there = tmp_path / "in.ndjson", tmp_path / "here.ndjson", tmp_path / "there.ndjson"
    given.write_bytes(b"\n".join([line, line, line]))
    assert main(["batch", str(given), "-o", str(here)]) == 1
    assert main(["batch", str(given), "-o", str(there), "--server", base_url]) == 1
    assert there.read_bytes() == here.read_bytes()
    there.write_bytes(here.read_bytes().splitlines(keepends=True)[0])
    assert main(["batch", str(given), "-o", str(there), "--server", base_url]) == 1
    assert there.read_bytes() == here.read_bytes()


def test_requests_are_bounded_in_lines_and_bytes(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(batch_file, "LINES_A_REQUEST", 3)
    monkeypatch.setattr(batch_file, "BYTES_A_REQUEST", 10)
    assert list(batch_file.parts([b"a"] * 4)) == [[b"a"] * 3, [b"a"]]
    assert list(batch_file.parts([b"123456", b"12345", b"x" * 99, b"1"])) == [
        [b"123456"],
        [b"12345"],
        [b"x" * 99],
        [b"1"],
    ]
    assert list(batch_file.parts([])) == []


def test_service_that_loses_lines_is_noticed() -> None:
    network = httpx.MockTransport(lambda _: httpx.Response(200, content=b"{}\n"))
    answers = answers_of_server(Client("http://service", transport=network))
    with pytest.raises(AnswerError, match="1 lines for 2 items"):
        list(answers(source(2), set()))


def test_wrong_addresses_are_usage_errors(files: tuple[Path, Path], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["batch", str(files[0]), "--server", "127.0.0.1:8000"]) == 2
    assert main(["batch", str(files[0]), "--server", "http://127.0.0.1:9", "--timeout", "0"]) == 2
    assert "takes an address like" in capsys.readouterr().err


def test_bar_on_a_terminal_counts_the_items(files: tuple[Path, Path], monkeypatch: pytest.MonkeyPatch) -> None:
    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    given, target = files
    terminal = Terminal()
    monkeypatch.setattr(sys, "stderr", terminal)
    assert main(["batch", str(given), "-o", str(target)]) == 0
    assert "% of 6" in terminal.getvalue()
    assert "100 % of 6" in terminal.getvalue()


def test_bar_of_one_item_is_not_drawn(tmp_path: Path) -> None:
    request = Path(__file__).parents[2] / "openapi_examples" / "check" / "one-toe-constant.json"
    line = {"id": 1, "calculation": "check", "input": json.loads(request.read_bytes())["request"]}
    out = io.StringIO()
    with progress.show_progress(out, always=True):
        told = progress.listener(1)
        assert told is not None
        resume([json.dumps(line).encode()], tmp_path / "o", local_answers, told)
    drawn = [part for part in out.getvalue().split("\r") if "%" in part]
    assert [part.split("]")[1] for part in drawn] == ["   0 % of 1", " 100 % of 1"]


def test_count_by_status() -> None:
    count = Count()
    for status in (200, 422, 500):
        count.add(status)
    assert (count.answered, count.problems) == (1, 2)


def test_answers_of_another_load_or_version_are_refused(tmp_path: Path, whole: bytes) -> None:
    target = tmp_path / "out.ndjson"
    target.write_bytes(whole[:-5])
    larger = [line.replace(b"[82.0]", b"[246.0]") for line in source(6)]
    for changed, made_by, text in (
        (larger, None, r"answers of another input: here is item 2 as it was then \(line 3\).*or --anew"),
        (source(3), None, r"answers of another input: it is longer than this one \(line 4\)"),
        (source(6), MadeBy("9.9.9", None), rf"answers of version {__version__}, not of 9\.9\.9 \(line 1\)"),
        (source(6), MadeBy(__version__, "sha256:1"), r"answers of policy none, not of sha256:1 \(line 1\)"),
    ):
        with pytest.raises(Problem, match=text):
            resume(changed, target, local_answers, made_by=made_by)
    turned = [json.dumps(dict(reversed(json.loads(line).items()))).encode() for line in source(6)]
    assert resume(turned, target, local_answers).resumed == 5  # the order of the keys says nothing
    older = [b'{"id":0,"status":200,"value":"1"}\n', b'{"id":null,"status":400,"problem":{}}\n']
    for line, name in zip(older, ("item 0", "an item"), strict=True):
        target.write_bytes(line)
        with pytest.raises(Problem, match=f"here is {name} as it was then"):
            resume([b"{", *source(1)] if b"null" in line else source(1), target, local_answers)


def test_a_service_of_another_version_does_not_continue(
    files: tuple[Path, Path], whole: bytes, base_url: str, capsys: pytest.CaptureFixture[str]
) -> None:
    given, target = files
    older = whole.replace(__version__.encode(), b"0.0.1").splitlines(keepends=True)
    target.write_bytes(b"".join(map(resealed, older))[:-5])
    assert main(["batch", str(given), "-o", str(target), "--server", base_url]) == 2
    assert f"holds answers of version 0.0.1, not of {__version__} (line 1)" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("value", "same"),
    [({"id": 1, "x": [[1.0]]}, True), ({"x": [[1.0]], "id": 1}, True), ({"id": 1, "x": [[3.0]]}, False)],
)
def test_digest_of_an_item_is_of_its_values(value: Any, same: bool) -> None:
    assert (Item(value).digest == line_item(b' {"id":1,"x":[[1.0]]} ').digest) is same


def test_every_item_has_a_digest() -> None:
    deep: Any = []
    for _ in range(5000):
        deep = [deep]
    digests = [Item(value).digest for value in ("\ud800", "\ud801", deep, None)]
    digests += [line_item(line).digest for line in (b"{", b"[", b"{}")]
    assert len({*digests}) == 7
    assert line_item(b" { ").digest == line_item(b"{").digest
