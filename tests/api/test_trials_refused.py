"""What is refused of saved fits, and of tables and choices of an evaluation of tests."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import httpx
import pytest

from service import cli
from service.base.problems import Problem
from service.topics.trials.fitted import fitted_parts
from tests.api.test_trials import ASKED, GROWTH, SN, TABLE, answered, refused

CURVE = answered("trials/sn-line", SN)
LAW = answered("trials/growth-rate", {**GROWTH, "tests": GROWTH["tests"][:1]})


def changed(answer: dict[str, Any], *path: str, value: Any = ...) -> dict[str, Any]:
    """With the entry of a path taken out, or replaced."""
    found = copy.deepcopy(answer)
    inside = found
    for step in path[:-1]:
        inside = inside[step]
    if value is ...:
        del inside[path[-1]]
    else:
        inside[path[-1]] = value
    return found


@pytest.mark.parametrize(
    ("answer", "path"),
    [
        (CURVE, ("answer", "design_curve")),
        (CURVE, ("answer", "design_curve", "tested")),
        (CURVE, ("answer", "design_curve", "name")),
        (LAW, ("answer", "mean_law")),
        (LAW, ("answer", "mean_law", "tested")),
        (LAW, ("answer", "mean_law", "tested", "name")),
        (LAW, ("answer", "upper_law")),
    ],
)
def test_a_saved_fit_without_its_tests_is_refused(answer: dict[str, Any], path: tuple[str, ...]) -> None:
    assert fitted_parts(answer, "x")
    with pytest.raises(Problem, match=r"x holds no \w+ with the tests behind it.* revision \d+ of .* fit it again"):
        fitted_parts(changed(answer, *path), "x")
    if path[-1] != "upper_law":
        with pytest.raises(Problem, match="fit it again"):
            fitted_parts(changed(answer, *path, value=None), "x")
    with pytest.raises(Problem, match="fit it again"):
        fitted_parts(changed(answer, *path, value=7), "x")


@pytest.mark.parametrize("path", [("record",), ("record", "calculation"), ("findings",)])
def test_what_is_no_whole_answer_is_refused(path: tuple[str, ...]) -> None:
    for value in (..., None, 7):
        with pytest.raises(Problem, match="holds no answer of trials/sn-line"):
            fitted_parts(changed(CURVE, *path, value=value), "x")
    for other in (None, [], "text", {"answer": 1, "record": [], "findings": []}):
        with pytest.raises(Problem, match="holds no answer of trials/sn-line"):
            fitted_parts(other, "x")


def test_findings_that_are_none_are_passed_over() -> None:
    assert fitted_parts(changed(CURVE, "findings", value=["outside", {"code": "x"}]), "x")


def test_an_item_of_a_batch_that_cannot_take_a_fit_is_refused_alone(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    saved, lines = tmp_path / "law.json", tmp_path / "many.ndjson"
    saved.write_text(json.dumps(LAW), encoding="utf-8")
    law = {"name": "plate-1/mean", "units": "m-MPa"}
    life = {"curve": "iiw-2016-normal-steel-80", "stress_range_mpa": [150.0]}
    items = [
        {"id": "a", "calculation": "cracks/growth", "input": {"law": law}},
        {"id": "b", "calculation": "curves/life", "input": life},
    ]
    lines.write_text("\n".join(map(json.dumps, items)), encoding="utf-8")
    assert cli.main(["batch", str(lines), "--fitted", str(saved)]) == 1
    told = capsys.readouterr()
    assert [json.loads(line)["status"] for line in told.out.splitlines()] == [422, 200]
    assert 'line 1 (id "a") is refused: a fitted law takes no constants' in told.err


def test_a_check_of_a_gate_that_cannot_be_read_leaves_the_others(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    saved, folder = tmp_path / "sn.json", tmp_path / "checks"
    saved.write_text(json.dumps(CURVE), encoding="utf-8")
    folder.mkdir()
    (folder / "one.json").write_text("{", encoding="utf-8")
    assert cli.main(["gate", str(folder), "--json", "--fitted", str(saved)]) == 2
    assert json.loads(capsys.readouterr().out)["checks"][0]["error"] is not None


def test_an_empty_cell_of_run_outs_is_refused(client: httpx.Client) -> None:
    """As an empty cell of any other column: nobody knows whether the test stopped whole."""
    table = (
        TABLE.replace("life_cycles", "life_cycles,run_out").replace("\n", ",\n").replace("run_out,", "run_out") + ","
    )
    query = {key: str(value) for key, value in ASKED.items()}
    found = client.post("/v1/trials/sn-line", params=query, content=table, headers={"content-type": "text/csv"}).json()
    assert found["errors"][0]["pointer"] == "/run_out"
    assert "line 2: write yes or no, not ''" in found["detail"]


@pytest.mark.parametrize("significance", [1e-12, 1e-6, 0.00099])
def test_a_significance_that_finds_nothing_is_refused(significance: float) -> None:
    assert list(refused("trials/sn-line", {**SN, "significance": significance})) == ["/significance"]
    assert answered("trials/sn-line", {**SN, "significance": 0.001})


@pytest.mark.parametrize("life", ["88.000", "1.480.000", "88.000,5"])
def test_points_beside_decimal_commas_are_refused(client: httpx.Client, life: str) -> None:
    """88.000 would be 88 cycles or 88 thousand."""
    table = "range_mpa;life_cycles\n260,5;90000\n" + f"210,5;{life}\n"
    query = {key: str(value) for key, value in ASKED.items()}
    found = client.post("/v1/trials/sn-line", params=query, content=table, headers={"content-type": "text/csv"}).json()
    assert "line 3 has a point where commas are the decimal sign" in found["detail"]
