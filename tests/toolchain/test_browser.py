"""Reports and API pages in a real headless browser, with no network but this machine."""

from __future__ import annotations

import io
import json
import re
import zlib
from pathlib import Path
from typing import Any

import httpx
import numpy as np
import pytest

from tests.toolchain.browser import Page

pytestmark = pytest.mark.toolchain

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


def test_api_pages_need_no_other_server(url: str, page: Page) -> None:
    page.open(f"{url}/docs")
    page.wait_for("document.querySelectorAll('.opblock-tag').length >= 3")
    assert "toeline" in page.value("document.querySelector('.info .title').textContent")
    assert page.complaints() == []
    assert all(address.startswith((url, "data:")) for address in page.requests())
