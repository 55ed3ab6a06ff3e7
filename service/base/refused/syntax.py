"""Why a text is no JSON, TOML or XML, in words that need no knowledge of the reader."""

from __future__ import annotations

import json
import re

LONGEST_LINE = 60  # of the text that is shown

_COMMENTS = "/#"


def json_words(error: json.JSONDecodeError) -> str:
    """What is wrong with a JSON text, and where.

    >>> try: json.loads('{"a": [1, 2,]}')
    ... except json.JSONDecodeError as error: json_words(error)
    'line 1, column 12: there is a comma too many'
    """
    if not error.doc.strip():
        return "it is empty"
    before = error.doc[: error.pos].rstrip()
    if error.doc[error.pos : error.pos + 1] in ("]", "}") and before.endswith(","):  # later readers name the comma
        error = json.JSONDecodeError("trailing comma", error.doc, len(before) - 1)
    return f"line {error.lineno}, column {error.colno}: {_json_fault(error)}"


def _json_fault(error: json.JSONDecodeError) -> str:
    found = error.doc[error.pos : error.pos + 1]
    message = error.msg
    if "trailing comma" in message:
        return "there is a comma too many"
    if found == "":
        return "the text ends before its value is complete"
    if found in _COMMENTS:
        return "JSON has no comments"
    if found == "'":
        return "texts and names stand in double quotes"
    if message.startswith("Unterminated string"):
        return 'this text has no end: a double quote (") is missing'
    if message.startswith("Invalid control character"):
        return "a text holds a tab or the end of a line: write \\t or \\n"
    if message.startswith("Invalid \\"):
        return "a backslash in a text is written twice (\\\\)"
    if message.startswith("Extra data"):
        return f"{found!r} follows after the end of the value"
    return _json_expected(message, found)


def _json_expected(message: str, found: str) -> str:
    if "':'" in message:
        return f"a colon is expected after the name, not {found!r}"
    if "','" in message:
        return f"a comma or the end of the list or object is expected, not {found!r}"
    if "property name" in message:
        return f"a name in double quotes is expected, not {found!r}"
    if found in "]}":
        return f"a value is missing before {found!r}"
    return f"a value is expected (texts in double quotes), not {found!r}"


def xml_words(error: Exception) -> str:
    """What is wrong with an XML text, and where."""
    if getattr(error, "code", None) == _XML_EMPTY:
        return "it is empty, or ends too early"
    line, column = getattr(error, "position", (1, 0))
    return f"it is no XML from line {line}, column {column + 1} on"


_XML_EMPTY = 3  # the reader's number for a text without an element
_PLACE = re.compile(r" *\(at (?:line (\d+), column (\d+)|end of document)\)$")
_TOML = (  # beginning of what the reader says, and what a person is told
    ("Cannot overwrite a value", "this key or table is there already"),
    ("Cannot declare", "this table is there already, once as [table] and once as [[table]] or key"),
    ("Cannot mutate immutable", "this table is there already, in braces"),
    ("Duplicate inline table key", "this key is there already"),
    ("Invalid value", "a value is expected: texts stand in quotes, numbers have a point"),
    ("Invalid statement", "a key, an equals sign and a value are expected, or [table]"),
    ("Expected newline or end of document", "nothing may follow the value on its line (numbers have a point)"),
    ("Expected '=' after a key", "an equals sign is expected after the key"),
    ("Expected ']", "the bracket of the table is not closed"),
    ("Unclosed array", "the bracket of the list is not closed"),
    ("Unclosed inline table", "the brace is not closed"),
    ("Unterminated string", "this text has no end: a quote is missing"),
    ("Expected", "a quote, a bracket or a brace is missing"),
    ("Illegal character", "a text holds the end of a line or another sign that cannot stand there"),
    ("Unescaped '\\'", "a backslash in a text is written twice (\\\\), or the text stands in single quotes"),
    ("Invalid initial character for a key part", "a key is expected, of letters, digits, _ and -, or in quotes"),
)


def toml_words(text: str, message: str) -> str:
    """What is wrong with a TOML text, and where.

    message : of the reader

    >>> toml_words('form = long', "Invalid value (at line 1, column 8)")
    'line 1 (form = long): a value is expected: texts stand in quotes, numbers have a point'
    """
    place = _PLACE.search(message)
    said = message if place is None else message[: place.start()]
    told = next((words for start, words in _TOML if said.startswith(start)), "it cannot be read there")
    if place is None or place[1] is None:
        return f"at its end: {told}"
    line = text.split("\n")[int(place[1]) - 1].strip()
    return f"line {place[1]} ({line[:LONGEST_LINE]}): {told}"
