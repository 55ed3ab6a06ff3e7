"""The documents behind the curve tables by their source key, for the rules that go with the curves."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any, NamedTuple

from fatcore.errors import NotCoveredError, UnknownError
from fatcore.tables import load, table_names


class Document(NamedTuple):
    """A table of data/curves: the name it is loaded by, and its content."""

    table: str
    content: Mapping[str, Any]


@cache
def all_documents() -> Mapping[str, Document]:
    """Every curve table by the key of its source."""
    found = (Document(table, load(table)) for table in table_names("curves"))
    return {each.content["source"]: each for each in found}


def document(key: str) -> Document:
    """The table of a document, like 'iiw-2016'; UnknownError when there is none."""
    documents = all_documents()
    if key not in documents:
        raise UnknownError("document", key, documents, "document")
    return documents[key]


def rule(key: str, name: str) -> Mapping[str, Any]:
    """One section of a document's table; NotCoveredError when the document has none here."""
    content = document(key).content
    if name not in content:
        what = name.replace("_", " ")
        raise NotCoveredError(f"{content.get('title', key)}: no rule on {what} here", "document")
    section: Mapping[str, Any] = content[name]
    return section
