"""Small rules of requests about cracks: laws, thresholds, limits of work, families, each at both sides of its bound."""

from __future__ import annotations

from typing import Any

import httpx
import pytest
from pydantic import TypeAdapter

from fatcore.cracks.intensity.families import FAMILIES
from service.base.common import MAX_POINTS
from service.topics.cracks import intensity_models, law, models, routes, scatter
from tests.api.report_pages import example

STAGES = {"stages": [{"coefficient": 5e-13, "exponent": 3.0}], "units": "mm-MPa"}
EDGE = {"kind": "edge", "depth_mm": 1.0, "width_mm": 20.0}
GROWTH: dict[str, Any] = {
    "crack": EDGE,
    "stress": {"membrane_mpa": 100.0},
    "law": STAGES,
    "loading": {"kind": "constant"},
    "condition": "as-welded",
}
SURFACE = {"kind": "surface", "depth_mm": 0.5, "half_length_mm": 1.0, "thickness_mm": 12.0}
SCATTER: dict[str, Any] = {
    "crack": SURFACE,
    "stress": {"membrane_mpa": 120.0},
    "law": STAGES,
    "loading": {"kind": "constant"},
    "variables": {"stress_factor": {"kind": "normal", "mean": 1.0, "variation": 0.1}},
    "samples": 16,
}
FIXED = {"kind": "fixed", "mean": 0.5}
TABLE = {"kind": "table", "crack_size_mm": [1.0, 2.0], "k_mpa_sqrt_mm": {"opening": [10.0, 20.0]}, "at_mm": [1.0]}
PATH: dict[str, Any] = {"kind": "path", "depth_mm": [1.0], "point": "half-plane"}


def post(client: httpx.Client, route: str, body: Any) -> httpx.Response:
    return client.post(f"/v1/cracks/{route}", json=body)


def pointer(reply: httpx.Response) -> str:
    assert reply.status_code == 422, reply.text
    found: str = reply.json()["errors"][0]["pointer"]
    return found


def life(client: httpx.Client, **given: Any) -> float:
    reply = post(client, "growth", GROWTH | given)
    assert reply.status_code == 200, reply.text
    found: float = reply.json()["answer"]["life_cycles"]
    return found


def test_a_published_law_loses_its_threshold_where_none_is_asked_for(client: httpx.Client) -> None:
    low = {"membrane_mpa": 12.0}
    named = {"name": "iiw-2016/steel"}
    assert life(client, law=named, stress=low) is None
    assert life(client, law=named | {"threshold": "none"}, stress=low) > 0.0
    for more in ({"threshold": "iiw-2016/steel"}, {"threshold_mpa_sqrt_mm": 1.0}, STAGES):
        assert pointer(post(client, "growth", GROWTH | {"law": named | more})) == "/law/name"


def test_an_own_law_takes_a_published_threshold_a_value_or_none(client: httpx.Client) -> None:
    low = {"membrane_mpa": 12.0}  # 12 * 1.12 sqrt(pi) = 24 MPa√mm at the start
    assert life(client, stress=low) == life(client, law=STAGES | {"threshold": "none"}, stress=low) > 0.0
    assert life(client, law=STAGES | {"threshold": "iiw-2016/steel"}, stress=low) is None
    assert life(client, law=STAGES | {"threshold_mpa_sqrt_mm": 30.0}, stress=low) is None
    assert life(client, law=STAGES | {"threshold_mpa_sqrt_mm": 20.0}, stress=low) > 0.0
    both = STAGES | {"threshold": "none", "threshold_mpa_sqrt_mm": 20.0}
    assert pointer(post(client, "growth", GROWTH | {"law": both})) == "/law/threshold"
    for part in ("stages", "units"):
        only = {part: STAGES[part]}
        assert pointer(post(client, "growth", GROWTH | {"law": only})) == "/law/stages"


def test_an_own_law_without_a_threshold_has_none(client: httpx.Client) -> None:
    found = post(client, "growth", GROWTH).json()["findings"]
    assert "threshold-implausible" not in {each["code"] for each in found}
    formed = STAGES | {"threshold_form": "cut"}
    assert pointer(post(client, "growth", GROWTH | {"law": formed})) == "/law/threshold_form"


