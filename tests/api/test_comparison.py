"""What changed since an older answer: input, rules, result, line by line; in pages, commands, over HTTP."""

from __future__ import annotations

import copy
import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import httpx
import pytest

from service.base.common import Calculation
from service.base.envelope import evaluate
from service.base.problems import Problem
from service.cli import main
from service.comparison.changes import Change, Comparison, LineChange, LineState, two_numbers
from service.comparison.compare import compare
from service.comparison.inputs import input_changes
from service.comparison.looser import judges_looser, less_severe
from service.comparison.older import answer_of, older_answer
from service.topics.registry import find
from tests.api.report_pages import FOLDER, PAGE
from tests.api.test_gate import request, write
from tests.api.test_strictness import is_problem


def calculation(name: str = "check") -> Calculation:
    found = find(name)
    assert found is not None
    return found


def envelope(data: Any, name: str = "check") -> Any:
    return json.loads(evaluate(calculation(name), data).content())


def changed(before: Any, now: Any, name: str = "check") -> list[Change]:
    """Changes of the input of two requests, defaults filled in."""
    model = calculation(name).request
    return input_changes(*(model.model_validate(data).model_dump(mode="json") for data in (before, now)))


def texts(before: Any, now: Any, name: str = "check") -> dict[str, str]:
    return {change.pointer: change.text for change in changed(before, now, name)}


def since(older: Any, data: Any, name: str = "check") -> Comparison:
    called = calculation(name)
    return compare(older_answer("old.json", older, called), answer_of("now", evaluate(called, data)))


def put(path: str, value: Any) -> Callable[[Any], None]:
    def change(data: Any) -> None:
        *steps, last = (int(step) if step.isdigit() else step for step in path.split("/"))
        for step in steps:
            data = data[step]
        data[last] = value

    return change


# --- input


@pytest.mark.parametrize(
    ("change", "pointer", "text"),
    [
        (
            put("loading/factors/vertical/maximum", 14.4),
            "/loading/factors/vertical/maximum",
            "loading, factors, vertical, maximum 12 -> 14.4",
        ),
        (
            put("loading/factors/vertical/maximum", 10.0),
            "/loading/factors/vertical/maximum",
            "loading, factors, vertical, maximum 12 -> 10 (judges more leniently)",
        ),
        (
            put("loading/cycles", 1e6),
            "/loading/cycles",
            "loading, cycles 2,000,000 -> 1,000,000 (judges more leniently)",
        ),
        (put("target", {"damage_limit": 0.6}), "/target/damage_limit", "target, damage limit none -> 0.6"),
        (
            put("condition", "stress-relieved"),
            "/condition",
            "condition as-welded -> stress-relieved (judges more leniently)",
        ),
        (put("title", "other"), "/title", "title hanger -> other"),
        (
            put("lines/1/mesh/element_size_mm", 1.5),
            "/lines/1/mesh/element_size_mm",
            "lines, toe B, mesh, element size 2 -> 1.5 mm",
        ),
        (put("lines/1/closed", True), "/lines/1/closed", "lines, toe B, closed no -> yes"),
        (
            put("lines/1/cases/vertical/peaks_mpa/opening", [2.0, 3.3, 2.5]),
            "/lines/1/cases/vertical",
            "lines, toe B, cases, vertical 2, 3, 2.5 -> 2, 3.3, 2.5 MPa",
        ),
        (put("lines/1/name", "toe C"), "/lines/1/name", "the name alone of a weld line toe B -> toe C"),
        (
            put("curves", {"rule": "fixed", "curve": "iiw-2016-normal-steel-71"}),
            "/curves/opening_curve",
            "curves, opening curve peak-stress-opening -> none",
        ),
        (
            put("document", {"part": "p"}),
            "/document/part",
            "document, part none -> p",
        ),
    ],
)
def test_input_that_changed_has_its_pointer_and_both_values(
    change: Callable[[Any], None], pointer: str, text: str
) -> None:
    now = copy.deepcopy(request())
    change(now)
    assert texts(request(), now)[pointer] == text


def test_same_request_has_no_change_with_its_defaults_written_or_not() -> None:
    written = {**request(), "condition": "as-welded", "load_cases": {}}
    assert changed(request(), written) == []


