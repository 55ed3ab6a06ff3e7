"""Verdicts of an answer before and now: of the whole, of its lines and parts, of one value alone."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Literal

VERDICTS = ("fail", "undecided", "pass")  # from the severest
JUDGED = {"acceptable", "reaches_target"}  # true where it is good
Pair = tuple[str | None, str | None]


def moves(before: Mapping[str, Any], now: Mapping[str, Any]) -> Literal["looser", "stricter", ""]:
    """Whether a verdict became more lenient, or more severe; looser where some are either.

    An item that was refused, or has a code of validity in place of its value, had no verdict to pass by.
    before, now : lines of a batch answer
    """
    whole = _standing(before), _standing(now)
    found = {_step(*pair) for pair in (whole, *_parts(_answer(before), _answer(now)))}
    return "looser" if 1 in found else "stricter" if -1 in found else ""


def _step(before: str | None, now: str | None) -> int:
    if before not in VERDICTS or now not in VERDICTS:
        return 0
    old, new = VERDICTS.index(before), VERDICTS.index(now)
    return (new > old) - (new < old)


def _standing(line: Mapping[str, Any]) -> str | None:
    """The verdict of an item as a whole, None where it has none."""
    if line.get("problem") is not None or str(line.get("value", "")).startswith("#"):
        return VERDICTS[0]
    found = line.get("value", _answer(line).get("verdict"))
    return found if isinstance(found, str) else None


def _answer(line: Mapping[str, Any]) -> Mapping[str, Any]:
    found: Mapping[str, Any] = (line.get("envelope") or {}).get("answer") or {}
    return found


def _parts(before: Any, now: Any) -> Iterator[Pair]:
    """Every verdict that both have, parts of a list by their names where they have some."""
    if isinstance(before, list) and isinstance(now, list):
        before, now = _by_name(before), _by_name(now)
    if not (isinstance(before, Mapping) and isinstance(now, Mapping)):
        return
    for key in before.keys() & now.keys():
        old, new = before[key], now[key]
        if key == "verdict":
            yield old, new
        elif key in JUDGED:
            yield _word(old), _word(new)
        else:
            yield from _parts(old, new)


def _word(judged: Any) -> str | None:
    return {True: VERDICTS[-1], False: VERDICTS[0]}.get(judged) if isinstance(judged, bool) else None


def _by_name(items: list[Any]) -> dict[Any, Any]:
    """Parts of a list by name, or by place; of numbers none."""
    parts = [each for each in items if isinstance(each, Mapping | list)]
    return {str(each.get("name", at)) if isinstance(each, Mapping) else str(at): each for at, each in enumerate(parts)}
