"""Columns of a table of a report: numbers in one notation, by their decimal points."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

from markupsafe import Markup, escape

from fatcore.curves.standards.catalogue import all_ids

from ..base.finding_rows import FindingGroup
from ..base.forms.printable import LINES, escaped
from ..base.rules.active import active_policy
from ..base.text import behind_point, column_texts, is_numeric

NONE = "–"
_TERM = Markup('<a data-page="pages/curves/{}">{}</a>')


def curve_term(curve: str, linked: Collection[str]) -> Markup:
    """The name of a curve, with its page where it has one.

    >>> curve_term("a", {"a"}), curve_term("<b>", {"a"})
    (Markup('<a data-page="pages/curves/a">a</a>'), Markup('&lt;b&gt;'))
    """
    shown = escaped(curve, keep=LINES)
    return _TERM.format(shown, shown) if curve in linked else escape(shown)


def named_curve_term(curve: str) -> Markup:
    """The name of a curve that a request has: one of the catalogue with its page, one of the policy without."""
    policy = active_policy()
    return curve_term(curve, () if policy is not None and curve in policy.curves else _catalogue())


@cache
def _catalogue() -> frozenset[str]:
    return frozenset(all_ids())


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A heading and the cells below it.

    right : numbers, set to the right
    pads  : empty widths behind each cell that bring the decimal points into line, in digits [ch]
    """

    head: str
    texts: Sequence[str]
    right: bool
    pads: Sequence[float]


def columns(rows: Iterable[Mapping[str, Any]], heads: Mapping[str, str]) -> list[Column]:
    """The columns of rows, by the keys that have a heading; words, marked-up ones too, stay as they are."""
    listed = list(rows)
    return [_column(head, [row[key] for row in listed]) for key, head in heads.items()]


def _column(head: str, values: Sequence[Any]) -> Column:
    plain = column_texts(values)
    right = is_numeric(plain)
    pointed = any("." in text for text in plain)
    pads = [
        lacking - (0.5 if lacking and pointed and "." not in text else 0.0)  # a point is half as wide as a digit
        for lacking, text in zip(behind_point(plain) if right else [0] * len(plain), plain, strict=True)
    ]
    texts = [
        NONE if value is None else value if isinstance(value, str) else text
        for value, text in zip(values, plain, strict=True)
    ]
    return Column(head=head, texts=texts, right=right, pads=pads)


def figure_heads(group: FindingGroup) -> dict[str, str]:
    """Headings of the figures of a group, behind the lines that have them."""
    return {**({"lines": "lines"} if group.lines else {}), **{head: head for head in group.heads}}


def figure_rows(group: FindingGroup, most: int) -> list[dict[str, str]]:
    """The figures of the first messages of a group, and their lines."""
    return [
        {"lines": ", ".join(lines) or NONE, **dict(zip(group.heads, texts, strict=True))}
        for lines, texts in group.rows[:most]
    ]
