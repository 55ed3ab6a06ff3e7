"""The request of any calculation as a list of names and values with their units."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from fatcore.figures import as_given

from ..base.common import Strict
from ..comparison.naming import named

MOST_VALUES = 6
MOST_ROWS = 120


def list_inputs(request: Strict) -> list[tuple[str, str]]:
    """Every input that is set, defaults filled in, with its name; long columns by their length and extent.

    What stands in the head of the report is left out.
    """
    rows = list(_flat(request.model_dump(mode="json", exclude={"title", "document"}), ""))
    rest = len(rows) - MOST_ROWS
    return rows[:MOST_ROWS] + ([("and", f"{rest} more in the request")] if rest > 0 else [])


def _flat(value: Any, label: str, unit: str = "") -> Iterator[tuple[str, str]]:
    if isinstance(value, Mapping) and value.keys() == {"value", "unit"}:
        yield label, f"{as_given(value['value'])} {value['unit']}"
    elif isinstance(value, Mapping):
        for key, item in value.items():
            # below a name with a unit, keys are names of the user
            words, own = (key, unit) if unit else named(key)
            if isinstance(item, bool):
                words, own = key.replace("_", " "), ""
            yield from _flat(item, f"{label} {words}".lstrip(), own)
    elif isinstance(value, list) and value and isinstance(value[0], Mapping | list):
        for index, item in enumerate(value):
            yield from _flat(item, f"{label} {index + 1}", unit)
    elif (shown := _value(value)) is not None:
        yield label, f"{shown} {unit}".rstrip()


def _value(value: Any) -> str | None:
    if value is None or value in ([], ""):
        return None
    if isinstance(value, bool):
        return "yes" if value else "no"
    if not isinstance(value, list):
        return value if isinstance(value, str) else as_given(value)
    if len(value) <= MOST_VALUES or isinstance(value[0], str):
        return ", ".join(item if isinstance(item, str) else as_given(item) for item in value)
    return f"{len(value)} values, {as_given(min(value))} to {as_given(max(value))}"
