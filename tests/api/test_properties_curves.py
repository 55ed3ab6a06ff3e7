"""Curves: a worse input never gives a better answer, and what is the same stays the same, over all routes."""

from __future__ import annotations

import json
import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.base.envelope import evaluate
from service.topics.registry import find
from tests.api.test_unsafe_curves import (
    BLOCKS,
    DNV,
    EN,
    EN_SHEAR,
    IIW,
    IIW_SHEAR,
    LONG_TERM,
    PEAK,
    RANDOM,
    both,
    history,
    nominal,
    two_blocks,
)

FEW = settings(max_examples=12, deadline=None, derandomize=True)
CURVES = st.sampled_from([IIW, EN, DNV, "bs-7608-1993-f", PEAK])
ROUTES = ["spectrum/damage", "spectrum/long-term", "spectrum/random", "check", "curves/life"]
Request = dict[str, Any]


def answer(route: str, request: Request) -> Request:
    calculation = find(route)
    assert calculation is not None
    found: Request = json.loads(evaluate(calculation, request).content())["answer"]
    return found


def used(route: str, curve: str, load: float = 1.0, limit: float | None = None, **state: Any) -> float:
    """How much of the resistance is used: damage over its limit, or the inverse of a life."""
    limits = {} if limit is None else {"damage_limit": limit}
    if route == "check":
        target = {name: value for name, value in state.items() if name == "survival_probability"}
        rest = {name: value for name, value in state.items() if name != "survival_probability"}
        request = nominal({"curve": curve, **rest}, two_blocks(), target={**limits, **target, "load_factor": load})
    elif route == "spectrum/damage":
        request = {"range_mpa": [load * size for size in BLOCKS["range_mpa"]], "count": BLOCKS["count"]}
    elif route == "spectrum/long-term":
        request = {**LONG_TERM, "largest_range_mpa": load * LONG_TERM["largest_range_mpa"]}
    elif route == "spectrum/random":
        request = {
            **RANDOM,
            "density_mpa2_per_hz": [load**2 * value for value in RANDOM["density_mpa2_per_hz"]],
        }
    else:
        request, limits = {"stress_range_mpa": [load * 80.0]}, {}
    if route != "check":
        request = {**request, "curve": curve, **state, **limits}
    found = answer(route, request)
    if route == "curves/life":
        return float(found["damage_per_cycle"][0])
    damage = found["damage"]["narrow_band"] if route == "spectrum/random" else found["damage"]
    return float(damage) / float(found["damage_limit"])


@pytest.mark.parametrize("route", ROUTES)
@FEW
@given(CURVES, st.floats(1.0, 3.0))
def test_a_larger_load_never_uses_less(route: str, curve: str, more: float) -> None:
    assert used(route, curve, load=more) >= used(route, curve) * (1.0 - 1e-9)


@pytest.mark.parametrize("route", ROUTES)
@FEW
@given(CURVES, st.floats(0.5, 0.99), st.floats(0.0, 0.009))
def test_a_higher_survival_never_uses_less(route: str, curve: str, asked: float, more: float) -> None:
    low, high = (used(route, curve, survival_probability=share) for share in (asked, asked + more))
    assert high >= low * (1.0 - 1e-9)


@pytest.mark.parametrize("route", ROUTES)
@FEW
@given(CURVES, st.floats(0.3, 1.0))
def test_a_weaker_joint_never_uses_less(route: str, curve: str, factor: float) -> None:
    weak = {"kind": "own", "name": "heat", "strength_factor": factor, "reason": "tests"}
    assert used(route, curve, corrections=[weak]) >= used(route, curve) * (1.0 - 1e-9)


@pytest.mark.parametrize("route", ROUTES[:-1])
@FEW
@given(CURVES, st.floats(0.1, 1.0))
def test_a_smaller_limit_never_uses_less(route: str, curve: str, limit: float) -> None:
    assert used(route, curve, limit=limit * 0.7) >= used(route, curve, limit=limit)


@pytest.mark.parametrize("route", ROUTES[:-1])
@pytest.mark.parametrize("curve", [IIW, EN, DNV, PEAK])
def test_no_choice_of_a_limit_is_never_better_than_a_stated_one(route: str, curve: str) -> None:
    """What is taken without a choice is at most what the document states, and at most 1."""
    assert used(route, curve) >= used(route, curve, limit=1.0)


@pytest.mark.parametrize("route", ["spectrum/damage", "check"])
@FEW
@given(CURVES, st.floats(0.05, 0.95))
def test_a_block_split_in_two_is_the_same_block(route: str, curve: str, part: float) -> None:
    size, count = 70.0, 1e6
    whole, split = (
        [(size, count), (30.0, 1e6)],
        [(size, count * part), (30.0, 1e6), (size, count * (1 - part))],
    )
    found = []
    for blocks in (whole, split):
        ranges, counts = (list(column) for column in zip(*blocks, strict=True))
        if route == "check":
            states = [{"factors": {"pull": {"maximum": r, "minimum": 0.0}}, "cycles": n} for r, n in blocks]
            request = nominal({"curve": curve}, {"kind": "blocks", "blocks": states})
        else:
            request = {"range_mpa": ranges, "count": counts, "curve": curve}
        found.append(answer(route, request))
    assert found[1]["damage"] == pytest.approx(found[0]["damage"], rel=1e-9)
    assert found[1]["damage_limit"] == found[0]["damage_limit"]


@FEW
@given(st.floats(0.0, 180.0), st.sampled_from([(EN, EN_SHEAR), (IIW, IIW_SHEAR)]))
def test_shear_turned_round_combines_alike(phase_deg: float, curves: tuple[str, str]) -> None:
    """A unit case with the other sign and its factors with the other sign are the same stress."""
    request = both(history(phase_deg, 60.0, 50.0, 1e5), *curves)
    turned = json.loads(json.dumps(request))
    turned["lines"][0]["cases"]["turn"]["shear_mpa"] = [-1.0]
    turned["loading"]["channels"]["turn"] = [-value for value in turned["loading"]["channels"]["turn"]]
    assert answer("check", turned)["utilisation"] == pytest.approx(answer("check", request)["utilisation"])


@FEW
@given(st.floats(10.0, 80.0))
def test_out_of_step_is_never_better_than_in_step(shear: float) -> None:
    apart, together = (answer("check", both(history(phase, 60.0, shear, 1e5))) for phase in (90.0, 0.0))
    assert apart["utilisation"] >= together["utilisation"] * (1.0 - 1e-9)


@FEW
@given(st.floats(0.8, 1.25), st.floats(0.3, 3.0), st.floats(1.0, 2.0))
def test_a_stepped_curve_falls_and_never_outlives_its_branches(step: float, load: float, more: float) -> None:

    knee = 10.0 ** (5.164 / 3.0)
    second = 7.0 + 5.0 * math.log10(knee * step)
    curve = {
        "name": "mine", "log10_constants": [12.164, second], "slopes": [3.0, 5.0], "knee_cycles": [1e7],
        "step_at_knee": True,
    }  # fmt: skip
    ranges = [load * knee * more, load * knee]
    lives = answer("curves/life", {"curve": curve, "stress_range_mpa": ranges})["life_cycles"]
    assert lives[0] <= lives[1] * (1.0 + 1e-9)
    for size, life in zip(ranges, lives, strict=True):
        branches = (10.0**12.164 / size**3, 10.0**second / size**5)
        assert life <= max(branches) * (1.0 + 1e-9)
