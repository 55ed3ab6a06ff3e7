"""Fracture, credits of a life, inspection, coarse tables: what decides a crack is said, or refused."""

from __future__ import annotations

from typing import Any

import httpx
import numpy as np
import pytest

from fatcore.figures import figure, rounded_down

STEEL = {"yield_strength_mpa": 355.0, "ultimate_strength_mpa": 490.0, "toughness_mpa_sqrt_mm": 1000.0}
EDGE = {"kind": "edge", "depth_mm": 1.0, "width_mm": 50.0}
PLAIN = {"stages": [{"coefficient": 5.21e-13, "exponent": 3.0}], "units": "mm-MPa"}
WILLENBORG = {"model": "willenborg", "yield_strength_mpa": 355.0}


def post(client: httpx.Client, path: str, request: dict[str, Any]) -> tuple[dict[str, Any], dict[str, dict[str, Any]]]:
    """Answer of a request and its findings by code."""
    reply = client.post(f"/v1/cracks/{path}", json=request)
    assert reply.status_code == 200, reply.text
    return reply.json()["answer"], {finding["code"]: finding for finding in reply.json()["findings"]}


def growth(client: httpx.Client, **given: Any) -> tuple[dict[str, Any], dict[str, dict[str, Any]]]:
    request = {
        "crack": EDGE,
        "stress": {"membrane_mpa": 100.0},
        "law": PLAIN,
        "loading": {"kind": "constant"},
        "condition": "stress-relieved",
    }
    return post(client, "growth", request | given)


def test_a_state_beyond_collapse_is_never_acceptable(client: httpx.Client) -> None:
    """[bs-7910-2013]: the assessment line ends at the collapse limit, here 422.5 MPa, with K or without."""
    request = {"k_primary_mpa_sqrt_mm": [0.0, 0.0], "reference_stress_mpa": [5000.0, 400.0], "strength": STEEL}
    answer, _ = post(client, "fracture", request)
    assert answer["reserve_factor"] == pytest.approx([422.5 / 5000.0, 422.5 / 400.0])
    assert answer["acceptable"] == [False, True]


@pytest.mark.parametrize("line", ["continuous", "plateau", "older"])
def test_acceptable_agrees_with_the_reserve_factor(client: httpx.Client, line: str) -> None:
    grid = np.meshgrid(
        [0.0, 1.0, 300.0, 700.0, 990.0, 1500.0],
        [0.0, 1.0, 200.0, 360.0, 420.0, 430.0, 5000.0],
        [0.0, 90.0, 1000.0, 1001.0],
    )
    primary, reference, secondary = (column.ravel() for column in grid)
    covered = secondary * reference / 355.0 <= 4.0 * primary  # what the interaction is given for
    request = {
        "k_primary_mpa_sqrt_mm": primary[covered].tolist(),
        "reference_stress_mpa": reference[covered].tolist(),
        "k_secondary_mpa_sqrt_mm": secondary[covered].tolist(),
        "strength": STEEL,
        "line": line,
    }
    answer, _ = post(client, "fracture", request)
    safe = [factor is None or factor >= 1.0 for factor in answer["reserve_factor"]]
    assert answer["acceptable"] == safe
    assert 10 < sum(safe) < len(safe) - 10


def test_a_toughness_beyond_any_metal_is_doubted(client: httpx.Client) -> None:
    tough = STEEL | {"toughness_mpa_sqrt_mm": 1.1e5}
    request = {"k_primary_mpa_sqrt_mm": [300.0], "reference_stress_mpa": [100.0], "strength": tough}
    assert post(client, "fracture", request)[1]["toughness-implausible"]["severity"] == "caution"
    assert "toughness-implausible" not in post(client, "fracture", request | {"strength": STEEL})[1]
    end = {"toughness_mpa_sqrt_mm": 1.1e5}
    assert "toughness-implausible" in growth(client, end=end)[1]
    forman = {"stages": [{"coefficient": 5e-9, "exponent": 3.0}], "units": "mm-MPa"}
    forman |= {"load_ratio_effect": {"kind": "forman", "toughness_mpa_sqrt_mm": 1.1e5}}
    assert "toughness-implausible" in growth(client, law=forman)[1]


