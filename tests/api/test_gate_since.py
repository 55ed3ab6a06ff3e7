"""What changed since the stored state, as a gate shows it: in its text, its JSON and its Markdown."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from service.cli import main
from service.comparison.looser import judges_looser
from service.gate.baseline import read, seal
from tests.api.test_gate import COMPARE, design, request, result_of, write

__all__ = ["design"]  # the fixture, for the tests of this file


def changes(capsys: pytest.CaptureFixture[str], given: Any, *more: str) -> tuple[dict[str | None, list[str]], Any]:
    """Texts by line, None for the check as a whole, and the check in the JSON of the gate."""
    write(Path("models/hanger.json"), given)
    capsys.readouterr()
    main([*COMPARE, *more])
    check = result_of(capsys)["checks"][0]
    return {each["line"]: each["texts"] for each in check["changes"]}, check


def test_unchanged_check_has_no_changes(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found, check = changes(capsys, request())
    assert (found, check["judges_more_leniently"]) == ({}, [])
    main(["gate", "models", "--baseline", "base.json"])
    assert "changes since the baseline" not in capsys.readouterr().out


def test_more_load_shows_reach_utilisation_and_life(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found, check = changes(capsys, request(1.2))
    assert found[None] == ["loads of vertical, reach 0 to 12 -> 0 to 14.4"]
    assert [text.split()[0] for text in found["toe A"]] == ["utilisation", "life"]
    assert check["judges_more_leniently"] == []
    main(["gate", "models", "--baseline", "base.json", "--markdown", "m.md"])
    shown = capsys.readouterr().out
    assert "changes since the baseline\n  models/hanger.json: loads of vertical, reach 0 to 12 -> 0 to 14.4\n" in shown
    assert "; life " in Path("m.md").read_text(encoding="utf-8")


def test_less_load_and_a_looser_rule_are_marked(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    given = request(0.9, target={"load_factor": 0.5}, condition="stress-relieved")
    given["lines"][0] |= {"exclude_ends_mm": 1.0}
    found, check = changes(capsys, given)
    assert "loads of vertical, reach 0 to 12 -> 0 to 10.8 (judges more leniently)" in found[None]
    assert check["judges_more_leniently"] == [
        "loads of vertical, reach",
        "condition",
        "target.load_factor",
        "toe A, exclude_ends_mm",
    ]
    main(["gate", "models", "--baseline", "base.json", "--markdown", "m.md"])
    shown = Path("m.md").read_text(encoding="utf-8")
    assert "judges more leniently by loads of vertical, reach, condition, target.load\\_factor, toe A" in shown


def test_counts_that_changed_without_reach(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    given = request()
    given["loading"]["cycles"] = 1_000_000
    found, _ = changes(capsys, given)
    assert "loads, their counts or their order as stored -> other ones" in found[None]
    # of constant cycling and of blocks the sum of the cycles is a rule
    assert any(text.startswith("loading.cycles 2000000.0 -> 1000000.0") for text in found[None])


def test_load_case_that_is_gone_reaches_nowhere(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    given = request()
    for line in given["lines"]:
        line["cases"]["other"] = line["cases"]["vertical"]
    given["loading"]["factors"] = {"other": {"maximum": 12.0, "minimum": 0.0}}
    found, _ = changes(capsys, given)
    assert "loads of other, reach none -> 0 to 12" in found[None]
    assert "loads of vertical, reach 0 to 12 -> none (judges more leniently)" in found[None]


def test_other_stresses_shorter_line_and_moved_station(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    given = request()
    given["lines"][0]["position_mm"] = [0.0, 10.0]
    given["lines"][0]["cases"]["vertical"]["peaks_mpa"]["opening"] = [6.5, 4.0]
    found, _ = changes(capsys, given)
    assert found[None] == [
        "toe A, course of the stresses as stored -> another one",
        "toe A, stations 3 -> 2 (judges more leniently)",
        "toe A, length 20 -> 10 mm (judges more leniently)",
    ]
    assert "governing station 1, 10 mm -> station 0, 0 mm" in found["toe A"]


def test_findings_that_came_by_line_and_as_a_whole(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    given = request(target={"damage_limit": 1.5})
    given["lines"][1]["mesh"]["element_size_mm"] = 20.0
    found, _ = changes(capsys, given)
    assert "finding came: outside mesh-too-coarse" in found["toe B"]
    assert "finding came: outside damage-limit-above-one" in found[None]
    assert "finding went: note damage-limit" in found[None]
    assert "verdict pass -> undecided" in found[None]


def test_life_of_a_crack_is_a_result_of_the_check(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    example = Path(__file__).parents[2] / "openapi_examples" / "check" / "bracket-toe-growth.json"
    given = json.loads(example.read_text(encoding="utf-8"))["request"]
    write(Path("models/hanger.json"), given)
    assert main(["gate", "models", "--baseline", "base.json", "--write-baseline"]) in (0, 1)
    given["growth"]["crack"]["depth_mm"] *= 1.5
    found, check = changes(capsys, given)
    assert [text for text in found[None] if text.startswith("life of the crack in repeats ")]
    assert check["judges_more_leniently"] == []
    given["growth"]["crack"]["depth_mm"] /= 3.0
    assert changes(capsys, given)[1]["judges_more_leniently"] == ["growth.crack.depth_mm"]


def test_baseline_of_the_former_format_is_read_and_what_it_lacks_is_said(
    design: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """As version 0.6.0 wrote it: format 6, without lives and findings."""
    stored = json.loads(Path("base.json").read_text(encoding="utf-8"))
    stored["format"] = 6
    for check in stored["checks"].values():
        del check["findings"]
        for line in check["lines"].values():
            del line["findings"], line["life_cycles"]
    write(Path("base.json"), seal(stored))
    found, check = changes(capsys, request(1.2))
    assert [text.split()[0] for text in found["toe A"]] == ["utilisation"]
    assert check["lines"][0]["before"]["life_cycles"] is None
    assert main(["report", "models/hanger.json", "--baseline", "base.json", "-o", "a.html"]) == 0
    page = Path("a.html").read_text(encoding="utf-8")
    assert "the stored state is of an older format, without lives and findings: they are not compared" in page
    write(Path("models/hanger.json"), request())
    assert main(["gate", "models", "--baseline", "base.json", "--write-baseline"]) == 0
    assert json.loads(Path("base.json").read_text(encoding="utf-8"))["format"] == 8


def test_life_of_hardly_any_load_is_stored(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found, check = changes(capsys, request(1e-9))
    assert check["lines"][0]["now"]["life_cycles"] > 1e30
    assert any(re.fullmatch(r"life [\d,]+ -> \d\.\d+e\d\d cycles", text) for text in found["toe A"])
    for more in (["--write-baseline"], []):  # so small a load is undecided, as a first state and after
        assert main(["gate", "models", "--baseline", "new.json", *more]) == 1
    stored = read(Path("new.json")).checks["models/hanger.json"].lines["toe A"]
    assert stored.life_cycles == check["lines"][0]["now"]["life_cycles"]


def test_check_under_a_new_path_is_compared_with_its_former_one(
    design: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    Path("models/hanger.json").unlink()
    write(Path("models/moved.json"), request(1.2))
    capsys.readouterr()
    main(list(COMPARE))
    check = next(each for each in result_of(capsys)["checks"] if each["check"] == "models/moved.json")
    assert {"line": None, "texts": ["loads of vertical, reach 0 to 12 -> 0 to 14.4"]} in check["changes"]


def test_what_one_repeat_is_is_reported_where_nothing_else_changed(
    design: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    given = request()
    given["loading"]["one_repeat"] = {"value": 2.5, "unit": "seasons"}
    found, check = changes(capsys, given)
    assert found == {None: ["words for a reader, loading.one_repeat none -> 2.5 seasons"]}
    assert check["passed"]
    assert check["judges_more_leniently"] == []
    assert main(["gate", "models", "--baseline", "base.json", "--write-baseline"]) == 0
    given["loading"]["one_repeat"] = {"value": 2.5, "unit": "km"}
    write(Path("models/hanger.json"), given)
    capsys.readouterr()
    assert main(["gate", "models", "--baseline", "base.json", "--markdown", "m.md"]) == 0
    text = "words for a reader changed: loading.one_repeat 2.5 seasons -> 2.5 km"
    assert f"note: models/hanger.json: {text}" in capsys.readouterr().out
    assert "loading.one\\_repeat 2.5 seasons -\\> 2.5 km" in Path("m.md").read_text(encoding="utf-8")
    assert main(["report", "models/hanger.json", "--baseline", "base.json", "-o", "a.html"]) == 0
    assert "words for a reader, loading.one_repeat" in Path("a.html").read_text(encoding="utf-8")


def test_every_word_for_a_reader_is_reported_and_long_ones_by_a_digest(
    design: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    given = request()
    given["title"] = "other"
    given["load_cases"] = {"vertical": "x" * 200}
    given["material"] = {"description": "S355"}
    found, check = changes(capsys, given)
    assert [text.split()[4] for text in found[None]] == [
        "title",
        "load_cases.vertical",
        "material.description",
    ]
    assert any(re.search(r"none -> x{60}\.\.\. \([0-9a-f]{8}\)$", text) for text in found[None])
    assert check["passed"]


def test_state_of_a_former_format_has_no_words_to_compare(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    stored = json.loads(Path("base.json").read_text(encoding="utf-8"))
    stored["format"] = 7
    for check in stored["checks"].values():
        del check["words"]
    write(Path("base.json"), seal(stored))
    given = request()
    given["loading"]["name"] = "trip"
    assert changes(capsys, given)[0] == {}


def test_renamed_line_is_a_rename_and_no_lenience(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    given = request()
    write(Path("before.json"), given)
    given["lines"][0]["name"] = "toe of the plate"
    found, check = changes(capsys, given)
    assert found == {None: ["the name of a weld line (the same notch and length) toe A -> toe of the plate"]}
    assert check["judges_more_leniently"] == []
    for older in ("base.json", "before.json"):
        assert main(["report", "models/hanger.json", "--baseline", older, "-o", "a.html"]) == 0
        page = Path("a.html").read_text(encoding="utf-8")
        assert "judges more leniently" not in page.lower()
        assert re.search(r"of a weld line( \(the same notch and length\))?</td>", page)
        assert "<strong>new</strong>" not in page


def test_line_that_is_gone_beside_a_rename_is_lenient(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    given = request()
    given["lines"].append({**given["lines"][0], "name": "twin"})
    write(Path("before.json"), given)
    given["lines"] = [{**given["lines"][0], "name": "other"}]
    write(Path("models/hanger.json"), given)
    assert main(["report", "models/hanger.json", "--baseline", "before.json", "-o", "a.html"]) == 0
    page = Path("a.html").read_text(encoding="utf-8")
    assert "the name alone of a weld line" in page
    assert "lines, twin <strong>judges more leniently" in page


def test_a_vanished_line_says_as_what_it_goes_on_here_and_in_another_check(
    design: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    given = request()
    given["lines"][0]["name"] = "toe of the plate"
    write(Path("models/hanger.json"), given)
    assert main([*COMPARE]) == 1
    faults = faults_of(capsys)
    gone = "the baseline has this line, the check has it no more; it goes on as {} (the same {}): accept its vanishing"
    assert faults == {"toe A": [gone.format("toe of the plate", "notch and length") + " by name"]}
    given["lines"][0]["name"] = "toe A"
    first, second = given["lines"]
    write(Path("models/hanger.json"), {**given, "lines": [second]})
    write(Path("models/other.json"), {**given, "lines": [first]})
    assert main([*COMPARE]) == 1
    assert faults_of(capsys)["toe A"][0].startswith(gone.format("models/other.json, toe A", "")[:-30])


def faults_of(capsys: pytest.CaptureFixture[str]) -> dict[str, list[str]]:
    lines = result_of(capsys)["checks"][0]["lines"]
    return {line["name"]: [fault["text"] for fault in line["faults"]] for line in lines if line["faults"]}


def test_to_be_without_rules_of_a_company_is_more_lenient() -> None:
    assert judges_looser("policy", "works 1", None)
    assert not judges_looser("policy", None, "works 1")
    assert not judges_looser("policy", "works 1", "works 2")
