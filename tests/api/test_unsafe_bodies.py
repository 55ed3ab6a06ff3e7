"""Cracked bodies, their ends and their inspection: what used to give a number that is too good is refused,
counted on the safe side or said.
"""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import httpx
import pytest

EXAMPLES = Path(__file__).parents[2] / "openapi_examples"
PARIS = {"stages": [{"coefficient": 5.21e-13, "exponent": 3.0}], "units": "mm-MPa"}
SURFACE = {"kind": "surface", "depth_mm": 1.0, "half_length_mm": 2.0, "thickness_mm": 10.0}
EDGE = {"kind": "edge", "depth_mm": 1.0, "width_mm": 20.0, "thickness_mm": 10.0}
CYCLE = {"kind": "constant", "maximum": 1.0, "minimum": 0.0}


def example(name: str) -> dict[str, Any]:
    text = (EXAMPLES / f"{name}.json").read_text(encoding="utf-8")
    return copy.deepcopy(json.loads(text)["request"])  # type: ignore[no-any-return]


def content(client: httpx.Client, route: str, body: dict[str, Any]) -> dict[str, Any]:
    reply = client.post(f"/v1/{route}", json=body)
    assert reply.status_code == 200, reply.text
    return reply.json()  # type: ignore[no-any-return]


def codes(found: dict[str, Any]) -> set[str]:
    return {finding["code"] for finding in found["findings"]}


def refused(client: httpx.Client, route: str, body: dict[str, Any]) -> list[str]:
    reply = client.post(f"/v1/{route}", json=body)
    assert reply.status_code == 422, reply.text
    return [error["pointer"] for error in reply.json()["errors"]]


def growth(**more: Any) -> dict[str, Any]:
    """A request of cracks/growth for a surface crack under plain tension."""
    base = {"crack": SURFACE, "stress": {"membrane_mpa": 150.0}, "law": PARIS, "loading": CYCLE}
    return base | more


# inspection


def test_missed_probability_is_that_of_any_phase_of_the_schedule(client: httpx.Client) -> None:
    found = content(client, "cracks/inspection", example("cracks/inspection-interval"))["answer"]
    assert found["worst_missed_probability"] > found["mean_missed_probability"] > 0.0
    assert found["inspection_cycles"][0] == found["detectable_cycles"]
    left = found["critical_cycles"] - found["inspection_cycles"][-1]
    assert left == pytest.approx(found["interval_cycles"])


@pytest.mark.parametrize("kind", ["depth", "length"])
def test_histories_of_growth_go_into_inspection_unchanged(client: httpx.Client, kind: str) -> None:
    wide = SURFACE | {"half_width_mm": 100.0}
    body = growth(crack=wide, end={"go_on_through": True, "half_length_mm": 40.0})
    history = content(client, "cracks/growth", body)["answer"]["history"]
    plan = {"history": history, "size_kind": kind, "detectable_mm": 5.0, "chances": 3}
    found = content(client, "cracks/inspection", plan)["answer"]
    assert found["critical_cycles"] == history["elapsed_cycles"][-1]
    assert 0.0 < found["detectable_cycles"] < found["critical_cycles"]


def test_histories_are_given_once_and_say_which_size_counts(client: httpx.Client) -> None:
    history = {"elapsed_cycles": [0.0, 1e5], "depth_mm": [1.0, 9.0]}
    plan = {"history": history, "detectable_mm": 5.0}
    assert refused(client, "cracks/inspection", plan) == ["/size_kind"]
    no_length = plan | {"size_kind": "length"}
    assert refused(client, "cracks/inspection", no_length) == ["/history/half_length_mm"]
    twice = plan | {"size_kind": "depth", "elapsed_cycles": [0.0, 1.0], "size_mm": [1.0, 2.0]}
    assert refused(client, "cracks/inspection", twice) == ["/history"]
    assert refused(client, "cracks/inspection", {"detectable_mm": 5.0}) == ["/history"]


def test_detection_curves_by_length_do_not_take_depths(client: httpx.Client) -> None:
    body = example("cracks/inspection-interval") | {"curve": "visual-easy"}
    assert refused(client, "cracks/inspection", body) == ["/size_kind"]
    assert refused(client, "cracks/inspection", body | {"size_kind": None}) == ["/size_kind"]


def test_detectable_size_has_no_favourable_default(client: httpx.Client) -> None:
    body = example("cracks/inspection-interval")
    del body["detection_probability"]
    assert refused(client, "cracks/inspection", body) == ["/detection_probability"]
