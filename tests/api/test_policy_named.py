"""Curves and laws of the policy work by their names like published ones. Own choice throughout."""

from __future__ import annotations

from typing import Any

import pytest

from service.base.problems import Problem
from service.base.rules.active import under
from service.comparison.looser import less_severe, slower
from service.pages.curves import curve_page, curves_page
from service.policy.reading import policy_of

from .policies import WORKS, obeying, policy, told

RANGES = {"curve": "works-toe", "stress_range_mpa": [100.0]}
BLOCK = {"curve": "iiw-2016-normal-steel-71", "range_mpa": [60.0], "count": [1e5]}
SURFACE = {"kind": "surface", "depth_mm": 0.5, "half_length_mm": 1.0, "thickness_mm": 12.0}
GROWTH: dict[str, Any] = {
    "crack": SURFACE,
    "stress": {"membrane_mpa": 120.0},
    "law": {"name": "works/upper"},
    "loading": {"kind": "constant", "maximum": 1.0, "minimum": 0.2},
}


def works() -> Any:
    return policy_of(WORKS.encode())


def pointer_of(held: Any, name: str, data: Any, method: str = "POST") -> tuple[str, str]:
    with pytest.raises(Problem) as caught:
        obeying(held, name, data, method)
    assert caught.value.kind == "urn:toeline:policy", caught.value.detail
    return caught.value.errors[0][0], caught.value.detail


def test_a_curve_of_the_policy_works_by_its_name_like_one_of_the_catalogue() -> None:
    held = policy_of(WORKS.replace("[floors]", "[allowed]\ncurves = []\n[floors]").encode())
    found = obeying(held, "curves/life", RANGES)
    assert told(found, "policy-curve") == ["works-toe is a curve of the policy works 3: own tests, report 12"]
    assert found.envelope()["answer"]["life_cycles"][0] == pytest.approx(2e6 * (200.0 / 115.0) ** 3)
    assert "policy" in {each["key"] for each in found.beside["record"]["sources"]}
    assert obeying(held, "spectrum/damage", {**BLOCK, "curve": "works-toe"}).envelope()["answer"]["damage"] > 0.0


def test_a_curve_of_a_request_may_not_bear_the_name_of_one_of_the_policy() -> None:
    own = {
        "name": "works-toe",
        "slopes": [3.0],
        "range_mpa": [290.0],
        "life_cycles": [2e6],
        "survival_probability": 0.98,
    }
    where, words = pointer_of(works(), "curves/life", {**RANGES, "curve": own})
    assert where == "/curve"
    assert "give another name to yours" in words


def test_curves_of_the_policy_are_listed_with_their_origin() -> None:
    listed = obeying(works(), "curves", {}, "GET").envelope()["answer"]
    assert (listed["id"][-1], listed["document"][-1]) == ("works-toe", "policy")
    assert obeying(works(), "curves", {"document": "policy"}, "GET").envelope()["answer"]["id"] == ["works-toe"]
    one = obeying(works(), "curves/{curve}", {"curve": "works-toe"}, "GET").envelope()["answer"]
    assert (one["document"], one["title"], one["survival_probability"]) == ("policy", "own tests, report 12", 0.977)


def test_pages_show_the_curves_of_the_policy_that_holds_and_no_other() -> None:
    with under(works()):
        assert "works-toe" in curves_page()
        assert "own tests, report 12" in curve_page(curve="works-toe")
    assert "works-toe" not in curves_page()
    with pytest.raises(Problem):
        curve_page(curve="works-toe")


def test_an_unknown_name_is_told_the_nearest_of_the_policy_too() -> None:
    with pytest.raises(Problem, match="works-toe"):
        obeying(works(), "curves/life", {**RANGES, "curve": "works-to"})
    with pytest.raises(Problem, match="works/upper"):
        obeying(works(), "cracks/growth", {**GROWTH, "law": {"name": "works/uper"}})


def test_a_law_of_the_policy_works_by_its_name_and_keeps_its_doubts() -> None:
    held = policy_of(WORKS.replace("[floors]", "[allowed]\nlaws = []\n[floors]").encode())
    found = obeying(held, "cracks/growth", GROWTH)
    assert told(found, "policy-law") == ["works/upper is a growth law of the policy works 3"]
    assert told(found, "own-constants-as-welded")
    written = {"units": "mm-MPa", "stages": [{"coefficient": 5e-13, "exponent": 3.0}]}
    same = obeying(policy(), "cracks/growth", {**GROWTH, "law": written})
    assert found.envelope()["answer"]["life_cycles"] == same.envelope()["answer"]["life_cycles"]


def test_a_change_to_a_milder_curve_or_law_of_the_policy_is_seen() -> None:
    with under(works()):
        assert less_severe("iiw-2016-normal-steel-71", "works-toe")
        assert slower("works/upper", "iiw-2016/steel") or slower("iiw-2016/steel", "works/upper")
