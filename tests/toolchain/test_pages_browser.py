"""The pages to read in a real headless browser: by keyboard, on a narrow screen, and saved without a network."""

from __future__ import annotations

from pathlib import Path

import httpx
import pytest

from tests.toolchain.browser import Page

pytestmark = pytest.mark.toolchain

CURVE = "/pages/curves/en-1993-1-9-2005-normal-71"
PAGES = ("/pages/curves", CURVE, "/pages/findings", "/pages/sources", "/pages/validation", "/pages/curves?text=none")
FITS = "document.documentElement.scrollWidth <= innerWidth"


@pytest.mark.parametrize("path", PAGES)
def test_a_page_asks_this_server_only_and_fits_every_screen(url: str, page: Page, path: str) -> None:
    for pixels in (1400, 390, 320):
        page.width(pixels)
        page.open(f"{url}{path}")
        assert page.value(FITS), pixels
    assert page.complaints() == []
    assert all(address.startswith((url, "data:")) for address in page.requests())
    assert page.value("document.scripts.length") == 0


@pytest.mark.parametrize("path", PAGES)
def test_a_saved_page_is_whole_without_any_network(url: str, page: Page, tmp_path: Path, path: str) -> None:
    file = tmp_path / "page.html"
    file.write_bytes(httpx.get(f"{url}{path}", timeout=60.0).content)
    page.offline()
    page.open(file.as_uri())
    page.browser.listen(0.2)
    assert page.complaints() == []
    assert {each for each in page.requests() if not each.startswith("data:")} == {file.as_uri()}
    assert page.value("getComputedStyle(document.querySelector('h1')).fontWeight") == "700"
    assert page.value("document.querySelectorAll('figure svg').length") == (path == CURVE)


def test_a_page_without_network_says_nothing_but_that(url: str, page: Page) -> None:
    page.open(f"{url}/pages/curves")
    page.offline()
    with pytest.raises(AssertionError, match="ERR_INTERNET_DISCONNECTED"):
        page.open(f"{url}/pages/findings")


def test_the_filter_and_the_way_to_a_curve_need_the_keyboard_only(url: str, page: Page) -> None:
    page.open(f"{url}/pages/curves")
    page.press("Tab")
    assert page.value("document.activeElement.textContent") == "To the content"
    page.press("Enter")
    assert page.value("location.hash") == "#content"
    page.focus_by_tab("#document")
    page.press("ArrowDown", 3)
    chosen = page.value("document.querySelector('#document').value")
    assert chosen
    page.focus_by_tab("#text", 4)
    page.type("71")
    page.focus_by_tab("form button", 1)
    page.press("Enter")
    page.wait_for("location.search.includes('text=71')")
    page.wait_for("document.readyState === 'complete'")
    assert page.value("document.querySelector('#document').value") == chosen
    assert page.value("document.querySelectorAll('tbody tr').length") >= 1
    page.focus_by_tab("tbody a")
    page.press("Enter")
    page.wait_for("location.pathname.startsWith('/pages/curves/')")
    page.wait_for("document.querySelector('figure svg')")
    assert page.complaints() == []


def test_enter_in_the_words_of_a_filter_sends_them(url: str, page: Page) -> None:
    page.open(f"{url}/pages/findings")
    page.focus_by_tab("#text")
    page.type("mesh-too-coarse")
    page.press("Enter")
    page.wait_for("document.querySelectorAll('tbody tr').length === 2")
    page.focus_by_tab("p a")
    page.press("Enter")
    page.wait_for("document.querySelectorAll('tbody tr').length > 100")


def test_a_wide_table_moves_by_the_keyboard(url: str, page: Page) -> None:
    page.width(320)
    page.open(f"{url}{CURVE}")
    page.focus_by_tab(".scroll")
    assert page.value("document.activeElement.scrollWidth > document.activeElement.clientWidth")
    page.press("ArrowRight", 4)
    page.wait_for("document.activeElement.scrollLeft > 0")


def test_a_code_leads_to_its_line_among_the_findings(url: str, page: Page) -> None:
    page.open(f"{url}/pages/findings#mesh-too-coarse")
    top = page.value("document.querySelector(':target').getBoundingClientRect().top")
    assert 0 <= top < page.value("innerHeight")


def test_the_form_leads_to_every_page(url: str, page: Page) -> None:
    page.open(f"{url}/")
    for path in ("pages/curves", "pages/findings", "pages/sources", "pages/validation", "docs"):
        page.open(f"{url}/")
        page.focus_by_tab(f"a[href='{path}']")
        page.press("Enter")
        page.wait_for(f"location.pathname === '/{path}' && document.readyState === 'complete'")
    assert page.complaints() == []
