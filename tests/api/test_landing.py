"""Landing page, examples and API page: static, closed, every link answers."""

from __future__ import annotations

import re

import httpx

from service.report.renderers import RENDERERS
from tests.api.report_pages import Balanced


def test_landing_page_is_static_and_closed(client: httpx.Client) -> None:
    answer = client.get("/")
    policy = answer.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "script-src 'self';" in policy
    assert "'unsafe-eval'" not in policy
    assert Balanced(answer.text)
    for link in re.findall(r'(?:href|src)="([^"#]+)"', answer.text):
        assert not link.startswith(("http", "/"))
        assert client.get(f"/{link}").status_code == 200, link


def test_examples_are_served_without_their_responses(client: httpx.Client) -> None:
    listed = client.get("/examples").json()["examples"]
    assert "check/bracket-hanger" in [item["name"] for item in listed]
    one = client.get("/examples/check/one-toe-constant").json()
    assert set(one) == {"title", "source", "calculation", "request"}
    missing = client.get("/examples/check/nothing")
    assert missing.status_code == 404
    assert missing.json()["title"] == "Not found"
    assert client.get("/assets/nothing.js").status_code == 404
    assert client.get("/health/live").json() == {"status": "live"}


def test_the_form_is_offered_every_calculation_that_has_a_report(client: httpx.Client) -> None:
    offered = client.get("/examples").json()
    assert [each["name"] for each in offered["calculations"]] == list(RENDERERS)
    for each in offered["calculations"]:
        assert each["title"]
        assert "title" in each["fields"]
        assert each["name"] in {example["calculation"] for example in offered["examples"]}


def test_api_page_runs_only_its_own_inline_script(client: httpx.Client) -> None:
    policy = client.get("/docs").headers["content-security-policy"]
    assert re.search(r"script-src 'self' 'sha256-[A-Za-z0-9+/]+=*';", policy)
