"""The place of a governing station: line, index, arc length, coordinates and node, the same in every output."""

from __future__ import annotations

import csv
import html
import io
import json
import re
from pathlib import Path
from typing import Any

import httpx
import pytest

from service.base.text import place_text
from service.cli import main

NODES = [1_000_007, 1_000_013, 1_000_020]
POINTS = [[318.25, -12.0, 0.0], [318.25, -1012.5, 0.0], [318.25, -12345.5, 0.0]]
WHERE = {
    "toe": "station 2, 12333.5 mm, node 1000020, at (318.25, -12345.5, 0)",
    "plain": "station 0, 5 mm",
}


def line(name: str, values: list[float], **more: Any) -> dict[str, Any]:
    return {
        "name": name,
        "basis": "nominal",
        "position_mm": [0.0, 1000.5, 12333.5],
        "cases": {"pull": {"normal_mpa": values}},
        **more,
    }


def request() -> dict[str, Any]:
    toe = line("toe", [10.0, 20.0, 60.0], coordinates_mm=POINTS, node_id=NODES)
    plain = line("plain", [30.0], position_mm=[5.0])
    factors = {"pull": {"minimum": 0.0, "maximum": 1.0}}
    return {
        "lines": [plain, toe],
        "loading": {"kind": "constant", "cycles": 1000.0, "factors": factors},
        "curves": {"rule": "fixed", "curve": "iiw-2016-normal-steel-90"},
    }


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "check.json").write_text(json.dumps(request()))
    return tmp_path


def test_the_answer_has_the_place_of_every_line(client: httpx.Client) -> None:
    answer = client.post("/v1/check", json=request()).json()["answer"]
    places = {each["name"]: each["governing"] for each in answer["lines"]}
    assert places["toe"] == {
        "line": "toe",
        "index": 2,
        "position_mm": 12333.5,
        "coordinates_mm": POINTS[2],
        "node_id": 1_000_020,
    }
    assert places["plain"] == {
        "line": "plain",
        "index": 0,
        "position_mm": 5.0,
        "coordinates_mm": None,
        "node_id": None,
    }
    assert answer["governing"] == places["toe"]
    assert {name: place_text(place) for name, place in places.items()} == WHERE


def test_text_says_the_places_and_with_the_findings_the_courses(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    main(["check", "check.json"])
    text = capsys.readouterr().out
    assert f"governing point       toe, {WHERE['toe']}\n" in text
    assert f"\ngoverning station of every line\n  toe: {WHERE['toe']}\n  plain: {WHERE['plain']}\n\n" in text
    assert "starts at" not in text
    main(["check", "check.json", "--findings"])
    assert (
        f"  toe: {WHERE['toe']}\n"
        "      starts at station 0, 0 mm, node 1000007, at (318.25, -12, 0)\n"
        "      runs by station 1, 1000.5 mm, node 1000013, at (318.25, -1012.5, 0)\n"
        "      ends at station 2, 12333.5 mm, node 1000020, at (318.25, -12345.5, 0)\n"
        f"  plain: {WHERE['plain']}\n"
        "      starts at station 0, 5 mm\n"
    ) in capsys.readouterr().out


def test_a_loop_closes_and_a_line_of_two_stations_ends_where_it_runs_to(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    given = request()
    ring = [[0.0, 0.0, 0.0], [10.0, 0.0, 0.0], [5.0, 8.0, 0.0]]
    given["lines"] = [
        line("ring", [9.0, 8.0, 7.0], coordinates_mm=ring, closed=True, position_mm=[0.0, 10.0, 19.434]),
        line("short", [9.0, 8.0], position_mm=[0.0, 4.0]),
    ]
    (folder / "check.json").write_text(json.dumps(given))
    main(["check", "check.json", "--findings"])
    text = capsys.readouterr().out
    assert "      runs by station 1, 10 mm, at (10, 0, 0)\n      closes after station 2, 19.434 mm" in text
    assert "      starts at station 0, 0 mm\n      ends at station 1, 4 mm\n" in text


def test_csv_marks_the_governing_stations(client: httpx.Client) -> None:
    text = client.post("/v1/check", json=request(), headers={"Accept": "text/csv"}).text
    rows = list(csv.DictReader(io.StringIO(text)))
    of_lines = [row for row in rows if row["governs_line"] == "True"]
    assert [(row["line"], row["index"]) for row in of_lines] == [("plain", "0"), ("toe", "2")]
    (point,) = [row for row in rows if row["governs_check"] == "True"]
    names = ("line", "index", "position_mm", "node_id", "x_mm", "y_mm", "z_mm")
    assert [point[name] for name in names] == ["toe", "2", "12333.5", "1000020", "318.25", "-12345.5", "0.0"]


CURVE = "iiw-2016-normal-steel-90"


def test_the_gate_says_it_in_every_form(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["gate", "check.json", "--junit", "j.xml", "--markdown", "m.md", "--limit", "0.0001"]) == 1
    where = WHERE["toe"]
    told = capsys.readouterr().out
    assert all(f" {word}" in told for word in where.split())  # the column folds
    assert f"governing point: toe, {where}" in (folder / "j.xml").read_text()
    markdown = (folder / "m.md").read_text()
    assert (
        f"| check.json | toe | FAILED | 0.0529 | utilisation 0.0529 is above the limit 0.0001 | {CURVE} | {where} |\n"
        in (markdown)
    )
    main(["gate", "check.json", "--json"])
    lines = json.loads(capsys.readouterr().out)["checks"][0]["lines"]
    assert [place_text(each["governing"]) for each in lines] == [WHERE["plain"], where]


def test_the_report_says_it_and_where_each_line_starts(client: httpx.Client) -> None:
    page = client.post("/v1/check", json=request(), headers={"Accept": "text/html"}).text
    text = html.unescape(re.sub(r"<svg.*?</svg>|<[^>]*>", " ", page, flags=re.DOTALL))
    words = " ".join(text.split())
    assert f"position {WHERE['toe']}" in words
    assert "toe 2 12333.5 1000020 (318.25, -12345.5, 0)" in words
    assert "plain 0 5 – –" in words
    assert "toe starts at station 0, 0 mm, node 1000007, at (318.25, -12, 0); runs by station 1, 1000.5 mm" in words


def test_a_batch_has_the_same_answer(client: httpx.Client) -> None:
    item = {"id": 1, "calculation": "check", "input": request()}
    line_of_answer = client.post("/v1/batch", json=[item]).json()
    assert place_text(line_of_answer["envelope"]["answer"]["governing"]) == WHERE["toe"]
