"""Requests of the OpenAPI schema and mutated examples: an answer or a problem, never an error of our own."""

from __future__ import annotations

import copy
import json
import math
from functools import cache
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from service.base.common import Calculation
from service.base.envelope import evaluate
from service.base.problems import Problem
from service.http.openapi import description, examples
from service.topics.registry import load

pytestmark = pytest.mark.uncounted

NUMBERS = st.one_of(
    st.floats(-10.0, 200.0),
    st.sampled_from([0.0, 1.0, -1.0, 0.5, 1e-300, 1e-12, 1e12, 1e30, -1e30, 1e300, 135.0, 180.0]),
)
# copies: a list that was put into a request must not be the one that is put into it again
ODD = st.sampled_from([None, True, "12.5", "", -1.0, 0.0, 1e999, math.nan, 1e308, [], {}, [[]], 10**30]).map(
    copy.deepcopy
)
REGISTER = {f"{method} {name}": calculation for (method, name), calculation in load().items()}
POSTS = {key: calculation for key, calculation in REGISTER.items() if calculation.method == "POST"}
COMMON = {"max_examples": 25, "deadline": None, "suppress_health_check": list(HealthCheck)}


def answered(calculation: Calculation, data: Any, *, strings: bool = False) -> None:
    """Passes on an answer of finite numbers or on a problem below 500."""
    try:
        content = evaluate(calculation, data, strings=strings).content()
    except Problem as problem:
        status, body = problem.status, problem.body()
    else:
        status, body = (
            200,
            json.loads(content, parse_constant=lambda word: pytest.fail(f"{word} in an answer")),
        )
    assert 200 <= status < 500
    json.dumps(body, allow_nan=False)


@cache
def schemas() -> dict[str, Any]:
    found: dict[str, Any] = description()["components"]["schemas"]
    return found


def from_schema(schema: dict[str, Any], depth: int = 0) -> st.SearchStrategy[Any]:
    """A strategy for values of a JSON schema, as far as our models use it."""
    if "$ref" in schema:
        name = schema["$ref"].rpartition("/")[2]
        return st.deferred(lambda: from_schema(schemas()[name], depth + 1))
    if "const" in schema:
        return st.just(schema["const"])
    if "enum" in schema:
        return st.sampled_from(schema["enum"])
    for word in ("anyOf", "oneOf"):
        if word in schema:
            return st.one_of([from_schema(part, depth) for part in schema[word]])
    kind = schema.get("type")
    if kind == "object":
        return objects(schema, depth)
    if kind == "array":
        least = schema.get("minItems", 0)
        items = from_schema(schema.get("items", {"type": "number"}), depth + 1)
        return st.lists(items, min_size=least, max_size=max(least, min(schema.get("maxItems", 3), 3)))
    return scalars(schema, kind)


def objects(schema: dict[str, Any], depth: int) -> st.SearchStrategy[Any]:
    properties = schema.get("properties", {})
    required = set(schema.get("required", ()))
    extra = schema.get("additionalProperties")
    if not properties and isinstance(extra, dict):
        keys = st.sampled_from(["pull", "side", "vertical"])
        return st.dictionaries(keys, from_schema(extra, depth + 1), min_size=1, max_size=2)
    return st.fixed_dictionaries(
        {key: from_schema(part, depth + 1) for key, part in properties.items() if key in required},
        optional={key: from_schema(part, depth + 1) for key, part in properties.items() if key not in required},
    )


def scalars(schema: dict[str, Any], kind: str | None) -> st.SearchStrategy[Any]:
    if kind == "integer":
        return st.integers(int(schema.get("minimum", -3)), min(int(schema.get("maximum", 50)), 2000))
    if kind == "boolean":
        return st.booleans()
    if kind == "null":
        return st.none()
    if kind == "string":
        return st.sampled_from(["toe", "peak-stress-opening", "en-1993-1-9-2005-normal-71", "x"])
    low = schema.get("exclusiveMinimum", schema.get("minimum", -200.0))
    high = schema.get("exclusiveMaximum", schema.get("maximum", 200.0))
    inside = st.floats(max(float(low), -1e3), min(float(high), 1e3)) if low < high else st.just(float(low))
    return st.one_of(inside, NUMBERS)


@pytest.mark.parametrize("key", POSTS)
@given(data=st.data())
@settings(**COMMON)
def test_requests_of_the_schema(key: str, data: st.DataObject) -> None:
    calculation = POSTS[key]
    answered(calculation, data.draw(from_schema(schemas()[calculation.request.__name__])))


def places(value: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Paths of all parts, at most three entries of a list."""
    found = [path] if path else []
    items = (
        list(value.items())
        if isinstance(value, dict)
        else list(enumerate(value))[:3]
        if isinstance(value, list)
        else []
    )
    for step, inner in items:
        found += places(inner, (*path, step))
    return found


SMALL = {
    name: example
    for name, example in examples().items()
    if len(json.dumps(example["request"])) < 20_000 and example.get("method", "POST") == "POST"
}


@pytest.mark.parametrize("name", SMALL)
@given(data=st.data())
@settings(**COMMON)
def test_examples_with_parts_replaced_or_removed(name: str, data: st.DataObject) -> None:
    request = copy.deepcopy(SMALL[name]["request"])
    for _ in range(data.draw(st.integers(1, 3))):
        known = places(request)
        if not known:
            break
        path = data.draw(st.sampled_from(known))
        inner = request
        for step in path[:-1]:
            inner = inner[step]
        if data.draw(st.booleans()):
            del inner[path[-1]]
        else:
            inner[path[-1]] = data.draw(st.one_of(NUMBERS, ODD))
    answered(load()["POST", SMALL[name]["calculation"]], request)


TEXTS = st.one_of(
    st.sampled_from(["", "1", "-1", "nan", "inf", "1e999", "0", "135", "true", "peak-stress-opening", "x" * 300]),
    st.floats(0.0, 1e9).map(repr),
)


@pytest.mark.parametrize("key", [key for key in REGISTER if key.startswith("GET")])
@given(data=st.data())
@settings(**COMMON)
def test_queries(key: str, data: st.DataObject) -> None:
    calculation = REGISTER[key]
    names = list(calculation.request.model_fields)
    query = data.draw(st.dictionaries(st.sampled_from([*names, "odd"]), TEXTS, max_size=4))
    answered(calculation, query, strings=True)
