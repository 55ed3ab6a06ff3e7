"""A check as CSV: a row a station over HTTP, a row a weld line from the command line."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

import httpx
import pytest

from service import cli
from service.base.forms.csv_table import csv_table

EXAMPLE = json.loads(Path("openapi_examples/check/one-toe-constant.json").read_text(encoding="utf-8"))
HANGER = json.loads(Path("openapi_examples/check/bracket-hanger.json").read_text(encoding="utf-8"))


def rows_of(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_every_station_says_verdict_and_utilisation_of_its_line(client: httpx.Client) -> None:
    answer = HANGER["response"]["answer"]
    rows = rows_of(client.post("/v1/check", json=HANGER["request"], headers={"Accept": "text/csv"}).text)
    assert len(rows) == sum(len(line["position_mm"]) for line in answer["lines"])
    lines = {line["name"]: line for line in answer["lines"]}
    for row in rows:
        line = lines[row["line"]]
        assert row["verdict"] == line["verdict"]
        assert float(row["line_utilisation"]) == pytest.approx(line["governing_utilisation"], rel=1e-9)
        if row["governs_line"] == "True":
            assert row["utilisation"] == row["line_utilisation"]


def table_of(request: dict[str, Any], folder: Path) -> list[dict[str, str]]:
    (folder / "check.json").write_text(json.dumps(request), encoding="utf-8")
    assert cli.main(["check", str(folder / "check.json"), "--csv", str(folder / "lines.csv")]) == 0
    return rows_of((folder / "lines.csv").read_bytes().decode())


def test_the_command_writes_a_row_a_line_with_units_in_its_headings(tmp_path: Path) -> None:
    answer = HANGER["response"]["answer"]
    rows = table_of(HANGER["request"], tmp_path)
    assert list(rows[0]) == [
        *("line", "verdict", "utilisation", "equivalent_stress_mpa", "biaxiality_ratio", "damage", "life_cycles"),
        *("damage_limit", "curve", "station", "position_mm", "node_id", "x_mm", "y_mm", "z_mm"),
    ]
    assert [row["line"] for row in rows] == [line["name"] for line in answer["lines"]]
    for row, line in zip(rows, answer["lines"], strict=True):
        assert row["verdict"] == line["verdict"]
        assert float(row["utilisation"]) == pytest.approx(line["governing_utilisation"], rel=1e-9)
        assert int(row["station"]) == line["governing_index"]
        assert float(row["life_cycles"]) == pytest.approx(line["life_cycles"][line["governing_index"]], rel=1e-9)
        assert int(row["node_id"]) == line["governing"]["node_id"]
        assert [float(row[f"{axis}_mm"]) for axis in "xyz"] == line["governing"]["coordinates_mm"]


def test_lines_without_a_place_have_no_columns_of_it_and_an_infinite_life_says_so(tmp_path: Path) -> None:
    request = json.loads(json.dumps(EXAMPLE["request"]))
    for line in request["lines"]:
        line.pop("node_id", None)
        line.pop("coordinates_mm", None)
    (row, *_) = table_of(request, tmp_path)
    assert "node_id" not in row
    assert "x_mm" not in row
    assert csv_table({"life_cycles": [None, 5.0], "shape": [None]}) == "life_cycles,shape\r\ninfinite,\r\n5.0,\r\n"


def test_places_of_some_lines_leave_the_others_blank(tmp_path: Path) -> None:
    request = json.loads(json.dumps(HANGER["request"]))
    for name in ("coordinates_mm", "node_id"):
        request["lines"][0].pop(name)
    rows = table_of(request, tmp_path)
    assert [rows[0][name] for name in ("node_id", "x_mm")] == ["", ""]
    assert rows[1]["x_mm"]
