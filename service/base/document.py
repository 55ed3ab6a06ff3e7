"""The head of a report: words of the caller that nothing is calculated from."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated

from pydantic import Field

from fatcore.findings import Finding, note

from .common import Strict

Entry = Annotated[str, Field(min_length=1, max_length=200)]

_NOT_JUDGED = ("weld_size", "weld_quality", "service_environment")


class Document(Strict):
    """What stands in the title block of the report; no number depends on it, and none is taken from a clock."""

    part: Entry | None = Field(default=None, description="name of the part")
    drawing_number: Entry | None = Field(default=None, description="drawing of the part")
    drawing_revision: Entry | None = Field(default=None, description="state of the drawing or of this document")
    project: Entry | None = Field(default=None, description="project or order")
    author: Entry | None = Field(default=None, description="who made the calculation")
    checker: Entry | None = Field(default=None, description="who checked it")
    organisation: Entry | None = Field(default=None, description="company or department")
    date: Entry | None = Field(default=None, description="date of the document, as it is to be printed")
    weld_size: Entry | None = Field(default=None, description="size of the welds; repeated, not judged")
    weld_quality: Entry | None = Field(default=None, description="quality level of the welds; repeated, not judged")
    service_environment: Entry | None = Field(default=None, description="environment in use; repeated, not judged")
    signatures: bool = Field(default=False, description="whether the report ends with a block to sign")


class Titled(Strict):
    """A request whose report has a title and a title block."""

    title: Annotated[str, Field(max_length=300)] = ""
    document: Document | None = Field(default=None, description="title block of the report")


def document_findings(request: Strict) -> Iterator[Finding]:
    """That words which a rule might depend on are repeated and decide nothing."""
    document = request.document if isinstance(request, Titled) else None
    given = [name for name in _NOT_JUDGED if document is not None and getattr(document, name) is not None]
    if given:
        words = ", ".join(name.replace("_", " ") for name in given)
        text = f"words of the document ({words}) stand in the report and decide nothing: curve and corrections do"
        yield note("document-not-judged", text, field="document")
