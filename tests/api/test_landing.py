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


def test_api_page_runs_no_inline_script_and_asks_no_other_server(client: httpx.Client) -> None:
    answer = client.get("/docs")
    assert "script-src 'self';" in answer.headers["content-security-policy"]
    assert Balanced(answer.text)
    assert re.findall(r"<script(?! src=\"assets/)", answer.text) == []
    for link in re.findall(r'(?:href|src)="([^"#]+)"', answer.text):
        assert not link.startswith(("http", "/"))
        assert link.startswith("pages/") or client.get(f"/{link}").status_code == 200, link


def test_the_first_call_of_the_api_pages_is_answered(client: httpx.Client) -> None:
    text = client.get("/openapi.json").json()["info"]["description"]
    (address,) = re.findall(r'curl -s "http://127.0.0.1:8000([^"]+)"', text)
    answer = client.get(address).json()
    assert answer["answer"]["life_cycles"] > 1e6
    assert text.count("\n\n") == 2  # one paragraph, the call, where to go on
