"""Policies that the tests write, and requests that keep to them or do not."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from service.base.envelope import Evaluation, evaluate
from service.base.rules.active import under
from service.base.rules.policy import Policy
from service.policy.reading import policy_of
from service.topics.registry import find

EXAMPLES = Path(__file__).parents[2] / "openapi_examples"
HEAD = 'name = "works"\nversion = "3"\n'
WORKS = (
    HEAD
    + """
[curves.works-toe]            # invented figures
origin = "own tests, report 12"
stress_kind = "peak-stress"
range_mpa = [200.0]
life_cycles = [2e6]
slopes = [3.0]
survival_probability = 0.977
sd_log10_cycles = 0.2

[laws."works/upper"]
origin = "own tests, report 13"
stages = [{ coefficient = 5e-13, exponent = 3.0 }]
units = "mm-MPa"

[[element_constants]]
element = "tet10"
opening = 1.3
lowest_angle_deg = 120
highest_angle_deg = 140
origin = "report 3"

[defaults]
damage_limit = 0.4
partial_factor = 1.15
survival_probability = 0.977
inspections = 3

[floors]
damage_limit = 0.5
partial_factor = 1.1
survival_probability = 0.97
inspections = 3
"""
)


def policy(text: str = "", head: str = HEAD) -> Policy:
    """The policy of a text behind a name and a version."""
    return policy_of((head + text).encode())


def request_of(case: str) -> Any:
    """The request of an example."""
    return json.loads((EXAMPLES / f"{case}.json").read_text(encoding="utf-8"))["request"]


def obeying(held: Policy, name: str, data: Any, method: str = "POST") -> Evaluation:
    """The answer under a policy."""
    calculation = find(name, method)
    assert calculation is not None
    with under(held):
        return evaluate(calculation, data, strings=method == "GET")


def told(found: Evaluation, code: str) -> list[str]:
    """What the findings of a code say."""
    return [each["message"] for each in found.beside["findings"] if each["code"] == code]