def test_long_columns_are_summed_up_with_the_largest_difference() -> None:
    long, now = request(), request()
    for data, largest in ((long, 6.0), (now, 6.6)):
        data["lines"] = data["lines"][:1]
        data["lines"][0]["position_mm"] = [float(n) for n in range(8)]
        data["lines"][0]["cases"]["vertical"]["peaks_mpa"]["opening"] = [4.0] * 7 + [largest]
    (text,) = texts(long, now).values()
    assert (
        text
        == "lines, toe A, cases, vertical 8 values, 4 to 6 -> 8 values, 4 to 6.6 (1 differ, the most: 6 -> 6.6) MPa"
    )


def test_blocks_are_matched_by_their_names_where_each_has_one() -> None:
    def blocks(*names: str | None) -> dict[str, Any]:
        factors = {"vertical": {"maximum": 12.0, "minimum": 0.0}}
        made = [{"factors": factors, "cycles": 10.0, **({"name": name} if name else {})} for name in names]
        return {**request(), "loading": {"kind": "blocks", "blocks": made}}

    gone = texts(blocks("road", "field"), blocks("field"))
    assert gone["/loading/blocks/0/cycles"] == "loading, blocks, road, cycles 10 -> none (judges more leniently)"
    assert all("road" in text for text in gone.values())
    new = texts(blocks(None, None), blocks(None, None, None))
    assert new["/loading/blocks/2/cycles"] == "loading, blocks, 3, cycles none -> 10"


def test_part_in_place_of_a_name_and_a_part_that_is_new() -> None:
    own = {"id": "own", "quantity": "stress range", "slopes": [3.0], "point_cycles": 2e6, "point_range_mpa": 100.0}
    before, now = {"curves": {"curve": "a"}, "growth": None}, {"curves": {"curve": own}, "growth": {"depth_mm": 0.1}}
    found = {change.pointer: change for change in input_changes(before, now)}
    assert found["/curves/curve"].before == "a"
    assert found["/curves/curve"].now.startswith('{"id": "own"')
    assert found["/growth/depth_mm"].text == "growth, depth none -> 0.1 mm"
    long = input_changes({"title": "x"}, {"title": "y" * 500})[0]
    assert long.now == "y" * 117 + "..."


def test_inputs_of_the_other_calculations_with_a_report() -> None:
    damage = json.loads((FOLDER / "spectrum" / "damage-blocks.json").read_text(encoding="utf-8"))["request"]
    fewer = {**damage, "repeats": damage.get("repeats", 1.0) / 2.0}
    assert "judges more leniently" in texts(damage, fewer, "spectrum/damage")["/repeats"]
    found = {change.pointer: change for change in input_changes({"count": None}, {"count": [1.0, 2.0]})}
    assert found["/count"].text == "count none -> 1, 2"
    growth = json.loads((FOLDER / "cracks" / "growth-bracket-toe-alone.json").read_text(encoding="utf-8"))["request"]
    deeper = copy.deepcopy(growth)
    deeper["crack"]["depth_mm"] = 0.05
    assert texts(growth, deeper, "cracks/growth") == {
        "/crack/depth_mm": "crack, depth 0.1 -> 0.05 mm (judges more leniently)"
    }


def test_column_of_loads_that_became_less_is_marked() -> None:
    def history(top: float) -> dict[str, Any]:
        return {**request(), "loading": {"kind": "history", "channels": {"vertical": [0.0, top, 0.0, 5.0]}}}

    (text,) = texts(history(12.0), history(10.0)).values()
    assert text == "loading, channels, vertical 0, 12, 0, 5 -> 0, 10, 0, 5 (judges more leniently)"
    (text,) = texts(history(12.0), history(14.0)).values()
    assert not text.endswith("(judges more leniently)")
    found = [input_changes({"count": before}, {"count": now})[0] for before, now in (([2.0], [1.0]), ([2.0], []))]
    assert [change.looser for change in found] == [True, False]


# --- what judges more leniently


