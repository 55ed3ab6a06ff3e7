"""Choices that make a crack live longer say so, and what no model or count shows is outside."""

from __future__ import annotations

from typing import Any

import httpx
import pytest

from fatcore.figures import rounded_down

EDGE = {"kind": "edge", "depth_mm": 1.0, "width_mm": 50.0}
PLAIN = {"stages": [{"coefficient": 5.21e-13, "exponent": 3.0}], "units": "mm-MPa"}
WILLENBORG = {"model": "willenborg", "yield_strength_mpa": 355.0}


def growth(client: httpx.Client, **given: Any) -> tuple[dict[str, Any], dict[str, dict[str, Any]]]:
    """Answer of a growth request and its findings by code."""
    request = {
        "crack": EDGE,
        "stress": {"membrane_mpa": 100.0},
        "law": PLAIN,
        "loading": {"kind": "constant"},
        "condition": "stress-relieved",
    }
    envelope = client.post("/v1/cracks/growth", json=request | given).json()
    return envelope["answer"], {finding["code"]: finding for finding in envelope["findings"]}


def block(cycles: list[float], model: dict[str, Any] | None, **more: Any) -> dict[str, Any]:
    given = {"kind": "blocks", "maximum": [1.0, 2.0], "minimum": [0.0, 0.0], "cycles": cycles} | more
    return given if model is None else given | {"retardation": model}


@pytest.mark.parametrize(
    ("model", "cycles"),
    [
        (WILLENBORG, [2e6, 1.0]),
        (WILLENBORG | {"shut_off_ratio": 3.0, "threshold_mpa_sqrt_mm": 63.0}, [2e6, 1.0]),
        ({"model": "wheeler", "yield_strength_mpa": 355.0, "exponent": 1.5}, [1e6, 1.0]),
    ],
)
def test_a_block_longer_than_the_life_without_retardation_is_outside(
    client: httpx.Client, model: dict[str, Any], cycles: list[float]
) -> None:
    """The crack separates among the first entries, before any overload can slow it."""
    answer, found = growth(client, loading=block(cycles, model))
    assert answer["life_without_retardation_cycles"] < cycles[0]
    assert found["block-longer-than-life"]["severity"] == "outside"
    assert answer["averaging_error"] > 1.0
    assert "block-longer-than-life" in answer["history"]["outside_codes"]


def test_a_credit_of_retardation_above_ten_is_outside(client: httpx.Client) -> None:
    answer, found = growth(client, loading=block([1e3, 1.0], WILLENBORG))
    assert answer["life_cycles"] > 10.0 * answer["life_without_retardation_cycles"]
    assert found["credits-decide"]["severity"] == "outside"
    _, milder = growth(client, loading=block([5.0, 1.0], WILLENBORG))
    assert "credits-decide" not in milder


def test_retardation_that_changes_nothing_does_not_say_that_it_slows(client: httpx.Client) -> None:
    answer, found = growth(client, loading=block([1e3, 1.0], WILLENBORG), condition="as-welded")
    assert answer["life_cycles"] == pytest.approx(answer["life_without_retardation_cycles"], rel=1e-6)
    assert "here it changes nothing" in found["retardation-counted"]["message"]


def table(intensities: list[float], mode: str = "opening") -> dict[str, Any]:
    sizes = [0.5, 1.0, 2.0, 4.0, 8.0][: len(intensities)]
    columns = {"opening": [1.0] * len(intensities)} | {mode: intensities}
    return {"kind": "table", "start_mm": 0.5, "crack_size_mm": sizes, "k_mpa_sqrt_mm": columns}


@pytest.mark.parametrize(
    ("intensities", "code"),
    [
        ([300.0, 250.0, 200.0, 150.0, 29.0], "driving-force-vanishes"),
        ([300.0, 31.0, 31.0, 31.0, 31.0], "driving-force-falls"),
        ([300.0, 250.0, 200.0, 150.0, 99.0], "driving-force-falls"),
        ([300.0, 250.0, 200.0, 150.0, 101.0], None),
    ],
)
def test_a_driving_force_that_falls_is_seen_up_to_the_last_size(
    client: httpx.Client, intensities: list[float], code: str | None
) -> None:
    _, found = growth(client, crack=table(intensities), stress={})
    assert [each for each in found if each.startswith("driving-force")] == ([code] if code else [])


