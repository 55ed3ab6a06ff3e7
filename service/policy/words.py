"""The words that requests may choose between, by the names of their fields."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from functools import cache
from typing import Any, Literal, get_args, get_origin

from pydantic import BaseModel

from ..topics.curves.resistance import AnyCorrection
from ..topics.registry import load
from .walk import models_of

CORRECTION_KIND = "kind of a correction"


@cache
def words_of_requests() -> dict[str, set[str]]:
    """The words of every field of a request that has some; kinds of corrections have a name of their own."""
    found: dict[str, set[str]] = defaultdict(set)
    for model in models_of_requests():
        for name, info in model.model_fields.items():
            correction = name == "kind" and issubclass(model, AnyCorrection)
            words = words_in(info.annotation)
            if words:
                found[CORRECTION_KIND if correction else name] |= words
    return dict(found)


def models_of_requests() -> set[type[BaseModel]]:
    """All models that some part of a request may have."""
    return {each for calculation in load().values() for each in _all_models(calculation.request)}


def words_in(annotation: Any) -> set[str]:
    """The words that a field of this type may say."""
    return {word for word in _words(annotation) if isinstance(word, str)}


def _words(annotation: Any) -> Iterator[Any]:
    if get_origin(annotation) is Literal:
        yield from get_args(annotation)
        return
    for arg in get_args(annotation):
        if not isinstance(arg, str | int):
            yield from _words(arg)


def _all_models(model: type[BaseModel], seen: tuple[type[BaseModel], ...] = ()) -> Iterator[type[BaseModel]]:
    yield model
    for info in model.model_fields.values():
        for inner in models_of(info.annotation):
            if inner not in seen:
                yield from _all_models(inner, (*seen, inner))
