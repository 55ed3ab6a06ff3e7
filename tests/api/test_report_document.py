"""The head of every report: title block, running head, block to sign; words that no number depends on."""

from __future__ import annotations

import re
from typing import Any

import httpx
import pytest

from service.report.page import css_text
from tests.api.report_pages import example

ROUTES = {
    "check": "check/one-toe-constant",
    "spectrum/damage": "spectrum/damage-blocks",
    "cracks/growth": "cracks/growth-surface-blocks",
}
DOCUMENT = {
    "part": "Hanger",
    "drawing_number": "FT-1",
    "drawing_revision": "C",
    "project": "Trailer",
    "author": "A. Author",
    "checker": "B. Checker",
    "organisation": "Works",
    "date": "2026-11-27",
    "weld_size": "a 5",
    "weld_quality": "level C",
    "service_environment": "mud",
}


def page(client: httpx.Client, route: str, **more: Any) -> str:
    body = {**example(ROUTES[route]), **more}
    return client.post(f"/v1/{route}", json=body, headers={"accept": "text/html"}).raise_for_status().text


@pytest.mark.parametrize("route", ROUTES)
def test_every_report_has_the_title_block_that_its_request_gives(client: httpx.Client, route: str) -> None:
    text = page(client, route, title="Hanger, field", document={**DOCUMENT, "signatures": True})
    assert "<h1>Hanger, field</h1>" in text
    head = text[text.index("<header>") : text.index("</header>")]
    found = dict(re.findall(r"<div><dt>([^<]*)</dt><dd>([^<]*)</dd></div>", head))
    assert found == {name.replace("_", " "): words for name, words in DOCUMENT.items()}
    assert [cell for cell in ("A. Author", "B. Checker") if f"<td>{cell}</td>" in text] == ["A. Author", "B. Checker"]
    assert "Hanger" not in text[text.index("<h2>Inputs") : text.index("<h2>Method")]


@pytest.mark.parametrize("route", ROUTES)
def test_without_a_document_there_is_neither_block_nor_signature(client: httpx.Client, route: str) -> None:
    text = page(client, route)
    assert 'class="facts head"' not in text
    assert "Signatures" not in text


@pytest.mark.parametrize("route", ROUTES)
def test_a_document_moves_no_number_and_says_what_it_does_not_judge(client: httpx.Client, route: str) -> None:
    request = example(ROUTES[route])
    bare = client.post(f"/v1/{route}", json=request).json()
    named = client.post(f"/v1/{route}", json={**request, "title": "T", "document": DOCUMENT}).json()
    assert named["answer"] == bare["answer"]
    (told,) = [each for each in named["findings"] if each not in bare["findings"]]
    assert (told["code"], told["severity"]) == ("document-not-judged", "note")
    assert "weld size, weld quality, service environment" in told["message"]
    quiet = client.post(f"/v1/{route}", json={**request, "document": {"author": "A"}}).json()
    assert quiet["findings"] == bare["findings"]


def test_the_running_head_of_print_has_title_revision_and_digest(client: httpx.Client) -> None:
    text = page(client, "check", title="Hanger", document={"drawing_revision": "C"})
    assert '@top-left { content: "Hanger\\2c  revision C"; }' in text
    assert re.search(r'@top-right \{ content: "sha256\\3a [0-9a-f]{16}"; \}', text)


def test_words_of_a_style_sheet_hold_nothing_that_ends_it() -> None:
    assert css_text('a"; } </style>\\\n') == '"a\\22 \\3b  \\7d  \\3c \\2f style\\3e \\5c \\a "'


def test_lines_are_drawn_by_their_utilisation_against_the_limit(client: httpx.Client) -> None:
    """The governing line has its range below; a line on which nothing moves is drawn as well."""
    request = example("check/bracket-hanger")
    text = client.post("/v1/check", json=request, headers={"accept": "text/html"}).text
    labels = re.findall(r'aria-label="(R[12][^"]*)"', text)
    assert len(labels) == len(request["lines"])
    assert labels[0].startswith("R2N_toe_plate: utilisation along the line, 0.853 of 1 at 56.9779 mm")
    assert [text.count(f"{axis} [–]") for axis in ("utilisation", "biaxiality")] == [12, 12]
    still = {
        name: {**case, "tensors_mpa": {k: [0.0] * 6 for k in ("xx", "yy", "zz", "xy", "yz", "zx")}}
        for name, case in request["lines"][0]["cases"].items()
    }
    first = {k: (v[:6] if isinstance(v, list) else v) for k, v in request["lines"][0].items()}
    calm = {**request, "lines": [{**first, "cases": still, "exclude_ends_mm": 0.0}]}
    page = client.post("/v1/check", json=calm, headers={"accept": "text/html"})
    assert "utilisation along the line, 0 of 1" in page.raise_for_status().text
