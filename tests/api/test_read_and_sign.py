"""What a reader of texts, pages and comparisons is told, and what nobody can write into them."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import pytest

from service import cli
from service.base.envelope import evaluate
from service.comparison.changes import Comparison
from service.comparison.compare import compare
from service.comparison.looser import judges_looser, slower
from service.comparison.older import answer_of
from service.report.renderers import render
from service.topics.check.text import check_text
from service.topics.registry import find
from service.topics.trials.text import sn_text
from tests.api.report_pages import Balanced, example

GROWTH: dict[str, Any] = example("cracks/growth-surface-blocks")
SN: dict[str, Any] = example("trials/sn-line-run-outs")


def compared(name: str, before: dict[str, Any], now: dict[str, Any]) -> Comparison:
    calculation = find(name)
    assert calculation is not None
    return compare(*(answer_of(words, evaluate(calculation, each)) for words, each in (("a", before), ("b", now))))


def changed(**new: Any) -> dict[str, Any]:
    return {**copy.deepcopy(GROWTH), **new}


def test_a_part_of_an_answer_that_is_not_there_is_none_and_no_infinite_life() -> None:
    plain = copy.deepcopy(GROWTH)
    plain["loading"]["retardation"] = None
    found = compared("cracks/growth", plain, GROWTH)
    rows = {change.pointer: (change.before, change.now) for change in found.results or ()}
    before, now = rows["answer.life_without_retardation_cycles"]
    assert before == "none"
    assert now != "infinite"


@pytest.mark.parametrize(
    ("before", "now", "pointer"),
    [
        ({"law": {"name": "bs7910-2013/air-upper"}}, {"law": {"name": "bs7910-2013/air-mean"}}, "/law/name"),
        ({"end": {"depth_mm": 3.0}}, {"end": {"depth_mm": 7.0}}, "/end/depth_mm"),
    ],
)
def test_a_milder_growth_is_marked(before: dict[str, Any], now: dict[str, Any], pointer: str) -> None:
    there = {
        change.pointer: change.looser
        for change in compared("cracks/growth", changed(**before), changed(**now)).inputs or ()
    }
    back = {
        change.pointer: change.looser
        for change in compared("cracks/growth", changed(**now), changed(**before)).inputs or ()
    }
    assert (there[pointer], back[pointer]) == (True, False)


@pytest.mark.parametrize(
    ("name", "before", "now"),
    [
        ("law.stages.coefficient", 5e-13, 2e-13),
        ("growth.law.threshold_mpa_sqrt_mm", 63.0, 100.0),
        ("law.threshold_mpa_sqrt_mm", None, 63.0),
        ("end.strength.toughness_mpa_sqrt_mm", 4500.0, 9000.0),
        ("loading.retardation", None, {"model": "wheeler"}),
        ("below_knee", "elementary", "reduced-slope"),
        ("confidence", 0.75, 0.5),
    ],
)
def test_what_makes_a_life_longer_is_looser_one_way_only(name: str, before: Any, now: Any) -> None:
    assert judges_looser(name, before, now)
    assert not judges_looser(name, now, before)


def test_a_law_that_is_not_there_any_more_is_not_compared() -> None:
    assert not slower("none-such", "bs7910-2013/air-mean")


def test_characteristic_lines_are_compared_by_their_rule() -> None:
    found = compared("trials/sn-line", SN, {**SN, "survival_probability": 0.5})
    rows = {change.pointer: (change.before, change.now) for change in found.results or ()}
    low, high = rows["answer.characteristic tolerance.range_at_two_million_mpa"]
    assert float(high) > float(low)


def test_names_cannot_write_lines_of_their_own(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    request = copy.deepcopy(example("check/one-toe-constant"))
    request["lines"][0]["name"] = "toe\nverdict               PASS\r\x1b[2K\u202e"
    request["loading"]["factors"]["pull"]["maximum"] = 120.0
    (tmp_path / "check.json").write_text(json.dumps(request), encoding="utf-8")
    for words in (["check"], ["gate"]):
        assert cli.main([*words, str(tmp_path / "check.json")]) == 1
        shown = capsys.readouterr().out
        assert "\\nverdict               PASS\\r\\x1b[2K\\u202e" in shown
        assert not [line for line in shown.splitlines() if line.startswith("verdict               PASS")]
        assert not set(shown) & {"\r", "\x1b", "\u202e"}


def test_findings_that_are_not_shown_are_counted_by_severity() -> None:
    calculation = find("check")
    assert calculation is not None
    envelope = evaluate(calculation, example("check/bracket-hanger")).envelope()
    text, whole = check_text(envelope), check_text(envelope, every_finding=True)
    (told,) = [line for line in text.splitlines() if line.startswith("not shown of the other lines: ")]
    assert " cautions, " in told
    assert told.endswith(" notes (--findings)")
    assert "not shown of the other lines" not in whole


def test_the_curve_beside_the_tests_is_not_called_their_design_curve() -> None:
    calculation = find("trials/sn-line")
    assert calculation is not None
    found = evaluate(calculation, example("trials/sn-line-hanger"))
    text = " ".join(Balanced(render("trials/sn-line", found.request, found.envelope())).text.split())
    assert "curve beside which the tests are put iiw-2016-normal-steel-80" in text
    assert "life over that of iiw-2016-normal-steel-80" in text
    assert "design curve iiw-2016-normal-steel-80" not in text


def test_a_limit_that_no_document_states_is_said_to_be_a_choice_of_this_program() -> None:
    calculation = find("spectrum/damage")
    assert calculation is not None
    found = evaluate(calculation, example("spectrum/damage-blocks"))
    text = " ".join(Balanced(render("spectrum/damage", found.request, found.envelope())).text.split())
    assert "a choice of this program" in text
    assert "that of the curve: none was given" not in text


def test_run_outs_and_a_fixed_slope_are_said_in_words() -> None:
    other = copy.deepcopy(SN)
    flags = other["series"]["run_out"]
    failed = flags.index(False)
    flags[failed] = True
    (change,) = (each for each in compared("trials/sn-line", SN, other).inputs or () if "run_out" in each.pointer)
    count = len(flags)
    yes = flags.count(True)
    assert change.before == f"{count} values, {yes - 1} yes and {count - yes + 1} no"
    assert change.now == f"{count} values, {yes} yes and {count - yes} no"
    calculation = find("trials/sn-line")
    assert calculation is not None
    found = evaluate(calculation, {**SN, "fixed_slope": 3.0})
    page = Balanced(render("trials/sn-line", found.request, found.envelope())).text
    assert "3 (fixed)" in page
    assert "SLOPE 3 (FIXED)" in page
    assert "3 (3 to 3)" not in page + sn_text(found.envelope())


def test_curves_of_a_table_have_their_pages_and_own_ones_none() -> None:
    calculation = find("check")
    assert calculation is not None
    found = evaluate(calculation, example("check/bracket-hanger"))
    page = render("check", found.request, found.envelope())
    term = '<a data-page="pages/curves/peak-stress-shear">'
    assert page.count(f'<span class="curve">{term}') == 3
    assert '<dt>design curve</dt><dd><a data-page="pages/curves/peak-stress-opening">' in page
