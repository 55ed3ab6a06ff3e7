"""Texts of the caller in CSV: none begins a formula, whatever stands before its sign or parts the cells."""

from __future__ import annotations

import csv
import io

import pytest

from service.base.forms.csv_table import csv_table
from service.base.forms.printable import LINES, escaped

BEFORE = ["", " ", "   ", "\t", "\r", "\n", "\v", "\x00", "\xa0", "\u3000", "\u200b", "\ufeff", "\u202e", " \t "]


def cell(text: str) -> str:
    """The text as it stands in the table."""
    rows = list(csv.reader(io.StringIO(csv_table({"name": [text]}), newline="")))
    return rows[1][0]


@pytest.mark.parametrize("sign", ["=", "+", "-", "@", "\uff1d", "\uff0b", "\uff0d", "\uff20"])
@pytest.mark.parametrize("before", BEFORE)
def test_a_sign_behind_blanks_begins_no_formula(before: str, sign: str) -> None:
    text = f"{before}{sign}1+1"
    told = csv_table({text: [text]})
    assert cell(text).startswith("'")
    assert cell(text).replace("'", "") == escaped(text, keep=LINES)
    assert told.lstrip('"').startswith("'")  # names of columns as well


@pytest.mark.parametrize("part", [";", "\t", "\n", "|"])
def test_nor_does_one_behind_the_separator_of_another_program(part: str) -> None:
    assert cell(f"toe{part} =1+1") == f"toe{part}' =1+1"


@pytest.mark.parametrize("text", ["toe", "a-b", "a = b", "1;2", "a; b", "", " ", "weld 3 (left)", "Δσ"])
def test_other_texts_stay_as_they_are(text: str) -> None:
    assert cell(text) == text


def test_numbers_keep_their_sign() -> None:
    assert csv_table({"stress_mpa": [-1.0]}) == "stress_mpa\r\n-1.0\r\n"


def test_a_long_text_of_blanks_takes_no_time() -> None:
    assert len(cell(" " * 100_000 + "x")) == 100_001
