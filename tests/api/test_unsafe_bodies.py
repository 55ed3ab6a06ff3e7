"""Cracked bodies, their ends and their inspection: what used to give a number that is too good is refused,
counted on the safe side or said.
"""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import httpx
import numpy as np
import pytest

from fatcore.figures import figure

EXAMPLES = Path(__file__).parents[2] / "openapi_examples"
PARIS = {"stages": [{"coefficient": 5.21e-13, "exponent": 3.0}], "units": "mm-MPa"}
SURFACE = {"kind": "surface", "depth_mm": 1.0, "half_length_mm": 2.0, "thickness_mm": 10.0}
EDGE = {"kind": "edge", "depth_mm": 1.0, "width_mm": 20.0, "thickness_mm": 10.0}
CYCLE = {"kind": "constant", "maximum": 1.0, "minimum": 0.0}


def example(name: str) -> dict[str, Any]:
    text = (EXAMPLES / f"{name}.json").read_text(encoding="utf-8")
    return copy.deepcopy(json.loads(text)["request"])  # type: ignore[no-any-return]


def content(client: httpx.Client, route: str, body: dict[str, Any]) -> dict[str, Any]:
    reply = client.post(f"/v1/{route}", json=body)
    assert reply.status_code == 200, reply.text
    return reply.json()  # type: ignore[no-any-return]


def codes(found: dict[str, Any]) -> set[str]:
    return {finding["code"] for finding in found["findings"]}


def refused(client: httpx.Client, route: str, body: dict[str, Any]) -> list[str]:
    reply = client.post(f"/v1/{route}", json=body)
    assert reply.status_code == 422, reply.text
    return [error["pointer"] for error in reply.json()["errors"]]


def growth(**more: Any) -> dict[str, Any]:
    """A request of cracks/growth for a surface crack under plain tension."""
    base = {"crack": SURFACE, "stress": {"membrane_mpa": 150.0}, "law": PARIS, "loading": CYCLE}
    return base | more


# inspection


def test_missed_probability_is_that_of_any_phase_of_the_schedule(client: httpx.Client) -> None:
    found = content(client, "cracks/inspection", example("cracks/inspection-interval"))["answer"]
    assert found["worst_missed_probability"] > found["mean_missed_probability"] > 0.0
    assert found["inspection_cycles"][0] == found["detectable_cycles"]
    left = found["critical_cycles"] - found["inspection_cycles"][-1]
    assert left == pytest.approx(found["interval_cycles"])


@pytest.mark.parametrize("kind", ["depth", "length"])
def test_histories_of_growth_go_into_inspection_unchanged(client: httpx.Client, kind: str) -> None:
    wide = SURFACE | {"half_width_mm": 100.0}
    body = growth(crack=wide, end={"grow_through": True, "half_length_mm": 40.0})
    history = content(client, "cracks/growth", body)["answer"]["history"]
    plan = {"history": history, "size_kind": kind, "detectable_mm": 5.0, "inspections": 3}
    found = content(client, "cracks/inspection", plan)["answer"]
    assert found["critical_cycles"] == history["elapsed_cycles"][-1]
    assert 0.0 < found["detectable_cycles"] < found["critical_cycles"]


def test_histories_are_given_once_and_say_which_size_counts(client: httpx.Client) -> None:
    end = {"end_reason": "fracture", "outside_codes": [], "block_cycles": None, "strength_checked": True}
    history = {"elapsed_cycles": [0.0, 1e5], "depth_mm": [1.0, 9.0]} | end
    plan = {"history": history, "detectable_mm": 5.0}
    assert refused(client, "cracks/inspection", plan) == ["/size_kind"]
    no_length = plan | {"size_kind": "length"}
    assert refused(client, "cracks/inspection", no_length) == ["/history/half_length_mm"]
    twice = plan | {"size_kind": "depth", "elapsed_cycles": [0.0, 1.0], "crack_size_mm": [1.0, 2.0]}
    assert refused(client, "cracks/inspection", twice) == ["/history"]
    assert refused(client, "cracks/inspection", {"detectable_mm": 5.0}) == ["/history"]


def test_detection_curves_by_length_do_not_take_depths(client: httpx.Client) -> None:
    body = example("cracks/inspection-interval") | {"curve": "visual-easy"}
    assert refused(client, "cracks/inspection", body) == ["/size_kind"]
    assert refused(client, "cracks/inspection", body | {"size_kind": None}) == ["/size_kind"]


