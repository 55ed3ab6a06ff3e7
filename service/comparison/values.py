"""Two pieces of plain data, compared value by value."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from fatcore.figures import counted, figure

from ..base.problems import pointer
from .inputs import given_texts, value_text

RELATIVE = 1e-9  # what another processor of the same kind of arithmetic may make, after many operations
ABSENT = object()
Steps = tuple[str | int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """A value that is another one; relative: of two numbers, of the larger one."""

    pointer: str
    before: str
    now: str
    relative: float | None = None

    @property
    def text(self) -> str:
        """The difference in one line."""
        much = "" if self.relative is None else f" (by {figure(self.relative, 2)} of the larger)"
        return f"{self.pointer} {self.before} -> {self.now}{much}"


def differences(before: Any, now: Any, steps: Steps = ()) -> Iterator[Difference]:
    """Every value that differs, numbers by more than RELATIVE.

    >>> [found.text for found in differences({"a": [1.0, 2.0], "b": "x"}, {"a": [1.0 + 1e-12, 3.0], "b": "x"})]
    ['/a/1 2 -> 3 (by 0.33 of the larger)']
    """
    if isinstance(before, Mapping) and isinstance(now, Mapping):
        for key in {**before, **now}:
            yield from differences(before.get(key, ABSENT), now.get(key, ABSENT), (*steps, str(key)))
    elif isinstance(before, list) and isinstance(now, list) and len(before) == len(now):
        for at, pair in enumerate(zip(before, now, strict=True)):
            yield from differences(*pair, (*steps, at))
    elif _is_number(before) and _is_number(now):
        yield from _of_numbers(before, now, steps)
    elif type(before) is not type(now) or before != now:
        yield Difference(pointer=pointer(steps) or "/", before=_text(before), now=_text(now))


def _of_numbers(before: float, now: float, steps: Steps) -> Iterator[Difference]:
    if before == now:
        return
    relative = abs(now - before) / max(abs(now), abs(before))
    if relative > RELATIVE:
        texts = given_texts(before, now)
        yield Difference(pointer=pointer(steps) or "/", before=texts[0], now=texts[1], relative=relative)


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _text(value: Any) -> str:
    if value is ABSENT:
        return "not there"
    if isinstance(value, list):
        return counted(len(value), "value")
    return "an object" if isinstance(value, Mapping) else value_text(value)
