"""A server and a real headless browser for a module of tests, and a new tab for each of them."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from service.http.settings import Settings
from tests.api.conftest import Server
from tests.toolchain.browser import Browser, Page, browser_path, started


@pytest.fixture(scope="module")
def url() -> Iterator[str]:
    with Server(Settings()) as address:
        yield address


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    if browser_path() is None:
        pytest.skip("no chromium here: install the package chromium")
    with started() as running:
        yield running


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    opened = Page(browser)
    yield opened
    opened.close()
