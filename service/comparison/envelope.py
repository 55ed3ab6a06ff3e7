"""Envelopes of answers as they are read from files: of this version or another one, perhaps edited."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Annotated, Any, Literal, TypeVar

from pydantic import BaseModel, ConfigDict, Field, JsonValue, ValidationError

from ..base.problems import Problem, from_validation, pointer

DEEPEST = 60  # levels: twice as many as any answer or request has
Steps = tuple[str | int, ...]
T = TypeVar("T", bound=BaseModel)


class Lenient(BaseModel):
    """What is read of an older answer; what else another version put there is left alone."""

    model_config = ConfigDict(strict=True, extra="ignore", allow_inf_nan=False, frozen=True)


class OlderFinding(Lenient):
    """A finding: its code, what it says and its limits."""

    code: str
    severity: Literal["outside", "caution", "note"]
    line: str | None
    message: str = ""
    value: float | None = None
    low: float | None = None
    high: float | None = None
    count: int = 1


class OlderPolicy(Lenient):
    """The rules of a company that an older answer obeyed."""

    name: str
    version: str
    digest: str


class OlderSource(Lenient):
    """A publication that an older answer rests on."""

    key: str
    status: str


class OlderRecord(Lenient):
    """What the older answer rests on."""

    calculation: str
    revision: int
    version: str
    input_digest: str
    tables: dict[str, str]
    policy: OlderPolicy | None = None
    sources: list[OlderSource] = Field(default_factory=list)


class OlderEnvelope(Lenient):
    """An answer as `toeline check --json` writes it, of this version or another one."""

    answer: dict[str, JsonValue]
    findings: list[OlderFinding]
    record: OlderRecord
    caution: Annotated[str, Field(min_length=1)] | None = None


def read_as(model: type[T], data: Any, within: str = "") -> T:
    """The data as a model has them.

    within : pointer to the data, which those of a refusal begin with
    Raises : Problem where they have another shape
    """
    try:
        return model.model_validate(data)
    except ValidationError as error:
        problem = from_validation(error, data, model)
        raise Problem(422, problem.detail, [(within + where, text) for where, text in problem.errors]) from error


def read_envelope(data: Any, within: str = "") -> OlderEnvelope:
    """The envelope of an answer of any version; Problem for what no version has answered."""
    guard_plain(data, within)
    return read_as(OlderEnvelope, data, within)


def is_finite(value: float) -> bool:
    """Whether a number is one that a calculation can give.

    >>> is_finite(5), is_finite(1e999), is_finite(10**400)
    (True, False, False)
    """
    try:
        return math.isfinite(value)
    except OverflowError:  # a whole number of more digits than any number has
        return False


def guard_plain(data: Any, within: str = "") -> None:
    """Refuses numbers that are not finite, which equal nothing, and more levels than an answer has."""
    left: list[tuple[Steps, Any]] = [((), [data])]
    while left:
        steps, part = left.pop()
        if len(steps) > DEEPEST:
            raise Problem(422, "nested too deeply", [(within + pointer(steps[1:]), "nested too deeply")])
        for step, value in _members(part):
            if isinstance(value, dict | list):
                left.append(((*steps, step), value))
            elif isinstance(value, int | float) and not is_finite(value):
                where = within + pointer((*steps, step)[1:])
                raise Problem(422, "a number is not finite", [(where, "must be a finite number")])


def _members(part: Any) -> Iterable[tuple[str | int, Any]]:
    return part.items() if isinstance(part, dict) else enumerate(part)
