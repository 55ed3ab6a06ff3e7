"""One answer before and now: what differs, and what of it is known to be the cause."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from ..base.forms.other_units import OF_UNITS
from ..comparison.values import Difference, differences
from .verdicts import moves

Line = Mapping[str, Any]
MADE_BY = ("version", "policy", "item_digest")
CAUSES = {
    "version": "version of toeline",
    "policy": "policy",
    "item_digest": "digest of the item",
    "input_digest": "digest of the input with its defaults",
    "revision": "revision of the calculation",
}
# of a record: what an answer rests on, which is compared by itself
BESIDE = {"version", "revision", "policy", "tables", "sources", "input_digest"}
EDITED = "the line does not fit its digest: it was edited"
_NUMBER = re.compile(r"-?[0-9]+(\.[0-9]+)?(e[+-]?[0-9]+)?")  # as an item of one value has it


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemChange:
    """One item before and now.

    differences : of its answer, verdicts first, then what differs most, the record last
    came, went  : findings and sources
    causes      : what it rests on that is another one
    verdict     : before and now, where both have one
    direction   : whether a verdict of it became more lenient, or more severe; looser where some are either
    edited      : a line of it does not fit its own digest
    """

    name: str
    differences: tuple[Difference, ...] = ()
    came: tuple[str, ...] = ()
    went: tuple[str, ...] = ()
    causes: tuple[str, ...] = ()
    verdict: tuple[str, str] | None = None
    direction: Literal["looser", "stricter", ""] = ""
    edited: bool = False

    @property
    def same(self) -> bool:
        """Whether the same is said, whatever it rests on."""
        return not (self.differences or self.came or self.went or self.edited)


def item_change(name: str, before: Line, now: Line, *, asked: bool = False, edited: bool = False) -> ItemChange:
    """An item by its two lines of a batch answer.

    asked  : the later one was calculated of what is said to have been asked before: id and digests must be the same
    edited : one of them does not fit its digest
    """
    found = [*differences(*_said_both(before, now, asked=asked))]
    beside = [Counter(_beside(line)) for line in (before, now)]
    causes = [*_causes(before, now), *([EDITED] if edited else [])]
    return ItemChange(
        name=name,
        differences=tuple(sorted(found, key=_order)),
        came=tuple(sorted((beside[1] - beside[0]).elements())),
        went=tuple(sorted((beside[0] - beside[1]).elements())),
        causes=tuple(causes),
        verdict=_verdicts(before, now),
        direction=moves(before, now),
        edited=edited,
    )


def _order(found: Difference) -> tuple[bool, bool, float]:
    much = 2.0 if found.relative is None else found.relative
    return not found.pointer.endswith("verdict"), found.pointer.startswith("/record"), -much


def _said_both(before: Line, now: Line, *, asked: bool) -> tuple[dict[str, Any], dict[str, Any]]:
    """What an item is answered by, at both times; what came or went is said by itself.

    Answers in different units are not compared number by number.
    """
    said = _said(before), _said(now)
    for each, line in zip(said, (before, now), strict=True):
        if asked:
            each["id"] = repr(line["id"])
    if before.get("version") == now.get("version"):  # another version may have other defaults, and record more
        _add_record(said, before, now, asked=asked)
    for name, read in (("findings", _findings_by_name), ("sources", _sources_by_name)):
        old, new = read(before), read(now)
        both = [each for each in old if len(old[each]) == len(new.get(each, ()))]
        for each, found in zip(said, (old, new), strict=True):
            each.setdefault(name, {called: found[called] for called in both})
    units = [_units(line) for line in (before, now)]
    if None not in units and units[0] != units[1]:
        for each, unit in zip(said, units, strict=True):
            each |= {"answer": f"in {unit}", "findings": None}
    return said


def _add_record(said: Sequence[dict[str, Any]], before: Line, now: Line, *, asked: bool) -> None:
    """What of the records of one version must be the same, besides what is a cause."""
    records = _record(before), _record(now)
    for each, record in zip(said, records, strict=True):
        known = {"input_digest"} if asked else set()
        if before.get("policy") == now.get("policy"):
            known.add("policy")  # its name as well
        each.setdefault("record", {}).update({name: record[name] for name in known if name in record})


def _said(line: Line) -> dict[str, Any]:
    """The answer of a line, or its problem, without what it rests on and what is compared by names."""
    said: dict[str, Any] = {"status": str(line["status"])}  # a number that has no size
    if "problem" in line:
        said["problem"] = line["problem"]
    if "value" in line:
        said["value"] = _number_in(line["value"])
        said["findings"] = _codes(line.get("findings"))
    envelope = line.get("envelope") or {}
    said |= {name: value for name, value in envelope.items() if name not in {"findings", "record"}}
    if _record(line):
        said["record"] = {name: value for name, value in _record(line).items() if name not in BESIDE}
    return said


def _codes(text: Any) -> str:
    """The findings beside a single value, without those of units."""
    return ", ".join(each for each in str(text).split(", ") if each.rpartition(":")[2] not in OF_UNITS)


def _units(line: Line) -> str | None:
    """The units that an answer was asked for in; None where there is no answer."""
    if line.get("envelope") is None:
        return None
    told = next((each["message"] for each in _findings(line) if each["code"] == "units-of-answer"), "")
    return told.partition(";")[0].rpartition("the answer has ")[2] or "MPa and mm"


def _number_in(text: str) -> Any:
    return float(text) if _NUMBER.fullmatch(text) else text


def _findings(line: Line) -> Sequence[Mapping[str, Any]]:
    found: Sequence[Mapping[str, Any]] = (line.get("envelope") or {}).get("findings", ())
    return found


def _finding(found: Mapping[str, Any]) -> str:
    where = f" ({found['line']})" if found.get("line") else ""
    return f"{found['severity']} {found['code']}{where}"


def _findings_by_name(line: Line) -> dict[str, list[Any]]:
    found: dict[str, list[Any]] = {}
    for each in _findings(line):
        if each["code"] not in OF_UNITS:
            found.setdefault(_finding(each), []).append(each)
    return found


def _record(line: Line) -> Mapping[str, Any]:
    record: Mapping[str, Any] = (line.get("envelope") or {}).get("record", {})
    return record


def _source(source: Mapping[str, Any]) -> str:
    return f"{source['key']} ({source['status']})"


def _sources_by_name(line: Line) -> dict[str, list[Any]]:
    found: dict[str, list[Any]] = {}
    for each in _record(line).get("sources", ()):
        found.setdefault(_source(each), []).append(each)
    return found


def _beside(line: Line) -> Iterator[str]:
    yield from (f"finding {_finding(each)}" for each in _findings(line) if each["code"] not in OF_UNITS)
    yield from (f"source {_source(each)}" for each in _record(line).get("sources", ()))


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
