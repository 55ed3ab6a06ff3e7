"""Stress-intensity routes over HTTP: three forms, the list of families, wrong input with its pointer."""

from __future__ import annotations

import copy
from typing import Any

import httpx
import numpy as np
import pytest

from fatcore.cracks.intensity.families import FAMILIES
from fatcore.cracks.intensity.plate import edge
from fatcore.cracks.intensity.solid import surface
from fatcore.cracks.intensity.weight_function import intensity as weight

FAMILY: dict[str, Any] = {
    "kind": "family",
    "family": "surface",
    "crack_size_mm": [1.0, 2.0],
    "parameters": {"half_length_mm": [2.0, 5.0], "thickness_mm": 10.0, "membrane_mpa": 100.0},
}
PATH: dict[str, Any] = {
    "kind": "path",
    "distance_mm": [0.0, 1.0, 10.0],
    "stress_mpa": [250.0, 120.0, 60.0],
    "depth_mm": [1.0, 2.0],
    "half_length_mm": [2.0, 5.0],
    "thickness_mm": 10.0,
}
POLYNOMIAL: dict[str, Any] = {
    "kind": "path",
    "point": "edge",
    "coefficients_mpa": [100.0, -200.0],
    "reference_mm": 20.0,
    "depth_mm": [6.0],
    "thickness_mm": 20.0,
}
TABLE: dict[str, Any] = {
    "kind": "table",
    "crack_size_mm": [1.0, 2.0, 4.0],
    "k_mpa_sqrt_mm": {"opening": [100.0, 150.0, -10.0], "sliding": [1.0, 2.0, 3.0]},
    "aspect_ratio": [0.9, 0.8, 0.7],
    "at_mm": [1.0, 2.0, 4.0],
}


def post(client: httpx.Client, crack: Any) -> httpx.Response:
    return client.post("/v1/cracks/intensity", json={"crack": crack})


def changed(base: dict[str, Any], **changes: Any) -> dict[str, Any]:
    """The crack with keys replaced; ... deletes."""
    crack = {**copy.deepcopy(base), **changes}
    return {key: value for key, value in crack.items() if value is not ...}


def answer(client: httpx.Client, crack: Any) -> dict[str, Any]:
    reply = post(client, crack)
    assert reply.status_code == 200, reply.text
    content: dict[str, Any] = reply.json()
    return content


def test_family(client: httpx.Client) -> None:
    content = answer(client, FAMILY)
    y = surface.geometry_factors([1.0, 2.0], [2.0, 5.0], 10.0).tension
    expected = 100.0 * y * np.sqrt(np.pi * np.array([1.0, 2.0]))
    assert content["answer"]["opening_mpa_sqrt_mm"] == pytest.approx(expected.tolist(), rel=1e-12)
    assert content["answer"]["crack_closed"] == [False, False]
    assert content["answer"]["sliding_mpa_sqrt_mm"] is None
    assert [item["key"] for item in content["record"]["sources"]] == ["newman-raju-1981", "newman-raju-1984"]
    assert {item["status"] for item in content["record"]["sources"]} == {"from memory"}


def test_closed_crack_says_so(client: httpx.Client) -> None:
    content = answer(client, changed(FAMILY, parameters={**FAMILY["parameters"], "membrane_mpa": -5.0}))
    assert content["answer"]["crack_closed"] == [True, True]
    assert [item["code"] for item in content["findings"]] == ["wide-plate", "closed-crack"]


def test_unconfirmed_coefficients_carry_a_caution(client: httpx.Client) -> None:
    parameters = {"half_length_mm": 2.0, "thickness_mm": 10.0, "footprint_mm": 20.0, "form": "solid"}
    content = answer(client, changed(FAMILY, family="surface-at-toe", parameters=parameters))
    assert "unconfirmed-coefficients" in [item["code"] for item in content["findings"]]
    assert "toe-solid-2000" in [item["key"] for item in content["record"]["sources"]]


def test_path(client: httpx.Client) -> None:
    content = answer(client, PATH)
    expected = weight.path_intensity(PATH["distance_mm"], PATH["stress_mpa"], [1.0, 2.0], [2.0, 5.0], 10.0)
    assert content["answer"]["opening_mpa_sqrt_mm"] == pytest.approx(expected.tolist(), rel=1e-12)


def test_polynomial(client: httpx.Client) -> None:
    content = answer(client, POLYNOMIAL)
    expected = 100.0 * float(edge.bending(0.3, "accurate")) * np.sqrt(6.0 * np.pi)
    assert content["answer"]["opening_mpa_sqrt_mm"] == pytest.approx([expected], rel=1e-9)


def test_table(client: httpx.Client) -> None:
    content = answer(client, TABLE)["answer"]
    assert content["opening_mpa_sqrt_mm"] == pytest.approx([100.0, 150.0, -10.0])
    assert content["sliding_mpa_sqrt_mm"] == pytest.approx([1.0, 2.0, 3.0])
    assert content["aspect_ratio"] == pytest.approx([0.9, 0.8, 0.7])
    assert content["crack_closed"] == [False, False, True]
    only = answer(client, changed(TABLE, k_mpa_sqrt_mm={"tearing": [1.0, 1.0, 1.0]}, aspect_ratio=...))["answer"]
    assert (only["opening_mpa_sqrt_mm"], only["crack_closed"], only["aspect_ratio"]) == (None, None, None)


def test_table_is_not_left_in_silence(client: httpx.Client) -> None:
    findings = answer(client, changed(TABLE, at_mm=[0.5, 2.0, 9.0]))["findings"]
    assert [(item["severity"], item["field"], item["count"]) for item in findings] == [("outside", "crack_size_mm", 2)]


