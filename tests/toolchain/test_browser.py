"""Reports, landing page and API pages in a real headless browser, with no network but this machine."""

from __future__ import annotations

import io
import json
import re
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import numpy as np
import pytest

from service.http import pages
from service.http.settings import Settings
from tests.api.conftest import Server
from tests.toolchain.browser import Browser, Page, browser_path, started

pytestmark = [
    pytest.mark.toolchain,
    pytest.mark.skipif(browser_path() is None, reason="no chromium here: install the package chromium"),
]

FOLDER = Path(__file__).parents[2] / "openapi_examples"
REPORTS = (
    "check/bracket-hanger",
    "check/one-toe-constant",
    "check/root-history",
    "cracks/growth-bracket-toe-shared",
    "spectrum/damage-trailer",
)
PICTURES = """[...document.querySelectorAll('figure svg')].map(svg => {
  const box = svg.getBoundingClientRect();
  const texts = [...svg.querySelectorAll('text')].map(text => text.getBoundingClientRect());
  return {x: box.x + scrollX, y: box.y + scrollY, width: box.width, height: box.height,
          label: svg.getAttribute('aria-label'), texts: texts.length,
          left: Math.min(...texts.map(text => text.left - box.left)),
          right: Math.min(...texts.map(text => box.right - text.right))};
})"""


def example(name: str) -> str:
    return (FOLDER / f"{name}.json").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def url() -> Iterator[str]:
    with Server(Settings()) as address:
        yield address


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with started() as running:
        yield running


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    opened = Page(browser)
    yield opened
    opened.close()


def ink(png: bytes) -> float:
    """Share of the pixels that are clearly darker than paper."""
    from matplotlib import image

    picture = image.imread(io.BytesIO(png), format="png")[..., :3]
    return float(np.mean(picture.min(axis=-1) < 0.8))


def report_file(url: str, name: str, folder: Path) -> Path:
    data = json.loads(example(name))
    answer = httpx.post(
        f"{url}/v1/{data['calculation']}", json=data["request"], headers={"Accept": "text/html"}, timeout=60.0
    )
    assert answer.status_code == 200, answer.text
    file = folder / "report.html"
    file.write_bytes(answer.content)
    return file


@pytest.mark.parametrize("name", REPORTS)
def test_report_opens_without_any_network(url: str, page: Page, tmp_path: Path, name: str) -> None:
    file = report_file(url, name, tmp_path)
    page.offline()
    page.open(file.as_uri())
    page.browser.listen(0.3)
    assert page.complaints() == []
    assert page.requests() == [file.as_uri()]
    assert page.value("document.querySelector('.verdict .word').textContent").split()[-1].isupper()
    assert page.value("document.documentElement.scrollWidth <= innerWidth")


@pytest.mark.parametrize("name", REPORTS)
def test_every_picture_shows_something_and_keeps_its_texts_inside(
    url: str, page: Page, tmp_path: Path, name: str
) -> None:
    page.open(report_file(url, name, tmp_path).as_uri())
    pictures = page.value(PICTURES)
    assert pictures
    for found in pictures:
        assert found["width"] > 250
        assert found["height"] > 120
        assert found["texts"] >= 6
        assert found["left"] >= -1
        assert found["right"] >= -1
        clip = {key: found[key] for key in ("x", "y", "width", "height")}
        assert 0.005 < ink(page.picture(clip)) < 0.6, found["label"]


def test_report_prints_to_a4(url: str, page: Page, tmp_path: Path) -> None:
    page.open(report_file(url, "check/bracket-hanger", tmp_path).as_uri())
    printed = page.pdf()
    assert printed.startswith(b"%PDF")
    boxes = {tuple(float(v) for v in box.split()) for box in re.findall(rb"/MediaBox \[([\d. ]+)\]", printed)}
    assert boxes
    for box in boxes:
        assert box[2:] == pytest.approx((595.3, 841.9), abs=1.5)  # A4 in points
    streams = [_inflated(part) for part in re.findall(rb"stream\r?\n(.*?)endstream", printed, re.DOTALL)]
    drawn = sum(len(re.findall(rb"\s[lc]\n", stream)) for stream in streams)
    assert drawn > 500  # lines and curves of the pictures


def _inflated(stream: bytes) -> bytes:
    try:
        return zlib.decompress(stream)
    except zlib.error:
        return stream


