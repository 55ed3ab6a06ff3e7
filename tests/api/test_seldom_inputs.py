"""Inputs that few requests have: how they are refused and shown."""

from __future__ import annotations

import copy
from typing import Any

import pytest

from service import cli
from service.base.envelope import evaluate
from service.base.problems import Problem
from service.base.text import logarithm
from service.lines.request import LineSource, guard_request
from service.report.inputs import list_inputs
from service.report.renderers import render
from service.topics.check.lines import LineInput
from service.topics.registry import find, load
from service.topics.trials.text import sn_text
from tests.api.report_pages import Balanced, example

CHECK: dict[str, Any] = example("check/one-toe-constant")
FIT = load()["POST", "trials/sn-line"]
OWN = {"range_mpa": [100.0], "life_cycles": [2e6], "slopes": [3.0], "survival_probability": 0.5, "sd_log10_cycles": 0.2}


def test_a_load_case_that_a_line_lacks_is_told_before_anything_is_counted() -> None:
    request = copy.deepcopy(CHECK)
    request["loading"]["factors"]["push"] = {"maximum": 1.0, "minimum": 0.0}
    request["lines"].append({**copy.deepcopy(request["lines"][0]), "name": "other"})
    request["lines"][1]["cases"]["push"] = request["lines"][1]["cases"]["pull"]
    sources = [LineSource(name=line["name"], rule=0) for line in request["lines"]]
    with pytest.raises(Problem, match="has no load case 'push', which is loaded"):
        guard_request(request, sources)


def test_a_table_of_directions_is_shown_by_its_rows() -> None:
    line = {**CHECK["lines"][0], "tangent": [[1.0, 0.0, 0.0]] * 7}
    rows = {row.name: row.value for row in list_inputs(LineInput.model_validate(line))}
    assert next(value for name, value in rows.items() if "tangent" in name or "direction" in name) == "7 rows"


def test_tests_behind_a_curve_of_ones_own_stand_in_the_report() -> None:
    target = {"survival_probability": 0.977, "sample_size": 12}
    curves = {"rule": "fixed", "curve": OWN}
    calculation = find("check")
    assert calculation is not None
    found = evaluate(calculation, {**CHECK, "target": target, "curves": curves})
    text = Balanced(render("check", found.request, found.envelope())).text
    assert "tests behind the curve 12" in " ".join(text.split())


def test_constants_of_curves_keep_the_digits_that_their_lives_need(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["curves", "iiw-2016-normal-steel-80"]) == 0
    shown = next(line for line in capsys.readouterr().out.splitlines() if line.startswith("log10_constants"))
    calculation = find("curves/{curve}", "GET")
    assert calculation is not None
    exact = evaluate(calculation, {"curve": "iiw-2016-normal-steel-80"}, strings=True).envelope()["answer"]
    assert [float(text) for text in shown.split(None, 1)[1].split(", ")] == pytest.approx(
        exact["log10_constants"], abs=5e-6
    )
    answer = evaluate(FIT, example("trials/sn-line-hanger"))
    lines = answer.envelope()["answer"]["characteristic"]
    for text in (sn_text(answer.envelope()), render("trials/sn-line", answer.request, answer.envelope())):
        assert all(logarithm(line["log10_constant"]) in text for line in lines)
    assert max(abs(float(logarithm(line["log10_constant"])) - line["log10_constant"]) for line in lines) < 1e-5


def test_a_design_fatigue_factor_stands_in_the_report() -> None:
    curves = {"rule": "fixed", "curve": "dnv-rp-c203-2016-d-air"}
    line = {**CHECK["lines"][0], "basis": "nominal", "cases": {"pull": {"normal_mpa": [4.0, 5.0, 4.0]}}}
    line = {key: value for key, value in line.items() if key not in ("notch", "mesh")}
    calculation = find("check")
    assert calculation is not None
    request = {**CHECK, "lines": [line], "curves": curves, "target": {"design_fatigue_factor": 3.0}}
    found = evaluate(calculation, request)
    text = Balanced(render("check", found.request, found.envelope())).text
    assert "design fatigue factor 3" in " ".join(text.split())
