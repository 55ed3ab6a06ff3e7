"""What the tests of reports share: requests, pages, and a reader that fails where elements do not close."""

from __future__ import annotations

import copy
import json
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import httpx

FOLDER = Path(__file__).parents[2] / "openapi_examples"


HOSTILE = "<script>alert(1)</script>\"'&<b>"
OWN_CURVE = {"range_mpa": [100.0], "life_cycles": [2e6], "slopes": [3.0]}
PAGE = {"Accept": "text/html"}


VOID = {"meta", "br", "link", "img", "input", "col"}


def example(name: str) -> Any:
    return json.loads((FOLDER / f"{name}.json").read_text(encoding="utf-8"))["request"]


def page_of(client: httpx.Client, request: Any, name: str = "check") -> str:
    answer = client.post(f"/v1/{name}", json=request, headers=PAGE)
    assert answer.status_code == 200, answer.text
    assert answer.headers["content-type"] == "text/html; charset=utf-8"
    return answer.text


class Balanced(HTMLParser):
    """Fails where elements do not close in order; keeps names, attributes and text."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.names: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []
        self.texts: list[str] = []
        self.feed(page)
        self.close()
        assert not self.open

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.names.append(tag)
        self.attributes += attrs
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.names.append(tag)
        self.attributes += attrs

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.texts.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.texts).split())


def toe(**changes: Any) -> dict[str, Any]:
    return {**copy.deepcopy(example("check/one-toe-constant")), **changes}
