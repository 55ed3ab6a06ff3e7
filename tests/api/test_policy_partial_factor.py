"""Every curve in use has the partial factor of the policy, or one of its own. Own choice throughout."""

from __future__ import annotations

from typing import Any

import pytest

from service.base.problems import Problem

from .policies import obeying, policy, request_of, told

HELD = policy("[defaults]\npartial_factor = 1.25")
BLOCK = {"curve": "iiw-2016-normal-steel-71", "range_mpa": [60.0], "count": [1e5]}
SAFE_LIFE = {"kind": "partial-factor", "document": "iiw-2016", "concept": "safe-life", "consequence": "loss-of-life"}
OWN = {"kind": "own", "name": "partial factor", "reason": "report 7"}


def check(**changes: Any) -> dict[str, Any]:
    plain = request_of("check/one-toe-constant")
    target = {name: value for name, value in plain.get("target", {}).items() if name != "resistance_factor"}
    return {**plain, "target": target, **changes}


def curves(*corrections: Any) -> dict[str, Any]:
    return {"rule": "biaxiality", "corrections": list(corrections)}


def lines(**own: Any) -> list[dict[str, Any]]:
    """The line of the example by several names, with the curves of each; None: those of the check."""
    line = request_of("check/one-toe-constant")["lines"][0]
    return [{**line, "name": name, **({} if each is None else {"curves": each})} for name, each in own.items()]


def factors(request: Any) -> list[float]:
    """What divides the strengths of each line by partial factors."""
    found = []
    for line in request.lines:
        used = line.curves or request.curves
        own = [1.0 / each.strength_factor for each in used.corrections if each.kind == "own" and "policy" in each.name]
        found.append(request.target.resistance_factor * (own[0] if own else 1.0))
    return found


def test_a_check_takes_it_for_all_its_curves_where_none_has_one() -> None:
    found = obeying(HELD, "check", check())
    assert found.request.target.resistance_factor == 1.25
    assert told(found, "policy-default")[0].startswith("partial factor 1.25, by the policy works 3")
    given = obeying(HELD, "check", check(target={"resistance_factor": 1.1}))
    assert given.request.target.resistance_factor == 1.1


def test_a_line_without_one_takes_it_beside_a_line_with_one() -> None:
    found = obeying(HELD, "check", check(lines=lines(a=None, b=curves(SAFE_LIFE), c=curves())))
    assert factors(found.request) == [1.25, 1.0, 1.25]
    assert [text.partition(", by")[0] for text in told(found, "policy-default")] == [
        "partial factor 1.25 for the curves of the check",
        "partial factor 1.25 for the curves of c",
    ]
    of_check = obeying(HELD, "check", check(curves=curves(SAFE_LIFE), lines=lines(a=None, b=curves())))
    assert factors(of_check.request) == [1.0, 1.25]


def test_curves_that_no_line_uses_have_no_say() -> None:
    found = obeying(HELD, "check", check(curves=curves(SAFE_LIFE), lines=lines(a=curves())))
    assert factors(found.request) == [1.25]
    other = obeying(HELD, "check", check(lines=lines(a=curves(SAFE_LIFE))))
    assert (factors(other.request), told(other, "policy-default")) == ([1.0], [])


@pytest.mark.parametrize("strength_factor", [1.5, 1.0, 0.8])
def test_a_factor_that_is_only_called_so_takes_no_place_of_it(strength_factor: float) -> None:
    named = {**OWN, "strength_factor": strength_factor}
    assert factors(obeying(HELD, "check", check(curves=curves(named))).request) == [1.25]
    found = obeying(HELD, "spectrum/damage", {**BLOCK, "corrections": [named]})
    assert [each.strength_factor for each in found.request.corrections] == [strength_factor, 0.8]


def test_what_the_policy_added_is_not_added_again() -> None:
    found = obeying(HELD, "spectrum/damage", BLOCK)
    again = obeying(HELD, "spectrum/damage", found.request.model_dump())
    assert again.answer == found.answer
    assert told(again, "policy-default") == []


@pytest.mark.parametrize(
    ("name", "query", "answered", "ratio"),
    [
        ("life", {"stress_range_mpa": "90"}, "life_cycles", 1.25**-3),
        ("strength", {"life_cycles": "1e6"}, "stress_range_mpa", 1.0 / 1.25),
    ],
)
def test_one_value_of_a_url_has_it_too(name: str, query: dict[str, str], answered: str, ratio: float) -> None:
    route, asked = f"curves/{{curve}}/{name}", {"curve": "iiw-2016-normal-steel-71", **query}
    plain = getattr(obeying(policy(), route, asked, "GET").answer, answered)
    found = obeying(HELD, route, asked, "GET")
    assert getattr(found.answer, answered) == pytest.approx(plain * ratio)
    assert told(found, "policy-default")[0].startswith("partial factor 1.25, by the policy works 3")
    given = obeying(HELD, route, {**asked, "resistance_factor": "1.5"}, "GET")
    assert told(given, "policy-default") == []
    assert told(given, "partial-factor") == ["strengths are divided by 1.5, as the request says"]


def test_an_energy_density_which_takes_none_is_refused() -> None:
    curve = "energy-density"
    query = {"curve": curve, "energy_density_mj_m3": "0.1"}
    for name, data, method in (
        ("curves/{curve}/life", query, "GET"),
        ("curves/life", {"curve": curve, "energy_density_mj_m3": [0.1]}, "POST"),
    ):
        with pytest.raises(Problem, match=r"rule defaults\.partial_factor of the policy") as caught:
            obeying(HELD, name, data, method)
        assert caught.value.errors[0][0] == "/energy_density_mj_m3"
    strength = {"curve": curve, "life_cycles": "1e6"}
    with pytest.raises(Problem, match="not for energy densities") as caught:
        obeying(HELD, "curves/{curve}/strength", strength, "GET")
    assert caught.value.errors[0][0] == "/resistance_factor"
    obeying(HELD, "curves/{curve}/strength", {**strength, "resistance_factor": "1"}, "GET")


def test_a_factor_under_one_is_outside() -> None:
    query = {"curve": "iiw-2016-normal-steel-71", "stress_range_mpa": "90", "resistance_factor": "0.9"}
    assert told(obeying(policy(), "curves/{curve}/life", query, "GET"), "relieving-factor")