def test_detectable_size_has_no_favourable_default(client: httpx.Client) -> None:
    body = example("cracks/inspection-interval")
    del body["detection_probability"]
    assert refused(client, "cracks/inspection", body) == ["/detection_probability"]


# growth from a stress path

PATH = {"distance_mm": [0.0, 0.5, 1.0, 5.0, 10.0], "stress_mpa": [300.0, 220.0, 180.0, 120.0, 60.0]}


def test_path_inside_one_element_is_not_taken_on_faith(client: httpx.Client) -> None:
    small = SURFACE | {"depth_mm": 0.1, "half_length_mm": 0.2}
    body = growth(crack=small, stress=PATH | {"element_size_mm": 0.5})
    found = content(client, "cracks/growth", body)
    assert "path-inside-element" in codes(found)
    (message,) = (f["message"] for f in found["findings"] if f["code"] == "path-inside-element")
    history = found["answer"]["history"]
    share = np.interp(np.log(0.5), np.log(history["depth_mm"]), history["elapsed_cycles"])
    share = 100.0 * share / found["answer"]["life_cycles"]
    assert float(message.split(" %")[0]) == pytest.approx(share, rel=0.01)
    unknown = content(client, "cracks/growth", growth(crack=small, stress=PATH))
    assert "path-mesh-unknown" in codes(unknown)
    deep = content(client, "cracks/growth", growth(stress=PATH | {"element_size_mm": 0.5}))
    assert "path-mesh" in codes(deep)
    asleep = growth(crack=small, stress=PATH | {"element_size_mm": 0.5}, law={"name": "iiw-2016/steel"})
    asleep["loading"] = CYCLE | {"maximum": 0.1}
    assert "path-inside-element" in codes(content(client, "cracks/growth", asleep))
    without_path = growth(stress={"membrane_mpa": 1.0, "element_size_mm": 0.5})
    assert refused(client, "cracks/growth", without_path) == ["/stress/element_size_mm"]


def test_check_knows_the_mesh_of_the_path(client: httpx.Client) -> None:
    found = content(client, "check", example("check/bracket-toe-growth"))
    assert "path-inside-element" in codes(found)


def test_check_says_that_shear_governs_where_the_path_holds_the_normal_stress(client: httpx.Client) -> None:
    body = example("check/bracket-toe-growth")
    assert "shear-governs-growth" not in codes(content(client, "check", body))
    for line in body["lines"]:
        line["basis"] = "nominal"
        size = len(line["position_mm"])
        for name in ("tangent", "bisector", "notch", "mesh", "average_over"):
            line.pop(name, None)
        line["cases"] = {name: {"normal_mpa": [0.0] * size, "shear_mpa": [5.0] * size} for name in line["cases"]}
    body["curves"] = {
        "rule": "fixed",
        "curve": "iiw-2016-normal-steel-80",
        "shear_curve": "iiw-2016-shear-steel-80",
        "interaction": "damage-sum",
    }
    assert "shear-governs-growth" in codes(content(client, "check", body))


def test_paths_that_do_not_span_the_wall_are_said(client: httpx.Client) -> None:
    short = {"distance_mm": [0.0, 4.0], "stress_mpa": [200.0, 100.0]}
    found = codes(content(client, "cracks/growth", growth(stress=short)))
    assert {"path-shorter-than-wall", "depth-mm-outside"} <= found
    inside = codes(content(client, "cracks/growth", growth(stress=short, end={"depth_mm": 3.0})))
    assert "path-shorter-than-wall" in inside
    assert "depth-mm-outside" not in inside
    long = {"distance_mm": [0.0, 14.0], "stress_mpa": [200.0, 100.0]}
    assert "path-beyond-wall" in codes(content(client, "cracks/growth", growth(stress=long)))
    critical = {"crack": SURFACE, "stress": short, "strength": STEEL}
    assert "path-shorter-than-wall" in codes(content(client, "cracks/critical-size", critical))


# bodies

STEEL = {"yield_strength_mpa": 355.0, "ultimate_strength_mpa": 510.0, "toughness_mpa_sqrt_mm": 3000.0}


