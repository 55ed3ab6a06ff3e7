"""What a request leaves out, or gives as null, has the default of the policy. Own choice throughout."""

from __future__ import annotations

import json
from typing import Any

import pytest

from service.client.batch import BatchItem, batch_call
from service.client.routes import call_of, value_call
from service.topics.check.judging import BiaxialityCurves
from service.topics.check.models import CheckRequest
from service.topics.curves.resistance import OwnFactor
from service.topics.curves.routes import LifeQuery
from service.topics.registry import load
from service.topics.spectrum.models import DamageRequest

from .policies import obeying, policy, request_of, told

HELD = policy(
    "[defaults]\ndamage_limit = 0.4\nsurvival_probability = 0.99\npartial_factor = 1.2\nload_factor = 1.1\n"
    "condition = 'as-welded'"
)
BLOCK = {"curve": "iiw-2016-normal-steel-71", "range_mpa": [60.0], "count": [1e5]}


def sent(call: Any) -> Any:
    return json.loads(call.content)


def test_a_client_sends_of_a_request_what_was_given() -> None:
    found = sent(call_of("POST", "spectrum/damage", DamageRequest(**BLOCK)))
    assert {name: found[name] for name in BLOCK} == BLOCK
    assert not {"damage_limit", "survival_probability", "corrections"} & set(found)
    assert sent(value_call("spectrum/damage", DamageRequest(**BLOCK), "answer.damage")) == found
    item = BatchItem(id=1, calculation="spectrum/damage", input=DamageRequest(**BLOCK))
    assert sent(batch_call([item]))[0]["input"] == found


def test_a_client_sends_what_was_put_into_a_list_afterwards_and_which_form_a_part_has() -> None:
    request = DamageRequest(**BLOCK)
    request.corrections.append(OwnFactor(kind="own", name="heat", strength_factor=0.9, reason="report 1"))
    assert sent(call_of("POST", "spectrum/damage", request))["corrections"][0]["name"] == "heat"
    check = CheckRequest.model_validate(request_of("check/one-toe-constant"))
    check = check.model_copy(update={"curves": BiaxialityCurves(corrections=[])})
    assert sent(call_of("POST", "check", check))["curves"] == {"rule": "biaxiality", "corrections": []}


def test_a_check_by_a_model_is_the_check_by_its_data() -> None:
    data = {name: value for name, value in request_of("check/one-toe-constant").items() if name != "target"}
    plain = obeying(HELD, "check", data)
    assert plain.request.target.resistance_factor == 1.2
    found = obeying(HELD, "check", sent(call_of("POST", "check", CheckRequest.model_validate(data))))
    assert found.content() == plain.content()


def test_a_query_by_a_model_leaves_out_what_it_leaves_out() -> None:
    query = LifeQuery(curve="iiw-2016-normal-steel-71", stress_range_mpa=90.0)
    assert dict(call_of("GET", "curves/{curve}/life", query).query) == {"stress_range_mpa": "90.0"}


@pytest.mark.parametrize(
    "names", [("damage_limit", "survival_probability"), ("damage_limit_rule",), ("design_fatigue_factor",)]
)
def test_a_null_is_left_out(names: tuple[str, ...]) -> None:
    data = dict.fromkeys(names)
    plain = obeying(HELD, "spectrum/damage", BLOCK)
    found = obeying(HELD, "spectrum/damage", {**BLOCK, **data})
    assert (found.request.damage_limit, found.request.survival_probability) == (0.4, 0.99)
    assert found.content() == plain.content()
    target = {"target": data}
    check = obeying(HELD, "check", {**request_of("check/one-toe-constant"), **target}).request.target
    assert (check.damage_limit, check.survival_probability) == (0.4, 0.99)


def test_a_null_in_a_query_is_left_out() -> None:
    query = {"curve": "iiw-2016-normal-steel-71", "stress_range_mpa": 90.0}
    calculation = load()["GET", "curves/{curve}/life"]
    found = calculation.request.model_validate({**query, "survival_probability": None})
    assert HELD.prepare(HELD, found)[0].survival_probability == 0.99  # type: ignore[attr-defined]


def test_all_of_a_request_written_out_has_its_nulls_filled() -> None:
    written = DamageRequest(**BLOCK).model_dump()
    found = obeying(HELD, "spectrum/damage", written)
    assert found.answer == obeying(HELD, "spectrum/damage", BLOCK).answer
    assert len(told(found, "policy-default")) == 3
