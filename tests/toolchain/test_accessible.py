"""Every page, every kind of report and the form by axe-core (MPL-2.0), a general-purpose engine of such rules."""

from __future__ import annotations

import json
import shutil
import subprocess
from functools import cache
from pathlib import Path
from typing import Any

import httpx
import pytest

from service.report.renderers import RENDERERS
from tests.toolchain.browser import Page

pytestmark = pytest.mark.toolchain

FOLDER = Path(__file__).parents[2] / "openapi_examples"
WIDTHS = (1400, 390)
PAGES = (
    "/",
    "/pages/curves",
    "/pages/curves?text=no-such-curve",
    "/pages/curves/iiw-2016-normal-steel-71",
    "/pages/curves/energy-density",
    "/pages/curves/none",
    "/pages/findings",
    "/pages/sources",
    "/pages/validation",
)
REPORTS = (
    "check/bracket-hanger",
    "check/bracket-toe-growth",
    "check/one-toe-constant",
    "check/root-history",
    "cracks/growth-bracket-toe-shared",
    "cracks/growth-surface-blocks",
    "spectrum/damage-modes",
    "spectrum/damage-trailer",
    "trials/campaign-hanger",
    "trials/growth-rate-plate",
)
# the frame of the form holds a report in which no script may run; reports are looked at by themselves
RUN = """axe.run(document, {resultTypes: ['violations'], iframes: false}).then(found => found.violations.map(
  each => [each.id, each.help, ...each.nodes.slice(0, 5).map(node => node.html.slice(0, 200))]))"""


@pytest.fixture(scope="module")
def engine(tmp_path_factory: pytest.TempPathFactory) -> str:
    npm, folder = shutil.which("npm"), tmp_path_factory.mktemp("engine")
    if npm is None:
        pytest.skip("no npm on this machine")
    (folder / "package.json").write_text("{}", encoding="utf-8")
    command = [npm, "install", "--silent", "axe-core@4"]
    if subprocess.run(command, cwd=folder, capture_output=True, check=False).returncode:
        pytest.skip("the engine cannot be fetched on this machine")
    return (folder / "node_modules" / "axe-core" / "axe.min.js").read_text(encoding="utf-8")


def violations(page: Page, engine: str) -> list[Any]:
    page.value(f"{engine};0")
    found: list[Any] = page.value(RUN)
    return found


def opened(page: Page, address: str, pixels: int) -> None:
    page.ask("Page.setBypassCSP", enabled=True)  # for the engine, which is no part of the page
    page.width(pixels)
    page.open(address)


def test_every_kind_of_report_is_looked_at() -> None:
    files = [json.loads((FOLDER / f"{name}.json").read_text(encoding="utf-8")) for name in REPORTS]
    assert {each["calculation"] for each in files} == set(RENDERERS)


@pytest.mark.parametrize("pixels", WIDTHS)
def test_every_page_keeps_the_rules(url: str, page: Page, engine: str, pixels: int) -> None:
    found = {}
    for path in PAGES:
        opened(page, f"{url}{path}", pixels)
        found[path] = violations(page, engine)
    assert {path: each for path, each in found.items() if each} == {}


@cache
def report_of(url: str, name: str) -> bytes:
    """The page of an example with a title block and what changed; made once for all widths."""
    data = json.loads((FOLDER / f"{name}.json").read_text(encoding="utf-8"))
    titled = {"document": {"part": "Hanger", "author": "A. Author", "signatures": True}}
    body = {**data["request"], **titled, "baseline": data["response"]}
    address = f"{url}/v1/{data['calculation']}"
    answer = httpx.post(address, json=body, headers={"Accept": "text/html"}, timeout=60.0)
    return answer.raise_for_status().content


@pytest.mark.parametrize("pixels", WIDTHS)
@pytest.mark.parametrize("name", REPORTS)
def test_every_report_keeps_the_rules(
    url: str, page: Page, engine: str, tmp_path: Path, name: str, pixels: int
) -> None:
    file = tmp_path / "report.html"
    file.write_bytes(report_of(url, name))
    opened(page, file.as_uri(), pixels)
    assert violations(page, engine) == []


@pytest.mark.parametrize("pixels", WIDTHS)
def test_the_form_keeps_the_rules_with_a_result_and_with_a_refusal(
    url: str, page: Page, engine: str, pixels: int
) -> None:
    opened(page, f"{url}/", pixels)
    page.wait_for("document.querySelectorAll('#example option').length > 3")
    page.choose_file("#file", FOLDER / "check" / "one-toe-constant.json")
    page.wait_for("document.querySelector('#text').value.length > 10")
    page.click("#run")
    page.wait_for("document.activeElement.id === 'verdict'")
    assert violations(page, engine) == []
    page.value("document.querySelector('#text').value = '{\"lines\": [], \"loading\": 3}'")
    page.value("document.querySelector('#locked').open = true")
    page.click("#run")
    page.wait_for("!document.querySelector('#problem').hidden")
    assert violations(page, engine) == []


@pytest.mark.parametrize("pixels", WIDTHS)
def test_the_api_pages_keep_the_rules_folded_opened_and_tried_out(
    url: str, page: Page, engine: str, pixels: int
) -> None:
    opened(page, f"{url}/docs", pixels)
    page.wait_for("document.querySelectorAll('.opblock-tag').length >= 3")
    assert violations(page, engine) == []
    for topic, operation in (("spectrum", "post_spectrum_damage"), ("curves", "get_curves_curve_life")):
        page.value(f"document.querySelector('#operations-tag-{topic}').click()")
        block = f"#operations-{topic}-{operation}"
        page.wait_for(f"document.querySelector('{block}')")
        page.value(f"document.querySelector('{block} .opblock-summary-control').click()")
        page.wait_for(f"document.querySelector('{block} .try-out__btn')")
        assert violations(page, engine) == []
        page.value(f"document.querySelector('{block} .try-out__btn').click()")
        page.wait_for(f"document.querySelector('{block} .execute')")
        assert violations(page, engine) == []
    assert page.value("document.documentElement.scrollWidth <= innerWidth")
