"""What of a request is another one now, input by input."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from fatcore.figures import as_given

from ..base.problems import pointer
from .changes import Change
from .looser import column_looser, judges_looser
from .naming import named

LONGEST_TEXT = 120
MOST_LISTED = 6
LAST = "lines"  # their stresses are many: what else changed comes first
ABSENT = "none"
_WRITTEN = 1e-14  # relative difference that writing a number in other units and back may make


@dataclass(frozen=True, slots=True)
class _Place:
    """Where in a request a value is.

    steps : of its JSON pointer; label : in words
    name  : the names of its fields alone, which say what it means
    """

    steps: tuple[str | int, ...] = ()
    label: tuple[str, ...] = ()
    name: str = ""
    unit: str = ""

    def field(self, key: str) -> _Place:
        """The place of a field; below a name with a unit, keys are names of the user."""
        words, unit = (key, self.unit) if self.unit else named(key)
        name = f"{self.name}.{key}" if self.name else key
        return _Place((*self.steps, key), (*self.label, words), name, unit)

    def item(self, at: int, called: str) -> _Place:
        """The place of an item of a list."""
        return replace(self, steps=(*self.steps, at), label=(*self.label, called))


def input_changes(before: Mapping[str, Any], now: Mapping[str, Any]) -> list[Change]:
    """Every input that changed, defaults filled in; the weld lines last.

    before, now : requests as plain data
    """
    keys = sorted({**now, **before}, key=lambda key: key == LAST)
    return [change for key in keys for change in _changes(before.get(key), now.get(key), _Place().field(key))]


def _changes(before: Any, now: Any, place: _Place) -> Iterator[Change]:
    if _alike(before, now) or not (before or now or isinstance(before or now, bool | int | float)):
        return  # nothing, an empty list and no words are the same
    if place.name == "lines.cases" and isinstance(before, Mapping) and isinstance(now, Mapping):
        for case in {**now, **before}:  # one row a load case, not one a component
            if before.get(case) != now.get(case):
                yield from _column(before.get(case), now.get(case), replace(place.field(case), unit="MPa"))
    elif _is_load(before) and _is_load(now):
        yield from _load(before, now, place)
    elif isinstance(before, Mapping) or isinstance(now, Mapping):
        yield from _fields(before, now, place)
    elif _has_items(before) or _has_items(now):
        yield from _items(before or [], now or [], place)
    elif isinstance(before, list) or isinstance(now, list):
        yield from _column(before, now, place)
    else:
        texts = _texts(before, now)
        yield _change(place, texts, looser=judges_looser(place.name, before, now))


def _alike(before: Any, now: Any) -> bool:
    """Whether two inputs are the same, numbers but for what writing them in other units leaves."""
    if isinstance(before, list) and isinstance(now, list):
        return len(before) == len(now) and all(map(_alike, before, now))
    if isinstance(before, int | float) and isinstance(now, int | float):
        return before == now or math.isclose(before, now, rel_tol=_WRITTEN, abs_tol=0.0)
    return bool(before == now)


def _change(place: _Place, texts: tuple[str, str], *, looser: bool = False) -> Change:
    unit = "" if ABSENT in texts and len(set(texts)) == 1 else place.unit
    words = ", ".join(place.label)
    return Change(pointer=pointer(place.steps), words=words, before=texts[0], now=texts[1], unit=unit, looser=looser)


def _is_load(value: Any) -> bool:
    return isinstance(value, Mapping) and set(value) == {"maximum", "minimum"}


def _load(before: Mapping[str, float], now: Mapping[str, float], place: _Place) -> Iterator[Change]:
    """A load state at the two ends of a cycle: less between them does less damage."""
    less = abs(now["maximum"] - now["minimum"]) < abs(before["maximum"] - before["minimum"])
    for end in ("maximum", "minimum"):
        if not _alike(before[end], now[end]):
            yield _change(place.field(end), given_texts(before[end], now[end]), looser=less)


def _fields(before: Any, now: Any, place: _Place) -> Iterator[Change]:
    old, new = (value if isinstance(value, Mapping) else {} for value in (before, now))
    if not isinstance(before, Mapping | None) or not isinstance(now, Mapping | None):  # a name where a part stood
        yield _change(place, (value_text(before), value_text(now)))
        return
    for key in {**new, **old}:
        yield from _changes(old.get(key), new.get(key), place.field(key))


def _has_items(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and isinstance(value[0], Mapping)


def renamed_lines(before: Sequence[Mapping[str, Any]], now: Sequence[Mapping[str, Any]]) -> dict[str, str]:
    """The former name by the new one of lines that changed nothing but their name.

    >>> renamed_lines([{"name": "a", "at": 1}, {"name": "b"}], [{"name": "c", "at": 1}, {"name": "b", "at": 3}])
    {'c': 'a'}
    """
    names = [{str(line["name"]) for line in lines} for lines in (before, now)]
    gone = [line for line in before if line["name"] not in names[1]]
    found: dict[str, str] = {}
    for line in now:
        alike = (each for each in gone if {**each, "name": line["name"]} == line and each["name"] not in found.values())
        former = None if line["name"] in names[0] else next(alike, None)
        if former is not None:
            found[str(line["name"])] = str(former["name"])
    return found


def _items(before: list[Any], now: list[Any], place: _Place) -> Iterator[Change]:
    """Parts of a list, by their names where each has one of its own, else by their places."""
    old, new = _by_name(before), _by_name(now)
    if old is None or new is None:
        old, new = ({str(at + 1): (at, item) for at, item in enumerate(items)} for items in (before, now))
    elif place.name == LAST:
        for name, other in renamed_lines(before, now).items():
            where = place.item(new.pop(name)[0], name).field("name")
            yield replace(_change(where, (other, name)), words="the name alone of a weld line")
            del old[other]
    for called in {**new, **old}:
        at, item = new.get(called, (old.get(called, (0, None))[0], None))
        where = place.item(at, called)
        former = old[called][1] if called in old else None
        if place.name == LAST and None in (item, former):
            texts = (ABSENT, "a weld line") if former is None else ("a weld line", ABSENT)
            yield _change(where, texts, looser=item is None)
        else:
            yield from _changes(former, item, where)


def _by_name(items: Sequence[Any]) -> dict[str, tuple[int, Any]] | None:
    names = [str(item.get("name") or "") for item in items if isinstance(item, Mapping)]
    if len({*names, ""}) <= len(items):
        return None
    return {name: (at, item) for at, (name, item) in enumerate(zip(names, items, strict=True))}


def _column(before: Any, now: Any, place: _Place) -> Iterator[Change]:
    """Numbers of one meaning by their count and extent, and how many of them differ."""
    old, new = list(_leaves(before)), list(_leaves(now))
    texts = _summary(old), _summary(new)
    numeric = all(isinstance(each, int | float) and not isinstance(each, bool) for each in (*old, *new))
    if len(old) == len(new) > MOST_LISTED and numeric:
        differing = [at for at in range(len(old)) if old[at] != new[at]]
        most = max(differing, key=lambda at: abs(new[at] - old[at]), default=0)
        pair = " -> ".join(given_texts(old[most], new[most]))
        texts = texts[0], f"{texts[1]} ({len(differing)} differ, the most: {pair})"
    elif len(old) == len(new) and numeric and texts[0] == texts[1]:  # a digit beyond the twelfth
        pairs = [given_texts(*pair) for pair in zip(old, new, strict=True)]
        texts = _cut(", ".join(each[0] for each in pairs)), _cut(", ".join(each[1] for each in pairs))
    yield _change(place, texts, looser=numeric and column_looser(place.name, old, new))


def _leaves(value: Any) -> Iterator[Any]:
    if isinstance(value, Mapping):
        for item in value.values():
            yield from _leaves(item)
    elif isinstance(value, list):
        for item in value:
            yield from _leaves(item)
    elif value is not None:
        yield value


def _summary(values: Sequence[Any]) -> str:
    if not values:
        return ABSENT
    if len(values) > MOST_LISTED and all(isinstance(value, bool) for value in values):
        return f"{len(values):,} values, {values.count(True):,} yes and {values.count(False):,} no"
    if len(values) > MOST_LISTED and all(isinstance(value, int | float) for value in values):
        return f"{len(values):,} values, {as_given(min(values))} to {as_given(max(values))}"
    return _cut(", ".join(value_text(value) for value in values))


def _texts(before: Any, now: Any) -> tuple[str, str]:
    numbers = (isinstance(value, int | float) and not isinstance(value, bool) for value in (before, now))
    return given_texts(before, now) if all(numbers) else (value_text(before), value_text(now))


def given_texts(before: float, now: float) -> tuple[str, str]:
    """Two numbers as they were given; where only a digit beyond the twelfth differs, with all of them."""
    texts = as_given(before), as_given(now)
    return texts if texts[0] != texts[1] or before == now else (repr(before), repr(now))


def value_text(value: Any) -> str:
    """A value for a reader, cut where it is long.

    >>> value_text(None), value_text(True), value_text(0.5)
    ('none', 'yes', '0.5')
    """
    if value is None:
        return ABSENT
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return as_given(value)
    return _cut(value if isinstance(value, str) else json.dumps(value, ensure_ascii=False))


def _cut(text: str) -> str:
    return text if len(text) <= LONGEST_TEXT else text[: LONGEST_TEXT - 3] + "..."