@pytest.mark.parametrize(
    ("name", "before", "now", "looser"),
    [
        ("target.damage_limit", 0.5, 0.4, False),
        ("target.survival_probability", 0.977, 0.95, True),
        ("target.survival_probability", 0.977, None, False),
        ("target.load_factor", 1.35, 1.0, True),
        ("lines.exclude_ends_mm", 0.0, 3.0, True),
        ("condition", "stress-relieved", "as-welded", False),
        ("curves.curve", "iiw-2016-normal-steel-71", "iiw-2016-normal-steel-80", True),
        ("curves.curve", "iiw-2016-normal-steel-80", "iiw-2016-normal-steel-71", False),
        ("lines.curves.shear_curve", "no-such", "iiw-2016-normal-steel-71", False),
        ("curves.curve", {"id": "own"}, "iiw-2016-normal-steel-71", False),
        ("loading.blocks.cycles", 10.0, None, True),
        ("material.name", "a", "b", False),
    ],
)
def test_what_judges_more_leniently_is_marked(name: str, before: Any, now: Any, looser: bool) -> None:
    assert judges_looser(name, before, now) is looser


def test_curves_of_another_quantity_are_not_compared() -> None:
    assert not less_severe("iiw-2016-normal-steel-71", "energy-density")


# --- answers


def test_result_of_more_load_line_by_line() -> None:
    found = since(envelope(request()), request(1.2))
    results = {change.pointer: change.text for change in found.results or ()}
    assert re.fullmatch(r"utilisation 0\.\d+ -> 0\.\d+", results["answer.utilisation"])
    assert {line.name: line.status for line in found.lines} == {"toe A": "changed", "toe B": "changed"}
    line = found.lines[0]
    assert line.growth_pct == pytest.approx(20.0)
    assert [text.split()[0] for text in line.texts[:2]] == ["utilisation", "life"]
    assert found.inputs is None
    assert found.remarks == (
        "the older file holds an answer without its request: what of the input changed is not known from it",
    )


def test_same_answer_has_no_change() -> None:
    found = since(envelope(request()), request())
    assert found.remarks == ("the input is the same",)
    assert (found.rules, found.results, found.came, found.went) == ((), (), (), ())
    assert {line.status for line in found.lines} == {"same"}
    assert not list(found.texts)


def test_older_request_and_older_request_with_its_answer() -> None:
    both = {"calculation": "check", "request": request(), "response": envelope(request())}
    now = request(0.5)
    for older in (request(), both, {"calculation": "check", "request": request()}):
        found = since(older, now)
        assert [change.pointer for change in found.inputs or ()] == ["/loading/factors/vertical/maximum"]
        assert found.looser == ["loading, factors, vertical, maximum"]
        assert found.before.input_digest == both["response"]["record"]["input_digest"]
    assert since(request(), now).before.name == "old.json, calculated now"


def test_lines_that_are_new_and_gone_are_listed_the_gone_ones_first() -> None:
    found = since(envelope(request()), request(names=("toe A", "toe C")))
    assert [(line.name, line.status) for line in found.lines] == [
        ("toe B", "gone"),
        ("toe A", "same"),
        ("toe C", "new"),
    ]
    assert (None, "the line is gone") not in found.texts
    assert ("toe B", "the line is gone") in found.texts
    gone, _, new = found.lines
    assert (gone.verdict, new.verdict) == (("pass", "none"), ("none", "pass"))
    assert (gone.life[1], new.life[0], gone.others, new.growth_pct) == ("none", "none", [], None)


def test_findings_that_came_and_went_by_line_and_as_a_whole() -> None:
    coarse = request(target={"damage_limit": 1.5})
    coarse["lines"][1]["mesh"]["element_size_mm"] = 20.0
    found = since(envelope(request()), coarse)
    line = next(line for line in found.lines if line.name == "toe B")
    assert any(text.startswith("outside ") for text in line.came)
    assert ("toe B", f"finding came: {line.came[0]}") in found.texts
    assert "outside damage-limit-above-one" in found.came
    assert found.went == ("note damage-limit",)
    assert (None, "finding came: outside damage-limit-above-one") in found.texts
    assert (None, "damage limit 1 -> 1.5 (judges more leniently)") in found.texts
    back = since(envelope(coarse), request())
    assert back.came == found.went
    assert (None, "damage limit 1.5 -> 1") in back.texts


