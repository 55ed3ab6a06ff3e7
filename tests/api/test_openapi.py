"""The OpenAPI document by the rules of OpenAPI 3.1 and JSON Schema 2020-12, without trusting its maker."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from typing import Any, get_args

import pytest
from pydantic import BaseModel

from service.base.problems import TITLES
from service.http.openapi import description
from service.topics.registry import load

load()
DOCUMENT = description()
SCHEMAS: dict[str, Any] = DOCUMENT["components"]["schemas"]
OPERATIONS = {
    f"{method.upper()} {path}": operation
    for path, item in DOCUMENT["paths"].items()
    for method, operation in item.items()
}
# keywords of JSON Schema 2020-12 that we use, and the one of OpenAPI 3.1 (discriminator)
KEYWORDS = {
    "$ref", "additionalProperties", "anyOf", "const", "default", "description", "discriminator", "enum",
    "exclusiveMaximum", "exclusiveMinimum", "items", "maxItems", "maxLength", "maximum", "minItems",
    "minLength", "minimum", "oneOf", "pattern", "properties", "required", "title", "type",
    "maxProperties", "minProperties", "propertyNames", "prefixItems",
}  # fmt: skip
TYPES = {"array", "boolean", "integer", "null", "number", "object", "string"}


def parts(value: Any) -> Iterator[Any]:
    yield value
    inner = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    for part in inner:
        yield from parts(part)


def subschemas(schema: Any) -> Iterator[dict[str, Any]]:
    """A schema and every schema inside it, by the meaning of the keywords."""
    if isinstance(schema, bool):
        return
    yield schema
    for word in ("properties",):
        for inner in schema.get(word, {}).values():
            yield from subschemas(inner)
    for word in ("anyOf", "oneOf", "prefixItems"):
        for inner in schema.get(word, ()):
            yield from subschemas(inner)
    for word in ("items", "additionalProperties", "propertyNames"):
        if word in schema:
            yield from subschemas(schema[word])


def models_of(kind: Any, seen: set[type[BaseModel]]) -> set[type[BaseModel]]:
    """Every model that a type leads to."""
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        if kind in seen:
            return seen
        seen.add(kind)
        for field in kind.model_fields.values():
            models_of(field.annotation, seen)
    for inner in get_args(kind):
        models_of(inner, seen)
    return seen


def test_model_names_are_unique() -> None:
    """Two models of one name would get long names in the document, and generated clients odd classes."""
    seen: set[type[BaseModel]] = set()
    for calculation in load().values():
        models_of(calculation.request, seen)
        models_of(calculation.answer, seen)
    twice = {name: count for name, count in Counter(model.__name__ for model in seen).items() if count > 1}
    assert twice == {}
    assert [name for name in SCHEMAS if not re.fullmatch(r"[A-Za-z][A-Za-z0-9]*(_[A-Za-z0-9]+)*", name)] == []
    assert [name for name in SCHEMAS if "__" in name] == []


def test_every_reference_resolves() -> None:
    references = {
        part["$ref"] for part in parts(DOCUMENT) if isinstance(part, dict) and isinstance(part.get("$ref"), str)
    }
    assert len(references) > 50
    assert {ref for ref in references if ref.removeprefix("#/components/schemas/") not in SCHEMAS} == set()
    mapped = [
        target
        for part in parts(DOCUMENT)
        if isinstance(part, dict) and isinstance(part.get("discriminator"), dict)
        for target in part["discriminator"].get("mapping", {}).values()
    ]
    assert mapped
    assert {ref for ref in mapped if ref.removeprefix("#/components/schemas/") not in SCHEMAS} == set()


def test_every_schema_is_in_use() -> None:
    used = {
        part["$ref"].removeprefix("#/components/schemas/")
        for part in parts(DOCUMENT)
        if isinstance(part, dict) and isinstance(part.get("$ref"), str)
    }
    assert set(SCHEMAS) - used == set()


def test_operation_ids_are_unique_words() -> None:
    ids = [operation["operationId"] for operation in OPERATIONS.values()]
    assert len(ids) == len(set(ids)) > 20
    assert [name for name in ids if not re.fullmatch(r"[a-z][a-z0-9_]*", name)] == []


@pytest.mark.parametrize("name", SCHEMAS)
def test_schemas_use_known_keywords_rightly(name: str) -> None:
    for schema in subschemas(SCHEMAS[name]):
        assert set(schema) <= KEYWORDS
        assert "nullable" not in schema  # of OpenAPI 3.0
        assert schema.get("type", "null") in TYPES
        for limit in ("minimum", "maximum", "exclusiveMinimum", "exclusiveMaximum"):
            assert not isinstance(schema.get(limit, 0.0), bool)  # as in OpenAPI 3.0
        assert set(schema.get("required", ())) <= set(schema.get("properties", {}))
        if "pattern" in schema:
            re.compile(schema["pattern"])


@pytest.mark.parametrize("key", OPERATIONS)
def test_operation_is_whole(key: str) -> None:
    operation, path = OPERATIONS[key], key.partition(" ")[2]
    assert {"tags", "summary", "description", "operationId", "responses"} <= set(operation)
    assert set(operation["tags"]) <= {tag["name"] for tag in DOCUMENT["tags"]}
    in_path = {given["name"] for given in operation.get("parameters", ()) if given["in"] == "path"}
    assert in_path == set(re.findall(r"{(\w+)}", path))
    names = [(given["in"], given["name"]) for given in operation.get("parameters", ())]
    assert len(names) == len(set(names))
    assert all(given["required"] for given in operation.get("parameters", ()) if given["in"] == "path")
    assert ("requestBody" in operation) == key.startswith("POST")
    assert {code for code in operation["responses"] if code != "200"} <= {str(code) for code in TITLES}
    for code, answer in operation["responses"].items():
        assert answer["description"]
        assert ("application/problem+json" in answer.get("content", {})) == (code != "200")


def test_parts_that_openapi_asks_for() -> None:
    assert re.fullmatch(r"3\.1\.\d+", DOCUMENT["openapi"])
    assert {"title", "version"} <= set(DOCUMENT["info"])
    assert DOCUMENT.get("jsonSchemaDialect", "https://spec.openapis.org/oas/3.1/dialect/base").startswith("https://")
    assert all(path.startswith("/") for path in DOCUMENT["paths"])


def properties(schema: Any, where: str) -> Iterator[tuple[str, Any]]:
    """Every property of a schema and of all that it holds, with the way to it."""
    if isinstance(schema, list):
        schema = dict(enumerate(schema))
    if not isinstance(schema, dict):
        return
    held = schema.get("properties")
    if isinstance(held, dict) and "type" in schema:
        yield from ((f"{where}/{name}", content) for name, content in held.items())
    for key, content in schema.items():
        yield from properties(content, f"{where}/{key}")


def test_every_property_and_every_parameter_is_described() -> None:
    found = dict(properties(DOCUMENT, ""))
    assert len(found) > 900
    assert [name for name, content in found.items() if not content.get("description")] == []
    for name, operation in OPERATIONS.items():
        assert all(parameter["description"] for parameter in operation.get("parameters", ())), name


def reached(schema: Any, where: str, inside: frozenset[str] = frozenset()) -> Iterator[tuple[str, Any]]:
    """Every field that a request or an answer can have, with the way to it; models within themselves once."""
    name = schema.get("$ref", "").removeprefix("#/components/schemas/")
    if name:
        yield from () if name in inside else reached(SCHEMAS[name], where, inside | {name})
    for field, content in schema.get("properties", {}).items():
        yield f"{where}/{field}", content
        yield from reached(content, f"{where}/{field}", inside)
    below = [*schema.get("anyOf", ()), *schema.get("oneOf", ()), *schema.get("prefixItems", ())]
    below += [each for word in ("items", "additionalProperties") if isinstance(each := schema.get(word), dict)]
    for each in below:
        yield from reached(each, where, inside)


@pytest.mark.parametrize("key", OPERATIONS)
def test_every_field_of_requests_and_answers_says_more_than_its_name(key: str) -> None:
    operation = OPERATIONS[key]
    bodies = dict(operation.get("requestBody", {}).get("content", {}))
    bodies |= {
        f"{code} {kind}": held
        for code, each in operation["responses"].items()
        for kind, held in each["content"].items()
    }
    fields = [(f"?{each['name']}", each) for each in operation.get("parameters", ())]
    for kind, held in bodies.items():
        schema = held["schema"]
        whole = SCHEMAS[schema["$ref"].rpartition("/")[2]] if "$ref" in schema else schema
        assert whole.get("description") or whole["type"] == "array", kind
        fields += reached(schema, kind)
    assert len(fields) > 3
    for where, content in fields:
        words = content.get("description", "")
        assert len(words) > 5, where
        assert words != where.rpartition("/")[2].replace("_", " "), where
