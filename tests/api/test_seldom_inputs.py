"""Inputs that few requests have: how they are refused and shown."""

from __future__ import annotations

import copy
from typing import Any

import pytest

from service.base.envelope import evaluate
from service.base.problems import Problem
from service.lines.request import LineSource, guard_request
from service.report.inputs import list_inputs
from service.report.renderers import render
from service.topics.check.lines import LineInput
from service.topics.registry import find
from tests.api.report_pages import Balanced, example

CHECK: dict[str, Any] = example("check/one-toe-constant")
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
