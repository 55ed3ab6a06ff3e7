"""Layout of reports: tables move within themselves, pictures come after text, names of any length keep the page."""

from __future__ import annotations

import re
from typing import Any

import pytest

from service.base.envelope import evaluate
from service.report.check_inputs import MOST_LETTERS
from service.report.page import TEMPLATES
from service.report.renderers import render
from service.topics.registry import find
from tests.api.drawn_axes import pictures
from tests.api.report_pages import Balanced, example, toe

PHONE_MM, PX_PER_MM = 95.25, 96.0 / 25.4  # what margins leave of 390 px; px of a style sheet
LEAST_PX = 11.0
REPORTS = {
    "check/bracket-toe-growth": "check",
    "check/root-history": "check",
    "cracks/growth-bracket-toe-shared": "cracks/growth",
    "spectrum/damage-modes": "spectrum/damage",
    "trials/sn-line-hanger": "trials/sn-line",
    "trials/growth-rate-plate": "trials/growth-rate",
}


def page_of(request: Any, route: str = "check") -> str:
    calculation = find(route)
    assert calculation is not None
    found = evaluate(calculation, request)
    return render(route, found.request, found.envelope())


@pytest.fixture(scope="module", params=REPORTS)
def page(request: pytest.FixtureRequest) -> str:
    return page_of(example(request.param), REPORTS[request.param])


def test_every_table_and_wide_picture_moves_within_itself_by_keyboard_and_has_a_name(page: str) -> None:
    scrollers = re.findall(r'<div class="scroll" tabindex="0" role="region" aria-label="[^"]+">\s*<(table|svg)', page)
    assert scrollers.count("table") == page.count("<table")
    assert scrollers.count("svg") == page.count('<figure class="whole">')
    assert page.count('class="scroll"') == len(scrollers)


def test_text_stands_before_every_picture_of_a_section_so_that_a_page_can_be_filled(page: str) -> None:
    for body in re.findall(r"<h[23]>[^<]*</h[23]>\s*(.*?)(?=<h[23]>|</main>)", page, re.DOTALL):
        beside = re.sub(r'<figure class="beside">.*?</figure>', "", body, flags=re.DOTALL).lstrip()
        assert not beside.startswith(("<figure", '<div class="pictures">')) or "<table" in body, body[:200]


def test_texts_of_pictures_are_large_enough_on_a_phone(page: str) -> None:
    for name, svg in pictures(page).items():
        box = re.search(r'viewBox="0 0 ([\d.]+) ', svg)
        assert box
        shown_mm = 150.0 if "weld line" in name and " in space" in name else PHONE_MM
        sizes = [float(size) for size in re.findall(r'font-size(?:: |=")([\d.]+)', svg)]
        assert min(sizes) * shown_mm * PX_PER_MM / float(box[1]) >= LEAST_PX, name


def test_every_picture_has_a_name_and_words_for_those_who_cannot_see_it(page: str) -> None:
    for name, svg in pictures(page).items():
        title = re.search(r"<title>([^<]*)</title>", svg)
        assert title
        assert len(title[1]) > 10
        assert "<desc>" in svg or "in space" in name


def test_the_style_sheet_holds_what_keeps_pages_filled_and_whole() -> None:
    assert TEMPLATES.loader
    css = TEMPLATES.loader.get_source(TEMPLATES, "style.css")[0]
    screen, paper = css.split("@media print")
    for rule in (
        r"figure \{[^}]*max-width: 100%;[^}]*break-inside: avoid;",
        r"thead \{ display: table-header-group; \}",
        r"tr \{ break-inside: avoid; \}",
        r"caption \{[^}]*break-after: avoid;",
        r"td:not\(\.number\) \{ overflow-wrap: anywhere;",
        r"\.scroll \{ overflow-x: auto;",
        r"@media \(max-width: 600px\)",
    ):
        assert re.search(rule, screen), rule
    assert re.search(r"figure\.whole, \.pictures:not\(\.many\) \{ float: left; width: 100%;", paper)
    assert "break-inside: avoid" not in re.findall(r"\.findings li \{[^}]*\}", css)[0]  # may be longer than a page


def test_long_names_are_small_in_tables_and_few_in_one_cell() -> None:
    request = toe()
    names = [f"{k:02}" + "LeftToeOfBracket" * 12 for k in range(12)]
    request["lines"] = [{**request["lines"][0], "name": name} for name in names]
    page = page_of(request)
    assert all(f'<td class="long">{name}</td>' in page for name in names)
    cell = re.search(r"<td[^>]*>([^<]* and 11 more)</td>", page)
    assert cell
    assert cell[1] == f"{names[0]} and 11 more"
    assert len(names[0]) > MOST_LETTERS
    assert "LeftToeOfBracket" * 12 in Balanced(page).text


def test_running_head_is_cut_where_it_would_run_into_the_digest() -> None:
    page = page_of(toe(title="T" * 100))
    head = re.search(r'@top-left \{ content: "([^"]*)"', page)
    assert head
    assert head[1] == "T" * 47 + "\\2026 "


def test_more_load_cases_than_columns_stand_in_one_cell_of_a_block() -> None:
    request = toe()
    line = request["lines"][0]
    for count, columns in ((5, 7), (6, 3)):
        line["cases"] = {f"case {k}": line["cases"].get("pull", line["cases"].get("case 0")) for k in range(count)}
        request["loading"]["factors"] = {name: {"maximum": 0.2, "minimum": 0.0} for name in line["cases"]}
        page = page_of(request)
        table = page[page.index('aria-label="Blocks of the loading"') :]
        assert table[: table.index("</thead>")].count("<th ") == columns
        assert ("case 0 0 to 0.2; case 1 0 to 0.2" in table) == (count == 6)
