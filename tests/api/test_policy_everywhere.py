"""A rule of a policy holds in every calculation that reaches its quantity, and no new field is forgotten.

Own choice: examples are refused by rules that are stricter than any of them.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from service.base.common import Calculation
from service.base.envelope import evaluate, validated
from service.base.problems import Problem
from service.base.rules.active import under
from service.base.rules.policy import Policy
from service.policy.defaults import PLACES
from service.policy.fields import GUARDS
from service.policy.reading import policy_of
from service.policy.walk import models_in, models_of
from service.topics.registry import load

HERE = Path(__file__).parent
EXAMPLES = sorted(p for p in (HERE.parents[1] / "openapi_examples").glob("*/*.json") if p.parent.name != "data")
HEAD = 'name = "works"\nversion = "1"\n'
# rules that no example keeps to, and the fields through which a request reaches the quantity
STRICTEST = {
    "floors.damage_limit": ("[floors]\ndamage_limit = 1e-9", {"damage_limit"}),
    "floors.survival_probability": (
        "[floors]\nsurvival_probability = 0.9999999",
        {"survival_probability"},
    ),
    "floors.partial_factor": ("[floors]\npartial_factor = 10", {"resistance_factor", "corrections", "environment"}),
    "floors.confidence": ("[floors]\nconfidence = 0.9999999", {"confidence"}),
    "floors.load_factor": ("[floors]\nload_factor = 1e6", {"resistance_factor"}),
    "floors.inspections": ("[floors]\ninspections = 100", {"inspections"}),
    "floors.detection_probability": (
        "[floors]\ndetection_probability = 0.9999999",
        {"detection_probability"},
    ),
    "allowed.curves": (
        '[allowed]\ncurves = ["en-1993-1-9-2005-normal-36"]',
        {"shear_curve", "environment"},
    ),
    "allowed.laws": ('[allowed]\nlaws = ["barsom-rolfe/martensitic"]', {"law"}),
    "allowed.conditions": ('[allowed]\nconditions = ["stress-relieved"]', {"condition"}),
}
# calculations that have such a field and do something else with it, and examples that keep to the rule
OTHER = {
    ("floors.survival_probability", "curves/{curve}"): "shows a curve",
    ("floors.load_factor", "trials/sn-line"): "the specimen's model gives a range for a load",
    ("floors.load_factor", "curves/{curve}/life"): "has no factor on loads",
    ("floors.load_factor", "curves/{curve}/strength"): "has no factor on loads",
    ("floors.partial_factor", "curves"): "lists curves",
    ("allowed.curves", "curves"): "lists curves",
    ("allowed.conditions", "root-history"): "is stress-relieved",
    ("allowed.conditions", "peak-root"): "is stress-relieved",
}


def fields_of(model: Any, seen: tuple[Any, ...] = ()) -> Iterator[tuple[str, str]]:
    """Model and name of every field of a request at any depth."""
    for name, info in model.model_fields.items():
        yield model.__name__, name
        for inner in models_of(info.annotation):
            if inner not in seen:
                yield from fields_of(inner, (*seen, inner))


def every_field() -> set[tuple[str, str]]:
    return {pair for each in load().values() for pair in fields_of(each.request)}


@cache
def given_fields(path: Path) -> frozenset[str]:
    """Names of the fields of all parts that the request of an example has."""
    example = read(path)
    request = validated(calculation_of(example), example["request"], strings=example.get("method") == "GET")
    return frozenset({name for _, part in models_in(request) for name in type(part).model_fields})


def calculation_of(example: dict[str, Any]) -> Calculation:
    return load()[example.get("method", "POST"), example["calculation"]]


@cache
def read(path: Path) -> dict[str, Any]:
    content: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return content


def refused(path: Path, policy: Policy) -> Problem | None:
    """What the example is told under a policy, None where it is answered."""
    example, calculation = read(path), calculation_of(read(path))
    try:
        with under(policy):
            evaluate(calculation, example["request"], strings=calculation.method == "GET")
    except Problem as problem:
        return problem
    return None


@pytest.mark.parametrize("rule", STRICTEST)
def test_every_calculation_that_reaches_the_quantity_of_a_rule_refuses_what_is_looser(rule: str) -> None:
    text, fields = STRICTEST[rule]
    policy = policy_of((HEAD + text).encode())
    tried = [
        path
        for path in EXAMPLES
        if not {(rule, read(path)["calculation"]), (rule, path.stem)} & OTHER.keys() and fields & given_fields(path)
    ]
    assert tried
    for path in tried:
        problem = refused(path, policy)
        assert problem is not None, path.name
        assert (problem.kind, problem.status) == ("urn:toeline:policy", 422), (path.name, problem.body())
        assert f"(rule {rule} " in problem.detail or "(rule allowed.own_" in problem.detail
        assert problem.errors[0][0].startswith("/")


def test_every_field_of_a_request_is_held_against_a_rule_or_known_to_be_free() -> None:
    free = set((HERE / "policy_free_fields.txt").read_text(encoding="utf-8").split())
    names = {name for _, name in every_field()}
    settled = {
        "concept", "consequence", "damage_limit", "damage_limit_rule", "design_fatigue_factor", "environment", "label",
        "law", "name", "opening_curve", "resistance_factor", "shear_curve", "stages", "strength_factor", "constants",
    }  # fmt: skip
    assert names - free - set(GUARDS) - settled == set(), "say which rule holds a new field, or that none does"
    assert free - names == set()
    assert free & (set(GUARDS) | settled) == set()


def test_fields_of_one_meaning_stand_only_in_the_models_whose_rule_is_known() -> None:
    """A new model with such a field needs a look: whether a left-out value has a meaning that must be settled."""
    known = {
        "damage_limit": {"DamageRequest", "LongTermRequest", "RandomRequest", "TargetInput"},
        "survival_probability": {
            "DamageRequest", "LongTermRequest", "RandomRequest", "TargetInput", "LifeQuery", "LifeRequest",
            "StrengthQuery", "RangesRequest", "UserDefinedCurve", "SnRequest", "StaircaseRequest",
        },
        "resistance_factor": {"LifeQuery", "StrengthQuery", "TargetInput"},
        "corrections": {
            "BiaxialityCurves", "FixedCurves", "DamageRequest", "LongTermRequest", "RandomRequest", "LifeRequest",
            "RangesRequest",
        },
        "law": {"GrowthRequest", "GrowthPart", "ScatterRequest"},
        "curve": {
            "CurveRequest", "DamageRequest", "FixedCurves", "InspectionRequest", "LifeQuery", "LifeRequest",
            "LongTermRequest", "RandomRequest", "RangesRequest", "SnRequest", "StrengthQuery",
        },
        "condition": {"CheckRequest", "GrowthRequest", "LineInput", "PeakRequest", "ScatterRequest"},
        "constants": {"PeakMesh"},
        "load_factor": {"TargetInput", "SpecimenInput"},
    }  # fmt: skip
    found = every_field()
    for name, models in known.items():
        assert {model for model, field in found if field == name} == models, name


def test_every_default_is_a_field_of_the_models_that_take_it() -> None:
    for name, models in PLACES.items():
        for model in models:
            assert name in model.model_fields
            assert not model.model_fields[name].is_required()