def test_other_version_revision_and_table_are_rules() -> None:
    older = envelope(request())
    older["record"] |= {"version": "0.1.0", "revision": 1}
    older["record"]["tables"] = {**older["record"]["tables"], "curves_gone": "abc"}
    found = since(older, request())
    texts_of = [change.text for change in found.rules]
    assert texts_of[0].startswith("version of the calculation 0.1.0 -> ")
    assert texts_of[1].startswith("revision of the calculation 1 -> ")
    assert texts_of[2] == "table of figures curves_gone abc -> none"
    both = {
        "calculation": "check",
        "request": request(1.1),
        "response": {**older, "record": {**older["record"], "input_digest": "x"}},
    }
    assert since(both, request()).remarks == (
        "the request of the older file is read with the defaults of this version",
    )


def test_life_that_is_or_becomes_infinite_and_noise_of_another_processor() -> None:
    assert two_numbers(None, 2e6, "infinite") == ("infinite", "2,000,000")
    state = LineState(verdict="pass", utilisation=0.5, curve="c", place="p", findings=frozenset())
    near = LineState(verdict="pass", utilisation=0.5 * (1 + 1e-9), curve="c", place="p", findings=frozenset())
    assert LineChange(name="a", before=state, now=near).status == "same"
    old = LineState(verdict="pass", utilisation=0.0, curve="c", place="p")
    line = LineChange(name="a", before=old, now=state)
    assert (line.life, line.came, line.growth_pct) == (("-", "-"), [], None)


@pytest.mark.parametrize(
    ("older", "pointer", "words"),
    [
        ([1], "/baseline", "an older answer is a JSON object"),
        ({"answer": {}, "findings": [], "record": {}}, "/baseline/record/calculation", "inputs are refused"),
        ({"calculation": "cracks/growth", "request": {}}, "/baseline", "of cracks/growth, this one of check"),
        ({"a": 1}, "/baseline/lines", "inputs are refused"),
        ({"calculation": "check", "request": {}, "response": {}}, "/baseline/request/lines", "inputs are refused"),
        ({"kind": "toeline baseline"}, "/baseline", "a baseline of a gate is read by the command line"),
    ],
)
def test_older_answer_that_is_none_is_refused(older: Any, pointer: str, words: str) -> None:
    with pytest.raises(Problem) as refused:
        older_answer("old.json", older, calculation())
    assert pointer in {where for where, _ in refused.value.errors}
    assert words in refused.value.detail


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        (put("record/calculation", "spectrum/damage"), "/baseline"),
        (put("answer/lines/0/verdict", "perhaps"), "/baseline/answer/lines/0/verdict"),
        (put("answer/lines/0/governing_index", 99), "/baseline/answer/lines/0"),
        (put("answer/lines", []), None),
        (put("answer/utilisation", float("nan")), "/baseline/answer/utilisation"),
        (put("findings/0/severity", "grave"), "/baseline/findings/0/severity"),
        (put("more", 1), None),
    ],
)
def test_older_answer_is_read_strictly_where_it_is_used(change: Callable[[Any], None], pointer: str | None) -> None:
    older = envelope(request())
    change(older)
    if pointer is None:
        assert older_answer("old.json", older, calculation()).name == "old.json"
        return
    with pytest.raises(Problem) as refused:
        older_answer("old.json", older, calculation())
    assert pointer in {where for where, _ in refused.value.errors}


# --- in the page


def page_with(tmp_path: Path, older: Any, data: Any, *more: str) -> str:
    file, old, out = tmp_path / "new.json", tmp_path / "old.json", tmp_path / "page.html"
    write(file, data)
    write(old, older)
    assert main(["report", str(file), "--baseline", str(old), "-o", str(out), *more]) == 0
    return out.read_text(encoding="utf-8")


def test_report_says_what_changed_since_an_older_answer(tmp_path: Path) -> None:
    older = envelope(request())
    page = page_with(tmp_path, older, request(1.2))
    assert "<h2>Changes since old.json</h2>" in page
    assert older["record"]["input_digest"] in page
    assert "<p>Not known.</p>" in page
    assert "<td>+20\u00a0%</td>" in page
    assert page.index("Changes since") < page.index("<h2>Governing point")


