"""The page around every report: what its template is given, from the envelope and from the report itself."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined

from ..base.finding_rows import FindingRow, finding_rows
from ..base.text import number
from .policy import POLICY

TEMPLATES = Environment(
    loader=PackageLoader(__package__),
    autoescape=True,
    undefined=StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
)
TEMPLATES.filters["number"] = number


def page(template: str, envelope: Mapping[str, Any], **content: Any) -> str:
    """The whole page as text of an HTML file; the content has the names that the template uses."""
    rows = finding_rows(envelope["findings"])
    kinds: dict[tuple[str, str], list[FindingRow]] = {}
    for row in rows:
        kinds.setdefault((row.severity, row.code), []).append(row)
    return TEMPLATES.get_template(template).render(
        policy=POLICY,
        envelope=envelope,
        answer=envelope["answer"],
        outside=[row for row in rows if row.severity == "outside"],
        counts=Counter(row.severity for row in rows),
        kinds=list(kinds.values()),
        **content,
    )
