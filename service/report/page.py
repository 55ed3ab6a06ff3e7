"""The page around every report: what its template is given, from the envelope and from the report itself."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from fatcore.figures import against, as_given, beside_asked, beside_limit, change, just_passing, rounded_down

from ..base.document import Titled
from ..base.finding_rows import finding_groups, finding_rows
from ..base.forms.lives import asked_text, cycles_text, life_facts, service_text, without_choices
from ..base.forms.printable import LINES, escaped
from ..base.forms.unbroken import unbroken
from ..base.text import number
from ..comparison.changes import Comparison
from .policy import POLICY
from .tables import columns, figure_heads, figure_rows

MOST_CHANGES = 200  # rows of a table
MOST_REASONS = 10


def _shown(value: Any) -> Any:
    """What an expression of a template writes; markup is made of what was shown."""
    return escaped(value, keep=LINES) if type(value) is str else value


TEMPLATES = Environment(
    loader=PackageLoader(__package__),
    autoescape=True,
    finalize=_shown,
    undefined=StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
)
TEMPLATES.filters.update(
    number=number, as_given=as_given, against=against, beside=beside_limit, columns=columns, service=service_text
)
TEMPLATES.filters.update(asked=asked_text, beside_asked=beside_asked, lived=cycles_text, life_facts=life_facts)
TEMPLATES.filters.update(just_passing=just_passing, without_choices=without_choices, down=rounded_down, change=change)


MOST_ROWS, MOST_KINDS = 40, 100  # of one kind of finding, and kinds
TEMPLATES.filters.update(figure_heads=figure_heads, figure_rows=figure_rows)


def css_text(words: str) -> Markup:
    """Words as a string of a style sheet, in which nothing but letters, digits and blanks stands as it is.

    >>> css_text('a</style>"')
    Markup('"a\\\\3c \\\\2f style\\\\3e \\\\22 "')
    """
    kept = (each if each.isalnum() or each == " " else f"\\{ord(each):x} " for each in words)
    return Markup('"' + "".join(kept) + '"')


TEMPLATES.filters["css_text"] = css_text


def page(
    template: str,
    envelope: Mapping[str, Any],
    *,
    request: Titled,
    changes: Comparison | None = None,
    stopped: Sequence[str] = (),
    **content: Any,
) -> str:
    """The whole page as text of an HTML file; the content has the names that the template uses.

    changes : since an older answer, None where it is compared with none
    stopped : why a gate stops it
    """
    found = finding_groups(envelope["findings"], _named_first(envelope["answer"]))
    doubts = [group for group in found if group.severity != "note"]
    made = TEMPLATES.get_template(template).render(
        policy=POLICY,
        envelope=envelope,
        answer=envelope["answer"],
        outside=[row for row in finding_rows(envelope["findings"]) if row.severity == "outside"],
        counts=Counter(group.severity for group in doubts),
        groups=doubts,
        rules=[group for group in found if group.severity == "note"],
        line_count=len(envelope["answer"].get("lines", ())),
        most_rows=MOST_ROWS,
        most_kinds=MOST_KINDS,
        request=request,
        document=request.document,
        head=list(_head(request)),
        changes=changes,
        most_changes=MOST_CHANGES,
        stopped=stopped,
        most_reasons=MOST_REASONS,
        **content,
    )
    return unbroken(made)


def _named_first(answer: Mapping[str, Any]) -> set[str]:
    """Lines whose findings stand before those of the others: the governing one and those that decide."""
    return {answer["governing"]["line"], *answer["deciding_lines"]} if "deciding_lines" in answer else set()


def _head(request: Titled) -> Iterator[tuple[str, str]]:
    """The entries of the title block that are given."""
    given = {} if request.document is None else request.document.model_dump(exclude={"signatures"}, exclude_none=True)
    yield from ((name.replace("_", " "), words) for name, words in given.items())
