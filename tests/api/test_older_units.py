"""An older answer in other units is converted before it is compared, by the exact factors of requests and answers."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from service.base.common import Calculation
from service.base.envelope import evaluate
from service.base.problems import Problem
from service.cli import main
from service.comparison.changes import Comparison
from service.comparison.compare import compare
from service.comparison.older import answer_of, older_answer
from service.topics.registry import find
from tests.api.report_pages import example

WISH = {"length": "in", "stress": "ksi", "stress_intensity": "ksi_sqrt_in", "growth_rate": "in_per_cycle"}
EXAMPLES = ("check/one-toe-constant", "cracks/growth-surface-blocks", "spectrum/damage-blocks", "trials/sn-line-hanger")
ROUTES = {"check": "check", "cracks": "cracks/growth", "spectrum": "spectrum/damage", "trials": "trials/sn-line"}


def calculation_of(name: str) -> Calculation:
    found = find(ROUTES[name.partition("/")[0]])
    assert found is not None
    return found


def in_other_units(name: str) -> Any:
    return json.loads(evaluate(calculation_of(name), {**example(name), "units": WISH}).content())


def since(name: str, older: Any, request: Any = None) -> Comparison:
    calculation = calculation_of(name)
    now = answer_of("now", evaluate(calculation, request or example(name)))
    return compare(older_answer("old", older, calculation), now)


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_same_answer_in_other_units_is_the_same(name: str) -> None:
    older = in_other_units(name)
    assert re.search(r"_(in|ksi|ksi_sqrt_in)\"", json.dumps(older))
    assert list(since(name, older).texts) == []


@pytest.mark.parametrize("name", EXAMPLES)
def test_its_request_may_be_in_other_units_too(name: str) -> None:
    both = {"calculation": calculation_of(name).name, "request": {**example(name), "units": WISH}}
    found = since(name, {**both, "response": in_other_units(name)})
    assert list(found.texts) == []
    assert found.inputs == ()


def test_what_changed_is_said_in_the_units_of_the_calculation(tmp_path: Path) -> None:
    name = "check/one-toe-constant"
    request = example(name)
    request["loading"]["factors"] = {
        case: {end: 1.2 * factor for end, factor in ends.items()}
        for case, ends in request["loading"]["factors"].items()
    }
    older, now = tmp_path / "old.json", tmp_path / "now.json"
    older.write_text(json.dumps(in_other_units(name)), encoding="utf-8")
    now.write_text(json.dumps(request), encoding="utf-8")
    same = since(name, evaluate(calculation_of(name), example(name)).envelope(), request)
    assert list(since(name, in_other_units(name), request).texts) == list(same.texts) != []
    assert main(["report", str(now), "--calculation", "check", "--baseline", str(older)]) == 0
    assert "<td>+20\u00a0%</td>" in now.with_suffix(".html").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"equivalent_stress_mpa": 1.0}, "/baseline/answer/equivalent_stress_ksi"),  # given twice
        ({"former_stress_ksi": 1.0}, "/baseline/answer/former_stress_ksi"),  # unknown to this version
        ({"equivalent_stress_ksi": "much"}, "/baseline/answer/equivalent_stress_ksi"),
    ],
)
def test_what_cannot_be_converted_is_refused_by_name(changes: dict[str, Any], pointer: str) -> None:
    name = "check/one-toe-constant"
    older = in_other_units(name)
    older["answer"] |= changes
    with pytest.raises(Problem) as refused:
        since(name, older)
    assert [where for where, _ in refused.value.errors] == [pointer]
    assert refused.value.status == 422


def test_a_request_that_does_not_fit_is_refused_with_its_place() -> None:
    name = "check/one-toe-constant"
    both = {"calculation": "check", "request": {**example(name), "lines": []}, "response": in_other_units(name)}
    with pytest.raises(Problem) as refused:
        since(name, both)
    assert refused.value.errors[0][0].startswith("/baseline/request/lines")
