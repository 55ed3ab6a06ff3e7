"""Curves, their limits and their factors: what gave a number that was too good without a word."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import httpx
import pytest

from service.cli import main

IIW = "iiw-2016-normal-steel-71"
EN = "en-1993-1-9-2005-normal-71"
PEAK = "peak-stress-opening"
OWN = {"name": "mine", "range_mpa": [71.0], "life_cycles": [2e6], "slopes": [3.0]}
BLOCKS = {"range_mpa": [80.0, 40.0], "count": [1e5, 1e6]}
LONG_TERM = {"largest_range_mpa": 200.0, "reference_cycles": 1e8, "shape_exponent": 1.0}
RANDOM = {"frequency_hz": [1.0, 2.0], "density_mpa2_per_hz": [100.0, 100.0], "duration_s": 1e5}


def post(client: httpx.Client, route: str, request: dict[str, Any]) -> dict[str, Any]:
    answer = client.post(f"/v1/{route}", json=request)
    assert answer.status_code == 200, answer.text
    content: dict[str, Any] = answer.json()
    return content


def nominal(curves: dict[str, Any], loading: dict[str, Any], **more: Any) -> dict[str, Any]:
    """A check of one station under 1 MPa of unit stress."""
    case = {"normal_mpa": [1.0], **more.pop("case", {})}
    line = {"name": "weld", "basis": "nominal", "position_mm": [0.0], "cases": {"pull": case}}
    return {"lines": [line], "loading": loading, "curves": {"rule": "fixed", **curves}, **more}


def two_blocks() -> dict[str, Any]:
    blocks = [
        {"factors": {"pull": {"max": size, "min": 0.0}}, "cycles": count}
        for size, count in zip(BLOCKS["range_mpa"], BLOCKS["count"], strict=True)
    ]
    return {"kind": "blocks", "blocks": blocks}


def constant(size: float, cycles: float) -> dict[str, Any]:
    return {"kind": "constant", "factors": {"pull": {"max": size, "min": 0.0}}, "cycles": cycles}


LIMITED = {
    "spectrum/damage": lambda curve: {**BLOCKS, "curve": curve},
    "spectrum/long-term": lambda curve: {**LONG_TERM, "curve": curve},
    "spectrum/random": lambda curve: {**RANDOM, "curve": curve},
    "check": lambda curve: nominal({"curve": curve}, two_blocks()),
}


@pytest.mark.parametrize("route", LIMITED)
@pytest.mark.parametrize(
    ("curve", "limit", "severity", "word"),
    [
        (IIW, 0.5, "note", "iiw-2016/general"),
        (EN, 1.0, "note", "en-1993-1-9-2005/design"),
        (OWN, 0.5, "caution", "no document"),
    ],
)
def test_the_damage_limit_of_the_document_holds_in_every_route_and_is_told(
    client: httpx.Client, route: str, curve: Any, limit: float, severity: str, word: str
) -> None:
    """[iiw-2016] permits 0.5 under variable amplitude, [en-1993-1-9-2005] 1.0; both from memory."""
    found = post(client, route, LIMITED[route](curve))
    assert found["answer"]["damage_limit"] == limit
    (told,) = [item for item in found["findings"] if item["code"] == "damage-limit"]
    assert told["severity"] == severity
    assert word in told["message"]


def target_of(route: str, request: dict[str, Any], **choice: Any) -> dict[str, Any]:
    return {**request, "target": choice} if route == "check" else {**request, **choice}


@pytest.mark.parametrize("route", LIMITED)
def test_a_limit_larger_than_the_documents_is_a_caution_in_every_route(
    client: httpx.Client, route: str
) -> None:
    request = LIMITED[route](IIW)
    for choice in ({"damage_limit": 1.0}, {"damage_limit_rule": "en-1993-1-9-2005/design"}):
        found = post(client, route, target_of(route, request, **choice))
        assert found["answer"]["damage_limit"] == 1.0
        (told,) = [item for item in found["findings"] if item["code"] == "damage-limit"]
        assert (told["severity"], "larger than 0.5" in told["message"]) == ("caution", True)


@pytest.mark.parametrize("route", LIMITED)
def test_a_design_fatigue_factor_that_nothing_uses_is_refused_in_every_route(
    client: httpx.Client, route: str
) -> None:
    request = target_of(route, LIMITED[route](IIW), design_fatigue_factor=2.0)
    answer = client.post(f"/v1/{route}", json=request)
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["pointer"].endswith("/design_fatigue_factor")


def test_a_check_of_several_curves_takes_the_smallest_limit(client: httpx.Client) -> None:
    curves = {"curve": EN, "shear_curve": "iiw-2016-shear-steel-80"}
    found = post(client, "check", nominal(curves, two_blocks()))
    assert found["answer"]["damage_limit"] == 0.5
    fixed = post(client, "check", nominal(curves, constant(50.0, 1e5)))
    assert fixed["answer"]["damage_limit"] == 1.0


def test_the_command_line_judges_by_the_limit_of_the_curve(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A damage of 0.7 is beyond the 0.5 of the document."""
    path = tmp_path / "history.csv"
    path.write_text("stress\n" + "\n".join(["0", "100"] * 10))
    passes = 0.7 * 2e6 * (71.0 / 100.0) ** 3 / 10.0
    options = ["damage", str(path), "--curve", IIW, "--repeats", str(passes)]
    assert main(options) == 1
    text = capsys.readouterr().out
    assert "0.7 of 0.5" in text
    assert "iiw-2016/general" in " ".join(text.split())
    assert main([*options, "--damage-limit-rule", "en-1993-1-9-2005/design"]) == 0
    assert "larger than 0.5" in " ".join(capsys.readouterr().out.split())
