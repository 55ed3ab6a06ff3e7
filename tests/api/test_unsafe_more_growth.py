"""Growth of cracks: lives that were too good, or infinite, without a word are ended, refused or said."""

from __future__ import annotations

import json
from itertools import pairwise
from typing import Any

import httpx
import pytest

PARIS = {"stages": [{"coefficient": 5.21e-13, "exponent": 3.0}], "units": "mm-MPa"}
EDGE = {"kind": "edge", "depth_mm": 1.0, "width_mm": 50.0}
CYCLE = {"kind": "constant", "maximum": 1.0, "minimum": 0.0}
FALLING = {"membrane_mpa": -50.0, "bending_mpa": 140.0}
PATH = {"distance_mm": [0.0, 10.0, 25.0, 50.0], "stress_mpa": [150.0, 100.0, 50.0, -50.0]}
Found = dict[str, Any]


def request(**more: Any) -> dict[str, Any]:
    base = {"crack": EDGE, "stress": {"membrane_mpa": 100.0}, "law": PARIS, "loading": CYCLE}
    return base | more


def grown(client: httpx.Client, **more: Any) -> tuple[Found, dict[str, str]]:
    """Answer, and severities of the findings by code."""
    reply = client.post("/v1/cracks/growth", json=request(**more))
    assert reply.status_code == 200, reply.text
    content = reply.json()
    return content["answer"], {finding["code"]: finding["severity"] for finding in content["findings"]}


def refused(client: httpx.Client, **more: Any) -> list[str]:
    reply = client.post("/v1/cracks/growth", json=request(**more))
    assert reply.status_code == 422, reply.text
    return [error["pointer"] for error in reply.json()["errors"]]


# a stress intensity that changes its sign


@pytest.mark.parametrize("condition", ["as-welded", "stress-relieved"])
@pytest.mark.parametrize("threshold", [0.0, 63.0])
def test_a_life_ends_where_its_driving_force_dies_away(client: httpx.Client, condition: str, threshold: float) -> None:
    law = PARIS | {"threshold_mpa_sqrt_mm": threshold}
    found, codes = grown(client, stress=FALLING, condition=condition, law=law)
    assert found["end_reason"] == "driving-force-vanishes"
    assert codes["driving-force-vanishes"] == "outside"
    assert 44.9 < found["final_depth_mm"] < 45.476
    assert found["life_cycles"] == pytest.approx(1.66e6, rel=0.01)
    assert not found["below_cutoff"]


def test_a_larger_load_never_lives_longer_where_the_intensity_changes_its_sign(client: httpx.Client) -> None:
    factors = [1.0, 1.05, 1.5, 2.0]
    by_factor = [grown(client, stress=FALLING, loading=CYCLE | {"maximum": f})[0] for f in factors]
    bending = [120.0, 140.0, 145.0, 150.0, 160.0]
    by_bending = [grown(client, stress=FALLING | {"bending_mpa": b})[0] for b in bending]
    for lives in ([each["life_cycles"] for each in row] for row in (by_factor, by_bending)):
        assert lives == sorted(lives, reverse=True)
        assert max(lives) < 1e8


def test_load_that_others_take_lengthens_no_life_by_a_change_of_sign(client: httpx.Client) -> None:
    members = [{"axial_stiffness_n_per_mm": 1e5}]
    found, codes = grown(
        client,
        crack=EDGE | {"thickness_mm": 10.0},
        stress=PATH,
        sharing={"length_mm": 500.0, "members": members, "grips": "free"},
    )
    assert found["end_reason"] == "driving-force-vanishes"
    assert codes["driving-force-vanishes"] == "outside"
    assert 1.0 < found["life_extension_factor"] < 2.0


def test_a_table_that_changes_its_sign_ends_the_life_there(client: httpx.Client) -> None:
    columns = {"opening": [200.0, 400.0, 300.0, -100.0, 50.0]}
    table = {"kind": "table", "start_mm": 1.0, "crack_size_mm": [1.0, 5.0, 10.0, 20.0, 40.0]}
    body = request(crack=table | {"k_mpa_sqrt_mm": columns})
    del body["stress"]
    reply = client.post("/v1/cracks/growth", json=body)
    found = reply.json()["answer"]
    assert found["end_reason"] == "driving-force-vanishes"
    assert found["final_depth_mm"] < 20.0
    assert found["life_cycles"] < 1e8


# sizes that a family is asked for


