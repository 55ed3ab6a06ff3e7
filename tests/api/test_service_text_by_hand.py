"""Texts for a terminal, each against what was written down by hand."""

from __future__ import annotations

import io
import math
from typing import Any

import pytest

from fatcore.figures import as_given, beside_limit, coordinate
from fatcore.findings import FindingKind
from service.base.finding_rows import finding_rows
from service.base.forms.lives import asked_text, cycles_text
from service.base.progress import listener, show_progress
from service.base.text import (
    END_WORDS,
    HISTORY_ROWS,
    WIDTH,
    by_gravity,
    end_words,
    finding_kind_text,
    findings_text,
    growth_text,
    number,
    place_text,
    table_text,
)


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        (0.0, "0"),
        (0.001, "0.001"),
        (0.00012345678, "0.000123"),
        (0.0000123456, "1.23e-5"),
        (1.23456, "1.23"),
        (-1.23456, "-1.23"),
        (0.8499, "0.850"),  # digits follow that were rounded off
        (0.85, "0.85"),  # exactly that
        (9999.0, "9999"),  # whole numbers keep their digits
        (9999.4, "10,000"),
        (10000.0, "10,000"),
        (-12346.0, "-12,346"),
        (-12346.5, "-12,300"),
        (9.87654e9, "9,880,000,000"),
        (1e10, "1e10"),
        (-3.21e12, "-3.21e12"),
        (5e15, "5e15"),
        (7, "7"),
        (True, "True"),
        (None, "infinite"),
        ("fail", "fail"),
    ],
)
def test_numbers_have_three_digits_and_are_grouped_from_ten_thousand_to_ten_billion(value: Any, shown: str) -> None:
    assert number(value) == shown


def test_more_digits_are_shown_where_asked() -> None:
    assert number(1234567.8, 6) == "1,234,570"
    assert number(1.23456789, 7) == "1.234568"


def test_a_table_is_aligned_and_leaves_out_parts_and_blanks() -> None:
    rows: list[dict[str, Any]] = [
        {"name": "a", "depth": 12.5, "parts": [1, 2], "more": {"x": 1}},
        {"name": "long name", "depth": None, "late": 1},
    ]
    assert table_text(rows) == "name       depth\na           12.5\nlong name      -"
    assert table_text(rows, {"depth": "depth mm", "name": "line"}) == "depth mm  line\n    12.5  a\n       -  long name"


def test_numbers_of_a_column_stand_by_their_decimal_points() -> None:
    rows = [{"life": value} for value in (1234.56, 0.5, 98765.4, 7, None)]
    assert [row.rstrip() for row in table_text(rows).splitlines()] == [
        "    life",
        "  1230",
        "     0.5",
        "98,800",
        "     7",
        "       -",
    ]


def test_a_column_with_one_power_of_ten_has_them_all_as_powers() -> None:
    rows = [{"rate": value} for value in (1.234e-7, 0.00567, 0.0)]
    assert [row.strip() for row in table_text(rows).splitlines()] == ["rate", "1.23e-7", "5.67e-3", "0"]


@pytest.mark.parametrize(
    ("value", "limit", "shown"),
    [
        (0.9996, 1.0, ("0.9996", "1")),
        (1.0004, 1.0, ("1.0004", "1")),
        (0.99999999, 1.0, ("0.99999999", "1")),
        (math.nextafter(1.0, 2.0), 1.0, ("just above 1", "1")),
        (math.nextafter(1.0, 0.0), 1.0, ("just below 1", "1")),
        (math.nextafter(1.0 / 3.0, 0.0), 1.0 / 3.0, ("just below 0.333", "0.333")),
        (1.0 - 2e-9, 1.0, ("0.999999998", "1")),
        (1.0, 1.0, ("1", "1")),
        (0.876543, 1.0, ("0.877", "1")),
        (0.49987, 0.5, ("0.4999", "0.5")),
        (999.97, 1000.0, ("999.97", "1000")),
        (1000.4, 1000.0, ("1000.4", "1000")),
        (123456.7, 123456.0, ("123,500", "123,456")),
        (0.3333, 1.0 / 3.0, ("0.3333", "0.33333")),
        (math.inf, 5.0, ("infinite", "5")),
        (2.5e12, 2.4999e12, ("2.5e12", "2.4999e12")),
    ],
)
def test_no_number_is_rounded_to_the_other_side_of_its_limit(
    value: float, limit: float, shown: tuple[str, str]
) -> None:
    assert beside_limit(value, limit) == shown


@pytest.mark.parametrize(
    ("life", "asked", "shown"),
    [
        (16.18, 10.0, "16.1 (10 asked)"),
        (999.97, 1000.0, "999 (1000 asked)"),
        (1000.4, 1000.0, "1000.4 (1000 asked)"),
        (0.9999999999999998, 1.0, "just below 1 (1 asked)"),
        (16289999.9, 15081255.8194, "16,200,000 (15,081,256 asked)"),
        (15081255.9, 15081255.8194, "15,081,255.9 (15,081,255.8 asked)"),
        (math.nextafter(15081255.8194, 0.0), 15081255.8194, "just below 15,081,256 (15,081,256 asked)"),
        (20000.0, 12.5, "20,000 (12.5 asked)"),
        (None, 123.456, "infinite (123.456 asked)"),
    ],
)
def test_a_life_beside_what_is_asked_reads_no_longer_than_it_is(life: float | None, asked: float, shown: str) -> None:
    assert asked_text(life, asked) == shown