def test_crack_round_a_tube_grows_along_its_arc(client: httpx.Client) -> None:
    """Closed form: K = S sqrt(pi a) F with a = R theta, so a short crack in a large tube grows as one in a
    wide plate [life integrated in closed form]."""
    tube = {
        "kind": "family",
        "family": "tube-circumferential",
        "start_mm": 5.0,
        "largest_mm": 6.0,
        "parameters": {"mean_radius_mm": 500.0, "thickness_mm": 10.0, "membrane_mpa": 100.0},
    }
    found = content(client, "cracks/growth", growth(crack=tube, stress={}))
    plate = 2.0 / (5.21e-13 * (100.0 * np.pi**0.5) ** 3.0) * (5.0**-0.5 - 6.0**-0.5)
    assert found["answer"]["life_cycles"] == pytest.approx(plate, rel=0.03)
    (arc,) = (f for f in found["findings"] if f["code"] == "arc-length")
    assert f"{figure(np.rad2deg(5.0 / 500.0))} to {figure(np.rad2deg(6.0 / 500.0))} deg" in arc["message"]


def test_families_with_a_second_length_say_that_it_stays(client: httpx.Client) -> None:
    ellipse = {
        "kind": "family",
        "family": "surface",
        "start_mm": 1.0,
        "largest_mm": 8.0,
        "parameters": {"half_length_mm": 10.0, "thickness_mm": 10.0, "membrane_mpa": 100.0},
    }
    assert "one-size-grows" in codes(content(client, "cracks/growth", growth(crack=ellipse, stress={})))


@pytest.mark.parametrize("bending", [-60.0, 60.0])
def test_bending_never_slows_a_crack_through_the_thickness(client: httpx.Client, bending: float) -> None:
    body = growth(crack={"kind": "centre", "half_length_mm": 5.0, "width_mm": 200.0}, end={"half_length_mm": 50.0})
    plain = content(client, "cracks/growth", body)["answer"]["life_cycles"]
    bent = body | {"stress": {"membrane_mpa": 150.0, "bending_mpa": bending}}
    life = content(client, "cracks/growth", bent)["answer"]["life_cycles"]
    assert life == pytest.approx(plain * (150.0 / 210.0) ** 3.0, rel=1e-6)


@pytest.mark.parametrize(
    ("stress", "sharing"),
    [
        ({"membrane_mpa": 150.0}, None),
        ({"membrane_mpa": 50.0, "bending_mpa": -100.0}, None),
        ({"membrane_mpa": 100.0, "bending_mpa": 80.0}, {"length_mm": 500.0, "grips": "rigid"}),
    ],
)
def test_breaking_through_never_lowers_the_driving_force(
    client: httpx.Client, stress: dict[str, float], sharing: dict[str, Any] | None
) -> None:
    crack = SURFACE | {"half_width_mm": 100.0, "toe_footprint_mm": 40.0, "toe_form": "solid"}
    body = growth(crack=crack, stress=stress, end={"grow_through": True}, sharing=sharing)
    found = content(client, "cracks/growth", body)
    history = found["answer"]["history"]
    through = int(np.argmax(np.array(history["depth_mm"]) >= 10.0 * (1.0 - 1e-9)))
    ranges = history["delta_k_surface_mpa_sqrt_mm"]
    assert ranges[through + 1] >= ranges[through] * (1.0 - 1e-9)


def test_free_edge_crack_takes_the_limit_load_of_free_ends(client: httpx.Client) -> None:
    """Equilibrium of the ligament under the force and its arm [plastic interaction of a rectangle]."""
    body = growth(crack=EDGE, stress={"membrane_mpa": 100.0}, end={"yield_strength_mpa": 300.0})
    found = content(client, "cracks/growth", body)["answer"]
    assert found["end_reason"] == "ligament-yield"
    alpha = found["final_depth_mm"] / 20.0
    force, moment, ligament = 100.0, 100.0 * alpha / 2.0, 1.0 - alpha
    level = 300.0
    assert (force / (level * ligament)) ** 2 + 4.0 * moment / (level * ligament**2) == pytest.approx(1.0)


def test_bending_that_closes_a_crack_is_no_relief_for_collapse(client: httpx.Client) -> None:
    sizes = []
    for sign in (1.0, -1.0):
        body = {"crack": SURFACE, "stress": {"bending_mpa": sign * 450.0}, "strength": STEEL}
        sizes.append(content(client, "cracks/critical-size", body)["answer"]["critical_mm"])
    assert None not in sizes


