"""The record of an answer under a policy, and the defaults that are taken from it. Own choice throughout."""

from __future__ import annotations

from typing import Any

import pytest

from service.base.problems import Problem
from service.policy.reading import policy_of

from .policies import WORKS, obeying, policy, request_of, told

RANGES = {"curve": "works-toe", "stress_range_mpa": [100.0]}
BLOCK = {"curve": "iiw-2016-normal-steel-71", "range_mpa": [60.0], "count": [1e5]}


def works() -> Any:
    return policy_of(WORKS.encode())


def pointer_of(held: Any, name: str, data: Any, method: str = "POST") -> tuple[str, str]:
    with pytest.raises(Problem) as caught:
        obeying(held, name, data, method)
    assert caught.value.kind == "urn:toeline:policy", caught.value.detail
    return caught.value.errors[0][0], caught.value.detail


def test_the_record_names_the_policy_and_is_null_without_one() -> None:
    held = works()
    found = obeying(held, "curves/life", RANGES).beside["record"]["policy"]
    assert found == {"name": "works", "version": "3", "digest": held.digest}
    without = obeying(None, "curves/life", {**RANGES, "curve": "peak-stress-opening"})  # type: ignore[arg-type]
    assert without.beside["record"]["policy"] is None


def test_defaults_fill_what_a_request_leaves_out_and_each_is_said() -> None:
    found = obeying(works(), "spectrum/damage", {**BLOCK, "curve": "works-toe"})
    assert found.envelope()["answer"]["damage_limit"] == 0.4
    assert [text.partition(",")[0] for text in told(found, "policy-default")] == [
        "damage limit 0.4",
        "survival probability 0.977",
        "partial factor 1.15",
    ]


def test_defaults_leave_what_a_request_gives() -> None:
    factor = {"kind": "partial-factor", "document": "iiw-2016", "concept": "safe-life", "consequence": "loss-of-life"}
    given = {**BLOCK, "damage_limit": 0.3, "survival_probability": 0.98, "corrections": [factor]}
    found = obeying(works(), "spectrum/damage", given)
    assert found.envelope()["answer"]["damage_limit"] == 0.3
    assert told(found, "policy-default") == []


def test_a_request_that_names_the_rule_of_a_document_gets_no_number_beside_it() -> None:
    found = obeying(works(), "spectrum/damage", {**BLOCK, "damage_limit_rule": "iiw-2016/general"})
    assert not any("damage limit" in text for text in told(found, "policy-default"))


def test_the_digest_is_of_the_request_with_its_defaults() -> None:
    held = policy("[defaults]\ndamage_limit = 0.4")
    left_out, written = (
        obeying(held, "spectrum/damage", BLOCK),
        obeying(held, "spectrum/damage", {**BLOCK, "damage_limit": 0.4}),
    )
    assert left_out.beside["record"]["input_digest"] == written.beside["record"]["input_digest"]


def test_a_condition_by_default_is_that_of_the_check_and_not_of_its_lines() -> None:
    held = policy("[defaults]\ncondition = 'stress-relieved'")
    plain = request_of("check/one-toe-constant")
    plain.pop("condition", None)
    found = obeying(held, "check", plain)
    assert found.request.condition == "stress-relieved"
    assert found.request.lines[0].condition is None
    assert obeying(held, "check", {**plain, "condition": "as-welded"}).request.condition == "as-welded"


def test_curves_by_default_are_those_of_the_policy() -> None:
    held = policy_of((WORKS.replace("[defaults]", "[defaults]\nopening_curve = 'works-toe'")).encode())
    plain = request_of("check/one-toe-constant")
    plain.pop("curves", None)
    assert obeying(held, "check", plain).request.curves.opening_curve == "works-toe"


def test_calibrated_element_constants_are_taken_and_no_smaller_ones_let_through() -> None:
    held, plain = policy_of(WORKS.split("[defaults]")[0].encode()), request_of("stress/peak-root")
    line = {
        **plain,
        "notch": {"kind": "toe", "opening_angle_deg": 135.0},
        "mesh": {"element": "tet10", "element_size_mm": 2.0},
    }
    found = obeying(held, "stress/peak", line)
    assert found.envelope()["answer"]["constants"]["opening"] == 1.3
    assert told(found, "policy-default")[0].startswith("constants of tet10 opening 1.3")
    larger = {**line, "mesh": {**line["mesh"], "constants": {"opening": 1.4}}}
    assert obeying(held, "stress/peak", larger).envelope()["answer"]["constants"]["opening"] == 1.4
    smaller = {**line, "mesh": {**line["mesh"], "constants": {"opening": 1.2}}}
    assert pointer_of(held, "stress/peak", smaller)[0] == "/mesh/constants/opening"
    elsewhere = {**line, "notch": {"kind": "toe", "opening_angle_deg": 90.0}}
    assert told(obeying(held, "stress/peak", elsewhere), "policy-default") == []


def test_own_element_constants_may_be_forbidden_where_none_was_calibrated() -> None:
    plain = request_of("stress/peak-root")
    line = {**plain, "mesh": {**plain["mesh"], "constants": {"opening": 2.0}}}
    held = policy("[allowed]\nown_element_constants = false")
    assert pointer_of(held, "stress/peak", line)[0] == "/mesh/constants/opening"


def test_every_line_of_a_check_takes_the_calibrated_constants() -> None:
    held, plain = policy_of(WORKS.split("[defaults]")[0].encode()), request_of("check/one-toe-constant")
    line = plain["lines"][0]
    meshes = [{**line["mesh"], "element": element} for element in ("tet10", "quad4")]
    lines = [{**line, "name": mesh["element"], "mesh": mesh} for mesh in meshes]
    found = obeying(held, "check", {**plain, "lines": lines})
    constants = [each.mesh.constants for each in found.request.lines]
    assert (constants[0].opening, constants[0].sliding, constants[1]) == (1.3, None, None)
    assert told(found, "policy-default") == [
        "constants of tet10 opening 1.3, by the policy works 3, since the request leaves it out"
    ]
