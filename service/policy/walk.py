"""Walks the models of a request, with the path to each."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cache
from typing import Any, TypeVar, cast, get_args

from pydantic import BaseModel

from fatcore.errors import Step

Path = tuple[Step, ...]
M = TypeVar("M", bound=BaseModel)
Change = Callable[[BaseModel, Path], BaseModel]


def models_in(model: BaseModel, path: Path = ()) -> Iterator[tuple[Path, BaseModel]]:
    """The model itself and all that it holds at any depth."""
    yield path, model
    for name in holding_fields(type(model)):
        for where, each in _held(getattr(model, name), (*path, name)):
            yield from models_in(each, where)


def _held(value: Any, path: Path) -> Iterator[tuple[Path, BaseModel]]:
    if isinstance(value, BaseModel):
        yield path, value
    elif isinstance(value, list | dict):
        steps: Any = value.items() if isinstance(value, dict) else enumerate(value)
        for step, each in steps:
            yield from _held(each, (*path, step))


def with_parts(model: M, change: Change, path: Path = ()) -> M:
    """The same model with every part of it, from the innermost on, as a function of part and path leaves it."""
    parts = {name: getattr(model, name) for name in holding_fields(type(model))}
    changed = {name: _changed(value, change, (*path, name)) for name, value in parts.items()}
    update = {name: value for name, value in changed.items() if value is not parts[name]}
    return cast(M, change(_kept_set(model, update) if update else model, path))


def _kept_set(model: M, update: dict[str, Any]) -> M:
    """The model with other parts; a part that was left out still counts as left out."""
    copied = model.model_copy(update=update)
    copied.__pydantic_fields_set__.intersection_update(model.model_fields_set)
    return copied


def _changed(value: Any, change: Change, path: Path) -> Any:
    if isinstance(value, BaseModel):
        return with_parts(value, change, path)
    if not isinstance(value, list | dict):
        return value
    steps: Any = value.items() if isinstance(value, dict) else enumerate(value)
    found = {step: _changed(each, change, (*path, step)) for step, each in steps}
    if all(new is old for new, old in zip(found.values(), _entries(value), strict=True)):
        return value
    return found if isinstance(value, dict) else list(found.values())


def _entries(value: Any) -> Any:
    return value.values() if isinstance(value, dict) else value


@cache
def holding_fields(model: type[BaseModel]) -> tuple[str, ...]:
    """The fields that may hold models."""
    return tuple(name for name, info in model.model_fields.items() if models_of(info.annotation))


def models_of(annotation: Any) -> list[type[BaseModel]]:
    """The models within an annotation: of unions, lists, mappings."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [each for arg in get_args(annotation) if not isinstance(arg, str | int) for each in models_of(arg)]