@pytest.mark.parametrize("largest_mm", [30.0, 40.0, 45.0, 49.9])
@pytest.mark.parametrize("form", ["accurate", "handbook"])
def test_a_clamped_plate_grows_up_to_any_size_below_its_width(
    client: httpx.Client, largest_mm: float, form: str
) -> None:
    parameters = {"width_mm": 50.0, "free_length_mm": 100.0, "membrane_mpa": 80.0, "form": form}
    crack = {"kind": "family", "family": "edge-clamped", "start_mm": 1.0, "largest_mm": largest_mm}
    found, _ = grown(client, crack=crack | {"parameters": parameters}, stress={})
    assert found["end_reason"] == "largest-size"
    assert found["final_depth_mm"] == pytest.approx(largest_mm)
    assert 5e5 < found["life_cycles"] < 2e6


# lasting stress at the ends by strength


@pytest.mark.parametrize("condition", ["as-welded", "stress-relieved"])
def test_a_lasting_tension_never_lengthens_a_life_to_collapse(client: httpx.Client, condition: str) -> None:
    lives = []
    for lasting in (0.0, 10.0, 30.0, 60.0):
        found, _ = grown(
            client,
            crack={"kind": "edge", "depth_mm": 4.5, "width_mm": 25.0},
            stress={"membrane_mpa": 120.0, "bending_mpa": 90.0, "static_membrane_mpa": lasting},
            loading=CYCLE | {"maximum": 0.6, "minimum": -1.2},
            end={"yield_strength_mpa": 512.0},
            condition=condition,
        )
        lives.append(found["life_cycles"])
    assert all(after <= before * (1.0 + 1e-9) for before, after in pairwise(lives))


STRENGTH = {"yield_strength_mpa": 355.0, "ultimate_strength_mpa": 490.0, "toughness_mpa_sqrt_mm": 2000.0}


@pytest.mark.parametrize(
    "end", [{"toughness_mpa_sqrt_mm": 1500.0}, {"yield_strength_mpa": 300.0}, {"strength": STRENGTH}]
)
def test_as_welded_no_lasting_compression_lengthens_a_life(client: httpx.Client, end: Any) -> None:
    plain, _ = grown(client, end=end)
    for lasting in (-40.0, -90.0):
        stress = {"membrane_mpa": 100.0, "static_membrane_mpa": lasting}
        found, _ = grown(client, stress=stress, end=end)
        assert found["life_cycles"] <= plain["life_cycles"] * (1.0 + 1e-9)


def test_a_lasting_compression_is_said_with_the_life_without_it(client: httpx.Client) -> None:
    relieved = {"condition": "stress-relieved"}
    plain, without = grown(client, **relieved)
    assert "compression-counted" not in without
    for lasting in (-50.0, -90.0, -100.0):
        stress = {"membrane_mpa": 100.0, "static_membrane_mpa": lasting}
        found, codes = grown(client, stress=stress, **relieved)
        assert codes["compression-counted"] == "caution"
        assert found["life_without_compression_cycles"] == pytest.approx(plain["life_cycles"])
    tension = {"membrane_mpa": 100.0, "static_membrane_mpa": 50.0, "static_bending_mpa": -80.0}
    found, codes = grown(client, stress=tension, **relieved)
    assert codes["compression-counted"] == "caution"
    assert found["life_without_compression_cycles"] is not None


def test_a_lasting_stress_that_presses_a_part_of_the_front_alone_is_said(client: httpx.Client) -> None:
    crack = {"kind": "surface", "depth_mm": 16.0, "half_length_mm": 16.0, "thickness_mm": 20.0}
    stress = {"membrane_mpa": 100.0, "static_bending_mpa": 80.0}
    found, codes = grown(client, crack=crack, stress=stress, condition="stress-relieved")
    assert codes["compression-counted"] == "caution"
    assert found["life_without_compression_cycles"] is not None


# nothing that cycles, and cracks at rest


FAMILY = {"kind": "family", "family": "edge-clamped", "start_mm": 1.0, "largest_mm": 30.0}
CLAMPED = {"width_mm": 50.0, "free_length_mm": 100.0}


@pytest.mark.parametrize(
    ("more", "pointer"),
    [
        ({"stress": {}}, "/stress"),
        ({"stress": {"static_membrane_mpa": 100.0}}, "/stress"),
        ({"stress": {"distance_mm": [0.0, 50.0], "stress_mpa": [0.0, 0.0]}}, "/stress"),
        ({"loading": CYCLE | {"minimum": 1.0}}, "/loading/maximum"),
        (
            {"loading": {"kind": "blocks", "maximum": [1.0, 1.0], "minimum": [1.0, 1.0], "cycles": [1, 2]}},
            "/loading/maximum",
        ),
        ({"stress": {}, "crack": FAMILY | {"parameters": CLAMPED}}, "/crack/parameters"),
        (
            {
                "stress": {},
                "crack": {
                    "kind": "table",
                    "start_mm": 1.0,
                    "crack_size_mm": [1.0, 5.0],
                    "k_mpa_sqrt_mm": {"opening": [0.0, 0.0]},
                },
            },
            "/crack/k_mpa_sqrt_mm",
        ),
    ],
)
def test_a_request_in_which_nothing_cycles_is_refused(client: httpx.Client, more: dict[str, Any], pointer: str) -> None:
    assert refused(client, **more) == [pointer]


