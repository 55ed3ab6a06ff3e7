"""Properties of the routes of cracked bodies: a worse input never gives a better answer, and what changes
nothing in the world changes no number.
"""

from __future__ import annotations

import math
from typing import Any

import httpx
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

pytestmark = pytest.mark.uncounted

quick = settings(
    max_examples=12,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
SAME = 1e-5  # relative: the tolerance of the integration
PARIS = {"stages": [{"coefficient": 5.21e-13, "exponent": 3.0}], "units": "mm-MPa"}
STEEL = {"yield_strength_mpa": 355.0, "ultimate_strength_mpa": 510.0, "toughness_mpa_sqrt_mm": 3000.0}
LAWS: list[dict[str, Any]] = [PARIS, {"name": "iiw-2016/steel"}, {"name": "bs7910-2013/air-upper"}]

KINDS = st.sampled_from(["surface", "toe", "edge", "centre"])
STRESSES = st.fixed_dictionaries(
    {"membrane_mpa": st.floats(60.0, 160.0), "bending_mpa": st.floats(0.0, 60.0)},
    optional={"static_membrane_mpa": st.floats(0.0, 50.0)},
)


def body_of(kind: str, size: float) -> dict[str, Any]:
    if kind == "edge":
        return {"kind": "edge", "depth_mm": size, "width_mm": 20.0, "thickness_mm": 10.0}
    if kind == "centre":
        return {"kind": "centre", "half_length_mm": size, "width_mm": 100.0}
    plate = {"depth_mm": size, "half_length_mm": 2.0 * size, "thickness_mm": 20.0, "half_width_mm": 60.0}
    return {"kind": "surface"} | plate | ({"toe_footprint_mm": 40.0} if kind == "toe" else {})


def answer(client: httpx.Client, route: str, body: dict[str, Any]) -> dict[str, Any]:
    reply = client.post(f"/v1/cracks/{route}", json=body)
    assert reply.status_code == 200, reply.text
    return reply.json()["answer"]  # type: ignore[no-any-return]


def life(client: httpx.Client, **body: Any) -> float:
    base = {"law": PARIS, "loading": {"kind": "constant", "maximum": 1.0, "minimum": 0.0}}
    found = answer(client, "growth", base | body)
    return math.inf if found["below_cutoff"] else float(found["life_cycles"])


def not_better(worse: float, better: float) -> None:
    assert worse <= better * (1.0 + SAME)


@quick
@given(
    kind=KINDS,
    stress=STRESSES,
    law=st.sampled_from(LAWS),
    factor=st.floats(1.0, 1.5),
    size=st.floats(0.2, 3.0),
)
def test_larger_loads_and_larger_flaws_shorten_the_life(
    client: httpx.Client, kind: str, stress: dict[str, float], law: dict[str, Any], factor: float, size: float
) -> None:
    case = {"stress": stress, "law": law, "end": {"strength": STEEL}}
    first = life(client, crack=body_of(kind, size), **case)
    loaded = {"kind": "constant", "maximum": factor, "minimum": 0.0}
    not_better(life(client, crack=body_of(kind, size), loading=loaded, **case), first)
    not_better(life(client, crack=body_of(kind, factor * size), **case), first)


@quick
@given(kind=KINDS, stress=STRESSES, part=st.floats(0.3, 1.0))
def test_smaller_limits_shorten_the_life(
    client: httpx.Client, kind: str, stress: dict[str, float], part: float
) -> None:
    def with_end(factor: float) -> list[float]:
        strength = {name: factor * value for name, value in STEEL.items()}
        ends: list[dict[str, Any]] = [
            {"strength": strength},
            {"toughness_mpa_sqrt_mm": factor * 3000.0},
            {"yield_strength_mpa": factor * 355.0},
            {"half_length_mm" if kind == "centre" else "depth_mm": 3.0 + 10.0 * factor},
        ]
        return [life(client, crack=body_of(kind, 1.0), stress=stress, end=end) for end in ends]

    for worse, better in zip(with_end(part), with_end(1.0), strict=True):
        not_better(worse, better)


@quick
@given(kind=KINDS, stress=STRESSES, more=st.floats(0.0, 80.0))
def test_more_lasting_stress_shortens_the_life_and_the_critical_size(
    client: httpx.Client, kind: str, stress: dict[str, float], more: float
) -> None:
    crack, sizes, lives = body_of(kind, 1.0), [], []
    for added in (more, 0.0):
        held = stress | {"static_membrane_mpa": stress.get("static_membrane_mpa", 0.0) + added}
        lives.append(life(client, crack=crack, stress=held, end={"strength": STEEL}))
        body = {"crack": crack, "stress": held, "strength": STEEL}
        sizes.append(answer(client, "critical-size", body)["critical_mm"] or math.inf)
    not_better(*lives)
    not_better(*sizes)


@quick
@given(kind=KINDS, stress=STRESSES, factor=st.floats(1.0, 2.0))
def test_larger_loads_and_weaker_material_lower_the_critical_size(
    client: httpx.Client, kind: str, stress: dict[str, float], factor: float
) -> None:
    body = {"crack": body_of(kind, 0.5), "stress": stress, "strength": STEEL}
    weaker = {name: value / factor for name, value in STEEL.items()}
    first = answer(client, "critical-size", body)["critical_mm"] or math.inf
    for change in ({"maximum": factor}, {"strength": weaker}):
        not_better(answer(client, "critical-size", body | change)["critical_mm"] or math.inf, first)


@quick
@given(
    k=st.floats(1.0, 2500.0),
    reference=st.floats(1.0, 400.0),
    factor=st.floats(1.0, 2.0),
    line=st.sampled_from(["continuous", "plateau", "older"]),
)
def test_worse_states_have_less_reserve(
    client: httpx.Client, k: float, reference: float, factor: float, line: str
) -> None:
    def reserve(k_now: float, reference_now: float, secondary: float) -> float:
        states = {"k_primary_mpa_sqrt_mm": [k_now], "reference_stress_mpa": [reference_now]}
        states |= {"k_secondary_mpa_sqrt_mm": [secondary]}
        found = answer(client, "fracture", states | {"strength": STEEL, "line": line})
        return float(found["reserve_factor"][0])

    first = reserve(k, reference, 0.0)
    assert reserve(factor * k, factor * reference, 0.0) == pytest.approx(first / factor, rel=1e-9)
    not_better(reserve(factor * k, reference, 0.0), first)
    not_better(reserve(k, factor * reference, 0.0), first)
    not_better(reserve(k, reference, 0.1 * k), first)


@quick
@given(
    kind=KINDS,
    membrane=st.floats(40.0, 120.0),
    stiffness=st.floats(1e4, 1e6),
    grips=st.sampled_from(["rigid", "free"]),
)
def test_what_takes_less_load_from_a_crack_gives_it_less_life(
    client: httpx.Client, kind: str, membrane: float, stiffness: float, grips: str
) -> None:
    crack = body_of(kind, 1.0)
    if kind == "centre":
        crack["thickness_mm"] = 10.0
    end = {"half_length_mm" if kind == "centre" else "depth_mm": 9.0}

    def shared(beside: float) -> dict[str, Any]:
        member = {"axial_stiffness_n_per_mm": beside, "rotational_stiffness_nmm": 100.0 * beside}
        around = {"length_mm": 200.0, "grips": grips, "members": [member]}
        body = {"crack": crack, "stress": {"membrane_mpa": membrane}, "end": end, "sharing": around}
        base = {"law": PARIS, "loading": {"kind": "constant", "maximum": 1.0, "minimum": 0.0}}
        return answer(client, "growth", base | body)

    weak, strong = shared(stiffness), shared(4.0 * stiffness)
    not_better(weak["life_cycles"], strong["life_cycles"])
    not_better(weak["constant_load_life_cycles"], weak["life_cycles"])


@quick
@given(kind=KINDS, stress=STRESSES, minimum=st.floats(-0.8, 0.5))
def test_unit_case_turned_round_with_its_factors_is_the_same_load(
    client: httpx.Client, kind: str, stress: dict[str, float], minimum: float
) -> None:
    turned = stress | {name: -stress[name] for name in ("membrane_mpa", "bending_mpa")}
    cycle = {"kind": "constant", "maximum": 1.0, "minimum": minimum}
    back = {"kind": "constant", "maximum": -minimum, "minimum": -1.0}
    for condition in ("as-welded", "stress-relieved"):
        case = {"crack": body_of(kind, 1.0), "condition": condition, "end": {"strength": STEEL}}
        first = life(client, stress=stress, loading=cycle, **case)
        assert life(client, stress=turned, loading=back, **case) == pytest.approx(first, rel=SAME)


@quick
@given(kind=KINDS, stress=STRESSES, law=st.sampled_from(LAWS), part=st.floats(0.1, 0.9))
def test_block_that_is_split_in_two_is_the_same_block(
    client: httpx.Client, kind: str, stress: dict[str, float], law: dict[str, Any], part: float
) -> None:
    case = {"crack": body_of(kind, 1.0), "stress": stress, "law": law, "end": {"strength": STEEL}}
    whole = {"kind": "blocks", "maximum": [1.0, 0.7], "minimum": [0.0, 0.1], "cycles": [10.0, 100.0]}
    split = {
        "kind": "blocks",
        "maximum": [1.0, 0.7, 0.7],
        "minimum": [0.0, 0.1, 0.1],
        "cycles": [10.0, 100.0 * part, 100.0 * (1.0 - part)],
    }
    first = life(client, loading=whole, **case)
    assert life(client, loading=split, **case) == pytest.approx(first, rel=SAME)


@quick
@given(kind=KINDS, stress=STRESSES, exponent=st.floats(2.0, 4.0))
def test_growth_constants_in_metres_are_those_in_millimetres(
    client: httpx.Client, kind: str, stress: dict[str, float], exponent: float
) -> None:
    lives = []
    for units, coefficient in (("m-MPa", 1e-11), ("mm-MPa", 1e-11 * 1e3 * 1e3 ** (-exponent / 2.0))):
        law = {"stages": [{"coefficient": coefficient, "exponent": exponent}], "units": units}
        lives.append(life(client, crack=body_of(kind, 1.0), stress=stress, law=law))
    assert lives[0] == pytest.approx(lives[1], rel=1e-9)


@quick
@given(
    inspections=st.integers(1, 5),
    probability=st.floats(0.3, 0.9),
    more=st.floats(1.0, 1.09),
    median=st.floats(0.3, 2.0),
)
def test_harder_inspections_come_more_often_and_miss_more(
    client: httpx.Client, inspections: int, probability: float, more: float, median: float
) -> None:
    history = {"elapsed_cycles": [0.0, 3e5, 5e5, 6e5, 6.5e5], "crack_size_mm": [0.2, 1.0, 5.0, 20.0, 60.0]}
    curve = {"median_mm": median, "exponent": 1.0}
    body = history | {"inspections": inspections, "detection_probability": probability, "curve": curve}
    first = answer(client, "inspection", body)
    certain = answer(client, "inspection", body | {"detection_probability": probability * more})
    not_better(certain["interval_cycles"], first["interval_cycles"])
    again = answer(client, "inspection", body | {"inspections": inspections + 1})
    not_better(again["interval_cycles"], first["interval_cycles"])
    same = body | {"detectable_mm": first["detectable_mm"], "detection_probability": None}
    blunt = answer(client, "inspection", same | {"curve": {"median_mm": 2.0 * median, "exponent": 1.0}})
    for name in ("worst_missed_probability", "mean_missed_probability"):
        not_better(first[name], blunt[name])
