"""Where on the part, in a real browser: the grey picture is shown, every text stands where its width was reckoned."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from service.cli import main
from tests.api.test_picture_command import bracket, file_of, mesh_file, placed_on
from tests.toolchain.browser import Browser, Page, browser_path, started

pytestmark = [
    pytest.mark.toolchain,
    pytest.mark.skipif(browser_path() is None, reason="no chromium here: install the package chromium"),
]

# places of texts and of the label's frame in px of the picture
TEXTS = """(() => { const svg = document.querySelector('svg[viewBox^="0 0 720"]');
  const whole = svg.getBoundingClientRect(), scale = whole.width / 720;
  const inside = box => [(box.left - whole.left) / scale, (box.top - whole.top) / scale,
                         (box.right - whole.left) / scale, (box.bottom - whole.top) / scale];
  return {height: whole.height / scale,
          texts: [...svg.querySelectorAll('text')].map(t => [t.textContent, ...inside(t.getBoundingClientRect())]),
          frames: [...svg.querySelectorAll('rect[rx]')].map(r => inside(r.getBoundingClientRect()))}; })()"""


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with started() as running:
        yield running


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    opened = Page(browser)
    yield opened
    opened.close()


def drawn(folder: Path, name: str | None) -> Path:
    """The picture of the bracket, or of a model with its part."""
    file, out = file_of(folder, bracket() if name is None else placed_on(name)), folder / "picture.svg"
    assert main(["picture", str(file), *(["--mesh", mesh_file(name)] if name else []), "-o", str(out)]) == 0
    return out


@pytest.mark.parametrize("name", [None, "stiffener-tet10", "stiffener-hex8"])
def test_texts_of_a_picture_stay_inside_it_and_inside_their_frame(tmp_path: Path, page: Page, name: str | None) -> None:
    page.open(drawn(tmp_path, name).as_uri())
    found: dict[str, Any] = page.value(TEXTS)
    assert len(found["texts"]) > 15
    for words, left, top, right, bottom in found["texts"]:
        assert -1.0 <= left < right <= 721.0, words
        assert -1.0 <= top < bottom <= found["height"] + 1.0, words
    framed = [each for each in found["texts"] if each[0].startswith("utilisation ")]
    assert framed
    for words, left, top, right, bottom in framed:
        assert any(f[0] <= left and f[1] <= top and right <= f[2] and bottom <= f[3] for f in found["frames"]), words
    assert not page.complaints()


def test_the_policy_of_a_report_lets_the_grey_picture_of_the_part_be_shown(tmp_path: Path, page: Page) -> None:
    file, out = file_of(tmp_path, placed_on("stiffener-hex8")), tmp_path / "r.html"
    assert main(["report", str(file), "--mesh", mesh_file("stiffener-hex8"), "-o", str(out)]) == 0
    page.offline()
    page.open(out.as_uri())
    assert not page.complaints()
    size = page.value("document.querySelector('svg image').getBoundingClientRect().width")
    assert size > 300.0
