"""The description of the service and its pages, against what was written down by hand."""

from __future__ import annotations

import json
import re
from typing import Any

import httpx
import pytest

from fatcore import __version__
from service.base.envelope import CAUTION
from service.http import openapi, pages
from service.http.openapi import MAX_SHOWN_BYTES, _shown, described, description, examples
from service.report.renderers import RENDERERS
from service.topics.registry import find, load

load()
DOCUMENT = description()


def text(words: str) -> dict[str, str]:
    return {"type": "string", "description": words}


def test_a_problem_is_described_as_it_is_answered() -> None:
    schema = DOCUMENT["components"]["schemas"]["Problem"]
    assert (schema["type"], schema["required"]) == ("object", ["type", "title", "status", "detail", "errors"])
    assert set(schema["properties"]) == set(schema["required"])
    types = {name: part["type"] for name, part in schema["properties"].items()}
    assert types == {"type": "string", "title": "string", "status": "integer", "detail": "string", "errors": "array"}
    assert schema["properties"]["type"] == text("kind of the problem, about:blank where it has none")
    part = schema["properties"]["errors"]["items"]
    assert part == {
        "type": "object",
        "required": ["pointer", "message"],
        "properties": {
            "pointer": text("JSON pointer into the request"),
            "message": text("what is wrong there"),
        },
    }


def test_every_get_and_post_takes_only_as_an_optional_text() -> None:
    for calculation in load().values():
        operation = DOCUMENT["paths"][calculation.path][calculation.method.lower()]
        only, accept = operation["parameters"][-2:]
        assert (only["name"], only["in"], only["required"], only["schema"]) == (
            "only",
            "query",
            False,
            {"type": "string"},
        )
        assert (accept["name"], accept["in"], accept["required"], accept["schema"]) == (
            "accept_outside",
            "query",
            False,
            {"type": "string", "enum": ["1"]},
        )


def test_the_head_of_the_description() -> None:
    assert DOCUMENT["openapi"] == "3.1.0"
    assert (DOCUMENT["info"]["title"], DOCUMENT["info"]["version"]) == ("toeline", __version__)
    assert CAUTION in DOCUMENT["info"]["description"]
    # in the order of the job
    assert [tag["name"] for tag in DOCUMENT["tags"]] == [
        "stress",
        "check",
        "curves",
        "spectrum",
        "cracks",
        "trials",
        "meta",
    ]
    assert DOCUMENT["tags"][0]["description"].startswith("from the stresses of a model")
    assert DOCUMENT["tags"][2]["description"].startswith("design curves")
    (key,) = DOCUMENT["components"]["securitySchemes"].values()
    assert (key["type"], key["in"], key["name"]) == ("apiKey", "header", "X-API-Key")
    assert DOCUMENT["security"] == [{"key": []}, {}]  # a key, or none: as the operator set it


def test_a_service_says_whether_its_operations_need_a_key() -> None:
    schemes = described(asks_key=True, allow_query_key=True)["components"]["securitySchemes"]
    assert (schemes["query_key"]["in"], schemes["query_key"]["name"]) == ("query", "key")
    for asks, query, needed in (
        (True, False, [{"key": []}]),
        (True, True, [{"key": []}, {"query_key": []}]),
        (False, False, [{"key": []}, {}]),
    ):
        document = described(asks_key=asks, allow_query_key=query)
        assert document["security"] == needed
        assert document["paths"] is DOCUMENT["paths"]
        assert document["components"]["schemas"] is DOCUMENT["components"]["schemas"]


def test_an_operation_has_its_topic_body_and_responses() -> None:
    check = DOCUMENT["paths"]["/v1/check"]["post"]
    assert (check["tags"], check["operationId"]) == (["check"], "post_check")
    body = check["requestBody"]
    assert body["required"] is True
    assert body["content"]["application/json"]["schema"] == {"$ref": "#/components/schemas/CheckRequest"}
    done = check["responses"]["200"]
    assert done["description"] == "The answer with its findings and record"
    assert done["content"]["application/json"]["schema"] == {"$ref": "#/components/schemas/CheckAnswerEnvelope"}
    assert set(done["content"]) == {"application/json", "text/csv", "text/plain", "text/html"}
    assert check["responses"]["422"] == {
        "description": "Input refused",
        "content": {"application/problem+json": {"schema": {"$ref": "#/components/schemas/Problem"}}},
    }
    assert "404" not in check["responses"]
    life = DOCUMENT["paths"]["/v1/curves/{curve}/life"]["get"]
    assert "404" in life["responses"]
    assert "requestBody" not in life
    assert (life["tags"], life["operationId"]) == (["curves"], "get_curves_curve_life")
    assert set(life["responses"]["200"]["content"]) == {"application/json", "text/csv", "text/plain"}
    assert DOCUMENT["paths"]["/v1/sources"]["get"]["tags"] == ["meta"]


def test_parameters_say_where_they_stand_and_whether_they_are_needed() -> None:
    life = DOCUMENT["paths"]["/v1/curves/{curve}/life"]["get"]
    places = {each["name"]: (each["in"], each["required"]) for each in life["parameters"]}
    assert places.pop("curve") == ("path", True)
    assert {"stress_range_mpa", "only", "accept_outside"} < set(places)
    assert set(places.values()) == {("query", False)}


