"""The growth part of /v1/check: both lives apart, load sharing flattens the rise, pointers of refusals."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import httpx
import pytest

from fatcore.figures import figure
from tests.api.test_strictness import is_problem

EXAMPLE = Path(__file__).parents[2] / "openapi_examples" / "check" / "bracket-toe-growth.json"


@pytest.fixture(scope="module")
def request_body() -> dict[str, Any]:
    body: dict[str, Any] = json.loads(EXAMPLE.read_text(encoding="utf-8"))["request"]
    return body


def test_both_lives_stand_apart(client: httpx.Client, request_body: dict[str, Any]) -> None:
    answer = client.post("/v1/check", json=request_body).json()
    growth = answer["answer"]["growth"]
    assert growth["life_repeats"] > 2 * answer["answer"]["life_repeats"]
    assert "lives-not-added" in {finding["code"] for finding in answer["findings"]}
    assert growth["history"]["depth_mm"][0] == pytest.approx(0.1)


@pytest.mark.parametrize(("tearing", "governs"), [(45.0, False), (60.0, True)])
def test_shear_at_the_station_is_its_share_of_both_modes(
    client: httpx.Client, request_body: dict[str, Any], tearing: float, governs: bool
) -> None:
    body = copy.deepcopy(request_body)
    whole = body["lines"][0]
    peaks = {"opening": [100.0], "tearing": [tearing]}
    body["lines"] = [
        {name: whole[name] for name in ("name", "notch", "mesh")}
        | {"position_mm": [0.0], "cases": {name: {"peaks_mpa": peaks} for name in whole["cases"]}}
    ]
    answer = client.post("/v1/check", json=body).json()
    ratio = answer["answer"]["lines"][0]["biaxiality_ratio"][0]
    found = [each["message"] for each in answer["findings"] if each["code"] == "shear-governs-growth"]
    assert bool(found) is governs is (ratio / (1.0 + ratio) > 0.5)
    assert all(f"({figure(100.0 * ratio / (1.0 + ratio))} % of" in message for message in found)


def test_sharing_lengthens_the_growth(client: httpx.Client, request_body: dict[str, Any]) -> None:
    shared = copy.deepcopy(request_body)
    shared["growth"]["sharing"] = {
        "length_mm": 200.0,
        "grips": "rigid",
        "members": [{"axial_stiffness_n_per_mm": 400000.0, "rotational_stiffness_nmm": 1e8}],
    }
    growth = client.post("/v1/check", json=shared).json()["answer"]["growth"]
    assert growth["life_extension_factor"] > 1.0


def test_path_of_a_line_that_does_not_govern(client: httpx.Client, request_body: dict[str, Any]) -> None:
    other = copy.deepcopy(request_body)
    worse = copy.deepcopy(other["lines"][0])
    worse["name"] = "worse"
    for case in worse["cases"].values():
        case["tensors_mpa"] = {key: [2.0 * v for v in values] for key, values in case["tensors_mpa"].items()}
    other["lines"].append(worse)
    answer = client.post("/v1/check", json=other).json()
    assert "path-of-another-line" in {finding["code"] for finding in answer["findings"]}


@pytest.mark.parametrize(
    ("path", "value", "where"),
    [
        (("line",), "nowhere", "/growth/line"),
        (("path", "cases"), {"lateral": [1.0, 0.0]}, "/growth/path/cases/vertical"),
        (("path", "distance_mm"), [0.0, 0.0], "/growth/path/cases/vertical"),
        (("law",), {"name": "nobody/nothing"}, "/growth/law/name"),
        (("crack", "depth_mm"), 9.0, "/growth/crack/depth_mm"),
    ],
)
def test_pointers(
    client: httpx.Client, request_body: dict[str, Any], path: tuple[str, ...], value: Any, where: str
) -> None:
    body = copy.deepcopy(request_body)
    inner = body["growth"]
    for step in path[:-1]:
        inner = inner[step]
    inner[path[-1]] = value
    problem = is_problem(client.post("/v1/check", json=body), 422)
    assert where in [error["pointer"] for error in problem["errors"]], problem
