"""One value of an answer with `only=`: of a POST as of a GET, with the same words and the same refusals."""

from __future__ import annotations

import asyncio
import json
from pathlib import Path
from typing import Any

import httpx
import pytest

from service.client.batch import BatchItem
from service.client.client import AsyncClient, Client
from service.client.errors import ProblemError

CHECK = json.loads((Path(__file__).parents[2] / "openapi_examples/check/one-toe-constant.json").read_text())["request"]


def outside() -> dict[str, Any]:
    """The check with a mesh so coarse that a validity limit is left."""
    line = CHECK["lines"][0]
    return {**CHECK, "lines": [{**line, "mesh": {**line["mesh"], "element_size_mm": 500.0}}]}


@pytest.mark.parametrize(
    "path",
    [
        "answer.verdict",
        "answer.utilisation",
        "answer.governing.line",
        "answer.governing.position_mm",
        "answer.lines.0.governing.index",
        "answer.lines.0.utilisation.0",
        "record.input_digest",
        "findings.0.code",
    ],
)
def test_a_post_answers_one_value_as_text(client: httpx.Client, path: str) -> None:
    value: Any = client.post("/v1/check", json=CHECK).json()
    for step in path.split("."):
        value = value[int(step)] if isinstance(value, list) else value[step]
    answer = client.post("/v1/check", params={"only": path}, json=CHECK)
    assert (answer.status_code, answer.text) == (200, str(value))
    assert answer.headers["content-type"] == "text/plain; charset=utf-8"
    assert ":" in answer.headers["x-toeline-findings"]
    assert len(answer.content) < 100


def test_what_stands_for_no_number(client: httpx.Client) -> None:
    node = client.post("/v1/check?only=answer.governing.node_id", json=CHECK)
    assert node.text == "none"
    judged = client.post("/v1/check?only=answer.lines.0.judged.0", json=CHECK)
    assert judged.text in {"TRUE", "FALSE"}


def test_where_a_limit_is_left_its_code_stands_for_the_number(client: httpx.Client) -> None:
    cell = client.post("/v1/check?only=answer.utilisation", json=outside())
    assert cell.text.startswith("#OUTSIDE: ")
    given = client.post("/v1/check?only=answer.utilisation&accept_outside=1", json=outside())
    whole = client.post("/v1/check", json=outside()).json()
    assert float(given.text) == whole["answer"]["utilisation"]


@pytest.mark.parametrize(
    ("query", "pointer"),
    [
        ("only=answer.nothing", "/only"),
        ("only=answer", "/only"),
        ("only=answer.lines.7.name", "/only"),
        ("only=", "/only"),
        ("only=answer.verdict&only=answer.utilisation", "/only"),
        ("only=answer.verdict&accept_outside=yes", "/accept_outside"),
        ("only=answer.verdict&other=1", "/other"),
        ("accept_outside=1", "/accept_outside"),
    ],
)
def test_what_is_no_value_is_refused_with_its_status(client: httpx.Client, query: str, pointer: str) -> None:
    answer = client.post(f"/v1/check?{query}", json=CHECK)
    assert answer.status_code == 422
    assert answer.headers["content-type"].startswith("application/problem+json")
    assert [each["pointer"] for each in answer.json()["errors"]] == [pointer]


def test_a_refused_input_of_a_post_keeps_its_status(client: httpx.Client) -> None:
    assert client.post("/v1/check?only=answer.verdict", json={}).status_code == 422


def test_a_body_of_another_kind_keeps_its_own_words_in_the_query(client: httpx.Client) -> None:
    samples = "stress_mpa\n" + "\n".join(["0", "100", "0", "80", "0"])
    headers = {"Content-Type": "text/csv"}
    whole = client.post("/v1/spectrum/cycles", params={"residue": "half"}, content=samples, headers=headers)
    query = {"residue": "half", "only": "answer.total_count"}
    one = client.post("/v1/spectrum/cycles", params=query, content=samples, headers=headers)
    assert (whole.status_code, one.text) == (200, str(whole.json()["answer"]["total_count"]))


def test_the_clients_ask_for_one_value(base_url: str) -> None:
    async def awaited() -> str:
        async with AsyncClient(base_url) as client:
            return await client.value("check", CHECK, "answer.utilisation")

    with Client(base_url) as client:
        assert client.value("check", CHECK, "answer.utilisation") == asyncio.run(awaited())
        assert client.value("check", outside(), "answer.verdict").startswith("#OUTSIDE: ")
        assert client.value("check", outside(), "answer.verdict", accept_outside=True) == "undecided"
        with pytest.raises(ProblemError):
            client.value("check", CHECK, "answer.nothing")


# --- items of a batch


def line_of(client: httpx.Client, **more: Any) -> dict[str, Any]:
    item = {"id": 1, "calculation": "check", "input": CHECK, **more}
    found: dict[str, Any] = json.loads(client.post("/v1/batch", json=[item]).text)
    return found


def test_an_item_of_a_batch_has_one_value(client: httpx.Client) -> None:
    whole = client.post("/v1/check?only=answer.utilisation", json=CHECK)
    line = line_of(client, only="answer.utilisation")
    del line["item_digest"], line["version"], line["policy"], line["line_digest"]
    assert line == {
        "id": 1,
        "status": 200,
        "value": whole.text,
        "findings": whole.headers["x-toeline-findings"],
    }
    left = line_of(client, only="answer.utilisation", input=outside())
    assert left["value"].startswith("#OUTSIDE: ")
    assert float(line_of(client, only="answer.utilisation", input=outside(), accept_outside=True)["value"]) > 0.0


@pytest.mark.parametrize(
    ("more", "pointer"),
    [
        ({"only": "answer.nothing"}, "/only"),
        ({"only": None}, "/only"),
        ({"only": ["answer.verdict"]}, "/only"),
        ({"only": "answer.verdict", "accept_outside": "1"}, "/accept_outside"),
        ({"accept_outside": True}, "/accept_outside"),
    ],
)
def test_an_item_that_asks_for_no_value_is_refused(client: httpx.Client, more: dict[str, Any], pointer: str) -> None:
    line = line_of(client, **more)
    assert (line["status"], line["problem"]["errors"][0]["pointer"]) == (422, pointer)


def test_the_batch_of_a_client_has_values(base_url: str) -> None:
    items = [
        BatchItem(id=1, calculation="check", input=CHECK, only="answer.governing.line"),
        {"id": 2, "calculation": "check", "input": outside(), "only": "answer.verdict", "accept_outside": True},
        {"id": 3, "calculation": "check", "input": CHECK},
    ]
    with Client(base_url) as client:
        one, two, three = client.batch(items)
    assert (one.value, one.envelope, two.value) == (CHECK["lines"][0]["name"], None, "undecided")
    assert (three.value, three.envelope is None) == (None, False)