def test_thickness_has_no_default_where_load_is_shared(client: httpx.Client) -> None:
    around = {"length_mm": 100.0, "grips": "rigid"}
    bare = {"kind": "edge", "depth_mm": 1.0, "width_mm": 20.0}
    found = refused(client, "cracks/growth", growth(crack=bare, sharing=around))
    assert found == ["/crack/thickness_mm"]
    assert content(client, "cracks/growth", growth(crack=bare))


def test_grips_have_no_default(client: httpx.Client) -> None:
    body = growth(crack=EDGE, sharing={"length_mm": 100.0})
    assert refused(client, "cracks/growth", body) == ["/sharing/grips"]


def test_crack_front_is_in_plane_strain_unless_said_otherwise(client: httpx.Client) -> None:
    around = {"length_mm": 100.0, "grips": "rigid"}
    lives = [
        content(client, "cracks/growth", growth(crack=EDGE, sharing=around | plane))["answer"]["life_cycles"]
        for plane in ({}, {"plane": "strain"}, {"plane": "stress"})
    ]
    assert lives[0] == lives[1] < lives[2]


# ends


def test_what_has_no_use_is_refused(client: httpx.Client) -> None:
    for crack in (EDGE, {"kind": "centre", "half_length_mm": 5.0, "width_mm": 200.0}):
        body = growth(crack=crack, end={"grow_through": True})
        assert refused(client, "cracks/growth", body) == ["/end/grow_through"]
    body = growth(end={"line": "older"})
    assert refused(client, "cracks/growth", body) == ["/end/line"]
    table = example("cracks/growth-tabled") | {"stress": {"static_membrane_mpa": 100.0}}
    assert refused(client, "cracks/growth", table) == ["/stress"]


def test_growth_says_which_failure_it_did_not_look_for(client: httpx.Client) -> None:
    def message(end: dict[str, Any]) -> str:
        found = content(client, "cracks/growth", growth(end=end))["findings"]
        return " ".join(f["message"] for f in found if f["code"] == "strength-not-checked")

    assert "fracture" in message({})
    assert "collapse" in message({})
    assert "fracture" not in message({"toughness_mpa_sqrt_mm": 3000.0})
    assert "collapse" not in message({"yield_strength_mpa": 355.0})
    assert message({"strength": STEEL}) == ""


def test_ends_by_strength_say_which_residual_stress_they_hold(client: httpx.Client) -> None:
    body = growth(end={"strength": STEEL})
    assert "no-residual-stress" in codes(content(client, "cracks/growth", body))
    relieved = body | {"condition": "stress-relieved"}
    assert "no-residual-stress" not in codes(content(client, "cracks/growth", relieved))
    held = body | {"stress": {"membrane_mpa": 150.0, "static_membrane_mpa": 80.0}}
    assert "lasting-stress" in codes(content(client, "cracks/growth", held))
    assert "no-residual-stress" not in codes(content(client, "cracks/growth", growth()))


def test_lasting_stress_is_judged_alike_in_growth_and_critical_size(client: httpx.Client) -> None:
    stress = {"membrane_mpa": 180.0, "static_membrane_mpa": 120.0}
    body = growth(crack=EDGE, stress=stress, end={"strength": STEEL})
    final = content(client, "cracks/growth", body)["answer"]["final_depth_mm"]
    critical = {"crack": EDGE, "stress": stress, "strength": STEEL}
    found = content(client, "cracks/critical-size", critical)["answer"]["critical_mm"]
    assert final == pytest.approx(found, rel=1e-6)


# laws and loading


def test_life_without_retardation_stands_beside(client: httpx.Client) -> None:
    block = {"kind": "blocks", "maximum": [1.0, 0.5], "minimum": [0.0, 0.0], "cycles": [1.0, 100.0]}
    model = {"model": "wheeler", "yield_strength_mpa": 355.0, "exponent": 1.5}
    slowed = block | {"retardation": model}
    found = content(client, "cracks/growth", growth(loading=slowed))
    plain = content(client, "cracks/growth", growth(loading=block))["answer"]
    beside = found["answer"]["life_without_retardation_cycles"]
    assert beside == pytest.approx(plain["life_cycles"], rel=1e-4)
    assert found["answer"]["life_cycles"] > beside
    assert "retardation-counted" in codes(found)
    assert plain["life_without_retardation_cycles"] is None
    (note,) = (f["message"] for f in found["findings"] if f["code"] == "block-average")
    assert "bounds" not in note