def test_a_batch_is_described_with_its_limits() -> None:
    batch = DOCUMENT["paths"]["/v1/batch"]["post"]
    assert (batch["tags"], batch["operationId"]) == (["meta"], "post_batch")
    assert batch["summary"] == "Many calculations in one request"
    body = batch["requestBody"]
    assert body["required"] is True
    array, line = body["content"]["application/json"]["schema"], body["content"]["application/x-ndjson"]["schema"]
    assert (array["type"], array["minItems"], array["maxItems"], line["type"]) == ("array", 1, 1000, "string")
    item = array["items"]
    assert (item["type"], item["required"]) == ("object", ["id", "calculation", "input"])
    assert item["additionalProperties"] is False
    named = item["properties"]
    assert named["id"]["anyOf"] == [{"type": "string", "maxLength": 200}, {"type": "integer"}]
    types = {name: part.get("type") for name, part in named.items() if name != "id"}
    assert types == {"calculation": "string", "input": "object", "only": "string", "accept_outside": "boolean"}
    assert all(isinstance(part["description"], str) for part in named.values())
    done = batch["responses"]["200"]
    assert done == {
        "description": "One line an item",
        "content": {"application/x-ndjson": {"schema": line}},
    }
    assert {"413", "503"} < set(batch["responses"])


def test_examples_up_to_their_limit_are_shown_with_their_calculation(monkeypatch: pytest.MonkeyPatch) -> None:
    request = {"x": "y"}
    size = len(json.dumps(request))
    example = {"title": "t", "calculation": "check", "request": request}
    found = {
        "check/a": example,
        "check/b": {**example, "method": "GET"},
        "curves/c": {**example, "calculation": "curves/life"},
        "check/d": {**example, "request": {"x": "yz"}},
    }
    monkeypatch.setattr(openapi, "examples", lambda: found)
    monkeypatch.setattr(openapi, "MAX_SHOWN_BYTES", size)
    calculation = find("check")
    assert calculation is not None
    assert _shown(calculation) == {"check-a": {"summary": "t", "value": request}}
    assert MAX_SHOWN_BYTES == 60_000


def test_folders_of_data_hold_no_example() -> None:
    assert all(re.fullmatch(r"[a-z]+/[\w-]+", name) and not name.startswith("data/") for name in examples())
    assert len(examples()) > 40


def test_pages_list_the_examples_that_have_a_report(client: httpx.Client) -> None:
    listed = client.get("/examples").json()["examples"]
    expected = {name for name, example in examples().items() if example["calculation"] in RENDERERS}
    assert {each["name"] for each in listed} == expected
    for each in listed[:3]:
        example: dict[str, Any] = client.get(f"/examples/{each['name']}").json()
        assert (example["title"], example["calculation"]) == (each["title"], each["calculation"])
        assert "response" not in example
        assert "request" in example


def test_pages_that_are_not_there_are_404(client: httpx.Client) -> None:
    for path, detail in (
        ("/examples/check/none", "there is no example 'check/none'"),
        ("/assets/none.js", "there is no asset 'none.js'"),
        ("/none", "there is nothing at /none"),
        ("/v1/sources/", "there is nothing at /v1/sources/"),  # no redirection
    ):
        problem = client.get(path).json()
        assert (problem["status"], problem["detail"]) == (404, detail)
    wrong = client.put("/v1/check")
    assert (wrong.status_code, wrong.json()["detail"]) == (405, "/v1/check does not take PUT")


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("swagger-ui-bundle.js", "text/javascript"),
        ("docs.js", "text/javascript"),
        ("docs.css", "text/css"),
        ("landing.js", "text/javascript"),
        ("landing.css", "text/css"),
        ("toeline.svg", "image/svg+xml"),
    ],
)
def test_assets_are_what_their_names_say(client: httpx.Client, name: str, kind: str) -> None:
    answer = client.get(f"/assets/{name}")
    assert (answer.status_code, answer.headers["content-type"].partition(";")[0]) == (200, kind)


def test_the_api_page_is_folded_and_lists_no_models(client: httpx.Client) -> None:
    script = client.get("/assets/docs.js").text
    assert "defaultModelsExpandDepth: -1," in script
    assert 'docExpansion: "none",' in script
    assert "validatorUrl: null," in script


@pytest.mark.parametrize("read", ["sources.all_sources", "catalogue.find_curve", "catalogue.all_ids", "description"])
def test_a_service_that_cannot_read_its_tables_is_not_ready(read: str, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: Any) -> Any:
        raise OSError("cannot be read")

    monkeypatch.setattr(f"service.http.pages.{read}", broken)
    with pytest.raises(OSError, match="cannot be read"):
        pages._readiness.__wrapped__()


def test_a_service_that_is_ready_says_its_version_and_paths(client: httpx.Client) -> None:
    ready = {"status": "ready", "version": __version__, "paths": len(DOCUMENT["paths"])}
    assert client.get("/health/ready").json() == ready
    assert client.get("/health/live").json() == {"status": "live"}
