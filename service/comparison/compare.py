"""Two answers of one calculation, compared line by line."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fatcore.figures import Form, beside_limits, figure, just_passing, rounded_down

from ..base.common import Strict
from ..base.forms.other_units import OF_UNITS
from ..base.problems import Problem
from ..base.rules.words import HEAD, policy_words
from ..base.text import place_text
from .changes import Change, Comparison, LineChange, LineState, Revision, two_numbers
from .inputs import input_changes, renamed_lines, value_text
from .looser import POLICY, judges_looser
from .naming import named

ENDLESS = {"life_cycles", "life_blocks", "life_repeats"}  # of an answer, where null is an infinite one
APART = {"lines", "descriptions", "history", "governing", "deciding_lines"}  # compared line by line, or words
NO_REQUEST = "the older file holds an answer without its request: what of the input changed is not known from it"
SAME_INPUT = "the input is the same"
OTHER_DEFAULTS = "the request of the older file is read with the defaults of this version"


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """One of the two answers.

    name     : of its file, or what else it is called; request: None where it is not known
    answer, findings, record : of its envelope
    """

    name: str
    request: Strict | None
    answer: Mapping[str, Any]
    findings: Sequence[Mapping[str, Any]]
    record: Mapping[str, Any]

    @property
    def revision(self) -> Revision:
        """What stands in the head of the comparison."""
        record = self.record
        by = f"toeline {record['version']}, revision {record['revision']} of {record['calculation']}"
        return Revision(name=self.name, input_digest=record["input_digest"], calculated_by=by)


def compare(before: Answer, now: Answer) -> Comparison:
    """Input, rules, result, lines and findings of two answers.

    Raises : Problem where they are of different calculations
    """
    require_same_kind(before.record["calculation"], now.record["calculation"])
    whole = [_codes(side.findings, None) for side in (before, now)]
    return Comparison(
        before=before.revision,
        now=now.revision,
        inputs=_inputs(before, now),
        rules=tuple(_rules(before, now)),
        results=tuple(_results(before.answer, now.answer)),
        lines=compare_states(line_states(before), line_states(now), _renamed(before, now)),
        came=tuple(sorted(whole[1] - whole[0])),
        went=tuple(sorted(whole[0] - whole[1])),
        remarks=tuple(_remarks(before, now)),
    )


def require_same_kind(older: str, calculation: str) -> None:
    """Problem where the older answer is of another calculation."""
    if older != calculation:
        text = f"the older answer is of {older}, this one of {calculation}: they cannot be compared"
        raise Problem(422, text, [("/baseline", f"of {older}")])


def _inputs(before: Answer, now: Answer) -> tuple[Change, ...] | None:
    if before.request is None or now.request is None:
        return None
    return tuple(input_changes(before.request.model_dump(mode="json"), now.request.model_dump(mode="json")))


def _renamed(before: Answer, now: Answer) -> dict[str, str]:
    """Former names of lines by their new ones, where both requests are known."""
    lines = [getattr(side.request, "lines", ()) for side in (before, now)]
    old, new = ([line.model_dump(mode="json") for line in each] for each in lines)
    return renamed_lines(old, new)


def _rules(before: Answer, now: Answer) -> Iterator[Change]:
    """What the numbers rest on besides the request: version, revision of the route, tables of figures."""
    pairs = [(name, before.record[name], now.record[name]) for name in ("version", "revision")]
    tables = [side.record["tables"] for side in (before, now)]
    pairs += [(f"tables.{name}", *(table.get(name) for table in tables)) for name in sorted({*tables[0], *tables[1]})]
    for name, old, new in pairs:
        if old != new:
            words = name.replace("tables.", "table of figures ") if "." in name else f"{name} of the calculation"
            texts = ("none" if value is None else str(value) for value in (old, new))
            yield Change(pointer=name, words=words, before=next(texts), now=next(texts))
    policies = [side.record.get(POLICY) for side in (before, now)]
    if policies[0] != policies[1]:
        old, new = (policy_words(policy) for policy in policies)
        looser = judges_looser(POLICY, *policies)
        yield Change(pointer=POLICY, words=HEAD, before=old, now=new, looser=looser)


def _results(before: Mapping[str, Any], now: Mapping[str, Any]) -> Iterator[Change]:
    """The single values of the answer as a whole."""
    old, new = dict(_values(before)), dict(_values(now))
    for name in {**new, **old}:
        words, unit = named(name.rpartition(".")[2])
        # null is an infinite life only where the answer has that life at both times, and no part of it is missing
        endless = name in old and name in new and name.rpartition(".")[2] in ENDLESS
        forms = [_form(name, side) for side in (new, old)]
        texts = _shown(old.get(name), new.get(name), "infinite" if endless else "none", *forms)
        if texts[0] != texts[1]:
            part = name.rpartition(".")[0].replace(".", ", ").replace("_", " ")
            yield Change(
                pointer=f"answer.{name}",
                words=f"{part}, {words}" if part else words,
                before=texts[0],
                now=texts[1],
                unit=unit or _own_unit(name, before, now),
                looser=name == "damage_limit" and judges_looser(name, old.get(name), new.get(name)),
            )


def _own_unit(name: str, before: Mapping[str, Any], now: Mapping[str, Any]) -> str:
    """The unit of a life in service, which the answer itself names."""
    part, _, last = name.rpartition(".")
    if part.rpartition(".")[2] != "service_life" or last not in {"value", "asked"}:
        return ""
    units = [str(dict(_values(side)).get(f"{part}.unit", "none")) for side in (before, now)]
    return " -> ".join(dict.fromkeys(each for each in units if each != "none"))


def _values(answer: Mapping[str, Any], path: str = "") -> Iterator[tuple[str, Any]]:
    for name, value in answer.items():
        if isinstance(value, Mapping) and name not in APART:
            yield from _values(value, f"{path}{name}.")
        elif isinstance(value, list) and name not in APART:
            for part in value:
                called = part.get("rule", part.get("name")) if isinstance(part, Mapping) else None
                if called is not None:
                    yield from _values(part, f"{path}{name} {called}.")
        elif not isinstance(value, Mapping | list) and name not in APART:
            yield path + name, value


def _form(name: str, values: Mapping[str, Any]) -> Form:
    """How a number of an answer is written: one with a limit on its side of it, what is allowed or lived rounded down.

    values : single values of the answer by their paths
    """
    part, _, last = name.rpartition(".")
    if last.endswith("utilisation"):
        return _beside(1.0)
    if last == "damage":
        limit = values.get(f"{part}.damage_limit" if part else "damage_limit", values.get("damage_limit"))
        return figure if limit is None else _beside(limit)
    if last == "factor_to_limit":
        return just_passing
    return rounded_down if "life" in name or last.endswith("_cycles") or last.startswith("allowable_") else figure


def _beside(limit: float) -> Form:
    return lambda value, digits: beside_limits(value, limit, digits=digits)


def _shown(before: Any, now: Any, absent: str, form: Form, old_form: Form) -> tuple[str, str]:
    numbers = [
        value is None or (isinstance(value, int | float) and not isinstance(value, bool)) for value in (before, now)
    ]
    if all(numbers):
        return two_numbers(before, now, absent, form, old_form)
    return value_text(before), value_text(now)


def _codes(findings: Sequence[Mapping[str, Any]], line: str | None) -> frozenset[str]:
    return frozenset(
        f"{item['severity']} {item['code']}"
        for item in findings
        if item["line"] == line and item["code"] not in OF_UNITS
    )


def line_states(side: Answer) -> dict[str, LineState]:
    """The weld lines of an answer by their names; none where it has no lines."""
    found: dict[str, LineState] = {}
    for line in side.answer.get("lines", ()):
        found[line["name"]] = LineState(
            verdict=line["verdict"],
            utilisation=line["governing_utilisation"],
            curve=line["curve"],
            place=place_text(line["governing"]),
            life_cycles=line["life_cycles"][line["governing_index"]],
            findings=_codes(side.findings, line["name"]),
        )
    return found


def compare_states(
    before: Mapping[str, LineState], now: Mapping[str, LineState], renamed: Mapping[str, str]
) -> tuple[LineChange, ...]:
    """Every line of either side, the gravest first.

    renamed : former name by the new one
    """
    names = dict.fromkeys([*now, *(name for name in before if name not in renamed.values())])
    found = (LineChange(name=name, before=before.get(renamed.get(name, name)), now=now.get(name)) for name in names)
    return tuple(sorted(found, key=lambda line: line.gravity))


def _remarks(before: Answer, now: Answer) -> Iterator[str]:
    if before.record["input_digest"] == now.record["input_digest"]:
        yield SAME_INPUT
    elif before.request is None:
        yield NO_REQUEST
    elif before.record["version"] != now.record["version"]:
        yield OTHER_DEFAULTS
