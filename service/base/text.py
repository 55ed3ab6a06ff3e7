"""Answers as plain text for a terminal."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from typing import Any

from fatcore.figures import DIGITS, coordinate, figure, rounded_down, same_form
from fatcore.findings import FindingKind

from .finding_rows import FindingGroup, finding_groups
from .forms.fitted_table import fitted_lines
from .forms.history import heads_of, history_rows
from .forms.lives import life_facts

WIDTH = 100
_WHOLE_WORDS: Mapping[str, Any] = {"width": WIDTH, "break_on_hyphens": False}  # a code is found by searching
END_WORDS = {
    "arrest": "it comes to rest below the threshold",
    "unstable": "it runs",
    "cycles": "the given cycles are reached",
    "fracture": "the toughness is reached",
    "ligament-yield": "the ligament yields",
    "failure-assessment": "the failure assessment line is reached",
    "stiffness": "the given stiffness ratio is reached",
    "size": "the given depth is reached",
    "length": "the given half length is reached",
}


def number(value: Any, digits: int = DIGITS) -> str:
    """A value of an answer for reading: computed numbers with three digits, none is infinite, words as they are.

    >>> number(1234567.8), number(0.0123456), number(None), number(3.2e12), number("toe")
    ('1,230,000', '0.0123', 'infinite', '3.2e12', 'toe')
    """
    if value is None:
        return "infinite"
    if isinstance(value, bool) or not isinstance(value, int | float):
        return str(value)
    return figure(value, digits)


def column_texts(values: Sequence[Any]) -> list[str]:
    """Texts of the values of one column: one notation for its numbers, a dash where there is none."""
    numeric = [value for value in values if isinstance(value, int | float) and not isinstance(value, bool)]
    texts = iter(same_form(numeric))
    plain = (bool, str)
    return ["-" if value is None else number(value) if isinstance(value, plain) else next(texts) for value in values]


_NUMBER = re.compile(r"(?:< |just below |just above )?-?\d[\d,]*(\.\d+)?(e-?\d+)?")
_NO_NUMBER = frozenset({"-", "infinite", "no opening"})


def is_numeric(texts: Sequence[str]) -> bool:
    """Whether a column holds numbers, and words that stand for one.

    >>> is_numeric(["1,200", "-", "3.5e-7"]), is_numeric(["R1", "2"]), is_numeric(["-"])
    (True, False, False)
    """
    rest = [text for text in texts if text not in _NO_NUMBER]
    return bool(rest) and all(_NUMBER.fullmatch(text) for text in rest)


def behind_point(texts: Sequence[str]) -> list[int]:
    """How many characters each text of a numeric column lacks at its end for the decimal points to stand in line.

    >>> behind_point(["0.85", "12", "1.5e-7", "infinite"])
    [2, 5, 0, 0]
    """
    tails = [len(text) - len(text.split(".")[0].split("e")[0]) if _NUMBER.fullmatch(text) else None for text in texts]
    most = max((tail for tail in tails if tail is not None), default=0)
    return [0 if tail is None else most - tail for tail in tails]


LOGARITHM_DIGITS = 7  # of a constant of a curve: three would move its lives by a tenth


def logarithm(value: float) -> str:
    """The log10 of a constant, with the digits that its curve needs.

    >>> logarithm(12.8804), logarithm(15.350541), logarithm(12.0)
    ('12.8804', '15.35054', '12')
    """
    return number(value, LOGARITHM_DIGITS)


def table_text(rows: Sequence[Mapping[str, Any]], columns: Mapping[str, str] | None = None) -> str:
    """Rows under headings, words to the left, numbers by their decimal point; columns maps key to heading.

    Wider tables than a terminal have heads, and at last words, in several lines.
    """
    chosen = columns or {key: key for key, value in rows[0].items() if not isinstance(value, list | dict)}
    made = [_column_text(head, column_texts([row[key] for row in rows])) for key, head in chosen.items()]
    return "\n".join(fitted_lines(made, WIDTH))


def _column_text(head: str, texts: list[str]) -> tuple[str, list[str], bool]:
    right = is_numeric(texts)
    if right:
        texts = [text + " " * lacking for text, lacking in zip(texts, behind_point(texts), strict=True)]
    return head, texts, right


def description_facts(words: Mapping[str, Any] | None) -> dict[str, str]:
    """What the loading, its blocks and the material are, in words of the user."""
    if words is None:
        return {}
    load, blocks = _described(words["load"] or {}), [_described(block) for block in words["blocks"]]
    facts = {"loading": load, "blocks": "; ".join(filter(None, blocks)), "material": words["material"] or ""}
    return {name: text for name, text in facts.items() if text}


def _described(words: Mapping[str, Any]) -> str:
    return ": ".join(filter(None, (words.get("name"), words.get("description"))))


GRAVITY = ("fail", "undecided", "pass")


def by_gravity(lines: Sequence[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
    """Lines of a check: failing, undecided, passing; the most used first."""
    return sorted(lines, key=lambda line: (GRAVITY.index(line["verdict"]), -line["governing_utilisation"]))


def place_text(point: Mapping[str, Any]) -> str:
    """Where a station is: along its line, and in the model where the request tells.

    >>> place_text({"index": 3, "position_mm": 7.0, "coordinates_mm": [1.0, -2.5, 0.0], "node_id": 12345})
    'station 3, 7 mm, node 12345, at (1, -2.5, 0)'
    """
    node, place = point["node_id"], point["coordinates_mm"]
    shown = [f"station {point['index']}", f"{coordinate(point['position_mm'])} mm"]
    shown += [] if node is None else [f"node {node}"]
    return ", ".join([*shown, *([] if place is None else [f"at {point_text(place)}"])])


def point_text(point: Sequence[float]) -> str:
    """Coordinates of a point.

    >>> point_text([1.0, -2.5, -0.0])
    '(1, -2.5, 0)'
    """
    return f"({', '.join(map(coordinate, point))})"


def end_words(growth: Mapping[str, Any]) -> str:
    """Why the growth of a crack ends, as a clause."""
    reason = str(growth["end_reason"])
    return END_WORDS.get(reason, reason.replace("-", " "))


def findings_text(
    findings: Sequence[Mapping[str, Any]], first: Collection[str] = (), every: Collection[str] = ()
) -> str:
    """Findings by kind, the gravest first, then the rules that were applied; figures in which they differ by line.

    first : names of the lines whose findings stand before those of the others
    every : names of all lines there are; where they are many and all have a finding, they are not named
    """
    groups = finding_groups(findings, first)
    doubts = [group for group in groups if group.severity != "note"]
    rules = [group for group in groups if group.severity == "note"]
    parts = [("findings" if doubts else "findings: none beside the rules applied" if rules else "findings", doubts)]
    parts += [("rules applied", rules)] if rules else []
    return "\n\n".join("\n".join([head, *(_group_text(group, every) for group in each)]) for head, each in parts)


_NAMED_LINES = 3  # so many are named also where they are all


def _line_names(names: Sequence[str], every: Collection[str]) -> str:
    if len(names) > _NAMED_LINES and set(names) == set(every):
        return f"all {len(names)} lines"
    return ", ".join(names)


def _group_text(group: FindingGroup, every: Collection[str]) -> str:
    start = "" if group.severity == "note" else f"{group.severity}: "
    where = f" - {_line_names(group.lines, every)}" if group.lines and not group.heads else ""
    text = f"{start}{group.text} [{'; '.join((group.code, *group.remarks))}]{where}"
    shown = [textwrap.fill(text, initial_indent="  ", subsequent_indent="      ", **_WHOLE_WORDS)]
    if group.heads:
        rows = [{**dict(zip(group.heads, texts, strict=True)), "": ", ".join(lines)} for lines, texts in group.rows]
        named = {head: head for head in group.heads} | ({"": "lines"} if group.lines else {})
        indent = " " * 6
        wrapped = {**_WHOLE_WORDS, "drop_whitespace": True, "initial_indent": indent, "subsequent_indent": 2 * indent}
        shown += [textwrap.fill(line, **wrapped) for line in table_text(rows, named).splitlines()]
    return "\n".join(shown)


def finding_kind_text(kind: FindingKind) -> str:
    """One code of the catalogue: its severity, what it means and what to do."""
    text = f"{kind.severity}: {kind.meaning} [{kind.code}]"
    return textwrap.fill(text, subsequent_indent="    ", **_WHOLE_WORDS)


_VALUES = 22  # column in which the values of facts begin that stand one a line


def fact_lines(facts: Iterable[str]) -> list[str]:
    """Facts with their names before them, each in as many lines as a terminal needs."""
    return [textwrap.fill(fact, subsequent_indent=" " * _VALUES, **_WHOLE_WORDS) for fact in facts]


def sentence_lines(sentences: Iterable[str], indent: str = "") -> Iterator[str]:
    """Sentences, each in as many lines as a terminal needs; a path or a name is never broken."""
    for line in (line for sentence in sentences for line in sentence.split("\n")):
        yield textwrap.fill(
            line, initial_indent=indent, subsequent_indent=f"{indent}    ", break_long_words=False, **_WHOLE_WORDS
        )


def facts_text(facts: Mapping[str, str]) -> str:
    """Names and values in two columns, long values on further lines of their column."""
    width = max(len(name) for name in facts)
    indent = " " * (width + 2)
    shown = (
        textwrap.wrap(f"{name:<{width}}  {value}", subsequent_indent=indent, **_WHOLE_WORDS)
        for name, value in facts.items()
    )
    return "\n".join(line for lines in shown for line in lines)


def closing_text(envelope: Mapping[str, Any]) -> str:
    """What ends every text: the findings and the caution."""
    return f"\n{findings_text(envelope['findings'])}\n\n{textwrap.fill(envelope['caution'], WIDTH)}"


HISTORY_COLUMNS = {
    "elapsed_cycles": "cycles",
    "cycles_left": "cycles left",
    "depth_mm": "depth mm",
    "half_length_mm": "half length mm",
    "delta_k_deepest_mpa_sqrt_mm": "delta K MPa√mm",
    "rate_deepest_mm_per_cycle": "mm/cycle",
    "load_share": "load share",
    "stiffness_ratio": "stiffness",
}
HISTORY_ROWS = 12


def final_size(answer: Mapping[str, Any]) -> dict[str, str]:
    """The size at which growth ends: the depth, or the half length of a crack in a wall of unknown thickness.

    >>> final_size({"final_depth_mm": None, "final_half_length_mm": 7.5})
    {'final half length': '7.5 mm'}
    """
    depth, half = answer["final_depth_mm"], answer["final_half_length_mm"]
    if depth is None:
        return {"final half length": f"{number(half)} mm"}
    return {"final depth": f"{number(depth)} mm"}


def growth_text(envelope: Mapping[str, Any]) -> str:
    """Life of a crack, and some rows of its history."""
    answer = envelope["answer"]
    facts = {
        **description_facts(answer["descriptions"]),
        **dict(life_facts(answer)),
        "end": end_words(answer),
        **final_size(answer),
    }
    if answer["life_extension_factor"] is not None:
        facts["load sharing"] = f"{rounded_down(answer['life_extension_factor'])} times the life under constant load"
    rows = history_rows(answer, HISTORY_ROWS)
    shown = table_text(rows, heads_of(rows, HISTORY_COLUMNS))
    return facts_text(facts) + "\n\n" + shown + "\n" + closing_text(envelope)
