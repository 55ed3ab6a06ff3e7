"""What a gate writes: JUnit XML as pipelines read it, Markdown for merge requests, text; always the same."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from service.base.text import WIDTH
from service.cli import main
from service.gate.baseline import Accepted, StoredLine
from service.gate.forms.junit import junit_xml
from service.gate.forms.markdown import markdown_text
from service.gate.forms.rows import NOT_PASSED, line_facts
from service.gate.forms.text import json_text, terminal_text
from service.gate.result import CaseResult, Fault, GateResult, Limits, LineResult
from tests.api.test_gate import request, write

BEFORE = StoredLine(
    utilisation=0.9,
    unjudged_utilisation=None,
    reference_utilisation=0.9,
    reference_unjudged_utilisation=None,
    highest_utilisation=0.9,
    verdict="pass",
    curve="peak-stress-opening",
    index=11,
    position_mm=33.0,
    stations=141,
    length_mm=70.0,
    request_digest="sha256:0",
    pattern="4 6 5",
    ends_mm=[],
    calculation="revision 1 of toeline 1",
    rules={},
    directions={},
)
NOW = BEFORE.model_copy(
    update={"utilisation": 1.08, "verdict": "fail", "index": 12, "position_mm": 35.2, "request_digest": "x"}
)
PLACE = {"index": 12, "position_mm": 35.2, "coordinates_mm": [318.0, -12.0, 0.5], "node_id": 1000020}
WHERE = "station 12, 35.2 mm, node 1000020, at (318, -12, 0.5)"


def line(name: str = "toe", *faults: Fault, now: StoredLine | None = NOW) -> LineResult:
    return LineResult(
        name=name,
        now=now,
        before=BEFORE,
        place=None if now is None else {"line": name, **PLACE},
        equivalent_stress_mpa=168.5,
        allowable_stress_mpa=156.0,
        faults=faults,
    )


def result(*checks: CaseResult, compared: bool = True, notes: tuple[str, ...] = ()) -> GateResult:
    return GateResult(checks=checks, limits=Limits(growth_pct=2.0), compared=compared, notes=notes)


FAILED = CaseResult(
    key="models/hanger.json",
    lines=(
        line("toe on rail", Fault("limit", "over the limit"), Fault("growth", "grew")),
        line("root", now=BEFORE),
        line("gone", Fault("vanished", "no more"), now=None),
    ),
    doubts=("constant from memory",),
    caution="Ask an engineer.",
)
REFUSED = CaseResult(key="models/broken.json", error="2 parts do not fit\n  /lines: missing", error_code=2)


def junit(found: GateResult) -> ET.Element:
    return ET.fromstring(junit_xml(found))


def test_junit_has_the_usual_structure() -> None:
    root = junit(result(FAILED, REFUSED))
    assert root.tag == "testsuites"
    assert {suite.tag for suite in root} == {"testsuite"}
    for suite in root:
        cases = list(suite)
        assert {case.tag for case in cases} == {"testcase"}
        assert int(suite.attrib["tests"]) == len(cases)
        assert int(suite.attrib["failures"]) == len(suite.findall("testcase/failure"))
        assert int(suite.attrib["errors"]) == len(suite.findall("testcase/error"))
        assert suite.attrib["skipped"] == "0"
        for case in cases:
            assert case.attrib["name"]
            assert case.attrib["classname"] == suite.attrib["name"]
            assert len(case) <= 1  # one outcome a case
            assert {child.tag for child in case} <= {"failure", "error", "system-out"}
            for outcome in [*case.findall("failure"), *case.findall("error")]:
                assert set(outcome.attrib) == {"message", "type"}
    for count in ("tests", "failures", "errors"):
        assert int(root.attrib[count]) == sum(int(suite.attrib[count]) for suite in root)
    assert (root.attrib["tests"], root.attrib["failures"], root.attrib["errors"]) == ("4", "2", "1")


def test_junit_has_one_case_a_weld_line() -> None:
    suite = junit(result(FAILED))[0]
    assert [case.attrib["name"] for case in suite] == ["toe on rail", "root", "gone"]


def test_junit_failure_tells_station_curve_utilisation_and_change() -> None:
    failure = junit(result(FAILED))[0][0][0]
    assert failure.attrib == {"message": "over the limit; grew", "type": "limit"}
    assert failure.text is not None
    assert failure.text.splitlines() == [
        "over the limit",
        "grew",
        f"governing point: toe on rail, {WHERE}",
        "curve: peak-stress-opening",
        "equivalent range: 168 MPa",
        "allowable range: 156 MPa",
        "utilisation: 1.08",
        "baseline: utilisation 0.9 at station 11 (33 mm), peak-stress-opening",
        "change: +20 %",
    ]


def test_junit_error_is_the_refusal() -> None:
    error = junit(result(REFUSED))[0][0][0]
    assert (error.tag, error.attrib["type"], error.text) == ("error", "refused", REFUSED.error)
    lost = CaseResult(key="a", error="no connection", error_code=3)
    assert junit(result(lost))[0][0][0].attrib == {"message": "no connection", "type": "unreachable"}


def test_junit_survives_any_name() -> None:
    name = "toe <&\"'> \x00\x1b\ud800\ufffe]]> ü 溶"
    case = junit(result(CaseResult(key=name, lines=(line(name, Fault("limit", name)),))))[0][0]
    assert case.attrib["name"] == "toe <&\"'> \\x00\\x1b\\ud800\\ufffe]]> ü 溶"
    assert case[0].attrib["message"] == case.attrib["name"]


def test_junit_has_a_time_only_when_asked() -> None:
    assert "timestamp" not in junit_xml(result(FAILED))
    stamped = ET.fromstring(junit_xml(result(FAILED), stamp="2026-01-01T00:00:00+00:00"))
    assert stamped[0].attrib["timestamp"] == "2026-01-01T00:00:00+00:00"


def test_line_names_the_state_that_growth_counts_from() -> None:
    lower = BEFORE.model_copy(update={"reference_utilisation": 0.8})
    assert "growth counts from: utilisation 0.8" in line_facts(replace(line(), before=lower), Limits())
    assert not [fact for fact in line_facts(line(), Limits()) if fact.startswith("growth counts from")]


def test_line_without_a_past_or_a_stress() -> None:
    new = LineResult(name="x", now=NOW, before=None)
    assert line_facts(new, Limits())[2:4] == ["equivalent range: - MPa", "allowable range: - MPa"]
    assert line_facts(new, Limits())[-1] == "baseline: none"


def test_markdown_for_a_merge_request() -> None:
    text = markdown_text(result(FAILED, REFUSED, notes=("models/x.json: holds no check, left out",)))
    lines = text.splitlines()
    assert lines[0] == "## Weld gate: input refused"
    assert lines[2] == (
        "2 checks, 3 weld lines: 2 failed or undecided, 1 check without an answer"
        " (limit 1, growth up to 2 % above 0.5)."
    )
    table = [entry for entry in lines if entry.startswith("|")]
    assert table[0] == "| check | weld line | result | utilisation | why | curve | governing station |"
    assert [entry.split(" | ")[1] for entry in table[2:4]] == ["toe on rail", "gone"]  # gravest first
    assert table[2] == (
        "| models/hanger.json | toe on rail | FAILED | 0.9 -\\> 1.08 (+20 %) | over the limit; grew;"
        f" governing station 11, 33 mm -\\> station 12, 35.2 mm | peak-stress-opening | {WHERE} |"
    )
    assert table[3] == "| models/hanger.json | gone | VANISHED | 0.9 -\\> none | no more | - | - |"
    assert table[-1] == f"| models/hanger.json | root | passed | 0.9, as before | {WHERE} |"
    assert "- **models/broken.json**: 2 parts do not fit /lines: missing" in lines
    assert "- models/x.json: holds no check, left out" in lines
    assert "- models/hanger.json: constant from memory" in lines
    assert lines[-1] == "*Ask an engineer.*"


def test_markdown_of_a_good_run_is_short() -> None:
    good = CaseResult(key="a.json", lines=(line(now=BEFORE),), caution="Ask an engineer.")
    text = markdown_text(result(good, compared=False))
    assert "###" not in text
    assert "| check | weld line | result | utilisation | governing station |" in text
    assert "(limit 1)." in text


def test_markdown_lets_no_name_become_markup() -> None:
    name = "a|b <script> `x` [y](z) **w** #1 @all\nnext"
    text = markdown_text(result(CaseResult(key="k", lines=(line(name, Fault("limit", name)),))))
    assert "<script>" not in text
    row = next(entry for entry in text.splitlines() if entry.startswith("| k |"))
    assert len(re.findall(r"(?<!\\)\|", row)) == 8
    assert r"\@all next" in row
    assert r"\[y\](z)" in row


def test_vanished_line_that_was_accepted() -> None:
    gone = CaseResult(key="k", lines=(line(now=None),))
    assert "vanished" in terminal_text(result(gone))
    assert "VANISHED" not in terminal_text(result(gone))


def test_terminal_begins_with_what_is_wrong_and_ends_with_the_verdict() -> None:
    shown = terminal_text(result(FAILED, REFUSED, notes=("something left out",))).splitlines()
    assert shown[:5] == [
        "models/broken.json: 2 parts do not fit",
        "  /lines: missing",
        "models/hanger.json, toe on rail: over the limit",
        "models/hanger.json, gone: no more",
        "models/hanger.json, toe on rail: grew",
    ]
    head = "check weld line utilisation baseline change curve governing station result"
    assert sorted(" ".join(shown[6:8]).split()) == sorted(head.split())
    table = shown[6 : shown.index("note: something left out") - 1]
    assert max(map(len, table)) <= WIDTH
    assert sum("models/hanger.json" in row for row in table) == 3
    assert "note: something left out" in shown
    assert "doubtful: models/hanger.json: constant from memory" in shown
    assert "Ask an engineer." in shown
    assert shown[-2].startswith("INPUT REFUSED: 2 checks, 3 weld lines: 2 failed or undecided")
    assert shown[-1] == "    growth up to 2 % above 0.5)"


def test_doubt_of_many_checks_is_told_once() -> None:
    checks = [CaseResult(key=f"{n}.json", lines=(line(now=BEFORE),), doubts=("memory",)) for n in range(4)]
    assert "doubtful: 4 checks: memory" in terminal_text(result(*checks))
    assert "doubtful: 0.json, 1.json, 2.json: memory" in terminal_text(result(*checks[:3]))


def test_check_that_fails_as_a_whole_shows_in_every_form() -> None:
    broken = CaseResult(
        key="k", lines=(line(now=BEFORE),), faults=(Fault("rules", "damage limit 1 -> 5"),), notes=("named",)
    )
    shown = terminal_text(result(broken))
    assert shown.startswith("k: damage limit 1 -> 5\n")
    assert "CHECK FAILED" in shown
    assert "note: k: named" in shown
    assert "1 check, 1 weld line: 0 failed or undecided, 1 check failed as a whole (limit 1, " in shown
    assert (
        "| k | *the check as a whole* | FAILED | - | rules changed: damage limit 1 -\\> 5 | - | - |"
        in markdown_text(result(broken))
    )
    suite = junit(result(broken))[0]
    assert [case.attrib["name"] for case in suite] == ["toe", "check as a whole"]
    assert suite[1][0].attrib == {"message": "damage limit 1 -> 5", "type": "rules"}
    assert (suite.attrib["tests"], suite.attrib["failures"]) == ("2", "1")
    assert json.loads(json_text(result(broken)))["checks"][0]["faults"][0]["kind"] == "rules"


def test_what_was_accepted_shows_in_every_form() -> None:
    entry = Accepted(check="k", line="toe", changes=["grew"], because="new truck")
    found = replace(result(CaseResult(key="k", lines=(line(now=BEFORE),))), accepted=(entry,))
    text = "k, toe: accepted because new truck (grew)"
    assert f"note: {text}" in terminal_text(found)
    assert f"- {text}" in markdown_text(found).replace("\\", "")
    assert text in (junit(found)[0][0][0].text or "")
    assert json.loads(json_text(found))["accepted"] == [entry.model_dump()]


def test_terminal_without_a_line() -> None:
    assert terminal_text(result(REFUSED)).startswith("models/broken.json: 2 parts do not fit")


def test_undecided_is_called_so() -> None:
    unsure = CaseResult(key="k", lines=(line("toe", Fault("undecided", "outside")),))
    assert "UNDECIDED" in terminal_text(result(unsure))


def test_json_is_whole() -> None:
    content = json.loads(json_text(result(FAILED, REFUSED)))
    assert (content["exit_code"], content["verdict"], content["caution"]) == (
        2,
        "input refused",
        "Ask an engineer.",
    )
    assert content["limits"] == {
        "utilisation": 1.0,
        "growth_pct": 2.0,
        "growth_floor": 0.5,
        "accept_vanished": False,
    }
    first = content["checks"][0]["lines"][0]
    assert first["now"] == NOW.model_dump()
    assert first["faults"] == [
        {"kind": "limit", "text": "over the limit"},
        {"kind": "growth", "text": "grew"},
    ]
    assert content["checks"][1]["error"] == REFUSED.error


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[[], dict[str, bytes]]:
    """Runs the gate on a worsened design and returns what it wrote."""
    monkeypatch.chdir(tmp_path)
    for name in ("b.json", "a.json"):
        write(tmp_path / "models" / name, request())
    assert main(["gate", "models", "--baseline", "base.json", "--write-baseline"]) == 0
    write(tmp_path / "models" / "b.json", request(1.2))
    options = ["--baseline", "base.json", "--growth-pct", "2", "--junit", "j.xml", "--markdown", "m.md"]

    def once() -> dict[str, bytes]:
        assert main(["gate", "models", *options]) == 1
        return {name: (tmp_path / name).read_bytes() for name in ("j.xml", "m.md", "base.json")}

    return once


def test_two_runs_write_the_same_bytes(run: Callable[[], dict[str, bytes]]) -> None:
    assert run() == run()


def test_written_files_of_a_real_run(run: Callable[[], dict[str, bytes]]) -> None:
    written = run()
    root = ET.fromstring(written["j.xml"])
    assert [suite.attrib["name"] for suite in root] == ["models/a.json", "models/b.json"]
    assert [suite.attrib["failures"] for suite in root] == ["0", "1"]
    failure = root[1][0][0]
    assert failure.text is not None
    for fact in (
        "governing point: toe A, station 1, 10 mm",
        "curve: peak-stress-opening",
        "utilisation: ",
        "change: +20 %",
    ):
        assert fact in failure.text
    assert b"\r" not in written["m.md"]
    assert b"Fatigue assessment needs engineering judgement" in written["m.md"]


def test_stamp_is_written_when_asked(run: Callable[[], dict[str, bytes]]) -> None:
    run()
    main(["gate", "models", "--junit", "j.xml", "--stamp"])
    stamp = ET.parse("j.xml").getroot()[0].attrib["timestamp"]
    assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\+00:00", stamp)


def test_a_line_that_did_not_pass_before_says_so() -> None:
    failed = LineResult(name="x", now=NOW, before=NOW.model_copy(update={"verdict": "fail"}))
    passed = LineResult(name="x", now=NOW, before=NOW.model_copy(update={"verdict": "pass"}))
    more = [fact for fact in line_facts(failed, Limits()) if fact not in line_facts(passed, Limits())]
    assert more == [f"baseline: {NOT_PASSED['fail']}"]
