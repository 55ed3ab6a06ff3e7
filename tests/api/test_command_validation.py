"""What `toeline validate` prints, against what was written down by hand."""

from __future__ import annotations

import json
from typing import Any

import pytest

from fatcore.verification.case import VerificationCase, validate
from service import cli
from service.commands.texts.validation import validation_text

LONG = "edition of a very long name, table 17 on page 230, as corrected in the second printing; " * 3


def case(name: str, computed: float, **more: Any) -> VerificationCase:
    fields = {"title": f"title of {name}", "source": "iso-1", "where": "table 2", "status": "read", "expected": "2"}
    return VerificationCase(id=name, compute=lambda: computed, **{**fields, **more})


def shown(*cases: VerificationCase) -> list[str]:
    made = validate(cases)
    rows = [
        {name: getattr(each, name) for name in ("id", "kind", "title", "expected", "computed", "tolerance", "source")}
        | {"where": each.where, "why": each.why, "passed": each.passed}
        for each in made.verification_cases
    ]
    kinds = [{"kind": each.kind, "count": each.count, "failed": each.failed} for each in made.kinds]
    return validation_text({"verification_cases": rows, "kinds": kinds, "count": made.count}).splitlines()


def test_passing_cases_stand_under_the_kind_and_source_of_their_number() -> None:
    derived = case("third", 1.75, status="derived", where="closed form", expected="1.75", tolerance=0.125)
    assert shown(case("first", 2.0), derived, case("second-one", 2.25)) == [
        "passing cases: name, expected, computed, tolerance",
        "",
        "published, read: iso-1, table 2",
        "ok  first       2  2     +/- 0.5",
        "ok  second-one  2  2.25  +/- 0.5",
        "",
        "derived here: iso-1, closed form",
        "ok  third  1.75  1.75  +/- 0.125",
        "",
        "published, read            2 cases, 0 failed",
        "published, from memory     0 cases, 0 failed",
        "derived here               1 case, 0 failed",
        "PASS: all 3 verification cases are within their tolerance",
    ]


def test_failing_cases_come_first_with_all_that_is_known_of_them() -> None:
    bad = case("second", 3.0, status="from memory", tolerance=0.25, why="read from a curve")
    assert shown(case("first", 2.0), bad)[:8] == [
        "NO  second: title of second",
        "    expected 2, computed 3: off by 1",
        "    tolerance 0.25 (read from a curve)",
        "    published, from memory: iso-1, table 2",
        "",
        "passing cases: name, expected, computed, tolerance",
        "",
        "published, read: iso-1, table 2",
    ]
    assert shown(case("first", 2.0), bad)[-1] == ("FAIL: 1 of 2 verification cases are outside their tolerance: second")


def test_the_last_line_names_five_failing_cases_and_counts_the_others() -> None:
    lines = shown(*(case(f"c{k}", 9.0) for k in range(7)))
    assert not any("passing" in line for line in lines)
    assert lines[-1] == ("FAIL: 7 of 7 verification cases are outside their tolerance: c0, c1, c2, c3, c4 and 2 more")


def test_long_names_and_sources_fit_a_hundred_columns() -> None:
    name = "crack-in-a-very-long-" * 5 + "plate"
    lines = shown(
        case(name, 2.0, where=LONG),
        case("short", 2.0, where=LONG),
        case(f"{name}-failing", 3.0, where=LONG, title=LONG, why=LONG),
    )
    assert max(map(len, lines)) <= 100
    at = next(index for index, line in enumerate(lines) if line.startswith("ok  crack"))
    assert "".join(line.strip() for line in lines[at : at + 2]).startswith(f"ok  {name}"[:100])
    assert "2  2  +/- 0.5" in lines[at + 2]
    assert lines[at + 3].startswith("ok  short ")
    assert lines[at + 3].index("+/-") == lines[at + 2].index("+/-")


def test_the_whole_list_fits_a_hundred_columns_and_ends_with_one_line_for_a_log(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert cli.main(["validate"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert max(map(len, lines)) <= 100
    assert cli.main(["validate", "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)["answer"]
    assert lines[-1] == f"PASS: all {answer['count']} verification cases are within their tolerance"
    assert sum(line.startswith("ok  ") for line in lines) == answer["count"] == len(answer["verification_cases"])