@pytest.mark.parametrize(
    ("kind", "least", "most"),
    [
        (intensity_models.Sizes, 1, 10_000),
        (intensity_models.Numbers, 1, 10_000),
        (intensity_models.Rows, 1, 2_000),
        (models.Values, 2, 10_000),
        (routes.Column, 1, MAX_POINTS),
        (routes.Unknowns, 1, MAX_POINTS),
    ],
)
def test_lists_of_requests_have_ends(kind: Any, least: int, most: int) -> None:
    schema = TypeAdapter(kind).json_schema()
    assert (schema["minItems"], schema["maxItems"]) == (least, most)


@pytest.mark.parametrize(
    ("model", "name", "most"),
    [
        (law.BlockLoading, "maximum", 5_000),
        (models.StressRequest, "distance_mm", 10_000),
        (models.SharingRequest, "members", 100),
        (scatter.FractureRequest, "reference_stress_mpa", 10_000),
        (routes.HistoryRequest, "outside_codes", 100),
        (law.LawRequest, "stages", 2),
    ],
)
def test_rows_of_requests_have_ends(model: Any, name: str, most: int) -> None:
    assert model.model_json_schema()["properties"][name]["maxItems"] == most


def test_samples_are_ten_thousand_unless_given() -> None:
    found = scatter.ScatterRequest.model_json_schema()["properties"]["samples"]
    assert (found["default"], found["minimum"], found["maximum"]) == (10_000, 16, 200_000)


@pytest.mark.parametrize(("rows", "taken"), [(3, True), (4, False)])
def test_retardation_takes_a_block_up_to_its_limit(
    client: httpx.Client, monkeypatch: pytest.MonkeyPatch, rows: int, taken: bool
) -> None:
    assert law.MAX_RETARDED == 200
    monkeypatch.setattr(law, "MAX_RETARDED", 3)
    block: dict[str, Any] = {"kind": "blocks", "maximum": [1.0] * rows, "minimum": [0.0] * rows, "cycles": [1.0] * rows}
    slowed = block | {"retardation": {"model": "wheeler", "yield_strength_mpa": 355.0, "exponent": 1.0}}
    assert life(client, loading=block) > 0.0
    reply = post(client, "growth", GROWTH | {"loading": slowed})
    assert (reply.status_code == 200) == taken
    if not taken:
        assert pointer(reply) == "/loading/retardation"
        assert "at most 3 entries" in reply.text


@pytest.mark.parametrize(("samples", "taken"), [(16, True), (17, False)])
def test_samples_times_entries_are_bounded(
    client: httpx.Client, monkeypatch: pytest.MonkeyPatch, samples: int, taken: bool
) -> None:
    assert (scatter.MAX_WORK, scatter.MAX_SAMPLES) == (500_000, 200_000)
    monkeypatch.setattr(scatter, "MAX_WORK", 32)
    two = {"kind": "blocks", "maximum": [1.0, 0.5], "minimum": [0.0, 0.0], "cycles": [1.0, 1.0]}
    reply = post(client, "scatter", SCATTER | {"samples": samples, "loading": two})
    assert (reply.status_code == 200) == taken
    if not taken:
        assert pointer(reply) == "/samples"


@pytest.mark.parametrize(
    ("change", "where"),
    [
        ({"samples": 15}, "/samples"),
        ({"samples": 200_001}, "/samples"),
        ({"variables": {}}, "/variables"),
        ({"variables": {"colour": {"kind": "fixed", "mean": 1.0}}}, "/variables/colour"),
        ({"variable_set": "nobody"}, "/variable_set"),
        ({"first_size": "crack", "variables": {"depth_mm": {"kind": "fixed", "mean": 1.0}}}, "/variables/depth_mm"),
        (
            {"first_size": "crack", "variables": {"aspect_ratio": {"kind": "fixed", "mean": 0.5}}},
            "/variables/aspect_ratio",
        ),
        ({"variables": {"stress_factor": {"kind": "fixed", "mean": -1.0}}}, "/variables/stress_factor/mean"),
        ({"loading": {"kind": "constant", "maximum": 0.0, "minimum": 1.0}}, "/loading/maximum"),
    ],
)
def test_scatter_names_what_it_refuses(client: httpx.Client, change: dict[str, Any], where: str) -> None:
    assert pointer(post(client, "scatter", SCATTER | change)).startswith(where)


def test_the_first_size_scatters_or_is_that_of_the_crack(client: httpx.Client) -> None:
    depth = {"variables": {"depth_mm": FIXED}}
    for change in ({"first_size": "crack"}, {"first_size": "variables"} | depth):
        assert post(client, "scatter", SCATTER | change).status_code == 200


