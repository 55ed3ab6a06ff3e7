"""An answer in the units that its request asks for: their endings stand in its keys."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, get_args, get_origin

from pydantic import BaseModel

from fatcore.errors import InputError

from .kinds import Unit, kind_of
from .request import WISH, alternatives, holding

Wish = Mapping[str, Unit]


def in_units(model: type[BaseModel], answer: Mapping[str, Any], wish: Wish) -> dict[str, Any]:
    """The answer with the keys and numbers of every quantity that has a unit in the wish.

    Raises : InputError for the stress of a curve of energy density, which is none
    """
    if "stress" in wish and answer.get("quantity", "stress range") != "stress range":
        raise InputError("this curve is one of energy density: no unit of stress fits it", WISH, "stress")
    return _of_models([model], answer, wish)


def renamed(name: str, wish: Wish) -> str:
    """A key with the ending of the unit that is asked for."""
    kind = kind_of(name)
    if kind is None or kind.name not in wish:
        return name
    return f"{name.removesuffix(kind.ending)}_{wish[kind.name].ending}"


def columns_in_units(columns: Mapping[str, list[Any]], wish: Wish) -> dict[str, list[Any]]:
    """Columns of a table, by their names."""
    return {renamed(name, wish): _value(name, values, wish) for name, values in columns.items()}


def _value(name: str, value: Any, wish: Wish) -> Any:
    kind = kind_of(name)
    return value if kind is None or kind.name not in wish else _numbers(value, wish[kind.name])


def _of_models(models: list[type[BaseModel]], data: Mapping[str, Any], wish: Wish) -> dict[str, Any]:
    fitting = [each for each in models if data.keys() <= each.model_fields.keys()]
    assert fitting, "an answer is of its models"
    fields = {name: each.model_fields[name].annotation for each in fitting for name in holding(each)}
    found = {}
    for name, value in data.items():
        inner = _value(name, value, wish)
        inside = name in fields and inner is value
        found[renamed(name, wish)] = _of_type(fields[name], value, wish) if inside else inner
    return found


def _of_type(annotation: Any, value: Any, wish: Wish) -> Any:
    """What stands in a field that is no quantity itself; names of a mapping are the caller's and stay."""
    kinds = alternatives(annotation)
    if isinstance(value, Mapping):
        models = [each for each in kinds if isinstance(each, type) and issubclass(each, BaseModel)]
        if models:
            return _of_models(models, value, wish)
        inner = next(get_args(each)[1] for each in kinds if get_origin(each) is dict)
        return {key: _of_type(inner, each, wish) for key, each in value.items()}
    if isinstance(value, list) and value and isinstance(value[0], Mapping | list):
        inner = next(get_args(each)[0] for each in kinds if get_origin(each) is list)
        return [_of_type(inner, each, wish) for each in value]
    return value


def _numbers(value: Any, unit: Unit) -> Any:
    if isinstance(value, Mapping):
        return {key: _numbers(each, unit) for key, each in value.items()}
    if isinstance(value, list):
        return [_numbers(each, unit) for each in value]
    return unit.from_core(value) if isinstance(value, int | float) and not isinstance(value, bool) else value