LASTING = {"membrane_mpa": -180.0, "static_membrane_mpa": 300.0}
TOUGH = STEEL | {"toughness_mpa_sqrt_mm": 3000.0}


def test_a_load_that_relieves_a_lasting_stress_makes_no_critical_crack_larger(client: httpx.Client) -> None:
    """A joint stands without load as well; the lasting stress alone is the state of load factor 0."""
    request = {"crack": EDGE, "stress": LASTING, "strength": TOUGH}
    answer, found = post(client, "critical-size", request)
    alone, silent = post(client, "critical-size", request | {"maximum": 0.0})
    assert answer == alone
    message = found["unloaded-state-decides"]["message"]
    assert f"{figure(answer['critical_mm'])} mm critical" in message
    assert "under the load" in message
    assert "unloaded-state-decides" not in silent
    pulled = request | {"stress": LASTING | {"membrane_mpa": 10.0}}
    assert "unloaded-state-decides" not in post(client, "critical-size", pulled)[1]


def test_a_load_under_which_no_crack_is_critical_does_not_hide_the_unloaded_state(client: httpx.Client) -> None:
    surface = {"kind": "surface", "depth_mm": 1.0, "half_length_mm": 1.0, "thickness_mm": 20.0}
    tougher = STEEL | {"toughness_mpa_sqrt_mm": 9000.0}
    request = {"crack": surface, "stress": LASTING, "strength": tougher}
    answer, found = post(client, "critical-size", request)
    assert answer == post(client, "critical-size", request | {"maximum": 0.0})[0]
    assert "no crack inside the body is" in found["unloaded-state-decides"]["message"]


@pytest.mark.parametrize("end", [{"strength": TOUGH}, {"yield_strength_mpa": 422.5}, {"toughness_mpa_sqrt_mm": 2000.0}])
def test_growth_ends_where_the_unloaded_state_is_critical(client: httpx.Client, end: dict[str, Any]) -> None:
    """A cycle from load factor 0.2 to 1 never is without load; the joint is, and then the lasting stress acts alone."""
    stressed = {"stress": LASTING, "end": end}
    partly, _ = growth(client, **stressed, loading={"kind": "constant", "maximum": 1.0, "minimum": 0.2})
    wholly, _ = growth(client, **stressed, loading={"kind": "constant", "maximum": 1.0, "minimum": 0.0})
    assert partly["end_reason"] == wholly["end_reason"]
    assert partly["final_depth_mm"] == pytest.approx(wholly["final_depth_mm"])


def test_closure_on_own_constants_counts_in_the_largest_credit(client: httpx.Client) -> None:
    """At load ratio -1 elber leaves less than a third of a range; with exponent 5 that is a factor above ten."""
    steep = {"stages": [{"coefficient": 5.21e-18, "exponent": 5.0}], "units": "mm-MPa"}
    loading = {"kind": "constant", "maximum": 1.0, "minimum": -0.1}
    plain, silent = growth(client, law=steep, loading=loading)
    answer, found = growth(client, law=steep | {"load_ratio_effect": {"kind": "elber"}}, loading=loading)
    assert "credits-decide" not in silent
    assert answer["life_cycles"] > 10.0 * plain["life_cycles"]
    assert found["credits-decide"]["severity"] == "outside"
    message = found["credits-decide"]["message"]
    for life in (plain["life_cycles"], answer["life_cycles"]):
        assert f"{rounded_down(life)} cycles" in message
    assert "elber" in message
    assert "credits-decide" in answer["history"]["outside_codes"]


