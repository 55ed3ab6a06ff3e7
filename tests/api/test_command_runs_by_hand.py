"""Commands with their calculations replaced by answers written out by hand: exit codes, files, factors, refusals."""

from __future__ import annotations

import io
import json
import sys
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
import uvicorn

from service.access import hangup
from service.base.problems import Problem
from service.batch.file import Count
from service.cli import main
from service.client.exit_codes import FAILED, PASSED
from service.commands import batch, check, grow, look_up, shared, spectrum
from service.http.batch import AnswerLine

Out = pytest.CaptureFixture[str]


class Found:
    """A request with its answer."""

    request: Any = None

    def __init__(self, *severities: str, **answer: Any) -> None:
        findings = [{"severity": each} for each in severities]
        self.held = {"findings": findings, "answer": answer, "record": {"policy": None}}

    def envelope(self) -> dict[str, Any]:
        return self.held

    def content(self) -> bytes:
        return json.dumps(self.held).encode()


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., int]:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "f.json").write_text("{}")
    return lambda words: main(words.split())


# exit codes and what is written


@pytest.mark.parametrize(
    ("severities", "code"),
    [((), PASSED), (("note", "caution"), PASSED), (("note", "outside"), FAILED), (("outside",), FAILED)],
)
def test_a_life_outside_validity_has_a_code_of_its_own(
    run: Callable[..., int], monkeypatch: pytest.MonkeyPatch, severities: tuple[str, ...], code: int, capsys: Out
) -> None:
    asked: list[Any] = []
    monkeypatch.setattr(grow, "calculate", lambda *given: asked.append(given) or Found(*severities))
    monkeypatch.setattr(grow, "growth_text", lambda envelope: f"text of {len(envelope['findings'])}")
    assert (run("grow f.json"), capsys.readouterr().out) == (code, f"text of {len(severities)}\n")
    assert run("grow f.json --json") == code
    assert json.loads(capsys.readouterr().out) == Found(*severities).held
    assert asked == [("cracks/growth", {})] * 2


@pytest.mark.parametrize(("verdict", "code"), [("pass", PASSED), ("fail", FAILED), ("undecided", FAILED)])
def test_a_check_passes_by_its_verdict_and_writes_its_answer_where_it_is_asked(
    run: Callable[..., int], monkeypatch: pytest.MonkeyPatch, verdict: str, code: int, capsys: Out
) -> None:
    found = Found(verdict=verdict)
    monkeypatch.setattr(check, "CheckRequest", SimpleNamespace)
    found.request = SimpleNamespace(lines=("one",))
    monkeypatch.setattr(check, "calculate", lambda *_: found)
    monkeypatch.setattr(check, "check_text", lambda envelope, **rest: f"{envelope['answer']['verdict']} {rest}")
    assert run("check f.json -o a.json") == code
    assert json.loads(Path("a.json").read_text()) == found.held
    assert capsys.readouterr().out == f"{verdict} {{'every_finding': False, 'lines': ()}}\n"
    run("check f.json --findings")
    assert capsys.readouterr().out == f"{verdict} {{'every_finding': True, 'lines': ('one',)}}\n"
    run("check f.json --json")
    assert json.loads(capsys.readouterr().out) == found.held


@pytest.mark.parametrize(("problems", "code"), [(0, PASSED), (1, FAILED), (2, FAILED)])
def test_a_batch_passes_without_a_problem(
    run: Callable[..., int], monkeypatch: pytest.MonkeyPatch, problems: int, code: int, capsys: Out
) -> None:
    given: list[Any] = []

    def resumed(source: Any, target: Path, answers: Any, finished: Callable[[int], None], made_by: Any) -> Count:
        finished(1)
        given.append((source, target.name))
        return Count(resumed=3, answered=5, problems=problems)

    def anew(source: Any, target: Path, *others: Any) -> Count:
        return resumed(source, target.with_name("anew"), *others)

    monkeypatch.setattr(batch, "resume", resumed)
    monkeypatch.setattr(batch, "start_over", anew)
    Path("in.ndjson").write_bytes(b"a\n\n  \nb\n")
    assert run("batch in.ndjson -o out.ndjson --anew") == code
    said = f"5 answered, {problems} with a problem (3 of them from an earlier run): out.ndjson\n"
    assert capsys.readouterr().err == said
    run("batch in.ndjson -o out.ndjson")
    assert given == [([b"a", b"b"], "anew"), ([b"a", b"b"], "out.ndjson")]


