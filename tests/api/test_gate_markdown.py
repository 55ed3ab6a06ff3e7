"""The Markdown of a gate: at most 60,000 characters, the gravest first, whole rows, and every row left out is counted.

Markdown as CommonMark 0.31.2 and its tables as GitHub Flavored Markdown 0.29 define them: a backslash takes the
meaning from any punctuation of ASCII.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

import pytest

from service.gate.forms.markdown import markdown_text
from service.gate.result import CaseResult, Fault, LineResult
from tests.api.test_gate_reports import BEFORE, FAILED, REFUSED, line, result

MOST = 60_000
LIMIT = Fault("limit", "utilisation 1.08 is above the limit 1")
UNSURE = Fault("undecided", "outside validity at the governing station: the mesh is too coarse")
GROWN = Fault("growth", "utilisation grew from 0.9 to 1.08 (+20 %, allowed +2 %)")
LOADS = "the loads changed: vertical 0 to 12 -> 0 to 14.4"


def passing(name: str = "toe") -> LineResult:
    return line(name, now=BEFORE)


def checks(count: int, *faults: Fault, lines: int = 12, name: str = "models/hanger-{}.json") -> list[CaseResult]:
    """So many checks of so many lines; without a fault they pass."""
    made = [line(f"toe {n}", *faults) if faults else passing(f"toe {n}") for n in range(lines)]
    changes = (LOADS,) if faults else ()
    return [CaseResult(key=name.format(n), lines=tuple(made), changes=changes) for n in range(count)]


def text_of(found: Sequence[CaseResult], **more: object) -> str:
    return markdown_text(result(*found), **more)  # type: ignore[arg-type]


def rows(text: str, state: str) -> list[str]:
    return [row for row in text.splitlines() if row.startswith("|") and f"| {state} |" in row]


def left_out(text: str, kind: str) -> int:
    """How many rows of a kind the text says that it leaves out; 0 where it says nothing."""
    found = re.search(rf"\*\*([\d,]+) of [\d,]+ {kind} left out\*\*", text)
    return int(found.group(1).replace(",", "")) if found else 0


MIXED = [
    *checks(80, LIMIT, GROWN, name="failing-{}.json"),
    *checks(80, UNSURE, name="unsure-{}.json"),
    *checks(140, name="good-{}.json"),
]
LONG = "k" * 300 + "-{}.json"


@pytest.mark.uncounted
@pytest.mark.parametrize(
    ("found", "failing", "undecided"),
    [
        (checks(300, LIMIT, GROWN), 3600, 0),
        (checks(300), 0, 0),
        (MIXED, 960, 960),
        (checks(300, LIMIT, name=LONG), 3600, 0),
        (checks(300, UNSURE, name=LONG), 0, 3600),
        (checks(300, LIMIT, name="|*_<b>&lt;`{}`@all#1$x$.json"), 3600, 0),
        ([replace(check, error="no\n" * 9000, error_code=2, lines=()) for check in checks(300)], 0, 0),
        ([replace(check, notes=("n" * 90,) * 9, doubts=(f"d {check.key}" * 30,)) for check in MIXED], 960, 960),
        ([replace(check, faults=(Fault("rules", "rules changed: a 1 -> 2"),)) for check in checks(300)], 300, 0),
    ],
    ids=["failing", "passing", "mixed", "long", "long undecided", "markup", "refused", "remarks", "whole"],
)
def test_three_hundred_checks_fit_a_comment_and_every_row_left_out_is_counted(
    found: list[CaseResult], failing: int, undecided: int
) -> None:
    text = text_of(found)
    assert len(text) <= MOST
    assert len(rows(text, "FAILED")) + left_out(text, "failing rows") == failing
    assert len(rows(text, "UNDECIDED")) + left_out(text, "undecided rows") == undecided
    heads = [text.find(head) for head in ("### No answer", "### Failing", "### Undecided", "### What the", "### To be")]
    given = [place for place in heads if place > 0]
    assert given == sorted(given)
    assert len({row.count(" | ") for row in text.splitlines() if row.startswith("|")}) <= 2
    assert text.count("<details>") == text.count("</details>")


def test_gravest_line_of_every_failing_and_undecided_check_comes_before_any_second_line() -> None:
    text = text_of(MIXED)
    for name in ("failing", "unsure"):
        assert all(f"| {name}-{n}.json | toe 0 |" in text for n in range(80))
    assert 0 < left_out(text, "failing rows") < 880
    assert left_out(text, "undecided rows") == 880


def test_row_of_a_failure_has_its_reason_with_old_and_new_figure_and_what_changed() -> None:
    (row,) = rows(text_of(checks(1, LIMIT, GROWN, lines=1)), "FAILED")
    assert "| 0.9 -\\> 1.08 (+20 %) | utilisation 1.08 is above the limit 1; utilisation grew from 0.9" in row
    assert "the loads changed: vertical 0 to 12 -\\> 0 to 14.4 |" in row


def test_changed_rules_stand_in_the_row_of_the_check_before_its_lines() -> None:
    whole = (Fault("rules", "rules changed: target.damage_limit 0.5 -> 0.6"), Fault("rules", "rules changed: b 1 -> 2"))
    first, second = rows(text_of([replace(checks(1, GROWN, lines=1)[0], faults=whole)]), "FAILED")
    changed = (
        r"*the check as a whole* | FAILED | - | rules changed: target.damage\_limit 0.5 -\> 0.6, b 1 -\> 2; the loads"
    )
    assert changed in first
    assert "| toe 0 |" in second
    assert "loads" not in second


def test_undecided_check_as_a_whole_stands_with_the_undecided() -> None:
    text = text_of([CaseResult(key="k", lines=(passing(),), faults=(UNSURE,))])
    assert "### Failing" not in text
    assert "| k | *the check as a whole* | UNDECIDED |" in text
    assert "1 weld line without a fault of their own, in checks that fail as a whole, of 1 check" in text


def test_passing_lines_are_one_fold_with_their_count_and_the_largest_utilisation() -> None:
    text = text_of(checks(300))
    assert "<details><summary>3,600 weld lines passing, of 300 checks: largest utilisation 0.9</summary>" in text
    assert len(rows(text, "passed")) == 40
    assert left_out(text, "rows of lines passing") == 3560
    assert len(text) < 8000


def test_many_remarks_and_doubts_are_folded_and_those_of_the_run_come_first() -> None:
    noted = [replace(check, notes=("moved",), doubts=(f"memory {check.key}",)) for check in checks(300)]
    text = markdown_text(result(*noted, notes=("x.json: holds no check, left out",)))
    assert "### To be known\n\n<details><summary>301 remarks</summary>\n\n- x.json: holds no check, left out\n" in text
    assert (left_out(text, "remarks"), left_out(text, "doubts")) == (201, 200)
    assert text.index("### What the answers call doubtful") < text.index("### To be known")
    assert len(text) < 25_000


def test_what_is_left_out_is_named_with_the_place_where_it_is() -> None:
    text = text_of(checks(300, LIMIT), elsewhere="the JUnit file welds_1.xml")
    cut = next(line for line in text.splitlines() if "failing rows left out" in line)
    assert cut.endswith(" more checks): see the JUnit file welds\\_1.xml.")
    assert "(models/hanger-0.json 1" in cut
    one = text_of([CaseResult(key="k.json", lines=tuple(line(f"toe {n} " + "x" * 300, LIMIT) for n in range(400)))])
    assert re.search(r"\*\*[\d]+ of 400 failing rows left out\*\* \(k.json \d+\): see what the run prints\.", one)


def test_long_text_says_how_much_of_it_is_left_out() -> None:
    text = text_of([CaseResult(key="k", error="x" * 1000, error_code=2)])
    assert "x" * 400 + "... (600 characters more)" in text


def test_nothing_invisible_and_no_list_of_its_own() -> None:
    text = markdown_text(result(*checks(1), notes=("- a\u202eb\x00", "1. c\ud800")))
    assert "- \\- a\\\\u202eb\\\\x00\n- 1\\. c\\\\ud800\n" in text
    text.encode("utf-8")


def test_line_that_is_new_or_gone_shows_one_figure() -> None:
    new = replace(line("new", LIMIT), before=None)
    bare = replace(line("bare", Fault("vanished", "no more"), now=None), before=None)
    text = text_of([CaseResult(key="k", lines=(new, bare, line("gone", Fault("vanished", "no more"), now=None)))])
    assert "| k | new | FAILED | 1.08 |" in text
    assert "| k | gone | VANISHED | 0.9 -\\> none |" in text
    assert "| k | bare | VANISHED | - |" in text


def test_report_is_linked_in_the_first_row_of_its_check() -> None:
    text = text_of(checks(1, LIMIT, lines=2), links={"models/hanger-0.json": "../re ports/a(1).html"})
    first, second = rows(text, "FAILED")
    assert "| models/hanger-0.json ([report](../re%20ports/a%281%29.html)) |" in first
    assert "report" not in second


def test_refused_check_comes_before_everything() -> None:
    text = text_of([FAILED, REFUSED])
    assert text.index("### No answer") < text.index("### Failing")
    assert "- **models/broken.json**: 2 parts do not fit /lines: missing\n" in text
