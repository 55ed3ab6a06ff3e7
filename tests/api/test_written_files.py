"""Files that are written: whole or not at all, by one run at a time, and a full disk leaves what was there."""

from __future__ import annotations

import errno
import json
import os
import resource
import stat
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from service import cli
from service.base.problems import Problem
from service.batch.file import local_answers, resume, start_over
from service.files import writing
from service.files.locking import locked
from service.files.places import beside, is_stream, target_of
from service.files.writing import appending, lacks_room, replace_file, sync, sync_folder

EXAMPLE = Path(__file__).parents[2] / "openapi_examples" / "check" / "one-toe-constant.json"


def items(count: int, stress_mpa: float = 80.0) -> list[bytes]:
    """Lines of a batch."""
    given = {"curve": "peak-stress-opening", "stress_range_mpa": [stress_mpa]}
    return [json.dumps({"id": n, "calculation": "curves/life", "input": given}).encode() for n in range(count)]


@contextmanager
def held_by_another(target: Path) -> Iterator[None]:
    """Another process that has the file locked."""
    code = (
        "import fcntl, os, sys\n"
        "handle = os.open(sys.argv[1], os.O_RDWR | os.O_CREAT)\n"
        "fcntl.lockf(handle, fcntl.LOCK_EX)\n"
        "print('locked', flush=True)\n"
        "sys.stdin.read()\n"
    )
    command = [sys.executable, "-S", "-c", code, str(beside(target, "lock"))]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as other:
        assert other.stdout is not None
        assert other.stdout.readline() == b"locked\n"
        yield
        assert other.stdin is not None
        other.stdin.close()


def test_a_file_is_replaced_whole_and_nothing_stays_beside_it(tmp_path: Path) -> None:
    target = tmp_path / "a.json"
    target.write_text("old")
    target.chmod(0o640)
    replace_file(target, b"new")
    assert target.read_bytes() == b"new"
    assert stat.S_IMODE(target.stat().st_mode) == 0o640
    assert [path.name for path in tmp_path.iterdir()] == ["a.json"]


def test_a_link_stays_a_link_and_a_long_name_is_no_hindrance(tmp_path: Path) -> None:
    target, link = tmp_path / ("ä" * 125 + ".json"), tmp_path / "link"
    link.symlink_to(target)
    replace_file(link, b"new")
    assert link.is_symlink()
    assert target.read_bytes() == b"new"
    assert target_of(link) == target


def test_what_a_killed_run_left_beside_a_file_is_no_hindrance(tmp_path: Path) -> None:
    target = tmp_path / "a.json"
    for kind in ("part", "lock"):
        beside(target, kind).write_text("left")
    replace_file(target, b"new")
    assert [path.name for path in tmp_path.iterdir()] == ["a.json"]


def test_content_is_on_the_disk_before_it_has_its_name_and_the_name_after(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target, seen = tmp_path / "a.json", []

    def watched(handle: int) -> None:
        seen.append((stat.S_ISDIR(os.fstat(handle).st_mode), target.exists(), os.fstat(handle).st_size))

    monkeypatch.setattr(os, "fsync", watched)
    replace_file(target, b"new")
    assert [(folder, there) for folder, there, _ in seen] == [(False, False), (True, True)]
    assert seen[0][2] == 3


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EDQUOT, errno.EFBIG])
def test_a_full_disk_leaves_the_old_file_and_has_an_exit_code(
    tmp_path: Path, code: int, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "answer.json"
    target.write_text("old")

    def full(*_: object) -> None:
        raise OSError(code, os.strerror(code))

    monkeypatch.setattr(writing, "write_all", full)
    assert cli.main(["check", str(EXAMPLE), "-o", str(target)]) == 4
    assert target.read_text() == "old"
    assert os.listdir(tmp_path) == ["answer.json"]
    assert capsys.readouterr().err == f"toeline: {target}: {os.strerror(code)}\n"


def test_other_errors_of_a_file_are_no_want_of_room() -> None:
    assert [lacks_room(OSError(code, "x")) for code in (errno.ENOSPC, errno.EACCES)] == [True, False]
    assert not lacks_room(OSError("odd"))


def run_within(limit_bytes: int, *arguments: str) -> subprocess.CompletedProcess[str]:
    """The command line where a file may have so many bytes at the most."""
    soft = (limit_bytes, resource.getrlimit(resource.RLIMIT_FSIZE)[1])
    command = [sys.executable, "-m", "service", *arguments]
    return subprocess.run(
        command,
        check=False,
        capture_output=True,
        text=True,
        cwd=Path(__file__).parents[2],
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, soft),
        env={**os.environ, "PYTHONDONTWRITEBYTECODE": "1"},
    )