def test_a_life_is_rounded_down() -> None:
    assert [cycles_text(life) for life in (10984000.3, 9.9961, 10.0 - 1e-12, 2.3e12, 0.0)] == [
        "10,900,000 cycles",
        "9.99 cycles",
        "10 cycles",
        "2.3e12 cycles",
        "0 cycles",
    ]


def test_what_was_given_is_shown_as_given() -> None:
    assert [as_given(value) for value in (1234.5678, 0.1 + 0.2, 2000000.0, 12)] == [
        "1234.5678",
        "0.3",
        "2,000,000",
        "12",
    ]
    assert [coordinate(value) for value in (12345.6789, -0.0, 7.0)] == ["12345.6789", "0", "7"]
    point = {"index": 1, "position_mm": 1234.5678, "coordinates_mm": [0.1234567, -20000.5, 0.0], "node_id": 12345}
    assert place_text(point) == "station 1, 1234.5678 mm, node 12345, at (0.1234567, -20000.5, 0)"


def test_lines_stand_by_verdict_and_the_most_used_first() -> None:
    lines = [
        {"verdict": verdict, "governing_utilisation": used}
        for verdict, used in (("pass", 0.9), ("fail", 1.1), ("undecided", 0.5), ("pass", 0.95), ("fail", 1.3))
    ]
    order = [(line["verdict"], line["governing_utilisation"]) for line in by_gravity(lines)]
    assert order == [("fail", 1.3), ("fail", 1.1), ("undecided", 0.5), ("pass", 0.95), ("pass", 0.9)]


def test_a_place_without_node_and_coordinates_is_the_station_alone() -> None:
    point = {"index": 0, "position_mm": -0.0, "coordinates_mm": None, "node_id": None}
    assert place_text(point) == "station 0, 0 mm"
    assert place_text({**point, "node_id": 0}) == "station 0, 0 mm, node 0"


def test_why_growth_ends_is_a_clause_also_for_a_reason_without_words_of_its_own() -> None:
    assert end_words({"end_reason": "ligament-yield"}) == "the ligament yields"
    assert end_words({"end_reason": "arrest"}) == "it comes to rest below the threshold"
    assert len(set(END_WORDS.values())) == len(END_WORDS)
    assert end_words({"end_reason": "some-other-end"}) == "some other end"


def finding(severity: str, code: str, **more: Any) -> dict[str, Any]:
    plain = {"message": "m", "line": None, "count": 1, "value": None, "low": None, "high": None, "source": None}
    return {"severity": severity, "code": code, **plain, **more}


def test_findings_stand_the_gravest_first_with_the_lines_that_have_them() -> None:
    listed = [
        finding("note", "n", line="B"),
        finding("caution", "c"),
        finding("note", "n", line="A"),
        finding("outside", "o", line="A"),
    ]
    expected = "findings\n  outside: m [o] - A\n  caution: m [c]\n\nrules applied\n  m [n] - B, A"
    assert findings_text(listed) == expected
    assert findings_text([]) == "findings"


def test_messages_that_differ_in_figures_stand_once_with_a_table() -> None:
    listed = [
        finding("caution", "c", message=f"used {used} of 1 at station {at}", line=line)
        for used, at, line in (("0.85", 7, "A"), ("0.9", 12, "B"), ("0.9", 12, "C"))
    ]
    assert findings_text(listed).splitlines() == [
        "findings",
        "  caution: used <a> of 1 at station <b> [c]",
        "         a   b  lines",
        "      0.85   7  A",
        "      0.9   12  B, C",
    ]
    only = findings_text([finding("note", "n")])
    assert only.splitlines()[0] == "findings: none beside the rules applied"


def test_lines_are_not_named_where_they_are_many_and_all() -> None:
    listed = [finding("note", "n", line=name) for name in "ABCD"]
    assert findings_text(listed, every="ABCD").splitlines()[-1] == "  m [n] - all 4 lines"
    assert findings_text(listed, every="ABCDE").splitlines()[-1] == "  m [n] - A, B, C, D"
    assert findings_text(listed[:3], every="ABC").splitlines()[-1] == "  m [n] - A, B, C"


def test_long_findings_are_wrapped_and_indented() -> None:
    first, *rest = findings_text([finding("caution", "n", message="word " * 60)]).splitlines()[1:]
    assert first.startswith("  caution: word")
    assert len(rest) == 3
    assert all(line.startswith("      word") for line in rest)
    assert len(first) == 100  # "  caution: " and 18 words of four letters with a space between: one more has 105
    assert WIDTH == 100


