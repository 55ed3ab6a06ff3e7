"""What a model allows where a key is unknown or its kind is not said: the nearest name, and all names."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from typing import Any, Literal, get_args, get_origin

from pydantic import BaseModel

from fatcore.errors import nearest

MAX_NAMES = 40

Models = dict[str, type[BaseModel]]


def unknown_key_message(
    model: type[BaseModel], location: Sequence[str | int], *, listed: bool, elsewhere: Collection[str] = ()
) -> str:
    """The message for an unknown key at the location of a validation error of the model.

    location  : steps from the request to the key, with the names of union branches among them
    listed    : whether the names that are allowed there follow, which need be said once of a place
    elsewhere : names of the model that are given in another place
    """
    allowed = sorted({name for one in _at(model, location[:-1]).values() for name in one.model_fields} - {*elsewhere})
    near = nearest(str(location[-1]), allowed, 1)
    meant = f", did you mean {near[0]!r}?" if near else "." if listed else ""
    if not listed:
        return f"unknown key{meant}"
    more = " ..." if len(allowed) > MAX_NAMES else ""
    return f"unknown key{meant} Allowed: {', '.join(allowed[:MAX_NAMES])}{more}"


def tag_needed_message(model: type[BaseModel], location: Sequence[str | int], tag: str) -> str:
    """The message for a missing key that says which of several models stands at the location."""
    inside = _at(model, location).values()
    words = [word for one in inside if tag in one.model_fields for word in get_args(one.model_fields[tag].annotation)]
    return f"is needed: one of {', '.join(dict.fromkeys(words))}"


def _at(model: type[BaseModel], location: Sequence[str | int]) -> Models:
    """The models that may stand at a location; a step that is no field is an index, a key or a branch."""
    here: Models = {model.__name__: model}
    for step in location:
        inner = _inside(one.model_fields[step].annotation for one in here.values() if step in one.model_fields)
        branch = {name: one for name, one in here.items() if _is_branch(one, step)}
        here = inner or branch or here
    return here


def _inside(annotations: Iterable[Any]) -> Models:
    """The models within annotations: of unions, lists, mappings."""
    found: Models = {}
    for annotation in annotations:
        if isinstance(annotation, type) and issubclass(annotation, BaseModel):
            found[annotation.__name__] = annotation
        else:
            found |= _inside(arg for arg in get_args(annotation) if not isinstance(arg, str | int))
    return found


def _is_branch(model: type[BaseModel], step: str | int) -> bool:
    tags = [field.annotation for field in model.model_fields.values()]
    return step == model.__name__ or any(get_origin(tag) is Literal and step in get_args(tag) for tag in tags)
