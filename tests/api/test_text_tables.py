"""Words of the command line: columns by their names, findings the gravest first, what calls leave out."""

from __future__ import annotations

import inspect
from collections.abc import Callable
from itertools import permutations
from typing import Any

import pytest

from service.base.envelope import evaluate
from service.base.forms.csv_table import csv_table
from service.base.forms.fitted_table import SOFT
from service.base.text import WIDTH, findings_text, table_text
from service.client.client import AsyncClient, Client
from service.topics.check.text import LINE_COLUMNS, check_text
from service.topics.registry import find
from service.topics.trials.text import growth_rate_text, sn_text
from tests.api.report_pages import example

TEXTS: dict[str, tuple[str, Callable[[Any], str]]] = {
    "trials/campaign-hanger": ("trials/sn-line", sn_text),
    "trials/growth-rate-plate": ("trials/growth-rate", growth_rate_text),
    "check/bracket-hanger": ("check", check_text),
    "check/bracket-toe-growth": ("check", check_text),
}
WIDE = {
    "name": "weld line",
    "at": "at mm",
    "used": f"utili{SOFT}sation",
    "curve": "curve",
    "place": "governing station",
}


def wide(name: str, place: str = "station 3") -> dict[str, object]:
    return {"name": name, "at": 12.5, "used": 0.853, "curve": "peak-stress-opening", "place": place}


def test_table_that_fits_is_as_wide_as_it_is() -> None:
    assert table_text([wide("toe")], WIDE).splitlines()[0] == (
        "weld line  at mm  utilisation  curve                governing station"
    )


@pytest.mark.parametrize(
    ("name", "place"),
    [
        ("t" * 30, "station 12, 123.456 mm"),
        ("toe of the bracket " * 5, "station 12, 123.456 mm, node 1000123, at (318, -12, 0)"),
        ("x" * 100, "station 12, 123.456 mm, node 1000123, at (318, -12, 0)"),
    ],
)
def test_no_table_is_wider_than_a_terminal_and_none_of_its_words_is_lost(name: str, place: str) -> None:
    text = table_text([wide("other"), wide(name, place)], WIDE)
    lines = text.splitlines()
    assert max(map(len, lines)) <= WIDTH
    letters = "".join(text.split())
    assert sum(letters.count(each) for each in set(name) - {" "}) >= len(name.replace(" ", ""))
    assert text.count("0.853") == 2
    for word in place.split():
        assert word in text


def test_head_is_parted_where_it_may_be() -> None:
    heads = {"name": "name", "used": f"utili{SOFT}sation", "at": "at mm"}
    rows = [{"name": "y" * 82, "used": 0.5, "at": 1.5}]
    first, second, row = table_text(rows, heads).splitlines()
    assert [first.split(), second.split()] == [["name", "utili-", "at"], ["sation", "mm"]]
    assert row.split() == ["y" * 82, "0.5", "1.5"]


def test_control_characters_of_a_cell_are_escaped_in_csv() -> None:
    assert csv_table({"name": ["a\x1b[2K", "=b\x07", "two\nlines"]}) == (
        'name\r\na\\x1b[2K\r\n\'=b\\x07\r\n"two\nlines"\r\n'
    )


def test_columns_of_lines_have_a_name_each_with_its_unit() -> None:
    names = [name.replace(SOFT, "") for name in LINE_COLUMNS.values()]
    assert len(set(names)) == len(names)
    for key, name in LINE_COLUMNS.items():
        assert ("mm" in name.split()) == key.endswith("_mm")
        assert ("MPa" in name.split()) == key.endswith("_mpa")
    assert LINE_COLUMNS["name"] == "line"
    assert all(LINE_COLUMNS[key] == key for key in ("curve", "damage", "verdict"))


@pytest.mark.parametrize("order", list(permutations(["note", "caution", "outside"])))
def test_the_gravest_finding_comes_first_whatever_the_order(order: tuple[str, ...]) -> None:
    one = {
        "message": "text",
        "line": None,
        "source": None,
        "count": 1,
        "value": None,
        "low": None,
        "high": None,
    }
    findings = [{"severity": each, "code": f"code-{each}", **one} for each in order]
    text = findings_text(findings)
    places = [text.index(f"code-{each}") for each in ("outside", "caution", "note")]
    assert places == sorted(places)


def test_both_clients_wait_five_minutes_and_leave_out_the_same() -> None:
    plain, waiting = (inspect.signature(each).parameters for each in (Client, AsyncClient))
    assert plain["timeout_s"].default == waiting["timeout_s"].default == 300.0
    assert {name: each.default for name, each in plain.items() if name != "sleep"} == {
        name: each.default for name, each in waiting.items() if name != "sleep"
    }


@pytest.mark.parametrize("name", TEXTS)
def test_texts_of_a_calculation_fit_a_terminal(name: str) -> None:
    calculation = find(TEXTS[name][0])
    assert calculation is not None
    text = TEXTS[name][1](evaluate(calculation, example(name)).envelope())
    assert max(map(len, text.splitlines())) <= WIDTH