def test_a_scatter_with_a_credit_above_the_largest_is_outside(client: httpx.Client) -> None:
    surface = {"kind": "surface", "depth_mm": 1.0, "half_length_mm": 3.0, "thickness_mm": 20.0, "half_width_mm": 100.0}
    steep = {"stages": [{"coefficient": 5.21e-18, "exponent": 5.0}], "units": "mm-MPa"}
    request = {
        "crack": surface,
        "stress": {"membrane_mpa": 100.0},
        "law": steep | {"load_ratio_effect": {"kind": "elber"}},
        "loading": {"kind": "constant", "maximum": 1.0, "minimum": -0.1},
        "variables": {"stress_factor": {"kind": "normal", "mean": 1.0, "variation": 0.1}},
        "samples": 64,
        "condition": "stress-relieved",
    }
    assert post(client, "scatter", request)[1]["credits-decide"]["severity"] == "outside"


def test_credits_count_by_their_product(client: httpx.Client) -> None:
    """Retardation and closure each stay below ten, together they do not."""
    law = PLAIN | {"load_ratio_effect": {"kind": "elber"}}
    loading = {"kind": "blocks", "maximum": [1.0, 1.7], "minimum": [0.0, 0.0], "cycles": [50.0, 1.0]}
    retarded = loading | {"retardation": {"model": "wheeler", "yield_strength_mpa": 355.0, "exponent": 1.0}}
    plain, _ = growth(client, loading=loading)
    slowed, by_retardation = growth(client, loading=retarded)
    closed, by_closure = growth(client, law=law, loading=loading)
    both, found = growth(client, law=law, loading=retarded)
    assert "credits-decide" not in {**by_retardation, **by_closure}
    assert max(slowed["life_cycles"], closed["life_cycles"]) < 10.0 * plain["life_cycles"] < both["life_cycles"]
    message = found["credits-decide"]["message"]
    assert "retardation and the opening function elber" in message
    assert f"{rounded_down(plain['life_cycles'])} cycles" in message


def test_closure_that_changes_nothing_does_not_compare_two_infinite_lives(client: httpx.Client) -> None:
    law = PLAIN | {"load_ratio_effect": {"kind": "elber"}, "threshold_mpa_sqrt_mm": 400.0}
    answer, found = growth(client, law=law, stress={"membrane_mpa": 30.0})
    assert answer["life_cycles"] is None
    assert found["closure-counted"]["message"].count("infinite") == 1
    assert "credits-decide" not in found


def test_a_hardly_ever_largest_entry_is_no_complete_count(client: httpx.Client) -> None:
    loading = {"kind": "blocks", "maximum": [1.0, 1.0, -1.0], "minimum": [-1.1, 0.9, -1.1], "transitions": "in-entries"}
    codes = {"entries-without-largest-cycle", "transitions-in-entries", "block-transitions"}
    counts = {
        "entries-without-largest-cycle": [1e-9, 1.0, 1.0],
        "block-transitions": [1e-9, 1e9, 1e9],  # so many small cycles that the largest hardly counts
        "transitions-in-entries": [0.5, 1.0, 1.0],
    }
    for code, cycles in counts.items():
        _, found = growth(client, loading=loading | {"cycles": cycles}, condition="as-welded")
        assert codes & set(found) == {code}


@pytest.mark.parametrize("route", ["growth", "intensity"])
def test_a_wrong_parameter_of_a_family_is_pointed_to_within_parameters(client: httpx.Client, route: str) -> None:
    """An unknown one, the size under its own name, and a width that cannot be."""
    plate = {"width_mm": 50.0, "membrane_mpa": 1.0}
    sizes = {"crack_size_mm": [1.0]} if route == "intensity" else {"start_mm": 1.0, "largest_mm": 10.0}
    rest = {} if route == "intensity" else {"law": PLAIN, "loading": {"kind": "constant"}}
    for name in ("foo", "depth_mm", "crack_size_mm", "width_mm"):
        crack = {"kind": "family", "family": "edge-free", "parameters": plate | {name: -1.0}} | sizes
        problem = client.post(f"/v1/cracks/{route}", json={"crack": crack} | rest)
        assert problem.status_code == 422
        assert [each["pointer"] for each in problem.json()["errors"]] == [f"/crack/parameters/{name}"]