def test_thresholds_can_be_switched_off_and_are_doubted_for_short_cracks(client: httpx.Client) -> None:
    small = SURFACE | {"depth_mm": 0.1, "half_length_mm": 0.2}
    body = growth(crack=small, stress={"membrane_mpa": 40.0}, law={"name": "iiw-2016/steel"})
    found = content(client, "cracks/growth", body)
    assert found["answer"]["below_cutoff"]
    assert "threshold-of-long-cracks" in codes(found)
    off = content(client, "cracks/growth", body | {"law": {"name": "iiw-2016/steel", "threshold": "none"}})
    assert off["answer"]["life_cycles"] > 0.0
    assert "threshold-of-long-cracks" not in codes(off)
    own = PARIS | {"threshold": "none"}
    assert content(client, "cracks/growth", growth(law=own))["answer"]["life_cycles"] > 0.0
    zero = {"name": "iiw-2016/steel", "threshold_mpa_sqrt_mm": 0.0}
    assert refused(client, "cracks/growth", body | {"law": zero}) == ["/law/name"]


def test_small_cycles_below_a_threshold_are_said(client: httpx.Client) -> None:
    mix = {"kind": "blocks", "maximum": [1.0, 0.1], "minimum": [0.0, 0.0], "cycles": [1.0, 3.0]}
    body = growth(loading=mix, law={"name": "iiw-2016/steel"}, end={"depth_mm": 2.0})
    found = content(client, "cracks/growth", body)
    (message,) = (f["message"] for f in found["findings"] if f["code"] == "small-cycles-left-out")
    assert message.startswith("75 %")
    off = body | {"law": {"name": "iiw-2016/steel", "threshold": "none"}}
    assert "small-cycles-left-out" not in codes(content(client, "cracks/growth", off))


@pytest.mark.parametrize(
    ("name", "mean"),
    [("bs7910-2013/air-mean", True), ("dnv-rp-c210/air-median", True), ("bs7910-2013/air-upper", False)],
)
def test_mean_growth_curves_are_called_mean(client: httpx.Client, name: str, mean: bool) -> None:
    found = codes(content(client, "cracks/growth", growth(law={"name": name})))
    assert ("mean-growth-curve" in found) is mean


def test_end_by_stiffness_stops_at_the_ratio_asked(client: httpx.Client) -> None:
    """A deep crack spends few cycles while the joint softens much: the compliance is followed too."""
    top = [0.4 + 0.6 * i / 249.0 for i in range(250)]
    block = {"kind": "blocks", "maximum": top, "minimum": [0.0] * 250, "cycles": [10.0] * 250}
    beside = {"axial_stiffness_n_per_mm": 1e4, "rotational_stiffness_nmm": 1e7}
    around = {"length_mm": 60.0, "grips": "free", "plane": "stress", "members": [beside]}
    for ratio in (0.95, 0.81):
        body = growth(crack=EDGE, stress={"membrane_mpa": 100.0}, loading=block, sharing=around)
        body |= {"end": {"stiffness_ratio": ratio}, "law": {"name": "bs7910-2013/air-mean"}}
        found = content(client, "cracks/growth", body)["answer"]
        assert found["end_reason"] == "stiffness"
        assert found["history"]["stiffness_ratio"][-1] == pytest.approx(ratio, abs=1e-7)


def test_retarded_block_below_the_threshold_is_at_rest_and_not_running(client: httpx.Client) -> None:
    top = [0.001 * (i + 1) for i in range(50)]
    block: dict[str, Any] = {"kind": "blocks", "maximum": top, "minimum": [0.0] * 50, "cycles": [9.0] * 50}
    block["retardation"] = {"model": "wheeler", "yield_strength_mpa": 355.0, "exponent": 1.5}
    body = growth(loading=block, law={"name": "iiw-2016/steel"})
    found = content(client, "cracks/growth", body)["answer"]
    assert found["below_cutoff"]
    assert found["end_reason"] == "arrest"


def test_crack_through_the_whole_width_is_an_end_and_not_a_refusal(client: httpx.Client) -> None:
    crack = {"kind": "surface", "depth_mm": 9.999, "half_length_mm": 19.85, "thickness_mm": 10.0}
    body = growth(crack=crack | {"half_width_mm": 20.0}, end={"grow_through": True})
    assert "no-plate-left" in codes(content(client, "cracks/growth", body))
