"""Routes of crack growth over HTTP: contract, the pair of bracket examples, wrong input with its pointer."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import httpx
import numpy as np
import pytest

EXAMPLES = Path(__file__).parents[2] / "openapi_examples" / "cracks"


def request(name: str) -> dict[str, Any]:
    return copy.deepcopy(json.loads((EXAMPLES / f"{name}.json").read_text(encoding="utf-8"))["request"])


def answer(client: httpx.Client, route: str, body: dict[str, Any]) -> dict[str, Any]:
    reply = client.post(f"/v1/cracks/{route}", json=body)
    assert reply.status_code == 200, reply.text
    content: dict[str, Any] = reply.json()
    return content


def pointers(reply: httpx.Response) -> list[str]:
    assert reply.status_code == 422, reply.text
    return [error["pointer"] for error in reply.json()["errors"]]


def test_bracket_pair_shows_the_rising_and_the_flat_intensity(client: httpx.Client) -> None:
    """From 1 to 6 mm of a 10 mm plate: alone it nearly quadruples, shared it stays flat within a quarter, and
    falls at the end."""
    rises = []
    for name in ("growth-bracket-toe-alone", "growth-bracket-toe-shared"):
        history = answer(client, "growth", request(name))["answer"]["history"]
        at = np.interp(np.linspace(1.0, 6.0, 51), history["depth_mm"], history["delta_k_deepest_mpa_sqrt_mm"])
        rises.append((at.max() / at.min(), at[-1] / at[0]))
    assert rises[0] == (pytest.approx(3.7, abs=0.2),) * 2
    assert rises[1][0] < 1.27
    assert rises[1][1] == pytest.approx(1.0, abs=0.02)


def test_lengthening_is_the_quotient(client: httpx.Client) -> None:
    found = answer(client, "growth", request("growth-bracket-toe-shared"))["answer"]
    assert found["life_extension_factor"] == pytest.approx(found["life_cycles"] / found["constant_load_life_cycles"])
    assert found["life_extension_factor"] == pytest.approx(1.58, abs=0.02)


def test_infinite_life_is_null(client: httpx.Client) -> None:
    body = request("growth-bracket-toe-alone")
    body["loading"] = {"kind": "constant", "maximum": 0.01, "minimum": 0.0}
    content = answer(client, "growth", body)
    assert content["answer"]["life_cycles"] is None
    assert content["answer"]["below_cutoff"] is True
    assert "below-threshold" in {f["code"] for f in content["findings"]}


def test_status_of_recalled_constants_is_shown(client: httpx.Client) -> None:
    sources = answer(client, "growth", request("growth-bracket-toe-alone"))["record"]["sources"]
    assert {s["key"]: s["status"] for s in sources}["bs-7910-2013"] == "from memory"


@pytest.mark.parametrize(
    ("path", "value", "pointer"),
    [
        (("crack", "depth_mm"), 11.0, "/crack/depth_mm"),
        (("crack", "width_mm"), -10.0, "/crack/width_mm"),
        (("crack", "thickness_mm"), -1.0, "/crack/thickness_mm"),
        (("crack", "kind"), "spiral", "/crack"),
        (("stress", "distance_mm"), [0.0, 2.0, 1.0], "/stress/"),
        (("law",), {"name": "nobody/steel"}, "/law/name"),
        (("law",), {"stages": [{"coefficient": 1e-12, "exponent": 3.0}], "units": "ksi-in"}, "/law/units"),
        (("law",), {"stages": [{"coefficient": 1e-12, "exponent": 3.0}]}, "/law/stages"),
        (("law",), {"name": "iiw-2016/steel", "threshold_mpa_sqrt_mm": 10.0}, "/law/name"),
        (
            ("law",),
            {
                "stages": [{"coefficient": 1e-12, "exponent": 3.0}],
                "units": "mm-MPa",
                "threshold": "iiw-2016/steel",
                "threshold_mpa_sqrt_mm": 5.0,
            },
            "/law/threshold",
        ),
        (("loading",), {"kind": "constant", "maximum": 0.0, "minimum": 1.0}, "/loading/maximum"),
        (
            ("loading",),
            {"kind": "blocks", "maximum": [1.0], "minimum": [0.0, 0.0], "cycles": [1.0]},
            "/loading/minimum",
        ),
        (("end",), {"stiffness_ratio": 0.9}, "/end/stiffness_ratio"),
        (("end",), {"strength": {"yield_strength_mpa": 9.0, "ultimate_strength_mpa": 1.0,
                                 "toughness_mpa_sqrt_mm": 1.0}}, "/end/strength/ultimate_strength_mpa"),
        (("sharing",), {"length_mm": 10.0, "grips": "flexible"}, "/sharing/grip_stiffness_nmm"),
        (("crack", "depth_mm"), "0.1", "/crack/"),
    ],
)  # fmt: skip
def test_bad_growth_is_refused(client: httpx.Client, path: tuple[str, ...], value: Any, pointer: str) -> None:
    body = request("growth-bracket-toe-alone")
    target = body
    for step in path[:-1]:
        target = target[step]
    target[path[-1]] = value
    found = pointers(client.post("/v1/cracks/growth", json=body))
    assert any(each.startswith(pointer) for each in found), found


def test_table_must_ascend(client: httpx.Client) -> None:
    body = request("growth-tabled")
    body["crack"]["crack_size_mm"] = [0.5, 1.0, 1.0, 4.0, 8.0]
    assert pointers(client.post("/v1/cracks/growth", json=body)) == ["/crack/crack_size_mm/2"]


def test_table_overrides_sharing_with_a_caution(client: httpx.Client) -> None:
    body = request("growth-tabled") | {"sharing": {"length_mm": 50.0, "grips": "free"}}
    codes = {f["code"] for f in answer(client, "growth", body)["findings"]}
    assert "table-overrides-sharing" in codes


def test_other_bodies_and_laws(client: httpx.Client) -> None:
    law = {
        "stages": [{"coefficient": 1e-11, "exponent": 3.0}],
        "units": "m-MPa",
        "load_ratio_effect": {"kind": "walker", "walker_exponent": 0.5},
    }
    bodies = (
        {"kind": "centre", "half_length_mm": 2.0, "width_mm": 60.0, "thickness_mm": 5.0},
        {"kind": "surface", "depth_mm": 1.0, "half_length_mm": 2.0, "thickness_mm": 8.0},
        {"kind": "family", "family": "root-gap", "start_mm": 4.0, "largest_mm": 8.0,
         "parameters": {"thickness_mm": 10.0, "leg_mm": 7.0, "membrane_mpa": 80.0}},
    )  # fmt: skip
    for crack in bodies:
        body: dict[str, Any] = {"crack": crack, "law": law, "loading": {"kind": "constant"}}
        if crack["kind"] != "family":
            body["stress"] = {"membrane_mpa": 80.0}
        assert answer(client, "growth", body)["answer"]["life_cycles"] > 0.0
    unknown = {"crack": bodies[2] | {"family": "nobody"}, "law": law, "loading": {"kind": "constant"}}
    assert pointers(client.post("/v1/cracks/growth", json=unknown)) == ["/crack/family"]


def test_retardation_is_bounded(client: httpx.Client) -> None:
    body = {**request("growth-surface-blocks"), "descriptions": None}
    for name, value in (("maximum", 1.0), ("minimum", 0.0), ("cycles", 1.0)):
        body["loading"][name] = [value] * 201
    assert pointers(client.post("/v1/cracks/growth", json=body)) == ["/loading/retardation"]


def test_scatter_needs_variables_and_bounded_work(client: httpx.Client) -> None:
    body = request("scatter-toe-crack")
    nothing = body | {"variable_set": None, "variables": {}}
    assert pointers(client.post("/v1/cracks/scatter", json=nothing)) == ["/variables"]
    entries = {"kind": "blocks", "maximum": [1.0] * 300, "minimum": [0.0] * 300, "cycles": [1.0] * 300}
    assert pointers(client.post("/v1/cracks/scatter", json=body | {"loading": entries})) == ["/samples"]
    own = body | {"variables": {"depth_mm": {"kind": "exponential", "mean": 0.1}}, "samples": 64}
    assert answer(client, "scatter", own)["answer"]["samples"] == 64
    unknown = body | {"variable_set": "nobody"}
    assert pointers(client.post("/v1/cracks/scatter", json=unknown)) == ["/variable_set"]


def test_inspection_with_own_curve_and_unknown_name(client: httpx.Client) -> None:
    body = request("inspection-interval")
    own = body | {"curve": {"median_mm": 1.0, "exponent": 1.0}, "detection_probability": 2.0 / 3.0}
    assert answer(client, "inspection", own)["answer"]["detectable_mm"] == pytest.approx(2.0)
    assert pointers(client.post("/v1/cracks/inspection", json=body | {"curve": "nobody"})) == ["/curve"]
    plain = body | {"curve": None, "detectable_mm": 2.0, "detection_probability": None}
    found = answer(client, "inspection", plain)["answer"]
    assert found["worst_missed_probability"] is found["mean_missed_probability"] is None


def test_turning_with_ragged_columns(client: httpx.Client) -> None:
    body = {"opening_mpa_sqrt_mm": [1.0, 2.0], "sliding_mpa_sqrt_mm": [1.0, 2.0, 3.0]}
    assert client.post("/v1/cracks/mixed-mode", json=body).status_code == 422
    three = {"opening_mpa_sqrt_mm": [1.0], "sliding_mpa_sqrt_mm": [0.0], "tearing_mpa_sqrt_mm": [1.0],
             "criterion": "richard"}  # fmt: skip
    assert answer(client, "mixed-mode", three)["answer"]["twist_angle_deg"][0] < 0.0


def test_critical_size_of_a_harmless_crack_is_null(client: httpx.Client) -> None:
    body = request("critical-size")
    body["stress"] = {"membrane_mpa": 0.001}
    assert answer(client, "critical-size", body)["answer"]["critical_mm"] is None
    fractured = request("fracture-states") | {"k_secondary_mpa_sqrt_mm": None}
    assert answer(client, "fracture", fractured)["answer"]["interaction_term"] == [0.0, 0.0, 0.0]
