"""Properties of growth lives: what changes nothing, and what never makes an answer better."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from fatcore.cracks.intensity.families import FAMILIES
from fatcore.cracks.intensity.family import REQUIRED

from .choices import run

FEW = settings(max_examples=12)
EFFECTS: list[dict[str, Any]] = [
    {"kind": "none"},
    {"kind": "walker", "walker_exponent": 0.6},
    {"kind": "elber"},
    {"kind": "schijve"},
    {"kind": "newman", "constraint": 1.5, "stress_over_flow": 0.3},
]
CONDITIONS = st.sampled_from(["as-welded", "stress-relieved"])
FACTOR = st.floats(-1.5, 1.5).map(lambda value: round(value, 3))
FACTORS = st.tuples(FACTOR, FACTOR).filter(lambda pair: abs(pair[0] - pair[1]) > 0.05)
ROUTES = ("edge", "surface", "path", "table", "mixed", "family", "centre", "scatter")


def law(effect: dict[str, Any], threshold_mpa_sqrt_mm: float = 0.0) -> dict[str, Any]:
    stages = [{"coefficient": 5.21e-13, "exponent": 3.0}]
    values = {"stages": stages, "units": "mm-MPa", "load_ratio_effect": effect}
    return values | ({"threshold_mpa_sqrt_mm": threshold_mpa_sqrt_mm} if threshold_mpa_sqrt_mm else {})


def stressed(route: str, sign: float) -> dict[str, Any]:
    """Crack and stress of a route for load factor 1, turned round with the sign."""
    if route == "surface":
        crack = {"kind": "surface", "depth_mm": 0.5, "half_length_mm": 1.0, "thickness_mm": 12.0}
        return {"crack": crack | {"half_width_mm": 40.0}, "stress": {"membrane_mpa": 90.0 * sign}}
    if route == "centre":
        crack = {"kind": "centre", "half_length_mm": 2.0, "width_mm": 60.0}
        return {"crack": crack, "stress": {"membrane_mpa": 90.0 * sign, "bending_mpa": 40.0 * sign}}
    if route in ("table", "mixed"):
        columns = {"opening": [sign * k for k in (150.0, 260.0, 420.0)]}
        if route == "mixed":
            columns |= {"sliding": [sign * k for k in (40.0, 90.0, 60.0)], "tearing": [30.0, 80.0, 90.0]}
        crack = {"kind": "table", "start_mm": 1.0, "crack_size_mm": [1.0, 2.0, 6.0], "k_mpa_sqrt_mm": columns}
        return {"crack": crack}
    if route == "family":
        parameters = {"thickness_mm": 10.0, "leg_mm": 7.0, "membrane_mpa": 80.0 * sign}
        crack = {"kind": "family", "family": "root-gap", "start_mm": 4.0, "largest_mm": 8.0}
        return {"crack": crack | {"parameters": parameters}}
    edge = {"kind": "edge", "depth_mm": 1.0, "width_mm": 20.0}
    if route == "path":
        path = {"distance_mm": [0.0, 3.0, 20.0], "stress_mpa": [sign * s for s in (160.0, 110.0, -20.0)]}
        return {"crack": edge, "stress": path}
    return {"crack": edge, "stress": {"membrane_mpa": 90.0 * sign, "bending_mpa": 20.0 * sign}}


def body(route: str, factors: tuple[float, float], condition: str, sign: float = 1.0) -> dict[str, Any]:
    loading = {"kind": "constant", "maximum": max(factors), "minimum": min(factors)}
    return stressed(route, sign) | {"loading": loading, "condition": condition, "law": law({"kind": "none"})}


def answer(route: str, request: dict[str, Any]) -> dict[str, Any]:
    if route != "scatter":
        return run("POST", "cracks/growth", request)
    variables = {"stress_factor": {"kind": "normal", "mean": 1.0, "variation": 0.05}}
    values = request | {"crack": stressed("surface", 1.0)["crack"], "variables": variables, "samples": 16}
    return run("POST", "cracks/scatter", values)


def life(request: dict[str, Any]) -> float:
    found = run("POST", "cracks/growth", request)["life_cycles"]
    return float("inf") if found is None else float(found)


@pytest.mark.uncounted
@pytest.mark.parametrize("route", ROUTES)
@FEW
@given(factors=FACTORS, condition=CONDITIONS)
def test_a_unit_case_turned_round_with_its_factors_gives_the_same_bytes(
    route: str, factors: tuple[float, float], condition: str
) -> None:
    turned = body(route, (-factors[0], -factors[1]), condition, -1.0)
    assert repr(answer(route, body(route, factors, condition))) == repr(answer(route, turned))


@pytest.mark.uncounted
@pytest.mark.parametrize("route", [route for route in ROUTES if route not in ("scatter", "centre")])
@FEW
@given(factors=FACTORS)
def test_as_welded_only_the_range_counts(route: str, factors: tuple[float, float]) -> None:
    """The cycle mirrored about zero has the same range; up to the load ratio of 0.5 nothing else counts."""
    mirrored = -factors[0], -factors[1]
    small, large = sorted((abs(factors[0]), abs(factors[1])))
    if factors[0] * factors[1] > 0.0 and small > 0.5 * large:
        return
    one, other = (answer(route, body(route, pair, "as-welded")) for pair in (factors, mirrored))
    assert one["life_cycles"] == pytest.approx(other["life_cycles"], rel=1e-12)


@pytest.mark.uncounted
@pytest.mark.parametrize("effect", EFFECTS, ids=lambda effect: effect["kind"])
@FEW
@given(
    maximum=st.floats(0.2, 1.5),
    minimum=st.floats(-2.5, 0.9),
    further=st.floats(0.001, 1.0),
    condition=CONDITIONS,
)
def test_a_wider_cycle_never_lives_longer(
    effect: dict[str, Any], maximum: float, minimum: float, further: float, condition: str
) -> None:
    """The minimum lowered, then the maximum raised too."""
    low = min(minimum, maximum - 0.05)
    cycles = ((maximum, low), (maximum, low - further), (maximum + further, low - further))
    lives = []
    for pair in cycles:
        request = body("edge", pair, condition) | {"law": law(effect)}
        lives.append(life(request))
    assert lives[0] >= lives[1] * (1.0 - 1e-6)
    assert lives[1] >= lives[2] * (1.0 - 1e-6)


@pytest.mark.uncounted
@FEW
@given(scale=st.floats(1.0, 3.0), route=st.sampled_from(["edge", "surface", "path", "table", "mixed", "family"]))
def test_larger_loads_never_live_longer(scale: float, route: str) -> None:
    for condition in ("as-welded", "stress-relieved"):
        one, more = (
            life(body(route, (factor, -0.3 * factor), condition) | {"law": law({"kind": "none"}, 40.0)})
            for factor in (1.0, scale)
        )
        assert more <= one * (1.0 + 1e-6)


@pytest.mark.uncounted
@FEW
@given(depth=st.floats(0.1, 3.0), further=st.floats(0.0, 3.0))
def test_a_deeper_flaw_never_lives_longer(depth: float, further: float) -> None:
    request = body("edge", (1.0, 0.0), "as-welded")
    lives = []
    for size in (depth, depth + further):
        request["crack"] = request["crack"] | {"depth_mm": size}
        lives.append(life(request))
    assert lives[1] <= lives[0] * (1.0 + 1e-9)


@pytest.mark.uncounted
@FEW
@given(toughness=st.floats(200.0, 3000.0), less=st.floats(0.1, 1.0))
def test_a_smaller_toughness_never_lives_longer(toughness: float, less: float) -> None:
    for route in ("edge", "mixed"):
        request = body(route, (1.0, 0.0), "as-welded")
        lives = [life(request | {"end": {"toughness_mpa_sqrt_mm": k}}) for k in (toughness, toughness * less)]
        assert lives[1] <= lives[0] * (1.0 + 1e-9)


@pytest.mark.uncounted
@FEW
@given(depth=st.floats(0.1, 3.0), further=st.floats(0.0, 3.0), stress=st.floats(1.0, 1.5))
def test_scatter_never_answers_better_to_a_worse_input(depth: float, further: float, stress: float) -> None:
    """More survival asked, a deeper flaw, more stress; the same seed draws the same cracks."""
    lives = []
    for size, factor in ((depth, 1.0), (depth + further, 1.0), (depth + further, stress)):
        request = body("scatter", (1.0, 0.0), "as-welded")
        request["stress"] = {"membrane_mpa": 90.0 * factor}
        crack = stressed("surface", 1.0)["crack"] | {"depth_mm": size, "half_length_mm": 2.0 * size}
        variables = {"stress_factor": {"kind": "lognormal", "mean": 1.0, "variation": 0.1}}
        more = {"crack": crack, "variables": variables, "samples": 32, "quantiles": [0.1, 0.5, 0.9]}
        lives.append(run("POST", "cracks/scatter", request | more)["life_cycles"])
    assert all(row == sorted(row) for row in lives)
    for one, worse in pairwise(lives):
        assert all(b <= a * (1.0 + 1e-3) for a, b in zip(one, worse, strict=True))


ENTRY = st.tuples(st.floats(-1.0, 1.0), st.floats(-1.0, 1.0), st.integers(2, 500))


def blocks(entries: list[tuple[float, float, float]], **more: Any) -> dict[str, Any]:
    return {
        "kind": "blocks",
        "maximum": [max(a, b) for a, b, _ in entries],
        "minimum": [min(a, b) for a, b, _ in entries],
        "cycles": [float(n) for _, _, n in entries],
    } | more


@pytest.mark.uncounted
@FEW
@given(entries=st.lists(ENTRY, min_size=2, max_size=5), at=st.integers(0, 4), condition=CONDITIONS)
def test_an_entry_split_in_two_changes_nothing(
    entries: list[tuple[float, float, int]], at: int, condition: str
) -> None:
    assume(any(a != b for a, b, _ in entries))  # what does not cycle is refused
    chosen = at % len(entries)
    a, b, n = entries[chosen]
    split = [*entries[:chosen], (a, b, n / 2.0), (a, b, n / 2.0), *entries[chosen + 1 :]]
    request = body("edge", (1.0, 0.0), condition)
    one, other = (life(request | {"loading": blocks(each)}) for each in (entries, split))
    assert one == pytest.approx(other, rel=1e-6) or one == other


@pytest.mark.uncounted
@FEW
@given(entries=st.lists(ENTRY, min_size=2, max_size=5), condition=CONDITIONS)
def test_counting_the_cycles_between_entries_never_lengthens_the_life(
    entries: list[tuple[float, float, int]], condition: str
) -> None:
    assume(any(a != b for a, b, _ in entries))
    request = body("edge", (1.0, 0.0), condition)
    added, left = (life(request | {"loading": blocks(entries, transitions=way)}) for way in ("added", "in-entries"))
    assert added <= left * (1.0 + 1e-6)


@pytest.mark.uncounted
@FEW
@given(exponent=st.floats(2.0, 4.5), coefficient=st.floats(1e-13, 1e-11))
def test_constants_converted_outside_give_the_same_life(exponent: float, coefficient: float) -> None:
    """[m/cycle, MPa√m] times 1000 * 1000^(-m/2) are [mm/cycle, MPa√mm]."""
    request = body("edge", (1.0, 0.0), "stress-relieved")
    lives = []
    for value, units in ((coefficient, "m-MPa"), (coefficient * 1000.0 ** (1.0 - exponent / 2.0), "mm-MPa")):
        own = {"stages": [{"coefficient": value, "exponent": exponent}], "units": units}
        lives.append(life(request | {"law": own}))
    assert lives[0] == pytest.approx(lives[1], rel=1e-9)


FAMILY_SIZES = {
    "thickness_mm": 20.0,
    "width_mm": 60.0,
    "half_width_mm": 40.0,
    "half_length_mm": 6.0,
    "surface_length_mm": 6.0,
    "free_length_mm": 120.0,
    "inner_radius_mm": 100.0,
    "mean_radius_mm": 110.0,
    "footprint_mm": 30.0,
    "leg_mm": 14.0,
}


def family_parameters(name: str, sign: float) -> dict[str, Any]:
    """Needed arguments of a family, its loads turned round with the sign."""
    found: dict[str, Any] = {}
    for each in FAMILIES[name].parameters:
        if each.role == "load":
            found[each.name] = sign * (3000.0 if each.name == "force_n" else 60.0)
        elif each.default is REQUIRED or each.name == "half_width_mm":
            found[each.name] = FAMILY_SIZES[each.name]
    return found


@pytest.mark.parametrize("name", [name for name in sorted(FAMILIES) if name != "surface-at-detail"])
def test_every_family_as_welded_counts_the_range_whatever_its_sign(name: str) -> None:
    lives = []
    for sign, pair in ((1.0, (1.0, -0.4)), (-1.0, (0.4, -1.0)), (-1.0, (1.0, -0.4)), (1.0, (0.0, -1.4))):
        start, largest = (14.0, 20.0) if name.startswith("specimen") else (2.0, 4.0)
        crack = {"kind": "family", "family": name, "start_mm": start, "largest_mm": largest}
        request = {
            "crack": crack | {"parameters": family_parameters(name, sign)},
            "law": law({"kind": "none"}),
            "loading": {"kind": "constant", "maximum": pair[0], "minimum": pair[1]},
        }
        lives.append(life(request))
    assert lives[0] == lives[1] < float("inf")
    assert lives == pytest.approx([lives[0]] * 4, rel=1e-12)
