"""Tables with gaps, weights that hide a mode, lines under new names, stresses that no steel holds."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import httpx
import pytest

from service import cli
from tests.api.test_command_line import LONG, LOOP_MAP, ROWS
from tests.api.test_command_line_tables import TABLE, lines_of

Found = dict[str, Any]
I71 = "iiw-2016-normal-steel-71"

# --- blank lines between rows of data

GAPS = {
    "unix": ("stress_mpa\n0\n\n80\n0\n", 2),
    "windows": ("stress_mpa\r\n0\r\n80\r\n\r\n0\r\n", 3),
    "old line ends": ("stress_mpa\n0\r80\r\r0\r", 3),
    "spaces": ("stress_mpa\n0\n80\n0\n  \t\n80\n", 4),
    "first": ("stress_mpa\n\n0\n80\n0\n", 1),
    "two columns": ("time_s;stress_mpa\n0;0\n1;80\n\n3;0\n", 3),
    "decimal commas": ("stress_mpa\n0,5\n\n80,5\n0,5\n", 2),
}


def sent(client: httpx.Client, route: str, table: str, **query: str) -> httpx.Response:
    where = {"columns": "stress_mpa", **query}
    return client.post(f"/v1/spectrum/{route}", params=where, content=table, headers={"content-type": "text/csv"})


@pytest.mark.parametrize("route", ["cycles", "damage"])
@pytest.mark.parametrize(("table", "row"), GAPS.values(), ids=GAPS)
def test_empty_cell_of_a_single_column_is_no_sample_less(
    client: httpx.Client, route: str, table: str, row: int
) -> None:
    more = {"curve": I71} if route == "damage" else {}
    reply = sent(client, route, table, **more)
    assert reply.status_code == 422
    assert f"row {row} under the line of names is blank" in reply.json()["detail"]


def test_blank_lines_around_a_table_say_nothing(client: httpx.Client) -> None:
    plain = sent(client, "damage", "stress_mpa\n0\n80\n0\n", curve=I71)
    framed = sent(client, "damage", "\r\n\r\nstress_mpa\r\n0\r\n80\r\n0\r\n\r\n \r\n", curve=I71)
    assert (plain.status_code, plain.json()["answer"]) == (200, framed.json()["answer"])


@pytest.mark.parametrize("command", [["count"], ["damage", "--curve", I71]])
@pytest.mark.parametrize("suffix", ["csv", "txt"])
def test_command_line_refuses_the_gap(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], command: list[str], suffix: str
) -> None:
    path = tmp_path / f"load.{suffix}"
    path.write_text(GAPS["unix"][0], encoding="utf-8")
    assert cli.main([*command, str(path)]) == 2
    assert "row 2 under the line of names is blank" in capsys.readouterr().err


def test_blank_row_within_a_weld_line_is_a_station_that_is_missing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    head, first, *rest = TABLE.split("\r\n")
    for gap in ("", ";;;"):
        assert lines_of(tmp_path, LOOP_MAP, "\r\n".join([head, first, gap, *rest]))[0] == 2
        assert "row 2 under the header is blank, between rows of one line" in capsys.readouterr().err


def test_blank_rows_between_lines_and_load_cases_are_common_in_exports(tmp_path: Path) -> None:
    plain = lines_of(tmp_path, LONG, "\n".join(ROWS))[1].read_text(encoding="utf-8")
    head, *rows = ROWS
    kinds = [tuple(row.split(",")[:1]) for row in rows]
    spaced = [head, ""]
    for at, row in enumerate(rows):
        spaced += ["", row] if at and kinds[at] != kinds[at - 1] else [row]
    found = lines_of(tmp_path, LONG, "\n".join(spaced))[1].read_text(encoding="utf-8")
    assert json.loads(found) == json.loads(plain)
