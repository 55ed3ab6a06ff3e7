"""The verification cases as text: failing ones first, then by the kind and source of the expected number."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby
from typing import Any

from ...base.text import WIDTH, number

Case = Mapping[str, Any]

_NAMED = 5  # failing cases that the last line names
_HEADING = "passing cases: name, expected, computed, tolerance"


def validation_text(answer: Mapping[str, Any]) -> str:
    """Failing cases in full, the passing ones by kind and source, the kinds counted, one line that says it all."""
    cases = answer["verification_cases"]
    return "\n".join(
        (
            *(line for case in cases if not case["passed"] for line in _failing(case)),
            *([_HEADING, ""] if any(case["passed"] for case in cases) else []),
            *(line for kind in answer["kinds"] for line in _passing(kind["kind"], cases)),
            *(
                f"{each['kind']:<22}  {each['count']:>4} {_cases(each['count'])}, {each['failed']} failed"
                for each in answer["kinds"]
            ),
            *_fill(_summary(answer["count"], [case["id"] for case in cases if not case["passed"]]), ""),
        )
    )


def _summary(count: int, failing: Sequence[str]) -> str:
    if not failing:
        return f"PASS: all {count} verification cases are within their tolerance"
    more = f" and {len(failing) - _NAMED} more" if len(failing) > _NAMED else ""
    named = ", ".join(failing[:_NAMED])
    return f"FAIL: {len(failing)} of {count} verification cases are outside their tolerance: {named}{more}"


def _cases(count: int) -> str:
    return "case" if count == 1 else "cases"


def _failing(case: Case) -> Iterator[str]:
    yield from _fill(f"NO  {case['id']}: {case['title']}", "    ")
    off = abs(case["computed"] - float(case["expected"]))
    yield from _fill(f"    expected {case['expected']}, computed {_computed(case)}: off by {number(off)}", "    ")
    yield from _fill(f"    tolerance {number(case['tolerance'])}{_words(case['why'])}", "    ")
    yield from _fill(f"    {case['kind']}: {case['source']}, {case['where']}", "    ")
    yield ""


def _words(why: str) -> str:
    return f" ({why})" if why else ""


def _passing(kind: str, cases: Sequence[Case]) -> Iterator[str]:
    """Rows under their source; a case whose name leaves no room for numbers has them on the next line."""
    passing = [case for case in cases if case["passed"] and case["kind"] == kind]
    for (source, where), group in groupby(passing, lambda case: (case["source"], case["where"])):
        yield from _fill(f"{kind}: {source}, {where}", "    ")
        yield from _rows(list(group))
        yield ""


def _rows(cases: Sequence[Case]) -> Iterator[str]:
    cells = [(case["expected"], _computed(case), f"+/- {number(case['tolerance'])}") for case in cases]
    widths = [max(len(row[at]) for row in cells) for at in range(3)]
    room = WIDTH - sum(widths) - 4 - 6  # what stands before the name and between the cells
    wide = min(max(len(case["id"]) for case in cases), room)
    for case, row in zip(cases, cells, strict=True):
        numbers = "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        if len(case["id"]) > room:
            yield from _fill(f"ok  {case['id']}", "    ")
            yield f"    {' ' * wide}  {numbers}"
        else:
            yield f"ok  {case['id']:<{wide}}  {numbers}"


def _computed(case: Case) -> str:
    return number(case["computed"], 8)


def _fill(text: str, indent: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, subsequent_indent=indent, break_on_hyphens=False)
