"""Tables as programs export them: encodings, line ends, separators, blank and ragged rows, repeated names."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from service import cli
from tests.api.test_command_line import LONG, LOOP_MAP, ROWS, WHOLE, loop_table

TABLE = loop_table(WHOLE)


def lines_of(tmp_path: Path, table_map: str | bytes, table: str | bytes) -> tuple[int, Path]:
    """Exit code of `toeline lines`, and the file of the request."""
    for name, content in (("map.toml", table_map), ("table.csv", table)):
        (tmp_path / name).write_bytes(content if isinstance(content, bytes) else content.encode())
    out = tmp_path / "check.json"
    out.unlink(missing_ok=True)
    arguments = ["lines", str(tmp_path / "table.csv"), "--map", str(tmp_path / "map.toml"), "-o", str(out)]
    return cli.main(arguments), out


SAME_TABLES: dict[str, tuple[str, str | bytes]] = {
    "byte order mark": (LOOP_MAP, b"\xef\xbb\xbf" + TABLE.encode()),
    "two-byte text": (LOOP_MAP, TABLE.encode("utf-16")),
    "line feeds": (LOOP_MAP, TABLE.replace("\r\n", "\n")),
    "carriage returns": (LOOP_MAP, TABLE.replace("\r\n", "\r")),
    "blank rows and empty cells": (LOOP_MAP, TABLE.replace("\r\n", ";;\r\n") + ";;;;\r\n\r\n"),
    "spaces around names": (LOOP_MAP, TABLE.replace("X;Y;", " X ; Y ;")),
    "quotes": (LOOP_MAP, TABLE.replace("X;Y;", '"X";"Y";')),
    "tabulators": (LOOP_MAP.replace('";"', r'"\t"'), TABLE.replace(";", "\t")),
    "decimal points": (
        LOOP_MAP.replace('decimal = ","', 'decimal = "."'),
        loop_table(WHOLE, decimal="."),
    ),
    "commas": (
        LOOP_MAP.replace('decimal = ","', "").replace('delimiter = ";"', ""),
        loop_table(WHOLE, delimiter=",", decimal="."),
    ),
}


@pytest.mark.parametrize("case", SAME_TABLES)
def test_one_table_in_many_forms(tmp_path: Path, case: str) -> None:
    plain = lines_of(tmp_path, LOOP_MAP, TABLE)[1].read_text(encoding="utf-8")
    code, out = lines_of(tmp_path, *SAME_TABLES[case])
    assert code == 0
    assert json.loads(out.read_text(encoding="utf-8")) == json.loads(plain)


LAST = TABLE.split("\r\n")[-2]
SINGLE = "\r\n".join(TABLE.split("\r\n")[:2])
REFUSED_TABLES: dict[str, tuple[str | bytes, str | bytes, str]] = {
    "eight-bit text": (LOOP_MAP, TABLE.replace("X;", "Xä;", 1).encode("latin-1"), "save it as UTF-8"),
    "map that is no text": (b"\xff\xfe\xff", TABLE, "map.toml is not UTF-8"),
    "short row": (
        LOOP_MAP,
        TABLE.replace("\n" + LAST, "\n1;2"),
        "row 40 under the header has 2 cells where 10",
    ),
    "short row of a long table": (LONG, "\n".join([*ROWS, "R1P_root"]), "cells where"),
    "shifted row": (
        LOOP_MAP,
        TABLE.replace("\n" + LAST, "\n" + LAST + ";7"),
        "row 40 under the header has 11 cells",
    ),
    "column named twice": (LOOP_MAP, TABLE.replace("b11", "a11", 1), "more than one column 'a11'"),
    "thousands": (LOOP_MAP, TABLE.replace("100,000000000", "1.100", 1), "'1.100'"),
    "underscore": (LOOP_MAP, TABLE.replace("100,000000000", "1_100", 1), "'1_100'"),
    "empty file": (LOOP_MAP, "", "table.csv: the table is empty"),
    "field without end": (LOOP_MAP, TABLE.replace("X;", 'X;"' + "z" * 140_000, 1), "no CSV"),
    "node listed twice": (LOOP_MAP, TABLE + LAST, "list a node once"),
    "one node": (LOOP_MAP, SINGLE, "2 <= n"),
}


@pytest.mark.parametrize("case", REFUSED_TABLES)
def test_tables_that_would_be_misread_are_refused(
    tmp_path: Path, case: str, capsys: pytest.CaptureFixture[str]
) -> None:
    table_map, table, message = REFUSED_TABLES[case]
    assert lines_of(tmp_path, table_map, table)[0] == 2
    assert message in capsys.readouterr().err


def test_loop_that_repeats_its_first_node_in_an_ordered_table(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = [row + f";{number}" for number, row in enumerate(TABLE.split("\r\n")[1:-1])]
    header = TABLE.split("\r\n")[0] + ";seq"
    again = rows[0].rsplit(";", 1)[0] + ";40"
    ordered = LOOP_MAP.replace('delimiter = ";"', 'delimiter = ";"\norder = "seq"').replace(
        "opening_angle_deg", "closed = true\nopening_angle_deg", 1
    )
    assert lines_of(tmp_path, ordered, "\n".join([header, *rows]))[0] == 0
    assert lines_of(tmp_path, ordered, "\n".join([header, *rows, again]))[0] == 2
    assert "coincide" in capsys.readouterr().err


def test_two_nodes_are_a_line(tmp_path: Path) -> None:
    two = "\r\n".join(TABLE.split("\r\n")[:3])
    code, out = lines_of(tmp_path, LOOP_MAP, two)
    assert code == 0
    (line,) = json.loads(out.read_text(encoding="utf-8"))["lines"]
    assert line["closed"] is False
    assert np.allclose(line["tangent"][0], line["tangent"][1])
