"""Every example of the API pages is replayed: exact structure, numbers to 1e-9 relative."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import httpx
import pytest

from service.base.envelope import evaluate
from service.topics.registry import load

FOLDER = Path(__file__).parents[2] / "openapi_examples"
EXAMPLES = sorted(path for path in FOLDER.glob("*/*.json") if path.parent.name != "data")


def same(expected: Any, actual: Any, where: str = "") -> None:
    """Fails at the first place where structure or value differs."""
    assert type(expected) is type(actual) or {type(expected), type(actual)} == {int, float}, where
    if isinstance(expected, dict):
        assert list(expected) == list(actual), where
        for key in expected:
            same(expected[key], actual[key], f"{where}/{key}")
    elif isinstance(expected, list):
        assert len(expected) == len(actual), where
        for index, (one, other) in enumerate(zip(expected, actual, strict=True)):
            same(one, other, f"{where}/{index}")
    elif isinstance(expected, float):
        assert math.isclose(expected, actual, rel_tol=1e-9, abs_tol=1e-12), f"{where}: {expected} {actual}"
    else:
        assert expected == actual, where


def ask(client: httpx.Client, example: dict[str, Any]) -> httpx.Response:
    if example.get("method", "POST") == "POST":
        return client.post(f"/v1/{example['calculation']}", json=example["request"])
    query = dict(example["request"])
    path = "/v1/" + example["calculation"]
    for name in list(query):
        if "{" + name + "}" in path:
            path = path.replace("{" + name + "}", query.pop(name))
    return client.get(path, params=query)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: f"{p.parent.name}/{p.stem}")
def test_example_gives_its_response(client: httpx.Client, path: Path) -> None:
    example = json.loads(path.read_text(encoding="utf-8"))
    answer = ask(client, example)
    assert answer.status_code == 200, answer.text
    same(example["response"], answer.json())
    method = example.get("method", "POST")
    again = evaluate(load()[method, example["calculation"]], example["request"], strings=method == "GET")
    assert again.content() == answer.content  # same request, same bytes
    assert again.envelope() == answer.json()  # what stands in them, to the last digit


def test_every_calculation_has_an_example() -> None:
    shown = {
        (example.get("method", "POST"), example["calculation"])
        for example in (json.loads(path.read_text(encoding="utf-8")) for path in EXAMPLES)
    }
    without = {
        key for key in load() if key[1] not in {"sources", "findings", "validation", "map-keys", "version"}
    } - shown
    assert not without


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: f"{p.parent.name}/{p.stem}")
def test_example_states_what_it_is(path: Path) -> None:
    example = json.loads(path.read_text(encoding="utf-8"))
    assert set(example) <= {"title", "source", "method", "calculation", "request", "response"}
    assert example["title"]
    assert example["source"]
    topic = example["calculation"].partition("/")[0]
    assert path.parent.name == topic