def test_a_batch_without_room_keeps_its_whole_lines_and_goes_on_later(tmp_path: Path) -> None:
    given, target, whole = tmp_path / "in", tmp_path / "out", tmp_path / "whole"
    given.write_bytes(b"\n".join(items(3)))
    resume(items(3), whole, local_answers)
    lines = whole.read_bytes().splitlines(keepends=True)
    stopped = run_within(len(lines[0]) + 100, "batch", str(given), "-o", str(target))
    assert (stopped.returncode, stopped.stderr) == (4, f"toeline: {target}: File too large\n")
    assert target.read_bytes() == lines[0]
    resume(items(3), target, local_answers)
    assert target.read_bytes() == whole.read_bytes()


def test_what_was_added_in_part_is_taken_back(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    target = tmp_path / "out"
    with appending(target) as append:
        append(b"whole\n")

        def full(handle: int) -> None:
            raise OSError(errno.ENOSPC, "full")

        monkeypatch.setattr(os, "fsync", full)
        with pytest.raises(OSError, match=f"full: '{target}'"):
            append(b"more\n")
    assert target.read_bytes() == b"whole\n"


def test_what_cannot_be_printed_is_given_up(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """The end of the program would try once more."""
    with (tmp_path / "out").open("w") as stream, monkeypatch.context() as patched:
        patched.setattr(sys, "stdout", stream)

        def full() -> None:
            raise OSError(errno.ENOSPC, "full")

        patched.setattr(cli, "_outputs", lambda _: full())
        assert cli.main(["curves"]) == 4
        stream.write("lost")
    assert (tmp_path / "out").read_bytes() == b""


def test_a_full_standard_output_has_the_same_code() -> None:
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(
            [sys.executable, "-m", "service", "curves"],
            check=False,
            stdout=full,
            stderr=subprocess.PIPE,
            cwd=Path(__file__).parents[2],
        )
    assert (done.returncode, done.stderr) == (4, b"toeline: No space left on device\n")


def test_a_second_run_on_an_output_is_refused_before_it_calculates(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target, given, absent = tmp_path / "out", tmp_path / "in", str(tmp_path / "none")
    given.write_bytes(b"\n".join(items(2)))
    baseline, check = tmp_path / "accepted.json", tmp_path / "check.json"
    check.write_bytes(EXAMPLE.read_bytes())
    with held_by_another(target), held_by_another(baseline):
        for command in (
            ["batch", str(given), "-o", str(target)],
            ["batch", str(given), "-o", str(target), "--anew"],
            ["check", absent, "-o", str(target)],
            ["check", absent, "--csv", str(target)],
            ["lines", absent, "-o", str(target)],
            ["lines", absent, "--picture", str(target)],
            ["report", absent, "-o", str(target)],
            ["picture", absent, "-o", str(target)],
            ["fit-sn", absent, "--save", str(target)],
            ["fit-growth", absent, "--report", str(target)],
            ["gate", absent, "--junit", str(target)],
            ["gate", absent, "--markdown", str(target)],
        ):
            assert cli.main(command) == 2, command
            assert capsys.readouterr().err == f"toeline: {target} is being written by another run; wait for its end\n"
        assert cli.main(["gate", str(check), "--baseline", str(baseline), "--write-baseline"]) == 2
        assert "accepted.json is being written by another run" in capsys.readouterr().err
    assert not target.exists()
    assert cli.main(["batch", str(given), "-o", str(target)]) == 0
    assert {*os.listdir(tmp_path)} - {beside(baseline, "lock").name} == {"check.json", "in", "out"}


def test_one_run_may_lock_a_file_that_it_writes_and_not_name_it_twice(tmp_path: Path) -> None:
    target = tmp_path / "a"
    with locked(target), locked(target):
        replace_file(target, b"new")
    assert not beside(target, "lock").exists()
    with pytest.raises(Problem, match="is named for two outputs"), locked(target, tmp_path / "b" / ".." / "a"):
        pass


def test_a_lock_file_that_was_taken_away_meanwhile_is_made_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from service.files import locking

    target, lock, left = tmp_path / "a", locking._lock, [1, 2]

    def late(handle: int) -> None:
        lock(handle)
        if left:
            beside(target, "lock").unlink()
            if left.pop() == 1:
                beside(target, "lock").write_bytes(b"")  # of the next run, which ended as well

    monkeypatch.setattr(locking, "_lock", late)
    with locked(target):
        assert beside(target, "lock").exists()
    assert left == []


def test_a_lock_that_the_system_denies_or_fails_is_said_of_the_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import fcntl

    for error, raised in (
        (PermissionError(13, "denied"), pytest.raises(Problem, match="by another run")),
        (OSError(37, "No locks available"), pytest.raises(OSError, match=r"No locks available: '.*/a'")),
    ):

        def fail(*_: object, error: OSError = error) -> None:
            raise error

        monkeypatch.setattr(fcntl, "lockf", fail)
        with raised, locked(tmp_path / "a"):
            pass


def test_a_folder_that_is_not_there_is_said_of_the_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = tmp_path / "none" / "a.json"
    assert cli.main(["check", str(EXAMPLE), "-o", str(target)]) == 2
    assert capsys.readouterr().err == f"toeline: {target}: No such file or directory\n"


def test_pipes_and_devices_are_written_as_they_are(tmp_path: Path) -> None:
    null = Path("/dev/null")
    assert [is_stream(path) for path in (null, tmp_path, tmp_path / "none", EXAMPLE)] == [True, False, False, False]
    with locked(null, null):
        replace_file(null, b"x")
    with appending(null) as append:
        append(b"x")
    assert null.is_char_device()
    with null.open("rb") as stream:
        sync(stream.fileno())


def test_a_disk_that_fails_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(_: int) -> None:
        raise OSError(errno.EIO, "fails")

    monkeypatch.setattr(os, "fsync", fail)
    with pytest.raises(OSError, match="fails"):
        sync_folder(tmp_path)
    with pytest.raises(OSError, match="fails"):
        replace_file(tmp_path / "a", b"x")
    assert os.listdir(tmp_path) == []


def test_a_batch_that_starts_over_keeps_the_old_answers_until_all_are_there(tmp_path: Path) -> None:
    target, part = tmp_path / "out", beside(tmp_path / "out", "anew")
    target.write_text("old\n")

    def stopping(lines: object, used: object) -> Iterator[object]:
        found = local_answers(lines, used)  # type: ignore[arg-type]
        yield next(found)
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        start_over(items(3), target, stopping)  # type: ignore[arg-type]
    assert target.read_text() == "old\n"
    assert part.read_bytes().count(b"\n") == 1
    assert start_over(items(3), target, local_answers).resumed == 1  # the same command goes on
    assert target.read_bytes().count(b"\n") == 3
    assert not part.exists()
    part.write_text("of another input\n")
    assert start_over(items(3), target, local_answers).resumed == 0
