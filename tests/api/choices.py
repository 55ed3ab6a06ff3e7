"""Walks the choices (Literal fields) of requests: where they stand in the models and in requests.

A test file `test_choices_<topic>.py` may hold `REQUESTS`, a list of (method, calculation, request): requests
that reach a choice which no example reaches. `test_every_choice.py` counts them beside the examples.
"""

from __future__ import annotations

import copy
import json
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any, Literal, get_args, get_origin

from pydantic import BaseModel, ValidationError

from fatcore.errors import FatcoreError
from service.base.common import Calculation
from service.topics.registry import load

FOLDER = Path(__file__).parents[2] / "openapi_examples"
Key = tuple[str, str]
Place = tuple[str | int, ...]
Word = str | int
Choice = tuple[str, str, Word]  # model, field, value


def words(annotation: Any) -> list[Word]:
    """The words of a choice, or none: a single word is only the tag of a variant."""
    if get_origin(annotation) is Literal:
        found = list(get_args(annotation))
        return found if len(found) > 1 else []
    parts = get_args(annotation)
    return [word for part in (parts[1:] if get_origin(annotation) is dict else parts) for word in words(part)]


def models(annotation: Any) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for part in get_args(annotation):
        yield from models(part)


@cache
def choices_of(request: type[BaseModel]) -> frozenset[Choice]:
    """Every word of every choice that a request can hold, at any depth."""
    found: set[Choice] = set()
    left, seen = [request], set()
    while left:
        model = left.pop()
        if model in seen:
            continue
        seen.add(model)
        for name, field in model.model_fields.items():
            found |= {(model.__name__, name, word) for word in words(field.annotation)}
            left += list(models(field.annotation))
    return frozenset(found)


@cache
def examples() -> tuple[tuple[Key, dict[str, Any]], ...]:
    found = []
    for path in sorted(FOLDER.glob("*/*.json")):
        if path.parent.name != "data":
            each = json.loads(path.read_text(encoding="utf-8"))
            found.append(((each.get("method", "POST"), each["calculation"]), each["request"]))
    return tuple(found)


def places(held: Any, at: Place = ()) -> Iterator[tuple[Place, str, str, list[Word]]]:
    """Place, model, field and words of every choice in a validated request."""
    if isinstance(held, BaseModel):
        for name, field in type(held).model_fields.items():
            if found := words(field.annotation):
                yield (*at, name), type(held).__name__, name, found
            yield from places(getattr(held, name), (*at, name))
    elif isinstance(held, list | dict):
        pairs = enumerate(held) if isinstance(held, list) else held.items()
        for key, value in pairs:
            yield from places(value, (*at, key))


def replaced(request: dict[str, Any], at: Place, word: Word) -> dict[str, Any]:
    """The request with another word at a place; a list of words becomes that word alone."""
    new = copy.deepcopy(request)
    owner: Any = new
    for key in at[:-1]:
        if isinstance(owner, dict) and owner.get(key) is None:
            owner[key] = {}
        owner = owner[key]
    owner[at[-1]] = [word] if isinstance(owner.get(at[-1]), list) else word
    return new


def validated(calculation: Calculation, request: dict[str, Any]) -> BaseModel:
    """The request model: of a body strictly, of a query from its texts."""
    if calculation.method == "GET":
        return calculation.request.model_validate(request, strict=False)
    return calculation.request.model_validate_json(json.dumps(request))


def run(method: str, name: str, request: dict[str, Any]) -> dict[str, Any]:
    """The answer of a calculation, without the envelope."""
    calculation = load()[method, name]
    return calculation.run(validated(calculation, request)).answer.model_dump()


def answer(calculation: Calculation, request: dict[str, Any]) -> str | None:
    """The numbers and the codes of the findings as text, or None when the request is refused."""
    return answer_to((calculation.method, calculation.name), json.dumps(request))


@cache
def answer_to(key: Key, text: str) -> str | None:
    """The answer to the text of a request, which is asked for once for every choice in it."""
    calculation = load()[key]
    try:
        reply = calculation.run(validated(calculation, json.loads(text)))
    except (ValidationError, FatcoreError):
        return None
    return repr(reply.answer.model_dump()) + repr([each.code for each in reply.findings])


def dispatched(key: Key, requests: Iterable[dict[str, Any]], known: Mapping[Choice, str]) -> dict[Choice, str]:
    """'differs', 'same' or 'refused' for the choices that the requests reach, one changed at a time.

    A word differs when its answer is not that of another word at the same place in the same request.
    """
    calculation, found = load()[key], dict(known)
    for request in requests:
        held, before = validated(calculation, request), answer(calculation, request)
        assert before is not None, key
        for at, model, name, options in places(held):
            now = word_at(held, at)
            for word in options:
                pair = [(model, name, each) for each in (word, now) if each is not None]
                if word == now or all(found.get(each) == "differs" for each in pair):
                    continue
                after = answer(calculation, replaced(request, at, word))
                state = "refused" if after is None else "same" if after == before else "differs"
                for each in pair if state == "differs" else pair[:1]:
                    if found.get(each) != "differs":
                        found[each] = state
    return found


def told_apart(key: Key, requests: Sequence[dict[str, Any]]) -> set[Choice]:
    """Choices of requests that are alike but for the object that holds the choice, and answered unlike."""
    calculation, groups = load()[key], defaultdict(dict)
    for request in requests:
        held = validated(calculation, request)
        for at, model, name, _ in places(held):
            now = word_at(held, at)
            if now is not None:
                rest = json.dumps(without(request, at[:-1]), sort_keys=True)
                groups[at, name, rest][model, name, now] = answer(calculation, request)
    return {choice for group in groups.values() if len(set(group.values())) > 1 for choice in group}


def without(request: dict[str, Any], at: Place) -> dict[str, Any]:
    new = copy.deepcopy(request)
    owner: Any = new
    for key in at[:-1]:
        owner = owner.get(key, {}) if isinstance(owner, dict) else owner[key]
    if at:
        owner[at[-1]] = None
    return new


def word_at(held: Any, at: Place) -> Word | None:
    for key in at:
        held = getattr(held, key) if isinstance(held, BaseModel) else held[key]
    return held if isinstance(held, str | int) else None
