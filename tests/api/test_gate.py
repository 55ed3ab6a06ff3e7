"""toeline gate: limit, baseline, files, exit codes, here and against a service."""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import httpx
import pytest

from fatcore import __version__
from service.base.problems import Problem
from service.cli import main
from service.client.client import Client
from service.client.errors import AnswerError, BusyError, ProblemError, UnreachableError
from service.client.exit_codes import exit_code
from service.client.retrying import Retry
from service.gate import gate
from service.gate.baseline import key_of, read, seal
from service.gate.check_rules import rule_changes
from service.gate.files import find
from service.gate.result import Answered, GateResult, Limits
from service.gate.rules import compare_line
from service.http.settings import Settings
from tests.api.conftest import Server

Folder = Callable[..., Path]


def request(factor: float = 1.0, names: tuple[str, ...] = ("toe A", "toe B"), **more: Any) -> dict[str, Any]:
    """A check of two toes; the second one carries half the stress."""
    lines = [
        {
            "name": name,
            "notch": {"kind": "toe", "opening_angle_deg": 135.0, "notch_size_mm": 8.0},
            "mesh": {"element": "quad4", "element_size_mm": 2.0},
            "position_mm": [0.0, 10.0, 20.0],
            "cases": {"vertical": {"peaks_mpa": {"opening": [scale * s for s in (4.0, 6.0, 5.0)]}}},
        }
        for name, scale in zip(names, (1.0, 0.5), strict=False)
    ]
    factors = {"vertical": {"maximum": 12.0 * factor, "minimum": 0.0}}
    loading = {"kind": "constant", "factors": factors, "cycles": 2_000_000}
    return {"title": "hanger", "lines": lines, "loading": loading, **more}


def write(path: Path, content: Any) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(json.dumps(content), encoding="utf-8")
    return path