def test_report_says_what_changed_since_an_older_request_and_what_judges_more_leniently(tmp_path: Path) -> None:
    older = {**request(), "target": {"load_factor": 1.5}}
    page = page_with(tmp_path, older, {**request(), "title": "<b>&"})
    assert "<strong>Judges more leniently than before:</strong> target, load factor." in page
    assert "<code>/target/load_factor</code>" in page
    assert "&lt;b&gt;&amp;" in page
    assert "<b>&" not in page


def test_report_without_an_older_answer_says_nothing_of_changes(tmp_path: Path) -> None:
    file = write(tmp_path / "new.json", request())
    assert main(["report", str(file)]) == 0
    assert "Changes since" not in (tmp_path / "new.html").read_text(encoding="utf-8")


def test_many_changes_are_bounded_and_counted(tmp_path: Path) -> None:
    def blocks(cycles: float) -> dict[str, Any]:
        made = [{"factors": {"vertical": {"maximum": 12.0, "minimum": 0.0}}, "cycles": cycles + n} for n in range(300)]
        return {**request(), "loading": {"kind": "blocks", "blocks": made, "transitions": "in-entries"}}

    page = page_with(tmp_path, blocks(10.0), blocks(20.0))
    assert '<p class="small">100 more changes are not listed.</p>' in page


@pytest.mark.parametrize(
    ("file", "name"), [("spectrum/damage-blocks.json", "spectrum/damage"), ("cracks/growth-bracket-toe-alone.json", "")]
)
def test_reports_of_the_other_calculations_say_what_changed(tmp_path: Path, file: str, name: str) -> None:
    example = json.loads((FOLDER / file).read_text(encoding="utf-8"))
    example["request"] = {**example["request"], "title": "new"}
    page = page_with(tmp_path, json.loads((FOLDER / file).read_text(encoding="utf-8")), example)
    assert "<h2>Changes since old.json</h2>" in page
    assert "<code>/title</code>" in page
    assert "<h3>Weld lines</h3>" not in page


def test_report_says_what_changed_since_the_state_that_a_gate_stored(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    write(Path("models/a.json"), request())
    assert main(["gate", "models", "--baseline", "base.json", "--write-baseline"]) == 0
    write(Path("models/a.json"), request(1.2, target={"damage_limit": 0.6}))
    assert main(["report", "models/a.json", "--baseline", "base.json", "-o", "a.html"]) == 0
    page = Path("a.html").read_text(encoding="utf-8")
    assert "<h2>Changes since the baseline</h2>" in page
    assert "target.damage_limit" in page
    assert "loads of vertical, reach" in page
    write(Path("models/b.json"), request())
    capsys.readouterr()
    assert main(["report", "models/b.json", "--baseline", "base.json"]) == 2
    assert "stores no state of models/b.json; it has models/a.json" in capsys.readouterr().err


# --- over HTTP


def test_page_takes_an_older_answer_beside_the_request(client: httpx.Client) -> None:
    body = {**request(1.2), "baseline": envelope(request())}
    answered = client.post("/v1/check", json=body, headers=PAGE)
    assert answered.status_code == 200
    assert "<h2>Changes since the older answer</h2>" in answered.text
    assert "Changes since" not in client.post("/v1/check", json=request(1.2), headers=PAGE).text


def test_other_forms_refuse_an_older_answer(client: httpx.Client) -> None:
    body = {**request(1.2), "baseline": envelope(request())}
    for headers in ({}, {"Accept": "text/csv"}):
        problem = is_problem(client.post("/v1/check", json=body, headers=headers), 422)
        assert problem["errors"][0]["pointer"] == "/baseline"


@pytest.mark.parametrize("older", [{}, 1, {"calculation": "cracks/growth", "request": {}}, {"lines": []}])
def test_page_refuses_an_older_answer_that_is_none(client: httpx.Client, older: Any) -> None:
    problem = is_problem(client.post("/v1/check", json={**request(), "baseline": older}, headers=PAGE), 422)
    assert problem["errors"][0]["pointer"].startswith("/baseline")
