"""The OpenAPI description, built from the register: models, examples, every problem shape."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any

from pydantic.json_schema import models_json_schema

from fatcore import __version__

from ..base import problems
from ..base.common import Calculation, Strict, calculations
from ..base.envelope import CAUTION, envelope_model
from ..base.example_files import example_folder
from ..base.problems import Problem
from ..report.renderers import RENDERERS
from . import batch

PROBLEM_SCHEMA = {
    "type": "object",
    "required": ["type", "title", "status", "detail", "errors"],
    "properties": {
        "type": {"type": "string", "description": "kind of the problem, about:blank where it has none"},
        "title": {"type": "string", "description": "what the status or the type means"},
        "status": {"type": "integer", "description": "HTTP status"},
        "detail": {"type": "string", "description": "what was wrong, in one sentence"},
        "errors": {
            "type": "array",
            "description": "every part of the request that was refused",
            "items": {
                "type": "object",
                "required": ["pointer", "message"],
                "properties": {
                    "pointer": {"type": "string", "description": "JSON pointer into the request"},
                    "message": {"type": "string", "description": "what is wrong there"},
                },
            },
        },
    },
}
TOPICS = {
    "stress": "peak stresses, energy density, structural stress, interaction",
    "curves": "design curves: catalogue, life, strength",
    "spectrum": "cycles, damage sums, random stress",
    "cracks": "stress intensity, growth, fracture, inspection",
    "check": "the complete check: weld lines to one verdict",
    "meta": "sources, validation, batch",
}
# larger examples are replayed, but would make the pages slow
MAX_SHOWN_BYTES = 60_000
PROBLEM_STATUS = ("400", "401", "406", "408", "413", "415", "422", "503")


ONE_VALUE = (
    {
        "name": "only",
        "in": "query",
        "required": False,
        "description": "dotted path of one value, answered as bare text, like answer.life_cycles",
        "schema": {"type": "string"},
    },
    {
        "name": "accept_outside",
        "in": "query",
        "required": False,
        "description": "1: `only` gives the value also where a validity limit is left, not #OUTSIDE and the code",
        "schema": {"type": "string", "enum": ["1"]},
    },
)


@cache
def examples() -> dict[str, dict[str, Any]]:
    """Every example by '<topic>/<case>'; empty where they were not installed."""
    try:
        found = sorted(example_folder().glob("*/*.json"))
    except Problem:
        return {}
    return {f"{p.parent.name}/{p.stem}": json.loads(p.read_bytes()) for p in found if p.parent.name != "data"}


@cache
def description() -> dict[str, Any]:
    """The whole OpenAPI 3.1 document."""
    register = calculations().values()
    envelopes = {(c.method, c.name): envelope_model(c) for c in register}
    # the request of a GET is described as parameters
    models = [(c.request, "validation") for c in register if c.method == "POST"]
    models += [(envelope, "validation") for envelope in envelopes.values()]
    names, schemas = models_json_schema(models, ref_template="#/components/schemas/{model}")  # type: ignore[arg-type]
    paths: dict[str, dict[str, Any]] = {}
    for calculation in register:
        answer = names[envelopes[calculation.method, calculation.name], "validation"]
        operation = _operation(calculation, names.get((calculation.request, "validation"), {}), answer)
        paths.setdefault(calculation.path, {})[calculation.method.lower()] = operation
    paths["/v1/batch"] = {"post": batch.operation(_problem_responses(PROBLEM_STATUS))}
    return {
        "openapi": "3.1.0",
        "info": {"title": "toeline", "version": __version__, "description": CAUTION},
        "tags": [{"name": name, "description": text} for name, text in TOPICS.items()],
        "paths": paths,
        "components": {
            "schemas": {**schemas.get("$defs", {}), "Problem": PROBLEM_SCHEMA},
            "securitySchemes": {"key": {"type": "apiKey", "in": "header", "name": "X-API-Key"}},
        },
    }


def _operation(calculation: Calculation, asked: Mapping[str, Any], answer: Mapping[str, Any]) -> dict[str, Any]:
    operation: dict[str, Any] = {
        "tags": [calculation.topic if calculation.topic in TOPICS else "meta"],
        "summary": calculation.summary,
        "description": calculation.description,
        "operationId": re.sub(r"\W+", "_", f"{calculation.method.lower()}_{calculation.name}").strip("_"),
        "responses": _responses(calculation, answer),
    }
    if calculation.method == "POST":
        content: dict[str, Any] = {"application/json": {"schema": asked, "examples": _shown(calculation)}}
        content.update({kind: {"schema": {"type": "string"}} for kind in calculation.bodies})
        operation["requestBody"] = {"required": True, "content": content}
    else:
        operation["parameters"] = _parameters(calculation, calculation.request)
    operation.setdefault("parameters", []).extend(ONE_VALUE)
    return operation


def _shown(calculation: Calculation) -> dict[str, Any]:
    return {
        name.replace("/", "-"): {"summary": example["title"], "value": example["request"]}
        for name, example in examples().items()
        if example["calculation"] == calculation.name
        and example.get("method", "POST") == "POST"
        and len(json.dumps(example["request"])) <= MAX_SHOWN_BYTES
    }


SINCE = (
    "One page. For this form the body may have a member `baseline` beside those of the request: an older answer of "
    "this calculation, an older request, or an object of both (calculation, request, response); the page then says "
    "what changed since in input, rules and result."
)


def _responses(calculation: Calculation, answer: Mapping[str, Any]) -> dict[str, Any]:
    content: dict[str, Any] = {"application/json": {"schema": answer}}
    content["text/csv"] = {"schema": {"type": "string"}}
    content["text/plain"] = {"schema": {"type": "string"}}
    if calculation.name in RENDERERS:
        content["text/html"] = {"schema": {"type": "string", "description": SINCE}}
    status = (*PROBLEM_STATUS, "404") if "{" in calculation.path else PROBLEM_STATUS
    done = {"description": "The answer with its findings and record", "content": content}
    return {"200": done, **_problem_responses(status)}


def _problem_responses(status: Sequence[str]) -> dict[str, Any]:
    problem = {problems.MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}}
    return {code: {"description": problems.TITLES[int(code)], "content": problem} for code in status}


def _parameters(calculation: Calculation, model: type[Strict]) -> list[dict[str, Any]]:
    schema = model.model_json_schema()
    required = set(schema.get("required", ()))
    listed = []
    for name, content in schema.get("properties", {}).items():
        in_path = "{" + name + "}" in calculation.path
        text = content.pop("description", "")
        where = {"name": name, "in": "path" if in_path else "query", "required": in_path or name in required}
        listed.append({**where, "description": text, "schema": content})
    return listed
