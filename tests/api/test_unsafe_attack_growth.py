"""Growth of cracks: lives that were too good, or endless, without a word are ended, refused or said."""

from __future__ import annotations

from typing import Any

import httpx
import pytest

PARIS = {"stages": [{"coefficient": 5.21e-13, "exponent": 3.0}], "units": "mm-MPa"}
EDGE = {"kind": "edge", "depth_mm": 1.0, "width_mm": 50.0}
CYCLE = {"kind": "constant", "maximum": 1.0, "minimum": 0.0}
FALLING = {"membrane_mpa": -50.0, "bending_mpa": 140.0}
PATH = {"dist_mm": [0.0, 10.0, 25.0, 50.0], "stress_mpa": [150.0, 100.0, 50.0, -50.0]}
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
def test_a_life_ends_where_its_driving_force_dies_away(
    client: httpx.Client, condition: str, threshold: float
) -> None:
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
    assert 1.0 < found["lengthening"] < 2.0


def test_a_table_that_changes_its_sign_ends_the_life_there(client: httpx.Client) -> None:
    columns = {"opening": [200.0, 400.0, 300.0, -100.0, 50.0]}
    table = {"kind": "table", "start_mm": 1.0, "size_mm": [1.0, 5.0, 10.0, 20.0, 40.0]}
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