def test_a_kind_of_finding_is_not_broken_at_its_hyphens() -> None:
    code, meaning = "-".join(["abcd"] * 9), ("word " * 16).strip()
    text = finding_kind_text(FindingKind(code=code, severity="note", topic="check", meaning=meaning))
    assert text.splitlines() == [f"note: {meaning}", f"    [{code}]"]


def test_a_row_counts_elements_and_places_and_names_each_line_once() -> None:
    listed = [
        finding("note", "n", line="A", count=2, source="s"),
        finding("note", "n", line=None, count=3),
        finding("note", "n", line="A", count=4),
        finding("note", "other", count=5),
    ]
    row, other = finding_rows(listed)
    assert (row.lines, row.count, row.places, row.source) == (("A",), 9, 2, "s")
    assert (other.lines, other.count, other.places) == ((), 5, 1)


@pytest.mark.parametrize(
    ("values", "low", "high", "worst"),
    [
        ([1.0, 3.0, 2.0], None, 0.5, 3.0),  # 0.5, 2.5, 1.5 above
        ([1.0, 3.0, 2.0], 4.0, None, 1.0),  # 3, 1, 2 below
        ([1.0, 9.0], 3.0, 8.0, 1.0),  # 2 below against 1 above
        ([1.5, 10.0], 3.0, 8.0, 10.0),  # 1.5 below against 2 above
        ([None, 2.0], None, 1.0, 2.0),
        ([None, None], None, 1.0, None),
        ([1.001, 1.002], None, 1.0, 1.002),
        ([0.999, 0.998], 1.0, None, 0.998),
        ([5.0, 3.5], 3.0, 9.0, 3.5),  # both within: the one nearer to a limit
    ],
)
def test_a_row_has_the_value_that_is_farthest_beyond_its_limits(
    values: list[float | None], low: float | None, high: float | None, worst: float | None
) -> None:
    (row,) = finding_rows([finding("outside", "o", value=value, low=low, high=high) for value in values])
    assert (row.value, row.low, row.high) == (worst, low, high)


ENVELOPE = {"findings": [], "caution": "take care"}


def growth(size: int, factor: float | None) -> dict[str, Any]:
    blank = dict.fromkeys(
        ("delta_k_deepest_mpa_sqrt_mm", "rate_deepest_mm_per_cycle", "load_share", "stiffness_ratio", "half_length_mm")
    )
    history = {"elapsed_cycles": list(range(size)), "depth_mm": [index / 4 for index in range(size)], **blank}
    answer = {"life_cycles": 23.0, "end_reason": "size", "final_depth_mm": 5.75, "final_half_length_mm": 9.0}
    return {
        "answer": {
            **answer,
            "life_extension_factor": factor,
            "service_life": None,
            "life_blocks": 23.0,
            "descriptions": None,
            "history": history,
        },
        **ENVELOPE,
    }


def test_growth_shows_twelve_rows_from_the_first_to_the_last() -> None:
    shown = growth_text(growth(23, None)).splitlines()
    assert shown[:3] == ["life         23 cycles", "end          the given depth is reached", "final depth  5.75 mm"]
    assert shown[4] == "cycles  cycles left  depth mm"
    # 22 steps between 23 samples: every second one
    assert [row.split() for row in shown[5:17]] == [[f"{2 * k}", f"{22 - 2 * k}", f"{k / 2:g}"] for k in range(12)]
    assert shown[17] == ""
    assert HISTORY_ROWS == 12


def test_growth_says_what_sharing_the_load_gives_and_shows_a_short_history_whole() -> None:
    shown = growth_text(growth(2, 1.5)).splitlines()
    assert shown[3] == "load sharing  1.5 times the life under constant load"
    assert [row.split() for row in shown[6:8]] == [["0", "1", "0"], ["1", "0", "0.25"]]
    assert shown[8] == ""


def test_progress_adds_up_the_finished_parts_and_is_wiped_in_the_end() -> None:
    out = io.StringIO()
    assert listener(8) is None
    with show_progress(out, always=True):
        reports = listener(8)
        assert reports is not None
        reports(2)
        reports(4)
    drawn = out.getvalue().split("\r")
    assert drawn[1:3] == [f"[{'#' * 10}{' ' * 30}]  25 % of 8", f"[{'#' * 30}{' ' * 10}]  75 % of 8"]
    assert drawn[3:] == [" " * 60, ""]
    assert listener(8) is None


def test_progress_of_nothing_is_none() -> None:
    out = io.StringIO()
    with show_progress(out, always=True):
        reports = listener(0)
        assert reports is not None
        reports(0)
    assert out.getvalue().startswith(f"\r[{' ' * 40}]   0 % of 0")


def test_a_file_or_pipe_gets_no_progress() -> None:
    out = io.StringIO()
    with show_progress(out):
        assert listener(8) is None
    assert out.getvalue() == ""


def test_a_terminal_gets_its_progress() -> None:
    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    out = Terminal()
    with show_progress(out):
        assert listener(8) is not None
    assert out.getvalue() == f"\r{' ' * 60}\r"
