"""Numbers of a report stay whole, and beside their unit."""

from __future__ import annotations

import re
from typing import Any

import pytest

from service.base.envelope import evaluate
from service.comparison.compare import compare
from service.comparison.older import answer_of
from service.report.page import TEMPLATES
from service.report.renderers import render
from service.topics.registry import find
from tests.api.report_pages import example

UNIT = re.compile(r"\d\s(?=(?:MPa|mm|cycles|repeats|%)\b)", re.ASCII)


def page_of(route: str, request: Any, **more: Any) -> str:
    calculation = find(route)
    assert calculation is not None
    found = evaluate(calculation, request)
    return render(route, found.request, found.envelope(), **more)


def texts_of(page: str) -> str:
    return re.sub(r"<(style|svg|code|title)\b.*?</\1>|<[^>]*>", "|", page, flags=re.DOTALL)


@pytest.mark.parametrize(
    ("route", "name"),
    [("cracks/growth", "cracks/growth-surface-blocks"), ("spectrum/damage", "spectrum/damage-blocks")],
)
def test_no_line_of_a_report_ends_between_a_number_and_its_unit(route: str, name: str) -> None:
    page = page_of(route, example(name))
    assert "\u00a0cycles" in page
    assert UNIT.findall(texts_of(page)) == []
    assert "\u00a0" not in page.partition("</title>")[0]  # of which the file gets its name


def test_numbers_of_a_comparison_stay_whole() -> None:
    calculation = find("cracks/growth")
    assert calculation is not None
    request = example("cracks/growth-surface-blocks")
    before = answer_of("before", evaluate(calculation, request))
    request["loading"]["cycles"] = [3 * cycles for cycles in request["loading"]["cycles"]]
    changes = compare(before, answer_of("now", evaluate(calculation, request)))
    page = page_of("cracks/growth", request, changes=changes)
    assert re.search(r'<td class="whole">10,\d+,\d+</td>', page)
    assert TEMPLATES.loader
    css = TEMPLATES.loader.get_source(TEMPLATES, "style.css")[0]
    assert "td.whole:not(.number) { overflow-wrap: normal; }" in css


def test_a_printed_table_is_not_parted_by_pictures_and_signatures_do_not_stand_alone() -> None:
    assert TEMPLATES.loader
    paper = TEMPLATES.loader.get_source(TEMPLATES, "style.css")[0].split("@media print")[1]
    for rule in (
        "section:has(figure) .scroll:has(tr:nth-child(9)) { clear: both; }",
        "section:has(figure) .scroll:not(:has(tr:nth-child(9))) { break-inside: avoid; }",
        ".signing { break-before: avoid; }",
    ):
        assert rule in paper
    page = page_of("cracks/growth", {**example("cracks/growth-surface-blocks"), "document": {"signatures": True}})
    signing = page[page.index("<h2>Signatures") :]
    digest = re.search(r"<dt>input digest</dt><dd><code>([^<]+)", page)
    assert digest
    assert digest[1] in signing.partition("<table")[0]