@pytest.mark.parametrize(
    ("given", "where"),
    [
        ({}, "/crack"),
        ({"distance_mm": [0.0, 1.0]}, "/crack"),
        ({"stress_mpa": [1.0, 1.0]}, "/crack"),
        ({"coefficients_mpa": [1.0]}, "/crack"),
        ({"reference_mm": 1.0}, "/crack"),
        ({"distance_mm": [0.0, 1.0], "stress_mpa": [1.0, 1.0], "reference_mm": 1.0}, "/crack"),
        ({"coefficients_mpa": [1.0], "reference_mm": 1.0, "stress_mpa": [1.0, 1.0]}, "/crack"),
    ],
)
def test_a_stress_is_points_or_a_polynomial(client: httpx.Client, given: dict[str, Any], where: str) -> None:
    assert pointer(post(client, "intensity", {"crack": PATH | given})) == where


def test_both_forms_of_a_stress_give_one_intensity(client: httpx.Client) -> None:
    points = {"distance_mm": [0.0, 4.0], "stress_mpa": [100.0, -100.0]}
    line = {"coefficients_mpa": [100.0, -100.0], "reference_mm": 2.0}
    sizes = PATH | {"depth_mm": [1.0, 4.0]}
    found = [post(client, "intensity", {"crack": sizes | each}).json()["answer"] for each in (points, line)]
    assert found[0]["opening_mpa_sqrt_mm"] == pytest.approx(found[1]["opening_mpa_sqrt_mm"])
    assert found[0]["crack_closed"] == [False, True]  # at 4 mm the tip lies where the stress presses
    for mode in ("sliding_mpa_sqrt_mm", "tearing_mpa_sqrt_mm", "aspect_ratio"):
        assert found[0][mode] is None
    pressed = post(client, "intensity", {"crack": PATH | points | {"stress_mpa": [-1.0, -1.0]}}).json()["answer"]
    assert pressed["crack_closed"] == [True]
    none = post(client, "intensity", {"crack": PATH | points | {"stress_mpa": [0.0, 0.0]}}).json()["answer"]
    assert none["crack_closed"] == [False]


def test_families_are_found_by_name_or_title_in_any_case(client: httpx.Client) -> None:
    def listed(text: str) -> list[str]:
        reply = client.get("/v1/cracks/families", params={"text": text})
        assert reply.status_code == 200, reply.text
        return [item["name"] for item in reply.json()["answer"]["families"]]

    assert listed("ROOT-gap") == ["root-gap"]
    assert listed("Cruciform joint") == ["root-gap"]
    assert listed("nothing of the kind") == []
    sources = client.get("/v1/cracks/families", params={"text": "root-gap"}).json()["record"]["sources"]
    assert {each["key"] for each in sources} == {limit.source for limit in FAMILIES["root-gap"].limits}


def test_a_family_lists_what_it_needs(client: httpx.Client) -> None:
    (corner,) = client.get("/v1/cracks/families", params={"text": "corner"}).json()["answer"]["families"]
    found = {each["name"]: each for each in corner["parameters"]}
    assert (found["width_mm"]["needed"], found["width_mm"]["default"]) == (False, None)
    assert (found["thickness_mm"]["needed"], found["thickness_mm"]["default"]) == (True, None)
    assert (found["angle_deg"]["default"], found["angle_deg"]["unit"], found["angle_deg"]["role"]) == (
        90.0,
        "deg",
        "angle",
    )
    (edge,) = client.get("/v1/cracks/families", params={"text": "edge-free"}).json()["answer"]["families"]
    form = next(each for each in edge["parameters"] if each["name"] == "form")
    assert form["choices"] == ["accurate", "handbook", "polynomial"]
    assert form["default"] == "accurate"


def test_a_table_may_hold_shear_alone(client: httpx.Client) -> None:
    shear = TABLE | {"k_mpa_sqrt_mm": {"sliding": [10.0, 20.0]}}
    found = post(client, "intensity", {"crack": shear}).json()["answer"]
    assert (found["opening_mpa_sqrt_mm"], found["sliding_mpa_sqrt_mm"], found["crack_closed"]) == (None, [10.0], None)


def test_an_unknown_random_variable_is_named_where_it_stands(client: httpx.Client) -> None:
    request = example("cracks/scatter-toe-crack")
    named = {**request, "variables": {"nonsense": {"kind": "normal", "mean": 1.0, "variation": 0.1}}}
    found = client.post("/v1/cracks/scatter", json=named)
    assert (found.status_code, found.json()["type"]) == (422, "urn:toeline:unknown")
    assert [each["pointer"] for each in found.json()["errors"]] == ["/variables/nonsense"]
