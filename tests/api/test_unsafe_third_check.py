"""Definitions, counts, names and small reliefs that together or by another way of writing made a check pass."""

from __future__ import annotations

from typing import Any

import httpx
import numpy as np
import pytest

from fatcore.spectrum.multiaxial.modes import mode_cycles

FACTOR = {"kind": "own", "name": "partial factor", "factor": 1.0, "reason": "stated for the test"}


def nominal(stress: float, **more: Any) -> dict[str, Any]:
    """A check of one station under nominal stress."""
    request: dict[str, Any] = {
        "lines": [{"name": "seam", "basis": "nominal", "position_mm": [0.0], "cases": {"a": {"normal_mpa": [stress]}}}],
        "loading": {"kind": "constant", "cycles": 1e6, "factors": {"a": {"maximum": 1.0, "minimum": 0.0}}},
        "curves": {"rule": "fixed", "curve": "iiw-2016-normal-steel-71"},
        "target": {"resistance_factor": 1.4},
    }
    return request | more


def checked(client: httpx.Client, request: dict[str, Any]) -> tuple[str, dict[str, dict[str, Any]]]:
    """Verdict and findings by code."""
    envelope = client.post("/v1/check", json=request).json()
    assert "answer" in envelope, envelope
    return envelope["answer"]["verdict"], {finding["code"]: finding for finding in envelope["findings"]}


def test_the_path_is_compared_for_normal_and_shear_stress_too(client: httpx.Client) -> None:
    request = nominal(
        0.0,
        lines=[
            {
                "name": "seam",
                "basis": "nominal",
                "position_mm": [0.0],
                "cases": {
                    "p": {"normal_mpa": [35.846], "shear_mpa": [10.862]},
                    "q": {"normal_mpa": [0.0], "shear_mpa": [35.846]},
                },
            }
        ],
        curves={"rule": "fixed", "curve": "iiw-2016-normal-steel-71", "shear_curve": "iiw-2016-shear-steel-80"},
        target={"repeats": 1e5 / 1.4**3, "resistance_factor": 1.4},
    )
    channels = {"p": [-1.3, -0.7, -0.8, -1.7], "q": [0.1, 0.5, -0.7, 1.4]}
    verdicts = {}
    for name in ("governing", "path"):
        loading = {"kind": "history", "channels": channels, "cycles": name}
        verdicts[name], found = checked(client, request | {"loading": loading})
        if name == "governing":
            assert "path" in found["cycle-definitions-decide"]["message"]
    assert verdicts == {"governing": "undecided", "path": "fail"}


def test_the_path_is_the_severer_of_both_directions_in_time() -> None:
    generator, weights = np.random.default_rng(5), np.array([1.0, 1.0])
    for _ in range(5):
        history = generator.normal(0.0, 100.0, (2, 60))
        found = [mode_cycles(way, weights, definition="path") for way in (history, history[:, ::-1])]
        powers = [float((np.linalg.norm(each.range_mpa, axis=1) ** 3 * each.count).sum()) for each in found]
        assert powers[0] == pytest.approx(powers[1], rel=1e-9)
        assert all((each.start_index < 60).all() and (each.end_index >= 0).all() for each in found)


def blocks(way: str) -> dict[str, Any]:
    ends = [(1.0, 0.9), (-1.0, -1.1)]
    listed = [{"factors": {"a": {"maximum": top, "minimum": low}}, "cycles": 1.0} for top, low in ends]
    return {"kind": "blocks", "blocks": listed, "transitions": way}


def test_blocks_that_are_no_complete_count_do_not_pass_as_one(client: httpx.Client) -> None:
    request = nominal(100.0, target={"repeats": 1e6, "resistance_factor": 1.4})
    assert checked(client, request | {"loading": blocks("added")})[0] == "fail"
    verdict, found = checked(client, request | {"loading": blocks("in-entries")})
    assert verdict == "undecided"
    assert "station 0" in found["entries-without-largest-cycle"]["message"]
    complete = blocks("in-entries")
    complete["blocks"].append({"factors": {"a": {"maximum": 1.0, "minimum": -1.1}}, "cycles": 1.0})
    few = nominal(100.0, target={"repeats": 1e4, "resistance_factor": 1.4})
    assert "entries-without-largest-cycle" not in checked(client, few | {"loading": complete})[1]
    assert checked(client, few | {"loading": blocks("in-entries")})[0] == "pass"  # also with the cycles between


@pytest.mark.parametrize(
    ("name", "family", "verdict"),
    [
        ("structural-steel", None, "pass"),
        ("S355 J2+N", None, "pass"),
        ("Aluminium", None, "undecided"),
        ("EN AW-6082", None, "undecided"),
        ("titanium", None, "undecided"),
        ("alloy 7", None, "undecided"),
        ("alloy 7", "steel", "pass"),
        ("alloy 7", "aluminium", "undecided"),
    ],
)
def test_a_name_that_does_not_say_what_the_material_is_decides_nothing(
    client: httpx.Client, name: str, family: str | None, verdict: str
) -> None:
    material = {"name": name} | ({} if family is None else {"material_family": family})
    assert checked(client, nominal(30.0, material=material))[0] == verdict


def test_a_family_that_the_name_contradicts_is_refused(client: httpx.Client) -> None:
    request = nominal(30.0, material={"name": "EN AW-6082", "material_family": "steel"})
    problem = client.post("/v1/check", json=request)
    assert problem.status_code == 422
    assert problem.json()["errors"][0]["pointer"].endswith("material_family")


def test_small_reliefs_of_several_inputs_are_judged_together(client: httpx.Client) -> None:
    line = {
        "name": "root",
        "notch": {"kind": "root", "opening_angle_deg": 0.0, "notch_size_mm": 10.0},
        "mesh": {"element": "quad4", "element_size_mm": 1.0},
        "position_mm": [0.0, 1.0, 2.0],
        "cases": {"a": {"peaks_mpa": {"opening": [50.0, 50.0, 50.0]}}},
    }
    request = nominal(0.0, lines=[line], curves={"rule": "biaxiality"}, target={})
    codes = {}
    for label, material, constants in (
        ("published", {}, None),
        ("poisson", {"poisson_ratio": 0.31}, None),
        ("all", {"name": "my steel", "poisson_ratio": 0.34, "control_radius_mm": 0.297}, {"opening": 1.34}),
    ):
        changed = line | {"mesh": {"element": "quad4", "element_size_mm": 1.0, "constants": constants}}
        codes[label] = checked(client, request | {"lines": [changed], "material": material})[1]
    assert "weights-lowered" not in codes["published"]
    assert "weights-lowered" not in codes["poisson"]
    assert codes["all"]["weights-lowered"]["severity"] == "outside"
