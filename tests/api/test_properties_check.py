"""Checks obey what physics says: signs, directions, units, splitting and order change nothing, and a worse
input never gives a better answer.
"""

from __future__ import annotations

import copy
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.topics.check.models import CheckAnswer, CheckRequest
from service.topics.check.routes import check

GRAVITY = {"pass": 0, "undecided": 1, "fail": 2}
CASES = ("vertical", "lateral")
PEAKS = ("opening", "sliding", "tearing")
few = settings(max_examples=12)


def line(random: np.random.Generator, basis: str) -> dict[str, Any]:
    """A root or a nominal line with five stations under two cases."""
    columns = PEAKS if basis == "peak-stress" else ("normal_mpa", "shear_mpa")
    cases: dict[str, Any] = {}
    for case in CASES:
        stresses = {name: random.normal(0.0, 5.0, 5).tolist() for name in columns}
        cases[case] = {"peaks_mpa": stresses} if basis == "peak-stress" else stresses
    given: dict[str, Any] = {"name": "weld", "basis": basis, "position_mm": [0.0, 1.0, 2.0, 3.5, 5.0]}
    given |= {"cases": cases, "exclude_ends_mm": 0.5}
    if basis == "peak-stress":
        given["notch"] = {"kind": "root", "opening_angle_deg": 0.0, "notch_size_mm": 8.0}
        given["mesh"] = {"element": "quad4", "element_size_mm": 1.0}
    return given


def loading(random: np.random.Generator, kind: str) -> dict[str, Any]:
    if kind == "history":
        channels = {case: random.normal(0.0, 6.0, 40).tolist() for case in CASES}
        return {"kind": kind, "channels": channels, "repeats": 4e4}
    blocks = [
        {"factors": {case: _state(random) for case in CASES}, "cycles": float(random.integers(1, 9) * 10**5)}
        for _ in range(1 if kind == "constant" else 3)
    ]
    return {"kind": kind, **blocks[0]} if kind == "constant" else {"kind": kind, "blocks": blocks}


def _state(random: np.random.Generator) -> dict[str, float]:
    low, high = np.sort(random.normal(0.0, 8.0, 2))
    return {"maximum": float(high), "minimum": float(low)}


def request(seed: int, basis: str, kind: str, condition: str = "as-welded") -> dict[str, Any]:
    random = np.random.default_rng(seed)
    body: dict[str, Any] = {"condition": condition, "lines": [line(random, basis)]}
    body["loading"] = loading(random, kind)
    body["target"] = {"damage_limit": 1.0, "survival_probability": 0.977}
    if basis == "nominal":
        curves = ("en-1993-1-9-2005-normal-71", "en-1993-1-9-2005-shear-80")
        body["curves"] = {"rule": "fixed", "curve": curves[0], "shear_curve": curves[1]}
    return body


def answer(body: dict[str, Any]) -> CheckAnswer:
    found = check(CheckRequest.model_validate(body)).answer
    assert isinstance(found, CheckAnswer)
    return found


def same(one: CheckAnswer, other: CheckAnswer, *, reverse: bool = False) -> None:
    assert other.verdict == one.verdict
    columns = [np.array(found.lines[0].utilisation) for found in (one, other)]
    np.testing.assert_allclose(columns[1][::-1] if reverse else columns[1], columns[0], rtol=1e-8)
    assert other.damage == pytest.approx(one.damage, rel=1e-8)


ANY = {
    "seed": st.integers(0, 10**6),
    "basis": st.sampled_from(["peak-stress", "nominal"]),
    "kind": st.sampled_from(["constant", "blocks", "history"]),
    "condition": st.sampled_from(["as-welded", "stress-relieved"]),
}


def each_state(body: dict[str, Any], case: str, scale: float) -> None:
    """Multiplies the factors of a case in place."""
    given = body["loading"]
    if given["kind"] == "history":
        given["channels"][case] = [scale * value for value in given["channels"][case]]
    for block in given.get("blocks", [given]):
        if "factors" in block:
            block["factors"][case] = {end: scale * value for end, value in block["factors"][case].items()}


def each_stress(body: dict[str, Any], case: str, scale: float) -> None:
    for one in body["lines"]:
        columns = one["cases"][case].get("peaks_mpa", one["cases"][case])
        for name in columns:
            columns[name] = [scale * value for value in columns[name]]


@few
@given(scale=st.sampled_from([-1.0, -2.0, 1e-3, 0.1, 1e3]), **ANY)
def test_a_unit_case_turned_or_scaled_with_its_factors_changes_nothing(
    seed: int, basis: str, kind: str, condition: str, scale: float
) -> None:
    body = request(seed, basis, kind, condition)
    turned = copy.deepcopy(body)
    each_stress(turned, "lateral", scale)
    each_state(turned, "lateral", 1.0 / scale)
    same(answer(body), answer(turned))


