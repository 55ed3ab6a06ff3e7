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
        {name: {"maximum": value, "minimum": value} for name, value in zip(channels, row, strict=True)} for row in rows
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


# --- the curve that the biaxiality ratio chooses


def sheared(tearing: float, **changes: Any) -> dict[str, Any]:
    """The example with one station, 20 MPa of opening and a tearing stress, from zero to eight times both."""
    factors = {"pull": {"maximum": 8.0, "minimum": 0.0}}
    loading = {"kind": "constant", "factors": factors, "cycles": 1e6}
    lines = [toe(pull={"opening": [20.0], "tearing": [tearing]})]
    return request(lines=lines, loading=loading, **changes)


@pytest.mark.parametrize("bounds", [(0.0, 0.0), (0.0, 0.02)])
def test_moved_bounds_that_take_cycles_off_the_severer_curve_leave_no_verdict(
    client: httpx.Client, bounds: tuple[float, float]
) -> None:
    """The example fails its fixed shear curve by `outside`, and its own bounds in the same way."""
    moved = {"rule": "biaxiality", "lower": bounds[0], "upper": bounds[1]}
    found = content(client, request(curves=moved))
    assert (verdict(found), "bounds-lower-damage" in codes(found, "outside")) == ("undecided", True)


def test_wider_bounds_are_a_caution_and_a_failure_stays_one(client: httpx.Client) -> None:
    wider = content(client, request(curves={"rule": "biaxiality", "lower": 0.02, "upper": 0.9}))
    assert (verdict(wider), "bounds-moved" in codes(wider, "caution")) == ("pass", True)
    over = sheared(30.0, curves={"rule": "biaxiality", "lower": 0.0, "upper": 0.0})
    assert verdict(content(client, over)) == "fail"


def test_a_ratio_that_the_constants_may_bring_across_a_bound_is_judged_by_both_curves(
    client: httpx.Client,
) -> None:
    """More tearing, and the curve of opening is left at a ratio of 0.5: that is no relief."""
    below, above = (content(client, sheared(tearing)) for tearing in (7.8, 8.0))
    assert below["answer"]["biaxiality_ratio"] < 0.5 < above["answer"]["biaxiality_ratio"]
    assert (verdict(below), verdict(above)) == ("fail", "undecided")
    assert "biaxiality-bound-decides" in codes(above, "outside")


def test_an_own_constant_is_held_against_the_published_one(client: httpx.Client) -> None:
    body = sheared(7.8)
    body["lines"][0]["mesh"]["constants"] = {"tearing": 2.1}
    found = content(client, body)
    assert (verdict(found), "biaxiality-bound-decides" in codes(found, "outside")) == ("undecided", True)


def test_a_ratio_near_a_bound_that_stays_within_the_limit_is_a_caution(client: httpx.Client) -> None:
    body = sheared(8.0)
    body["loading"]["factors"]["pull"]["maximum"] = 4.0
    found = content(client, body)
    assert (verdict(found), "biaxiality-near-bound" in codes(found, "caution")) == ("pass", True)
    text = next(f["message"] for f in found["findings"] if f["code"] == "biaxiality-near-bound")
    assert "utilisation of 0.529" in text


@pytest.mark.parametrize(("tearing", "near"), [(8.0, True), (7.8, False), (12.0, False), (2.5, True)])
def test_peak_stresses_say_that_a_ratio_lies_near_a_bound(client: httpx.Client, tearing: float, near: bool) -> None:
    line = BASE["lines"][0]
    body = {
        "notch": line["notch"],
        "mesh": line["mesh"],
        "peaks_mpa": {"opening": [20.0], "tearing": [tearing]},
    }
    found = content(client, body, "stress/peak")
    assert ("biaxiality-near-bound" in codes(found, "caution")) == near, found["answer"]


# --- a mean over nodes


def tensors(opening: list[float], **changes: Any) -> dict[str, Any]:
    """A line along z with the stress normal to the bisector given at each node."""
    zero = [0.0] * len(opening)
    rest = dict.fromkeys(("yy", "zz", "xy", "yz", "zx"), zero)
    return {
        "tensors_mpa": {"xx": opening, **rest},
        "tangent": [[0.0, 0.0, 1.0]] * len(opening),
        "bisector": [[0.0, 1.0, 0.0]] * len(opening),
        **changes,
    }