@pytest.mark.parametrize(
    ("verdicts", "code"),
    [("pass pass", PASSED), ("fail pass", FAILED), ("pass fail", FAILED), ("undecided undecided", FAILED)],
)
def test_histories_pass_together(
    run: Callable[..., int], monkeypatch: pytest.MonkeyPatch, verdicts: str, code: int, capsys: Out
) -> None:
    found = iter([Found(verdict=each) for each in verdicts.split()])
    monkeypatch.setattr(spectrum, "evaluate", lambda *_: next(found))
    monkeypatch.setattr(spectrum, "damage_text", lambda _, envelope: f"sum: {envelope['answer']['verdict']}")
    assert run("damage f.json f.json") == code
    assert [part for part in capsys.readouterr().out.splitlines() if part] == [
        word for each in verdicts.split() for word in ("f.json", f"sum: {each}")
    ]


def test_a_bar_counts_the_histories_one_by_one(run: Callable[..., int], monkeypatch: pytest.MonkeyPatch) -> None:
    parts: list[int] = []
    totals: list[int] = []
    monkeypatch.setattr(spectrum.progress, "listener", lambda total: totals.append(total) or parts.append)
    monkeypatch.setattr(spectrum, "evaluate", lambda *_: Found(verdict="pass"))
    monkeypatch.setattr(spectrum, "damage_text", lambda *_: "")
    run("damage f.json f.json f.json")
    assert (totals, parts) == ([3], [1, 1, 1])


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ("count f.json", None),
        ("count f.json --rule rainflow", "f.json is a whole request: write what --rule would say into it"),
        (
            "damage f.json --curve c --repeats 2",
            "f.json is a whole request: write what --curve and --repeats would say into it",
        ),
    ],
)
def test_a_whole_request_takes_no_options(
    run: Callable[..., int], monkeypatch: pytest.MonkeyPatch, words: str, message: str | None, capsys: Out
) -> None:
    monkeypatch.setattr(spectrum, "evaluate", lambda *_: Found())
    monkeypatch.setattr(spectrum, "count_text", lambda *_: "")
    assert run(words) == (PASSED if message is None else 2)
    assert (message or "") in capsys.readouterr().err


def test_the_service_listens_where_it_is_told(run: Callable[..., int], monkeypatch: pytest.MonkeyPatch) -> None:
    given: list[Any] = []

    class Processes:
        def __init__(self, config: Any, sockets: list[Any], renew: Callable[[], None]) -> None:
            given.append((config.app.rpartition(".http.")[2], config.host, config.port, config.workers, sockets))

        def run(self) -> None:
            given.append("several")

    monkeypatch.setattr(hangup, "Processes", Processes)
    monkeypatch.setattr("service.access.listening.listening", lambda _: "bound")
    monkeypatch.setattr(uvicorn, "run", lambda app, **rest: given.append((rest["host"], rest["port"])))
    assert run("serve --port 9 --workers 2") == PASSED
    assert run("serve --port 9 --host ::1") == PASSED
    assert given == [("app:app", "127.0.0.1", 9, 2, ["bound"]), "several", ("::1", 9)]


# files


def test_files_beside_a_map_are_read_up_to_a_limit(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(shared, "MAX_BODY_BYTES", 3)
    (tmp_path / "three").write_bytes(b"abc")
    (tmp_path / "four").write_bytes(b"abcd")
    read = shared.reader_beside(str(tmp_path / "map.toml"), list)
    assert read("three") == b"abc"
    with pytest.raises(Problem) as refused:
        read("four")
    assert (refused.value.status, refused.value.detail) == (413, "4 bytes are more than the 3 taken at once")
    monkeypatch.chdir(tmp_path)
    assert shared.reader_beside("-", list)("three") == b"abc"


@pytest.mark.parametrize("coding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be"])
def test_text_is_utf_8_or_says_by_its_first_bytes_that_it_is_utf_16(coding: str) -> None:
    mark = "\ufeff" if coding in ("utf-16-le", "utf-16-be") else ""
    assert shared.text_in((mark + "é").encode(coding), "a") == "é"


