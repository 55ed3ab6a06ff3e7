"""The request of any calculation as rows of names and values with their units, defaults marked."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from fatcore.figures import as_given

from ..base.common import Strict
from ..base.document import Titled
from .input_words import choice_words, field_words
from .tables import named_curve_term

MOST_VALUES = 6
MOST_ROWS = 120
# words that stand elsewhere in a report, and how an answer is written
_ELSEWHERE = frozenset({"title", "document", "descriptions", "list_cycles", "unit_stated"})
_LOADS = frozenset({"minimum"})  # nothing is a load factor as well
_NEEDS = {"scatter_index_survival": "scatter_index"}  # which does nothing without the other
CURVE_FIELDS = frozenset({"curve", "opening_curve", "shear_curve"})  # their values are names of curves
_STATED = ("weld_size", "weld_quality", "service_environment")


@dataclass(frozen=True, slots=True, kw_only=True)
class InputRow:
    """One input in words; default: it was not given."""

    name: str
    value: str
    default: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class InputGroup:
    """Inputs under one heading."""

    title: str
    rows: list[InputRow]


def list_inputs(request: Strict, leave_out: Collection[str] = ()) -> list[InputRow]:
    """Every input that is given, and every default that does something; long columns by their length and extent.

    leave_out : names of fields that the report shows elsewhere, or that nothing uses
    """
    rows = list(_of_model(request, "", (), False, {*_ELSEWHERE, *leave_out}))
    rest = len(rows) - MOST_ROWS
    return rows[:MOST_ROWS] + ([_row("and", f"{rest} more in the request")] if rest > 0 else [])


def group_inputs(
    request: Strict, titles: Mapping[str, str], others: str, leave_out: Collection[str] = ()
) -> list[InputGroup]:
    """The inputs of a request: a group a part, and one of what stands by itself.

    titles : heading by the name of a part; others: heading of the rest
    """
    parts = {name: part for name in titles if isinstance(part := getattr(request, name), Strict)}
    left = list_inputs(request, {*parts, *leave_out})
    groups = [InputGroup(title=titles[name], rows=_part_rows(request, name, part)) for name, part in parts.items()]
    return [group for group in (*groups, InputGroup(title=others, rows=left)) if group.rows]


def _part_rows(request: Strict, name: str, part: Strict) -> list[InputRow]:
    return list(_of_model(part, name, (), name not in request.model_fields_set, frozenset()))


def stated_rows(request: Titled) -> list[InputRow]:
    """What the title block states of welds and environment: repeated, and judged by nothing."""
    document = request.document
    given = [(name, None if document is None else getattr(document, name)) for name in _STATED]
    told = [_row(name.replace("_", " "), words) for name, words in given if words is not None]
    return told or [_row("weld size, weld quality, environment", "not stated")]


def _row(name: str, value: str, default: bool = False) -> InputRow:
    return InputRow(name=name, value=value, default=default)


def _of_model(
    model: Strict,
    parent: str,
    above: tuple[str, ...],
    default: bool,
    leave_out: Collection[str],
    unit: str = "",
) -> Iterator[InputRow]:
    for name in type(model).model_fields:
        used = name not in _NEEDS or getattr(model, _NEEDS[name]) is not None
        if name not in leave_out and used:
            left_open = default or name not in model.model_fields_set
            yield from _of_value(getattr(model, name), (parent, name), above, left_open, unit)


def _of_value(
    value: Any, field: tuple[str, str], above: tuple[str, ...], default: bool, inherited: str
) -> Iterator[InputRow]:
    words, own = field_words(*field)
    unit = own or inherited
    if isinstance(value, Strict):
        if type(value).model_fields.keys() == {"value", "unit"}:
            yield _named(above, words, f"{as_given(value.value)} {value.unit}", default)  # type: ignore[attr-defined]
        else:
            yield from _of_model(value, field[1], (*above, words), default, (), unit)
    elif isinstance(value, Mapping):
        for key, item in value.items():  # names of the user
            below = (*above, f"{words} {key}")
            if isinstance(item, Strict):
                yield from _of_model(item, field[1], below, default, (), unit)
            else:
                yield from _of_leaf(item, field, below, default, unit)
    elif isinstance(value, list) and value and isinstance(value[0], Strict):
        one = words.removesuffix("s")
        for index, item in enumerate(value):
            yield from _of_model(item, field[1], (*above, f"{one} {index + 1}"), default, (), unit)
    else:
        yield from _of_leaf(value, field, above, default, unit, words)


def _of_leaf(
    value: Any, field: tuple[str, str], above: tuple[str, ...], default: bool, unit: str, words: str = ""
) -> Iterator[InputRow]:
    shown = _value(value, *field)
    if shown is None or (default and value in (0.0, False, "none") and field[1] not in _LOADS):
        return  # a default that does nothing
    plain = isinstance(value, bool | str) or shown.endswith(" rows")
    yield _named(above, words, shown if plain else f"{shown} {unit}".rstrip(), default)


def _named(above: tuple[str, ...], words: str, value: str, default: bool) -> InputRow:
    return _row(", ".join([*above, *([words] if words else [])]), value, default)


def _value(value: Any, parent: str, name: str) -> str | None:
    if value is None or value in ([], ""):
        return None
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return named_curve_term(value) if name in CURVE_FIELDS else choice_words(parent, name, value)
    if not isinstance(value, list):
        return as_given(value)
    if isinstance(value[0], bool):
        return f"{value.count(True)} yes and {value.count(False)} no"
    if len(value) <= MOST_VALUES or isinstance(value[0], str):
        return ", ".join(item if isinstance(item, str) else as_given(item) for item in value)
    if isinstance(value[0], list):
        return f"{len(value)} rows"
    return f"{len(value)} values, {as_given(min(value))} to {as_given(max(value))}"