@pytest.mark.parametrize("opening", [[10.0, 10.0, 30.0, 10.0, 10.0], [10.0, -10.0, 10.0, -10.0, 10.0]])
@pytest.mark.parametrize("element", ["quad4", "brick8"])
def test_a_mean_that_lowers_what_the_constant_holds_for_leaves_no_verdict(
    client: httpx.Client, opening: list[float], element: str
) -> None:
    given = tensors(opening)
    case = {"tensors_mpa": given.pop("tensors_mpa")}
    mesh = {"element": element, "element_size_mm": 1.0}
    line = {**copy.deepcopy(BASE["lines"][0]), **given, "mesh": mesh, "cases": {"pull": case}}
    line |= {"position_mm": [0.0, 1.0, 2.0, 3.0, 4.0], "average_over": 3}
    found = content(client, request(lines=[line]))
    assert (verdict(found), "mean-lowers-peak" in codes(found, "outside")) == ("undecided", True)
    peak = {key: line[key] for key in ("notch", "mesh", "position_mm", "average_over")}
    said = content(client, {**peak, **tensors(opening)}, "stress/peak")
    assert "mean-lowers-peak" in codes(said, "outside")


# --- the ends of a line


def long_line(over: float, exclude_mm: float, reason: str | None, **modes: list[float]) -> dict[str, Any]:
    """21 stations a millimetre apart, the second one at another stress."""
    opening = [10.0, over, *[10.0] * 19]
    line = toe(pull={"opening": opening, "tearing": [0.0] * 21, **modes})
    line |= {"position_mm": [float(place) for place in range(21)], "exclude_ends_mm": exclude_mm}
    return line if reason is None else {**line, "exclude_ends_reason": reason}


@pytest.mark.parametrize(("exclude_mm", "severity"), [(9.5, "outside"), (5.5, "outside"), (5.0, None)])
def test_a_line_of_which_less_than_half_is_judged_has_no_verdict(
    client: httpx.Client, exclude_mm: float, severity: str | None
) -> None:
    """One of 21 judged, nine, eleven; a reason does not replace the stations."""
    found = content(client, request(lines=[long_line(30.0, exclude_mm, "clamped in the rig")]))
    assert verdict(found) == ("pass" if severity is None else "undecided")
    assert ("most-not-judged" in codes(found, "outside")) == (severity is not None)


@pytest.mark.parametrize("reason", ["..", "ok", "1.", "-----", "x" * 1001])
def test_a_reason_for_ends_is_one_as_the_gate_takes_it(client: httpx.Client, reason: str) -> None:
    body = request(lines=[long_line(30.0, 2.0, reason)])
    reply = client.post("/v1/check", json=body)
    assert reply.status_code == 422
    assert reply.json()["errors"][0]["pointer"] == "/lines/0/exclude_ends_reason"


@pytest.mark.parametrize(("reason", "severity"), [(None, "outside"), ("clamped in the rig", "caution")])
def test_sliding_that_is_not_counted_is_said_of_stations_that_are_not_judged(
    client: httpx.Client, reason: str | None, severity: str
) -> None:
    line = long_line(10.0, 2.0, reason, sliding=[6000.0, *[0.0] * 20])
    found = content(client, request(lines=[line]))
    end = {"outside": "largest", "caution": "with-reason"}[severity]
    assert f"sliding-not-counted-{end}" in codes(found, severity)
    assert verdict(found) == ("undecided" if reason is None else "pass")


# --- the size of stresses


def test_a_check_in_another_unit_has_no_verdict(client: httpx.Client) -> None:
    """The stresses of the example in GPa."""
    body = request()
    for column in body["lines"][0]["cases"]["pull"]["peaks_mpa"].values():
        column[:] = [value / 1000.0 for value in column]
    found = content(client, body)
    assert (verdict(found), "ranges-too-small" in codes(found, "outside")) == ("undecided", True)


# --- the crack

GROWTH: dict[str, Any] = json.loads((EXAMPLE.parent / "bracket-toe-growth.json").read_text())["request"]


def growing(**changes: Any) -> dict[str, Any]:
    body = copy.deepcopy(GROWTH)
    body["growth"] |= changes
    return body


def test_a_first_flaw_below_long_cracks_is_said(client: httpx.Client) -> None:
    crack = GROWTH["growth"]["crack"]
    for depth, said in ((0.0999, True), (0.1, False)):
        body = growing(crack={**crack, "depth_mm": depth, "half_length_mm": 2.0 * depth})
        assert ("first-flaw-small" in codes(content(client, body), "caution")) == said


def test_a_depth_path_far_below_its_station_leaves_no_verdict(client: httpx.Client) -> None:
    path = copy.deepcopy(GROWTH["growth"]["path"])
    assert "path-not-of-station" not in codes(content(client, growing()), "outside")
    path["cases"] = {name: [0.5 * value for value in row] for name, row in path["cases"].items()}
    found = content(client, growing(path=path))
    assert "path-not-of-station" in codes(found, "outside")
    assert verdict(found) != "pass"


def test_a_count_stopped_before_the_repeats_asked_is_said_as_that(client: httpx.Client) -> None:
    end = {**GROWTH["growth"].get("end", {}), "cycles": 1000.0}
    found = content(client, growing(end=end))
    assert found["answer"]["growth"]["end_reason"] == "cycles"
    assert "count-stopped-before-target" in codes(found, "outside")
    assert "crack-before-target" not in codes(found, "caution")
    assert verdict(found) == "undecided"
