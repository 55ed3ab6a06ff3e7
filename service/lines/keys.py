"""The keys of a map: meaning, unit, kind and default of each, out of the models that validate it."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from fatcore import quantities
from fatcore.bounds import LARGEST, SMALLEST
from fatcore.figures import as_given

from ..topics.check.models import CheckRequest
from ..topics.check.settings import OWN
from .history_models import FileHistories
from .map import RequestMap

UNLESS_SKIPPED = "needed unless skip = true"
# of the request: what the map fills itself, and what a page of the API describes
LINES = "lines"
FILLED = ("loading.channels", "loading.stretches")
ELSEWHERE = {"growth": "a crack that starts at a line: as in the body of POST /v1/check"}
OWN_MEANINGS = {f"lines[].{name}": f"of these lines, in place of request.{name}; its keys as there" for name in OWN}
WITHIN_OWN = tuple(f"lines[].{name}." for name in OWN)
_BOUNDS = (
    ("minimum", "at least"),
    ("exclusiveMinimum", "above"),
    ("maximum", "up to"),
    ("exclusiveMaximum", "below"),
)
LARGE = 6  # keys: a larger part is listed once
_KINDS = {"number": "number", "integer": "whole number", "string": "text", "boolean": "true or false", "null": "none"}

Schema = Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class MapKey:
    """One key of a map.

    key     : its path; [] stands for every entry of a list, <name> for a name of the user
    kind    : what it takes, with bounds and choices
    default : what holds where it is left out, or that it is needed
    """

    key: str
    meaning: str
    unit: str
    kind: str
    default: str


def map_keys(model: type[RequestMap], needed: Sequence[str]) -> list[MapKey]:
    """Keys of a map but for those of its request; needed: those that a rule must have unless it skips its lines."""
    found = [row for row in _keys_of(model, "request") if not row.key.startswith(WITHIN_OWN)]
    found = [replace(row, meaning=OWN_MEANINGS.get(row.key, row.meaning)) for row in found]
    needing = {f"{LINES}[].{name}" for name in needed}
    return [replace(row, default=UNLESS_SKIPPED) if row.key in needing else row for row in found]


def request_keys() -> list[MapKey]:
    """Keys of the request in a map: those of a check without its lines, and of histories in files."""
    found = []
    for row in _keys_of(CheckRequest, LINES):
        if row.key.startswith(FILLED) or row.key.startswith(tuple(f"{name}." for name in ELSEWHERE)):
            continue
        meaning = ELSEWHERE.get(row.key, row.meaning).replace("as in curves", "as in request.curves")
        found.append(replace(row, key=f"request.{row.key}", meaning=meaning))
    return [*found, *(replace(row, key=f"request.loading.{row.key}") for row in _keys_of(FileHistories))]


def _keys_of(model: type[Any], without: str = "") -> list[MapKey]:
    schema = model.model_json_schema()
    schema["properties"].pop(without, None)
    found: dict[tuple[str, str], MapKey] = {}
    for row in _walk(schema, "", schema.get("$defs", {}), {}, {}):
        old = found.setdefault((row.key, row.meaning), row)  # several forms of a part may share a key
        if old is not row and row.kind not in old.kind.split(" | "):
            found[row.key, row.meaning] = replace(old, kind=f"{old.kind} | {row.kind}")
    return list(found.values())


def _walk(
    schema: Schema, prefix: str, parts: Schema, apart: Mapping[str, str], seen: dict[str, str]
) -> Iterator[MapKey]:
    """Keys of a model.

    apart : words for a key that only some forms of it have; seen: keys under which large parts were listed
    """
    meanings, needed = _meanings(schema), schema.get("required", [])
    for name, given in schema.get("properties", {}).items():
        key, inside = f"{prefix}{name}", list(_inside(given, parts))
        repeated = [seen[part["title"]] for _, part, _ in inside if part["title"] in seen]
        words = [apart.get(name, ""), meanings.get(name) or given.get("description", "")]
        words += [f"; its keys as in {repeated[0]}"] if repeated else []
        yield MapKey(
            key=key,
            meaning="".join(words),
            unit=_unit(name),
            kind=_kind(given, parts),
            default="needed" if name in needed else _default(given),
        )
        for end, inner, only in inside:
            if inner["title"] not in seen:
                yield from _walk(inner, f"{key}{end}.", parts, only, seen)
        for _, inner, _ in inside:
            if len(inner["properties"]) > LARGE:
                seen.setdefault(inner["title"], key)


def _meanings(schema: Schema) -> dict[str, str]:
    """What the words of a model say of its fields: `name : meaning`, several of them between semicolons."""
    names = "|".join(map(re.escape, schema.get("properties", {})))
    text = schema.get("description", "")
    found = list(re.finditer(rf"(?:^|;)[ \n]*((?:{names})(?:, (?:{names}))*)\s*: ", text, re.MULTILINE))
    ends = [*(match.start() for match in found[1:]), len(text)][: len(found)]
    return {
        name: " ".join(text[match.end() : end].split())
        for match, end in zip(found, ends, strict=True)
        for name in match[1].split(", ")
    }


def _unit(name: str) -> str:
    known = quantities.all_quantities()
    suffix = next((unit for end, unit in quantities.SUFFIX_UNITS.items() if name.endswith(end)), "")
    unit = known[name].unit if name in known else suffix
    return "" if unit == "-" else unit


def _forms(given: Schema, parts: Schema) -> list[Schema]:
    """The forms that a value may have, references and choices within choices followed."""
    if "$ref" in given:
        return _forms(parts[given["$ref"].rpartition("/")[2]], parts)
    several = given.get("anyOf") or given.get("oneOf")
    return [each for form in several for each in _forms(form, parts)] if several else [given]


def _inside(given: Schema, parts: Schema) -> Iterator[tuple[str, Schema, Mapping[str, str]]]:
    """Models within a value: what stands for an entry of a list or a name of the user, the model, and which of its
    keys other forms of the value have not."""
    forms = _forms(given, parts)
    models = [form for form in forms if "properties" in form]
    yield from (("", model, _apart(model, models)) for model in models)
    for form in forms:
        for end, held in (("[]", form.get("items")), (".<name>", form.get("additionalProperties"))):
            if isinstance(held, Mapping):
                yield from ((f"{end}{more}", inner, only) for more, inner, only in _inside(held, parts))


def _apart(model: Schema, models: Sequence[Schema]) -> dict[str, str]:
    """Keys that not every form has, with the words of a form: `kind = history: `."""
    told = [name for name in model["properties"] if all("const" in each["properties"].get(name, {}) for each in models)]
    if len(models) < 2 or not told:
        return {}
    found = {}
    for name in model["properties"]:
        having = [each["properties"][told[0]]["const"] for each in models if name in each["properties"]]
        if len(having) < len(models):
            found[name] = f"with {told[0]} = {' | '.join(having)}: "
    return found


def _kind(given: Schema, parts: Schema) -> str:
    return " | ".join(dict.fromkeys(_form(form, parts) for form in _forms(given, parts) if form.get("type") != "null"))


def _form(form: Schema, parts: Schema) -> str:
    if "const" in form or "enum" in form:
        return " | ".join(str(value) for value in form.get("enum", [form.get("const")]))
    if "properties" in form:
        return "table"
    if "items" in form:
        least, most = form.get("minItems"), form.get("maxItems")
        size = f"{least} " if least is not None and least == most else ""
        return f"list of {size}{_kind(form['items'], parts)}"
    if isinstance(form.get("additionalProperties"), Mapping):
        return f"table of {_kind(form['additionalProperties'], parts)} by name"
    bounds = [
        "above 0" if form[bound] == SMALLEST else f"{words} {as_given(form[bound])}"
        for bound, words in _BOUNDS
        if bound in form and abs(form[bound]) < LARGEST  # that of every number says nothing
    ]
    return " ".join([_KINDS.get(form.get("type", ""), "anything"), *([", ".join(bounds)] if bounds else [])])


def _default(given: Schema) -> str:
    value = given.get("default")
    if value is None or value in ("", [], {}):
        return "none"
    return str(value).lower() if isinstance(value, bool) else str(value)


def keys_text(keys: Sequence[MapKey]) -> str:
    """The keys for a terminal, two or three lines each."""
    return "\n".join(f"{row.key}: {_facts(row)}\n    {row.meaning}" for row in keys)


def keys_markdown(keys: Sequence[MapKey]) -> str:
    """The keys as rows of a table for a page."""
    rows = [[f"`{row.key}`", row.meaning, row.unit, row.kind, row.default] for row in keys]
    cells = [" | ".join(cell.replace("|", "\\|") for cell in row) for row in rows]
    head = "| key | meaning | unit | takes | left out |\n|---|---|---|---|---|"
    return "\n".join([head, *(f"| {row} |" for row in cells)])


def _facts(row: MapKey) -> str:
    default = row.default if row.default.startswith("needed") else f"default {row.default}"
    return f"{row.kind}{f' [{row.unit}]' if row.unit else ''}; {default}"
