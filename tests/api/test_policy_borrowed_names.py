"""No name of a request is taken for one of the policy, and none of the file for a published one. Own choice."""

from __future__ import annotations

from typing import Any

import pytest

from fatcore.alike import alike
from fatcore.cracks.driving.law_sets import guard_own_law
from fatcore.errors import InputError
from service.base.problems import Problem
from service.policy.reading import policy_of

from .policies import HEAD, WORKS, obeying, policy

HELD = policy_of(WORKS.split("[[element")[0].encode())
OWN = {"slopes": [3.0], "range_mpa": [290.0], "life_cycles": [2e6], "survival_probability": 0.98}
TESTED = {
    "statistic": "upper", "specimens": 2, "rates_used": 40, "lowest_delta_k_mpa_sqrt_mm": 300.0,
    "highest_delta_k_mpa_sqrt_mm": 900.0, "growth_from_mpa_sqrt_mm": 300.0, "lowest_load_ratio": 0.1,
    "highest_load_ratio": 0.5,
}  # fmt: skip
GROWTH: dict[str, Any] = {
    "crack": {"kind": "surface", "depth_mm": 0.5, "half_length_mm": 1.0, "thickness_mm": 12.0},
    "stress": {"membrane_mpa": 120.0},
    "loading": {"kind": "constant", "maximum": 1.0, "minimum": 0.5},
}


def law(name: str) -> dict[str, Any]:
    stages = [{"coefficient": 1e-15, "exponent": 3.0}]
    return {**GROWTH, "law": {"stages": stages, "units": "mm-MPa", "tested": {**TESTED, "name": name}}}


@pytest.mark.parametrize(
    "name", ["works-toe", "Works-Toe", "works_toe", "works-toe ", " works-toe", "works\u2011toe", "works-t\u043ee"]
)
def test_a_curve_that_looks_like_one_of_the_policy_is_refused(name: str) -> None:
    with pytest.raises(Problem, match="looks like works-toe, a curve of the policy: give another name") as caught:
        obeying(HELD, "curves/life", {"curve": {**OWN, "name": name}, "stress_range_mpa": [100.0]})
    assert caught.value.errors[0][0] == "/curve"
    obeying(HELD, "curves/life", {"curve": {**OWN, "name": "works-toe-2"}, "stress_range_mpa": [100.0]})


@pytest.mark.parametrize("name", ["works/upper", "Works/Upper", "works upper"])
def test_a_fitted_law_that_looks_like_one_of_the_policy_is_refused(name: str) -> None:
    with pytest.raises(Problem, match="looks like works/upper, a law of the policy") as caught:
        obeying(HELD, "cracks/growth", law(name))
    assert caught.value.errors[0][0] == "/law/tested/name"
    obeying(HELD, "cracks/growth", law("hanger/upper"))


@pytest.mark.parametrize("name", ["bs7910-2013/air-mean", "BS7910-2013 / air mean"])
def test_a_fitted_law_that_looks_like_a_published_one_is_refused_with_and_without_a_policy(name: str) -> None:
    for held in (HELD, None):
        with pytest.raises(Problem, match="looks like the published growth law bs7910-2013/air-mean") as caught:
            obeying(held, "cracks/growth", law(name))  # type: ignore[arg-type]
        assert caught.value.errors[0][0] == "/law/tested/name"


def curve_text(*names: str) -> str:
    body = "origin = 'tests'\nrange_mpa = [90.0]\nlife_cycles = [2e6]\nslopes = [3.0]\n"
    return "".join(f"[curves.'{name}']\n{body}" for name in names)


def law_text(*names: str) -> str:
    body = "origin = 'tests'\nunits = 'mm-MPa'\nstages = [{ coefficient = 5e-13, exponent = 3.0 }]\n"
    return "".join(f"[laws.'{name}']\n{body}" for name in names)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (curve_text("Peak-Stress_opening"), "is a curve of the catalogue"),
        (curve_text("own"), "requests call one of their own 'own'"),
        (curve_text("works-toe", "Works_Toe"), "'Works_Toe' looks like 'works-toe'"),
        (law_text("IIW-2016/steel"), "looks like the published growth law iiw-2016/steel"),
        (law_text("Own constants"), "requests call one of their own 'own constants'"),
        (law_text("works/a", "works a"), "'works a' looks like 'works/a'"),
    ],
)
def test_a_file_with_names_that_could_be_taken_for_others_is_refused(text: str, words: str) -> None:
    with pytest.raises(Problem, match=words):
        policy(text)
    assert policy(curve_text("works-toe"), HEAD).curves


def test_names_are_compared_as_the_eye_takes_them() -> None:
    assert alike("TOE-1", ["toe 2", "toe_1"]) == "toe_1"
    assert alike("toe", []) is None
    guard_own_law("hanger/mean")
    with pytest.raises(InputError, match="iiw-2016/steel"):
        guard_own_law("iiw\u20102016/Steel")
