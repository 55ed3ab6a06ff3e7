"""Pages of reports in a real browser: filled in print on both paper sizes, readable and movable on a phone."""

from __future__ import annotations

import copy
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from service.base.envelope import evaluate
from service.report.renderers import render
from service.topics.registry import find
from tests.api.report_pages import example, toe
from tests.toolchain.browser import Browser, Page, browser_path, started
from tests.toolchain.printed import page_fills

pytestmark = [
    pytest.mark.toolchain,
    pytest.mark.skipif(browser_path() is None, reason="no chromium here: install the package chromium"),
]

PHONE_PX, PAPER_PX = 390, 680  # a usual phone; 180 mm, what the margins of A4 leave
LONG = ("weldToeOfTheBracket" * 11)[:198]
REPORTS = {
    "bracket": ("check", lambda: example("check/bracket-hanger")),
    "bracket with growth": ("check", lambda: example("check/bracket-toe-growth")),
    "one toe": ("check", lambda: example("check/one-toe-constant")),
    "history": ("check", lambda: example("check/root-history")),
    "sharing": ("cracks/growth", lambda: example("cracks/growth-bracket-toe-shared")),
    "surface crack": ("cracks/growth", lambda: example("cracks/growth-surface-blocks")),
    "trailer": ("spectrum/damage", lambda: example("spectrum/damage-trailer")),
    "modes": ("spectrum/damage", lambda: example("spectrum/damage-modes")),
    "tests": ("trials/sn-line", lambda: example("trials/sn-line-hanger")),
    "rates": ("trials/growth-rate", lambda: example("trials/growth-rate-plate")),
    "long names": ("check", lambda: long_names()),
}
OVERFLOW = """[...document.querySelectorAll('figure svg')].flatMap(svg => {
  const box = svg.getBoundingClientRect();
  return [...svg.querySelectorAll('text')].filter(text => {
    const own = text.getBoundingClientRect();
    return own.left < box.left - 1 || own.right > box.right + 1 || own.bottom > box.bottom + 1;
  }).map(text => text.textContent);
})"""
LEAST_PX = """Math.min(...[...document.querySelectorAll('figure svg text')].map(text => {
  const svg = text.ownerSVGElement;
  return parseFloat(getComputedStyle(text).fontSize) * svg.getBoundingClientRect().width / svg.viewBox.baseVal.width;
}))"""
UNREACHED = """[...document.querySelectorAll('main *')].filter(each =>
  each.scrollWidth > each.clientWidth + 1 && getComputedStyle(each).overflowX !== 'visible'
  && (each.tabIndex !== 0 || each.getAttribute('role') !== 'region' || !each.getAttribute('aria-label'))).length"""


def long_names() -> Any:
    """Names of lines and a title as long as they may be, without a blank, and more load cases than columns."""
    request = toe(title=LONG, document={"part": LONG, "organisation": LONG})
    line = request["lines"][0]
    lines = [{**copy.deepcopy(line), "name": f"{k:02}{LONG}"} for k in range(9)]
    for each in lines:
        each["cases"] = {f"{c}{LONG[:30]}": each["cases"]["pull"] for c in range(7)}
    factors = {name: {"maximum": 1.0, "minimum": 0.0} for name in lines[0]["cases"]}
    return {**request, "lines": lines, "loading": {"kind": "constant", "cycles": 1e5, "factors": factors}}


@cache
def report(name: str) -> str:
    route, made = REPORTS[name]
    calculation = find(route)
    assert calculation is not None
    found = evaluate(calculation, made())
    return render(route, found.request, found.envelope())


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with started() as running:
        yield running


@pytest.fixture
def page(browser: Browser, request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Page]:
    file = tmp_path / "report.html"
    file.write_text(report(request.param), encoding="utf-8")
    opened = Page(browser)
    opened.open(file.as_uri())
    yield opened
    opened.close()


def set_width(page: Page, width_px: int) -> None:
    page.ask("Emulation.setDeviceMetricsOverride", width=width_px, height=844, deviceScaleFactor=1, mobile=False)


@pytest.mark.parametrize("page", REPORTS, indirect=True)
def test_no_page_but_the_last_is_a_quarter_empty(page: Page) -> None:
    for size in ("A4", "letter"):
        page.value(
            f"void(document.head.appendChild(document.createElement('style')).textContent='@page{{size:{size}}}')"
        )
        fills = page_fills(page.pdf())
        assert len(fills) > 1
        assert min(fills[:-1]) > 0.75, (size, fills)


@pytest.mark.parametrize("page", REPORTS, indirect=True)
def test_nothing_is_wider_than_the_paper_so_that_print_is_not_shrunk(page: Page) -> None:
    set_width(page, PAPER_PX)
    page.ask("Emulation.setEmulatedMedia", media="print")
    assert page.value("document.documentElement.scrollWidth") <= PAPER_PX


@pytest.mark.parametrize("page", REPORTS, indirect=True)
def test_a_phone_shows_texts_of_pictures_in_11_px_and_moves_wide_parts_by_keyboard(page: Page) -> None:
    set_width(page, PHONE_PX)
    assert page.value("document.documentElement.scrollWidth") <= PHONE_PX
    assert page.value(OVERFLOW) == []
    assert page.value(LEAST_PX) >= 11.0
    assert page.value(UNREACHED) == 0
