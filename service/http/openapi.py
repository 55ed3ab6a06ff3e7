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
    "description": "What was refused or went wrong, in the form of RFC 9457.",
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
# in the order of the job
TOPICS = {
    "stress": "from the stresses of a model to the one that counts: peak stress, energy density, structural stress",
    "check": "the whole check: weld lines and loading to one verdict",
    "curves": "design curves: catalogue, life, strength, corrections",
    "spectrum": "cycles of a history, damage sums, random stress",
    "cracks": "stress intensity, growth, fracture, inspection",
    "trials": "fatigue tests to lines and design curves, staircases, growth rates, crack lengths",
    "meta": "what answers rest on: sources, findings, verification; many requests at once",
}
INTRODUCTION = f"""\
Fatigue checks of welded joints: a request states the case in MPa, mm and cycles, with the unit in every name; the
answer holds the numbers (`answer`), what is doubtful about them (`findings`), what they rest on (`record`) and a
`caution`. With the extra `units` an input may bear the ending of another unit (`stress_range_ksi`), and `units` beside
the inputs of a POST, such as {{"stress": "ksi", "length": "in"}}, chooses those of the answer. What is refused comes as
`application/problem+json` with a JSON pointer to each input at fault. The first call, as a shell takes it, answers the
life of a weld at a stress range of 90 MPa:

    curl -s "http://127.0.0.1:8000/v1/curves/peak-stress-opening/life?stress_range_mpa=90"

The whole check is `POST /v1/check`; each calculation below has examples to start from. {CAUTION}
"""
# forms of a body and of an answer besides JSON
IN_QUERY = "the other inputs stand in the query, by their names in the JSON request"
FORMS = {
    "application/x-npy": f"an array in NPY format, its longer side the time, `columns` picks some; {IN_QUERY}",
    "text/csv": f"a line of names, then a row a sample; `columns` in the query picks some; {IN_QUERY}",
    "application/xml": f"a mesh with nodal stresses in VTU format; {IN_QUERY}",
    "text/xml": "as application/xml",
}
ANSWERS = {
    "text/csv": "the columns of the answer, with a line of names",
    "text/plain": "the one value that `only` names",
    "text/html": (
        "the report as one page that stands alone; for this form the body may have a member `baseline` beside those "
        "of the request: an older answer of this calculation, an older request, or an object of both (calculation, "
        "request, response); the page then says what changed since in input, rules and result"
    ),
}
# larger examples are replayed, but would make the pages slow
MAX_SHOWN_BYTES = 60_000
PROBLEM_STATUS = ("400", "401", "403", "406", "408", "413", "415", "422", "429", "503")
KEY = {"type": "apiKey", "in": "header", "name": "X-API-Key", "description": "asked for where the operator set keys"}
QUERY_KEY = {"type": "apiKey", "in": "query", "name": "key", "description": "for spreadsheet cells"}


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


ITEM_SCHEMA = {
    "type": "object",
    "required": ["id", "calculation", "input"],
    "additionalProperties": False,
    "properties": {
        "id": {
            "anyOf": [{"type": "string", "maxLength": 200}, {"type": "integer"}],
            "description": "repeated in the answer of the item",
        },
        "calculation": {"type": "string", "description": "name of the URL without /v1/, like stress/peak"},
        "input": {"type": "object", "description": "what the calculation takes alone, path parameters too"},
        "only": {"type": "string", "description": "dotted path of one value, like answer.utilisation"},
        "accept_outside": {"type": "boolean", "description": "with only: also where a validity limit is left"},
    },
}


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
    paths["/v1/batch"] = {"post": _batch()}
    return {
        "openapi": "3.1.0",
        "info": {"title": "toeline", "version": __version__, "description": INTRODUCTION},
        "tags": [{"name": name, "description": text} for name, text in TOPICS.items()],
        "paths": paths,
        "components": {
            "schemas": {**schemas.get("$defs", {}), "Problem": PROBLEM_SCHEMA},
            "securitySchemes": {"key": KEY},
        },
        "security": [{"key": []}, {}],
    }


def described(*, asks_key: bool, allow_query_key: bool) -> dict[str, Any]:
    """The document as a service of these settings sends it: whether each operation needs a key, and where it goes."""
    schemes = {"key": KEY, **({"query_key": QUERY_KEY} if allow_query_key else {})}
    needed: list[dict[str, list[str]]] = [{name: []} for name in schemes]
    components = {**description()["components"], "securitySchemes": schemes}
    return {**description(), "components": components, "security": needed if asks_key else [*needed, {}]}


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
        content.update({kind: {"schema": _text(FORMS[kind])} for kind in calculation.bodies})
        operation["requestBody"] = {"required": True, "content": content}
    else:
        operation["parameters"] = _parameters(calculation, calculation.request)
    operation.setdefault("parameters", []).extend(ONE_VALUE)
    return operation


def _batch() -> dict[str, Any]:
    """The operation of /v1/batch."""
    array = {"type": "array", "minItems": 1, "maxItems": batch.MAX_ITEMS, "items": ITEM_SCHEMA}
    text = (
        "Every item is answered by one line {id, status, item_digest, version, policy, envelope, line_digest}, or with "
        "problem in place of envelope, one with `only` by value and findings: the value as text and the codes of all "
        "findings; in the order of the items, as each is done. The first digest is of the item as it was sent, "
        "whatever the order of its keys, the last one of the line without it, as it is written, and `policy` is "
        "that of the company's own rules where some hold. A problem "
        "of one item does not touch the others; its pointers point into its input, or into the item itself "
        "where that is not {id, calculation, input}."
    )
    lines = {"type": "string", "description": "a JSON object a line"}
    done = {"description": "One line an item", "content": {batch.NDJSON: {"schema": lines}}}
    return {
        "tags": ["meta"],
        "summary": "Many calculations in one request",
        "description": text,
        "operationId": "post_batch",
        "requestBody": {
            "required": True,
            "content": {"application/json": {"schema": array}, batch.NDJSON: {"schema": lines}},
        },
        "responses": {"200": done, **_problem_responses(PROBLEM_STATUS)},
    }


def _shown(calculation: Calculation) -> dict[str, Any]:
    return {
        name.replace("/", "-"): {"summary": example["title"], "value": example["request"]}
        for name, example in examples().items()
        if example["calculation"] == calculation.name
        and example.get("method", "POST") == "POST"
        and len(json.dumps(example["request"])) <= MAX_SHOWN_BYTES
    }


def _responses(calculation: Calculation, answer: Mapping[str, Any]) -> dict[str, Any]:
    content: dict[str, Any] = {"application/json": {"schema": answer}}
    for kind, words in ANSWERS.items():
        if kind != "text/html" or calculation.name in RENDERERS:
            content[kind] = {"schema": _text(words)}
    status = (*PROBLEM_STATUS, "404") if "{" in calculation.path else PROBLEM_STATUS
    done = {"description": "The answer with its findings and record", "content": content}
    return {"200": done, **_problem_responses(status)}


def _text(words: str) -> dict[str, str]:
    return {"type": "string", "description": words}


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
