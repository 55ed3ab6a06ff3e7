"""Estimates of what a request will take: light ones are answered at once, what cannot end in time is refused."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import httpx
import pytest

from service.base.common import Cost
from service.base.envelope import validated
from service.base.problems import Problem
from service.http.tasks import JSON, LIGHT_BYTES, LIGHT_S, Task, cost_of, guard_cost
from service.topics.registry import find, load

EXAMPLES = Path(__file__).parents[2] / "openapi_examples"


def example(name: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((EXAMPLES / f"{name}.json").read_text("utf-8"))["request"]
    return found


def cost(name: str, request: dict[str, Any]) -> Cost:
    calculation = find(name)
    assert calculation is not None
    return cost_of(calculation, validated(calculation, request))


SCATTER = example("cracks/scatter-toe-crack")
GROWTH = example("cracks/growth-surface-blocks")
CHECK = example("check/one-toe-constant")
MODES = example("spectrum/damage-modes")
SERIES = example("trials/sn-line-hanger")
BLOCK = {"kind": "blocks", "maximum": [1.0] * 100, "minimum": [0.1] * 100, "cycles": [10.0] * 100}
RETARDED = {**BLOCK, "retardation": GROWTH["loading"]["retardation"]}
PLAIN = {key: value for key, value in GROWTH.items() if key != "descriptions"}


@pytest.mark.parametrize(
    ("name", "small", "large", "at_least"),
    [
        ("cracks/scatter", SCATTER, {**SCATTER, "samples": 200_000}, 2.0),
        ("cracks/scatter", SCATTER, {**SCATTER, "loading": BLOCK}, 2.0),
        ("cracks/growth", PLAIN, {**PLAIN, "loading": RETARDED}, 1.0),
        ("cracks/growth", PLAIN, {**PLAIN, "loading": BLOCK}, 0.025),
        ("cracks/growth", {**PLAIN, "loading": BLOCK}, {**PLAIN, "loading": RETARDED}, 1.0),
        ("spectrum/damage", MODES, {**MODES, "modes_mpa": {"opening": [0.0, 1.0] * 1500}}, 1.0),
        ("trials/sn-line", SERIES, {**SERIES, "resamples": 2000}, 0.1),
        ("check", CHECK, example("check/bracket-toe-growth"), 0.02),
    ],
)
def test_larger_requests_cost_more(name: str, small: dict[str, Any], large: dict[str, Any], at_least: float) -> None:
    assert cost(name, small).seconds < cost(name, large).seconds
    assert cost(name, large).seconds > at_least


def test_a_check_costs_its_stations_under_its_states() -> None:
    loading = {"kind": "history", "channels": dict.fromkeys(_cases(CHECK), [0.0, 1.0] * 10_000)}
    long = cost("check", {**CHECK, "loading": loading})
    assert "under 20,000 load states" in long.what
    blocks = example("check/bracket-hanger")
    assert f"488 stations under {len(blocks['loading']['blocks'])} load states" in cost("check", blocks).what


def _cases(request: dict[str, Any]) -> list[str]:
    return list(request["lines"][0]["cases"])


def test_what_hardly_depends_on_its_input_has_one_cost() -> None:
    assert cost("stress/section", example("stress/section-rib-toe")).seconds == 0.3
    assert cost("stress/weld-lines", example("stress/weld-lines-of-bricks")).seconds > 0.01
    assert cost("stress/linearise", example("stress/linearise-path")).seconds < LIGHT_S


def test_every_estimate_has_a_pointer_into_its_request() -> None:
    for calculation in load().values():
        if calculation.cost is None:
            continue
        folder = EXAMPLES / calculation.topic
        for path in sorted(folder.glob("*.json")) if folder.is_dir() else []:
            shown = json.loads(path.read_text("utf-8"))
            if shown.get("calculation") == calculation.name:
                estimate = cost_of(calculation, validated(calculation, shown["request"]))
                name = estimate.pointer.removeprefix("/")
                assert estimate.pointer == "" or name in calculation.request.model_fields
                assert 0.0 < estimate.seconds < 30.0
                assert estimate.what


def test_what_cannot_end_in_time_is_refused_with_the_figure(client: httpx.Client) -> None:
    answer = client.post("/v1/cracks/scatter", json={**SCATTER, "samples": 5000, "loading": {**BLOCK}})
    assert answer.status_code == 200
    wanted = {**SCATTER, "samples": 200_000, "loading": {**BLOCK}}
    refused = client.post("/v1/cracks/scatter", json=wanted)
    assert refused.status_code == 422
    problem = refused.json()
    assert problem["type"] == "urn:toeline:too-costly"
    assert problem["errors"][0]["pointer"] == "/samples"
    assert "20,000,000 lives times entries" in problem["detail"]
    assert "240 s, and a calculation may take 30 s here" in problem["detail"]
    longer = client.post("/v1/batch", json=[{"id": 1, "calculation": "cracks/scatter", "input": wanted}])
    assert json.loads(longer.text)["problem"]["detail"].startswith("samples times entries")  # the core's own bound


def test_the_limit_itself_may_be_taken() -> None:
    guard_cost(Cost(30.0, "/x", "things"), 30.0)
    with pytest.raises(Problem, match=r"^things are estimated to take 31 s"):
        guard_cost(Cost(31.0, "/x", "things"), 30.0)


@pytest.mark.parametrize(
    ("change", "small"),
    [
        ({}, True),
        ({"kind": "application/x+json"}, True),
        ({"kind": "text/csv"}, False),
        ({"method": "GET", "kind": ""}, True),
        ({"body": b" " * LIGHT_BYTES}, True),
        ({"body": b" " * (LIGHT_BYTES + 1)}, False),
        ({"wanted": "text/html"}, False),
    ],
)
def test_small_tasks_are_read_at_once(change: dict[str, Any], small: bool) -> None:
    plain: dict[str, Any] = {"method": "POST", "name": "check", "kind": JSON, "body": b"{}", "query": {}, "path": {}}
    assert Task(**{**plain, "cell": None, "wanted": JSON, **change}).small is small
