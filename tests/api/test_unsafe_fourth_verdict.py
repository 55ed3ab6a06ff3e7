"""What kept a check passing that should not: limits, names and choices that reached the verdict by another way."""

from __future__ import annotations

import json
from typing import Any

import httpx
import pytest

ORDER = ("pass", "undecided", "fail")
STILL = [0.0, 0.0, 0.0]
ROOT: dict[str, Any] = {
    "lines": [
        {
            "name": "root",
            "notch": {"kind": "root", "opening_angle_deg": 0, "notch_size_mm": 5},
            "mesh": {"element": "quad4", "element_size_mm": 0.3},
            "position_mm": [0, 10, 20],
            "cases": {
                "pull": {"peaks_mpa": {"opening": [8, 10, 6], "sliding": [0, 0, 12], "tearing": [0, 0, 6]}},
            },
        }
    ],
    "loading": {"kind": "constant", "factors": {"pull": {"maximum": 10, "minimum": 0}}, "cycles": 1e6},
    "target": {"survival_probability": 0.977, "damage_limit": 0.5},
}


def _root(opening: Any, sliding: Any = STILL, tearing: Any = STILL, **line: Any) -> dict[str, Any]:
    body: dict[str, Any] = json.loads(json.dumps(ROOT))
    body["lines"][0] |= line
    body["lines"][0]["cases"]["pull"]["peaks_mpa"] = {"opening": opening, "sliding": sliding, "tearing": tearing}
    return body


def _mesh(constants: dict[str, float] | None = None, size_mm: float = 0.3) -> dict[str, Any]:
    return {"element": "quad4", "element_size_mm": size_mm} | ({"constants": constants} if constants else {})


def _post(client: httpx.Client, path: str, body: dict[str, Any]) -> dict[str, Any]:
    response = client.post(f"/v1/{path}", json=body)
    assert response.status_code == 200, response.text
    found: dict[str, Any] = response.json()
    return found


def _check(client: httpx.Client, body: dict[str, Any]) -> dict[str, Any]:
    return _post(client, "check", body)


def _verdict(client: httpx.Client, body: dict[str, Any]) -> str:
    return str(_check(client, body)["answer"]["verdict"])


def _codes(found: dict[str, Any], severity: str | None = None) -> set[str]:
    return {each["code"] for each in found["findings"] if severity in (None, each["severity"])}


# limits of a station that does not govern


def test_own_constants_that_let_another_station_govern_leave_a_line_undecided(client: httpx.Client) -> None:
    loads = ([8, 10, 6], [0, 0, 12], [0, 0, 6])
    assert _verdict(client, _root(*loads)) == "fail"
    for constants in ({"sliding": 1.0}, {"sliding": 1.0, "tearing": 0.5}, {"sliding": 0.1, "tearing": 0.1}):
        found = _check(client, _root(*loads, mesh=_mesh(constants)))
        assert found["answer"]["verdict"] == "undecided", constants
        assert "own-constant-below-scatter" in _codes(found, "outside")


def test_the_share_of_a_mode_is_that_by_the_published_constants(client: httpx.Client) -> None:
    toe = {"kind": "toe", "opening_angle_deg": 135, "notch_size_mm": 5}
    loads = ([0, 8, 0], STILL, [0, 0, 12])
    assert _verdict(client, _root(*loads, notch=toe)) == "pass"
    for constant in (1.5, 1.2, 0.1, 0.01):
        assert _verdict(client, _root(*loads, notch=toe, mesh=_mesh({"tearing": constant}))) == "undecided", constant
    little = _root([8, 10, 6], [0, 0, 0.3], mesh=_mesh({"sliding": 1.0}))  # a mode that acts at all
    assert _verdict(client, little) == "undecided"


def test_a_coarse_mesh_counts_at_every_station_that_uses_half_of_what_is_allowed(client: httpx.Client) -> None:
    coarse = _mesh(size_mm=1.25)
    assert _verdict(client, _root([8, 9.0, 0], [0, 0, 4], mesh=coarse)) == "undecided"
    assert _verdict(client, _root([8, 9.7, 0], [0, 0, 4], mesh=coarse)) == "undecided"
    far = _check(client, _root([8, 9.7, 0], [0, 0, 1.5], mesh=coarse))
    assert far["answer"]["verdict"] == "pass"
    said = next(each for each in far["findings"] if each["code"] == "mesh-too-coarse")
    assert "which use up to 36.1 % of what is allowed" in said["message"]


def test_a_short_life_counts_whichever_station_governs(client: httpx.Client) -> None:
    body = _root(STILL)
    body["lines"][0]["cases"] = {
        name: {"peaks_mpa": {"opening": opening, "sliding": STILL, "tearing": STILL}}
        for name, opening in (("a", [14, 0, 0]), ("c", [0, 100, 0]))
    }
    body["loading"] = {
        "kind": "blocks",
        "transitions": "in-entries",
        "blocks": [
            {"factors": {"a": {"maximum": 10, "minimum": 0}}, "cycles": 5e5},
            {"factors": {"c": {"maximum": 20, "minimum": 0}}, "cycles": 200},
        ],
    }
    for cycles in (5e5, 1e6):
        body["loading"]["blocks"][0]["cycles"] = cycles
        found = _check(client, body)
        assert found["answer"]["verdict"] == "undecided", cycles
        assert "life-cycles-outside" in _codes(found, "outside")


@pytest.mark.parametrize(
    ("loads", "size_mm", "other"),
    [(([8, 10, 6], [0, 0, 12], [0, 0, 6]), 0.3, "tearing"), (([8, 9, 0], [0, 0, 4]), 1.25, "opening")],
)
def test_more_load_and_more_relief_never_better_a_verdict(
    client: httpx.Client, loads: tuple[list[float], ...], size_mm: float, other: str
) -> None:
    def gravity(load: float, clean: float, constant: float | None) -> int:
        mesh = _mesh(None if constant is None else {"sliding": constant, other: constant}, size_mm)
        opening = [loads[0][0], clean, *loads[0][2:]]
        body = _root(opening, *loads[1:], mesh=mesh)
        body["target"]["load_factor"] = load
        return ORDER.index(_verdict(client, body))

    reliefs = (None, 3.0, 1.0, 0.5, 0.1)
    for constant in reliefs:
        by_load = [gravity(load, 9.0, constant) for load in (1.0, 1.3, 1.6, 3.0)]
        assert by_load == sorted(by_load), constant
        by_station = [gravity(1.0, clean, constant) for clean in (1.0, 9.0, 9.7, 12.0)]
        assert by_station == sorted(by_station), constant
    for load in (1.0, 1.6):
        plain, *relieved = (gravity(load, 9.0, constant) for constant in reliefs)
        assert all(one >= min(plain, 1) for one in relieved), load