@pytest.fixture
def design(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A design repository with one check and its baseline; the working directory is in it."""
    monkeypatch.chdir(tmp_path)
    write(tmp_path / "models" / "hanger.json", request())
    assert main(["gate", "models", "--baseline", "base.json", "--write-baseline"]) == 0
    return tmp_path


def result_of(capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
    content: dict[str, Any] = json.loads(capsys.readouterr().out)
    return content


def lines_of(content: dict[str, Any], check: int = 0) -> dict[str, Any]:
    return {line["name"]: line for line in content["checks"][check]["lines"]}


def faults(line: dict[str, Any]) -> list[str]:
    return [fault["kind"] for fault in line["faults"]]


COMPARE = ("gate", "models", "--baseline", "base.json", "--json")


def test_unchanged_design_passes(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    capsys.readouterr()
    assert main(list(COMPARE)) == 0
    content = result_of(capsys)
    assert (content["verdict"], content["exit_code"], content["compared"]) == ("passed", 0, True)
    assert [line["growth_pct"] for line in lines_of(content).values()] == [0.0, 0.0]


def test_worsened_design_fails_by_its_growth(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write(design / "models" / "hanger.json", request(1.2))
    capsys.readouterr()
    assert main([*COMPARE, "--growth-pct", "2"]) == 1
    line = lines_of(result_of(capsys))["toe A"]
    # utilisation is in stress, so 20 % more load is 20 % more of it
    assert line["growth_pct"] == pytest.approx(20.0, rel=1e-9)
    assert faults(line) == ["growth"]
    assert "(+20 %, allowed +2 %)" in line["faults"][0]["text"]
    assert (line["now"]["index"], line["now"]["position_mm"], line["now"]["verdict"]) == (1, 10.0, "pass")


@pytest.mark.parametrize(("growth", "code"), [("19.9", 1), ("20.1", 0), ("20", 0)])
def test_growth_at_its_bound(design: Path, growth: str, code: int) -> None:
    write(design / "models" / "hanger.json", request(1.2))
    assert main([*COMPARE, "--growth-pct", growth]) == code


def test_less_is_no_growth(design: Path) -> None:
    write(design / "models" / "hanger.json", request(0.5))
    assert main(list(COMPARE)) == 0


def test_limit_is_kept_without_a_baseline(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    capsys.readouterr()
    main(["gate", "models", "--json"])
    utilisation = lines_of(result_of(capsys))["toe A"]["now"]["utilisation"]
    assert main(["gate", "models", "--limit", f"{utilisation * 1.001}"]) == 0
    capsys.readouterr()
    assert main(["gate", "models", "--json", "--limit", f"{utilisation * 0.999}"]) == 1
    content = result_of(capsys)
    assert content["compared"] is False
    assert [faults(line) for line in lines_of(content).values()] == [["limit"], []]


def test_overloaded_line_fails_by_the_limit_and_the_growth(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write(design / "models" / "hanger.json", request(3.0))
    capsys.readouterr()
    assert main(list(COMPARE)) == 1
    lines = lines_of(result_of(capsys))
    assert (faults(lines["toe A"]), lines["toe A"]["now"]["verdict"]) == (["limit", "growth"], "fail")


def test_undecided_is_not_passed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    wrong = request()
    wrong["lines"][1]["mesh"]["element_size_mm"] = 20.0  # far beyond what the element constant was calibrated for
    assert main(["gate", str(write(tmp_path / "c.json", wrong)), "--json"]) == 1
    line = lines_of(result_of(capsys))["toe B"]
    assert (line["now"]["verdict"], faults(line)) == ("undecided", ["undecided"])
    assert line["faults"][0]["text"].startswith("outside validity at the governing station: ")
    assert len(line["faults"][0]["text"]) > 60


def test_line_that_vanished_fails_unless_accepted(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write(design / "models" / "hanger.json", request(names=("toe A",)))
    capsys.readouterr()
    assert main(list(COMPARE)) == 1
    line = lines_of(result_of(capsys))["toe B"]
    assert (line["now"], line["passed"], faults(line)) == (None, False, ["vanished"])
    assert main([*COMPARE, "--accept-vanished"]) == 0
    assert lines_of(result_of(capsys))["toe B"]["passed"] is True


def test_new_line_is_told_and_passes(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    given = request(names=("toe A", "toe C"))
    given["lines"][1]["notch"]["opening_angle_deg"] = 90.0  # no notch that was there before
    write(design / "models" / "hanger.json", given)
    capsys.readouterr()
    assert main([*COMPARE, "--accept-vanished"]) == 0
    line = lines_of(result_of(capsys))["toe C"]
    assert (line["before"], line["growth_pct"], line["passed"]) == (None, None, True)
    assert main(["gate", "models", "--baseline", "base.json", "--accept-vanished"]) == 0
    assert "passed, new" in capsys.readouterr().out


def test_file_that_vanished_fails(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (design / "models" / "hanger.json").rename(design / "models" / "other.json")
    capsys.readouterr()
    assert main(list(COMPARE)) == 1
    content = result_of(capsys)
    assert [check["check"] for check in content["checks"]] == ["models/other.json", "models/hanger.json"]
    assert [faults(line) for line in lines_of(content, 1).values()] == [["vanished"], ["vanished"]]
    assert content["checks"][1]["title"] == "hanger"


def test_file_outside_this_run_is_told_only(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write(design / "models" / "second.json", request())
    assert main(["gate", "models", "--baseline", "base.json", "--write-baseline"]) == 0
    capsys.readouterr()
    assert main(["gate", "models/second.json", "--baseline", "base.json", "--json"]) == 0
    note = "models/hanger.json: in the baseline, but not among the files of this run"
    assert result_of(capsys)["notes"] == [note]


def test_growth_from_nothing_fails(design: Path) -> None:
    (design / "base.json").unlink()  # a state that is undecided enters no baseline over another one
    write(design / "models" / "hanger.json", request(0.0))
    main(["gate", "models", "--baseline", "base.json", "--write-baseline"])
    assert main(list(COMPARE)) == 1  # nothing was judged
    write(design / "models" / "hanger.json", request(0.1))
    assert main([*COMPARE, "--growth-pct", "50", "--growth-floor", "0"]) == 1
    assert main([*COMPARE, "--growth-pct", "50"]) == 0


def test_same_input_with_another_number_blames_the_calculation(
    design: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = design / "base.json"
    stored = json.loads(path.read_text())
    stored["checks"]["models/hanger.json"]["lines"]["toe A"]["utilisation"] *= 0.9
    write(path, seal(stored))
    capsys.readouterr()
    assert main(list(COMPARE)) == 1
    text = lines_of(result_of(capsys))["toe A"]["faults"][0]["text"]
    assert text.endswith("the input is the same, so the calculation has changed")


def test_difference_of_another_processor_is_no_growth(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = design / "base.json"
    stored = json.loads(path.read_text())
    for factor in (1.0 - 5e-10, 1.0 + 1e-9):
        stored["checks"]["models/hanger.json"]["lines"]["toe A"]["utilisation"] *= factor
        write(path, seal(stored))
        capsys.readouterr()
        assert main(list(COMPARE)) == 0
        assert lines_of(result_of(capsys))["toe A"]["notes"] == []


# --- the baseline as a file


def test_baseline_does_not_depend_on_where_the_gate_is_started(design: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    before = (design / "base.json").read_bytes()
    monkeypatch.chdir(design / "models")
    assert main(["gate", str(design / "models"), "--baseline", "../base.json", "--write-baseline"]) == 0
    assert (design / "base.json").read_bytes() == before
    assert main(["gate", "hanger.json", "--baseline", "../base.json"]) == 0
    assert set(read(design / "base.json").checks) == {"models/hanger.json"}
    assert key_of(Path("hanger.json"), design / "other") == "../models/hanger.json"


@pytest.mark.parametrize(
    "content", ["{", "[]", '{"kind": "toeline baseline"}', '{"kind": "x", "version": "1", "checks": {}}']
)
def test_what_is_no_baseline_is_refused(design: Path, content: str, capsys: pytest.CaptureFixture[str]) -> None:
    (design / "base.json").write_text(content)
    assert main(list(COMPARE)) == 2
    assert capsys.readouterr().err.startswith("toeline: ")


def test_baseline_that_is_missing_is_bad_input(design: Path) -> None:
    assert main(["gate", "models", "--baseline", "none.json"]) == 2


def test_baseline_is_not_written_over_an_error(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = (design / "base.json").read_bytes()
    write(design / "models" / "broken.json", {**request(), "lines": []})
    assert main(["gate", "models", "--baseline", "base.json", "--write-baseline"]) == 2
    assert (design / "base.json").read_bytes() == before
    assert "the baseline was not written" in capsys.readouterr().err


# --- which files


def test_folder_gives_its_checks_and_tells_the_rest(design: Path) -> None:
    other = write(design / "models" / "package.json", {"name": "hanger"})
    listed = write(design / "models" / "deep" / "list.json", [1, 2])
    peak = write(design / "models" / "peak.json", {"calculation": "stress/peak", "request": {}})
    example = write(design / "models" / "example.json", {"calculation": "check", "request": request()})
    typo = write(design / "models" / "typo.json", {"line": [], "loading": {}})
    broken = design / "models" / "broken.json"
    broken.write_text("{")
    found = find(["models"])
    relative = [path.relative_to(design) for path in (broken, example, design / "models/hanger.json", typo)]
    assert list(found.checks) == relative
    assert set(found.skipped) == {path.relative_to(design) for path in (other, listed, peak)}


def test_file_that_was_left_out_is_told(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write(design / "models" / "package.json", {"name": "hanger"})
    assert main(["gate", "models"]) == 0
    assert "note: models/package.json: holds no check, left out" in capsys.readouterr().out


def test_patterns_and_repeats(design: Path) -> None:
    write(design / "models" / "b" / "second.json", request())
    names = ["models/**/*.json", "models/hanger.json", "models"]
    assert [path.as_posix() for path in find(names).checks] == ["models/b/second.json", "models/hanger.json"]


def test_named_file_is_never_left_out(design: Path) -> None:
    plain = write(design / "plain.json", {"name": "hanger"})
    assert find([str(plain)]).checks == (plain,)
    assert main(["gate", "plain.json"]) == 2


def test_baseline_within_the_folder_is_no_check(design: Path) -> None:
    (design / "base.json").rename(design / "models" / "base.json")
    assert find(["models"], Path("models/base.json")).skipped == ()
    with pytest.raises(Problem, match=r"no check file in models/base\.json"):
        find(["models/base.json"], Path("models/base.json"))


def test_name_that_fits_nothing_is_bad_input(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["gate", "models/*.txt"]) == 2
    assert "no file fits the pattern" in capsys.readouterr().err


# --- usage and refused input


@pytest.mark.parametrize(
    "options",
    [
        ["--limit", "0"],
        ["--limit", "1.01"],
        ["--limit", "nan"],
        ["--baseline", "base.json", "--growth-pct", "-1"],
        ["--baseline", "base.json", "--growth-pct", "nan"],
        ["--growth-pct", "2"],
        ["--write-baseline"],
        ["--accept-vanished"],
        ["--server", "localhost"],
        ["--server", "http://127.0.0.1:9", "--timeout", "-1"],
    ],
)
def test_usage_that_makes_no_sense_gives_2(design: Path, options: list[str]) -> None:
    assert main(["gate", "models", *options]) == 2


def test_unknown_option_gives_2(design: Path) -> None:
    with pytest.raises(SystemExit) as caught:
        main(["gate", "models", "--no-such-option"])
    assert caught.value.code == 2


def test_refused_check_gives_2_and_the_others_are_judged(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write(design / "models" / "a.json", {**request(), "lines": [{"name": "x"}]})
    capsys.readouterr()
    assert main(list(COMPARE)) == 2
    content = result_of(capsys)
    assert content["verdict"] == "input refused"
    assert "/lines/0/position_mm: position_mm is needed" in content["checks"][0]["error"]
    assert len(content["checks"][1]["lines"]) == 2


def test_example_of_another_calculation_is_refused(design: Path) -> None:
    peak = write(design / "peak.json", {"calculation": "stress/peak", "request": {}})
    assert main(["gate", str(peak)]) == 2


def test_file_that_cannot_be_read_is_bad_input(design: Path) -> None:
    class Gone:
        checks = (design / "gone.json",)
        skipped = ()

    answers = gate.ask_checks(Gone(), gate.calculate_here, Path())  # type: ignore[arg-type]
    result = gate.judge(answers, Limits())
    assert (result.exit_code, result.checks[0].error) == (2, "No such file or directory")


# --- against a service


def test_service_gives_the_same_result(design: Path, base_url: str, capsys: pytest.CaptureFixture[str]) -> None:
    write(design / "models" / "hanger.json", request(1.2))
    capsys.readouterr()
    assert main(list(COMPARE)) == 1
    here = capsys.readouterr().out
    assert main([*COMPARE, "--server", base_url]) == 1
    assert capsys.readouterr().out == here


def test_service_refuses_an_input(design: Path, base_url: str, capsys: pytest.CaptureFixture[str]) -> None:
    write(design / "models" / "hanger.json", {**request(), "loading": {"kind": "none"}})
    assert main(["gate", "models", "--server", base_url]) == 2
    assert "/loading" in capsys.readouterr().out


def test_key_comes_from_the_environment(design: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with Server(Settings(api_keys=("secret",))) as url:
        monkeypatch.delenv("TOELINE_API_KEY", raising=False)
        assert main(["gate", "models", "--server", url]) == 2
        monkeypatch.setenv("TOELINE_API_KEY", "secret")
        assert main(["gate", "models", "--server", url]) == 0


def test_unreachable_service_gives_3_after_its_attempts(
    design: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    write(design / "models" / "second.json", request())
    waits: list[float] = []
    monkeypatch.setattr("time.sleep", waits.append)
    monkeypatch.setattr(Client.__init__, "__kwdefaults__", {**Client.__init__.__kwdefaults__, "sleep": waits.append})
    assert main(["gate", "models", "--server", "http://127.0.0.1:9", "--junit", "j.xml"]) == 3
    assert len(waits) == 3  # of the first check; the second one was not tried
    shown = capsys.readouterr().out
    assert "no connection after 4 attempts" in shown
    assert "models/second.json: not calculated" in shown
    assert "NO ANSWER: 2 checks, 0 weld lines" in shown
    assert (design / "j.xml").exists()


def busy_client(status: int) -> Client:
    network = httpx.MockTransport(lambda _: httpx.Response(status))
    return Client("http://service", transport=network, retry=Retry(attempts=2), sleep=lambda _: None)


@pytest.mark.parametrize(("status", "code"), [(503, 3), (429, 3), (500, 3), (401, 2), (413, 2), (404, 2)])
def test_code_of_what_the_service_says(design: Path, status: int, code: int) -> None:
    client = busy_client(status)
    answers = gate.ask_checks(find(["models"]), lambda data: client.check(data).model_dump(mode="json"), Path())
    assert gate.judge(answers, Limits()).exit_code == code


def test_answer_of_another_version_is_no_answer(design: Path) -> None:
    """A service whose lines lack what the verdict rests on must not be read as passing."""
    old = json.loads(json.dumps(gate.calculate_here(request())))
    for line in old["answer"]["lines"]:
        del line["largest_unjudged_utilisation"]
    network = httpx.MockTransport(lambda _: httpx.Response(200, json=old))
    client = Client("http://service", transport=network)
    answers = gate.ask_checks(find(["models"]), lambda data: client.check(data).model_dump(mode="json"), Path())
    result = gate.judge(answers, Limits())
    assert (result.exit_code, "does not fit this version" in str(result.checks[0].error)) == (3, True)


def test_other_version_of_the_service_is_told(design: Path) -> None:
    found = compare_line(replace(answer_of(design), version="9.9"), None, Limits())
    assert found.notes == (f"calculated by toeline 9.9, this command is of {__version__}",)


def test_code_of_every_error_of_the_client() -> None:
    errors = [
        UnreachableError("", 1),
        AnswerError(""),
        BusyError(429, ""),
        ProblemError(500, ""),
        ProblemError(422, ""),
    ]
    assert [exit_code(error) for error in errors] == [3, 3, 3, 3, 2]


def test_other_commands_give_3_as_well(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (design / "in.ndjson").write_text('{"id": 1, "calculation": "curves", "input": {}}\n')
    network = "http://127.0.0.1:9"
    assert main(["batch", "in.ndjson", "--server", network, "--timeout", "5"]) == 3
    assert "no connection" in capsys.readouterr().err


# --- what is seen


def test_bar_on_a_terminal_counts_the_files(design: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    terminal = Terminal()
    monkeypatch.setattr(sys, "stderr", terminal)
    assert main(list(COMPARE)) == 0
    assert "100 % of 1" in terminal.getvalue()


def answer_of(design: Path) -> Answered:
    found = gate.ask_checks(find(["models"]), gate.calculate_here, design).checks[0]
    assert isinstance(found, Answered)
    return found


def test_verdict_of_the_check_counts_even_below_the_limit(design: Path) -> None:
    answer = answer_of(design)
    state = answer.lines[0].state.model_copy(update={"verdict": "fail"})
    lines = (replace(answer.lines[0], state=state), answer.lines[1])
    found = compare_line(replace(answer, lines=lines, verdict="fail"), None, Limits())
    assert [[fault.kind for fault in line.faults] for line in found.lines] == [["limit"], []]
    assert (found.faults, found.passed) == ((), False)


@pytest.mark.parametrize(("verdict", "kind"), [("fail", "limit"), ("undecided", "undecided")])
def test_verdict_that_no_line_stands_for_is_one_of_the_check(design: Path, verdict: str, kind: str) -> None:
    found = compare_line(replace(answer_of(design), verdict=verdict, doubts=()), None, Limits())
    assert [fault.kind for fault in found.faults] == [kind]
    assert GateResult(checks=(found,), limits=Limits(), compared=False).exit_code == 1


def test_names_that_are_no_text_and_other_drives(
    design: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    capsys.readouterr()
    odd = os.fsdecode(b"models/Tr\xc3\xa4ger \xff.json")
    write(Path(odd), request())
    named = ["--junit", "j.xml", "--markdown", "m.md", "--baseline", "odd.json", "--write-baseline", "--json"]
    assert main(["gate", "models", *named]) == 0
    assert "models/Tr\u00e4ger \\xff.json" in [check["check"] for check in result_of(capsys)["checks"]]
    assert "models/Tr\u00e4ger \\xff.json" in read(Path("odd.json")).checks
    assert main(["gate", "models", "--baseline", "odd.json"]) == 0  # found again by the same name

    def other_drive(*_: Any) -> str:
        raise ValueError("path is on mount 'D:', start on mount 'C:'")

    monkeypatch.setattr("service.gate.baseline.os.path.relpath", other_drive)
    assert key_of(Path("models/hanger.json"), Path()) == (design / "models" / "hanger.json").as_posix()


@pytest.mark.parametrize("encoding", ["cp1252", "ascii"])
def test_output_of_few_letters_ends_no_command(design: Path, encoding: str) -> None:
    write(design / "models" / "other.json", request(names=("N\u00e4hte \u2192 \U0001f600", "b")))
    clone = str(Path(__file__).parents[2])
    environment = {**os.environ, "PYTHONPATH": clone, "PYTHONUTF8": "0", "PYTHONIOENCODING": encoding}
    code = (
        "from service.cli import main; assert main(['gate', 'models']) == 0; print('---', flush=True);"
        "raise SystemExit(main(['gate', 'models', '--json']))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, env=environment, check=True)
    shown, _, written = done.stdout.partition(b"---\n")
    assert b"\\u2192" in shown
    names = [line["name"] for check in json.loads(written)["checks"] for line in check["lines"]]
    assert "N\u00e4hte \u2192 \U0001f600" in names


def test_two_files_of_one_title_stay_apart(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write(design / "models" / "twin.json", request(0.5))
    assert main(["gate", "models", "--baseline", "base.json", "--write-baseline"]) == 0
    write(design / "models" / "twin.json", request(0.8))
    capsys.readouterr()
    assert main([*COMPARE, "--growth-floor", "0.3"]) == 1
    checks = {check["check"]: check["passed"] for check in result_of(capsys)["checks"]}
    assert checks == {"models/hanger.json": True, "models/twin.json": False}


@pytest.mark.parametrize(("size", "whole"), [(119, True), (120, True), (121, False)])
def test_a_long_rule_is_cut_at_its_length(size: int, whole: bool) -> None:
    (text,) = rule_changes("x" * size, None, "rule")
    shown = text.removeprefix("rules changed: rule ").removesuffix(" -> none")
    assert shown == ("x" * size if whole else "x" * 117 + "...")
