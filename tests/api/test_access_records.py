"""What is written of a request: its line in the audit log, and its address in the log of the server."""

from __future__ import annotations

import json
import logging
import os
import re
import threading
from collections.abc import Callable
from pathlib import Path
from urllib.parse import quote, quote_plus

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fatcore import __version__
from service.access.addresses import AddressFilter, shown_caller, shown_method
from service.access.audit import AuditLog, Call, outcome
from service.base.problems import Problem

WORDS = ("v1", "check", "curves", "life", "batch")
ENCODINGS: tuple[Callable[[str], str], ...] = (
    str,
    quote,
    quote_plus,
    lambda text: "".join(f"%{byte:02x}" for byte in text.encode()),
    lambda text: text.replace("%", "%25"),
    lambda text: text.replace(" ", "+"),
    str.upper,
    str.swapcase,
)
KEYS = st.one_of(
    st.from_regex(r"tlk_[A-Za-z0-9_-]{43}", fullmatch=True),
    st.text(st.characters(codec="utf-8", exclude_characters="/?"), min_size=8, max_size=40),
)


def encoded(text: str, ways: list[int]) -> str:
    for way in ways:
        text = ENCODINGS[way](text)
    return text


@given(
    KEYS,
    st.lists(st.integers(0, len(ENCODINGS) - 1), max_size=3),
    st.sampled_from(
        [
            "/v1/check?key={}",
            "/v1/check?%6bey={}&only=a",
            "/v1/check%3Fkey={}",
            "/v1/check%253Fkey%3D{}",
            "/v1/{}/life",
            "/{}",
            "/v1/curves/{}",
            "/v1/curves;key={}",
            "http://host/v1/check?key={}",
            "?key={}",
            "*/{}",
        ]
    ),
)
def test_nothing_of_an_address_is_logged_but_the_words_of_the_paths(key: str, ways: list[int], form: str) -> None:
    address = form.format(encoded(key, ways))
    record = logging.LogRecord("uvicorn.access", 20, "", 0, '%s - "%s %s HTTP/%s" %d', None, None)
    record.args = ("127.0.0.1:50000", "GET", address, "1.1", 200)
    assert AddressFilter(WORDS).filter(record)
    (shown,) = re.findall(r'^127\.0\.0\.1:50000 - "GET (.*) HTTP/1\.1" 200$', record.getMessage())
    assert set(re.split(r"[/?]", shown)) <= {*WORDS, "", "..."}


def test_what_is_no_address_is_logged_as_it_is() -> None:
    keep = AddressFilter(WORDS)
    for args in ((), ("127.0.0.1", "OPTIONS", "1.1", 404), ("::1", 7, None), ("Shutting down", "on")):
        record = logging.LogRecord("uvicorn.error", 20, "", 0, "text", args, None)
        assert keep.filter(record)
        assert record.args == args
    mapped = logging.LogRecord("uvicorn.error", 20, "", 0, "%(a)s", ({"a": "/x"},), None)
    assert keep.filter(mapped)
    assert mapped.getMessage() == "/x"


def shown_line(name: str, form: str, *args: object) -> str:
    record = logging.LogRecord(name, 20, "", 0, form, args, None)
    assert AddressFilter(WORDS).filter(record)
    return record.getMessage()


@pytest.mark.parametrize("key", ["TLKSECRET", "0123456789abcdef", "deadbeef:1.1", "tlk_AbC-d", "GETS", "fe80::1%k3y"])
def test_a_key_at_any_place_of_a_request_is_in_no_log(key: str) -> None:
    form = '%s - "%s %s HTTP/%s" %d'
    line = ["127.0.0.1:5", "GET", "/v1/check", "1.1", 400]
    for place in range(4):
        told = shown_line("uvicorn.access", form, *line[:place], key, *line[place + 1 :])
        assert told == form % (*line[:place], "...", *line[place + 1 :])
    assert (
        shown_line("uvicorn.error", '%s - "WebSocket %s" 403', "127.0.0.1:5", key)
        == '127.0.0.1:5 - "WebSocket ..." 403'
    )
    assert shown_line("uvicorn.error", '%s - "WebSocket %s" 403', key, "/v1/check") == '... - "WebSocket /v1/check" 403'
    assert shown_line("uvicorn.access", "%s %s %d", key, key, 7) == "... ... 7"  # of another form than is known


def test_the_callers_of_a_log_are_network_addresses() -> None:
    assert [shown_caller(each) for each in ("", "[::1]:7", "10.0.0.1:80", "10.0.0.1:k3y", "k3y")] == [
        *("", "::1:7", "10.0.0.1:80"),
        *("...", "..."),
    ]
    assert [shown_method(each) for each in ("GET", "get", "PATCH", "K3Y")] == ["GET", "...", "PATCH", "..."]


