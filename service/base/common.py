"""What every topic file shares: strict models, the register of calculations, the reply of a calculation."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Any, Literal, get_args

from pydantic import BaseModel, ConfigDict, GetJsonSchemaHandler
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema

from fatcore import quantities
from fatcore.findings import Finding
from fatcore.outcome import Outcome, plain

MAX_POINTS = 1_000_000


class Strict(BaseModel):
    """Base of request and answer models: no unknown keys, no silent conversion, finite numbers only."""

    model_config = ConfigDict(strict=True, extra="forbid", allow_inf_nan=False, frozen=True)

    @classmethod
    def __get_pydantic_json_schema__(cls, core_schema: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        """The schema of the model; a property without a description of its own has that of the glossary."""
        schema = handler(core_schema)
        for name, content in handler.resolve_ref_schema(schema).get("properties", {}).items():
            if name in quantities.all_quantities():
                content.setdefault("description", quantities.quantity(name).described())
            if isinstance(content.get("default"), dict):  # generators of clients drop what has an object default
                del content["default"]
        return schema


@dataclass(frozen=True, slots=True, kw_only=True)
class Reply:
    """Answer of a calculation before the envelope: its model, and what it rests on."""

    answer: Strict
    findings: tuple[Finding, ...] = ()
    sources: tuple[str, ...] = ()
    tables: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Cost:
    """What a calculation is estimated to take before it runs.

    seconds : on one core of the machine that `python -m tests.benchmarks cost` was read off [s]
    pointer : input that most of it comes from; what: that input in words, with its size
    """

    seconds: float
    pointer: str
    what: str


Run = Callable[[Any], Reply]
BodyReader = Callable[[bytes, dict[str, str]], dict[str, Any]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Calculation:
    """One entry of the register: what HTTP, batch, command line and API pages need to know.

    name   : topic and case, like 'stress/peak'; may hold path parameters: 'curves/{curve}/life'
    bodies : readers of other media types, from body and query to the data of the request model
    csv    : answer -> columns by name, when the generic rule (all arrays of one length) does not fit
    cost   : request -> what it will take; None: as much as its size tells, a small one is answered at once
    """

    name: str
    method: Literal["GET", "POST"]
    request: type[Strict]
    answer: type[Strict]
    run: Run
    revision: int
    summary: str
    description: str = ""
    bodies: Mapping[str, BodyReader] = field(default_factory=dict)
    csv: Callable[[Any], Mapping[str, list[Any]]] | None = None
    cost: Callable[[Any], Cost] | None = None

    @property
    def topic(self) -> str:
        """First word of the name."""
        return self.name.partition("/")[0]

    @property
    def path(self) -> str:
        """URL path of the calculation."""
        return f"/v1/{self.name}"


_register: dict[tuple[str, str], Calculation] = {}


def calculations() -> dict[tuple[str, str], Calculation]:
    """Every registered calculation by method and name, in order of registration."""
    return dict(_register)


def post(name: str, request: type[Strict], answer: type[Strict], **details: Any) -> Callable[[Run], Run]:
    """Registers a function as POST /v1/<name>."""
    return _register_as("POST", name, request, answer, details)


def get(name: str, request: type[Strict], answer: type[Strict], **details: Any) -> Callable[[Run], Run]:
    """Registers a function as GET /v1/<name>; path and query parameters are the fields of the request."""
    return _register_as("GET", name, request, answer, details)


def _register_as(
    method: Literal["GET", "POST"], name: str, request: type[Strict], answer: type[Strict], details: Any
) -> Callable[[Run], Run]:
    def register(run: Run) -> Run:
        key = (method, name)
        if key in _register:
            raise RuntimeError(f"{method} {name} is registered twice")
        text = " ".join((run.__doc__ or "").split())
        _register[key] = Calculation(
            name=name, method=method, request=request, answer=answer, run=run, description=text, **details
        )
        return run

    return register


def reply(answer: type[Strict], outcome: Outcome, **values: Any) -> Reply:
    """Reply whose answer takes its fields from the keyword values, else from the outcome by name; so do its parts.

    Arrays become lists; positive infinity, which means infinite, becomes null.
    """
    return Reply(
        answer=answer.model_validate(_content(answer, outcome, values)),
        findings=outcome.findings,
        sources=outcome.sources,
        tables=outcome.tables,
    )


def _content(model: type[Strict], source: Any, values: Mapping[str, Any]) -> dict[str, Any]:
    """What the fields of the model are in the values, else in the source."""
    return {
        name: _plain(part, values[name] if name in values else getattr(source, name))
        for name, part in _parts(model).items()
        if name in values or hasattr(source, name)
    }


@cache
def _parts(model: type[Strict]) -> dict[str, type[Strict] | None]:
    """The model of each field that has one of its own."""
    kinds = {name: (info.annotation, *get_args(info.annotation)) for name, info in model.model_fields.items()}
    return {
        name: next((each for each in kind if isinstance(each, type) and issubclass(each, Strict)), None)
        for name, kind in kinds.items()
    }


def _plain(part: type[Strict] | None, value: Any) -> Any:
    """The value; a part that has a model of its own only with the fields of that model."""
    if part is not None and isinstance(value, tuple):
        return [_plain(part, each) for each in value]
    return _content(part, value, {}) if part is not None and dataclasses.is_dataclass(value) else plain(value)