def test_figures_of_a_growth_request_have_meanings_of_their_own(client: httpx.Client) -> None:
    schemas = client.get("/openapi.json").json()["components"]["schemas"]
    loading = schemas["GrowthRequest"]["properties"]["loading"]["description"]
    assert "load factors" in loading
    assert "curve" not in loading
    for column in ("delta_k_deepest_mpa_sqrt_mm", "delta_k_surface_mpa_sqrt_mm"):
        assert "full range" in schemas["GrowthHistory"]["properties"][column]["description"]


def grown_history(client: httpx.Client, **given: Any) -> dict[str, Any]:
    history: dict[str, Any] = growth(client, **given)[0]["history"]
    return history


def plan(client: httpx.Client, **given: Any) -> tuple[dict[str, Any], dict[str, dict[str, Any]]]:
    return post(client, "inspection", {"size_kind": "depth", "detectable_mm": 3.0} | given)


def test_an_interval_up_to_a_size_that_nobody_checked_is_doubted(client: httpx.Client) -> None:
    """By the end of the wall, by a size of the user's own, and by fracture without collapse."""
    unchecked: list[dict[str, Any]] = [{}, {"depth_mm": 10.0}, {"toughness_mpa_sqrt_mm": 1e3}]
    for end in unchecked:
        history = grown_history(client, end=end)
        assert history["strength_checked"] is False
        assert plan(client, history=history)[1]["critical-size-not-checked"]["severity"] == "caution"
    both = {"toughness_mpa_sqrt_mm": 1e3, "yield_strength_mpa": 355.0}
    for end in ({"strength": STEEL}, {"depth_mm": 10.0, "strength": STEEL}, both):
        history = grown_history(client, end=end)
        assert history["strength_checked"] is True
        assert "critical-size-not-checked" not in plan(client, history=history)[1]


@pytest.mark.parametrize("key", ["end_reason", "outside_codes", "block_cycles", "strength_checked"])
def test_what_speaks_against_a_history_cannot_be_left_out(client: httpx.Client, key: str) -> None:
    history = grown_history(client)
    del history[key]
    request = {"history": history, "size_kind": "depth", "detectable_mm": 3.0}
    refused = client.post("/v1/cracks/inspection", json=request)
    assert refused.status_code == 422
    assert [each["pointer"] for each in refused.json()["errors"]] == [f"/history/{key}"]


def test_what_no_plan_uses_may_be_left_out_of_a_history(client: httpx.Client) -> None:
    history = grown_history(client)
    used = {"size_kind", "end_reason", "outside_codes", "block_cycles", "strength_checked"}
    used |= {"elapsed_cycles", "depth_mm", "half_length_mm"}
    assert used <= set(history)
    whole = plan(client, history=history)
    assert plan(client, history={name: column for name, column in history.items() if name in used}) == whole


def thinned(history: dict[str, Any], keep: slice | list[int]) -> dict[str, Any]:
    """The history with some of its rows."""
    columns = {name: column for name, column in history.items() if isinstance(column, list) and name != "outside_codes"}
    return history | {name: np.array(column)[keep].tolist() for name, column in columns.items()}


def test_rows_that_lie_far_apart_do_not_stretch_an_interval(client: httpx.Client) -> None:
    """A history grows ever faster: a straight line between far rows reaches a size too early."""
    history = grown_history(client, end={"strength": TOUGH})
    fine, silent = plan(client, history=history)
    assert {"history-coarse", "history-too-coarse"} & set(silent) == set()
    coarse, found = plan(client, history=thinned(history, [0, -1]))
    assert coarse["interval_cycles"] > 2.0 * fine["interval_cycles"]
    assert found["history-too-coarse"]["severity"] == "outside"
    assert f"{rounded_down(coarse['interval_cycles'])}" in found["history-too-coarse"]["message"]
    assert "0 cycles" in found["history-too-coarse"]["message"]
    codes = [set(plan(client, history=thinned(history, slice(None, None, step)))[1]) for step in (1, 6, 60)]
    expected: list[set[str]] = [set(), {"history-coarse"}, {"history-too-coarse"}]
    assert [each & {"history-coarse", "history-too-coarse"} for each in codes] == expected


