"""A request whose keys state other units, as the same request in the units of the calculation."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import Any, Literal, get_args, get_origin

from pydantic import BaseModel

from fatcore.errors import InputError, UnknownError, at

from .kinds import KINDS, Unit, unit_of
from .named import OF_THE_QUANTITY, known_names, meant

Path = tuple[str | int, ...]
WISH = "units"  # key of a request beside its fields: the units of the answer by quantity


@dataclass
class Stated:
    """What a request says of units.

    names : path of an input here -> path of the same as it was given
    wish  : units of the answer by quantity
    """

    names: dict[Path, Path] = field(default_factory=dict)
    wish: dict[str, Unit] = field(default_factory=dict)

    @property
    def words(self) -> list[str]:
        """The names that were given in other units, each once."""
        return list(dict.fromkeys(str(given[-1]) for given in self.names.values()))

    def as_given(self, path: Sequence[str | int]) -> Path:
        """The path as the caller has it."""
        found = tuple(path)
        for end in range(len(found), 0, -1):
            if found[:end] in self.names:
                return (*self.as_given(found[: end - 1]), self.names[found[:end]][-1], *found[end:])
        return found


def in_core_units(model: type[BaseModel], data: Any) -> tuple[Any, Stated] | None:
    """The data with every key that states another unit under its name here, and what was stated; None where none does.

    Raises : InputError where a quantity is given twice, or is no number; UnknownError for a unit of the answer that is
             none; UnitsMissingError
    """
    stated = Stated()
    if not isinstance(data, Mapping):
        return None
    rest = {key: value for key, value in data.items() if key != WISH or WISH in model.model_fields}
    if len(rest) < len(data):
        with at(WISH):
            stated.wish = _wish(data[WISH])
    found = _of_model([model], rest, (), stated)
    return (found, stated) if stated.names or len(rest) < len(data) else None


def without_wish(data: Any) -> Any:
    """The data without the units of the answer, for those who read it by its names here."""
    return {key: value for key, value in data.items() if key != WISH} if isinstance(data, Mapping) else data


def _wish(asked: Any) -> dict[str, Unit]:
    if not isinstance(asked, Mapping):
        raise InputError('units are named by quantity, like {"length": "in", "stress": "ksi"}')
    wish = {}
    for name, ending in asked.items():
        if name not in KINDS:
            raise UnknownError("quantity", str(name), KINDS, str(name))
        kind = KINDS[name]
        if not isinstance(ending, str):
            raise InputError("must be a text: the ending of a unit", name)
        if ending == kind.ending[1:]:
            continue
        if ending not in kind.others:
            raise UnknownError("unit", str(ending), (kind.ending[1:], *kind.others), name)
        wish[name] = unit_of(name, ending)
    return wish


@cache
def holding(model: type[BaseModel]) -> frozenset[str]:
    """The fields in which other models stand; all others are looked through in no time."""
    return frozenset(name for name, info in model.model_fields.items() if _holds_model(info.annotation))


def _holds_model(annotation: Any) -> bool:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return True
    return any(_holds_model(arg) for arg in get_args(annotation) if not isinstance(arg, str | int))


def _of_model(models: Sequence[type[BaseModel]], data: Mapping[Any, Any], path: Path, stated: Stated) -> dict[Any, Any]:
    """The content of a model, which may be one of several."""
    fitting = [each for each in models if _fits(each, data)] or models
    fields = {name: info for each in fitting for name, info in each.model_fields.items()}
    kept = {name for each in fitting for name in getattr(each, "without_unit", _nothing)(data)}
    found = _named(data, fields.keys() - kept, path, stated, _numbers)
    for key in [each for each in data if each in fields]:
        names, value, inside = known_names(fields[key]), data[key], (*path, key)
        if names and isinstance(value, Mapping):
            found[key] = _named(value, names, inside, stated, _of_quantity)
        elif any(key in holding(each) for each in fitting):
            found[key] = _of_type(fields[key].annotation, value, inside, stated)
    return found


def _nothing(_: Any) -> tuple[str, ...]:
    return ()


def _named(
    data: Mapping[Any, Any], names: Collection[str], path: Path, stated: Stated, convert: Callable[[Any, Unit], Any]
) -> dict[Any, Any]:
    """The data with keys and values of those that are known names in another unit."""
    found: dict[Any, Any] = {}
    for key, value in data.items():
        core = meant(str(key), names)
        if core is None:
            found[key] = value
            continue
        name, kind, ending = core
        if name in data or name in found:
            raise InputError(f"{key}: the same is given in another unit too", *path, key)
        with at(*path, key):
            found[name] = convert(value, unit_of(kind.name, ending))
        stated.names[(*path, name)] = (*path, key)
    return found


def _of_quantity(value: Any, unit: Unit) -> Any:
    """A number, or what of a random variable has the unit."""
    if isinstance(value, Mapping):
        return {key: _numbers(each, unit) if key in OF_THE_QUANTITY else each for key, each in value.items()}
    return _numbers(value, unit)


def _fits(model: type[BaseModel], data: Mapping[Any, Any]) -> bool:
    """Whether the words that tell models of a union apart are those of this one."""
    tags = {n: i.annotation for n, i in model.model_fields.items() if get_origin(i.annotation) is Literal}
    return all(not isinstance(data.get(n), str) or data[n] in get_args(tag) for n, tag in tags.items())


def _of_type(annotation: Any, value: Any, path: Path, stated: Stated) -> Any:
    kinds = list(alternatives(annotation))
    if isinstance(value, Mapping):
        models = [each for each in kinds if isinstance(each, type) and issubclass(each, BaseModel)]
        if models:
            return _of_model(models, value, path, stated)
        inner = [get_args(each)[1] for each in kinds if get_origin(each) is dict]
        return {k: _of_type(inner[0], v, (*path, k), stated) for k, v in value.items()} if inner else value
    if isinstance(value, list) and value and isinstance(value[0], Mapping | list):
        inner = [get_args(each)[0] for each in kinds if get_origin(each) is list]
        return [_of_type(inner[0], v, (*path, i), stated) for i, v in enumerate(value)] if inner else value
    return value


def alternatives(annotation: Any) -> list[Any]:
    """The types that a value may have, without their bounds."""
    if annotation is None or isinstance(annotation, type) or get_origin(annotation) in (list, dict, Literal):
        return [annotation]
    return [each for arg in get_args(annotation) if not isinstance(arg, str | int) for each in alternatives(arg)]


def _numbers(value: Any, unit: Unit) -> Any:
    """The numbers in a value converted, at whatever depth; texts of a URL are numbers too."""
    if isinstance(value, Mapping):
        return {key: _numbers(each, unit) for key, each in value.items()}
    if isinstance(value, list):
        return [_numbers(each, unit) for each in value]
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, str):
        try:
            return repr(unit.to_core(float(value)))
        except ValueError:
            raise InputError(f"must be a number, in {unit.ending}") from None
    return unit.to_core(value) if isinstance(value, int | float) else value
