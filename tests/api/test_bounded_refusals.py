"""A refusal is short and quickly made, whatever the request holds: names of any length, faults of any number."""

from __future__ import annotations

import json
import time
from typing import Any

import numpy as np
import pytest

from fatcore.cracks.driving.load_blocks import Retardation
from fatcore.cracks.growth.detection import DetectionCurve
from fatcore.errors import InputError, UnknownError, nearest
from service.base.envelope import evaluate
from service.base.extremes import overflow_problem
from service.base.problems import (
    LONGEST_POINTER,
    LONGEST_TEXT,
    MAX_ERRORS,
    MAX_READ,
    Problem,
    refused_parts,
    shortened,
)
from service.topics.registry import load

LIFE = {"curve": "iiw-2016-normal-steel-80", "stress_range_mpa": [90.0]}


def refused(data: Any, name: str = "curves/life") -> Problem:
    """The problem of a request, made in reasonable time."""
    begin = time.process_time()
    with pytest.raises(Problem) as caught:
        evaluate(load()["POST", name], data)
    assert time.process_time() - begin < 2.0
    return caught.value


@pytest.mark.parametrize(
    "data",
    [
        {**LIFE, "k" * 1_000_000: 1},
        {**LIFE, **{"k" * 10_000 + str(n): 1 for n in range(100)}},
        {**LIFE, **{f"k{n}": 1 for n in range(5_000)}},
        {**LIFE, "curve": "x" * 1_000_000},
        {**LIFE, "stress_range_mpa": ["x"] * 20_000},
        {**LIFE, "curve": {"slopes" * 5_000: [1]}},
    ],
)
def test_a_refusal_is_short(data: Any) -> None:
    problem = refused(data)
    assert problem.status == 422
    assert len(json.dumps(problem.body())) < 20_000
    assert len(problem.errors) <= MAX_ERRORS


@pytest.mark.parametrize(("count", "said"), [(MAX_READ, f"{MAX_READ}"), (MAX_READ + 1, f"more than {MAX_READ}")])
def test_very_many_faults_are_not_all_looked_at(count: int, said: str) -> None:
    assert refused({**LIFE, "stress_range_mpa": ["x"] * count}).detail == f"{said} inputs are refused"


def test_one_place_of_many_that_were_not_looked_at_is_not_alone() -> None:
    assert refused_parts([("/a", "wrong")], "inputs are refused").detail == "wrong"
    assert refused_parts([("/a", "wrong")], "inputs are refused", more=True).detail == "more than 1 inputs are refused"


def test_a_long_text_ends_with_dots() -> None:
    assert shortened("x" * LONGEST_TEXT) == "x" * LONGEST_TEXT
    assert shortened("x" * (LONGEST_TEXT + 1)) == "x" * (LONGEST_TEXT - 4) + " ..."
    assert shortened("abcdef", 5) == "a ..."


def test_a_long_pointer_leads_to_the_part_around() -> None:
    fitting = "/lines/0/" + "k" * (LONGEST_POINTER - 9)
    problem = Problem(422, "d", [(fitting, "m"), (fitting + "k", "m"), (fitting + "/k", "m"), ("k" * 501, "m")])
    assert [where for where, _ in problem.errors] == [fitting, "/lines/0", fitting, "k" * 500]


def test_names_are_compared_as_far_as_names_go() -> None:
    begin = time.process_time()
    assert nearest("size_mm" + "x" * 1_000_000, ["size_mm"], 1) == []
    assert nearest("k4999", (f"k{n}" for n in range(10**9)), 1) == ["k4999"]
    assert time.process_time() - begin < 2.0
    assert len(str(UnknownError("curve", "x" * 1_000_000, ["a"]))) < 300


def test_an_exponent_is_to_blame_before_a_number_less_extreme() -> None:
    data = {"crack_size_mm": [1e10], "curve": {"exponent": 99.0, "count": 2}, "on": True, "name": "x"}
    problem = overflow_problem(FloatingPointError(), data)
    assert isinstance(problem, Problem)
    assert problem.errors[0][0] == "/curve/exponent"
    own = FloatingPointError()
    assert overflow_problem(own, {"exponent": 11.9, "slopes": [3.0, 5.0], "size_mm": 1e11}) is own
    below = overflow_problem(own, {"slopes": [3.0, 50.0]})
    assert isinstance(below, Problem)
    assert below.errors[0][0] == "/slopes/1"


def test_a_detection_curve_is_finite_at_every_size() -> None:
    with np.errstate(all="raise", under="ignore"):
        found = DetectionCurve(median_mm=1e-30, exponent=100.0).probability([0.0, 1e-30, 1.0, 1e30])
    assert found.tolist() == [0.0, 0.5, 1.0, 1.0]


def test_the_exponent_of_retardation_has_a_ceiling() -> None:
    assert Retardation(model="wheeler", yield_strength_mpa=355.0, exponent=100.0).exponent == 100.0
    with pytest.raises(InputError) as caught:
        Retardation(model="wheeler", yield_strength_mpa=355.0, exponent=100.1)
    assert caught.value.path == ("exponent",)
