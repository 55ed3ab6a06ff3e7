"""Words of the command line: columns by their names, findings the gravest first, what calls leave out."""

from __future__ import annotations

import inspect
from itertools import permutations

import pytest

from service.base.text import findings_text
from service.client.client import AsyncClient, Client
from service.topics.check.text import LINE_COLUMNS


def test_columns_of_lines_have_a_name_each_with_its_unit() -> None:
    names = list(LINE_COLUMNS.values())
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