def test_report_with_hostile_names_runs_nothing(url: str, page: Page, tmp_path: Path) -> None:
    request: dict[str, Any] = json.loads(example("check/one-toe-constant"))["request"]
    request["title"] = "<img src=x onerror=\"document.title='run'\"><script>document.title='run'</script>"
    request["lines"][0]["name"] = request["title"][:190]
    answer = httpx.post(f"{url}/v1/check", json=request, headers={"Accept": "text/html"}, timeout=60.0)
    file = tmp_path / "hostile.html"
    file.write_bytes(answer.content)
    page.open(file.as_uri())
    page.browser.listen(0.3)
    assert page.value("document.title") != "run"
    assert page.value("document.querySelector('h1').textContent") == request["title"]
    assert page.value("document.images.length + document.scripts.length") == 0
    assert page.complaints() == []


INNER = "document.querySelector('#report').contentDocument"


def shown_word(page: Page) -> str:
    page.wait_for(f"!document.querySelector('#result').hidden && {INNER}.querySelector('.word')")
    word: str = page.value(f"{INNER}.querySelector('.word').textContent")
    return word


def test_pasted_example_shows_its_report(url: str, page: Page) -> None:
    page.open(f"{url}/")
    page.click("#text")
    page.type(example("check/one-toe-constant"))
    page.click("#run")
    assert shown_word(page) == "✓ PASS"
    assert page.value(f"{INNER}.querySelectorAll('svg').length") == 2
    assert page.value("document.querySelector('#report').getBoundingClientRect().height > 1000")
    assert page.complaints() == []
    assert all(address.startswith(url) for address in page.requests())


def test_example_is_loaded_by_the_button_and_changed_to_fail(url: str, page: Page) -> None:
    page.open(f"{url}/")
    page.wait_for("document.querySelectorAll('#example option').length > 3")
    page.value("document.querySelector('#example').value = 'check/one-toe-constant'")
    page.click("#load")
    page.wait_for("document.querySelector('#text').value.includes('lines')")
    text = "document.querySelector('#text').value"
    page.value(f"""{text} = {text}.replace('"maximum": 12', '"maximum": 60')""")
    page.click("#run")
    assert shown_word(page) == "✗ FAIL"


def test_file_of_a_plain_request_is_read_and_recognised(url: str, page: Page, tmp_path: Path) -> None:
    file = tmp_path / "toe.json"
    file.write_text(json.dumps(json.loads(example("check/one-toe-constant"))["request"]), encoding="utf-8")
    page.open(f"{url}/")
    page.choose_file("#file", file)
    page.wait_for("document.querySelector('#text').value.length > 10")
    page.click("#run")
    assert shown_word(page) == "✓ PASS"


@pytest.mark.parametrize(
    ("text", "title", "place"),
    [
        ('{"lines": [], "loading": 3}', "Input refused", "/lines"),
        ("{", "This is not JSON", ""),
        ("", "Nothing to calculate", ""),
        ('{"other": 1}', "What is it?", ""),
    ],
)
def test_refused_input_names_its_place(url: str, page: Page, text: str, title: str, place: str) -> None:
    page.open(f"{url}/")
    page.click("#text")
    page.type(text)
    page.click("#run")
    page.wait_for("!document.querySelector('#problem').hidden")
    assert page.value("document.querySelector('#problem h3').textContent") == title
    assert place in page.value("document.querySelector('#problem').textContent")
    assert page.value("document.querySelector('#result').hidden")


def test_form_goes_without_examples_where_none_are_installed(page: Page, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pages, "examples", dict)
    with Server(Settings()) as url:
        page.open(f"{url}/")
        page.wait_for("!document.querySelector('#example')")
        page.click("#text")
        page.type(example("check/one-toe-constant"))
        page.click("#run")
        assert shown_word(page) == "✓ PASS"
        assert page.complaints() == []


def test_asked_key_is_sent(page: Page) -> None:
    with Server(Settings(api_keys=("right",))) as url:
        page.open(f"{url}/")
        page.click("#text")
        page.type(example("check/one-toe-constant"))
        page.click("#run")
        page.wait_for("!document.querySelector('#problem').hidden")
        assert "Key missing" in page.value("document.querySelector('#problem').textContent")
        page.click("summary")
        page.click("#key")
        page.type("right")
        page.click("#run")
        assert shown_word(page) == "✓ PASS"


def test_api_pages_need_no_other_server(url: str, page: Page) -> None:
    page.open(f"{url}/docs")
    page.wait_for("document.querySelectorAll('.opblock-tag').length >= 3")
    assert "toeline" in page.value("document.querySelector('.info .title').textContent")
    assert page.complaints() == []
    assert all(address.startswith((url, "data:")) for address in page.requests())