def test_each_reason_to_stand_still_has_its_own_caution(client: httpx.Client) -> None:
    at_rest = {
        "closed-by-compression": {"stress": {"membrane_mpa": -100.0}, "condition": "stress-relieved"},
        "below-threshold": {
            "stress": {"membrane_mpa": 10.0},
            "law": PARIS | {"threshold_mpa_sqrt_mm": 63.0},
        },
        "no-range": {"stress": {"distance_mm": [0.0, 2.0, 5.0, 50.0], "stress_mpa": [0.0, 0.0, 50.0, 50.0]}},
    }
    for code, more in at_rest.items():
        found, codes = grown(client, **more)
        assert found["life_cycles"] is None
        assert codes[code] == "caution"
        assert len(set(at_rest) & set(codes)) == 1


def test_a_crack_that_rests_deep_in_the_wall_is_doubted(client: httpx.Client) -> None:
    columns = {"opening": [200.0, 400.0, 300.0, 30.0]}
    table = {"kind": "table", "start_mm": 1.0, "crack_size_mm": [1.0, 5.0, 10.0, 20.0]}
    law = PARIS | {"threshold_mpa_sqrt_mm": 63.0}
    found, codes = grown(client, crack=table | {"k_mpa_sqrt_mm": columns}, stress={}, law=law)
    assert found["life_cycles"] is None
    assert codes["arrest-after-growth"] == "caution"


# surface cracks that run along the surface


def test_a_crack_ends_where_it_leaves_the_shapes_of_its_solution(client: httpx.Client) -> None:
    crack = {"kind": "surface", "depth_mm": 0.5, "half_length_mm": 1.0, "thickness_mm": 12.0}
    found, codes = grown(
        client,
        crack=crack,
        stress={"membrane_mpa": 80.0, "bending_mpa": -200.0},
        law={"name": "bs7910-2013/air-mean"},
        loading=CYCLE | {"minimum": 0.1},
    )
    assert found["end_reason"] == "shape-out-of-range"
    assert codes["shape-out-of-range"] == "outside"
    assert codes["wide-plate"] == "caution"
    assert found["life_cycles"] is not None
    assert found["final_half_length_mm"] == pytest.approx(600.0)


# own constants, and where a refusal points to


def test_own_constants_at_a_high_load_ratio_are_doubted_after_stress_relief_too(client: httpx.Client) -> None:
    relieved = {"condition": "stress-relieved"}
    _, low = grown(client, loading=CYCLE | {"minimum": 0.4}, **relieved)
    _, high = grown(client, loading=CYCLE | {"minimum": 0.6}, **relieved)
    assert "own-constants-high-load-ratio" not in low
    assert high["own-constants-high-load-ratio"] == "caution"


def test_refusals_point_to_fields_of_the_request(client: httpx.Client) -> None:
    assert refused(client, loading=CYCLE | {"maximum": -1.0}) == ["/loading/maximum"]
    loaded = {"parameters": CLAMPED | {"membrane_mpa": 80.0}}
    assert refused(client, stress={}, crack=FAMILY | loaded | {"largest_mm": 60.0}) == ["/crack/largest_mm"]
    late = {"start_mm": 55.0, "largest_mm": 60.0}
    assert refused(client, stress={}, crack=FAMILY | loaded | late) == ["/crack/start_mm"]
    narrow = {"parameters": {"width_mm": -1.0, "free_length_mm": 100.0}}
    assert refused(client, stress={}, crack=FAMILY | narrow) == ["/crack/parameters/width_mm"]


DETAIL = {"half_length_mm": 2.0, "thickness_mm": 20.0, "detail": "transverse", "membrane_mpa": 100.0}


def test_the_toe_of_a_detail_asks_for_dimensions_of_the_request(client: httpx.Client) -> None:
    crack = {"kind": "family", "family": "surface-at-detail", "start_mm": 1.0, "largest_mm": 5.0}
    body = request(stress={}, crack=crack | {"parameters": DETAIL})
    error = client.post("/v1/cracks/growth", json=body).json()["errors"][0]
    assert error["pointer"] == "/crack/parameters/weld_height_mm"
    assert "weld_height_mm, weld_leg_mm" in json.dumps(error)
    tall = DETAIL | {"detail": "cruciform-fillet", "weld_height_mm": 15.0, "weld_leg_mm": 10.0}
    assert refused(client, stress={}, crack=crack | {"parameters": tall}) == ["/crack/parameters/weld_height_mm"]