def test_other_text_is_refused_at_its_first_foreign_byte() -> None:
    with pytest.raises(Problem) as refused:
        shared.text_in("abcé".encode("latin-1"), "the map")
    assert refused.value.detail == "the map is not UTF-8 text (byte 3): save it as UTF-8"


def test_standard_input_stands_for_a_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdin", SimpleNamespace(buffer=io.BytesIO(b"in")))
    assert shared.read_bytes("-") == b"in"
    (tmp_path / "a").write_bytes(b"out")
    assert shared.read_bytes(str(tmp_path / "a")) == b"out"


def test_an_unknown_calculation_is_none() -> None:
    with pytest.raises(Problem) as refused:
        look_up._get("none", {})
    assert (refused.value.status, refused.value.detail) == (404, "there is no calculation 'none'")
    with pytest.raises(Problem, match=r"^unknown calculation 'none'; known: check, cracks/critical-size, .* \.\.\.$"):
        shared.calculate("none", {})


def test_facts_stand_in_a_column_and_what_is_none_is_left_out() -> None:
    facts = {"a": 1.23456, "longest": "x", "none": None, "empty": "", "two": [2e6, 3.0], "by_name": {"b": 0.25}}
    assert look_up._facts(facts) == "a        1.23\nlongest  x\ntwo      2,000,000, 3\nby_name  b 0.25"


def test_curves_are_listed_by_what_is_asked_of_them(capsys: pytest.CaptureFixture[str]) -> None:
    """Every line of the list fits 100 columns; filters go together, in any case of letters."""
    assert main(["curves"]) == 0
    every = capsys.readouterr().out.splitlines()
    assert max(map(len, every)) <= 100
    assert every[-1].startswith(f"{len(every) - 2} of {len(every) - 2} curves;")
    assert main(["curves", "--kind", "NOTCH-shear", "--material", "steel"]) == 0
    assert [line.split()[0] for line in capsys.readouterr().out.splitlines()] == [
        "curve",
        "notch-shear-r1-steel-160",
        "notch-shear-r005-steel-250",
        "2",
    ]
    assert main(["curves", "--title", "no such words"]) == 0
    assert capsys.readouterr().out.startswith("0 of ")
    assert main(["curves", "--kind", "energy", "--document", "band"]) == 0
    assert "MJ/m³" in capsys.readouterr().out
    for more in (["c"], ["--json"]):
        assert main(["curves", *more, "--environment", "air"]) == 2
        assert "--environment filters the list of curves" in capsys.readouterr().err


def test_a_reason_that_nothing_needs_is_said_not_to_be_kept(run: Callable[..., int], capsys: Out) -> None:
    text = "the reason was not kept: nothing that was stored needs one"
    example = Path(__file__).parents[2] / "openapi_examples" / "check" / "one-toe-constant.json"
    Path("f.json").write_text(example.read_text())
    shown = []
    for because in ([], ["--because", "invented"]):
        main(["gate", "f.json", "--baseline", "b.json", "--write-baseline", *because])
        shown.append(text in " ".join(capsys.readouterr().out.split()))
    assert shown == [False, True]


def test_answers_are_handed_on_as_soon_as_they_are_written(monkeypatch: pytest.MonkeyPatch) -> None:
    """A program behind a pipe reads each answer before the next one is calculated."""
    out = io.BytesIO()
    seen: list[bytes] = []
    monkeypatch.setattr(sys, "stdout", SimpleNamespace(buffer=out, flush=lambda: seen.append(out.getvalue())))
    shared.write_bytes(b"one", None)
    assert seen == [b"one\n"]
    lines = [AnswerLine(200, b"two\n"), AnswerLine(422, b"three\n")]
    assert batch._print_results([], lambda *_: iter(lines)) == Count(resumed=0, answered=1, problems=1)
    assert seen == [b"one\n", b"one\ntwo\n", b"one\ntwo\nthree\n"]