@few
@given(**ANY)
def test_a_line_reversed_changes_nothing(seed: int, basis: str, kind: str, condition: str) -> None:
    body = request(seed, basis, kind, condition)
    turned = copy.deepcopy(body)
    one = turned["lines"][0]
    one["position_mm"] = [one["position_mm"][-1] - value for value in one["position_mm"][::-1]]
    for case in one["cases"].values():
        columns = case.get("peaks_mpa", case)
        for name in columns:
            columns[name] = columns[name][::-1]
    same(answer(body), answer(turned), reverse=True)


@few
@given(seed=ANY["seed"], basis=ANY["basis"], condition=ANY["condition"], share=st.floats(0.01, 0.99))
def test_a_block_split_in_two_changes_nothing(seed: int, basis: str, condition: str, share: float) -> None:
    body = request(seed, basis, "blocks", condition)
    split = copy.deepcopy(body)
    blocks = split["loading"]["blocks"]
    whole = blocks[1]["cycles"]
    blocks[1:2] = [{**blocks[1], "cycles": share * whole}, {**blocks[1], "cycles": (1.0 - share) * whole}]
    same(answer(body), answer(split))


@few
@given(**ANY)
def test_the_order_of_cases_blocks_and_lines_changes_nothing(seed: int, basis: str, kind: str, condition: str) -> None:
    body = request(seed, basis, kind, condition)
    other = copy.deepcopy(body["lines"][0])
    other["name"] = "second"
    each_stress({"lines": [other]}, "vertical", 1.3)
    body["lines"].append(other)
    turned = copy.deepcopy(body)
    turned["lines"] = turned["lines"][::-1]
    for one in turned["lines"]:
        one["cases"] = dict(reversed(one["cases"].items()))
    if kind == "blocks":
        # what lies between blocks depends on their order; blocks that hold every cycle do not
        body["loading"]["transitions"] = turned["loading"]["transitions"] = "in-entries"
        turned["loading"]["blocks"] = turned["loading"]["blocks"][::-1]
    first, second = answer(body), answer(turned)
    assert (second.verdict, second.governing.line) == (first.verdict, first.governing.line)
    assert second.utilisation == pytest.approx(first.utilisation, rel=1e-8)
    assert set(second.deciding_lines) == set(first.deciding_lines)


WORSE = {
    "load_factor": (1.0, 1.05),
    "resistance_factor": (1.01, 1.1),  # 1 is none: whether a partial factor is missing is another question
    "survival_probability": (0.977, 0.99),
    "damage_limit": (1.0, 0.5),
    "repeats": (1.0, 1.5),
}


@settings(max_examples=25)
@given(name=st.sampled_from(sorted(WORSE)), level=st.floats(0.1, 8.0), **ANY)
def test_a_worse_target_never_gives_a_better_answer(
    seed: int, basis: str, kind: str, condition: str, name: str, level: float
) -> None:
    body = request(seed, basis, kind, condition)
    for case in CASES:
        each_stress(body, case, level)
    worse = copy.deepcopy(body)
    body["target"][name], worse["target"][name] = WORSE[name]
    first, second = answer(body), answer(worse)
    assert GRAVITY[second.verdict] >= GRAVITY[first.verdict]
    assert (np.array(second.lines[0].utilisation) >= np.array(first.lines[0].utilisation) * (1 - 1e-9)).all()
    assert second.damage >= first.damage * (1 - 1e-9)


@settings(max_examples=25)
@given(factor=st.floats(1.0, 10.0), level=st.floats(0.1, 8.0), **ANY)
def test_a_larger_load_never_gives_a_better_answer(
    seed: int, basis: str, kind: str, condition: str, factor: float, level: float
) -> None:
    body = request(seed, basis, kind, condition)
    for case in CASES:
        each_stress(body, case, level)
    larger = copy.deepcopy(body)
    for case in CASES:
        each_state(larger, case, factor)
    first, second = answer(body), answer(larger)
    assert GRAVITY[second.verdict] >= GRAVITY[first.verdict]
    assert second.utilisation == pytest.approx(factor * first.utilisation, rel=1e-8)


@few
@given(excluded=st.sampled_from([0.0, 0.5, 1.2]), **ANY)
def test_leaving_stations_out_never_turns_a_fail_into_a_pass(
    seed: int, basis: str, kind: str, condition: str, excluded: float
) -> None:
    body = request(seed, basis, kind, condition)
    body["lines"][0]["exclude_ends_mm"] = 0.0
    whole = answer(body).verdict
    body["lines"][0]["exclude_ends_mm"] = excluded
    assert not (whole == "fail" and answer(body).verdict == "pass")
