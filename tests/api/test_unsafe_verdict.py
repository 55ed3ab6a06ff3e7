"""One verdict of a check for everyone who asks: service, command, gate, report, client, batch."""

from __future__ import annotations

import itertools
import json
import re
from pathlib import Path
from typing import Any

import httpx
import pytest

from service.cli import main
from service.client.client import Client
from tests.api.report_pages import page_of
from tests.api.test_gate import request, write

# a mesh far beyond the calibration of its element: the number of such a line is outside validity
LINES = {"pass": (0.5, 2.0), "fail": (4.0, 2.0), "undecided": (0.5, 30.0)}
ORDERS = [
    order
    for size in (1, 2, 3)
    for chosen in itertools.combinations(LINES, size)
    for order in itertools.permutations(chosen)
]


def check_of(order: tuple[str, ...]) -> dict[str, Any]:
    """A check whose lines have these verdicts, each named after its own."""
    given = request(names=("a",))
    (line,) = given["lines"]
    lines = []
    for name in order:
        factor, size_mm = LINES[name]
        peaks = {"opening": [factor * value for value in (4.0, 6.0, 5.0)]}
        lines.append({**line, "name": name, "cases": {"vertical": {"peaks_mpa": peaks}}})
        lines[-1]["mesh"] = {**line["mesh"], "element_size_mm": size_mm}
    return {**given, "lines": lines, "target": {"damage_limit": 1.0}}


def right(order: tuple[str, ...]) -> str:
    """The verdict of the whole."""
    return next(verdict for verdict in ("fail", "undecided", "pass") if verdict in order)


@pytest.mark.parametrize("order", ORDERS, ids="-".join)
def test_every_route_gives_the_same_verdict(
    order: tuple[str, ...],
    client: httpx.Client,
    base_url: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    given, verdict = check_of(order), right(order)
    path = str(write(tmp_path / "c.json", given))

    answer = client.post("/v1/check", json=given).json()["answer"]
    assert {line["name"]: line["verdict"] for line in answer["lines"]} == {name: name for name in order}
    assert answer["verdict"] == verdict
    assert answer["deciding_lines"] == ([] if verdict == "pass" else [verdict])

    with Client(base_url) as asked:
        assert asked.check(given).answer.verdict == verdict
        items = [{"id": 1, "calculation": "check", "input": given}]
        line = client.post("/v1/batch", json=items).text
        assert json.loads(line)["envelope"]["answer"]["verdict"] == verdict

    assert main(["check", path]) == (0 if verdict == "pass" else 1)
    assert re.match(rf"verdict +{verdict.upper()}\b", capsys.readouterr().out)

    for more in ([], ["--server", base_url]):
        assert main(["gate", path, "--json", *more]) == (0 if verdict == "pass" else 1)
        (found,) = json.loads(capsys.readouterr().out)["checks"]
        assert (found["verdict"], found["passed"], found["faults"]) == (verdict, verdict == "pass", [])
        kinds = {line["name"]: [fault["kind"] for fault in line["faults"]] for line in found["lines"]}
        wanted = {"pass": [], "fail": ["limit"], "undecided": ["undecided"]}
        assert kinds == {name: wanted[name] for name in order}

    page = page_of(client, given)
    assert f"<title>hanger: {verdict}</title>" in page
    assert re.search(rf'class="verdict {verdict}"', page)


def test_stations_left_out_are_treated_alike(
    client: httpx.Client, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A failing end that is not judged: undecided everywhere, and with a reason told everywhere."""
    given = check_of(("pass",))
    given["lines"][0]["cases"]["vertical"]["peaks_mpa"]["opening"] = [40.0, 3.0, 3.0, 2.0]
    given["lines"][0]["position_mm"] = [0.0, 10.0, 15.0, 20.0]
    given["lines"][0]["exclude_ends_mm"] = 1.0
    path = str(write(tmp_path / "c.json", given))
    assert client.post("/v1/check", json=given).json()["answer"]["verdict"] == "undecided"
    assert main(["gate", path, "--json"]) == 1
    line = json.loads(capsys.readouterr().out)["checks"][0]["lines"][0]
    assert [fault["kind"] for fault in line["faults"]] == ["undecided"]
    assert "a station that is not judged has a utilisation of" in line["faults"][0]["text"]

    given["lines"][0]["exclude_ends_reason"] = "singular corner, judged by its own model"
    write(tmp_path / "c.json", given)
    assert client.post("/v1/check", json=given).json()["answer"]["verdict"] == "pass"
    assert main(["gate", path]) == 0
    assert "(singular corner, judged by its own model)" in capsys.readouterr().out
    assert "singular corner, judged by its own model" in page_of(client, given)


def test_lower_limit_of_a_gate_holds_for_stations_left_out(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Below 1 the check passes, but the gate asks for less: the rule of stations left out is the same."""
    given = check_of(("pass",))
    given["lines"][0]["cases"]["vertical"]["peaks_mpa"]["opening"] = [6.0, 3.0, 3.0, 2.0]
    given["lines"][0]["position_mm"] = [0.0, 10.0, 15.0, 20.0]
    given["lines"][0]["exclude_ends_mm"] = 1.0
    path = str(write(tmp_path / "c.json", given))
    assert main(["gate", path]) == 0
    capsys.readouterr()
    assert main(["gate", path, "--limit", "0.5", "--json"]) == 1
    line = json.loads(capsys.readouterr().out)["checks"][0]["lines"][0]
    assert [fault["kind"] for fault in line["faults"]] == ["undecided"]
    given["lines"][0]["exclude_ends_reason"] = "singular corner"
    write(tmp_path / "c.json", given)
    assert main(["gate", path, "--limit", "0.5"]) == 0
