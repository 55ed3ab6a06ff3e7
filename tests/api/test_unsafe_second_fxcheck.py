"""Checks that passed, or kept silent, on what makes their verdict: cycles, curves, means, ends, cracks."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import httpx
import pytest

EXAMPLE = Path(__file__).parents[2] / "openapi_examples/check/one-toe-constant.json"
BASE: dict[str, Any] = json.loads(EXAMPLE.read_text())["request"]


def request(**changes: Any) -> dict[str, Any]:
    """The example of a toe, with parts in place of its own."""
    return {**copy.deepcopy(BASE), **changes}


def toe(**cases: dict[str, list[float]]) -> dict[str, Any]:
    """The line of the example with other load cases, 10 mm between stations."""
    size = max(len(column) for modes in cases.values() for column in modes.values())
    shown = {name: {"peaks_mpa": modes} for name, modes in cases.items()}
    place = [10.0 * station for station in range(size)]
    return {**copy.deepcopy(BASE["lines"][0]), "position_mm": place, "cases": shown}


def content(client: httpx.Client, body: dict[str, Any], route: str = "check") -> dict[str, Any]:
    reply = client.post(f"/v1/{route}", json=body)
    assert reply.status_code == 200, reply.text
    return reply.json()  # type: ignore[no-any-return]


def codes(found: dict[str, Any], severity: str) -> set[str]:
    return {f["code"] for f in found["findings"] if f["severity"] == severity}


def verdict(found: dict[str, Any]) -> str:
    return str(found["answer"]["verdict"])


# --- definitions of a cycle

DECIDE = "cycle-definitions-decide"
SQUARE = {"a": [10.0, 10.0, 0.0, 0.0], "b": [0.0, 10.0, 10.0, 0.0]}


def history(**channels: list[float]) -> dict[str, Any]:
    return {"kind": "history", "channels": channels}


def states_as_blocks(channels: dict[str, list[float]]) -> dict[str, Any]:
    """Every sample as a block without a range of its own."""
    rows = zip(*channels.values(), strict=True)
    factors = [
        {name: {"maximum": value, "minimum": value} for name, value in zip(channels, row, strict=True)}
        for row in rows
    ]
    return {"kind": "blocks", "blocks": [{"factors": each, "cycles": 1.0} for each in factors]}


@pytest.mark.parametrize("loading", [history(**SQUARE), states_as_blocks(SQUARE)], ids=["history", "blocks"])
@pytest.mark.parametrize("beside", [0, 1, 2])
def test_definitions_of_a_cycle_are_compared_wherever_another_one_decides(
    client: httpx.Client, loading: dict[str, Any], beside: int
) -> None:
    """A second station, or a second line, in phase and used more hides nothing."""
    one, two = {"opening": [10.0], "tearing": [0.0]}, {"opening": [0.0], "tearing": [7.0]}
    lines = [toe(a=one, b=two)]
    if beside == 1:
        lines = [
            toe(
                a={"opening": [10.0, 10.0], "tearing": [0.0, 0.0]},
                b={"opening": [0.0, 0.0], "tearing": [7.0, 0.0]},
            )
        ]
    if beside == 2:
        still = {"opening": [0.0], "tearing": [0.0]}
        lines.append({**toe(a={"opening": [10.0], "tearing": [0.0]}, b=still), "name": "other"})
    found = content(client, request(lines=lines, loading=loading, target={"repeats": 2e6}))
    assert found["answer"]["utilisation"] < 1.0
    assert (verdict(found), DECIDE in codes(found, "outside")) == ("undecided", True)


def test_cycles_in_phase_need_no_comparison(client: httpx.Client) -> None:
    lines = [
        toe(a={"opening": [10.0], "tearing": [0.0]}, b={"opening": [0.0], "tearing": [7.0]}),
    ]
    together = {"a": SQUARE["a"], "b": SQUARE["a"]}
    found = content(client, request(lines=lines, loading=history(**together), target={"repeats": 1e5}))
    assert (verdict(found), DECIDE in codes(found, "outside")) == ("pass", False)


# --- the order of the ends of blocks


def block(**ends: tuple[float, float]) -> dict[str, Any]:
    factors = {name: {"maximum": one, "minimum": other} for name, (one, other) in ends.items()}
    return {"factors": factors, "cycles": 1.0}


def test_swapped_ends_of_a_block_change_no_bit_and_the_worse_order_counts(client: httpx.Client) -> None:
    lines = [toe(a={"opening": [10.0], "tearing": [0.0]}, b={"opening": [0.0], "tearing": [7.0]})]
    answers = []
    for first in ({"a": (10.0, 10.0), "b": (10.0, 0.0)}, {"a": (10.0, 10.0), "b": (0.0, 10.0)}):
        blocks = [block(**first), block(a=(0.0, 0.0), b=(0.0, 10.0))]
        loading = {"kind": "blocks", "blocks": blocks}
        answers.append(content(client, request(lines=lines, loading=loading, target={"repeats": 6e6})))
    assert answers[0]["answer"] == answers[1]["answer"]
    assert verdict(answers[0]) == "fail"
    assert answers[0]["answer"]["damage"] > 0.9
