"""Markup that cannot be injected: whatever is not `Html` already is escaped on its way in."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from html import escape
from typing import Any

from ..base.text import number

VOID = frozenset({"meta", "br", "col"})


class Html(str):
    """Text that is markup; everything else is user input."""

    __slots__ = ()


def join_markup(parts: Iterable[object]) -> Html:
    """Parts one after the other, escaped where they are not markup; None is left out.

    >>> join_markup(["a < b", Html("<br>"), None])
    'a &lt; b<br>'
    """
    return Html("".join(p if isinstance(p, Html) else escape(str(p)) for p in parts if p is not None))


def tag(name: str, /, *content: object, **attributes: object) -> Html:
    """An element; `class_` stands for class, other underscores for hyphens, None leaves an attribute out.

    >>> tag("p", "x & y", class_="lead")
    '<p class="lead">x &amp; y</p>'
    """
    given = {key.rstrip("_").replace("_", "-"): value for key, value in attributes.items()}
    texts = [f' {key}="{escape(str(value))}"' for key, value in given.items() if value is not None]
    start = f"<{name}{''.join(texts)}>"
    return Html(start) if name in VOID else Html(f"{start}{join_markup(content)}</{name}>")


def cell(value: Any) -> Html:
    """A value of a table or list: numbers rounded for reading, None as a dash.

    >>> cell(None), cell(0.0123456)
    ('–', '0.01235')
    """
    if value is None:
        return Html("–")
    return value if isinstance(value, Html) else join_markup([number(value)])


def facts(pairs: Mapping[str, Any], *, wide: bool = False) -> Html:
    """Names and values as a description list; values that are None are left out; wide: one a row."""
    kept = [(name, value) for name, value in pairs.items() if value is not None]
    rows = [tag("div", tag("dt", name), tag("dd", cell(value))) for name, value in kept]
    return tag("dl", *rows, class_="facts wide" if wide else "facts")


def table(
    columns: Mapping[str, str],
    rows: Sequence[Mapping[str, Any]],
    *,
    caption: str = "",
    figures: Iterable[str] = (),
) -> Html:
    """Rows under headings; columns maps key to heading; numbers and keys in figures are set to the right."""
    numeric = {key for key in columns if any(_is_number(row.get(key)) for row in rows)} | set(figures)
    kinds = {key: "number" if key in numeric else None for key in columns}
    head = tag("tr", *[tag("th", text, scope="col", class_=kinds[key]) for key, text in columns.items()])
    body = [tag("tr", *[tag("td", cell(row.get(key)), class_=kinds[key]) for key in columns]) for row in rows]
    title = tag("caption", caption) if caption else None
    inner = tag("table", title, tag("thead", head), tag("tbody", *body))
    return tag("div", inner, class_="scroll")


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)