def test_a_path_shows_its_own_words_only() -> None:
    shown = AddressFilter(WORDS).shown
    assert shown("/v1/curves/en-1993/life?stress_range_mpa=90&only=a") == "/v1/curves/.../life?..."
    assert shown("/v1/check") == "/v1/check"
    assert shown("/") == "/"


def read(path: Path) -> list[dict[str, object]]:
    return [json.loads(line) for line in path.read_text().splitlines()]


def test_a_line_says_who_what_when_and_how_it_ended(tmp_path: Path) -> None:
    path = tmp_path / "audit"
    call = Call(request_id="r-1", team="frames", calculation="check", input_digest="sha256:0", status=200, began=0.25)
    AuditLog(str(path)).write(call)
    (line,) = read(path)
    assert list(line) == [
        *("time", "request_id", "team", "calculation", "input_digest"),
        *("version", "outcome", "status", "duration_s"),
    ]
    assert line["time"] == "1970-01-01T00:00:00.250+00:00"
    assert (line["team"], line["calculation"], line["input_digest"]) == ("frames", "check", "sha256:0")
    assert (line["request_id"], line["version"]) == ("r-1", __version__)
    assert (line["outcome"], line["status"]) == ("answered", 200)
    assert isinstance(line["duration_s"], float)
    assert 0.0 <= line["duration_s"] < 60.0
    assert path.stat().st_mode & 0o777 == 0o600


def test_every_end_of_a_request_has_its_word() -> None:
    ends = {200: "answered", 304: "answered", 400: "refused", 401: "refused", 403: "refused", 499: "refused"}
    ends |= {429: "busy", 503: "busy", 500: "failed", 507: "failed"}
    assert {status: outcome(status) for status in ends} == ends
    assert outcome(None) == "left"


def test_lines_of_several_writers_stay_whole(tmp_path: Path) -> None:
    path = tmp_path / "audit"
    path.write_text('{"before":1}\n')

    def write(writer: int) -> None:
        audit = AuditLog(str(path))
        for number in range(100):
            audit.write(Call(request_id=f"{writer}-{number}"))

    threads = [threading.Thread(target=write, args=(writer,)) for writer in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    first, *lines = read(path)
    assert first == {"before": 1}
    assert {str(line["request_id"]) for line in lines} == {f"{w}-{n}" for w in range(4) for n in range(100)}


def test_each_line_is_one_write(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    audit, true, writes = AuditLog(str(tmp_path / "audit")), os.write, []

    def write(file: int, content: bytes) -> int:
        writes.append(content)
        return true(file, content)

    monkeypatch.setattr(os, "write", write)
    audit.write(Call(request_id="a"))
    audit.write(Call(request_id="b"))
    assert [content.count(b"\n") for content in writes] == [1, 1]
    assert all(content.endswith(b"}\n") and len(content) < 4096 for content in writes)  # a pipe takes it whole too


def test_a_full_disk_is_an_error_in_the_log_and_the_next_line_is_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    path = tmp_path / "audit"
    audit, true = AuditLog(str(path)), os.write
    monkeypatch.setattr(os, "write", lambda file, content: true(file, content[:5]))
    audit.write(Call(request_id="cut"))
    monkeypatch.setattr(os, "write", true)
    audit.write(Call(request_id="whole"))
    assert [line[:5] for line in path.read_text().splitlines()] == ['{"tim', '{"tim']
    assert json.loads(path.read_text().splitlines()[1])["request_id"] == "whole"

    def full(file: int, content: bytes) -> int:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "write", full)
    audit.write(Call(request_id="none"))
    assert caplog.messages == [
        "request cut is in the audit log in part",
        "request none is not in the audit log: No space left on device",
    ]


def test_a_log_that_was_moved_away_is_begun_anew(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    path, moved = tmp_path / "audit", tmp_path / "audit.1"
    audit = AuditLog(str(path))
    audit.write(Call(request_id="a"))
    path.rename(moved)
    audit.write(Call(request_id="b"))
    audit.reopen()
    audit.write(Call(request_id="c"))
    assert [[line["request_id"] for line in read(each)] for each in (moved, path)] == [["a", "b"], ["c"]]
    path.unlink()
    path.mkdir()
    audit.reopen()
    audit.write(Call(request_id="d"))
    assert caplog.messages == ["the audit log stays as it was: Is a directory"]


def test_a_log_that_cannot_be_written_stops_the_start_and_none_is_none(tmp_path: Path) -> None:
    with pytest.raises(Problem) as caught:
        AuditLog(str(tmp_path))
    assert caught.value.detail == f"the audit log cannot be written: {tmp_path}: Is a directory"
    audit = AuditLog(None)
    audit.reopen()
    audit.write(Call(request_id="a"))
