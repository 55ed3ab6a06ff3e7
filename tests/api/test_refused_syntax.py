"""Texts that are no JSON, TOML or XML are told in plain words, at their line."""

from __future__ import annotations

import json
import tomllib
from xml.etree import ElementTree

import pytest

from service.base.parsing import strict_json, toml_of
from service.base.problems import Problem
from service.base.refused.syntax import json_words, toml_words, xml_words

EXPECTED_VALUE = "a value is expected (texts in double quotes), not "
QUOTES = "texts and names stand in double quotes"
COMMA = "a comma or the end of the list or object is expected, not "
JSON_TEXTS = {
    "": "it is empty",
    " \n": "it is empty",
    '{"a": [1,]}': "line 1, column 9: there is a comma too many",
    '{"a":}': "line 1, column 6: a value is missing before '}'",
    "{'a': 1}": f"line 1, column 2: {QUOTES}",
    "{\"a\": 'x'}": f"line 1, column 7: {QUOTES}",
    '{"a": 1,}': "line 1, column 8: there is a comma too many",
    "{a: 1}": "line 1, column 2: a name in double quotes is expected, not 'a'",
    '{"a" 1}': "line 1, column 6: a colon is expected after the name, not '1'",
    '{\n"a": 1 "b": 2}': f"line 2, column 8: {COMMA}'\"'",
    '{"a": 1,5}': "line 1, column 9: a name in double quotes is expected, not '5'",
    "[1 2]": f"line 1, column 4: {COMMA}'2'",
    "{}{": "line 1, column 3: '{' follows after the end of the value",
    "{} // x": "line 1, column 4: JSON has no comments",
    "# x\n{}": "line 1, column 1: JSON has no comments",
    '{"a": "x': 'line 1, column 7: this text has no end: a double quote (") is missing',
    "[1, 2": "line 1, column 6: the text ends before its value is complete",
    "[": "line 1, column 2: the text ends before its value is complete",
    '{"a": True}': f"line 1, column 7: {EXPECTED_VALUE}'T'",
    '{"a": .5}': f"line 1, column 7: {EXPECTED_VALUE}'.'",
    "lines": f"line 1, column 1: {EXPECTED_VALUE}'l'",
    '"\\q"': "line 1, column 2: a backslash in a text is written twice (\\\\)",
    '"\\u12"': "line 1, column 3: a backslash in a text is written twice (\\\\)",
    '"x\ty"': "line 1, column 3: a text holds a tab or the end of a line: write \\t or \\n",
}


@pytest.mark.parametrize(("text", "words"), JSON_TEXTS.items())
def test_json_that_is_none_says_what_a_person_would(text: str, words: str) -> None:
    with pytest.raises(Problem) as refused:
        strict_json(text.encode(), "a.json")
    assert refused.value.detail == f"a.json is not JSON: {words}"


def test_a_later_reader_blames_the_comma_itself() -> None:
    """Python 3.13 points at the comma, earlier ones at what follows it."""
    text = '{"a": 1,}'
    error = json.JSONDecodeError("Illegal trailing comma before end of object", text, 7)
    assert json_words(error) == "line 1, column 8: there is a comma too many"


VALUE = "a value is expected: texts stand in quotes, numbers have a point"
BACKSLASH = "a backslash in a text is written twice (\\\\), or the text stands in single quotes"
TWICE = "this table is there already, once as [table] and once as [[table]] or key"
TOML_TEXTS = {
    "  \n": None,
    "a = long": f"line 1 (a = long): {VALUE}",
    "b = 1\na = 8,5": "line 2 (a = 8,5): nothing may follow the value on its line (numbers have a point)",
    "a = 1\na = 2\n": "line 2 (a = 2): this key or table is there already",
    "[[a]]\n[a]": f"line 2 ([a]): {TWICE}",
    "[a]\n[a]": f"line 2 ([a]): {TWICE}",
    "[a\nb = 1": "line 1 ([a): the bracket of the table is not closed",
    "a": "at its end: an equals sign is expected after the key",
    "a b = 1": "line 1 (a b = 1): an equals sign is expected after the key",
    "a = {b = 1": "at its end: the brace is not closed",
    'a = "x': "at its end: this text has no end: a quote is missing",
    "a = 'x": "at its end: a quote, a bracket or a brace is missing",
    "= 5": "line 1 (= 5): a key, an equals sign and a value are expected, or [table]",
    '{"lines": []}': 'line 1 ({"lines": []}): a key, an equals sign and a value are expected, or [table]',
    'a = "c:\\xyz"': f'line 1 (a = "c:\\xyz"): {BACKSLASH}',
    "a = {b = 1,\nc = 2}": "line 1 (a = {b = 1,): a key is expected, of letters, digits, _ and -, or in quotes",
    f"a = {'x' * 90}": f"line 1 (a = {'x' * 56}): {VALUE}",
}


@pytest.mark.parametrize(("text", "words"), TOML_TEXTS.items())
def test_toml_that_is_none_says_what_a_person_would(text: str, words: str | None) -> None:
    if words is None:
        assert toml_of(text) == tomllib.loads(text) == {}
        return
    with pytest.raises(Problem) as refused:
        toml_of(text, "m.toml")
    assert refused.value.detail == f"m.toml is not TOML: {words}"


def test_what_no_reader_is_known_to_say_still_names_the_line() -> None:
    assert toml_words("a\nb", "Odd thing (at line 2, column 1)") == "line 2 (b): it cannot be read there"
    assert toml_words("a", "Odd thing") == "at its end: it cannot be read there"


def test_xml_that_is_none_says_where() -> None:
    with pytest.raises(ElementTree.ParseError) as refused:
        ElementTree.fromstring("<a>\n <b></a>")
    assert xml_words(refused.value) == "it is no XML from line 2, column 7 on"
    with pytest.raises(ElementTree.ParseError) as refused:
        ElementTree.fromstring("")
    assert xml_words(refused.value) == "it is empty, or ends too early"
    assert xml_words(ValueError("odd")) == "it is no XML from line 1, column 1 on"
