"""One answer before and now: what differs, and what of it is known to be the cause."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from ..comparison.values import Difference, differences

Line = Mapping[str, Any]
VERDICTS = ("fail", "undecided", "pass")  # from the severest
MADE_BY = ("version", "policy", "item_digest")
OF_UNITS = {"units-converted", "units-of-answer"}  # how the request is written, not what is answered
CAUSES = {
    "version": "version of toeline",
    "policy": "policy",
    "item_digest": "digest of the item",
    "input_digest": "digest of the input with its defaults",
    "revision": "revision of the calculation",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemChange:
    """One item before and now.

    differences : of its answer, the numbers that differ most first
    came, went  : findings and sources
    causes      : what it rests on that is another one
    verdict     : before and now, where both have one
    """

    name: str
    differences: tuple[Difference, ...] = ()
    came: tuple[str, ...] = ()
    went: tuple[str, ...] = ()
    causes: tuple[str, ...] = ()
    verdict: tuple[str, str] | None = None

    @property
    def same(self) -> bool:
        """Whether the same is said, whatever it rests on."""
        return not (self.differences or self.came or self.went)

    @property
    def direction(self) -> Literal["looser", "stricter", ""]:
        """Whether the verdict became more lenient, or more severe."""
        if self.verdict is None or not {*self.verdict} <= {*VERDICTS}:
            return ""
        before, now = map(VERDICTS.index, self.verdict)
        return "" if before == now else "looser" if now > before else "stricter"


def item_change(name: str, before: Line, now: Line) -> ItemChange:
    """An item by its two lines of a batch answer; answers in different units are not compared number by number."""
    units = [_units(line) for line in (before, now)]
    if None in units or units[0] == units[1]:
        found = [*differences(_said(before), _said(now))]
    else:
        found = [Difference(pointer="/answer", before=f"in {units[0]}", now=f"in {units[1]}")]
    beside = [Counter(_beside(line)) for line in (before, now)]
    return ItemChange(
        name=name,
        differences=tuple(sorted(found, key=lambda each: -(each.relative or 2.0))),
        came=tuple(sorted((beside[1] - beside[0]).elements())),
        went=tuple(sorted((beside[0] - beside[1]).elements())),
        causes=tuple(_causes(before, now)),
        verdict=_verdicts(before, now),
    )


def _said(line: Line) -> dict[str, Any]:
    """What an item is answered by, without what stands beside it."""
    envelope = line.get("envelope")
    if envelope is not None:
        return {"status": str(line["status"]), "answer": envelope["answer"], "findings": _limits(line)}
    if "value" in line:
        return {
            "status": str(line["status"]),
            "value": _number_in(line["value"]),
            "findings": _codes(line.get("findings")),
        }
    return {"status": str(line["status"]), "problem": line.get("problem")}


def _codes(text: Any) -> Any:
    """The findings beside a single value, without those of units."""
    return [each for each in str(text).split(", ") if each.rpartition(":")[2] not in OF_UNITS]


def _units(line: Line) -> str | None:
    """The units that an answer was asked for in; None where there is no answer."""
    if line.get("envelope") is None:
        return None
    told = next((each["message"] for each in _findings(line) if each["code"] == "units-of-answer"), "")
    return told.partition(";")[0].removeprefix("the answer has ") or "MPa and mm"


def _limits(line: Line) -> dict[str, list[list[Any]]]:
    """Values and limits of the findings that have some."""
    found: dict[str, list[list[Any]]] = {}
    for each in _findings(line):
        if each.get("value") is not None:
            found.setdefault(_finding(each), []).append([each[name] for name in ("value", "low", "high", "count")])
    return found


def _number_in(text: Any) -> Any:
    try:
        return float(text)
    except (TypeError, ValueError):
        return text


def _findings(line: Line) -> Sequence[Mapping[str, Any]]:
    found: Sequence[Mapping[str, Any]] = (line.get("envelope") or {}).get("findings", ())
    return found


def _finding(found: Mapping[str, Any]) -> str:
    where = f" ({found['line']})" if found.get("line") else ""
    return f"{found['severity']} {found['code']}{where}"


def _record(line: Line) -> Mapping[str, Any]:
    record: Mapping[str, Any] = (line.get("envelope") or {}).get("record", {})
    return record


def _beside(line: Line) -> Iterator[str]:
    yield from (f"finding {_finding(each)}" for each in _findings(line) if each["code"] not in OF_UNITS)
    yield from (f"source {each['key']} ({each['status']})" for each in _record(line).get("sources", ()))


def _causes(before: Line, now: Line) -> Iterator[str]:
    for name in MADE_BY:
        yield from _cause(name, before, now)
    units = [_units(line) for line in (before, now)]
    if None not in units and units[0] != units[1]:
        yield _moved("units of the answer", *units)
    old, new = _record(before), _record(now)
    if not old or not new:
        return
    for name in ("input_digest", "revision"):
        yield from _cause(name, old, new)
    tables = [record.get("tables", {}) for record in (old, new)]
    for name in sorted({*tables[0], *tables[1]}):
        if tables[0].get(name) != tables[1].get(name):
            yield _moved(f"table of figures {name}", tables[0].get(name), tables[1].get(name))


def _cause(name: str, before: Line, now: Line) -> Iterator[str]:
    """What is another one; what only one of them holds is not known of the other."""
    if name in before and name in now and before[name] != now[name]:
        yield _moved(CAUSES[name], before[name], now[name])


def _moved(words: str, before: Any, now: Any) -> str:
    return f"{words} {before or 'none'} -> {now or 'none'}"


def _verdicts(before: Line, now: Line) -> tuple[str, str] | None:
    old, new = (((line.get("envelope") or {}).get("answer") or {}).get("verdict") for line in (before, now))
    return (old, new) if isinstance(old, str) and isinstance(new, str) else None
