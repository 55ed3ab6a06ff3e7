"""Two pieces of plain data, compared value by value."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from fatcore.figures import counted, figure

from ..base.problems import pointer
from .envelope import is_finite
from .inputs import LONGEST_TEXT, given_texts, value_text

RELATIVE = 1e-9  # what another processor of the same kind of arithmetic may make, after many operations
ABSENT = object()
Steps = tuple[str | int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """A value that is another one, in words; relative: of two numbers, of the larger one."""

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
        texts = _two_texts(before, now)
        yield Difference(pointer=pointer(steps) or "/", before=texts[0], now=texts[1])


def _of_numbers(before: float, now: float, steps: Steps) -> Iterator[Difference]:
    """A number that is not finite differs from everything, itself as well: no calculation gave it."""
    if not (is_finite(before) and is_finite(now)):
        yield Difference(pointer=pointer(steps) or "/", before=repr(before)[:40], now=repr(now)[:40])
        return
    if before == now:
        return
    largest = max(abs(now), abs(before))
    relative = abs(now / largest - before / largest)
    if relative > RELATIVE:
        texts = given_texts(before, now)
        yield Difference(pointer=pointer(steps) or "/", before=texts[0], now=texts[1], relative=relative)


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _two_texts(before: Any, now: Any) -> tuple[str, str]:
    """Two values in words; of long texts the place where they part."""
    if not (isinstance(before, str) and isinstance(now, str)):
        return _text(before), _text(now)
    parting = next((at for at, pair in enumerate(zip(before, now, strict=False)) if pair[0] != pair[1]), 0)
    start = max(0, parting - LONGEST_TEXT // 2)
    mark = "..." if start else ""
    return value_text(mark + before[start:]), value_text(mark + now[start:])


def _text(value: Any) -> str:
    if value is ABSENT:
        return "not there"
    if isinstance(value, list):
        return counted(len(value), "value")
    return "an object" if isinstance(value, Mapping) else value_text(value)
