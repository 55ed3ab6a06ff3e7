"""The small solver over HTTP: fields of the answer, nulls, and wrong input with its pointer."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import httpx
import pytest

FOLDER = Path(__file__).parents[2] / "openapi_examples" / "stress"


def example(name: str) -> dict[str, Any]:
    request: dict[str, Any] = json.loads((FOLDER / f"section-{name}.json").read_text("utf-8"))["request"]
    return request


def post(client: httpx.Client, request: dict[str, Any]) -> httpx.Response:
    return client.post("/v1/stress/section", json=request)


def test_root_of_the_hanger_governs(client: httpx.Client) -> None:
    reply = post(client, example("hanger-root"))
    assert reply.status_code == 200, reply.text
    answer = reply.json()["answer"]
    assert (answer["governing_point"], answer["governing_corner"]) == ("root", "right-upper")
    assert [point["location"] for point in answer["section_points"]] == [
        "root",
        "plate-toe",
        "attachment-toe",
    ]
    root, toe, _ = answer["section_points"]
    assert len(root["corners"]) == len(root["k2_mpa_mm_lambda"]) == 4
    assert toe["k2_mpa_mm_lambda"] is None
    assert answer["error_pct"] < 0.5
    assert "section-solver" in [source["key"] for source in reply.json()["record"]["sources"]]


def test_energy_route_gives_the_same_stress(client: httpx.Client) -> None:
    root = post(client, example("hanger-root")).json()["answer"]["section_points"][0]
    names = ("k1_mpa_mm_lambda", "k2_mpa_mm_lambda", "k3_mpa_mm_lambda")
    request = {
        "opening_angle_deg": 0.0,
        "youngs_modulus_mpa": 206_000.0,
        "control_radius_mm": 0.28,
        "intensities": {name: root[name] for name in names},
    }
    energy = client.post("/v1/stress/energy", json=request).json()["answer"]
    assert energy["equivalent_stress_mpa"] == pytest.approx(root["equivalent_stress_mpa"])


def test_ratio_and_direct_stress_are_null_where_they_do_not_exist(client: httpx.Client) -> None:
    request = example("rib-toe") | {"loads": {"plate_tearing_mpa": 10.0}, "control_radius_mm": 10.0}
    point = post(client, request).json()["answer"]["section_points"][0]
    assert point["biaxiality_ratio"] == [None] * 4
    assert point["direct_equivalent_stress_mpa"] is None


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"plate_thickness_mm": -1.0}, "/plate_thickness_mm"),
        ({"gap_mm": 12.5}, "/gap_mm"),
        ({"plate_leg_mm": 1e6}, "/plate_leg_mm"),
        ({"attachment_leg_mm": 100.0}, "/attachment_leg_mm"),
        ({"attachment_thickness_mm": 1e3}, "/attachment_thickness_mm"),
        ({"loads": {}}, "/loads"),
        ({"loads": {"torsion_mpa": 1.0}}, "/loads/torsion_mpa"),
        ({"loads": {"plate_membrane_mpa": 1e-9}}, "/loads/plate_membrane_mpa"),
        ({"support_span_mm": 100.0}, "/support_span_mm"),
        ({"attachments": 3}, "/attachments"),
        ({"poisson_ratio": 0.5}, "/poisson_ratio"),
    ],
)
def test_wrong_input_is_refused(client: httpx.Client, changes: dict[str, Any], pointer: str) -> None:
    reply = post(client, example("rib-toe") | changes)
    assert reply.status_code == 422, reply.text
    assert pointer in [error["pointer"] for error in reply.json()["errors"]]