@pytest.mark.parametrize(
    ("crack", "pointer"),
    [
        (changed(FAMILY, kind="other"), "/crack"),
        (changed(FAMILY, kind=...), "/crack"),
        (changed(FAMILY, family="other"), "/crack/family"),
        (
            changed(FAMILY, parameters={**FAMILY["parameters"], "angle_deg": "x"}),
            "/crack/parameters/angle_deg",
        ),
        (changed(FAMILY, crack_size_mm=[1.0, 20.0]), "/crack/crack_size_mm"),
        (changed(FAMILY, crack_size_mm=[1.0, -2.0]), "/crack/crack_size_mm/1"),
        (changed(FAMILY, crack_size_mm=[]), "/crack/crack_size_mm"),
        (changed(FAMILY, parameters={"half_length_mm": 2.0}), "/crack/parameters/thickness_mm"),
        (
            changed(FAMILY, parameters={**FAMILY["parameters"], "thickness_mm": -10.0}),
            "/crack/parameters/thickness_mm",
        ),
        (
            changed(FAMILY, parameters={**FAMILY["parameters"], "thickness_mm": "ten"}),
            "/crack/parameters/thickness_mm",
        ),
        (changed(FAMILY, parameters={**FAMILY["parameters"], "colour": 1.0}), "/crack/parameters/colour"),
        (
            changed(FAMILY, parameters={**FAMILY["parameters"], "half_length_mm": [1.0] * 3}),
            "/crack/parameters/half_length_mm",
        ),
        (changed(PATH, distance_mm=[0.5, 1.0, 10.0]), "/crack/distance_mm/0"),
        (changed(PATH, distance_mm=[0.0, 5.0, 5.0]), "/crack/distance_mm/2"),
        (changed(PATH, stress_mpa=[1.0, 2.0]), "/crack/stress_mpa"),
        (changed(PATH, stress_mpa=...), "/crack"),
        (changed(PATH, coefficients_mpa=[1.0], reference_mm=1.0), "/crack"),
        (changed(PATH, point="corner"), "/crack/point"),
        (changed(PATH, thickness_mm=...), "/crack/thickness_mm"),
        (changed(PATH, thickness_mm=1.5), "/crack/depth_mm"),
        (changed(PATH, half_length_mm=[1.0, 2.0, 3.0]), "/crack/half_length_mm"),
        (changed(PATH, half_width_mm=4.0), "/crack/half_length_mm"),
        (changed(TABLE, crack_size_mm=[1.0, 2.0, 2.0]), "/crack/crack_size_mm/2"),
        (changed(TABLE, crack_size_mm=[1.0, 2.0]), "/crack/k_mpa_sqrt_mm/opening"),
        (changed(TABLE, k_mpa_sqrt_mm={}), "/crack/k_mpa_sqrt_mm"),
        (changed(TABLE, k_mpa_sqrt_mm={"mixed": [1.0, 2.0, 3.0]}), "/crack/k_mpa_sqrt_mm/mixed"),
        (changed(TABLE, at_mm=[0.0]), "/crack/at_mm/0"),
        (changed(TABLE, crack_size_mm=[1e-12, 2e-12, 3e-12], at_mm=[1e300]), "/crack/at_mm/0"),
    ],
)
def test_wrong_input(client: httpx.Client, crack: dict[str, Any], pointer: str) -> None:
    reply = post(client, crack)
    assert reply.status_code == 422, reply.text
    assert reply.headers["content-type"] == "application/problem+json"
    assert reply.json()["errors"][0]["pointer"] == pointer


def test_proportions_without_a_finite_value(client: httpx.Client) -> None:
    """Extremes that overflow are refused, not answered with a number that is not one."""
    tiny = changed(FAMILY, crack_size_mm=[1e-300], parameters={"half_length_mm": 1e30, "thickness_mm": 1e30})
    assert post(client, tiny).status_code in (200, 422)
    steep = changed(
        TABLE, crack_size_mm=[1e-12, 2e-12, 3e-12], k_mpa_sqrt_mm={"opening": [0.0, 1e30, 3e30]}, at_mm=[1e30]
    )
    assert post(client, steep).status_code in (200, 422)
    path = changed(PATH, distance_mm=[0.0, 1e-300, 1.0], stress_mpa=[1e30, -1e30, 1e30])
    reply = post(client, path)
    assert (reply.status_code, reply.json()["errors"][0]["pointer"]) == (422, "/crack/depth_mm")


def test_list_of_families(client: httpx.Client) -> None:
    listed = client.get("/v1/cracks/families").json()["answer"]["families"]
    assert [item["name"] for item in listed] == list(FAMILIES)
    (compact,) = client.get("/v1/cracks/families", params={"text": "compact"}).json()["answer"]["families"]
    assert compact["size"] == "depth_mm"
    needed = {item["name"]: item["unit"] for item in compact["parameters"] if item["needed"]}
    assert needed == {"width_mm": "mm", "thickness_mm": "mm", "force_n": "N"}
    assert "compact_alpha" in [item["name"] for item in compact["limits"]]


def test_every_listed_default_is_accepted(client: httpx.Client) -> None:
    """What the list announces as default gives the same answer as leaving it out."""
    (item,) = client.get("/v1/cracks/families", params={"text": "edge-free"}).json()["answer"]["families"]
    defaults = {p["name"]: p["default"] for p in item["parameters"] if not p["needed"]}
    plain = changed(FAMILY, family="edge-free", parameters={"width_mm": 20.0, "membrane_mpa": 10.0})
    spoken = changed(plain, parameters={**defaults, **plain["parameters"]})
    assert answer(client, plain)["answer"] == answer(client, spoken)["answer"]
