"""Cracks: doubts that one route has and another dropped, inputs taken on faith or left out in silence."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import httpx
import pytest

EXAMPLES = Path(__file__).parents[2] / "openapi_examples"
LAW = {"stages": [{"coefficient": 5.21e-13, "exponent": 3.0}], "units": "mm-MPa"}
SURFACE = {"kind": "surface", "depth_mm": 1.0, "half_length_mm": 2.0, "thickness_mm": 10.0}
CYCLE = {"kind": "constant", "maximum": 1.0, "minimum": 0.0}
BLOCK = {"kind": "blocks", "maximum": [1.0, 0.6, 0.4], "minimum": [0.0, 0.0, 0.1], "cycles": [1, 100, 1000]}
SPREAD = {"stress_factor": {"kind": "lognormal", "mean": 1.0, "variation": 0.3}}


def example(name: str) -> dict[str, Any]:
    text = (EXAMPLES / f"{name}.json").read_text(encoding="utf-8")
    return copy.deepcopy(json.loads(text)["request"])  # type: ignore[no-any-return]


def content(client: httpx.Client, route: str, body: dict[str, Any]) -> dict[str, Any]:
    reply = client.post(f"/v1/{route}", json=body)
    assert reply.status_code == 200, reply.text
    return reply.json()  # type: ignore[no-any-return]


def told(found: dict[str, Any]) -> dict[str, str]:
    """Severity by code."""
    return {finding["code"]: finding["severity"] for finding in found["findings"]}


def refused(client: httpx.Client, route: str, body: dict[str, Any]) -> list[str]:
    reply = client.post(f"/v1/{route}", json=body)
    assert reply.status_code == 422, reply.text
    return [error["pointer"] for error in reply.json()["errors"]]


# scatter and growth tell the same


def scatter(**more: Any) -> dict[str, Any]:
    base = {"crack": SURFACE, "stress": {"membrane_mpa": 150.0}, "law": LAW, "loading": CYCLE}
    return base | {"variables": SPREAD, "samples": 64} | more


RETARDED = BLOCK | {"retardation": {"model": "wheeler", "yield_strength_mpa": 300.0, "exponent": 1.3}}
PATH = {"distance_mm": [0.0, 2.0, 5.0], "stress_mpa": [300.0, 150.0, 100.0]}
LIMITED = LAW | {"threshold_mpa_sqrt_mm": 170.0}
SHORT = SURFACE | {"depth_mm": 0.3, "half_length_mm": 0.3}


@pytest.mark.parametrize(
    "more",
    [
        {},
        {"law": {"name": "bs7910-2013/air-mean"}},
        {"stress": PATH},
        {"stress": PATH | {"element_size_mm": 1.5}},
        {"crack": SURFACE | {"half_width_mm": 4.0}},
        {"crack": SURFACE | {"half_length_mm": 9.0}},
        {"crack": SHORT, "law": LIMITED, "loading": BLOCK},
        {"loading": RETARDED},
        {"loading": BLOCK | {"cycles": [1e5, 1e6, 1e7]}},
        {"stress": {"membrane_mpa": 150.0, "static_membrane_mpa": 50.0}},
    ],
)
def test_scatter_doubts_all_that_growth_doubts(client: httpx.Client, more: dict[str, Any]) -> None:
    fixed = scatter(variables={"stress_factor": {"kind": "fixed", "mean": 1.0}}, samples=16, **more)
    alone = {k: v for k, v in fixed.items() if k not in ("variables", "samples")}
    doubts = {
        (f["code"], f["severity"])
        for f in content(client, "cracks/growth", alone)["findings"]
        if f["severity"] != "note"
    }
    assert doubts
    assert doubts <= {(f["code"], f["severity"]) for f in content(client, "cracks/scatter", fixed)["findings"]}


def test_scatter_doubts_what_only_some_of_its_cracks_meet(client: httpx.Client) -> None:
    body = scatter(crack=SHORT, law=LIMITED, condition="stress-relieved", samples=200)
    body["stress"] = {"membrane_mpa": 300.0}
    found = content(client, "cracks/scatter", body)
    assert 0.0 < found["answer"]["infinite_life_share"] < 0.5
    one = [f for f in found["findings"] if f["code"] == "threshold-of-long-cracks"]
    assert one[0]["severity"] == "caution"
    assert one[0]["message"].startswith("for one of the cracks drawn")


def test_lives_that_the_error_controlled_integration_does_not_confirm_are_doubted(
    client: httpx.Client,
) -> None:
    body = scatter(
        crack=SURFACE | {"depth_mm": 0.3, "half_length_mm": 0.5},
        stress={"membrane_mpa": 100.0},
        law=LAW | {"threshold_mpa_sqrt_mm": 63.0},
        loading=BLOCK | {"maximum": [2.0, 0.6, 0.4]},
    )
    found = content(client, "cracks/scatter", body)
    assert found["answer"]["verification_error"] > 0.01
    assert told(found)["referee-disagrees"] == "caution"
    assert "referee-disagrees" not in told(content(client, "cracks/scatter", scatter()))


def test_an_unknown_variable_is_named_with_those_that_are_known(client: httpx.Client) -> None:
    body = scatter(variables={"wobble": {"kind": "fixed", "mean": 1.0}})
    reply = client.post("/v1/cracks/scatter", json=body)
    assert reply.status_code == 422
    assert reply.json()["errors"][0]["pointer"] == "/variables/wobble"
    assert "aspect_ratio" in reply.json()["errors"][0]["message"]


# a plate without a width

CENTRE = {"kind": "centre", "half_length_mm": 2.0}
STRENGTH = {"yield_strength_mpa": 355.0, "ultimate_strength_mpa": 490.0, "toughness_mpa_sqrt_mm": 3000.0}
TENSION = {"membrane_mpa": 100.0}


@pytest.mark.parametrize(
    ("route", "body"),
    [
        ("cracks/growth", {"crack": SURFACE, "stress": TENSION, "law": LAW, "loading": CYCLE}),
        ("cracks/scatter", scatter()),
        ("cracks/critical-size", {"crack": SURFACE, "stress": TENSION, "strength": STRENGTH}),
        ("cracks/critical-size", {"crack": CENTRE, "stress": TENSION, "strength": STRENGTH}),
        (
            "cracks/intensity",
            {
                "crack": {
                    "kind": "family",
                    "family": "centre",
                    "crack_size_mm": [2.0],
                    "parameters": {"membrane_mpa": 100.0},
                }
            },
        ),
    ],
)
def test_a_width_that_was_not_given_is_a_caution_everywhere(
    client: httpx.Client, route: str, body: dict[str, Any]
) -> None:
    assert told(content(client, route, body))["wide-plate"] == "caution"


# the growth part of a check

TOE_GROWTH = "check/bracket-toe-growth"


@pytest.mark.parametrize(
    ("factor", "severity", "verdict"),
    [
        (1.0, None, "pass"),
        (0.75, "caution", "pass"),
        (2.0, "caution", "pass"),
        (0.1, "outside", "undecided"),
        (1e-6, "outside", "undecided"),
        (-1.0, "outside", "undecided"),
    ],
)
def test_a_depth_path_that_is_not_of_its_station_decides_nothing(
    client: httpx.Client, factor: float, severity: str | None, verdict: str
) -> None:
    body = example(TOE_GROWTH)
    cases = body["growth"]["path"]["cases"]
    body["growth"]["path"]["cases"] = {n: [factor * v for v in column] for n, column in cases.items()}
    found = content(client, "check", body)
    assert told(found).get(OF_PATH[severity]) == severity
    assert found["answer"]["verdict"] == verdict


OF_PATH = {
    None: "path-not-of-station",
    "outside": "path-not-of-station",
    "caution": "path-perhaps-not-of-station",
}


def plain_growth(factor: float) -> dict[str, Any]:
    """A check on the structural stress with a path that is a multiple of it at the surface."""
    body = example(TOE_GROWTH)
    line = {"name": "toe", "basis": "structural", "position_mm": [0.0, 1.0]}
    body["lines"] = [line | {"cases": {"a": {"normal_mpa": [60.0, 60.0]}}}]
    body["loading"] = {"kind": "constant", "cycles": 1e4, "factors": {"a": {"maximum": 1.0, "minimum": 0.0}}}
    body["curves"] = {"rule": "fixed", "curve": "iiw-2016-normal-steel-90"}
    growth = body["growth"]
    growth["path"] = {"distance_mm": [0.0, 8.0], "cases": {"a": [60.0 * factor, 60.0 * factor]}}
    body["growth"] = growth | {"line": "toe"}
    return body


@pytest.mark.parametrize(
    ("factor", "severity"), [(1.0, None), (3.0, None), (0.7, "caution"), (6.0, "caution"), (0.3, "outside")]
)
def test_a_path_is_held_against_a_structural_stress_too(
    client: httpx.Client, factor: float, severity: str | None
) -> None:
    found = told(content(client, "check", plain_growth(factor)))
    assert found.get(OF_PATH[severity]) == severity


@pytest.mark.parametrize("condition", ["as-welded", "stress-relieved"])
def test_a_crack_that_stands_still_passes_a_check_with_a_caution_only(client: httpx.Client, condition: str) -> None:
    body = plain_growth(1.0) | {"condition": condition}
    body["growth"]["law"] = LIMITED
    if condition == "stress-relieved":
        body["growth"]["law"] = LAW
        body["loading"]["factors"] = {"a": {"maximum": -1.0, "minimum": -2.0}}
    found = content(client, "check", body)
    assert found["answer"]["growth"]["reaches_target"]
    assert found["answer"]["growth"]["below_cutoff"]
    assert told(found)["target-reached-at-rest"] == "caution"


# lengths that the point of a path has no use for

LINE = {"kind": "path", "distance_mm": [0.0, 50.0], "stress_mpa": [100.0, 100.0], "depth_mm": [9.0]}


@pytest.mark.parametrize(
    ("point", "name"),
    [
        ("centre", "half_width_mm"),
        ("centre", "thickness_mm"),
        ("half-plane", "thickness_mm"),
        ("half-plane", "half_length_mm"),
        ("edge", "half_width_mm"),
        ("edge", "half_length_mm"),
        ("edge-published", "half_width_mm"),
    ],
)
def test_a_length_that_the_point_does_not_use_is_refused(client: httpx.Client, point: str, name: str) -> None:
    crack = LINE | {"point": point, name: 10.0}
    if point.startswith("edge"):
        crack["thickness_mm"] = 20.0
    assert refused(client, "cracks/intensity", {"crack": crack}) == [f"/crack/{name}"]
    del crack[name]
    content(client, "cracks/intensity", {"crack": crack})


def test_a_path_in_a_plate_without_width_is_doubted(client: httpx.Client) -> None:
    centre = content(client, "cracks/intensity", {"crack": LINE | {"point": "centre"}})
    assert told(centre)["wide-plate"] == "caution"
    ellipse = LINE | {"depth_mm": [2.0], "half_length_mm": 4.0, "thickness_mm": 10.0}
    assert told(content(client, "cracks/intensity", {"crack": ellipse}))["wide-plate"] == "caution"
    narrow = content(client, "cracks/intensity", {"crack": ellipse | {"half_width_mm": 20.0}})
    assert "wide-plate" not in told(narrow)


# lasting compression, Young's modulus

EDGE = {"kind": "edge", "depth_mm": 1.0, "width_mm": 50.0}


@pytest.mark.parametrize("static_mpa", [-50.0, -90.0, -100.0, -150.0])
def test_lasting_compression_makes_no_critical_crack_larger(client: httpx.Client, static_mpa: float) -> None:
    body = {"crack": EDGE, "stress": TENSION, "strength": STRENGTH}
    plain = content(client, "cracks/critical-size", body)
    body["stress"] = TENSION | {"static_membrane_mpa": static_mpa}
    found = content(client, "cracks/critical-size", body)
    assert found["answer"] == plain["answer"]
    assert told(found)["lasting-stress-not-credited"] == "caution"
    assert "lasting-stress-not-credited" not in told(plain)


SHARED = {"length_mm": 300.0, "grips": "rigid"}


@pytest.mark.parametrize("modulus_mpa", [206.0, 206e6])
def test_a_modulus_in_another_unit_is_doubted(client: httpx.Client, modulus_mpa: float) -> None:
    strength = STRENGTH | {"youngs_modulus_mpa": modulus_mpa}
    edge = {"crack": EDGE | {"thickness_mm": 10.0}, "stress": TENSION, "law": LAW, "loading": CYCLE}
    requests = {
        "cracks/fracture": {
            "strength": strength,
            "k_primary_mpa_sqrt_mm": [1000.0],
            "reference_stress_mpa": [100.0],
        },
        "cracks/critical-size": {"crack": EDGE, "stress": TENSION, "strength": strength},
    }
    told_by = [told(content(client, route, body)) for route, body in requests.items()]
    shared = edge | {"sharing": SHARED | {"youngs_modulus_mpa": modulus_mpa}}
    told_by += [told(content(client, "cracks/growth", shared))]
    told_by += [told(content(client, "cracks/growth", edge | {"end": {"strength": strength}}))]
    assert [each.get("modulus-implausible") for each in told_by] == ["caution"] * 4


def test_what_sharing_takes_for_granted_is_named(client: httpx.Client) -> None:
    edge = {"crack": EDGE | {"thickness_mm": 10.0}, "stress": TENSION, "law": LAW, "loading": CYCLE}
    found = content(client, "cracks/growth", edge | {"sharing": SHARED})
    said = [f["message"] for f in found["findings"] if f["code"] == "sharing-stiffness"]
    assert "206,000" in said[0]
    assert "(axial and rotational)" in said[0]
    springs = {"series_axial_stiffness_n_per_mm": 1e6, "series_rotational_stiffness_nmm": 1e9}
    found = content(client, "cracks/growth", edge | {"sharing": SHARED | springs})
    said = [f["message"] for f in found["findings"] if f["code"] == "sharing-stiffness"]
    assert "nothing gives way" not in said[0]


# from a history to its inspection


def grown(client: httpx.Client, **body: Any) -> dict[str, Any]:
    base = {"law": LAW, "loading": CYCLE, "stress": {"membrane_mpa": 150.0}}
    found = content(client, "cracks/growth", base | body)
    return found["answer"]["history"]  # type: ignore[no-any-return]


def family(name: str, largest_mm: float, **parameters: Any) -> dict[str, Any]:
    crack = {"kind": "family", "family": name, "start_mm": 1.0, "largest_mm": largest_mm}
    return {"crack": crack | {"parameters": parameters}, "stress": {}}


WIDE_CENTRE = family("centre", 30.0, membrane_mpa=150.0, width_mm=100.0)
OWN_CURVE = {"median_mm": 2.0, "exponent": 1.0}
BY_CURVE = {"curve": OWN_CURVE, "detection_probability": 0.5}


def test_a_half_length_is_not_taken_for_a_depth(client: httpx.Client) -> None:
    history = grown(client, **WIDE_CENTRE)
    assert history["size_kind"] == "half-length"
    body = {"history": history, "size_kind": "depth"} | BY_CURVE
    assert refused(client, "cracks/inspection", body) == ["/size_kind"]
    found = content(client, "cracks/inspection", body | {"size_kind": "length"})
    assert found["answer"]["detectable_mm"] == 2.0
    assert found["answer"]["inspection_size_mm"][0] == pytest.approx(2.0 * history["depth_mm"][0])


def test_a_curve_of_surface_cracks_says_nothing_about_a_buried_one(client: httpx.Client) -> None:
    buried = family("embedded-infinite", 5.0, membrane_mpa=150.0, half_length_mm=6.0)
    history = grown(client, **buried)
    assert history["size_kind"] == "buried"
    body = {"history": history, "size_kind": "depth"}
    assert refused(client, "cracks/inspection", body | BY_CURVE) == ["/curve"]
    content(client, "cracks/inspection", body | {"detectable_mm": 2.0})
    pointer = refused(client, "cracks/inspection", body | {"size_kind": "length", "detectable_mm": 2.0})
    assert pointer == ["/history/half_length_mm"]


def test_a_history_that_does_not_name_its_size_is_doubted(client: httpx.Client) -> None:
    history = grown(client, crack=EDGE)
    assert history["size_kind"] == "depth"
    body = {"history": history, "size_kind": "depth", "detectable_mm": 3.0}
    assert "size-kind-on-faith" not in told(content(client, "cracks/inspection", body))
    del history["size_kind"]
    assert told(content(client, "cracks/inspection", body))["size-kind-on-faith"] == "caution"


def test_a_crack_that_does_not_grow_is_told_as_such(client: httpx.Client) -> None:
    crack, law = EDGE, LAW | {"threshold_mpa_sqrt_mm": 5000.0}
    history = grown(client, crack=crack, law=law)
    assert len(history["depth_mm"]) == 1
    reply = client.post("/v1/cracks/inspection", json={"history": history, "size_kind": "depth", "detectable_mm": 3.0})
    assert reply.status_code == 422
    assert [error["pointer"] for error in reply.json()["errors"]] == ["/history"]
    assert "does not grow" in reply.json()["detail"]


def test_a_history_that_was_cut_is_not_told_to_end_at_a_critical_size(client: httpx.Client) -> None:
    history = grown(client, crack=EDGE, end={"cycles": 1000.0})
    body = {"history": history, "size_kind": "depth", "detectable_mm": 5.0}
    reply = client.post("/v1/cracks/inspection", json=body)
    assert reply.status_code == 422
    assert "critical" not in reply.json()["detail"]
    assert "cycles" in reply.json()["detail"]
    cut = content(client, "cracks/inspection", body | {"detectable_mm": 1.001})
    assert told(cut)["last-row-not-critical"] == "caution"
    whole = grown(client, crack=EDGE, end={"toughness_mpa_sqrt_mm": 3000.0})
    assert told(content(client, "cracks/inspection", body | {"history": whole}))["last-row-critical"] == "note"