def test_a_milder_criterion_gives_the_life_by_the_largest(client: httpx.Client) -> None:
    crack = table([300.0] * 5, "tearing")
    largest, without = growth(client, crack=crack, stress={})
    milder, found = growth(client, crack=crack, stress={}, criterion="richard")
    assert "criterion-does-less" not in without
    assert milder["life_cycles"] > 2.0 * largest["life_cycles"]
    assert f"{rounded_down(largest['life_cycles'])} cycles" in found["criterion-does-less"]["message"]
    _, same = growth(client, crack=crack, stress={}, criterion="largest")
    assert "criterion-does-less" not in same


@pytest.mark.parametrize("kind", ["elber", "schijve", "newman"])
def test_an_opening_function_on_own_constants_gives_the_life_without_it(client: httpx.Client, kind: str) -> None:
    more = {"constraint": 2.0, "stress_over_flow": 0.3} if kind == "newman" else {}
    plain, _ = growth(client)
    law = PLAIN | {"load_ratio_effect": {"kind": kind} | more}
    answer, found = growth(client, law=law)
    assert answer["life_cycles"] > plain["life_cycles"]
    assert f"{rounded_down(plain['life_cycles'])} cycles" in found["closure-counted"]["message"]
    assert "closure-counted" not in growth(client, law=law, condition="as-welded")[1]


def test_stages_in_another_order_than_published_ones_are_doubted(client: httpx.Client) -> None:
    stages = [{"coefficient": 2.1e-17, "exponent": 5.1}, {"coefficient": 5.86e-13, "exponent": 2.88}]
    usual, silent = growth(client, law={"stages": stages, "units": "mm-MPa"})
    turned, found = growth(client, law={"stages": stages[::-1], "units": "mm-MPa"})
    assert turned["life_cycles"] != pytest.approx(usual["life_cycles"], rel=0.5)
    assert "stages-in-another-order" in found
    assert "stages-in-another-order" not in silent


def test_constants_in_metres_taken_as_millimetres_are_doubted(client: httpx.Client) -> None:
    """5.21e-13 in mm is 1.65e-11 in m: thirty times too fast for any steel, though not for aluminium."""
    law = {"stages": [{"coefficient": 1.65e-11, "exponent": 3.0}], "units": "mm-MPa"}
    assert "law-rate-of-aluminium" in growth(client, law=law)[1]
    assert "law-rate-of-aluminium" not in growth(client)[1]


def test_entries_without_their_largest_cycle_are_no_count(client: httpx.Client) -> None:
    loading = {"kind": "blocks", "maximum": [1.0, -1.0], "minimum": [0.9, -1.1], "cycles": [1.0, 1.0]}
    stress = {"membrane_mpa": 100.0}
    _, found = growth(client, loading=loading | {"transitions": "in-entries"}, stress=stress, condition="as-welded")
    assert found["entries-without-largest-cycle"]["severity"] == "outside"
    held = {"maximum": [1.0, 1.0, -1.0], "minimum": [-1.1, 0.9, -1.1], "cycles": [1.0, 1.0, 1.0]}
    _, complete = growth(client, loading=loading | held | {"transitions": "in-entries"}, condition="as-welded")
    assert "entries-without-largest-cycle" not in complete


def test_an_interval_within_a_block_is_outside(client: httpx.Client) -> None:
    """A slow start and a fast end: the whole life has many blocks, the part to inspect half of one."""
    crack = {"kind": "surface", "depth_mm": 0.5, "half_length_mm": 1.0, "thickness_mm": 20.0, "half_width_mm": 100.0}
    intervals = {}
    for share in (1.0, 0.1, 1e-5):
        loading = block([1e6 * share, 1.0], None)
        answer, _ = growth(client, crack=crack, loading=loading)
        history = answer["history"]
        assert history["block_cycles"] == 1e6 * share + 1.0
        request = {"history": history, "size_kind": "depth", "detectable_mm": 2.0}
        envelope = client.post("/v1/cracks/inspection", json=request).json()
        codes = {finding["code"] for finding in envelope["findings"]}
        intervals[share] = codes & {"interval-within-block", "interval-of-few-blocks"}
    assert intervals[1.0] == {"interval-within-block"}
    assert intervals[0.1] == {"interval-of-few-blocks"}
    assert intervals[1e-5] == set()
    assert growth(client)[0]["history"]["block_cycles"] is None