def test_rows_of_columns_of_ones_own_are_judged_alike(client: httpx.Client) -> None:
    for sizes, code in (([1.0, 2.0, 9.0], "history-too-coarse"), ([1.0, 3.0, 9.0], None)):
        _, found = plan(client, elapsed_cycles=[0.0, 1e5, 2e5], crack_size_mm=sizes, size_kind=None)
        assert {"history-coarse", "history-too-coarse"} & set(found) == ({code} if code else set())


def test_rows_that_lie_far_apart_do_not_find_a_crack(client: httpx.Client) -> None:
    """The line from 3 to 30 mm is far above a crack that grows at its end; the row before an inspection is not."""
    columns = {"elapsed_cycles": [0.0, 1e5, 2e5], "crack_size_mm": [1.0, 3.0, 30.0], "inspections": 3}
    curve = {"median_mm": 3.0, "exponent": 3.0}
    answer, found = plan(client, **columns, curve=curve)
    assert answer["inspection_size_mm"] == pytest.approx([3.0, 12.0, 21.0])
    doubt = found["history-too-coarse"]
    assert (doubt["severity"], doubt["field"]) == ("outside", "worst_missed_probability")
    assert "with 0.125" in doubt["message"]
    assert "history-too-coarse" not in plan(client, **columns)[1]


def tabled(sizes: list[float]) -> dict[str, Any]:
    """K of a centre crack in a wide plate under 100 MPa at these sizes."""
    opening = [100.0 * (np.pi * size) ** 0.5 for size in sizes]
    return {"kind": "table", "crack_size_mm": sizes, "k_mpa_sqrt_mm": {"opening": opening}}


ROWS = {
    None: [0.1 * 2.0**i for i in range(8)],
    "table-coarse": [0.1 * 4.0**i for i in range(5)],
    "table-too-coarse": [0.1, 20.0],
}
COARSE_TABLES = {"table-coarse": "caution", "table-too-coarse": "outside"}


@pytest.mark.parametrize(("code", "longer"), [("table-coarse", 1.02), ("table-too-coarse", 2.0)])
def test_rows_of_a_table_that_lie_far_apart_decide_no_life(client: httpx.Client, code: str, longer: float) -> None:
    """K goes with the root of the size, below which the curve of a table with few rows stays."""
    fine, silent = growth(client, crack=tabled(ROWS[None]) | {"start_mm": 0.1}, stress={}, end={"depth_mm": 10.0})
    assert set(COARSE_TABLES) & set(silent) == set()
    answer, found = growth(client, crack=tabled(ROWS[code]) | {"start_mm": 0.1}, stress={}, end={"depth_mm": 10.0})
    assert answer["life_cycles"] > longer * fine["life_cycles"]
    assert found[code]["severity"] == COARSE_TABLES[code]
    assert set(COARSE_TABLES) & set(found) == {code}
    assert (code in answer["history"]["outside_codes"]) == (code == "table-too-coarse")


def test_rows_of_a_table_that_were_not_used_may_lie_far_apart(client: httpx.Client) -> None:
    crack = tabled([0.1, 1.0, 2.0, 4.0, 40.0])
    codes = {}
    for start, last in ((1.0, 4.0), (1.0, 4.1), (0.9, 4.0)):
        end = {"depth_mm": last}
        codes[start, last] = set(growth(client, crack=crack | {"start_mm": start}, stress={}, end=end)[1])
    assert [set(COARSE_TABLES) & each for each in codes.values()] == [set(), {"table-too-coarse"}, {"table-too-coarse"}]


def test_sizes_read_between_rows_that_lie_far_apart_are_outside(client: httpx.Client) -> None:
    """A size that is a row is no guess, whatever lies beside it."""
    rows = [0.1, 1.0, 2.0, 5.0]
    found = [post(client, "intensity", {"crack": tabled(rows) | {"at_mm": at}})[1] for at in ([0.5], [3.0], rows)]
    expected: list[set[str]] = [{"table-too-coarse"}, {"table-coarse"}, set()]
    assert [set(COARSE_TABLES) & set(each) for each in found] == expected
    assert "at 0.1 and 1 mm" in found[0]["table-too-coarse"]["message"]
