"""Forms of a check that dropped its verdict or told another one: table, page, text, unknown media types."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

import httpx
import pytest

from service.cli import main
from tests.api.report_pages import Balanced, page_of
from tests.api.test_gate import request, write

NAMES = ("toe A", "toe B", "root", "coarse", "ends")


def mixed() -> dict[str, Any]:
    """Three lines that fail, one of them with an end left out without a reason; one undecided, one passes."""
    given = request(2.3, names=NAMES[:2])
    first = given["lines"][0]
    for name, scale in zip(NAMES[2:], (0.9, 2.4, 0.95), strict=True):
        peaks = {"opening": [scale * value for value in (4.0, 6.0, 5.0)]}
        given["lines"].append({**first, "name": name, "cases": {"vertical": {"peaks_mpa": peaks}}})
    given["lines"][3]["mesh"] = {"element": "quad4", "element_size_mm": 8.0}
    given["lines"][4] |= {"exclude_ends_mm": 1.0}
    given["lines"][4]["cases"]["vertical"]["peaks_mpa"]["opening"] = [9.0, 5.7, 5.0]
    return given


ORDER = [("toe A", "fail"), ("ends", "fail"), ("root", "fail"), ("coarse", "undecided"), ("toe B", "pass")]


def test_table_of_stations_holds_the_verdicts(client: httpx.Client) -> None:
    answer = client.post("/v1/check", json=mixed(), headers={"Accept": "text/csv"})
    rows = list(csv.DictReader(io.StringIO(answer.text)))
    assert len(rows) == 15
    assert {(row["line"], row["verdict"]) for row in rows} == set(ORDER)
    assert {row["check_verdict"] for row in rows} == {"fail"}
    assert {float(row["damage_limit"]) for row in rows} == {1.0}
    assert {row["curve"] for row in rows} == {"peak-stress-opening"}


def test_box_names_every_line_that_fails(client: httpx.Client) -> None:
    page = page_of(client, mixed())
    box = Balanced(
        page[page.index('<section class="verdict fail"') : page.index("<h2>")].rstrip().removesuffix("<section>")
    )
    assert "Failing: toe A (1.41), ends (1.34), root (1.27). Undecided: coarse (5.33)." in box.text
    assert box.text.lower().count("undecided") == 1


def cells(page: str) -> list[list[str]]:
    """The rows of the table of weld lines as text."""
    table = page[page.index("<caption>Governing station of every line") :]
    body = table[table.index("<thead>") : table.index("</table>")]
    return [[Balanced(cell).text for cell in _split(row)] for row in body.split("<tr>")[1:]]


def _split(row: str) -> list[str]:
    row = row.partition("</tr>")[0].replace("<th ", "<td ").replace("</th>", "</td>")
    return [part + "</td>" for part in map(str.strip, row.split("</td>")) if part.startswith("<td")]


def test_verdict_stands_beside_the_line_and_the_gravest_come_first(client: httpx.Client) -> None:
    head, *rows = cells(page_of(client, mixed()))
    assert head[:2] == ["line", "verdict"]
    assert [(row[0], row[1]) for row in rows] == ORDER


def test_text_has_the_same_order(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = write(tmp_path / "check.json", mixed())
    main(["check", str(path)])
    shown = [line.split("  ") for line in capsys.readouterr().out.splitlines()]
    rows = [(row[0], row[-1]) for row in shown if row[0] in NAMES and len(row) > 5]
    assert [name for name, _ in rows] == [name for name, _ in ORDER]
    main(["gate", str(path)])
    text = capsys.readouterr().out
    table = [line for line in text.splitlines() if line.endswith("FAILED")]
    assert [next(name for name in NAMES if f" {name} " in line) for line in table] == [
        "toe A",
        "ends",
        "root",
    ]


@pytest.mark.parametrize("accept", ["text/plain", "application/xml, image/png", "text/html;q=0, text/plain"])
def test_form_that_there_is_not_is_refused(client: httpx.Client, accept: str) -> None:
    answer = client.post("/v1/check", json=request(), headers={"Accept": accept})
    assert answer.status_code == 406
    assert answer.headers["content-type"] == "application/problem+json"
    assert "application/json, text/csv, text/html" in answer.json()["detail"]


@pytest.mark.parametrize(
    ("accept", "kind"),
    [
        ("*/*", "application/json"),
        ("text/plain, */*;q=0.1", "application/json"),
        ("text/*", "text/csv"),
        ("", "application/json"),
    ],
)
def test_wildcards_and_no_wish_take_the_first_form(client: httpx.Client, accept: str, kind: str) -> None:
    answer = client.post("/v1/check", json=request(), headers={"Accept": accept})
    assert (answer.status_code, answer.headers["content-type"].partition(";")[0]) == (200, kind)


def test_single_number_is_plain_text_whatever_is_accepted(client: httpx.Client) -> None:
    url = "/v1/curves/iiw-2016-normal-steel-90/life?stress_range_mpa=100&only=answer.life_cycles"
    assert client.get(url, headers={"Accept": "text/plain"}).status_code == 200
    assert json.loads(client.get(url, headers={"Accept": "image/png"}).text) > 0.0


def test_cycles_between_blocks_are_no_blocks(client: httpx.Client) -> None:
    given = request()
    factors = [{"vertical": {"maximum": high, "minimum": low}} for high, low in ((12.0, 6.0), (3.0, 0.0))]
    given["loading"] = {"kind": "blocks", "blocks": [{"factors": f, "cycles": 1e5} for f in factors]}
    page = page_of(client, given)
    table = page[page.index("<caption>Blocks, and cycles between them") :]
    rows = table[table.index("<tbody>") : table.index("</tbody>")].split("<tr>")[1:]
    assert {row[row.index(">") + 1 : row.index("</td>")] for row in rows} == {"1", "2", "between"}


def test_a_block_alone_has_no_row_between(client: httpx.Client) -> None:
    given = request()
    block = {"factors": {"vertical": {"maximum": 12.0, "minimum": 6.0}}, "cycles": 1e5}
    given["loading"] = {"kind": "blocks", "blocks": [block, block]}
    page = page_of(client, given)
    table = page[page.index("<caption>Blocks, and cycles between them") :]
    assert ">between<" not in table[: table.index("</table>")]
